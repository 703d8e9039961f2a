//! The order in which crankshaft and camshafts are moved so that no valve meets a piston on the way.
//!
//! An estimate from the valve part of the spec, as every clearance is, and with the maker's order above it.
//! Whether intake and exhaust valves meet each other is not reckoned.

use crate::drive::error::CheckError;
use crate::drive::ids::{ChainId, ShaftId};
use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::spec::raw::{Rotation, ShaftKind};
use crate::timing::check::Verdict;
use crate::timing::remedy::{Move, Remedy};
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth};
use crate::valves::clearance::TOO_CLOSE_MM;
use crate::valves::path::{Leg, Moving, STEP, Task};
pub use crate::valves::reach::{Closest, Missing};
use crate::valves::reach::{Reach, cylinders_without};

/// How far a camshaft may be let run past either end of its way, ten of its own degrees, without a valve
/// coming nearer than the order says.
pub const OVERRUN: CrankDegrees = CrankDegrees::whole(20);

/// How far from where it is turned to, either way, the crankshaft may stand while a camshaft is moved.
pub const PARKED_WITHIN: CrankDegrees = CrankDegrees::whole(STEP as i64);

/// Margins in mm that are tried: an order that keeps more is taken before a shorter one.
const MARGINS: [f64; 3] = [3.0, 2.0, TOO_CLOSE_MM];

/// How what must be moved can be.
#[derive(Clone, PartialEq, Debug)]
pub struct SafeMoves {
    /// The nearest that any valve is to its piston as everything stood when it was looked at, among those
    /// of which that is known.
    pub closest: Option<Closest>,
    /// In what order to move, or why that cannot be said.
    pub order: Result<Order, NoOrder>,
}

impl SafeMoves {
    /// May valves and piston meet already, where everything stands? `None`: nothing is known.
    pub fn may_meet(&self) -> Option<bool> {
        self.closest.map(|closest| closest.mm < TOO_CLOSE_MM)
    }
}

/// Why there is no order.
#[derive(Clone, PartialEq, Debug)]
pub enum NoOrder {
    /// Nothing is to be moved yet.
    NothingToMove,
    /// Something is not known without which none can be found.
    NotKnown(Vec<Missing>),
    /// They may meet already, where everything stands.
    MayMeet,
    /// None keeps valves and pistons [`TOO_CLOSE_MM`] apart on all of its way: not with each camshaft turned
    /// in one go, either way round, and the crankshaft up to a whole turn back or ahead.
    NotFound,
}

/// An order of moves.
#[derive(Clone, PartialEq, Debug)]
pub struct Order {
    /// What to do, one after the other. At its end the crankshaft stands where it stood at first.
    pub steps: Vec<SafeStep>,
    /// The nearest that any valve comes to its piston on the way, from where everything stood to where
    /// it belongs; the true least of the model is not below it. `None` if no camshaft is moved.
    pub closest: Option<Closest>,
    /// The chains that must be off before the crankshaft is turned; empty if it is not.
    pub chains_off: Vec<ChainId>,
    /// Why nothing is known of orders in which the crankshaft is turned; empty if they were looked at too.
    pub crank_not_known: Vec<Missing>,
    /// The camshafts that no chain holds meanwhile and that stand with valves open, or of which that is
    /// not known: their springs can turn them.
    pub hold: Vec<ShaftId>,
}

/// One step of an order.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum SafeStep {
    /// Only the crankshaft is turned.
    Crank {
        /// How far, above zero the way it normally turns.
        by: CrankDegrees,
        /// Where that brings it, from where it stood at first.
        to: CrankDegrees,
        /// The nearest that any valve comes to its piston meanwhile.
        closest: Option<Closest>,
    },
    /// A remedy is carried out.
    Remedy {
        /// Which of [`Check::remedies`].
        index: usize,
        /// How far the sprocket goes, above zero the way it normally turns: as the remedy says, or the other
        /// way round to the same place.
        teeth: Teeth,
        /// Which way that is, as seen facing the timing end.
        turn: Rotation,
        /// Where the crankshaft stands, from where it stood at first. Where that is not zero, anywhere
        /// within [`PARKED_WITHIN`] of it will do.
        crank: CrankDegrees,
        /// Can what is moved stand anywhere on its turn here without coming nearer than
        /// [`TOO_CLOSE_MM`]?
        anywhere: bool,
        /// The nearest that any valve comes to its piston meanwhile, with [`OVERRUN`] at both ends;
        /// `None` if it moves no valves.
        closest: Option<Closest>,
    },
}

impl SafeStep {
    /// The nearest that any valve comes to its piston meanwhile.
    pub fn closest(&self) -> Option<Closest> {
        match self {
            Self::Crank { closest, .. } | Self::Remedy { closest, .. } => *closest,
        }
    }
}

/// In what order to do what `check` wants moved, as far as the spec of `drive` tells; `None` where nothing
/// is out of time.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{Observations, check, link_named, valves::{TOO_CLOSE_MM, safe_moves}};
///
/// let mut seen = Observations::at_timed_position();
/// for (shaft, what) in [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")] {
///     seen.see_link(&drive, link_named(&drive, shaft)?, what.parse()?)?;
/// }
/// let moves = safe_moves(&drive, &check(&drive, &seen)?)?.ok_or("in time")?;
/// let order = moves.order.map_err(|_| "none")?;
/// assert!(order.closest.ok_or("no valves")?.mm >= TOO_CLOSE_MM);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`CheckError::OtherDrive`] if `check` is of another drive.
pub fn safe_moves(drive: &Drive, check: &Check) -> Result<Option<SafeMoves>, CheckError> {
    if !check.is_of(drive) {
        return Err(CheckError::OtherDrive);
    }
    let remedies = check.remedies();
    if remedies.is_empty() && check.verdict() != Verdict::OutOfTime {
        return Ok(None);
    }
    let reach = Reach::of(drive);
    let crank = degrees(check.crank().past_timed.to_crank_degrees()?);
    let stands = stands(drive, check, crank);
    let closest = closest_now(drive, &reach, crank, &stands);
    let may_meet = closest.is_some_and(|closest| closest.mm < TOO_CLOSE_MM);
    let moving = remedies
        .iter()
        .map(|remedy| moving(drive, remedy))
        .collect::<Result<Vec<_>, _>>()?;
    let whole = everything_missing(drive, &reach, &stands);
    let needed = needed(drive, &moving, &whole);
    let order = if remedies.is_empty() {
        Err(NoOrder::NothingToMove)
    } else if may_meet {
        Err(NoOrder::MayMeet)
    } else if !needed.is_empty() {
        Err(NoOrder::NotKnown(needed))
    } else {
        let shafts: Vec<f64> = stands.iter().map(|at| at.unwrap_or(crank)).collect();
        let task = Task {
            reach: &reach,
            crank,
            shafts: &shafts,
            moving: &moving,
            crank_turns: whole.is_empty(),
            overrun: degrees(OVERRUN),
        };
        let way = MARGINS.into_iter().find_map(|margin| task.way(margin));
        match way {
            Some(way) => Ok(Order {
                crank_not_known: whole,
                ..order(drive, remedies, &task, &stands, &way)?
            }),
            None if whole.is_empty() => Err(NoOrder::NotFound),
            // There may be one on which the crankshaft is turned.
            None => Err(NoOrder::NotKnown(whole)),
        }
    };
    Ok(Some(SafeMoves { closest, order }))
}

fn degrees(angle: CrankDegrees) -> f64 {
    angle.get().to_f64()
}

fn is_camshaft(drive: &Drive, id: ShaftId) -> bool {
    drive.shaft(id).kind() == ShaftKind::Camshaft
}

/// Where every shaft stands, in crank degrees past the timed position, if that is known.
#[allow(clippy::float_arithmetic, reason = "places of an estimate")]
fn stands(drive: &Drive, check: &Check, crank: f64) -> Vec<Option<f64>> {
    let mut all = vec![None; drive.shafts().count()];
    for state in check.shafts() {
        all[state.shaft.index()] = state.off.map(|off| crank + degrees(off.angle));
    }
    all
}

/// The nearest that any valve is to its piston where everything stands.
fn closest_now(
    drive: &Drive,
    reach: &Reach,
    crank: f64,
    stands: &[Option<f64>],
) -> Option<Closest> {
    drive.shafts().fold(None, |closest, (id, _)| {
        let here =
            stands[id.index()].and_then(|at| reach.closest(id.index(), [crank, crank], [at, at]));
        Closest::nearer(closest, here)
    })
}

/// What a remedy moves.
fn moving(drive: &Drive, remedy: &Remedy) -> Result<Moving, OutOfRange> {
    let chain = remedy.at.chain;
    let by = drive.chain(chain).crank_degrees_of(remedy.teeth)?;
    let behind = |id: ShaftId| {
        drive.way_to(id).any(|(_, driven)| match remedy.what {
            Move::Sprocket => driven == remedy.at,
            Move::Chain => driven.chain == chain,
        })
    };
    let shafts: Vec<ShaftId> = drive.driven().filter(|id| behind(*id)).collect();
    let alone = matches!(&shafts[..], [only] if is_camshaft(drive, *only));
    Ok(Moving {
        shafts: shafts.iter().map(|id| id.index()).collect(),
        by: degrees(match remedy.what {
            Move::Sprocket => by,
            // The chain carries what it drives the other way.
            Move::Chain => by.negated(),
        }),
        other_way: alone && remedy.what == Move::Sprocket,
    })
}

/// Everything without which it is not known what becomes of turning the crankshaft.
fn everything_missing(drive: &Drive, reach: &Reach, stands: &[Option<f64>]) -> Vec<Missing> {
    let mut found = Vec::new();
    for (id, _) in drive.shafts().filter(|(id, _)| is_camshaft(drive, *id)) {
        found.extend_from_slice(reach.missing(id.index()));
        if stands[id.index()].is_none() {
            found.push(Missing::Position(id));
        }
    }
    if !drive.valves().is_empty() {
        found.extend(cylinders_without(drive));
    }
    for (at, sprocket) in drive.engagements() {
        let id = sprocket.shaft();
        if drive.shaft(id).driven_at() != Some(at) && drive.driver_of(at.chain) != at {
            found.push(Missing::HeldTwice(id));
        }
    }
    found
}

/// What of that is needed even where the crankshaft stays: what is missing of the camshafts that are
/// moved, and what may be theirs. Where no camshaft is moved, no valve is.
fn needed(drive: &Drive, moving: &[Moving], whole: &[Missing]) -> Vec<Missing> {
    let moved = |id: ShaftId| {
        moving
            .iter()
            .any(|one| one.shafts.iter().any(|shaft| *shaft == id.index()))
    };
    let held = whole.iter().any(|one| matches!(one, Missing::HeldTwice(_)));
    if !held && !drive.driven().any(|id| is_camshaft(drive, id) && moved(id)) {
        return Vec::new();
    }
    // A cylinder's missing valves are taken to be those of a camshaft that the spec says nothing of.
    let undescribed = whole.iter().any(|one| matches!(one, Missing::Valves(_)));
    let all = whole.iter().copied();
    all.filter(|one| match one {
        Missing::Valves(id) | Missing::Position(id) => moved(*id),
        Missing::Clearance { valves, .. } => {
            drive.valves().get(*valves).is_some_and(|v| moved(v.shaft))
        }
        Missing::Cylinder { .. } => !undescribed,
        Missing::HeldTwice(_) => true,
    })
    .collect()
}

/// A way in the words of the drive.
fn order(
    drive: &Drive,
    remedies: &[Remedy],
    task: &Task<'_>,
    stands: &[Option<f64>],
    way: &[Leg],
) -> Result<Order, OutOfRange> {
    let steps_in = |steps: i32| CrankDegrees::whole(i64::from(steps * STEP));
    let mut moved = 0;
    let mut steps = Vec::new();
    for leg in way {
        steps.push(match *leg {
            Leg::Crank { from, to } => SafeStep::Crank {
                by: steps_in(to - from),
                to: steps_in(to),
                closest: task.turning(from, to, moved),
            },
            Leg::Move {
                index,
                at,
                other_way,
                anywhere,
            } => {
                let closest = task.moving(index, at, moved, other_way);
                moved |= 1 << index;
                let (teeth, turn) = round(drive, &remedies[index], other_way)?;
                SafeStep::Remedy {
                    index,
                    teeth,
                    turn,
                    crank: steps_in(at),
                    anywhere,
                    closest,
                }
            }
        });
    }
    let turns = steps
        .iter()
        .any(|step| matches!(step, SafeStep::Crank { .. }));
    let camshafts = || drive.driven().filter(|id| is_camshaft(drive, *id));
    let on =
        |chain: ChainId, id: ShaftId| drive.way_to(id).any(|(_, driven)| driven.chain == chain);
    let chains_off = drive
        .chains()
        .map(|(id, _)| id)
        .filter(|chain| {
            let driver = drive.sprocket(drive.driver_of(*chain)).shaft();
            turns && driver == drive.crank() && camshafts().any(|id| on(*chain, id))
        })
        .collect();
    let hold = camshafts()
        .filter(|id| turns || remedies.iter().any(|remedy| on(remedy.at.chain, *id)))
        .filter(|id| {
            let at = stands[id.index()].filter(|_| task.reach.missing(id.index()).is_empty());
            at.is_none_or(|at| task.reach.open(id.index(), at))
        })
        .collect();
    let nearest = steps.iter().fold(None, |closest, step| {
        Closest::nearer(closest, step.closest())
    });
    Ok(Order {
        steps,
        closest: nearest,
        chains_off,
        crank_not_known: Vec::new(),
        hold,
    })
}

/// How far and which way a remedy's sprocket goes. What is moved with its chain goes as the remedy says.
fn round(drive: &Drive, remedy: &Remedy, other_way: bool) -> Result<(Teeth, Rotation), OutOfRange> {
    if !other_way {
        return Ok((remedy.teeth, remedy.turn));
    }
    let turn = drive.sprocket(remedy.at).teeth().to_exact();
    let turn = match remedy.teeth.get().signum() {
        -1 => turn,
        _ => Exact::ZERO.checked_sub(turn)?,
    };
    let teeth = remedy.teeth.get().checked_add(turn)?;
    Ok((Teeth::new(teeth), remedy.turn.reversed()))
}
