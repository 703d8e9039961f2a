//! The drive in the plane: where a chain runs, how long it is, how it fits, and how it wears.
//!
//! Floating point begins here and stays here; the exact model knows nothing of it. The flow is
//! [`Wheel`]s in the order of travel -> [`Path`] (tangents, wraps, links) -> questions to the path:
//! [`Path::links_between`], [`Path::place_from`], [`Path::findings`], [`Path::tensions`], [`solve_travel`],
//! [`SeatedPins`], [`retard`].
//!
//! # Axes and signs
//!
//! Facing the timing end: x to the right, y up, millimetres. A clock angle is in degrees, clockwise from
//! 12 o'clock. Everything is measured along the chain's direction of travel, so a length, a wrap or a count of links
//! is never negative.
//!
//! # How links are counted
//!
//! A chain on a sprocket is a polygon of straight links whose pins lie on the pitch circle, so an arc
//! on a sprocket is counted in teeth (angle * z / 360), never as arc length over pitch; a strand is its tangent length over the
//! pitch; an arc on a smooth shoe is its length over the pitch. The count is a model of smooth motion. [`SeatedPins`] drops
//! that and keeps every pin.
//!
//! # Elongation
//!
//! A chain worn by eps has the pitch p (1 + eps) and rides out on its sprockets to the circle on which that pitch
//! fits the same number of teeth. So a worn chain is simply a path whose pitch is p (1 + eps): see [`elongated`].
//!
//! # Example
//!
//! ```
//! use tautmark::plane::geometry::{Path, Point, Round, Side, Travel, Wheel};
//!
//! let sprocket = |x, y, teeth| Wheel { centre: Point::new(x, y), round: Round::Sprocket { teeth }, side: Side::Inside };
//! let path = Path::new(&[sprocket(0.0, 0.0, 18), sprocket(0.0, 220.0, 36)], 8.0, Travel::Clockwise)?;
//! assert!((path.links() - 82.298_705_759).abs() < 1e-8);
//!
//! // Two sprockets in the same place cannot carry a chain.
//! assert!(Path::new(&[sprocket(0.0, 0.0, 18), sprocket(0.0, 10.0, 36)], 8.0, Travel::Clockwise).is_err());
//! # Ok::<(), tautmark::plane::geometry::PathError>(())
//! ```
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

mod finding;
mod fit;
mod path;
mod pins;
mod plane;
mod tension;
mod wear;
mod wheel;

pub use finding::{Limits, Part, PathFinding};
pub use fit::{Fit, FitError, Tensioner, solve_travel};
pub use path::{Contact, Count, Path, PathError, Place, Strand};
pub use pins::{Dot, PinError, Ripple, SeatedPins, Turned};
pub use plane::{Point, Travel, Vec2};
pub use tension::{Tension, TensionError};
pub use wear::{elongated, retard};
pub use wheel::{Round, Side, Wheel, belt_pitch_diameter, pitch_diameter};
