//! Why something cannot be said of a drive.

use crate::units::quantity::OutOfRange;
use std::fmt;

/// Why there is no verdict, no pose or no picture.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum CheckError {
    /// It belongs to another drive: seen there, or named by one of its ids.
    OtherDrive,
    /// A number cannot be held; the bounds of [`Drive`](crate::Drive) and
    /// [`Observations`](crate::Observations) prevent it.
    OutOfRange,
}

impl fmt::Display for CheckError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OtherDrive => f.write_str(
                "this belongs to another engine's drive, and proves nothing of this one (look at its own marks)",
            ),
            Self::OutOfRange => OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for CheckError {}

impl From<OutOfRange> for CheckError {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}
