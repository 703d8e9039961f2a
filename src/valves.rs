//! Valve events and pistons: exact events, estimated compression and clearance, and what a slip does.
//!
//! In: a [`Drive`](crate::Drive) with valves, and slips or errors of its shafts.
//! Out: [`Timing`] and
//! [`SlipOutcome`].
//! Never: a verdict; every estimate says that it is one.

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
pub use timing::{NoCompression, PairTiming, Timing, ValveTiming, timing};
