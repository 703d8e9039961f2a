//! What slips do: to the shafts, to the valves, and to whether these meet their piston.

use super::figure;
use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::render::words::marks::kind_word;
use crate::render::words::numbers;
use crate::render::words::slip::{degrees, meeting_of, rows_of, standing};
use crate::units::quantity::{CrankDegrees, OutOfRange, Teeth};
use crate::valves::slip::{SlipError, Slips};
use crate::valves::timing::{Timing, timing};
use serde_json::{Value, json};

/// What `slips` do, in the words of the page: the verdict (`timing`, `meeting`), each shaft's error, each valve's
/// events before and after, and how the valve figures stand.
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
    let (mut shafts, mut off, mut timed) = (Vec::new(), Vec::new(), Vec::new());
    for (id, shaft) in drive.shafts() {
        let Some(at) = shaft.driven_at() else {
            continue;
        };
        let error = errors
            .get(id.index())
            .copied()
            .unwrap_or(CrankDegrees::ZERO);
        let words = standing_words(drive, id, error)?;
        if drive.is_timed(id) {
            timed.push(shaft.name());
            if !error.is_zero() {
                off.push(format!("{} {words}", shaft.name()));
            }
        }
        let kind = kind_word(shaft.kind());
        shafts.push(json!({
            "name": shaft.name(),
            "title": if kind == shaft.name() { kind.to_owned() } else { format!("{} ({kind})", shaft.name()) },
            "off": !error.is_zero(),
            "off_teeth": drive.chain(at.chain).teeth_in(error)?,
            "off_crank_degrees": error,
            "words": words,
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
        "timing": if off.is_empty() {
            format!("In time: {}.", timed.join(", "))
        } else {
            format!("OUT OF TIME: {}.", off.join("; "))
        },
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
