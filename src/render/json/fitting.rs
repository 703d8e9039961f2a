//! Marks computed from the centres.

use crate::plane::fitting::Fitting;
use crate::render::hints::Hints;
use crate::render::words::fitting::unfitted_text;
use crate::spec::source::Source;
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct FittingJson<'a> {
    file: &'a str,
    changes: Vec<ChangeJson<'a>>,
    unfitted: Vec<String>,
}

#[derive(Serialize)]
struct ChangeJson<'a> {
    line: usize,
    old: &'a str,
    new: &'a str,
}

/// The changes to a spec as JSON. `hints` says how to see why something was not computed.
pub fn fitting_json(fitting: &Fitting, source: &Source, hints: &dyn Hints) -> Value {
    let unfitted = fitting.unfitted.iter();
    json!(FittingJson {
        file: source.name(),
        changes: fitting
            .changes
            .iter()
            .map(|change| ChangeJson {
                line: change.line,
                old: &change.old,
                new: &change.new,
            })
            .collect(),
        unfitted: unfitted.map(|each| unfitted_text(each, hints)).collect(),
    })
}
