//! Points, displacements, clock angles and the two ways round.

use std::ops::{Add, Mul, Neg, Sub};

/// A position in the plane of the drive, in mm: x to the right, y up, facing the timing end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Millimetres to the right of the origin.
    pub x: f64,
    /// Millimetres above the origin.
    pub y: f64,
}

impl Point {
    /// The point `x` mm to the right and `y` mm above the origin.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to another point in mm.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }
}

/// A displacement in mm, or a direction when its length is 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vec2 {
    /// Millimetres to the right.
    pub x: f64,
    /// Millimetres up.
    pub y: f64,
}

impl Vec2 {
    /// The displacement by `x` mm to the right and `y` mm up.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at a clock angle in degrees (0 is up, 90 to the right).
    #[must_use]
    pub fn from_clock(degrees: f64) -> Self {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        Self { x: sin, y: cos }
    }

    /// The clock angle of this vector in degrees, in (-180, 180]; 0 for the zero vector.
    #[must_use]
    pub fn to_clock(self) -> f64 {
        libm::atan2(self.x, self.y).to_degrees()
    }

    /// Length in mm.
    #[must_use]
    pub fn length(self) -> f64 {
        // Not `hypot`: wheels are bounded to MAX_MM, so the squares cannot overflow, and this is several times faster.
        self.dot(self).sqrt()
    }

    /// The vector turned a quarter counter-clockwise: what lies to the left of somebody walking along it.
    #[must_use]
    pub fn left(self) -> Self {
        Self {
            x: -self.y,
            y: self.x,
        }
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Cross product: positive when `other` points to the left of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl Sub for Point {
    type Output = Vec2;
    fn sub(self, other: Self) -> Vec2 {
        Vec2 {
            x: self.x - other.x,
            y: self.y - other.y,
        }
    }
}

impl Add<Vec2> for Point {
    type Output = Self;
    fn add(self, by: Vec2) -> Self {
        Self {
            x: self.x + by.x,
            y: self.y + by.y,
        }
    }
}

impl Sub<Vec2> for Point {
    type Output = Self;
    fn sub(self, by: Vec2) -> Self {
        Self {
            x: self.x - by.x,
            y: self.y - by.y,
        }
    }
}

impl Add for Vec2 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            x: self.x + other.x,
            y: self.y + other.y,
        }
    }
}

impl Sub for Vec2 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self {
            x: self.x - other.x,
            y: self.y - other.y,
        }
    }
}

impl Neg for Vec2 {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            x: -self.x,
            y: -self.y,
        }
    }
}

impl Mul<f64> for Vec2 {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self {
            x: self.x * by,
            y: self.y * by,
        }
    }
}

/// A way round, facing the timing end: of the chain about its loop, or of a wheel about its centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Travel {
    /// As the hands of a clock go.
    Clockwise,
    /// Against the hands of a clock.
    CounterClockwise,
}

impl Travel {
    /// +1 for clockwise (clock angles grow), -1 for counter-clockwise.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Clockwise => 1.0,
            Self::CounterClockwise => -1.0,
        }
    }

    /// The other way round.
    #[must_use]
    pub fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_angles_run_clockwise_from_the_top() {
        for (degrees, x, y) in [
            (0.0, 0.0, 1.0),
            (90.0, 1.0, 0.0),
            (180.0, 0.0, -1.0),
            (-90.0, -1.0, 0.0),
        ] {
            let unit = Vec2::from_clock(degrees);
            assert!(
                (unit.x - x).abs() < 1e-15 && (unit.y - y).abs() < 1e-15,
                "{degrees}"
            );
            assert!((unit.to_clock() - degrees).abs() < 1e-12, "{degrees}");
        }
        assert!(
            Vec2::new(1.0, 0.0).cross(Vec2::new(0.0, 1.0)) > 0.0,
            "up lies left of right"
        );
    }
}
