//! In what order to move, and whether valves and piston may meet already.
#![allow(clippy::float_arithmetic, reason = "rounds estimates for a reader")]

use super::band::Band;
use super::numbers;
use super::view::{turning_words, way_word};
use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::job::View;
use crate::proof::check::Check;
use crate::spec::choice::{Rotation, Viewpoint};
use crate::timing::observe::name_of;
use crate::timing::remedy::Move;
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange};
use crate::valves::clearance::TOO_CLOSE_MM;
use crate::valves::moves::{
    Closest, Missing, NoOrder, OVERRUN, Order, PARKED_WITHIN, SafeMoves, SafeStep, safe_moves,
};

/// What is said of an order of moves.
pub(crate) struct MoveWords {
    /// That valves and piston may meet already.
    pub(crate) already: Option<String>,
    /// What has to be known before anything is moved.
    pub(crate) lead: String,
    /// The order, if there is one in which a camshaft moves.
    pub(crate) order: Option<OrderWords>,
}

/// An order of moves in words.
pub(crate) struct OrderWords {
    /// What it rests on.
    pub(crate) before: Vec<String>,
    /// The steps.
    pub(crate) steps: Vec<String>,
    /// How close it is, and what it leaves out.
    pub(crate) after: Vec<String>,
}

/// The heading of an order.
pub(crate) const ORDER_HEADING: &str =
    "In what order (an estimate from the spec's figures: the maker's order rules)";

/// The order for what `check` wants moved, and its words; `None` where nothing is out of time.
pub(crate) fn move_words(
    drive: &Drive,
    check: &Check,
    view: View,
) -> Option<(SafeMoves, MoveWords)> {
    // It can only fail for another drive.
    let moves = safe_moves(drive, check).ok().flatten()?;
    let words = MoveWords {
        already: moves.closest.filter(|_| moves.may_meet() == Some(true)).map(|closest| {
            format!(
                "AS IT STANDS VALVES AND PISTON MAY ALREADY MEET: {} by the spec's figures, {}. Under {} is too close to call. Force nothing, and turn neither crankshaft nor camshafts before you have the maker's order.",
                about(closest.mm),
                where_closest(drive, &closest),
                about(TOO_CLOSE_MM),
            )
        }),
        lead: lead(drive, &moves.order),
        order: moves
            .order
            .as_ref()
            .ok()
            .filter(|order| order.closest.is_some())
            .map(|order| order_words(drive, check, order, view)),
    };
    Some((moves, words))
}

const CAN_MEET: &str = "A camshaft that is turned by itself can drive its valves into a piston";

fn lead(drive: &Drive, order: &Result<Order, NoOrder>) -> String {
    match order {
        Ok(order) if order.closest.is_none() => {
            "No camshaft is moved by this, and so no valve.".to_owned()
        }
        Ok(_) => format!("{CAN_MEET}: read below in what order, before anything is moved."),
        Err(NoOrder::NothingToMove) => format!("{CAN_MEET}: follow the maker's order."),
        Err(NoOrder::MayMeet) => {
            "Valves and piston may already meet (above): move nothing by this list before you have the maker's order.".to_owned()
        }
        Err(NoOrder::NotFound) => format!(
            "{CAN_MEET}. No order was found that keeps every valve {} from its piston, by the spec's figures: move nothing by this list, follow the maker's order.",
            about(TOO_CLOSE_MM)
        ),
        Err(NoOrder::NotKnown(missing)) => format!(
            "{CAN_MEET}. A safe order is not known for this engine: follow the maker's order ({}).",
            missing_words(drive, missing)
        ),
    }
}

/// How one word says whether there is an order.
pub(crate) fn order_word(order: &Result<Order, NoOrder>) -> &'static str {
    match order {
        Ok(_) => "known",
        Err(NoOrder::NothingToMove) => "nothing to move",
        Err(NoOrder::NotKnown(_)) => "not known",
        Err(NoOrder::MayMeet) => "may meet already",
        Err(NoOrder::NotFound) => "none found",
    }
}

fn missing_words(drive: &Drive, missing: &[Missing]) -> String {
    /// More would not be read.
    const SHOWN: usize = 3;
    if drive.valves().is_empty()
        && !missing
            .iter()
            .any(|one| matches!(one, Missing::HeldTwice(_)))
    {
        return "the spec has no 'valves:'".to_owned();
    }
    let mut words: Vec<String> = missing
        .iter()
        .take(SHOWN)
        .map(|one| missing_text(drive, *one))
        .collect();
    if missing.len() > SHOWN {
        words.push("and more".to_owned());
    }
    words.join("; ")
}

/// What is missing, in words.
pub(crate) fn missing_text(drive: &Drive, missing: Missing) -> String {
    let shaft = |id: ShaftId| drive.shaft(id).name();
    match missing {
        Missing::Valves(id) => format!("the spec gives no valves of {}", shaft(id)),
        Missing::Clearance { valves, why } => format!(
            "the spec gives valves '{}' no {}",
            drive.valves().get(valves).map_or("", |entry| &entry.name),
            why.missing()
        ),
        Missing::Cylinder { cylinder, kind } => {
            format!(
                "the spec gives cylinder {cylinder} no {} valves",
                kind.word()
            )
        }
        Missing::Position(id) => format!("where {} stands was not seen", shaft(id)),
        Missing::HeldTwice(id) => format!("{} is held by two {}", shaft(id), Band::all(drive).many),
    }
}

/// `4.1 mm`: rounded down, for what is promised.
pub(crate) fn about(mm: f64) -> String {
    let tenths = (mm * 10.0).floor() / 10.0;
    format!("{} mm", if tenths == 0.0 { 0.0 } else { tenths })
}

/// `intake, cylinder 4`.
pub(crate) fn where_closest(drive: &Drive, closest: &Closest) -> String {
    let name = drive
        .valves()
        .get(closest.valves)
        .map_or("", |entry| &entry.name);
    format!("{name}, cylinder {}", closest.cylinder)
}

fn names<'a>(all: impl Iterator<Item = &'a str>) -> String {
    all.collect::<Vec<_>>().join(", ")
}

fn order_words(drive: &Drive, check: &Check, order: &Order, view: View) -> OrderWords {
    let mut before = Vec::new();
    if !check.crank().seen {
        before.push(
            "First look at the crankshaft's dot against its mark on the engine: it was not looked at, and this holds only where the crankshaft was taken to stand.".to_owned(),
        );
    }
    if let Ok(pistons) = pistons_now(drive, check) {
        before.push(format!(
            "It takes {pistons} as it stands, and every phaser to be parked. Where that is not so, it does not hold."
        ));
    }
    if !order.hold.is_empty() {
        before.push(format!(
            "Valves are open, and their springs can turn the camshaft by itself as soon as no {} holds it. First hold, and keep holding: {}.",
            Band::all(drive).name,
            names(order.hold.iter().map(|id| drive.shaft(*id).name()))
        ));
    }
    let mut steps = Vec::new();
    if !order.chains_off.is_empty() {
        let chains = names(order.chains_off.iter().map(|id| drive.chain(*id).name()));
        let word = match &order.chains_off[..] {
            [one] => Band::of(drive.chain(*one)).name,
            _ => Band::all(drive).many,
        };
        steps.push(format!(
            "Take {word} {chains} off the crankshaft, so that it turns alone. Only then may it be turned back."
        ));
    }
    let turned = order
        .steps
        .iter()
        .any(|step| matches!(step, SafeStep::Crank { .. }));
    if !turned {
        steps.push("Leave the crankshaft where it is.".to_owned());
    }
    steps.extend(
        order
            .steps
            .iter()
            .map(|step| step_text(drive, check, step, view)),
    );
    if turned {
        steps.push(format!(
            "Lay every {} that is off on again, as told above.",
            Band::all(drive).name
        ));
    }
    let mut after = Vec::new();
    if let Some(closest) = order.closest {
        after.push(format!(
            "Closest on the way: {} or more ({}), even if a camshaft runs {} of its own degrees too far. Under {} would be too close to call.",
            about(closest.mm),
            where_closest(drive, &closest),
            half(OVERRUN),
            about(TOO_CLOSE_MM),
        ));
    }
    if !order.crank_not_known.is_empty() {
        after.push(format!(
            "With the crankshaft turned back first there may be more room; that is not known ({}).",
            missing_words(drive, &order.crank_not_known)
        ));
    }
    after.push(
        "Stop at any resistance. Whether intake and exhaust valves meet each other is not calculated.".to_owned(),
    );
    OrderWords {
        before,
        steps,
        after,
    }
}

/// Crank degrees as those of a camshaft.
fn half(angle: CrankDegrees) -> String {
    angle
        .get()
        .checked_div(Exact::whole(2))
        .map_or_else(|_| String::new(), numbers::exact)
}

/// `cylinders 1, 4 to be at TDC`: what somebody can look at before anything is moved.
fn pistons_now(drive: &Drive, check: &Check) -> Result<String, OutOfRange> {
    let now = check.crank().past_timed.to_crank_degrees()?;
    let all = drive.cylinders().ok_or(OutOfRange)?;
    let mut after = Vec::new();
    for (offset, number) in all.offsets.iter().zip(1_usize..) {
        let past = now.checked_sub(*offset)?.get();
        after.push((number, past.nearest_modulo(Exact::whole(360))?));
    }
    let top: Vec<String> = after
        .iter()
        .filter(|(_, past)| past.is_zero())
        .map(|(number, _)| number.to_string())
        .collect();
    Ok(match (&top[..], after.first()) {
        ([], Some((number, past))) => format!(
            "the piston of cylinder {number} to be {} {} TDC",
            numbers::crank_degrees(CrankDegrees::new(past.abs())),
            if past.signum() < 0 { "before" } else { "after" }
        ),
        ([one], _) => format!("the piston of cylinder {one} to be at TDC"),
        _ => format!("the pistons of cylinders {} to be at TDC", top.join(", ")),
    })
}

/// Which way, with from where it is seen unless that is facing the timing end, as everything is by itself.
fn way_seen(view: View, turning: Rotation) -> String {
    match view.from() {
        Viewpoint::Facing => way_word(view, turning).to_owned(),
        _ => turning_words(view, turning),
    }
}

/// One step in words.
pub(crate) fn step_text(drive: &Drive, check: &Check, step: &SafeStep, view: View) -> String {
    match step {
        SafeStep::Crank { by, to, .. } => {
            let ahead = by.get().signum() > 0;
            let way = if ahead {
                drive.crank_turns()
            } else {
                drive.crank_turns().reversed()
            };
            let side = if ahead { "ahead" } else { "back" };
            let end = if to.is_zero() {
                ", to where it stood".to_owned()
            } else {
                let near = |by: CrankDegrees| {
                    to.abs()
                        .checked_add(by)
                        .map_or_else(|_| String::new(), |at| numbers::exact(at.get()))
                };
                format!(
                    "; from {} to {} degrees {} of where it stood will do",
                    near(PARKED_WITHIN.negated()),
                    near(PARKED_WITHIN),
                    if to.get().signum() > 0 {
                        "ahead"
                    } else {
                        "back"
                    }
                )
            };
            format!(
                "Turn the crankshaft {side} {} ({}){end}.",
                numbers::crank_degrees(*by),
                way_seen(view, way)
            )
        }
        SafeStep::Remedy {
            index,
            teeth,
            turn,
            anywhere,
            ..
        } => {
            let Some(remedy) = check.remedies().get(*index) else {
                return String::new();
            };
            let name = name_of(drive, remedy.at);
            let free = if *anywhere {
                " No place on its turn brings a valve too near here."
            } else {
                ""
            };
            if remedy.what == Move::Chain {
                return format!(
                    "{name}: lay {} {} over, as told above.{free}",
                    Band::of(drive.chain(remedy.at.chain)).name,
                    drive.chain(remedy.at.chain).name()
                );
            }
            let round = if *turn == remedy.turn {
                ""
            } else {
                ", the other way round than told above"
            };
            format!(
                "{name}: {}, turn the sprocket {} {}{round}.{free}",
                Band::of(drive.chain(remedy.at.chain)).lifted,
                numbers::teeth(*teeth),
                way_seen(view, *turn)
            )
        }
    }
}
