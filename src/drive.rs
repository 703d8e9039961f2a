//! The checked model: shafts, sprockets, chains, marks, ratios, valves and the plan of the job.
//!
//! In: the file as written.
//! Out: [`Drive`], which exists only if everything holds together, or
//! findings that say what does not ([`Reading`]).
//! Never: what somebody saw. Nothing here depends on how a chain is hung.

mod build;
mod checks;
pub(crate) mod error;
mod graph;
pub(crate) mod ids;
pub(crate) mod lattice;
mod lattice_build;
pub(crate) mod model;
pub(crate) mod plan;
pub(crate) mod read;
mod valve_build;
mod valve_checks;
pub(crate) mod valves;

pub use error::CheckError;
pub use ids::{ChainId, Engagement, ShaftId};
pub use model::{Chain, Drive, Mark, Part, Phaser, Shaft, Shoe, Sprocket};
pub use plan::{Fastener, JobPart, JobStep, Plan};
pub use read::Reading;
pub use valves::{Cylinders, Lift, Valves};
