//! How the drive is hung, exactly: what was seen, how far each shaft is off, and what follows.
//!
//! In: a [`Drive`](crate::Drive) and [`Observations`] or measurements.
//! Out: the hung state, what follows
//! from it, remedies, returns of the marks, look-alikes, causes, poses.
//! Never: a float, a coordinate, a word for people.

pub(crate) mod cause;
pub(crate) mod check;
pub(crate) mod count;
pub(crate) mod doubt;
pub(crate) mod elsewhere;
pub(crate) mod evidence;
pub(crate) mod hang;
pub(crate) mod lookalike;
pub(crate) mod measure;
pub(crate) mod observe;
pub(crate) mod pose;
pub(crate) mod remedy;
pub(crate) mod roll;
pub(crate) mod trouble;

pub use cause::{Cause, Explanation, Fault, FromMarks, MOST_FAULTS, Strands, explain};
pub use check::{CrankPlace, ShaftState, Unseen, Verdict, link_due};
pub use count::{CountError, DotCount, Plates, count_due, counted_on, plates_tell};
pub use doubt::{Doubt, Reconciliation};
pub use elsewhere::{Elsewhere, elsewhere};
pub use hang::{Hung, Offset, OwnOffset, ShaftHung, hang};
pub use lookalike::{Fit, Lookalike, LookalikeKind, ambiguous, lookalikes};
pub use measure::{MeasureError, Measured};
pub use observe::{
    ObservationError, Observations, Seen, SeenError, dot_named, link_named, name_of, shaft_named,
};
pub use pose::{Basis, Pose, SprocketPose};
pub use remedy::{Move, Remedy};
pub use roll::{
    MarkPlace, Meeting, Moment, Moments, Returns, Roll, meetings, moments, returns, roll,
};
pub use trouble::{ABOUT_CODES, TROUBLE_CODES, TroubleCode, trouble_code};
