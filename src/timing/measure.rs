//! What was measured of one shaft, with how sure one can be of it.

use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::spec::raw::ShaftKind;
use crate::timing::observe::{ObservationError, Seen, SeenError, dot_named};
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange};
use std::fmt;

/// How far one shaft was found to be off.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Measured {
    /// The shaft.
    pub shaft: ShaftId,
    /// How far ahead of where it belongs; below zero: behind.
    pub angle: CrankDegrees,
    /// By how much the measurement may be wrong, either way.
    pub tolerance: CrankDegrees,
    /// Was the camshaft itself measured (a scan tool, an oscilloscope)? Then its phaser and its dowel
    /// count too. A dot on a sprocket says nothing about what lies between sprocket and camshaft.
    pub at_camshaft: bool,
}

/// Asked back where a number came from an instrument: a scan tool, an oscilloscope. A dot is looked at on its own
/// sprocket, whose degrees plain `deg` is then; what an instrument shows is the crankshaft's or the camshaft's, and
/// taking it wrongly doubles or halves it.
pub(crate) const WHOSE_DEGREES: &str = "whose degrees, the crankshaft's or the camshaft's? (say '20 crank deg behind' or '10 cam deg behind': the camshaft turns half as far as the crankshaft)";

/// Why a text is no measurement of a shaft of that drive.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum MeasureError {
    /// It does not say how far off.
    Seen(SeenError),
    /// The shaft cannot be meant.
    Observation(ObservationError),
    /// The crankshaft is what the others are measured from.
    Crankshaft,
    /// No chain drives it by a mark, or it is a link number.
    NotAnOffset,
    /// The number after `+-` cannot be read.
    Tolerance,
    /// Degrees of which nobody said whether they are the crankshaft's or the camshaft's.
    WhoseDegrees,
    /// Camshaft degrees of a shaft that is none.
    NoCamshaft {
        /// The shaft.
        shaft: String,
    },
    /// It cannot be held.
    OutOfRange,
}

impl fmt::Display for MeasureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Seen(error) => error.fmt(f),
            Self::Observation(error) => error.fmt(f),
            Self::Crankshaft => f.write_str(
                "the crankshaft is what the others are measured from (give the other shafts only)",
            ),
            Self::NotAnOffset => {
                f.write_str("say how far the shaft is off, in teeth or degrees, not a link")
            }
            Self::Tolerance => f.write_str(
                "after '+-' belongs how far off the measurement may be, such as '18.5 +- 3 crank deg behind'",
            ),
            Self::WhoseDegrees => f.write_str(WHOSE_DEGREES),
            Self::NoCamshaft { shaft } => write!(
                f,
                "'{shaft}' is no camshaft (give crankshaft degrees: '20 crank deg behind')"
            ),
            Self::OutOfRange => OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for MeasureError {}

impl From<SeenError> for MeasureError {
    fn from(error: SeenError) -> Self {
        Self::Seen(error)
    }
}

impl From<ObservationError> for MeasureError {
    fn from(error: ObservationError) -> Self {
        Self::Observation(error)
    }
}

impl From<OutOfRange> for MeasureError {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}

impl Measured {
    /// Reads how far the shaft called `name` (SHAFT or CHAIN/SHAFT) was found to be off: what
    /// [`Seen`] takes, and for an angle a tolerance after `+-`. An angle says whose degrees they
    /// are, `crank deg` or `cam deg`, since an instrument may show either; one without a tolerance
    /// gets `tolerance`. Teeth are read off a sprocket and are exact; angles are taken to be measured at
    /// the camshaft itself.
    ///
    /// # Errors
    /// [`MeasureError`], if it says nothing about a shaft of `drive`.
    pub fn read(
        drive: &Drive,
        name: &str,
        text: &str,
        tolerance: CrankDegrees,
    ) -> Result<Self, MeasureError> {
        let plain = text.replace('\u{b1}', "+-");
        let (seen, given) = match plain.split_once("+-") {
            None => (plain.parse::<Seen>()?, None),
            Some((value, rest)) => {
                let rest = rest.trim();
                let (number, unit) = rest.split_once(' ').unwrap_or((rest, ""));
                let given = Exact::parse(number).map_err(|_| MeasureError::Tolerance)?;
                if given.signum() < 0 || given > Exact::whole(720) || given.denominator() > 1000 {
                    return Err(MeasureError::Tolerance);
                }
                (
                    format!("{} {unit}", value.trim()).parse::<Seen>()?,
                    Some(given),
                )
            }
        };
        if matches!(seen, Seen::ShaftDegrees(_)) {
            return Err(MeasureError::WhoseDegrees);
        }
        let at = dot_named(drive, name, seen)?;
        let shaft = drive.sprocket(at).shaft();
        if shaft == drive.crank() {
            return Err(MeasureError::Crankshaft);
        }
        let cam = drive.shaft(shaft).kind() == ShaftKind::Camshaft;
        if matches!(seen, Seen::CamDegrees(_)) && !cam {
            return Err(MeasureError::NoCamshaft {
                shaft: drive.shaft(shaft).name().to_owned(),
            });
        }
        let chain = drive.chain(at.chain);
        // Shaft degrees to crank degrees.
        let slowness = drive.shaft(shaft).period();
        let (angle, tolerance, at_camshaft) = match seen {
            Seen::Teeth(teeth) => {
                let given = given.unwrap_or(Exact::ZERO);
                (
                    chain.crank_degrees_of(teeth)?,
                    chain.tooth().scaled(given)?,
                    false,
                )
            }
            Seen::ShaftDegrees(angle) | Seen::CamDegrees(angle) => (
                CrankDegrees::new(angle.checked_mul(slowness)?),
                match given {
                    Some(given) => CrankDegrees::new(given.checked_mul(slowness)?),
                    None => tolerance,
                },
                true,
            ),
            Seen::CrankDegrees(angle) => (angle, given.map_or(tolerance, CrankDegrees::new), true),
            Seen::Link(_) => return Err(MeasureError::NotAnOffset),
        };
        Ok(Self {
            shaft,
            angle,
            tolerance,
            at_camshaft,
        })
    }
}
