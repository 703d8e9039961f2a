//! ROOM

pub(crate) mod cause;
pub(crate) mod check;
pub(crate) mod hang;
pub(crate) mod lookalike;
pub(crate) mod measure;
pub(crate) mod observe;
pub(crate) mod pose;
pub(crate) mod roll;
pub(crate) mod trouble;

pub use cause::{Cause, Explanation, Fault, FromMarks, MOST_FAULTS, Strands, explain};
pub use check::{
    Check, Doubt, Reconciliation, Remedy, ShaftState, Unseen, Verdict, check, link_due,
};
pub use hang::{Hung, Offset, OwnOffset, ShaftHung, hang};
pub use lookalike::{Fit, Lookalike, LookalikeKind, ambiguous, fits, lookalikes};
pub use measure::{MeasureError, Measured};
pub use observe::{
    ObservationError, Observations, Seen, SeenError, dot_named, link_named, name_of, shaft_named,
};
pub use pose::{Basis, Pose, SprocketPose};
pub use roll::{
    MarkPlace, Meeting, Moment, Moments, Returns, Roll, meetings, moments, returns, roll,
};
pub use trouble::{ABOUT_CODES, TROUBLE_CODES, TroubleCode, trouble_code};
