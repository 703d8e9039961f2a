//! Pictures of what a slip does, as SVG. Everything reads in black and white: kinds and states are
//! told apart by lines and words, and by colour only besides.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

mod chosen;
mod circle;
mod clearance;
mod error;
mod lift;
mod paper;

pub use error::PlotError;

use crate::drive::model::Drive;
use crate::valves::slip::{SlipOutcome, Slips, Sweep};

/// Which picture.
#[derive(Clone, Copy, Debug)]
pub enum Plot<'a> {
    /// Valve lift and piston travel over 720 crank degrees.
    Lift,
    /// The circular valve timing diagram.
    Circle,
    /// Clearance against teeth slipped, and what has slipped already.
    Clearance(&'a Sweep, &'a Slips),
}

/// The picture as one SVG document.
///
/// # Errors
/// [`PlotError`]: what the spec would have to say.
pub fn plot(drive: &Drive, outcome: &SlipOutcome, which: Plot<'_>) -> Result<String, PlotError> {
    match which {
        Plot::Lift => lift::draw(drive, outcome),
        Plot::Circle => circle::draw(drive, outcome),
        Plot::Clearance(sweep, slips) => clearance::draw(drive, sweep, slips),
    }
}
