//! The file as written: text with places, the tables of keys, a tree of nodes, values with places.
//!
//! In: the text of a spec, record or job ([`Source`]).
//! Out: what is written there, as crate-private structs, and a [`Finding`] for each mistake: typed data,
//! whose words stand with its type.
//! Never: a drive, or any conclusion about how parts fit each other.

pub(crate) mod choice;
pub(crate) mod conform;
pub(crate) mod edit;
pub(crate) mod finding;
pub(crate) mod format;
pub(crate) mod place;
pub(crate) mod raw;
pub(crate) mod source;
pub(crate) mod stage;
pub(crate) mod values;
pub(crate) mod valves;
pub(crate) mod yaml;

pub use choice::{ChainKind, Parked, Rotation, ShaftKind, ValveKind, Viewpoint};
pub use finding::{
    AlsoRight, ChainProblem, Change, DriveProblem, Finding, FitProblem, LiftTableFault,
    MarkProblem, Mend, PartName, PathProblem, Piece, Problem, ReadingProblem, RecordProblem,
    Remedy, Severity, StepProblem, ValueProblem, ValveProblem,
};
pub use format::{FORMAT_VERSION, JOB_VERSION, MAX_CHAINS, MAX_SHAFTS, RECORD_VERSION};
pub use source::{At, Position, Source, SourceError, Span};
pub use stage::{Gate, Stage};
