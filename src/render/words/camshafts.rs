//! Whether what is named is all camshafts of the engine.

use crate::drive::model::Drive;
use crate::spec::raw::ShaftKind;

/// That the engine has camshafts of which nothing is known here.
pub(crate) fn not_named_words(named: usize, engine: usize) -> String {
    let be = |count: usize| match count {
        1 => "1 is".to_owned(),
        _ => format!("{count} are"),
    };
    format!(
        "The engine has {engine} camshafts, and {} named here. Whatever is in time here, the engine is NOT PROVEN in time: {} left out.",
        be(named),
        be(engine.saturating_sub(named))
    )
}

/// What is to be done about it.
pub(crate) const NAME_THEM: &str = "add the camshafts that are left out to the spec, with their marks; until then nothing proves this engine";

/// What a verdict on this drive leaves out; `None` where all camshafts of the engine are named.
pub(crate) fn left_out_words(drive: &Drive) -> Option<String> {
    let named = drive.camshafts_named();
    match drive.camshafts() {
        Some(engine) if engine > named => Some(not_named_words(named, engine)),
        Some(_) => None,
        None => {
            let cams = drive.shafts().map(|(_, shaft)| shaft);
            let cams: Vec<&str> = cams
                .filter(|shaft| shaft.kind() == ShaftKind::Camshaft)
                .map(|shaft| shaft.name())
                .collect();
            Some(format!(
                "This is about the camshafts named here ({}). The spec does not say how many the engine has; one that is not named is not proven.",
                if cams.is_empty() {
                    "none".to_owned()
                } else {
                    cams.join(", ")
                }
            ))
        }
    }
}
