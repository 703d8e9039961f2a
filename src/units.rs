//! Quantities: exact numbers and what they measure, each a type of its own.
//!
//! In: texts and small whole numbers.
//! Out: [`Exact`], teeth, links, turns, degrees, places in the
//! cycle, torques, timestamps, and a lobe's lift (an estimate, and the only floats here).
//! Never: anything of a spec or a drive. Only `quantity` knows how wide a number is.

pub(crate) mod cycle;
pub(crate) mod decimal;
pub(crate) mod lift;
pub(crate) mod number;
pub(crate) mod quantity;
pub(crate) mod timestamp;
pub(crate) mod torque;

pub use cycle::{DeadCentre, Stroke, TradeAngle, TradeAngleError};
pub use lift::LiftCurve;
pub use quantity::{
    ClockAngle, CrankDegrees, CyclePlace, Exact, LinkCount, LinkPosition, NumberError, OutOfRange,
    Teeth, ToothCount, Turns,
};
pub use timestamp::{Timestamp, TimestampError};
pub use torque::{Tightening, Torque, TorqueError, TorqueUnit};
