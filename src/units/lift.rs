//! How far a valve is lifted over one lobe: through a table, or after a published motion law. Estimates.
#![allow(
    clippy::float_arithmetic,
    reason = "interpolation and motion laws are polynomials over measured lifts"
)]

/// A lobe's lift in mm over crank degrees, in degrees of its own. It is a chain of polynomials,
/// smooth in its slope, that rises from 0 to one top and falls to 0.
#[derive(Clone, PartialEq, Debug)]
pub struct LiftCurve {
    pieces: Vec<Piece>,
    top: f64,
    most: f64,
}

/// One polynomial of the fifth degree or less in `u = (x - from) / width`, 0 <= u <= 1.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Piece {
    pub(crate) from: f64,
    pub(crate) width: f64,
    coefficients: [f64; 6],
    /// No second derivative in it is larger than this.
    pub(crate) bend: f64,
}

impl Piece {
    pub(crate) fn at(&self, x: f64) -> f64 {
        let u = ((x - self.from) / self.width).clamp(0.0, 1.0);
        self.coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, c| sum * u + c)
    }

    pub(crate) fn to(&self) -> f64 {
        self.from + self.width
    }
}

impl LiftCurve {
    /// After the 3-4-5 polynomial, `s = 10 u^3 - 15 u^4 + 6 u^5` up and the same down, which cam
    /// design textbooks give as a standard law. The ramps are as long as it takes for the valve to
    /// be lifted by more than `at_lift` for exactly `duration` crank degrees. Its own degrees are
    /// counted from the top of the lobe.
    ///
    /// `None` unless `0 <= at_lift <= most / 2` and `duration > 0`.
    ///
    /// ```
    /// use tautmark::units::LiftCurve;
    ///
    /// let lobe = LiftCurve::polynomial_345(240.0, 1.0, 9.5).unwrap();
    /// assert!((lobe.at(-120.0) - 1.0).abs() < 1e-9 && (lobe.at(120.0) - 1.0).abs() < 1e-9);
    /// assert_eq!(lobe.at(0.0), 9.5);
    /// assert!(LiftCurve::polynomial_345(240.0, 9.0, 9.5).is_none());
    /// ```
    pub fn polynomial_345(duration: f64, at_lift: f64, most: f64) -> Option<Self> {
        if !(duration > 0.0 && at_lift >= 0.0 && at_lift <= most / 2.0 && most > 0.0) {
            return None;
        }
        let share = at_lift / most;
        let rise = |u: f64| u * u * u * (10.0 + u * (-15.0 + 6.0 * u));
        // s is monotone: halving until the two ends are neighbours.
        let (mut low, mut high) = (0.0_f64, 0.5_f64);
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if rise(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        let u = if at_lift > 0.0 { high } else { 0.0 };
        let flank = duration / 2.0 / (1.0 - u);
        // |s''| is largest, 10/sqrt(3), where s''' = 0.
        let bend = 10.0 / 3.0_f64.sqrt() * most / (flank * flank);
        let piece = |from: f64, coefficients: [f64; 6]| Piece {
            from,
            width: flank,
            coefficients: coefficients.map(|c| c * most),
            bend,
        };
        Some(Self {
            pieces: vec![
                piece(-flank, [0.0, 0.0, 0.0, 10.0, -15.0, 6.0]),
                piece(0.0, [1.0, 0.0, 0.0, -10.0, 15.0, -6.0]),
            ],
            top: 0.0,
            most,
        })
    }

    /// Through the points `[degrees, mm]` of a table by a cubic between each two of them that never
    /// leaves the range between their lifts (Fritsch and Carlson 1980; slopes by the weighted
    /// harmonic mean of Fritsch and Butland 1984). Level at both ends and at the top.
    ///
    /// `None` unless there are three points or more, the degrees rise, and the lifts rise from 0
    /// to one top and fall to 0.
    pub fn table(points: &[[f64; 2]]) -> Option<Self> {
        let count = points.len();
        let most = points.iter().map(|p| p[1]).fold(0.0, f64::max);
        let top = points.iter().position(|p| p[1] >= most)?;
        let ordered = |pair: &[[f64; 2]]| pair[0][0] < pair[1][0];
        let lobe = points[..=top].windows(2).all(|p| p[0][1] <= p[1][1])
            && points[top..].windows(2).all(|p| p[0][1] >= p[1][1])
            && points.first()?[1] == 0.0
            && points.last()?[1] == 0.0
            && points.windows(2).all(ordered)
            && points.iter().flatten().all(|value| value.is_finite());
        if count < 3 || most <= 0.0 || !lobe {
            return None;
        }
        let width = |i: usize| points[i + 1][0] - points[i][0];
        let secant = |i: usize| (points[i + 1][1] - points[i][1]) / width(i);
        let slope = |i: usize| {
            if i == 0 || i + 1 == count || secant(i - 1) * secant(i) <= 0.0 {
                return 0.0;
            }
            let (before, after) = (width(i - 1), width(i));
            let (w1, w2) = (2.0 * after + before, after + 2.0 * before);
            (w1 + w2) / (w1 / secant(i - 1) + w2 / secant(i))
        };
        let pieces = (0..count - 1)
            .map(|i| {
                let (h, y0, y1) = (width(i), points[i][1], points[i + 1][1]);
                let (m0, m1) = (slope(i) * h, slope(i + 1) * h);
                let (c2, c3) = (3.0 * (y1 - y0) - 2.0 * m0 - m1, 2.0 * (y0 - y1) + m0 + m1);
                Piece {
                    from: points[i][0],
                    width: h,
                    coefficients: [y0, m0, c2, c3, 0.0, 0.0],
                    // The second derivative of a cubic is largest at one of its ends.
                    bend: (2.0 * c2).abs().max((2.0 * c2 + 6.0 * c3).abs()) / (h * h),
                }
            })
            .collect();
        Some(Self {
            pieces,
            top: points[top][0],
            most,
        })
    }

    /// Lift at `x` of its own degrees; 0 before and after the lobe.
    pub fn at(&self, x: f64) -> f64 {
        if x < self.start() || x > self.end() {
            return 0.0;
        }
        let after = self.pieces.partition_point(|piece| piece.from <= x);
        self.pieces
            .get(after.saturating_sub(1))
            .map_or(0.0, |piece| piece.at(x))
    }

    /// The most lift, in the unit in which the lobe was given (mm for those of a drive).
    pub fn most(&self) -> f64 {
        self.most
    }

    /// Where the most lift is reached, in its own degrees (of the crankshaft).
    pub fn top(&self) -> f64 {
        self.top
    }

    /// The same place in the cycle of 720 degrees that begins where the lobe does; in the lobe's own degrees, as `place`.
    pub fn within_cycle(&self, place: f64) -> f64 {
        let from = self.start();
        from + (place - from).rem_euclid(720.0)
    }

    /// Where the lobe begins, in its own degrees.
    pub fn start(&self) -> f64 {
        self.pieces.first().map_or(0.0, |piece| piece.from)
    }

    /// Where the lobe ends, in its own degrees.
    pub fn end(&self) -> f64 {
        self.pieces.last().map_or(0.0, Piece::to)
    }

    pub(crate) fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// Between which of its own degrees the valve is lifted by more than `lift`.
    pub fn open_above(&self, lift: f64) -> (f64, f64) {
        // On each flank the lift is monotone: halving until the two ends are neighbours.
        let flank = |foot: f64| {
            let (mut shut, mut open) = (foot, self.top);
            for _ in 0..80 {
                let middle = f64::midpoint(shut, open);
                if self.at(middle) > lift {
                    open = middle;
                } else {
                    shut = middle;
                }
            }
            f64::midpoint(shut, open)
        };
        (flank(self.start()), flank(self.end()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_met_at_its_points_and_never_overshot() {
        let points = [
            [10.0, 0.0],
            [12.0, 0.0],
            [13.0, 5.0],
            [30.0, 5.0],
            [31.0, 9.0],
            [60.0, 0.0],
        ];
        let lobe = LiftCurve::table(&points).unwrap();
        for p in points {
            assert!((lobe.at(p[0]) - p[1]).abs() < 1e-12, "{p:?}");
        }
        let mut last = 0.0;
        for i in 0..=2100 {
            let lift = lobe.at(10.0 + f64::from(i) * 0.01);
            assert!(lift >= last - 1e-12 && lift <= 9.0 + 1e-12);
            last = lift;
        }
        assert_eq!((lobe.at(9.0), lobe.at(61.0)), (0.0, 0.0));
        let (open, close) = lobe.open_above(0.0);
        assert!((open - 12.0).abs() < 1e-3 && (close - 60.0).abs() < 1e-3);
    }

    #[test]
    fn what_is_no_lobe_is_refused() {
        for points in [
            vec![[0.0, 0.0], [1.0, 0.0]],
            vec![[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]],
            vec![[0.0, 1.0], [1.0, 2.0], [2.0, 0.0]],
            vec![[0.0, 0.0], [1.0, 2.0], [2.0, 1.0], [3.0, 2.0], [4.0, 0.0]],
            vec![[0.0, 0.0], [0.0, 2.0], [2.0, 0.0]],
            vec![[0.0, 0.0], [1.0, f64::NAN], [2.0, 0.0]],
        ] {
            assert!(LiftCurve::table(&points).is_none(), "{points:?}");
        }
    }
}
