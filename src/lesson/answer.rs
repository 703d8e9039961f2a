//! What somebody says is wrong.

use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::timing::cause::Fault;
use crate::timing::observe::{ObservationError, shaft_named};
use crate::units::quantity::{CrankDegrees, Exact, Teeth};
use crate::valves::slip::{Slip, SlipError, Slips, sprocket_named};
use std::fmt;

/// One fault that somebody names.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Claim {
    /// This sprocket sits that many teeth ahead on its chain; below zero: behind.
    Slip {
        /// The sprocket.
        at: Engagement,
        /// Whole teeth, never 0.
        teeth: Teeth,
    },
    /// The phaser is this far ahead of its parked position.
    Phaser {
        /// The camshaft.
        shaft: ShaftId,
        /// Below zero: behind it.
        angle: CrankDegrees,
    },
    /// The dowel sits in another hole, which puts the camshaft this far ahead.
    Dowel {
        /// The camshaft.
        shaft: ShaftId,
        /// Below zero: behind.
        angle: CrankDegrees,
    },
    /// The crankshaft stands one whole turn from where it was taken to be.
    CrankTurn,
    /// The chains are worn.
    Wear,
}

/// Why a text names no fault of that drive.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum ClaimError {
    /// Not one of the forms.
    Form,
    /// How far it is off cannot be read.
    Slip(SlipError),
    /// The part cannot be meant.
    Part(ObservationError),
    /// A chain is hung by whole teeth, and none is no fault.
    NoWholeTeeth,
    /// A phaser or a dowel is off by degrees.
    NoDegrees,
}

impl fmt::Display for ClaimError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => f.write_str(
                "not in the required form (say 'intake=1 behind', 'phaser intake=20 crank deg ahead', 'dowel intake=30 crank deg ahead', 'crank turn', 'wear' or 'nothing')",
            ),
            Self::Slip(error) => error.fmt(f),
            Self::Part(error) => error.fmt(f),
            Self::NoWholeTeeth => f.write_str(
                "a sprocket slips by whole teeth, at least one and fewer than the chain has links (say '1 behind'; if nothing is wrong, 'nothing')",
            ),
            Self::NoDegrees => f.write_str(
                "a phaser or a dowel is off by degrees, and not by none (say '20 crank deg ahead')",
            ),
        }
    }
}

impl std::error::Error for ClaimError {}

impl From<SlipError> for ClaimError {
    fn from(error: SlipError) -> Self {
        Self::Slip(error)
    }
}

impl From<ObservationError> for ClaimError {
    fn from(error: ObservationError) -> Self {
        Self::Part(error)
    }
}

impl Claim {
    /// Reads one fault: `intake=1 behind`, `phaser intake=20 crank deg ahead`, `dowel intake=30 crank deg ahead`,
    /// `crank turn`, `wear`. `nothing` is no fault, which is `None`.
    ///
    /// # Errors
    /// [`ClaimError`], if it names nothing that `drive` has.
    pub fn read(drive: &Drive, text: &str) -> Result<Option<Self>, ClaimError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        match words.as_slice() {
            ["nothing"] => return Ok(None),
            ["wear"] => return Ok(Some(Self::Wear)),
            ["crank", "turn"] => return Ok(Some(Self::CrankTurn)),
            _ => {}
        }
        let (name, what) = text.split_once('=').ok_or(ClaimError::Form)?;
        let slip: Slip = what.parse()?;
        let words: Vec<&str> = name.split_whitespace().collect();
        let (shaft, phaser) = match words.as_slice() {
            [name] => {
                let at = sprocket_named(drive, name)?;
                let most = drive.chain(at.chain).links().to_exact();
                return match slip {
                    Slip::Teeth(teeth)
                        if teeth.get().is_whole()
                            && !teeth.is_zero()
                            && teeth.get().abs() < most =>
                    {
                        Ok(Some(Self::Slip { at, teeth }))
                    }
                    _ => Err(ClaimError::NoWholeTeeth),
                };
            }
            ["phaser", name] => (shaft_named(drive, name)?, true),
            ["dowel", name] => (shaft_named(drive, name)?, false),
            _ => return Err(ClaimError::Form),
        };
        let angle = match slip {
            Slip::CrankDegrees(angle) => angle,
            Slip::ShaftDegrees(angle) => CrankDegrees::new(
                angle
                    .checked_mul(drive.shaft(shaft).period())
                    .map_err(SlipError::from)?,
            ),
            Slip::Teeth(_) => return Err(ClaimError::NoDegrees),
        };
        if angle.is_zero() {
            return Err(ClaimError::NoDegrees);
        }
        if phaser {
            // It must have one, which must go that far.
            Slips::none().phaser(drive, shaft, angle)?;
            return Ok(Some(Self::Phaser { shaft, angle }));
        }
        Ok(Some(Self::Dowel { shaft, angle }))
    }

    /// Is it `fault`? Angles may differ by `within`.
    pub(super) fn is(&self, fault: &Fault, within: CrankDegrees) -> bool {
        let near = |a: CrankDegrees, b: CrankDegrees| {
            a.checked_sub(b).is_ok_and(|off| off.abs() <= within)
        };
        match (*self, *fault) {
            (Self::Slip { at, teeth }, Fault::Slip { at: of, teeth: by }) => {
                at == of && teeth == by
            }
            (
                Self::Phaser { shaft, angle },
                Fault::Phaser {
                    shaft: of,
                    angle: by,
                },
            )
            | (
                Self::Dowel { shaft, angle },
                Fault::Dowel {
                    shaft: of,
                    angle: by,
                },
            ) => shaft == of && near(angle, by),
            (Self::CrankTurn, Fault::CrankTurn) | (Self::Wear, Fault::Elongation { .. }) => true,
            _ => false,
        }
    }

    /// What `fault` is called.
    pub(super) fn of(fault: &Fault) -> Self {
        match *fault {
            Fault::Slip { at, teeth } => Self::Slip { at, teeth },
            Fault::Phaser { shaft, angle } => Self::Phaser { shaft, angle },
            Fault::Dowel { shaft, angle } => Self::Dowel { shaft, angle },
            Fault::CrankTurn => Self::CrankTurn,
            Fault::Elongation { .. } => Self::Wear,
        }
    }
}

/// Are these claims those faults, each once?
pub(super) fn same(claims: &[Claim], faults: &[Fault], within: CrankDegrees) -> bool {
    claims.len() == faults.len()
        && faults.iter().all(|fault| {
            claims
                .iter()
                .filter(|claim| claim.is(fault, within))
                .count()
                == 1
        })
}

/// By how much wear is taken to have lengthened the chains where nobody says: one per cent.
pub(super) fn usual_wear() -> Exact {
    Exact::fraction(1, 100).unwrap_or(Exact::ZERO)
}
