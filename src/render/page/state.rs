//! Every state that slips on a page can bring about, reckoned beforehand.
//!
//! A shaft is moved only by the sprockets on the way from the crankshaft to it. For each shaft there is a
//! table over the slips of those sprockets, `-range..=range` teeth each, that names one of the shaft's
//! states; for each entry of valves one row of words and numbers for every state of its camshaft; for each
//! pair one for every two states. So the file grows with what can differ and not with all combinations.
#![allow(
    clippy::float_arithmetic,
    reason = "hands estimates and angles of a drawing on"
)]

use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::render::json::slip::{pair, valve};
use crate::render::words::slip::{self as slip_words, degrees, meeting, rows_of, standing, title};
use crate::render::words::{marks::kind_word, numbers};
use crate::timing::observe::name_of;
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth};
use crate::valves::slip::{Contact, SlipError, Slips};
use crate::valves::timing::{ValveTiming, alone, pairs, timing};
use serde_json::{Value, json};

/// Most teeth that a sprocket can be slipped either way.
const MOST_TEETH: i64 = 4;
/// Most entries of the table of one shaft.
const MOST_ENTRIES: usize = 60_000;
/// Most states of two camshafts taken together, over all pairs.
const MOST_PAIR_STATES: usize = 12_000;

pub(super) struct States {
    /// Every sprocket can be slipped so many teeth either way.
    pub(super) range: i64,
    /// In the order of [`Drive::shafts`].
    pub(super) shafts: Vec<ShaftStates>,
    /// For each entry of [`Drive::valves`] its timing in each state of its shaft.
    pub(super) valves: Vec<Vec<ValveTiming>>,
    /// For each pair its overlap and separation by the states of both shafts.
    pairs: Vec<PairStates>,
}

pub(super) struct ShaftStates {
    /// The sprockets that move it, in the order of the table's digits.
    pub(super) by: Vec<Engagement>,
    /// The state for each combination; `None`: two chains would put the shaft in two places.
    table: Vec<Option<usize>>,
    /// How far it is off, in rising order.
    pub(super) errors: Vec<CrankDegrees>,
}

struct PairStates {
    intake: usize,
    exhaust: usize,
    /// Overlap and separation; `None` where one shaft would stand in two places.
    table: Vec<Vec<Option<[Value; 3]>>>,
}

impl ShaftStates {
    /// The state in which nothing has slipped.
    pub(super) fn zero(&self) -> usize {
        self.errors
            .iter()
            .position(|error| error.is_zero())
            .unwrap_or(0)
    }
}

impl States {
    pub(super) fn new(drive: &Drive) -> Result<Self, SlipError> {
        for range in (1..=MOST_TEETH).rev() {
            if let Some(states) = Self::within(drive, range)? {
                return Ok(states);
            }
        }
        // Nothing slips; that always fits.
        Self::within(drive, 0)?.ok_or(SlipError::TooLarge)
    }

    /// `None` if that many do not fit onto a page.
    fn within(drive: &Drive, range: i64) -> Result<Option<Self>, SlipError> {
        let mut shafts = Vec::new();
        for (id, _) in drive.shafts() {
            let by = movers(drive, id);
            let Some(slips) = combinations(&by, range) else {
                return Ok(None);
            };
            let mut found = Vec::with_capacity(slips.len());
            for slips in &slips {
                found.push(match slips.errors(drive) {
                    Ok(errors) => errors.get(id.index()).copied(),
                    Err(SlipError::LoopBroken { .. }) => None,
                    Err(error) => return Err(error),
                });
            }
            let mut errors: Vec<CrankDegrees> = found.iter().copied().flatten().collect();
            errors.sort();
            errors.dedup();
            let table = found
                .iter()
                .map(|error| error.and_then(|error| errors.binary_search(&error).ok()))
                .collect();
            shafts.push(ShaftStates { by, table, errors });
        }
        let of = |valve: usize| {
            drive
                .valves()
                .get(valve)
                .and_then(|valves| shafts.get(valves.shaft.index()))
                .map_or(0, |states| states.errors.len())
        };
        let zero = timing(drive, &[])?;
        let both: usize = zero
            .pairs
            .iter()
            .map(|p| of(p.intake) * of(p.exhaust))
            .sum();
        let each: usize = (0..drive.valves().len()).map(of).sum();
        if range > 0 && (both > MOST_PAIR_STATES || each > MOST_PAIR_STATES / 12) {
            return Ok(None);
        }
        // One row of states after the other, so that each clearance is searched for once.
        let mut valves: Vec<Vec<ValveTiming>> = vec![Vec::new(); drive.valves().len()];
        let most = (0..drive.valves().len()).map(of).max().unwrap_or(0);
        for state in 0..most {
            let errors: Vec<CrankDegrees> = shafts
                .iter()
                .map(|states| {
                    states
                        .errors
                        .get(state)
                        .copied()
                        .unwrap_or(CrankDegrees::ZERO)
                })
                .collect();
            for (at, timing) in alone(drive, &errors)?.into_iter().enumerate() {
                if state < of(at) {
                    valves[at].push(timing);
                }
            }
        }
        let mut together = Vec::new();
        for (number, each) in zero.pairs.iter().enumerate() {
            let one_shaft = drive.valves()[each.intake].shaft == drive.valves()[each.exhaust].shaft;
            let mut all = zero.valves.clone();
            let mut table = Vec::new();
            for (i, intake) in valves[each.intake].iter().enumerate() {
                all[each.intake].clone_from(intake);
                let mut row = Vec::new();
                for (e, exhaust) in valves[each.exhaust].iter().enumerate() {
                    if one_shaft && i != e {
                        row.push(None);
                        continue;
                    }
                    all[each.exhaust].clone_from(exhaust);
                    let now = pairs(drive, &all)?;
                    row.push(now.get(number).map(|now| {
                        [
                            json!(pair(drive, now)),
                            json!(degrees(now.overlap)),
                            json!(numbers::exact(now.separation)),
                        ]
                    }));
                }
                table.push(row);
            }
            together.push(PairStates {
                intake: each.intake,
                exhaust: each.exhaust,
                table,
            });
        }
        Ok(Some(Self {
            range,
            shafts,
            valves,
            pairs: together,
        }))
    }

    /// `teeth` in words for every number of teeth in the range.
    pub(super) fn slip_words(&self) -> Vec<String> {
        (-self.range..=self.range)
            .map(|teeth| match teeth {
                0 => "on".to_owned(),
                _ => format!(
                    "{} {}",
                    numbers::teeth(Teeth::whole(teeth)),
                    numbers::side(Exact::whole(teeth))
                ),
            })
            .collect()
    }

    pub(super) fn shafts_json(&self, drive: &Drive) -> Result<Vec<Value>, OutOfRange> {
        let mut all = Vec::new();
        for ((id, shaft), states) in drive.shafts().zip(&self.shafts) {
            let timed = drive.is_timed(id);
            let mut rows = Vec::new();
            for error in &states.errors {
                let teeth = match shaft.driven_at() {
                    Some(at) => drive.chain(at.chain).teeth_in(*error)?,
                    None => Teeth::ZERO,
                };
                let size = |off: CrankDegrees| {
                    let teeth = shaft
                        .driven_at()
                        .and_then(|at| drive.chain(at.chain).teeth_in(off).ok())
                        .unwrap_or(Teeth::ZERO);
                    format!("{}, {}", numbers::teeth(teeth), numbers::crank_degrees(off))
                };
                let words = if timed {
                    standing(*error, shaft.turn()?, size)
                } else if error.is_zero() {
                    "in its place".to_owned()
                } else {
                    format!("{} {}", size(*error), numbers::side(error.get()))
                };
                let ahead = error
                    .get()
                    .checked_div(Exact::whole(360))?
                    .checked_mul(shaft.speed())?;
                rows.push(json!({
                    "off_teeth": teeth,
                    "off_crank_degrees": error,
                    "words": words,
                    "ahead_turns": ahead.to_f64(),
                }));
            }
            all.push(json!({
                "name": shaft.name(),
                "kind": kind_word(shaft.kind()),
                "timed": timed,
                "driven": shaft.driven_at().is_some(),
                "by": by(drive, &states.by),
                "table": states.table,
                "zero": states.zero(),
                "states": rows,
            }));
        }
        Ok(all)
    }

    pub(super) fn valves_json(&self, drive: &Drive) -> Vec<Value> {
        drive
            .valves()
            .iter()
            .zip(&self.valves)
            .map(|(valves, timings)| {
                let zero = self
                    .shafts
                    .get(valves.shaft.index())
                    .and_then(|states| timings.get(states.zero()));
                let rows: Vec<Value> = timings
                    .iter()
                    .map(|timing| {
                        let least = timing.clearance.as_ref().ok();
                        let meets = least.map(crate::valves::clearance::LeastClearance::meet);
                        json!({
                            "exact": valve(drive, valves, timing),
                            "rows": zero.map(|zero| rows_of(valves, zero, timing)),
                            "meets": meets,
                            "least": least.map(|least| least.mm),
                            "if_meet": meeting(Contact::Meet, least.map(|l| (valves, l))),
                            "if_clear": meeting(Contact::Clear, least.map(|l| (valves, l))),
                            "if_unknown": meeting(Contact::NotKnown, least.map(|l| (valves, l))),
                        })
                    })
                    .collect();
                json!({
                    "title": title(valves),
                    "stated": if valves.at_lift.is_zero() {
                        "from seat to seat".to_owned()
                    } else {
                        format!("at {} mm lift", numbers::exact(valves.at_lift))
                    },
                    "shaft": valves.shaft.index(),
                    "states": rows,
                })
            })
            .collect()
    }

    pub(super) fn pairs_json(&self, drive: &Drive) -> Vec<Value> {
        self.pairs
            .iter()
            .filter_map(|each| {
                let (intake, exhaust) = (
                    drive.valves().get(each.intake)?,
                    drive.valves().get(each.exhaust)?,
                );
                Some(json!({
                    "title": format!("{} with {}", intake.name, exhaust.name),
                    "intake": each.intake,
                    "exhaust": each.exhaust,
                    "table": each.table,
                }))
            })
            .collect()
    }
}

/// Sentences that the page picks from.
pub(super) fn words(drive: &Drive) -> Value {
    let timed: Vec<&str> = drive
        .shafts()
        .filter(|(id, shaft)| drive.is_timed(*id) && shaft.driven_at().is_some())
        .map(|(_, shaft)| shaft.name())
        .collect();
    json!({
        "in_time": format!("In time: {}.", timed.join(", ")),
        "out_of_time": "OUT OF TIME",
        "cannot_be": "That cannot be: two chains hold a shaft between them, and this would have each put it elsewhere. Slip both alike.",
        "unknown": meeting(Contact::NotKnown, None),
        "no_valves": drive.valves().is_empty().then_some("Nothing is said about valves: the spec does not give them."),
    })
}

pub(super) fn by(drive: &Drive, by: &[Engagement]) -> Vec<usize> {
    by.iter().map(|at| drive.index(*at)).collect()
}

/// The sprockets that move a shaft: both ends of every chain that leads to it from the crankshaft.
pub(super) fn movers(drive: &Drive, id: ShaftId) -> Vec<Engagement> {
    let mut found = Vec::new();
    let mut open = vec![id];
    let mut seen = Vec::new();
    while let Some(id) = open.pop() {
        if seen.contains(&id) {
            continue;
        }
        seen.push(id);
        for at in drive.shaft(id).engagements() {
            let driver = drive.driver_of(at.chain);
            if driver == *at {
                continue;
            }
            for each in [driver, *at] {
                if !found.contains(&each) {
                    found.push(each);
                }
            }
            open.push(drive.sprocket(driver).shaft());
        }
    }
    found
}

/// Every combination of slips, the last sprocket's counting fastest; `None` if there are too many.
pub(super) fn combinations(by: &[Engagement], range: i64) -> Option<Vec<Slips>> {
    let width = usize::try_from(2 * range + 1).ok()?;
    let power = u32::try_from(by.len()).ok()?;
    let count = width
        .checked_pow(power)
        .filter(|count| *count <= MOST_ENTRIES)?;
    let mut all = Vec::with_capacity(count);
    all.push(Slips::none());
    for at in by {
        all = all
            .iter()
            .flat_map(|slips| {
                (-range..=range).map(move |teeth| slips.with(*at, Teeth::whole(teeth)))
            })
            .collect();
    }
    Some(all)
}

/// `main/intake`, or `intake` where that is enough.
pub(super) fn label(drive: &Drive, at: Engagement) -> String {
    name_of(drive, at)
}

/// The bare event of a valve for a figure: `12 BTDC`.
pub(super) fn event_words(
    place: crate::units::quantity::CyclePlace,
    usual: crate::units::quantity::CyclePlace,
) -> String {
    slip_words::event(place, usual).unwrap_or_default()
}
