//! Why there is no picture.

use std::fmt;

/// What a spec lacks for a picture.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum PlotError {
    /// An intake and an exhaust on the same cylinders.
    NoPair,
    /// Something about these valves.
    Lacks {
        /// Their name.
        valves: String,
        /// What.
        missing: &'static str,
    },
}

impl fmt::Display for PlotError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoPair => f.write_str(
                "this picture needs an intake and an exhaust on the same cylinders (add what is missing under 'valves:')",
            ),
            Self::Lacks { valves, missing } => write!(
                f,
                "this picture needs {missing}, which the spec does not give for '{valves}' (add it)"
            ),
        }
    }
}

impl std::error::Error for PlotError {}
