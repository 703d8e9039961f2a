//! Valve events and pistons: exact events, estimated compression and clearance, and what a slip does.
//!
//! In: a [`Drive`](crate::Drive) with valves, slips or errors of its shafts, and what a
//! [`Check`](crate::Check) wants moved.
//! Out: [`Timing`], [`CylinderPose`], [`SlipOutcome`] and [`SafeMoves`].
//! Never: a verdict; every estimate says that it is one.

pub(crate) mod clearance;
pub(crate) mod cylinder;
pub(crate) mod moves;
mod path;
pub(crate) mod piston;
mod reach;
pub(crate) mod slip;
pub(crate) mod timing;

pub use clearance::{
    CLEARANCE_ACCURACY_MM, LeastClearance, NoClearance, PistonAndValve, TOO_CLOSE_MM,
};
pub use cylinder::{CylinderPose, ValvePose, cylinder_poses};
pub use moves::{
    Closest, Missing, NoOrder, OVERRUN, Order, PARKED_WITHIN, SafeMoves, SafeStep, safe_moves,
};
pub use piston::SliderCrank;
pub use slip::{
    Contact, Slip, SlipError, SlipOutcome, Slips, Sweep, SweepRow, Symptom, slip, sprocket_named,
    sweep,
};
pub use timing::{NoCompression, PairTiming, Timing, ValveTiming, timing};
