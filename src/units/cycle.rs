//! Places in the four-stroke cycle as the trade names them: `12 BTDC`, `48 ABDC`. Exact.

use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, NumberError, OutOfRange};
use std::fmt;

/// Where a piston turns round.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum DeadCentre {
    /// Top dead centre.
    Top,
    /// Bottom dead centre.
    Bottom,
}

impl fmt::Display for DeadCentre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Top => "TDC",
            Self::Bottom => "BDC",
        })
    }
}

/// An angle counted from a dead centre, the way a valve event is stated.
///
/// ```
/// use tautmark::units::TradeAngle;
///
/// let opens: TradeAngle = "12 BTDC".parse()?;
/// assert_eq!(opens.after.to_string(), "-12");
/// assert_eq!(opens.to_string(), "12 BTDC");
/// assert!("12".parse::<TradeAngle>().is_err()); // from which dead centre?
/// # Ok::<(), tautmark::units::TradeAngleError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TradeAngle {
    /// Above zero: after the dead centre. Below zero: before it.
    pub after: CrankDegrees,
    /// The dead centre.
    pub centre: DeadCentre,
}

/// Why a text is no angle from a dead centre.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum TradeAngleError {
    /// It is not written as `12 BTDC`.
    Form,
    /// The number cannot be read.
    Number(NumberError),
    /// Not below 180 degrees.
    TooFar,
    /// More than three decimals.
    TooFine,
}

impl fmt::Display for TradeAngleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => f.write_str("expected degrees and BTDC, ATDC, BBDC or ABDC"),
            Self::Number(error) => error.fmt(f),
            Self::TooFar => f.write_str("180 degrees or more (count from the other dead centre)"),
            Self::TooFine => f.write_str("more than three decimals"),
        }
    }
}

impl std::error::Error for TradeAngleError {}

impl std::str::FromStr for TradeAngle {
    type Err = TradeAngleError;

    fn from_str(text: &str) -> Result<Self, TradeAngleError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let (number, side) = match words[..] {
            [side @ ("TDC" | "BDC")] => ("0", side),
            [number, side] => (number, side),
            _ => return Err(TradeAngleError::Form),
        };
        let (before, centre) = match side {
            "BTDC" => (true, DeadCentre::Top),
            "ATDC" | "TDC" => (false, DeadCentre::Top),
            "BBDC" => (true, DeadCentre::Bottom),
            "ABDC" | "BDC" => (false, DeadCentre::Bottom),
            _ => return Err(TradeAngleError::Form),
        };
        // A sign beside before and after would say the side twice.
        if number.starts_with(['+', '-']) {
            return Err(TradeAngleError::Form);
        }
        let degrees = Exact::parse(number).map_err(TradeAngleError::Number)?;
        if degrees >= Exact::whole(180) {
            return Err(TradeAngleError::TooFar);
        }
        // Keeps sums of events and teeth far from the limits of the exact numbers.
        if degrees.denominator() > 1000 {
            return Err(TradeAngleError::TooFine);
        }
        Ok(Self {
            after: CrankDegrees::new(if before { degrees.negated() } else { degrees }),
            centre,
        })
    }
}

/// `12 BTDC`; at the dead centre itself `TDC`. The number is exact: `120/7 BTDC`.
impl fmt::Display for TradeAngle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.after.get().signum() {
            0 => self.centre.fmt(f),
            sign => {
                let side = if sign < 0 { 'B' } else { 'A' };
                write!(f, "{} {side}{}", self.after.abs(), self.centre)
            }
        }
    }
}

/// One of the four strokes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Stroke {
    /// From TDC of compression on.
    Power,
    /// Then up.
    Exhaust,
    /// Then down.
    Intake,
    /// Then up to the next TDC of compression.
    Compression,
}

impl Stroke {
    /// The trade's word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Exhaust => "exhaust",
            Self::Intake => "intake",
            Self::Compression => "compression",
        }
    }
}

impl CyclePlace {
    /// TDC at the end of compression, where the cycle is counted from.
    pub const FIRING_TDC: Self = Self::whole(0);
    /// BDC at the end of power.
    pub const POWER_BDC: Self = Self::whole(180);
    /// TDC between exhaust and intake.
    pub const OVERLAP_TDC: Self = Self::whole(360);
    /// BDC at the end of intake.
    pub const INTAKE_BDC: Self = Self::whole(540);

    /// Which stroke it lies in.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn stroke(self) -> Result<Stroke, OutOfRange> {
        let place = self.get().modulo(Exact::whole(720))?;
        Ok(if place < Exact::whole(180) {
            Stroke::Power
        } else if place < Exact::whole(360) {
            Stroke::Exhaust
        } else if place < Exact::whole(540) {
            Stroke::Intake
        } else {
            Stroke::Compression
        })
    }

    /// As the trade says it, counted from `usual` (one of the four dead centres) while it is less
    /// than half a turn from there, and from the nearest dead centre otherwise.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn trade(self, usual: Self) -> Result<TradeAngle, OutOfRange> {
        let dead_centre = |place: Self| {
            if place.get().checked_div(Exact::whole(180))?.floor() % 2 == 0 {
                Ok(DeadCentre::Top)
            } else {
                Ok(DeadCentre::Bottom)
            }
        };
        let after = self.since(usual)?;
        if after.get().abs() < Exact::whole(180) {
            return Ok(TradeAngle {
                after,
                centre: dead_centre(usual)?,
            });
        }
        let steps = self
            .get()
            .checked_add(Exact::whole(90))?
            .checked_div(Exact::whole(180))?
            .floor();
        let nearest = Self::new(
            Exact::whole(180)
                .checked_mul(Exact::whole(i64::try_from(steps).map_err(|_| OutOfRange)?))?,
        );
        Ok(TradeAngle {
            after: self.since(nearest)?,
            centre: dead_centre(nearest)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_are_read_as_the_trade_writes_them() {
        for (text, after, centre) in [
            ("12 BTDC", -12, DeadCentre::Top),
            ("5 ATDC", 5, DeadCentre::Top),
            ("40 BBDC", -40, DeadCentre::Bottom),
            ("48  ABDC", 48, DeadCentre::Bottom),
            ("TDC", 0, DeadCentre::Top),
            ("0 BBDC", 0, DeadCentre::Bottom),
        ] {
            let read: TradeAngle = text.parse().unwrap();
            assert_eq!(
                (read.after, read.centre),
                (CrankDegrees::whole(after), centre),
                "{text}"
            );
        }
        for (text, error) in [
            ("12", TradeAngleError::Form),
            ("-12 BTDC", TradeAngleError::Form),
            ("12 btdc", TradeAngleError::Form),
            ("12 BTDC now", TradeAngleError::Form),
            ("", TradeAngleError::Form),
            ("180 ATDC", TradeAngleError::TooFar),
            ("1/1001 ATDC", TradeAngleError::TooFine),
            ("1e1 ATDC", TradeAngleError::Number(NumberError::Form)),
        ] {
            assert_eq!(text.parse::<TradeAngle>(), Err(error), "{text}");
        }
    }

    #[test]
    fn a_place_is_named_from_its_usual_dead_centre_while_it_is_near() {
        for (place, usual, words) in [
            (348, CyclePlace::OVERLAP_TDC, "12 BTDC"),
            (588, CyclePlace::INTAKE_BDC, "48 ABDC"),
            (539, CyclePlace::OVERLAP_TDC, "179 ATDC"),
            (540, CyclePlace::OVERLAP_TDC, "BDC"),
            (550, CyclePlace::OVERLAP_TDC, "10 ABDC"),
            (710, CyclePlace::OVERLAP_TDC, "10 BTDC"),
            (0, CyclePlace::INTAKE_BDC, "TDC"),
            (719, CyclePlace::FIRING_TDC, "1 BTDC"),
        ] {
            assert_eq!(
                CyclePlace::whole(place).trade(usual).unwrap().to_string(),
                words,
                "{place}"
            );
        }
    }
}
