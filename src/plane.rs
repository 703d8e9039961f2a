//! ROOM

pub(crate) mod fitting;
pub mod geometry;
pub(crate) mod layout;
pub(crate) mod survey;
pub(crate) mod wear;

pub use fitting::{Change, Fitting, FittingError, Unfitted, fit_marks};
pub use layout::{FromPaths, Layout, LayoutError, MissingGeometry, Residual};
pub use survey::{lint, survey};
pub use wear::{
    ChainWear, Elongation, Extension, ShaftWear, Wear, WearError, WearLimit, WearVerdict, wear,
};
