//! Where the piston stands: slider and crank. Floating point begins here; every result is an
//! estimate for teaching and judgement.
#![allow(
    clippy::float_arithmetic,
    reason = "sines and square roots have no exact form"
)]

/// A crank and its connecting rod, the cylinder's axis through the crank's.
///
/// ```
/// use tautmark::valves::SliderCrank;
///
/// let crank = SliderCrank::new(86.0, 143.5).unwrap();
/// assert_eq!(crank.travel(0.0), 0.0);
/// assert!((crank.travel(180.0) - 86.0).abs() < 1e-12);
/// assert!(SliderCrank::new(86.0, 43.0).is_none()); // the crank would not pass
/// ```
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SliderCrank {
    throw: f64,
    rod: f64,
}

impl SliderCrank {
    /// Of a stroke and a rod's length in the same unit; `None` unless the rod is longer than half
    /// the stroke and both are above zero.
    pub fn new(stroke: f64, rod: f64) -> Option<Self> {
        let throw = stroke / 2.0;
        (throw > 0.0 && rod > throw && rod.is_finite()).then_some(Self { throw, rod })
    }

    /// The stroke, in the unit in which it was given (mm for those of a drive).
    pub fn stroke(&self) -> f64 {
        2.0 * self.throw
    }

    /// How far below TDC the piston stands, `crank_degrees` after TDC.
    ///
    /// Heywood, Internal Combustion Engine Fundamentals, chapter 2, with throw a and rod l:
    /// `x = a + l - (a cos t + sqrt(l^2 - a^2 sin^2 t))`; written here as a sum of squares so that
    /// nothing cancels near TDC.
    pub fn travel(&self, crank_degrees: f64) -> f64 {
        let (a, l) = (self.throw, self.rod);
        let t = crank_degrees.rem_euclid(360.0).to_radians();
        let half = libm::sin(t / 2.0);
        let across = (a * libm::sin(t)).powi(2);
        2.0 * a * half * half + across / (l + (l * l - across).sqrt())
    }

    /// The least travel between two places in crank degrees, the lesser first: none if TDC is among
    /// them, and at one of both if not.
    pub(crate) fn least_travel(&self, [from, to]: [f64; 2]) -> f64 {
        if (from / 360.0).ceil() * 360.0 <= to {
            0.0
        } else {
            self.travel(from).min(self.travel(to))
        }
    }

    /// How fast it goes down, per crank degree.
    pub fn slope(&self, crank_degrees: f64) -> f64 {
        let (a, l) = (self.throw, self.rod);
        let (sin, cos) = libm::sincos(crank_degrees.rem_euclid(360.0).to_radians());
        let across = a * sin;
        (a * sin + across * a * cos / (l * l - across * across).sqrt()) * DEGREE
    }

    /// No second derivative by crank degrees is larger than this.
    ///
    /// With S = a sin t and g = l - sqrt(l^2 - S^2):
    /// g'' = (S'^2 + S S'') / sqrt(l^2 - S^2) + S^2 S'^2 / (l^2 - S^2)^(3/2), where
    /// |S'^2 + S S''| = a^2 |cos 2t| and S^2 S'^2 = a^4 sin^2(2t) / 4.
    pub(crate) fn bend(&self) -> f64 {
        let (a, l) = (self.throw, self.rod);
        let least = l * l - a * a;
        (a + a * a / least.sqrt() + a.powi(4) / (4.0 * (least * least.sqrt()))) * DEGREE * DEGREE
    }

    /// The compression ratio that is left when the charge is trapped `crank_degrees` after TDC
    /// instead of at BDC: `1 + (r - 1) x / stroke`, x the piston's travel at that place.
    pub fn trapped_compression(&self, compression: f64, crank_degrees: f64) -> f64 {
        1.0 + (compression - 1.0) * self.travel(crank_degrees) / self.stroke()
    }
}

/// A degree in radians.
const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Swept volume in cubic centimetres of cylinders of `bore` and `stroke` in millimetres.
pub(crate) fn swept_cc(bore: f64, stroke: f64, cylinders: f64) -> f64 {
    std::f64::consts::PI / 4.0 * bore * bore * stroke * cylinders / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bound holds against differences of the slope, and is not so wide as to be of no use.
    #[test]
    fn no_second_derivative_is_above_its_bound() {
        for share in [0.501, 0.51, 0.55, 0.7, 1.0, 1.7, 4.0] {
            let crank = SliderCrank::new(86.0, 86.0 * share).unwrap();
            let step = 1e-3;
            let most = (0..72_000_u32)
                .map(|i| {
                    let at = f64::from(i) * 0.005;
                    ((crank.slope(at + step) - crank.slope(at - step)) / (2.0 * step)).abs()
                })
                .fold(0.0, f64::max);
            assert!(most <= crank.bend() * (1.0 + 1e-6), "{share}: {most}");
            // Of rods that engines have it is at most a quarter too wide.
            assert!(share < 1.4 || crank.bend() < 1.25 * most, "{share}: {most}");
        }
    }
}
