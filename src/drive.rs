//! ROOM

mod build;
mod checks;
mod graph;
pub(crate) mod ids;
pub(crate) mod model;
pub(crate) mod plan;
pub(crate) mod read;
mod valve_build;
mod valve_checks;
pub(crate) mod valves;

pub use ids::{ChainId, Engagement, ShaftId};
pub use model::{Chain, Drive, Mark, Part, Phaser, Shaft, Shoe, Sprocket};
pub use plan::{Fastener, JobPart, JobStep, Plan};
pub use read::Reading;
pub use valves::{Cylinders, Lift, Valves};
