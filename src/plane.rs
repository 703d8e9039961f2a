//! The plane, where floats begin: paths of chains around circles, fit, wear.
//!
//! In: a [`Drive`](crate::Drive) with centres and pitch.
//! Out: [`Layout`], findings where geometry and
//! marks contradict each other, marks that would fit, wear.
//! Never: a verdict on what was seen; nothing exact is made from a float of this room.

pub(crate) mod fitting;
pub mod geometry;
pub(crate) mod layout;
pub(crate) mod mend;
pub(crate) mod report;
pub(crate) mod survey;
mod variation;
pub(crate) mod wear;

pub use fitting::{Change, FittedMark, FittedWhy, Fitting, FittingError, Unfitted, fit_marks};
pub use layout::{FromPaths, Layout, LayoutError, MissingGeometry, Residual};
pub use mend::seek_remedies;
pub use report::{ChainReport, Laid, PartReport, StrandReport, TensionerReport, geometry_report};
pub use survey::{lint, survey};
pub use wear::{
    ChainWear, Elongation, Extension, ShaftWear, Wear, WearError, WearLimit, WearVerdict, can_wear,
    wear, wearing,
};
