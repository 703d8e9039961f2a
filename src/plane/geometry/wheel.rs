//! What a chain runs over: sprockets and smooth shoes.

use super::plane::{Point, Travel};

/// Pitch diameter in mm of a sprocket with `teeth` teeth for a chain of `pitch` mm: p / sin(180 deg / z)
/// (ISO 606, ASME B29.1).
///
/// Meaningful from 3 teeth on; two teeth give the pitch itself, and none gives not-a-number.
///
/// ```
/// use tautmark::plane::geometry::pitch_diameter;
///
/// assert!((pitch_diameter(19.05, 17) - 103.673_741).abs() < 1e-6);
/// assert!(!pitch_diameter(19.05, 0).is_finite());
/// ```
#[must_use]
pub fn pitch_diameter(pitch: f64, teeth: u32) -> f64 {
    pitch / libm::sin(std::f64::consts::PI / f64::from(teeth))
}

/// Pitch diameter in mm of a toothed pulley with `teeth` teeth for a belt of `pitch` mm: p z / pi, for a belt bends along
/// its pitch line where a chain lies in straight links (ISO 5294; from memory).
///
/// ```
/// use tautmark::plane::geometry::belt_pitch_diameter;
///
/// // A circle whose circumference is 24 pitches.
/// assert!((belt_pitch_diameter(9.525, 24) * std::f64::consts::PI - 228.6).abs() < 1e-9);
/// ```
#[must_use]
pub fn belt_pitch_diameter(pitch: f64, teeth: u32) -> f64 {
    pitch * f64::from(teeth) / std::f64::consts::PI
}

/// What the chain lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Round {
    /// A toothed wheel; the pins lie on its pitch circle.
    Sprocket {
        /// Number of teeth, 3 or more.
        teeth: u32,
    },
    /// A toothed pulley; the belt's pitch line lies on its pitch circle.
    Pulley {
        /// Number of teeth, 3 or more.
        teeth: u32,
    },
    /// A smooth shoe: a fixed guide, or the shoe of a tensioner.
    Shoe {
        /// Radius in mm on which the pins of the chain lie, so the shoe's own radius and half a plate's height.
        radius: f64,
    },
}

/// The side of the loop of chain on which a wheel lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Within the loop: the wheel turns the way in which the chain travels.
    Inside,
    /// Without, pressing in: the wheel turns the other way.
    Outside,
}

/// A sprocket or shoe in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wheel {
    /// Centre in mm.
    pub centre: Point,
    /// Sprocket or shoe.
    pub round: Round,
    /// Inside or outside of the loop.
    pub side: Side,
}

impl Wheel {
    /// Radius in mm on which the pins lie, for a chain of `pitch` mm.
    #[must_use]
    pub fn radius(&self, pitch: f64) -> f64 {
        match self.round {
            Round::Sprocket { teeth } => pitch_diameter(pitch, teeth) / 2.0,
            Round::Pulley { teeth } => belt_pitch_diameter(pitch, teeth) / 2.0,
            Round::Shoe { radius } => radius,
        }
    }

    /// Links of a chain of `pitch` mm that lie on one degree of this wheel.
    #[must_use]
    pub fn links_per_degree(&self, pitch: f64) -> f64 {
        match self.round {
            Round::Sprocket { teeth } | Round::Pulley { teeth } => f64::from(teeth) / 360.0,
            Round::Shoe { radius } => radius.to_radians() / pitch,
        }
    }

    /// Number of teeth, or `None` for a shoe.
    #[must_use]
    pub fn teeth(&self) -> Option<u32> {
        match self.round {
            Round::Sprocket { teeth } | Round::Pulley { teeth } => Some(teeth),
            Round::Shoe { .. } => None,
        }
    }

    /// The way in which this wheel turns (a shoe: in which the chain slides over it) on a loop that travels `travel`.
    #[must_use]
    pub fn turns(&self, travel: Travel) -> Travel {
        match self.side {
            Side::Inside => travel,
            Side::Outside => travel.reversed(),
        }
    }
}
