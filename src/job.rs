//! ROOM

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
