//! Text for a person at the engine, one file for each question.

pub(crate) mod ask;
pub(crate) mod check;
pub(crate) mod closed;
pub(crate) mod explain;
pub(crate) mod fitting;
pub(crate) mod geometry;
pub(crate) mod job;
pub(crate) mod lesson;
pub(crate) mod paint;
pub(crate) mod record;
pub(crate) mod roll;
pub(crate) mod said;
pub(crate) mod sheet;
pub(crate) mod slip;
pub(crate) mod view;
pub(crate) mod wear;
