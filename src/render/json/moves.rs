//! In what order to move.

use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::render::words::moves::{MoveWords, ORDER_HEADING, missing_text, order_word, step_text};
use crate::timing::observe::name_of;
use crate::units::quantity::{CrankDegrees, Teeth};
use crate::valves::clearance::TOO_CLOSE_MM;
use crate::valves::moves::{Closest, Missing, NoOrder, SafeMoves, SafeStep};
use serde::Serialize;

/// The order of moves, and how near valves and pistons come on the way. Lengths in mm, estimates.
#[derive(Serialize)]
pub(crate) struct MovesJson<'a> {
    order: &'static str,
    not_known_for_want_of: Vec<String>,
    /// Why nothing is said of orders in which the crankshaft is turned.
    crankshaft_not_known_for_want_of: Vec<String>,
    may_meet_already: Option<bool>,
    closest_now: Option<ClosestJson<'a>>,
    too_close_mm: f64,
    chains_off: Vec<&'a str>,
    hold: Vec<&'a str>,
    steps: Vec<StepJson<'a>>,
    closest: Option<ClosestJson<'a>>,
    text: Vec<String>,
}

#[derive(Serialize)]
struct ClosestJson<'a> {
    mm_estimate: f64,
    valves: &'a str,
    cylinder: u8,
}

#[derive(Serialize)]
struct StepJson<'a> {
    #[serde(flatten)]
    what: WhatJson,
    closest: Option<ClosestJson<'a>>,
    text: String,
}

#[derive(Serialize)]
#[serde(tag = "move", rename_all = "kebab-case")]
enum WhatJson {
    Crankshaft {
        crank_degrees: CrankDegrees,
        /// From where it stood at first.
        to_crank_degrees: CrankDegrees,
    },
    Remedy {
        /// Which of `remedies`, counted from 0.
        remedy: usize,
        sprocket: String,
        teeth: Teeth,
        turn: &'static str,
        crank_degrees_from_start: CrankDegrees,
        anywhere: bool,
    },
}

impl<'a> MovesJson<'a> {
    pub(crate) fn new(
        drive: &'a Drive,
        check: &Check,
        moves: &SafeMoves,
        words: MoveWords,
    ) -> Self {
        let order = moves.order.as_ref().ok();
        let mut text: Vec<String> = words.already.into_iter().chain([words.lead]).collect();
        if let Some(order) = words.order {
            text.push(format!("{ORDER_HEADING}:"));
            text.extend(order.before);
            text.extend(order.steps);
            text.extend(order.after);
        }
        Self {
            order: order_word(&moves.order),
            not_known_for_want_of: match &moves.order {
                Err(NoOrder::NotKnown(missing)) => texts(drive, missing),
                _ => Vec::new(),
            },
            crankshaft_not_known_for_want_of: order
                .map(|order| texts(drive, &order.crank_not_known))
                .unwrap_or_default(),
            may_meet_already: moves.may_meet(),
            closest_now: moves.closest.map(|one| closest(drive, one)),
            too_close_mm: TOO_CLOSE_MM,
            chains_off: order
                .iter()
                .flat_map(|order| &order.chains_off)
                .map(|id| drive.chain(*id).name())
                .collect(),
            hold: order
                .iter()
                .flat_map(|order| &order.hold)
                .map(|id| drive.shaft(*id).name())
                .collect(),
            steps: order
                .iter()
                .flat_map(|order| &order.steps)
                .map(|one| step(drive, check, one))
                .collect(),
            closest: order
                .and_then(|order| order.closest)
                .map(|one| closest(drive, one)),
            text,
        }
    }
}

fn texts(drive: &Drive, missing: &[Missing]) -> Vec<String> {
    missing
        .iter()
        .map(|one| missing_text(drive, *one))
        .collect()
}

fn closest(drive: &Drive, closest: Closest) -> ClosestJson<'_> {
    ClosestJson {
        mm_estimate: closest.mm,
        valves: drive
            .valves()
            .get(closest.valves)
            .map_or("", |entry| &entry.name),
        cylinder: closest.cylinder,
    }
}

fn step<'a>(drive: &'a Drive, check: &Check, step: &SafeStep) -> StepJson<'a> {
    StepJson {
        what: match *step {
            SafeStep::Crank { by, to, .. } => WhatJson::Crankshaft {
                crank_degrees: by,
                to_crank_degrees: to,
            },
            SafeStep::Remedy {
                index,
                teeth,
                turn,
                crank,
                anywhere,
                ..
            } => WhatJson::Remedy {
                remedy: index,
                sprocket: check
                    .remedies()
                    .get(index)
                    .map_or_else(String::new, |remedy| name_of(drive, remedy.at)),
                teeth,
                turn: turn.word(),
                crank_degrees_from_start: crank,
                anywhere,
            },
        },
        closest: step.closest().map(|one| closest(drive, one)),
        text: step_text(drive, check, step),
    }
}
