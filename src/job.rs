//! The job around the chain: looks kept in a record, questions in order, kit, torques, steps, gates.
//!
//! In: a [`Drive`](crate::Drive), answers and ticks with their times.
//! Out: [`Record`], [`Interview`],
//! [`Job`] and what is open, blocked or proven, worked out again each time.
//! Never: a stored conclusion, the clock, a file.

pub(crate) mod history;
pub(crate) mod interview;
pub(crate) mod model;
pub(crate) mod record;

pub use interview::{Answer, Interview, Question, Refusal, Repeat, Reply, Step};
pub use model::{
    Block, Entering, Entry, Event, Item, Job, JobError, JobReading, JobStatus, KitStatus,
    Overriding, Standing, StepStatus,
};
pub use record::{Look, LookChecked, Record, RecordCheck, RecordReading, Sight};
