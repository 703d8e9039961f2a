//! ROOM

pub(crate) mod clearance;
pub(crate) mod piston;
pub(crate) mod slip;
pub(crate) mod timing;

pub use clearance::{CLEARANCE_ACCURACY_MM, LeastClearance, NoClearance, PistonAndValve};
pub use piston::SliderCrank;
pub use slip::{
    Contact, Slip, SlipError, SlipOutcome, Slips, Sweep, SweepRow, Symptom, slip, sprocket_named,
    sweep,
};
pub use timing::{PairTiming, Timing, ValveTiming, timing};
