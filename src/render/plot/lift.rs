//! Valve lift, and the piston, over one cycle.

use super::chosen::{moved_words, pairs_to_draw};
use super::error::PlotError;
use super::paper::{INK, Paper};
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::cycle::{DEAD_CENTRES, STROKES, touching};
use crate::render::svg::{Stroke, short, valve_ink};
use crate::render::words::numbers::decimal;
use crate::units::lift::LiftCurve;
use crate::valves::clearance::PistonAndValve;
use crate::valves::piston::SliderCrank;
use crate::valves::slip::SlipOutcome;

// Narrow, so that its letters can be read on a phone.
const WIDTH: f64 = 540.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 518.0;
const LIFT_HEIGHT: f64 = 230.0;
const PISTON_HEIGHT: f64 = 110.0;

fn x(degrees: f64) -> f64 {
    LEFT + degrees / 720.0 * (RIGHT - LEFT)
}

pub(super) fn draw(drive: &Drive, outcome: &SlipOutcome) -> Result<String, PlotError> {
    let pairs = pairs_to_draw(outcome);
    if pairs.is_empty() {
        return Err(PlotError::NoPair);
    }
    let mut paper = Paper::new(WIDTH);
    paper.text(16.0, 28.0, "start", 18, &short(drive.engine(), 50));
    paper.text(
        16.0,
        50.0,
        "start",
        14,
        "Lift and piston travel, crank degrees; estimate for teaching",
    );
    let mut top = 74.0;
    for pair in &pairs {
        top = panel(&mut paper, drive, outcome, *pair, top)?;
    }
    Ok(paper.finish(
        top,
        &format!("Valve lift of {}", drive.engine()),
        &format!(
            "Valve lift and piston travel over 720 crank degrees, in time and after the slip: {}.",
            moved_words(drive, outcome, pairs[0])
        ),
    ))
}

/// One pair of valves; gives where the next panel may begin.
fn panel(
    paper: &mut Paper,
    drive: &Drive,
    outcome: &SlipOutcome,
    pair: usize,
    top: f64,
) -> Result<f64, PlotError> {
    let both = &outcome.after.pairs[pair];
    let valves = [both.exhaust, both.intake];
    let curves = valves
        .iter()
        .map(|i| curve_of(&drive.valves()[*i]))
        .collect::<Result<Vec<(LiftCurve, f64)>, _>>()?;
    paper.text(
        16.0,
        top + 4.0,
        "start",
        14,
        &short(&moved_words(drive, outcome, pair), 68),
    );
    let most = curves.iter().map(|(c, _)| c.most()).fold(0.0, f64::max);
    let scale = Scale {
        // Room above the lobes for their names.
        most: (most * 1.22).ceil().max(1.0),
        floor: top + 20.0 + LIFT_HEIGHT,
    };
    frame(paper, top + 20.0, scale.floor);
    ticks(paper, &scale);
    for (valve, (lobe, zero)) in valves.iter().zip(&curves) {
        lift_of(paper, drive, outcome, *valve, (lobe, *zero), &scale);
    }
    for valve in valves {
        meeting(paper, outcome, valve, &scale);
    }
    let mut below = scale.floor + 18.0;
    if let Some(crank) = drive
        .cylinders()
        .and_then(|c| SliderCrank::new(c.stroke.to_f64(), c.rod.to_f64()))
    {
        below = piston(paper, &crank, below + 4.0);
    }
    for (degrees, words) in DEAD_CENTRES {
        paper.text(x(degrees), below, "middle", 13, words);
    }
    for (degrees, words) in STROKES {
        paper.text(x(degrees), below, "middle", 12, words);
    }
    Ok(key(paper, below) + 30.0)
}

/// Where lifts lie on the paper.
struct Scale {
    /// In mm, at the upper edge of the panel.
    most: f64,
    floor: f64,
}

impl Scale {
    fn y(&self, lift: f64) -> f64 {
        self.floor - lift / self.most * LIFT_HEIGHT
    }
}

fn curve_of(valves: &Valves) -> Result<(LiftCurve, f64), PlotError> {
    valves.curve().ok_or_else(|| PlotError::Lacks {
        valves: valves.name.clone(),
        missing: "'lift' or 'lift_table'",
    })
}

fn ticks(paper: &mut Paper, scale: &Scale) {
    let step = if scale.most > 40.0 {
        10.0
    } else if scale.most > 16.0 {
        4.0
    } else {
        2.0
    };
    let mut tick = 0.0;
    while tick <= scale.most {
        let y = scale.y(tick);
        paper.line((LEFT - 4.0, y), (LEFT, y), Stroke::of(INK));
        // The unit stands with the highest number, where nothing can run through it.
        let unit = if tick + step > scale.most { " mm" } else { "" };
        let words = format!("{}{unit}", decimal(tick, 1));
        paper.text(LEFT - 8.0, y + 5.0, "end", 13, &words);
        tick += step;
    }
}

/// A valve's lift in time and after the slip, and the lift at which it would touch the piston.
fn lift_of(
    paper: &mut Paper,
    drive: &Drive,
    outcome: &SlipOutcome,
    valve: usize,
    (lobe, zero): (&LiftCurve, f64),
    scale: &Scale,
) {
    let valves = &drive.valves()[valve];
    let shift = outcome.after.valves[valve].shift.get().to_f64();
    let lift = |place: f64, shift: f64| lobe.at(lobe.within_cycle(place + shift - zero));
    let at = |shift: f64| {
        (0..=720_u16).map(move |degree| {
            let place = f64::from(degree);
            (x(place), scale.y(lift(place, shift)))
        })
    };
    let stroke = Stroke::of(valve_ink(valves.kind)).wide(2.6);
    paper.path(at(0.0), stroke);
    if shift != 0.0 {
        paper.path(at(shift), stroke.dashed("9 5"));
    }
    if let Ok(touch) = PistonAndValve::of(drive, valve)
        && (shift != 0.0 || outcome.after.valves.iter().all(|v| v.shift.is_zero()))
    {
        for run in touching(&touch, scale.most, 1) {
            let points = run.into_iter().map(|(place, mm)| (x(place), scale.y(mm)));
            paper.path(points, Stroke::of(INK).wide(2.0).dashed("2 4"));
        }
    }
    let peak = (zero + lobe.top()).rem_euclid(720.0);
    paper.text(
        x(peak) - shift / 720.0 * (RIGHT - LEFT) / 2.0,
        scale.y(lobe.most()) - 9.0,
        "middle",
        14,
        &short(&valves.name, 24),
    );
}

/// Where a valve meets the piston, if it does.
fn meeting(paper: &mut Paper, outcome: &SlipOutcome, valve: usize, scale: &Scale) {
    let Ok(least) = &outcome.after.valves[valve].clearance else {
        return;
    };
    if !least.meet() {
        return;
    }
    let (cx, cy) = (x(least.at), scale.y(least.lift_mm));
    paper.disc((cx, cy), 6.0, "white", Some(Stroke::of(INK).wide(2.5)));
    let (anchor, side) = if least.at < 360.0 {
        ("end", -12.0)
    } else {
        ("start", 12.0)
    };
    paper.text(cx + side, scale.floor - 12.0, anchor, 14, "meet piston");
    paper.line(
        (cx, cy + 6.0),
        (cx, scale.floor),
        Stroke::of(INK).dashed("2 3"),
    );
}

/// The piston's travel; gives where the words below it may stand.
fn piston(paper: &mut Paper, crank: &SliderCrank, top: f64) -> f64 {
    frame(paper, top, top + PISTON_HEIGHT);
    let y = |down: f64| top + 6.0 + down / crank.stroke() * (PISTON_HEIGHT - 12.0);
    paper.path(
        (0..=720_u16).map(|degree| {
            let place = f64::from(degree);
            (x(place), y(crank.travel(place)))
        }),
        Stroke::of(INK).wide(2.0),
    );
    let stroke = crank.stroke();
    paper.text(LEFT - 8.0, y(0.0) + 9.0, "end", 13, "0");
    paper.text(LEFT - 8.0, y(stroke) + 3.0, "end", 13, &decimal(stroke, 1));
    paper.text(x(180.0), top + 20.0, "middle", 13, "piston below TDC, mm");
    top + PISTON_HEIGHT + 18.0
}

/// What the lines mean; gives where it ends.
fn key(paper: &mut Paper, mut below: f64) -> f64 {
    for (stroke, words) in [
        (Stroke::of(INK).wide(2.6), "in time"),
        (Stroke::of(INK).wide(2.6).dashed("9 5"), "after the slip"),
        (
            Stroke::of(INK).wide(2.0).dashed("2 4"),
            "lift at which the valve would touch the piston",
        ),
    ] {
        below += 22.0;
        paper.line((LEFT, below - 5.0), (LEFT + 38.0, below - 5.0), stroke);
        paper.text(LEFT + 46.0, below, "start", 13, words);
    }
    below
}

/// The border of a panel, with lines at the dead centres.
fn frame(paper: &mut Paper, top: f64, bottom: f64) {
    for degrees in [180.0, 360.0, 540.0] {
        let stroke = Stroke::of("#999").wide(1.0);
        paper.line((x(degrees), top), (x(degrees), bottom), stroke);
    }
    paper.rectangle((LEFT, top), (RIGHT, bottom), "none", Some(Stroke::of(INK)));
}
