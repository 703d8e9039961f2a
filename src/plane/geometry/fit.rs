//! The travel of the tensioner at which the loop holds a given number of links.

use std::fmt;

use super::path::{Path, PathError, Taut};
use super::plane::{Travel, Vec2};
use super::wheel::Wheel;

/// Places in the bracket at which the loop is measured before a root is sought between two of them.
const SAMPLES: u32 = 240;

/// Most mm by which the loop grows or shrinks for a mm of travel. Two strands lead to the shoe, and each gives way by a mm at
/// most; the rest is for sprockets of few teeth, on which a link takes less than its pitch of the pitch circle.
const STEEPEST: f64 = 2.5;

/// Halvings of a bracket: each sample step is far below a metre, so 60 reach rounding.
const HALVINGS: u32 = 60;

/// Links by which the length of a loop may be off by rounding alone: no more can be told.
const ROUNDING: f64 = 1e-12;

/// Steps of the faster way to the same place before it is halved instead.
const SECANTS: u32 = 40;

/// A tensioner: one of the wheels, which a plunger moves along a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tensioner {
    /// The wheel; its centre as given is the one at travel 0.
    pub wheel: usize,
    /// Clock angle in degrees of the direction in which the plunger moves it.
    pub pushes: f64,
    /// Stroke in mm: the plunger's travel lies in 0..=stroke.
    pub stroke: f64,
}

/// A loop that holds the wanted links.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Travel in mm from the given place of the tensioner; may lie outside of 0..=stroke.
    pub travel: f64,
    /// Whether the stroke holds the travel.
    pub in_stroke: bool,
    /// Number of travels within the searched range that would do; the one in the stroke, or nearest to it, was taken.
    pub roots: usize,
    /// The path at that travel.
    pub path: Path,
}

/// Why no travel of the tensioner fits.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum FitError {
    /// The tensioner is no wheel of the path, or its stroke or direction is no usable number.
    Tensioner,
    /// The wheels carry no chain at any travel; the error is that of travel 0.
    Path(PathError),
    /// The wanted number of links does not fit at any travel from two strokes (at least 50 mm) before to as much beyond the stroke.
    NoTravel {
        /// Links wanted, in links of the given pitch.
        wanted: f64,
        /// Fewest links of any loop found.
        shortest: f64,
        /// Most links of any loop found.
        longest: f64,
    },
    /// The loop fits only where pushing further makes it shorter: such a tensioner slackens the chain.
    Slackens {
        /// The travel in mm at which it would fit.
        travel: f64,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tensioner => {
                write!(
                    f,
                    "the tensioner is no wheel of this chain or has no usable stroke or direction"
                )
            }
            Self::Path(error) => error.fmt(f),
            Self::NoTravel {
                wanted,
                shortest,
                longest,
            } => write!(
                f,
                "a chain of {wanted:.3} links does not fit at any travel of the tensioner (the loop holds {shortest:.3} to {longest:.3})"
            ),
            Self::Slackens { travel } => write!(
                f,
                "the tensioner slackens the chain where it pushes (the loop fits at travel {travel:.3} mm only)"
            ),
        }
    }
}

impl std::error::Error for FitError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Path(error) => Some(error),
            _ => None,
        }
    }
}

/// Finds the travel of the tensioner at which the loop holds `links` links of `pitch` mm (for a worn chain:
/// [`super::elongated`] pitch).
///
/// The loop is measured at places spread over the stroke and well beyond both of its ends, and each change of sign is halved
/// down, so nothing is assumed of the shape of the curve; it is flat where the shoe does not reach the chain, and has gaps where
/// the shoe would lie in a sprocket.
///
/// # Errors
///
/// [`FitError`]; a travel outside the stroke is no error.
pub fn solve_travel(
    wheels: &[Wheel],
    pitch: f64,
    travel: Travel,
    tensioner: &Tensioner,
    links: f64,
) -> Result<Fit, FitError> {
    let shoe = *wheels.get(tensioner.wheel).ok_or(FitError::Tensioner)?;
    let stroke = tensioner.stroke;
    if !(stroke > 0.0 && stroke <= 1e4 && tensioner.pushes.is_finite() && links.is_finite()) {
        return Err(FitError::Tensioner);
    }
    let along = Vec2::from_clock(tensioner.pushes);
    let mut moved = wheels.to_vec();
    // Only where it fits is more wanted than the length of the loop.
    let mut taut = Taut::new(wheels, pitch, travel);
    let mut excess_at = |at: f64| {
        if let Some(wheel) = moved.get_mut(tensioner.wheel) {
            wheel.centre = shoe.centre + along * at;
        }
        taut.links(&moved).map(|found| found - links)
    };
    let path_at = |at: f64| {
        let mut wheels = wheels.to_vec();
        if let Some(wheel) = wheels.get_mut(tensioner.wheel) {
            wheel.centre = shoe.centre + along * at;
        }
        Path::new(&wheels, pitch, travel)
    };

    let margin = (2.0 * stroke).max(50.0);
    let step = (stroke + 2.0 * margin) / f64::from(SAMPLES);
    let place = |number: u32| f64::from(number) * step - margin;
    let mut found = Roots {
        place: &place,
        // Most links by which the loop changes from one place to the next.
        steepest: STEEPEST * step / pitch,
        rising: Vec::new(),
        falling: None,
        before: None,
    };
    let ends = [0, SAMPLES].map(|number| (number, excess_at(place(number))));
    found.take(&mut excess_at, ends[0]);
    found.between(&mut excess_at, ends[0], ends[1]);
    let Roots {
        rising, falling, ..
    } = found;

    let outside = |at: f64| (-at).max(at - stroke).max(0.0);
    let best = rising
        .iter()
        .copied()
        .min_by(|one, other| outside(*one).total_cmp(&outside(*other)));
    let Some(best) = best else {
        if let Some(travel) = falling {
            return Err(FitError::Slackens { travel });
        }
        let (mut shortest, mut longest) = (f64::INFINITY, f64::NEG_INFINITY);
        for excess in (0..=SAMPLES).filter_map(|number| excess_at(place(number))) {
            shortest = shortest.min(excess + links);
            longest = longest.max(excess + links);
        }
        if shortest > longest {
            // Not one place gave a path.
            return Err(path_at(0.0)
                .err()
                .map_or(FitError::Tensioner, FitError::Path));
        }
        return Err(FitError::NoTravel {
            wanted: links,
            shortest,
            longest,
        });
    };
    let path = path_at(best).map_err(FitError::Path)?;
    Ok(Fit {
        travel: best,
        in_stroke: outside(best) <= 0.0,
        roots: rising.len(),
        path,
    })
}

/// Where the loop begins to fit and where it ends to, as places are taken in their order.
struct Roots<'a> {
    place: &'a dyn Fn(u32) -> f64,
    steepest: f64,
    rising: Vec<f64>,
    falling: Option<f64>,
    before: Option<(f64, f64)>,
}

impl Roots<'_> {
    /// Takes all places behind `here` up to `there`, but where the loop can fit nowhere between them.
    fn between(
        &mut self,
        excess_at: &mut impl FnMut(f64) -> Option<f64>,
        here: (u32, Option<f64>),
        there: (u32, Option<f64>),
    ) {
        let steps = there.0 - here.0;
        // The loop changes by so much at most: where it is further from fitting at both ends, it fits nowhere between.
        let passed = match (here.1, there.1) {
            (Some(here), Some(there)) => {
                let most = self.steepest * f64::from(steps);
                (here < 0.0) == (there < 0.0) && here.abs() + there.abs() > most
            }
            _ => false,
        };
        if steps < 2 || passed {
            self.take(excess_at, there);
            return;
        }
        let middle = here.0 + steps / 2;
        let middle = (middle, excess_at((self.place)(middle)));
        self.between(excess_at, here, middle);
        self.between(excess_at, middle, there);
    }

    fn take(
        &mut self,
        excess_at: &mut impl FnMut(f64) -> Option<f64>,
        (number, excess): (u32, Option<f64>),
    ) {
        let Some(excess) = excess else {
            self.before = None;
            return;
        };
        let at = (self.place)(number);
        if let Some(low) = self.before.replace((at, excess)) {
            if low.1 < 0.0 && excess >= 0.0 {
                self.rising.extend(root(excess_at, low, (at, excess)));
            } else if low.1 >= 0.0 && excess < 0.0 {
                self.falling = root(excess_at, (at, excess), low);
            }
        }
    }
}

/// The place between `short` (where the loop is too short, and by how much) and `long` where it fits; `None` when the path
/// breaks off between them. By the chord between both, an end that stays being weighed half as much each time (the Illinois
/// rule, Dowell and Jarratt, BIT 11, 1971); where that leads nowhere, by halves.
fn root(
    excess_at: &mut impl FnMut(f64) -> Option<f64>,
    short: (f64, f64),
    long: (f64, f64),
) -> Option<f64> {
    let (mut low, mut high) = (short, long);
    let mut stays = 0;
    for _ in 0..SECANTS {
        let at = high.0 - high.1 * (high.0 - low.0) / (high.1 - low.1);
        if !(at > low.0.min(high.0) && at < low.0.max(high.0)) {
            break;
        }
        let Some(excess) = excess_at(at) else { break };
        if excess.abs() <= ROUNDING {
            return Some(at);
        }
        if excess < 0.0 {
            low = (at, excess);
            high.1 *= if stays < 0 { 0.5 } else { 1.0 };
            stays = -1;
        } else {
            high = (at, excess);
            low.1 *= if stays > 0 { 0.5 } else { 1.0 };
            stays = 1;
        }
    }
    halve(excess_at, short.0, long.0)
}

/// Halves the bracket between `short` (where the loop is too short) and `long`; `None` when the path breaks off within it.
fn halve(
    excess_at: &mut impl FnMut(f64) -> Option<f64>,
    mut short: f64,
    mut long: f64,
) -> Option<f64> {
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(short, long);
        if excess_at(middle)? < 0.0 {
            short = middle;
        } else {
            long = middle;
        }
    }
    Some(f64::midpoint(short, long))
}
