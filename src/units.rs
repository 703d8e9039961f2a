//! ROOM

pub(crate) mod cycle;
pub(crate) mod lift;
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
