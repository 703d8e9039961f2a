//! The pictures of the valve side: for every pair the circular diagram and the lift over the cycle, in
//! time and after. What moves has a name, and the tables say by how much.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use super::state::{States, event_words};
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::draw::escaped;
use crate::render::plot::short;
use crate::spec::valves::ValveKind;
use crate::units::quantity::OutOfRange;
use crate::valves::clearance::PistonAndValve;
use crate::valves::piston::SliderCrank;
use crate::valves::slip::SlipError;
use crate::valves::timing::timing;
use serde_json::{Value, json};
use std::fmt::Write as _;

pub(super) struct Figures {
    pub(super) svg: String,
    /// For each entry of valves and each state of its shaft: how its parts move.
    pub(super) data: Value,
    pub(super) missing: Vec<String>,
}

/// The lift panel: 720 crank degrees from the firing TDC on.
const LEFT: f64 = 62.0;
const WIDE: f64 = 520.0;
const TOP: f64 = 8.0;
const HIGH: f64 = 200.0;

fn across(degrees: f64) -> f64 {
    LEFT + degrees / 720.0 * WIDE
}

/// Two decimals.
fn at(value: f64) -> String {
    crate::render::words::numbers::decimal(value, 2)
}

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut words = String::new();
    for (i, (x, y)) in points.enumerate() {
        // Writing to a String cannot fail.
        let _ = write!(
            words,
            "{}{} {}",
            if i == 0 { "M" } else { "L" },
            at(x),
            at(y)
        );
    }
    words
}

pub(super) fn figures(drive: &Drive, states: &States) -> Result<Figures, SlipError> {
    let zero = timing(drive, &[])?;
    let mut figures = Figures {
        svg: String::new(),
        data: Value::Null,
        missing: Vec::new(),
    };
    let mut scales = vec![None; drive.valves().len()];
    for (number, pair) in zero.pairs.iter().enumerate() {
        let both = [pair.intake, pair.exhaust].map(|i| &drive.valves()[i]);
        let name = format!("{} and {}", both[1].name, both[0].name);
        let out = &mut figures.svg;
        // Writing to a String cannot fail.
        let _ = circle(out, drive, [pair.intake, pair.exhaust], number, &name);
        match lift(out, drive, [pair.intake, pair.exhaust], number, &name) {
            Ok(scale) => {
                for valve in [pair.intake, pair.exhaust] {
                    scales[valve] = Some(scale);
                }
            }
            Err(why) => figures.missing.push(why),
        }
    }
    if zero.pairs.is_empty() && !drive.valves().is_empty() {
        figures.missing.push("The pictures of the valves: they take an intake and an exhaust on the same cylinders under 'valves:'.".to_owned());
    }
    let data: Result<Vec<Value>, OutOfRange> = drive
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
                        "dx": -shift / 720.0 * WIDE,
                        "turn": -shift,
                        "contact": meets.zip(*scale).map(|(least, scale)| {
                            [across(least.at), floor() - least.lift_mm / scale * HIGH]
                        }),
                        "opens": event_words(timing.opens, valves.opens_near()),
                        "closes": event_words(timing.closes, valves.closes_near()),
                    })
                })
                .collect();
            Ok(json!(rows))
        })
        .collect();
    figures.data = json!(data?);
    Ok(figures)
}

fn floor() -> f64 {
    TOP + HIGH
}

fn class(valves: &Valves) -> &'static str {
    match valves.kind {
        ValveKind::Intake => "intake",
        ValveKind::Exhaust => "exhaust",
    }
}

/// Gives how many mm of lift the panel is high.
fn lift(
    out: &mut String,
    drive: &Drive,
    both: [usize; 2],
    number: usize,
    name: &str,
) -> Result<f64, String> {
    let mut curves = Vec::new();
    for valve in both {
        let valves = &drive.valves()[valve];
        let curve = valves.curve().ok_or_else(|| {
            format!(
                "Valve lift over the cycle: the spec does not give 'lift' or 'lift_table' for {}.",
                valves.name
            )
        })?;
        curves.push((valve, valves, curve));
    }
    let most = curves
        .iter()
        .map(|(_, _, (c, _))| c.most())
        .fold(0.0, f64::max);
    // Room above the lobes for their names.
    let scale = (most * 1.25).ceil().max(1.0);
    let y = |lift: f64| floor() - lift / scale * HIGH;
    let piston = drive
        .cylinders()
        .and_then(|c| SliderCrank::new(c.stroke.to_f64(), c.rod.to_f64()));
    let below = floor() + 34.0;
    let high = if piston.is_some() {
        below + 74.0
    } else {
        below
    };
    let _ = write!(
        out,
        "<figure><figcaption>Lift and piston, {name} (estimate)</figcaption>\
         <svg class=\"plot\" viewBox=\"0 0 604 {}\" role=\"img\" aria-label=\"Lift of {name} over 720 crank degrees, in time and after the slip\">\
         <clipPath id=\"panel{number}\"><rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{WIDE}\" height=\"{HIGH}\"/></clipPath>",
        at(high + 26.0),
        name = escaped(name),
    );
    for degrees in [180.0, 360.0, 540.0] {
        let x = at(across(degrees));
        let _ = write!(out, "<path class=\"grid\" d=\"M{x} {TOP}V{}\"/>", at(high));
    }
    let step = if scale > 16.0 { 5.0 } else { 2.0 };
    let mut tick = 0.0;
    while tick < scale {
        let unit = if tick + step >= scale { " mm" } else { "" };
        let _ = write!(
            out,
            "<text class=\"end\" x=\"{}\" y=\"{}\">{tick:.0}{unit}</text>",
            at(LEFT - 5.0),
            at(y(tick) + 5.0)
        );
        tick += step;
    }
    let _ = write!(
        out,
        "<rect class=\"panel\" x=\"{LEFT}\" y=\"{TOP}\" width=\"{WIDE}\" height=\"{HIGH}\"/><g clip-path=\"url(#panel{number})\">"
    );
    for (valve, valves, (curve, zero)) in &curves {
        let lift = |place: f64| {
            let from = curve.start();
            curve.at(from + (place - zero - from).rem_euclid(720.0))
        };
        // Where nothing lifts no point is needed but the ends.
        let points: Vec<(f64, f64)> = (0..=360_u16)
            .map(|half| f64::from(half) * 2.0)
            .filter(|place| {
                *place == 0.0
                    || *place == 720.0
                    || [-2.0, 0.0, 2.0].iter().any(|by| lift(place + by) > 0.0)
            })
            .map(|place| (across(place), y(lift(place))))
            .collect();
        let curve_words = path(points.iter().copied());
        let kind = class(valves);
        let _ = write!(
            out,
            "<path class=\"curve {kind}\" id=\"curve{number}-{valve}\" d=\"{curve_words}\"/>\
             <g class=\"after {kind}\" data-lift=\"{valve}\">"
        );
        for round in [-WIDE, 0.0, WIDE] {
            let _ = write!(
                out,
                "<path class=\"curve\" d=\"{curve_words}\" transform=\"translate({})\"/>",
                at(round)
            );
        }
        out.push_str("</g>");
        if let Ok(touch) = PistonAndValve::of(drive, *valve) {
            let mut run = Vec::new();
            for place in (0..=360_u16).map(|half| f64::from(half) * 2.0) {
                let free = touch.clearance(place, 0.0) + touch.lift(place, 0.0);
                if (0.0..=scale).contains(&free) {
                    run.push((across(place), y(free)));
                } else if !run.is_empty() {
                    let _ = write!(
                        out,
                        "<path class=\"touch {kind}\" d=\"{}\"/>",
                        path(run.drain(..))
                    );
                }
            }
            if run.len() > 1 {
                let _ = write!(
                    out,
                    "<path class=\"touch {kind}\" d=\"{}\"/>",
                    path(run.drain(..))
                );
            }
        }
    }
    out.push_str("</g>");
    for (valve, valves, (curve, zero)) in &curves {
        let _ = write!(
            out,
            "<text class=\"middle {}\" x=\"{}\" y=\"{}\">{}</text>\
             <g class=\"contact\" data-contact=\"{valve}\"><circle r=\"8\"/><path d=\"M-5 -5L5 5M-5 5L5 -5\"/><text class=\"middle\" y=\"-14\">meets piston</text></g>",
            class(valves),
            at(across((zero + curve.top()).rem_euclid(720.0))),
            at(TOP + 18.0),
            escaped(&short(&valves.name, 18))
        );
    }
    let words = floor() + 20.0;
    if let Some(crank) = piston {
        let y = |down: f64| below + down / crank.stroke() * 64.0;
        let _ = write!(
            out,
            "<path class=\"piston\" d=\"{}\"/><text class=\"middle\" x=\"{}\" y=\"{}\">piston</text>",
            path((0..=144_u16).map(|step| {
                let place = f64::from(step) * 5.0;
                (across(place), y(crank.travel(place)))
            })),
            at(across(180.0)),
            at(below + 40.0)
        );
    }
    for (degrees, dead_centre) in [
        (0.0, "TDC"),
        (180.0, "BDC"),
        (360.0, "TDC"),
        (540.0, "BDC"),
        (720.0, "TDC"),
    ] {
        let x = at(across(degrees));
        let _ = write!(
            out,
            "<text class=\"middle halo\" x=\"{x}\" y=\"{}\">{dead_centre}</text>",
            at(words)
        );
    }
    for (degrees, stroke) in [
        (90.0, "power"),
        (270.0, "exhaust"),
        (450.0, "intake"),
        (630.0, "compression"),
    ] {
        let x = at(across(degrees));
        let _ = write!(
            out,
            "<text class=\"middle stroke\" x=\"{x}\" y=\"{}\">{stroke}</text>",
            at(high + 20.0)
        );
    }
    out.push_str(
        "</svg><ul class=\"key\"><li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><path class=\"curve\" d=\"M0 4H28\"/></svg>in time</li>\
         <li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><g class=\"after\"><path class=\"curve\" d=\"M0 4H28\"/></g></svg>after the slip</li>\
         <li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><path class=\"touch\" d=\"M0 4H28\"/></svg>here the valve would touch the piston</li></ul></figure>",
    );
    Ok(scale)
}

const RADIUS: [f64; 2] = [104.0, 80.0];

/// From the middle of the diagram: clockwise from TDC.
fn on(radius: f64, clockwise: f64) -> (f64, f64) {
    let (sin, cos) = clockwise.to_radians().sin_cos();
    (radius * sin, -radius * cos)
}

fn arc(radius: f64, from: f64, length: f64) -> String {
    let steps = 90_u16;
    path((0..=steps).map(|i| on(radius, from + length * f64::from(i) / f64::from(steps))))
}

fn circle(
    out: &mut String,
    drive: &Drive,
    both: [usize; 2],
    number: usize,
    name: &str,
) -> std::fmt::Result {
    write!(
        out,
        "<figure><figcaption>Valve timing of {name}</figcaption>\
         <svg class=\"plot\" viewBox=\"-190 -158 380 316\" role=\"img\" aria-label=\"Valve timing diagram of {name}: TDC at the top, BDC at the bottom, the crankshaft turning clockwise\">\
         <path class=\"grid\" d=\"M0 -126V126M-126 0H126\"/><text class=\"middle\" y=\"-142\">TDC</text><text class=\"middle\" y=\"154\">BDC</text>",
        name = escaped(name)
    )?;
    for ((valve, radius), side) in both.into_iter().zip(RADIUS).zip([1.0, -1.0]) {
        let valves = &drive.valves()[valve];
        let length = valves
            .closes
            .on_from(valves.opens)
            .map_or(0.0, |d| d.get().to_f64());
        let from = valves.opens.get().to_f64();
        let kind = class(valves);
        write!(
            out,
            "<path class=\"was {kind}\" data-was=\"{valve}\" d=\"{}\"/><g class=\"open {kind}\" data-turn=\"{valve}\"><path class=\"ring-arc\" d=\"{}\"/>",
            arc(radius - side * 9.0, from, length),
            arc(radius, from, length)
        )?;
        let letter = if valves.kind == ValveKind::Intake {
            "I"
        } else {
            "E"
        };
        for (what, clockwise) in [("O", from), ("C", from + length)] {
            let (inner, outer) = (on(radius - 7.0, clockwise), on(radius + 7.0, clockwise));
            // The words stay upright: the page turns them back about their own place.
            let (wx, wy) = on(radius + side * 22.0, clockwise);
            write!(
                out,
                "<path class=\"event\" d=\"M{} {}L{} {}\"/><g transform=\"translate({} {})\"><text class=\"middle upright\" dy=\".36em\">{letter}{what}</text></g>",
                at(inner.0),
                at(inner.1),
                at(outer.0),
                at(outer.1),
                at(wx),
                at(wy)
            )?;
        }
        out.push_str("</g>");
    }
    write!(
        out,
        "<text class=\"middle\" y=\"-14\" data-overlap=\"{number}\"></text><text class=\"middle\" y=\"6\" data-separation=\"{number}\"></text></svg>\
         <p class=\"small\">IO, IC: intake <span data-opens=\"{0}\"></span> opens, <span data-closes=\"{0}\"></span> closes. \
         EO, EC: exhaust <span data-opens=\"{1}\"></span> opens, <span data-closes=\"{1}\"></span> closes. Thick: open; thin dashed: where it was open in time.</p></figure>",
        both[0], both[1]
    )
}
