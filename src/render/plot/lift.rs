//! Valve lift, and the piston, over one cycle.

use super::{Paper, PlotError, colour, curve_of, moved_words, pairs_to_draw, rounded, short};
use crate::drive::model::Drive;
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
    // Room above the lobes for their names.
    let scale = (most * 1.22).ceil().max(1.0);
    let (floor, ceiling) = (top + 20.0 + LIFT_HEIGHT, top + 20.0);
    let y = |lift: f64| floor - lift / scale * LIFT_HEIGHT;

    frame(paper, ceiling, floor);
    let step = if scale > 40.0 {
        10.0
    } else if scale > 16.0 {
        4.0
    } else {
        2.0
    };
    let mut tick = 0.0;
    while tick <= scale {
        paper.line((LEFT - 4.0, y(tick)), (LEFT, y(tick)), "stroke=\"#111\"");
        // The unit stands with the highest number, where nothing can run through it.
        let unit = if tick + step > scale { " mm" } else { "" };
        paper.text(
            LEFT - 8.0,
            y(tick) + 5.0,
            "end",
            13,
            &format!("{}{unit}", rounded(tick)),
        );
        tick += step;
    }

    for (i, (lobe, zero)) in valves.iter().zip(&curves) {
        let kind = drive.valves()[*i].kind;
        let shift = outcome.after.valves[*i].shift.get().to_f64();
        let lift = |place: f64, shift: f64| {
            let from = lobe.start();
            lobe.at(from + (place + shift - zero - from).rem_euclid(720.0))
        };
        let at = |shift: f64| {
            (0..=720_u16).map(move |degree| {
                let place = f64::from(degree);
                (x(place), y(lift(place, shift)))
            })
        };
        let stroke = colour(kind);
        paper.path(
            at(0.0),
            &format!("stroke=\"{stroke}\" stroke-width=\"2.6\""),
        );
        if shift != 0.0 {
            paper.path(
                at(shift),
                &format!("stroke=\"{stroke}\" stroke-width=\"2.6\" stroke-dasharray=\"9 5\""),
            );
        }
        if let Ok(touch) = PistonAndValve::of(drive, *i)
            && (shift != 0.0 || outcome.after.valves.iter().all(|v| v.shift.is_zero()))
        {
            touching(paper, &touch, scale, &y);
        }
        let peak = (zero + lobe.top()).rem_euclid(720.0);
        paper.text(
            x(peak) - shift / 720.0 * (RIGHT - LEFT) / 2.0,
            y(lobe.most()) - 9.0,
            "middle",
            14,
            &short(&drive.valves()[*i].name, 24),
        );
    }
    for i in valves {
        if let Ok(least) = &outcome.after.valves[i].clearance
            && least.meet()
        {
            let (cx, cy) = (x(least.at), y(least.lift_mm));
            paper.put(&format!(
                r##"<circle cx="{cx:.1}" cy="{cy:.1}" r="6" fill="white" stroke="#111" stroke-width="2.5"/>"##
            ));
            let (anchor, side) = if least.at < 360.0 {
                ("end", -12.0)
            } else {
                ("start", 12.0)
            };
            paper.text(cx + side, floor - 12.0, anchor, 14, "meet piston");
            paper.line(
                (cx, cy + 6.0),
                (cx, floor),
                "stroke=\"#111\" stroke-dasharray=\"2 3\"",
            );
        }
    }
    let mut below = floor + 18.0;
    if let Some(crank) = drive
        .cylinders()
        .and_then(|c| SliderCrank::new(c.stroke.to_f64(), c.rod.to_f64()))
    {
        let top = below + 4.0;
        frame(paper, top, top + PISTON_HEIGHT);
        let y = |down: f64| top + 6.0 + down / crank.stroke() * (PISTON_HEIGHT - 12.0);
        paper.path(
            (0..=720_u16).map(|degree| {
                let place = f64::from(degree);
                (x(place), y(crank.travel(place)))
            }),
            "stroke=\"#111\" stroke-width=\"2\"",
        );
        paper.text(LEFT - 8.0, y(0.0) + 9.0, "end", 13, "0");
        paper.text(
            LEFT - 8.0,
            y(crank.stroke()) + 3.0,
            "end",
            13,
            &rounded(crank.stroke()),
        );
        paper.text(x(180.0), top + 20.0, "middle", 13, "piston below TDC, mm");
        below = top + PISTON_HEIGHT + 18.0;
    }
    for (degrees, words) in [
        (0.0, "TDC"),
        (180.0, "BDC"),
        (360.0, "TDC"),
        (540.0, "BDC"),
        (720.0, "TDC"),
    ] {
        paper.text(x(degrees), below, "middle", 13, words);
    }
    for (degrees, words) in [
        (90.0, "power"),
        (270.0, "exhaust"),
        (450.0, "intake"),
        (630.0, "compression"),
    ] {
        paper.text(x(degrees), below, "middle", 12, words);
    }
    for (dash, words) in [
        ("stroke-width=\"2.6\"", "in time"),
        (
            "stroke-width=\"2.6\" stroke-dasharray=\"9 5\"",
            "after the slip",
        ),
        (
            "stroke-width=\"2\" stroke-dasharray=\"2 4\"",
            "lift at which the valve would touch the piston",
        ),
    ] {
        below += 22.0;
        paper.line(
            (LEFT, below - 5.0),
            (LEFT + 38.0, below - 5.0),
            &format!("stroke=\"#111\" {dash}"),
        );
        paper.text(LEFT + 46.0, below, "start", 13, words);
    }
    Ok(below + 30.0)
}

/// The lift at which a valve would touch the piston, where that is within the panel.
fn touching(paper: &mut Paper, both: &PistonAndValve, scale: f64, y: &dyn Fn(f64) -> f64) {
    let mut run: Vec<(f64, f64)> = Vec::new();
    for degree in 0..=720_u16 {
        let place = f64::from(degree);
        let most = both.clearance(place, 0.0) + both.lift(place, 0.0);
        if (0.0..=scale).contains(&most) {
            run.push((x(place), y(most)));
        } else if !run.is_empty() {
            dotted(paper, &mut run);
        }
    }
    dotted(paper, &mut run);
}

fn dotted(paper: &mut Paper, run: &mut Vec<(f64, f64)>) {
    if run.len() > 1 {
        paper.path(
            run.iter().copied(),
            "stroke=\"#111\" stroke-width=\"2\" stroke-dasharray=\"2 4\"",
        );
    }
    run.clear();
}

/// The border of a panel, with lines at the dead centres.
fn frame(paper: &mut Paper, top: f64, bottom: f64) {
    for degrees in [180.0, 360.0, 540.0] {
        paper.line(
            (x(degrees), top),
            (x(degrees), bottom),
            "stroke=\"#999\" stroke-width=\"1\"",
        );
    }
    paper.put(&format!(
        r##"<rect x="{LEFT}" y="{top:.1}" width="{:.1}" height="{:.1}" fill="none" stroke="#111"/>"##,
        RIGHT - LEFT,
        bottom - top
    ));
}
