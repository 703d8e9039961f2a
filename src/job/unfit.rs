//! Why a look proves nothing, however it came out.

use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::job::look::Look;
use crate::job::sights::turns_to_make;
use crate::proof::check::{CheckError, check};
use crate::spec::raw::ShaftKind;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::observe::Observations;
use crate::units::quantity::Turns;
use crate::units::timestamp::Timestamp;
use std::fmt;

/// Why a look proves nothing, however it came out.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Unfit {
    /// Something has happened since.
    Stale {
        /// What, in words.
        since: String,
    },
    /// It has no time of its own.
    NoTime,
    /// Its entry was voided.
    Voided,
    /// Something resisted while the engine was turned.
    Resisted,
    /// It was made before the job was begun.
    BeforeJob {
        /// When that was.
        begun: Timestamp,
    },
    /// It was made before a step that comes before it.
    BeforeStep {
        /// The step.
        step: String,
        /// When it was done; `None` if it was not yet.
        done: Option<Timestamp>,
    },
    /// It was made before the look at the stage before.
    BeforeStage {
        /// That stage.
        stage: Stage,
    },
    /// After that many turns a shaft does not stand as before.
    Turns {
        /// The shaft.
        shaft: String,
        /// As many as were made.
        turned: Turns,
        /// As many as it takes.
        needed: i64,
    },
    /// After turning, the dot of a shaft was not looked at.
    NoDot {
        /// The shaft.
        shaft: String,
    },
    /// After turning, it is in time by numbers of links alone.
    LinksAlone,
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stale { since } => write!(f, "{since} since"),
            Self::NoTime => f.write_str("nothing says when it was made"),
            Self::Resisted => f.write_str(
                "something resisted while the engine was turned: begin again at stage 1",
            ),
            Self::Voided => f.write_str("its entry was voided"),
            Self::BeforeJob { begun } => {
                write!(
                    f,
                    "it was made before the job was begun ({})",
                    begun.in_words()
                )
            }
            Self::BeforeStep { step, done: None } => {
                write!(f, "it was made before step {step} was done")
            }
            Self::BeforeStep {
                step,
                done: Some(done),
            } => write!(f, "it was made before step {step} ({})", done.in_words()),
            Self::BeforeStage { stage } => {
                write!(f, "it was made before the look at stage {}", stage.word())
            }
            Self::Turns {
                shaft,
                turned,
                needed,
            } => write!(
                f,
                "{turned} crank turns do not bring {shaft} back to its mark ({needed} do)"
            ),
            Self::NoDot { shaft } => write!(
                f,
                "after turning, only dots count, and that of {shaft} was not looked at"
            ),
            Self::LinksAlone => f.write_str("after turning, only dots count, and no links"),
        }
    }
}

/// Why a look after turning proves nothing although it is in time: numbers of links can be copied from what
/// this program says itself, so every shaft's own dot must be back at its mark, and seen there.
pub(super) fn after_turning(drive: &Drive, look: &Look) -> Result<Option<Unfit>, CheckError> {
    if look.stage != Stage::Turned {
        return Ok(None);
    }
    let turned = look.seen.turned();
    let must: Vec<ShaftId> = drive
        .shafts()
        .filter(|(id, shaft)| shaft.kind() == ShaftKind::Crankshaft || drive.is_timed(*id))
        .map(|(id, _)| id)
        .collect();
    for id in &must {
        let shaft = drive.shaft(*id);
        if !shaft.speed().checked_mul(turned.get())?.is_whole() {
            return Ok(Some(Unfit::Turns {
                shaft: shaft.name().to_owned(),
                turned,
                needed: turns_to_make(drive),
            }));
        }
    }
    for id in must {
        if drive.is_marked(id) && look.seen.dot(drive, id).is_none() {
            return Ok(Some(Unfit::NoDot {
                shaft: drive.shaft(id).name().to_owned(),
            }));
        }
    }
    // The bounds were kept when it was taken down.
    let Ok(mut dots) = Observations::after(turned) else {
        return Ok(Some(Unfit::LinksAlone));
    };
    for (at, what) in look.seen.dots() {
        if dots.see_dot(drive, *at, *what).is_err() {
            return Ok(Some(Unfit::LinksAlone));
        }
    }
    let proven = check(drive, &dots)?.verdict() == Verdict::InTime;
    Ok((!proven).then_some(Unfit::LinksAlone))
}
