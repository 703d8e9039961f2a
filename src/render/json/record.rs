//! The verdicts on a record.

use super::check::{UnseenJson, VerdictJson};
use crate::drive::model::Drive;
use crate::job::{LookChecked, RecordCheck};
use crate::render::hints::Hints;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::stage::sight_parts;
use crate::render::words::verdict::verdict_word;
use crate::spec::stage::Stage;
use crate::units::quantity::Turns;
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A record's fields.
#[derive(Serialize)]
pub(crate) struct RecordJson<'a> {
    engine: &'a str,
    verdict: &'static str,
    release_tensioner: bool,
    stages: Vec<LookJson<'a>>,
    missing: Vec<&'static str>,
    earlier: Vec<LookJson<'a>>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct LookJson<'a> {
    #[serde(flatten)]
    verdict: VerdictJson<'a>,
    stage: &'static str,
    turned: Turns,
    at: Option<String>,
    by: Option<&'a str>,
    view: Option<&'static str>,
    crank_seen: Option<&'static str>,
    felt: Option<Turns>,
    proves_nothing: Option<String>,
    said: BTreeMap<&'static str, bool>,
    not_said: Vec<&'static str>,
    could_not_be_seen: Vec<UnseenJson<'a>>,
}

/// The verdicts on a record as JSON. `hints` says how to look at what its texts want looked at.
pub fn record_json(drive: &Drive, check: &RecordCheck<'_>, hints: &dyn Hints) -> Value {
    json!(RecordJson::new(drive, check, hints))
}

impl<'a> RecordJson<'a> {
    pub(crate) fn new(drive: &'a Drive, check: &RecordCheck<'a>, hints: &dyn Hints) -> Self {
        let all = |looks: &[LookChecked<'a>]| {
            let looks = looks.iter();
            looks.map(|seen| look(drive, seen, hints)).collect()
        };
        Self {
            engine: drive.engine(),
            verdict: verdict_word(check.verdict()),
            release_tensioner: check.release_tensioner(),
            stages: all(&check.stages),
            missing: check.missing().map(Stage::word).collect(),
            earlier: all(&check.earlier),
            cautions: CAUTIONS,
        }
    }
}

fn look<'a>(drive: &'a Drive, seen: &LookChecked<'a>, hints: &dyn Hints) -> LookJson<'a> {
    let not_seen = seen.look.not_seen.iter();
    LookJson {
        verdict: VerdictJson::new(drive, &seen.check, &seen.fits, hints),
        stage: seen.look.stage.word(),
        turned: seen.look.seen.turned(),
        at: seen.look.at.map(|at| at.to_string()),
        by: seen.look.by.as_deref(),
        view: seen.look.view.map(|view| view.from().word()),
        crank_seen: seen
            .look
            .view
            .map(|view| view.seen(drive.crank_turns()).word()),
        felt: seen.look.felt,
        proves_nothing: seen.unfit.as_ref().map(ToString::to_string),
        said: seen
            .look
            .said
            .iter()
            .map(|(what, so)| (what.word(), *so))
            .collect(),
        not_said: seen
            .unsaid
            .iter()
            .filter(|(_, answer)| answer.is_none())
            .map(|(what, _)| what.word())
            .collect(),
        could_not_be_seen: not_seen
            .map(|sight| {
                let (look_at, at) = sight_parts(*sight);
                UnseenJson {
                    look_at,
                    chain: Some(drive.chain(at.chain).name()),
                    shaft: drive.shaft(drive.sprocket(at).shaft()).name(),
                }
            })
            .collect(),
    }
}
