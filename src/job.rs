//! The job around the chain: looks kept in a record, questions in order, kit, torques, steps, gates.
//!
//! In: a [`Drive`](crate::Drive), answers and ticks with their times.
//! Out: [`Record`], [`Interview`], [`Job`] and what is open, blocked or proven, worked out again each
//! time.
//! Never: a stored conclusion, the clock, a file.

mod answers;
mod block;
mod car;
mod counting;
mod course;
mod entry;
mod error;
mod fingerprint;
mod gates;
mod history;
mod interview;
mod item;
mod look;
mod model;
mod name;
mod numbered;
mod onward;
mod question;
mod read_job;
mod read_record;
mod record;
mod replay;
mod replies;
mod resume;
mod said;
mod sights;
mod status;
mod tick;
mod unfit;
mod view;
mod write;

pub use block::Block;
pub use car::Car;
pub use counting::Counting;
pub use entry::{Authorship, Correction, Entry, Event, Override, Photo};
pub use error::JobError;
pub use history::checksum;
pub use interview::Interview;
pub use item::Item;
pub use look::{Look, Sight};
pub use model::Job;
pub use name::check_name;
pub use onward::{Closed, Passed};
pub use question::{Answer, Question, Refusal, Repeat, Reply, Step};
pub use read_job::JobReading;
pub use read_record::RecordReading;
pub use record::{LookChecked, Record, RecordCheck, Use};
pub use said::Said;
pub use status::{JobStatus, KitStatus, PhotoFound, PhotoStatus, StepState, StepStatus};
pub use unfit::Unfit;
pub use view::{View, WrongView};
