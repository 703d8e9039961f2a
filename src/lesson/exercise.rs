//! An exercise: a hidden fault, and what of it is seen.
//!
//! What is seen has one smallest explanation or a few that are equally small: the same search that explains
//! measurements is asked, and a fault that is not among its smallest answers is drawn again.

use super::answer::{Claim, same, usual_wear};
use super::chance::{Chance, Level, Seed};
use crate::drive::error::CheckError;
use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::plane::layout::FromPaths;
use crate::spec::raw::{Parked, ShaftKind};
use crate::timing::cause::{Cause, Fault, explain};
use crate::timing::measure::Measured;
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth};
use crate::valves::slip::{Slip, SlipError, Slips, Symptom, signs};
use crate::valves::timing::{Timing, timing};
use std::fmt;

/// What is seen of one shaft at the timed position.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sight {
    /// The shaft.
    pub shaft: ShaftId,
    /// How many teeth its dot is ahead of its mark, to a quarter of a tooth; `None` without a dot.
    pub dot: Option<Teeth>,
    /// How far the camshaft itself is ahead, to a tenth of a crank degree; `None` of a shaft that is none.
    pub angle: Option<CrankDegrees>,
}

/// A fault that is hidden, and what shows of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Exercise {
    seed: Seed,
    level: Level,
    hidden: Vec<Fault>,
    sights: Vec<Sight>,
    measured: Vec<Measured>,
    causes: Vec<Cause>,
    signs: Vec<Symptom>,
    timings: [Timing; 2],
}

/// Why there is no exercise.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum ExerciseError {
    /// No shaft of the engine has to be in time and can be looked at or measured.
    NothingToSee,
    /// A number cannot be held, or something is of another drive.
    Slip(SlipError),
    /// The same.
    Check(CheckError),
}

impl fmt::Display for ExerciseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NothingToSee => f.write_str(
                "no exercise: this engine has no camshaft and no dot that could be off (give one in the spec)",
            ),
            Self::Slip(error) => error.fmt(f),
            Self::Check(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for ExerciseError {}

impl From<SlipError> for ExerciseError {
    fn from(error: SlipError) -> Self {
        Self::Slip(error)
    }
}

impl From<CheckError> for ExerciseError {
    fn from(error: CheckError) -> Self {
        Self::Check(error)
    }
}

impl From<OutOfRange> for ExerciseError {
    fn from(error: OutOfRange) -> Self {
        Self::Slip(error.into())
    }
}

/// How well an instrument tells a camshaft's place.
pub(crate) const INSTRUMENT: CrankDegrees = CrankDegrees::whole(1);

/// Faults that are drawn before "nothing" is taken.
const DRAWS: usize = 60;

/// Causes that are accepted side by side at most; a fault with more is drawn again.
const MOST_CAUSES: usize = 6;

impl Exercise {
    /// Its seed.
    pub fn seed(&self) -> Seed {
        self.seed
    }

    /// How hard it is.
    pub fn level(&self) -> Level {
        self.level
    }

    /// What is wrong. Empty: nothing is. It is one of [`Exercise::causes`].
    pub fn hidden(&self) -> &[Fault] {
        &self.hidden
    }

    /// What is seen, in the order of the shafts.
    pub fn sights(&self) -> &[Sight] {
        &self.sights
    }

    /// The same as measurements with their tolerances, as [`explain`] takes them.
    pub fn measured(&self) -> &[Measured] {
        &self.measured
    }

    /// Every smallest explanation of what is seen. All are right answers.
    pub fn causes(&self) -> &[Cause] {
        &self.causes
    }

    /// What one would probably notice. Common practice, no proof.
    pub fn signs(&self) -> &[Symptom] {
        &self.signs
    }

    /// The valves in time, and as they are.
    pub fn timings(&self) -> [&Timing; 2] {
        [&self.timings[0], &self.timings[1]]
    }
}

/// The exercise of `seed` at `level` on `drive`: always the same.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::lesson::{Level, exercise};
///
/// let one = exercise(&drive, "7".parse()?, Level::Easy)?;
/// assert_eq!(one, exercise(&drive, "7".parse()?, Level::Easy)?);
/// assert!(!one.causes().is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`ExerciseError::NothingToSee`]; the others if a number cannot be held.
pub fn exercise(drive: &Drive, seed: Seed, level: Level) -> Result<Exercise, ExerciseError> {
    let mut chance = Chance::new(seed, level);
    for _ in 0..DRAWS {
        let Some(hidden) = drawn(drive, &mut chance, level) else {
            continue;
        };
        if let Some(exercise) = set(drive, seed, level, hidden)? {
            return Ok(exercise);
        }
    }
    set(drive, seed, level, Vec::new())?.ok_or(ExerciseError::NothingToSee)
}

/// The exercise with that fault; `None` if something as small or smaller explains what is seen and this does not,
/// or the fault cannot be.
fn set(
    drive: &Drive,
    seed: Seed,
    level: Level,
    hidden: Vec<Fault>,
) -> Result<Option<Exercise>, ExerciseError> {
    let claims: Vec<Claim> = hidden.iter().map(Claim::of).collect();
    let Some(stand) = Standing::after(drive, &claims, grown(&hidden))? else {
        return Ok(None);
    };
    let sights = stand.sights(drive)?;
    let measured = measurements(drive, &sights)?;
    if measured.is_empty() {
        return Err(ExerciseError::NothingToSee);
    }
    let explained = explain(drive, &measured, &FromPaths::new(drive), MOST_CAUSES)?;
    let among = explained
        .causes
        .iter()
        .any(|cause| same(&claims, &cause.faults, INSTRUMENT));
    if !among || explained.more || explained.cut_short {
        return Ok(None);
    }
    Ok(Some(Exercise {
        seed,
        level,
        hidden,
        sights,
        measured,
        causes: explained.causes,
        signs: signs(drive, &stand.camshafts)?,
        timings: [timing(drive, &[])?, timing(drive, &stand.camshafts)?],
    }))
}

/// By how much wear has lengthened the chains.
fn grown(faults: &[Fault]) -> Option<Exact> {
    faults.iter().find_map(|fault| match fault {
        Fault::Elongation { least, .. } => Some(*least),
        _ => None,
    })
}

/// Where everything stands with some faults: dots (by the sprockets), and camshafts.
pub(super) struct Standing {
    sprockets: Vec<CrankDegrees>,
    camshafts: Vec<CrankDegrees>,
}

impl Standing {
    /// `None` if those faults cannot be together.
    pub(super) fn after(
        drive: &Drive,
        claims: &[Claim],
        grown: Option<Exact>,
    ) -> Result<Option<Self>, SlipError> {
        let mut slips = Slips::none();
        let mut turn = CrankDegrees::ZERO;
        let mut own = vec![CrankDegrees::ZERO; drive.shafts().count()];
        for claim in claims {
            match *claim {
                Claim::Slip { at, teeth } => {
                    if !slips.of(at).is_zero() {
                        return Ok(None);
                    }
                    slips.slip(drive, at, Slip::Teeth(teeth))?;
                }
                Claim::Wear => {
                    if slips.wear(drive, grown.unwrap_or_else(usual_wear)).is_err() {
                        return Ok(None);
                    }
                }
                Claim::CrankTurn => turn = turn.checked_add(CrankDegrees::whole(360))?,
                Claim::Phaser { shaft, angle } | Claim::Dowel { shaft, angle } => {
                    if let Some(off) = own.get_mut(shaft.index()) {
                        *off = off.checked_add(angle)?;
                    }
                }
            }
        }
        let mut sprockets = match slips.errors(drive) {
            Ok(errors) => errors,
            Err(SlipError::LoopBroken { .. }) => return Ok(None),
            Err(error) => return Err(error),
        };
        for (id, shaft) in drive.shafts() {
            if id != drive.crank()
                && let Some(off) = sprockets.get_mut(id.index())
            {
                *off = shaft.nearest(off.checked_add(turn)?)?;
            }
        }
        let mut camshafts = sprockets.clone();
        for ((id, shaft), own) in drive.shafts().zip(own) {
            if let Some(off) = camshafts.get_mut(id.index()) {
                *off = shaft.nearest(off.checked_add(own)?)?;
            }
        }
        Ok(Some(Self {
            sprockets,
            camshafts,
        }))
    }

    /// What of it is seen.
    pub(super) fn sights(&self, drive: &Drive) -> Result<Vec<Sight>, OutOfRange> {
        let mut sights = Vec::new();
        for (shaft, of) in drive.shafts() {
            let (Some(at), Some(sprocket), Some(camshaft)) = (
                of.driven_at(),
                self.sprockets.get(shaft.index()),
                self.camshafts.get(shaft.index()),
            ) else {
                continue;
            };
            if !drive.is_timed(shaft) {
                continue;
            }
            let dot = drive.sprocket(at).is_marked();
            let dot = dot
                .then(|| {
                    let teeth = drive.chain(at.chain).teeth_in(*sprocket)?;
                    nearest_part(teeth.get(), 4).map(Teeth::new)
                })
                .transpose()?;
            let cam = of.kind() == ShaftKind::Camshaft;
            let angle = cam
                .then(|| nearest_part(camshaft.get(), 10).map(CrankDegrees::new))
                .transpose()?;
            if dot.is_some() || angle.is_some() {
                sights.push(Sight { shaft, dot, angle });
            }
        }
        Ok(sights)
    }
}

/// The nearest whole number of `1/parts`, a half upwards.
fn nearest_part(value: Exact, parts: i64) -> Result<Exact, OutOfRange> {
    let parts = Exact::whole(parts);
    let half = Exact::ONE.checked_div(Exact::whole(2))?;
    let whole = value.checked_mul(parts)?.checked_add(half)?.floor();
    Exact::integer(whole)?.checked_div(parts)
}

fn measurements(drive: &Drive, sights: &[Sight]) -> Result<Vec<Measured>, OutOfRange> {
    let mut measured = Vec::new();
    for sight in sights {
        let at = drive.shaft(sight.shaft).driven_at();
        if let (Some(teeth), Some(at)) = (sight.dot, at) {
            let chain = drive.chain(at.chain);
            measured.push(Measured {
                shaft: sight.shaft,
                angle: chain.crank_degrees_of(teeth)?,
                // Nobody tells less of a tooth by eye.
                tolerance: chain
                    .tooth()
                    .scaled(Exact::ONE.checked_div(Exact::whole(4))?)?,
                at_camshaft: false,
            });
        }
        if let Some(angle) = sight.angle {
            measured.push(Measured {
                shaft: sight.shaft,
                angle,
                tolerance: INSTRUMENT,
                at_camshaft: true,
            });
        }
    }
    Ok(measured)
}

/// What is drawn.
#[derive(Clone, Copy)]
enum Draw {
    Nothing,
    CamSlip,
    Slips(usize),
    Phaser,
    SlipAndPhaser,
    Turn,
    SlipAndTurn,
    Wear,
}

/// A fault, or `None` where the drive has no part for what was drawn.
fn drawn(drive: &Drive, chance: &mut Chance, level: Level) -> Option<Vec<Fault>> {
    use Draw::{CamSlip, Nothing, Phaser, SlipAndPhaser, SlipAndTurn, Slips, Turn, Wear};
    let (kinds, most): (&[Draw], i64) = match level {
        Level::Easy => (&[Nothing, CamSlip, CamSlip, CamSlip, CamSlip], 2),
        Level::Medium => (
            &[
                Nothing,
                Slips(1),
                Slips(1),
                Slips(1),
                Phaser,
                Phaser,
                Turn,
                Wear,
            ],
            3,
        ),
        Level::Hard => (
            &[
                Nothing,
                Slips(1),
                Slips(2),
                Slips(2),
                Slips(2),
                Slips(3),
                SlipAndPhaser,
                SlipAndPhaser,
                SlipAndTurn,
                Wear,
            ],
            4,
        ),
    };
    let sprockets: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
    let camshafts: Vec<Engagement> = sprockets
        .iter()
        .copied()
        .filter(|at| {
            let shaft = drive.shaft(drive.sprocket(*at).shaft());
            shaft.kind() == ShaftKind::Camshaft && shaft.driven_at() == Some(*at)
        })
        .collect();
    match chance.one(kinds)? {
        Nothing => Some(Vec::new()),
        CamSlip => Some(vec![slipped(chance, &camshafts, most)?]),
        Slips(count) => {
            let mut left = sprockets;
            let mut faults = Vec::new();
            for _ in 0..count {
                let fault = slipped(chance, &left, most)?;
                left.retain(|at| !matches!(fault, Fault::Slip { at: of, .. } if of == *at));
                faults.push(fault);
            }
            Some(faults)
        }
        Phaser => Some(vec![phaser(drive, chance)?]),
        SlipAndPhaser => Some(vec![
            slipped(chance, &sprockets, most)?,
            phaser(drive, chance)?,
        ]),
        Turn => Some(vec![Fault::CrankTurn]),
        SlipAndTurn => Some(vec![slipped(chance, &sprockets, most)?, Fault::CrankTurn]),
        Wear => {
            let grown = Exact::fraction(chance.within(5, 15), 1000)?;
            Some(vec![Fault::Elongation {
                least: grown,
                most: grown,
            }])
        }
    }
}

fn slipped(chance: &mut Chance, among: &[Engagement], most: i64) -> Option<Fault> {
    let at = chance.one(among)?;
    let size = chance.within(1, most);
    let teeth = if chance.within(0, 1) == 0 {
        -size
    } else {
        size
    };
    Some(Fault::Slip {
        at,
        teeth: Teeth::whole(teeth),
    })
}

/// A phaser off its lock by whole fives of crank degrees.
fn phaser(drive: &Drive, chance: &mut Chance) -> Option<Fault> {
    let with: Vec<ShaftId> = drive
        .shafts()
        .filter(|(id, shaft)| shaft.phaser().is_some() && drive.is_timed(*id))
        .map(|(id, _)| id)
        .collect();
    let shaft = chance.one(&with)?;
    let of = drive.shaft(shaft).phaser()?;
    let range = i64::try_from(of.range.get().floor()).ok()?;
    let (from, to) = match of.parked {
        Parked::Retarded => (1, range / 5),
        Parked::Advanced => (-(range / 5), -1),
        Parked::Middle => (-(range / 10), range / 10),
    };
    let steps = chance.within(from, to);
    (steps != 0 && from <= to).then(|| Fault::Phaser {
        shaft,
        angle: CrankDegrees::whole(5 * steps),
    })
}
