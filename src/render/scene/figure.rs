//! The pictures of the valve side: for every pair the circular diagram and the lift over the cycle, in
//! time and after a slip. What moves has a name, and the state says by how much.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use super::{circle, lift};
use crate::drive::model::Drive;
use crate::render::svg::Svg;
use crate::render::words::slip as slip_words;
use crate::units::quantity::{CyclePlace, OutOfRange};
use crate::valves::timing::{Timing, timing};
use serde_json::{Value, json};

/// A hundredth of what the figures are reckoned in.
const DECIMALS: usize = 2;

/// The figures of every pair.
pub(super) fn figures(drive: &Drive) -> Result<Svg, OutOfRange> {
    let zero = timing(drive, &[])?;
    let mut svg = Svg::new(DECIMALS);
    for (number, pair) in zero.pairs.iter().enumerate() {
        let indices = [pair.intake, pair.exhaust];
        let [intake, exhaust] = indices.map(|i| &drive.valves()[i]);
        let name = format!("{} and {}", exhaust.name, intake.name);
        circle::write(&mut svg, drive, indices, number, &name);
        lift::write(&mut svg, drive, indices, number, &name);
    }
    Ok(svg)
}

/// What of the figures the spec does not suffice for.
pub(super) fn missing(drive: &Drive, zero: &Timing) -> Vec<String> {
    if zero.pairs.is_empty() && !drive.valves().is_empty() {
        return vec!["The pictures of the valves: they take an intake and an exhaust on the same cylinders under 'valves:'.".to_owned()];
    }
    zero.pairs
        .iter()
        .filter_map(|pair| lift::possible(drive, [pair.intake, pair.exhaust]).err())
        .collect()
}

/// For each entry of valves how its parts stand in the figures after a slip.
pub(super) fn moved(drive: &Drive, after: &Timing) -> Vec<Value> {
    let scale = |valve: usize| {
        let pair = after
            .pairs
            .iter()
            .rfind(|pair| [pair.intake, pair.exhaust].contains(&valve))?;
        lift::scale(drive, [pair.intake, pair.exhaust])
    };
    let event = |place: CyclePlace, usual: CyclePlace| {
        slip_words::named_event(place, usual).unwrap_or_default()
    };
    let valves = drive.valves().iter().zip(&after.valves).enumerate();
    valves
        .map(|(i, (valves, timing))| {
            let shift = timing.shift.get().to_f64();
            let meets = timing.clearance.as_ref().ok().filter(|least| least.meet());
            json!({
                "dx": -shift / 720.0 * lift::WIDE,
                "turn": -shift,
                "contact": meets.zip(scale(i)).map(|(least, scale)| {
                    [lift::across(least.at), lift::down(least.lift_mm, scale)]
                }),
                "opens": event(timing.opens, valves.opens_near()),
                "closes": event(timing.closes, valves.closes_near()),
            })
        })
        .collect()
}
