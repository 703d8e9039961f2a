//! The pictures of the valve side: for every pair the circular diagram and the lift over the cycle, in
//! time and after. What moves has a name, and the tables say by how much.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use super::state::{States, event_words};
use super::{circle, lift};
use crate::drive::model::Drive;
use crate::render::svg::Svg;
use crate::valves::slip::SlipError;
use crate::valves::timing::timing;
use serde_json::{Value, json};

/// A hundredth of what the figures are reckoned in.
const DECIMALS: usize = 2;

/// Most pairs that are drawn. No engine has as many that differ; entries of 16 cylinders each with each other would
/// make hundreds of pictures that nobody looks through.
const MOST: usize = 24;

pub(super) struct Figures {
    pub(super) svg: Svg,
    /// For each entry of valves and each state of its shaft: how its parts move.
    pub(super) data: Value,
    pub(super) missing: Vec<String>,
}

pub(super) fn figures(drive: &Drive, states: &States) -> Result<Figures, SlipError> {
    let zero = timing(drive, &[])?;
    let mut figures = Figures {
        svg: Svg::new(DECIMALS),
        data: Value::Null,
        missing: Vec::new(),
    };
    let mut scales = vec![None; drive.valves().len()];
    for (number, pair) in zero.pairs.iter().take(MOST).enumerate() {
        let both = [pair.intake, pair.exhaust].map(|i| &drive.valves()[i]);
        let name = format!("{} and {}", both[1].name, both[0].name);
        let svg = &mut figures.svg;
        let indices = [pair.intake, pair.exhaust];
        circle::write(svg, drive, indices, number, &name);
        match lift::write(svg, drive, indices, number, &name) {
            Ok(scale) => {
                for valve in indices {
                    scales[valve] = Some(scale);
                }
            }
            Err(why) => figures.missing.push(why),
        }
    }
    if let Some(more @ 1..) = zero.pairs.len().checked_sub(MOST) {
        figures.missing.push(format!(
            "The pictures of {more} more pairs of valves: the first {MOST} are drawn, and the tables have all of them."
        ));
    }
    if zero.pairs.is_empty() && !drive.valves().is_empty() {
        figures.missing.push("The pictures of the valves: they take an intake and an exhaust on the same cylinders under 'valves:'.".to_owned());
    }
    let data: Vec<Value> = drive
        .valves()
        .iter()
        .zip(&states.valves)
        .zip(&scales)
        .map(|((valves, timings), scale)| {
            let rows: Vec<Value> = timings
                .iter()
                .map(|timing| {
                    let shift = timing.shift.get().to_f64();
                    let meets = timing.clearance.as_ref().ok().filter(|least| least.meet());
                    json!({
                        "dx": -shift / 720.0 * lift::WIDE,
                        "turn": -shift,
                        "contact": meets.zip(*scale).map(|(least, scale)| {
                            [lift::across(least.at), lift::down(least.lift_mm, scale)]
                        }),
                        "opens": event_words(timing.opens, valves.opens_near()),
                        "closes": event_words(timing.closes, valves.closes_near()),
                    })
                })
                .collect();
            json!(rows)
        })
        .collect();
    figures.data = json!(data);
    Ok(figures)
}
