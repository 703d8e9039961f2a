//! Causes of what was measured.

use crate::drive::model::Drive;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::elsewhere::{ELSEWHERE_BASIS, elsewhere_words};
use crate::timing::cause::{Explanation, Fault};
use crate::timing::elsewhere::elsewhere;
use crate::timing::measure::Measured;
use crate::timing::trouble::TroubleCode;
use crate::units::quantity::{CrankDegrees, Exact, Teeth};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

#[derive(Serialize)]
struct ExplainJson<'a> {
    causes: Vec<CauseJson<'a>>,
    more: bool,
    /// Shafts of which nothing can be told, their tolerance being too wide.
    nothing_told: Vec<&'a str>,
    /// What lies outside the drive and was not ruled out either, in no order.
    not_ruled_out: Vec<ElsewhereJson<'a>>,
    codes: Vec<CodeJson>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct CauseJson<'a> {
    faults: Vec<FoundJson<'a>>,
    /// By shaft.
    residual_crank_degrees: BTreeMap<&'a str, CrankDegrees>,
    teeth: i64,
}

#[derive(Serialize)]
struct FoundJson<'a> {
    #[serde(flatten)]
    fault: FaultJson<'a>,
    shows_in_marks: bool,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum FaultJson<'a> {
    Slip {
        chain: &'a str,
        shaft: &'a str,
        teeth: Teeth,
    },
    Phaser {
        shaft: &'a str,
        crank_degrees: CrankDegrees,
    },
    Dowel {
        shaft: &'a str,
        crank_degrees: CrankDegrees,
    },
    CrankTurn,
    Elongation {
        least: Exact,
        most: Exact,
    },
}

#[derive(Serialize)]
struct ElsewhereJson<'a> {
    kind: &'static str,
    shaft: Option<&'a str>,
    text: String,
    settled_by: &'static str,
    basis: &'static str,
}

#[derive(Serialize)]
struct CodeJson {
    code: &'static str,
    meaning: &'static str,
    tells: &'static str,
    does_not_tell: &'static str,
}

/// The smallest causes as JSON, and what the codes are worth.
pub fn explain_json(
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
) -> Value {
    let causes = explanation.map_or(&[][..], |explanation| &explanation.causes);
    json!(ExplainJson {
        causes: causes
            .iter()
            .map(|cause| CauseJson {
                faults: cause
                    .faults
                    .iter()
                    .map(|each| FoundJson {
                        fault: fault(drive, each),
                        shows_in_marks: each.shows_in_marks(),
                    })
                    .collect(),
                residual_crank_degrees: measured
                    .iter()
                    .zip(&cause.residuals)
                    .map(|(one, residual)| (drive.shaft(one.shaft).name(), *residual))
                    .collect(),
                teeth: cause.teeth,
            })
            .collect(),
        more: explanation.is_some_and(|explanation| explanation.more),
        nothing_told: explanation
            .iter()
            .flat_map(|explanation| &explanation.swallowed)
            .map(|shaft| drive.shaft(*shaft).name())
            .collect(),
        not_ruled_out: explanation
            .filter(|explanation| explanation.swallowed.is_empty())
            // What cannot be held was refused when it was read.
            .map(|_| elsewhere(drive, measured).unwrap_or_default())
            .into_iter()
            .flatten()
            .map(|one| {
                let words = elsewhere_words(drive, one);
                ElsewhereJson {
                    kind: words.code,
                    shaft: words.shaft,
                    text: words.what,
                    settled_by: words.settled_by,
                    basis: ELSEWHERE_BASIS,
                }
            })
            .collect(),
        codes: codes
            .iter()
            .map(|code| CodeJson {
                code: code.code,
                meaning: code.meaning,
                tells: code.tells,
                does_not_tell: code.does_not_tell,
            })
            .collect(),
        cautions: CAUTIONS,
    })
}

fn fault<'a>(drive: &'a Drive, fault: &Fault) -> FaultJson<'a> {
    let name = |id| drive.shaft(id).name();
    match fault {
        Fault::Slip { at, teeth } => FaultJson::Slip {
            chain: drive.chain(at.chain).name(),
            shaft: name(drive.sprocket(*at).shaft()),
            teeth: *teeth,
        },
        Fault::Phaser { shaft, angle } => FaultJson::Phaser {
            shaft: name(*shaft),
            crank_degrees: *angle,
        },
        Fault::Dowel { shaft, angle } => FaultJson::Dowel {
            shaft: name(*shaft),
            crank_degrees: *angle,
        },
        Fault::CrankTurn => FaultJson::CrankTurn,
        Fault::Elongation { least, most } => FaultJson::Elongation {
            least: *least,
            most: *most,
        },
    }
}
