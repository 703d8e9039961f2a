//! Places and rectangles, x to the right, y down, as in SVG.

/// A place: x to the right, y down.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::render) struct Spot {
    pub(in crate::render) x: f64,
    pub(in crate::render) y: f64,
}

impl Spot {
    pub(in crate::render) fn distance(self, other: Self) -> f64 {
        libm::hypot(self.x - other.x, self.y - other.y)
    }

    /// `part` of the way to `other`.
    pub(in crate::render) fn towards(self, other: Self, part: f64) -> Self {
        Self {
            x: self.x + (other.x - self.x) * part,
            y: self.y + (other.y - self.y) * part,
        }
    }

    /// So far in the direction of (x, y).
    pub(in crate::render) fn moved(self, (x, y): (f64, f64), by: f64) -> Self {
        Self {
            x: self.x + x * by,
            y: self.y + y * by,
        }
    }
}

/// A rectangle.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::render) struct Area {
    pub(in crate::render) left: f64,
    pub(in crate::render) top: f64,
    pub(in crate::render) right: f64,
    pub(in crate::render) bottom: f64,
}

impl Area {
    pub(in crate::render) fn around(centre: Spot, width: f64, height: f64) -> Self {
        Self {
            left: centre.x - width / 2.0,
            top: centre.y - height / 2.0,
            right: centre.x + width / 2.0,
            bottom: centre.y + height / 2.0,
        }
    }

    /// Its corners, once round.
    pub(in crate::render) fn corners(self) -> Vec<Spot> {
        let Self {
            left,
            top,
            right,
            bottom,
        } = self;
        [(left, top), (right, top), (right, bottom), (left, bottom)]
            .map(|(x, y)| Spot { x, y })
            .into()
    }

    pub(in crate::render) fn centre(self) -> Spot {
        Spot {
            x: f64::midpoint(self.left, self.right),
            y: f64::midpoint(self.top, self.bottom),
        }
    }

    pub(in crate::render) fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(in crate::render) fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right >= other.right
            && self.bottom >= other.bottom
    }

    pub(in crate::render) fn grown(self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    /// The place in it that is nearest to `spot`.
    pub(in crate::render) fn nearest(self, spot: Spot) -> Spot {
        Spot {
            x: spot.x.clamp(self.left, self.right),
            y: spot.y.clamp(self.top, self.bottom),
        }
    }

    pub(in crate::render) fn distance(self, spot: Spot) -> f64 {
        self.nearest(spot).distance(spot)
    }
}
