//! Why something cannot be taken into a job.

use crate::job::block::Block;
use crate::job::record::Use;
use crate::proof::check::CheckError;
use crate::spec::format::{MAX_ENTRIES, MAX_LOOKS, MAX_TEXT};
use crate::spec::source::Source;
use crate::spec::stage::Stage;
use crate::spec::yaml;
use crate::units::quantity::{Exact, OutOfRange};
use crate::units::timestamp::Timestamp;
use std::fmt;

/// Why something cannot be taken into a job. Nothing has changed then.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum JobError {
    /// Not one of the forms.
    Form {
        /// As given.
        text: String,
    },
    /// The spec has no such thing.
    Unknown {
        /// What it should be.
        what: &'static str,
        /// As given.
        name: String,
        /// The nearest there is.
        nearest: Option<String>,
    },
    /// Fasteners of another length than the spec says.
    WrongLength {
        /// Their name.
        name: String,
        /// As measured, in mm.
        found: Exact,
        /// As the spec has it, in mm.
        expected: Exact,
    },
    /// A length of something that is no fastener.
    NoLength {
        /// Its name.
        name: String,
    },
    /// It is done already.
    AlreadyDone {
        /// What.
        item: String,
    },
    /// Something blocks it.
    Blocked {
        /// What was to be done.
        item: String,
        /// What blocks it.
        blocks: Vec<Block>,
    },
    /// Crank turns that do not belong to the stage.
    StageTurns {
        /// The stage.
        stage: Stage,
    },
    /// An override, or a sign-off, of nobody.
    NeedsName,
    /// Before the latest entry.
    TimeGoesBack {
        /// When that was.
        last: Timestamp,
        /// Its number, from 1.
        entry: usize,
    },
    /// A record that names no car, for a job that does.
    OfNoCar,
    /// A record of another car.
    OfAnotherCar,
    /// A look of a record that says it was made later than now.
    FromTheFuture {
        /// When.
        made: Timestamp,
    },
    /// A record that was made for another job.
    OfAnotherJob,
    /// A record that another job has taken.
    Used {
        /// Which one.
        by: Use,
    },
    /// A record of which every look is taken already.
    NothingNew,
    /// A photo of that name is attached already.
    PhotoTwice {
        /// Its file.
        file: String,
        /// The number of its entry.
        entry: usize,
        /// Is it the very same file?
        same: bool,
    },
    /// No entry that can be corrected.
    NotCorrectable {
        /// Its number, as given.
        entry: usize,
        /// How many there are.
        entries: usize,
    },
    /// A corrected time that is not between those of the entries around it.
    OutOfOrder {
        /// The latest before it.
        after: Option<Timestamp>,
        /// The earliest after it.
        before: Option<Timestamp>,
    },
    /// A name or a reason that cannot be kept.
    BadText,
    /// The record takes no more.
    Full,
    /// A number that cannot be held; the bounds of [`Drive`](crate::Drive) prevent it.
    OutOfRange,
}

impl JobError {
    /// Is it a matter of what was done before, rather than of how it was said?
    pub fn is_refusal(&self) -> bool {
        matches!(
            self,
            Self::Blocked { .. }
                | Self::AlreadyDone { .. }
                | Self::WrongLength { .. }
                | Self::OfAnotherJob
                | Self::OfNoCar
                | Self::OfAnotherCar
                | Self::Used { .. }
                | Self::NothingNew
        )
    }
}

impl From<CheckError> for JobError {
    fn from(_: CheckError) -> Self {
        Self::OutOfRange
    }
}

impl From<OutOfRange> for JobError {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form { text } => write!(
                f,
                "'{text}' is not an item (expected part:NAME, part:NAME=COUNT, part:NAME=COUNTxLENGTH, old:NAME=COUNT, ordered:NAME, torque:NAME or step:NAME)"
            ),
            Self::Unknown {
                what,
                name,
                nearest,
            } => {
                write!(f, "the spec has no {what} '{name}'")?;
                match nearest {
                    Some(nearest) => write!(f, " (did you mean '{nearest}'?)"),
                    None => Ok(()),
                }
            }
            Self::WrongLength {
                name,
                found,
                expected,
            } => write!(
                f,
                "'{name}' must be {expected} mm long; these are {found} mm (get the right ones before you take anything apart)"
            ),
            Self::NoLength { name } => write!(
                f,
                "'{name}' is not a fastener, so it has no length to check (give part:{name}=COUNT)"
            ),
            Self::AlreadyDone { item } => write!(f, "{item} is already done"),
            Self::Blocked { item, blocks } => {
                let blocks: Vec<String> = blocks.iter().map(Block::to_string).collect();
                write!(f, "{item} is blocked: {}", blocks.join("; "))
            }
            Self::StageTurns {
                stage: Stage::Turned,
            } => f.write_str(
                "stage turned comes after turning the crankshaft: give the number of turns",
            ),
            Self::StageTurns { stage } => write!(
                f,
                "stage {} comes before turning the crankshaft: give no turns",
                stage.word()
            ),
            Self::NeedsName => f.write_str(
                "an override, a correction or a sign-off needs a name, and so does every entry of a job that knows its car",
            ),
            Self::TimeGoesBack { last, entry } => write!(
                f,
                "this is earlier than entry {entry} of {last} (is the clock right? If that entry is wrong, correct it)"
            ),
            Self::FromTheFuture { made } => write!(
                f,
                "a look in this record was made at {made}, later than this entry (is the clock right?)"
            ),
            Self::OfAnotherJob => {
                f.write_str("this record was made for another job, and proves nothing in this one")
            }
            Self::OfNoCar => f.write_str(
                "nothing says of which car this record is, and this job knows its car (look again, for this job)",
            ),
            Self::OfAnotherCar => {
                f.write_str("this record is of another car, and proves nothing of this one")
            }
            Self::Used { by } => write!(
                f,
                "another job ({}) took this record at {}; it proves nothing in this one",
                by.file, by.at
            ),
            Self::NothingNew => f.write_str("every look of this record is already in this job"),
            Self::PhotoTwice {
                file,
                entry,
                same: true,
            } => write!(f, "'{file}' is attached already, as entry {entry} (once is enough)"),
            Self::PhotoTwice {
                file,
                entry,
                same: false,
            } => write!(
                f,
                "another photo called '{file}' is attached, as entry {entry}: one name cannot stand for both (rename the new one)"
            ),
            Self::NotCorrectable { entry, entries } if (1..=*entries).contains(entry) => write!(
                f,
                "entry {entry} cannot be corrected: it is the beginning, a correction, or has no time"
            ),
            Self::NotCorrectable { entry, entries } => {
                write!(f, "there is no entry {entry} (there are {entries})")
            }
            Self::OutOfOrder { after, before } => {
                f.write_str("the time must lie ")?;
                match (after, before) {
                    (Some(after), Some(before)) if after > before => write!(
                        f,
                        "at or after {after}, and not after {before} (one of these is wrong too: correct it first)"
                    ),
                    (after, before) => {
                        if let Some(after) = after {
                            write!(f, "at or after {after}")?;
                        }
                        if let Some(before) = before {
                            write!(f, ", and not after {before}")?;
                        }
                        f.write_str(", as the entries around it do")
                    }
                }
            }
            Self::BadText => write!(
                f,
                "a name or a reason must be 1 to {MAX_TEXT} printable characters, and not blank"
            ),
            Self::Full => write!(
                f,
                "the record is full: at most {MAX_ENTRIES} entries, {MAX_LOOKS} looks, {} values and {} KiB (nothing was written; start a new job)",
                yaml::MAX_NODES,
                Source::MAX_BYTES / 1024
            ),
            Self::OutOfRange => OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for JobError {}
