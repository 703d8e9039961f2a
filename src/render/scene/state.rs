//! What slips do: to the shafts, to the valves, and to whether these meet their piston.

use super::figure;
use super::still::MOST_TEETH;
use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::render::words::marks::kind_word;
use crate::render::words::numbers;
use crate::render::words::slip::{degrees, meeting_of, rows_of, standing};
use crate::units::quantity::{CrankDegrees, OutOfRange, Teeth};
use crate::valves::clearance::TOO_CLOSE_MM;
use crate::valves::slip::{Contact, SlipError, Slips};
use crate::valves::timing::{Timing, ValveTiming, timing};
use serde_json::{Value, json};

/// What `slips` do, in the words of the page: the verdict on how the chains are hung (`timing`), phasers and wear
/// (`besides`), whether valves and piston meet (`meeting`, and as a word `contact`), each shaft's error and its `row` in
/// the table tooth by tooth, each valve's events before and after, and how the valve figures stand.
///
/// # Errors
/// [`SlipError`] if a slip is of another drive. Slips that cannot be together are told in `cannot_be`.
pub fn slipped_json(drive: &Drive, slips: &Slips) -> Result<Value, SlipError> {
    let errors = match slips.errors(drive) {
        Ok(errors) => errors,
        Err(SlipError::LoopBroken { .. }) => {
            return Ok(json!({
                "cannot_be": "That cannot be: two chains hold a shaft between them, and this would have each put it elsewhere. Slip both alike.",
            }));
        }
        Err(error) => return Err(error),
    };
    // A phaser is moved on purpose, and wear is no mistake in hanging: neither is what the verdict is about.
    let hung = slips.hung().errors(drive)?;
    let of = |all: &[CrankDegrees], id: ShaftId| {
        let error = all.get(id.index()).copied();
        error.unwrap_or(CrankDegrees::ZERO)
    };
    let (mut shafts, mut off, mut timed, mut besides) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (id, shaft) in drive.shafts() {
        let Some(at) = shaft.driven_at() else {
            continue;
        };
        let (error, wrong) = (of(&errors, id), of(&hung, id));
        let chain = drive.chain(at.chain);
        if drive.is_timed(id) {
            timed.push(shaft.name());
            if !wrong.is_zero() {
                off.push(format!(
                    "{} {}",
                    shaft.name(),
                    standing_words(drive, id, wrong)?
                ));
            }
        }
        besides.extend(beside_words(drive, slips, id));
        let kind = kind_word(shaft.kind());
        let teeth = chain.teeth_in(error)?;
        shafts.push(json!({
            "name": shaft.name(),
            "title": if kind == shaft.name() { kind.to_owned() } else { format!("{} ({kind})", shaft.name()) },
            "off": !error.is_zero(),
            "off_teeth": teeth,
            "off_crank_degrees": error,
            "words": if wrong == error { standing_words(drive, id, error)? } else { in_degrees(shaft.turn()?, error) },
            "row": sweep_row(teeth),
        }));
    }
    let valves = drive.valves();
    let (before, after) = (timing(drive, &[])?, timing(drive, &errors)?);
    let rows: Vec<Value> = valves
        .iter()
        .zip(before.valves.iter().zip(&after.valves))
        .map(|(valves, (before, after))| json!(rows_of(valves, before, after)))
        .collect();
    Ok(json!({
        "cannot_be": null,
        "off": !off.is_empty(),
        "timing": if !off.is_empty() {
            format!("OUT OF TIME: {}.", off.join("; "))
        } else if slips.elongation().is_some() {
            // "In time" would be too much to say of worn chains.
            format!("Hung right: {}.", timed.join(", "))
        } else {
            format!("In time: {}.", timed.join(", "))
        },
        "besides": besides,
        "contact": contact_of(&after),
        "meeting": if valves.is_empty() {
            "Nothing is said about valves: the spec does not give them.".to_owned()
        } else {
            meeting_of(drive, &after)
        },
        "slips": drive.engagements().map(|(at, _)| slip_words(slips.of(at))).collect::<Vec<_>>(),
        "shafts": shafts,
        "valves": rows,
        "pairs": pairs(&before, &after),
        "figures": figure::moved(drive, &after),
    }))
}

/// Overlap and separation of each pair, before and after.
fn pairs(before: &Timing, after: &Timing) -> Vec<[[String; 2]; 2]> {
    let pairs = before.pairs.iter().zip(&after.pairs);
    pairs
        .map(|(before, after)| {
            [
                [degrees(before.overlap), degrees(after.overlap)],
                [
                    numbers::exact(before.separation),
                    numbers::exact(after.separation),
                ],
            ]
        })
        .collect()
}

/// `on`, `1 tooth behind`.
fn slip_words(teeth: Teeth) -> String {
    if teeth.is_zero() {
        return "on".to_owned();
    }
    format!("{} {}", numbers::teeth(teeth), numbers::side(teeth.get()))
}

/// Where the phaser of a shaft stands, and how late wear makes it, if they do.
fn beside_words(drive: &Drive, slips: &Slips, id: ShaftId) -> Vec<String> {
    let mut words = Vec::new();
    let name = drive.shaft(id).name();
    if let Some((_, moved)) = slips.phasers().iter().find(|(other, _)| *other == id)
        && !moved.is_zero()
    {
        words.push(format!(
            "Phaser of {name}: {} {} where it parks, on purpose.",
            numbers::crank_degrees(*moved),
            if moved.get().signum() < 0 {
                "behind"
            } else {
                "ahead of"
            }
        ));
    }
    let late = slips.late(id);
    if !late.is_zero() {
        words.push(format!(
            "Wear holds {name} {} behind (an estimate).",
            numbers::crank_degrees(late)
        ));
    }
    words
}

fn in_degrees(turn: CrankDegrees, error: CrankDegrees) -> String {
    standing(error, turn, numbers::crank_degrees)
}

/// The row of the table tooth by tooth in which a shaft stands that is off by so many teeth; its titles are row 0.
fn sweep_row(teeth: Teeth) -> Option<i128> {
    let row = teeth.get().floor() + i128::from(MOST_TEETH) + 1;
    let rows = 1..=2 * i128::from(MOST_TEETH) + 1;
    (teeth.get().is_whole() && rows.contains(&row)).then_some(row)
}

/// `clear`, `close`, `meet` or `unknown`: what a colour on the page means, and nothing else.
fn contact_of(timing: &Timing) -> &'static str {
    let close = |valve: &ValveTiming| {
        let least = valve.clearance.as_ref();
        least.is_ok_and(|least| least.mm < TOO_CLOSE_MM)
    };
    match timing.contact() {
        _ if timing.valves.is_empty() => "unknown",
        Contact::Meet => "meet",
        Contact::Clear if timing.valves.iter().any(close) => "close",
        Contact::Clear => "clear",
        Contact::NotKnown => "unknown",
    }
}

fn standing_words(drive: &Drive, id: ShaftId, error: CrankDegrees) -> Result<String, OutOfRange> {
    let shaft = drive.shaft(id);
    let size = |off: CrankDegrees| {
        let at = shaft.driven_at();
        let teeth = at.and_then(|at| drive.chain(at.chain).teeth_in(off).ok());
        let teeth = numbers::teeth(teeth.unwrap_or(Teeth::ZERO));
        format!("{teeth}, {}", numbers::crank_degrees(off))
    };
    Ok(if drive.is_timed(id) {
        standing(error, shaft.turn()?, size)
    } else if error.is_zero() {
        "in its place".to_owned()
    } else {
        format!("{} {}", size(error), numbers::side(error.get()))
    })
}
