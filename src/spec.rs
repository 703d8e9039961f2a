//! ROOM

pub(crate) mod conform;
pub(crate) mod finding;
pub(crate) mod format;
pub(crate) mod place;
pub(crate) mod raw;
pub(crate) mod source;
pub(crate) mod stage;
pub(crate) mod values;
pub(crate) mod valves;
pub(crate) mod yaml;

pub use finding::{AlsoRight, Finding, LiftTableFault, PartName, Piece, Problem, Severity};
pub use format::{FORMAT_VERSION, JOB_VERSION, MAX_CHAINS, MAX_SHAFTS, RECORD_VERSION};
pub use raw::{Parked, Rotation, ShaftKind};
pub use source::{At, Position, Source, SourceError, Span};
pub use stage::{Gate, Stage};
pub use valves::ValveKind;
