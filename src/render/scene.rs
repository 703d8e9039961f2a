//! What a page shows of one drive: the parts that stay, the places of what moves, and what a slip does.
//!
//! All of it is worked out here, for one moment at a time. Whoever shows it puts the pieces where they are
//! said to be.

mod circle;
mod figure;
mod interview;
mod key;
mod lift;
mod moment;
mod place;
mod section;
mod state;
mod still;

pub use interview::interview_json;
pub use moment::{cylinders_json, moment_json};
pub use place::place_json;
pub use state::slipped_json;
pub use still::{figures_json, scene_json};
