//! What blocks a step, and how that is said.

use crate::job::said::Said;
use crate::job::unfit::Unfit;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::units::timestamp::Timestamp;
use std::fmt;

/// What blocks a step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Block {
    /// An earlier step is not done.
    NotDone {
        /// Its name.
        step: String,
    },
    /// Parts are not on the bench.
    Missing {
        /// The part or single-use fastener.
        kit: String,
        /// How many are lacking.
        lacking: u32,
    },
    /// A kind of fastener is not confirmed to be tightened.
    Torque {
        /// Its name.
        fastener: String,
    },
    /// The marks are not proven in time.
    Marks {
        /// At this stage.
        stage: Stage,
        /// The verdict; `None` if they were not looked at. In time, and a block all the same: by links
        /// that a look-alike shows as well.
        verdict: Option<Verdict>,
    },
    /// The last look at a stage proves nothing here.
    Unfit {
        /// The stage.
        stage: Stage,
        /// Why.
        why: Unfit,
    },
    /// Something that nothing can measure was denied or not said.
    Unsaid {
        /// What.
        what: Said,
        /// Was it denied?
        denied: bool,
    },
    /// The old ones of a part were not counted, or are not as many as go on.
    Old {
        /// The part.
        part: String,
        /// How many came off, if they were counted.
        off: Option<u32>,
        /// How many go on.
        on: u32,
    },
    /// More time has gone by since the step before than there is.
    TooLate {
        /// That step.
        step: String,
        /// How many minutes there are.
        within: u32,
        /// Until then there was time.
        until: Timestamp,
    },
    /// An earlier step makes it wait.
    Waiting {
        /// That step.
        step: String,
        /// Until then.
        until: Timestamp,
    },
}

impl fmt::Display for Block {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotDone { step } => write!(f, "step {step} is not done"),
            Self::Missing { kit, lacking } => {
                write!(f, "{kit} is not on the bench ({lacking} missing)")
            }
            Self::Torque { fastener } => write!(f, "torque of {fastener} is not confirmed"),
            Self::Marks { stage, verdict } => {
                let known = match verdict {
                    None => "not yet looked at",
                    Some(Verdict::InTime) => {
                        "in time by the links alone, which a look-alike shows too (look at the dots)"
                    }
                    Some(Verdict::OutOfTime) => "out of time",
                    Some(Verdict::NotProven) => "not proven",
                };
                write!(f, "the marks at stage {} are {known}", stage.word())
            }
            Self::Unfit { stage, why } => {
                write!(
                    f,
                    "the look at stage {} proves nothing: {why}",
                    stage.word()
                )
            }
            Self::Unsaid {
                what: Said::TurnedFree,
                denied: true,
            } => f.write_str("something resisted while the engine was turned (turned-free)"),
            Self::Unsaid { what, denied } => {
                let said = if *denied {
                    "was said not to be so"
                } else {
                    "was not said"
                };
                write!(f, "{} {said}", what.word())
            }
            Self::Old {
                part,
                off: None,
                on,
            } => write!(f, "the old {part} were not counted ({on} go on)"),
            Self::Old {
                part,
                off: Some(off),
                on,
            } if off < on => write!(
                f,
                "{off} old {part} came off, {on} go on: one may still sit in its seat"
            ),
            Self::Old {
                part,
                off: Some(off),
                on,
            } => write!(
                f,
                "{off} old {part} came off, {on} go on: one may be left out"
            ),
            Self::TooLate {
                step,
                within,
                until,
            } => write!(
                f,
                "it had to be done within {within} minutes of step {step}, by {}: sealant has skinned over by now",
                until.in_words()
            ),
            Self::Waiting { step, until } => {
                write!(f, "{step} must be left alone until {}", until.in_words())
            }
        }
    }
}
