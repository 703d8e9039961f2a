//! JSON for programs, one file for each question. The names of the fields are those of the structs'
//! fields and are stable; exact values are strings `p/q`, estimates are numbers.

pub(crate) mod check;
pub(crate) mod explain;
pub(crate) mod fitting;
pub(crate) mod geometry;
pub(crate) mod job;
pub(crate) mod lookalike;
pub(crate) mod moves;
pub(crate) mod paint;
pub(crate) mod record;
pub(crate) mod roll;
pub(crate) mod sheet;
pub(crate) mod slip;
pub(crate) mod stream;
pub(crate) mod wear;
