//! Tightening: torques in the units of the trade, exactly, and the angles that follow them.

use crate::units::quantity::{Exact, NumberError, OutOfRange};
use std::fmt;

/// A unit of torque.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum TorqueUnit {
    /// Newton metre.
    NewtonMetre,
    /// Pound-force foot.
    PoundForceFoot,
    /// Pound-force inch.
    PoundForceInch,
}

impl TorqueUnit {
    /// All of them.
    pub const ALL: [Self; 3] = [
        Self::NewtonMetre,
        Self::PoundForceFoot,
        Self::PoundForceInch,
    ];

    /// `N m`, `lbf ft` or `lbf in`.
    pub fn word(self) -> &'static str {
        match self {
            Self::NewtonMetre => "N m",
            Self::PoundForceFoot => "lbf ft",
            Self::PoundForceInch => "lbf in",
        }
    }

    /// How many newton metres it is, over 120 000 000 000 000 000, which makes all three whole:
    /// 1 lbf ft = 0.3048 m * 0.45359237 kg * 9.80665 m/s2, and 1 lbf in a twelfth of it.
    fn parts(self) -> Exact {
        Exact::whole(match self {
            Self::NewtonMetre => 120_000_000_000_000_000,
            Self::PoundForceFoot => 162_698_153_799_768_048,
            Self::PoundForceInch => 13_558_179_483_314_004,
        })
    }
}

/// A torque, in the unit in which it was given.
///
/// ```
/// use tautmark::{units::{Exact, Torque, TorqueUnit}};
///
/// let torque: Torque = "20 lbf ft".parse()?;
/// assert_eq!(torque.to_string(), "20 lbf ft");
/// assert_eq!(torque.in_unit(TorqueUnit::PoundForceInch)?, Exact::whole(240));
/// assert!("20".parse::<Torque>().is_err()); // of what?
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Torque {
    value: Exact,
    unit: TorqueUnit,
}

impl Torque {
    /// Largest torque that is taken, in newton metres.
    pub const MAX_NEWTON_METRES: i64 = 2000;

    /// How much of its unit.
    pub fn value(self) -> Exact {
        self.value
    }

    /// Its unit.
    pub fn unit(self) -> TorqueUnit {
        self.unit
    }

    /// The same torque in another unit, exactly.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held; the bounds of a torque prevent it.
    pub fn in_unit(self, unit: TorqueUnit) -> Result<Exact, OutOfRange> {
        self.value
            .checked_mul(self.unit.parts().checked_div(unit.parts())?)
    }
}

/// `30 N m`, exact, and read back as the same.
impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", decimal(self.value), self.unit.word())
    }
}

impl std::str::FromStr for Torque {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<Self, TorqueError> {
        match text.parse()? {
            Tightening::Torque(torque) => Ok(torque),
            Tightening::Angle(_) => Err(TorqueError::Form),
        }
    }
}

/// One stage of tightening.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tightening {
    /// To a torque.
    Torque(Torque),
    /// Further by an angle, in degrees.
    Angle(Exact),
}

/// Why a text is no stage of tightening.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum TorqueError {
    /// Not one of the forms.
    Form,
    /// A number without its unit.
    NoUnit,
    /// A number that cannot be read.
    Number(NumberError),
    /// Finer than a wrench can be set.
    TooFine,
    /// Not above zero, or more than is taken.
    OutOfRange,
}

impl fmt::Display for TorqueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => f.write_str("expected '30 N m', '22 lbf ft', '90 lbf in' or '90 deg'"),
            Self::NoUnit => {
                f.write_str("of what? (say '30 N m', '22 lbf ft', '90 lbf in' or '90 deg')")
            }
            Self::Number(error) => error.fmt(f),
            Self::TooFine => f.write_str("finer than a wrench can be set (at most three decimals)"),
            Self::OutOfRange => write!(
                f,
                "not in the required range of above 0 and up to {} N m, or 720 degrees",
                Torque::MAX_NEWTON_METRES
            ),
        }
    }
}

impl std::error::Error for TorqueError {}

impl fmt::Display for Tightening {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Torque(torque) => torque.fmt(f),
            Self::Angle(angle) => write!(f, "{} deg", decimal(*angle)),
        }
    }
}

impl std::str::FromStr for Tightening {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<Self, TorqueError> {
        let mut words = text.split_whitespace();
        let number = words.next().ok_or(TorqueError::Form)?;
        let unit: Vec<&str> = words.collect();
        let unit = match unit[..] {
            ["N", "m"] | ["Nm"] => Some(TorqueUnit::NewtonMetre),
            ["lbf", "ft"] => Some(TorqueUnit::PoundForceFoot),
            ["lbf", "in"] => Some(TorqueUnit::PoundForceInch),
            ["deg" | "degrees"] => None,
            [] => return Err(TorqueError::NoUnit),
            _ => return Err(TorqueError::Form),
        };
        let value = Exact::parse(number).map_err(TorqueError::Number)?;
        if 1000 % value.denominator() != 0 {
            return Err(TorqueError::TooFine);
        }
        // Compared as it is written first, so that what follows cannot overflow.
        if value <= Exact::ZERO || value > Exact::whole(1_000_000) {
            return Err(TorqueError::OutOfRange);
        }
        let Some(unit) = unit else {
            return if value > Exact::whole(720) {
                Err(TorqueError::OutOfRange)
            } else {
                Ok(Self::Angle(value))
            };
        };
        let torque = Torque { value, unit };
        match torque.in_unit(TorqueUnit::NewtonMetre) {
            Ok(n) if n <= Exact::whole(Torque::MAX_NEWTON_METRES) => Ok(Self::Torque(torque)),
            _ => Err(TorqueError::OutOfRange),
        }
    }
}

/// Every stage, one after the other: `30 N m + 90 deg`. It is compared with what was confirmed, so
/// the form must stay.
pub(crate) fn stages_text(stages: &[Tightening]) -> String {
    let texts: Vec<String> = stages.iter().map(Tightening::to_string).collect();
    texts.join(" + ")
}

/// A value with its decimals, if they are three at most, and as a fraction otherwise.
pub(crate) fn decimal(value: Exact) -> String {
    if 1000 % value.denominator() != 0 {
        return value.to_string();
    }
    let thousandths = value.numerator() * 1000 / value.denominator();
    let (whole, rest) = (thousandths / 1000, thousandths % 1000);
    let text = format!("{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
