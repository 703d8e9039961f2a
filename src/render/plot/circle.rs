//! The circular valve timing diagram: TDC at the top, BDC at the bottom, time clockwise.

use super::chosen::{moved_words, pairs_to_draw};
use super::error::PlotError;
use super::paper::Paper;
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::svg::{Stroke, short, valve_ink};
use crate::render::words::numbers::decimal;
use crate::render::words::slip;
use crate::spec::valves::ValveKind;
use crate::units::quantity::CyclePlace;
use crate::valves::slip::SlipOutcome;
use crate::valves::timing::{Timing, ValveTiming};

// Narrow, so that its letters can be read on a phone.
const WIDTH: f64 = 500.0;
const CENTRE_X: f64 = 250.0;
const INTAKE: f64 = 118.0;
const EXHAUST: f64 = 92.0;
/// One diagram with its title.
const HEIGHT: f64 = 420.0;

pub(super) fn draw(drive: &Drive, outcome: &SlipOutcome) -> Result<String, PlotError> {
    let pairs = pairs_to_draw(outcome);
    let Some(pair) = pairs.first() else {
        return Err(PlotError::NoPair);
    };
    let mut paper = Paper::new(WIDTH);
    paper.text(CENTRE_X, 30.0, "middle", 18, &short(drive.engine(), 50));
    paper.text(
        CENTRE_X,
        52.0,
        "middle",
        14,
        "Valve timing, crank degrees, clockwise from TDC",
    );
    let mut top = 68.0;
    one(
        &mut paper,
        drive,
        (&outcome.before, None),
        *pair,
        "In time",
        top,
    );
    top += HEIGHT;
    let moved = outcome.after.valves.iter().any(|v| !v.shift.is_zero());
    if moved {
        for pair in &pairs {
            let title = format!("After: {}", moved_words(drive, outcome, *pair));
            one(
                &mut paper,
                drive,
                (&outcome.after, Some(&outcome.before)),
                *pair,
                &title,
                top,
            );
            top += HEIGHT;
        }
        paper.text(
            CENTRE_X,
            top + 20.0,
            "middle",
            13,
            "thick: valve open; thin dashed: where it was open in time",
        );
        top += 40.0;
    }
    paper.text(CENTRE_X, top, "middle", 11, slip::USUAL_CENTRES);
    top += 20.0;
    Ok(paper.finish(
        top,
        &format!("Valve timing diagram of {}", drive.engine()),
        &moved_words(drive, outcome, *pair),
    ))
}

/// Where an angle clockwise from TDC lies at `radius`.
fn on(centre_y: f64, radius: f64, clockwise: f64) -> (f64, f64) {
    let (sin, cos) = libm::sincos(clockwise.to_radians());
    (CENTRE_X + radius * sin, centre_y - radius * cos)
}

fn arc(paper: &mut Paper, centre_y: f64, radius: f64, from: f64, length: f64, stroke: Stroke) {
    // As many chords as there are degrees, so that any length from 0 to 360 is drawn alike.
    let steps = 180_u16;
    paper.path(
        (0..=steps).map(|i| {
            on(
                centre_y,
                radius,
                from + length * f64::from(i) / f64::from(steps),
            )
        }),
        stroke,
    );
}

fn one(
    paper: &mut Paper,
    drive: &Drive,
    (timing, was): (&Timing, Option<&Timing>),
    pair: usize,
    title: &str,
    top: f64,
) {
    let both = &timing.pairs[pair];
    let centre_y = top + 212.0;
    paper.text(CENTRE_X, top + 20.0, "middle", 15, &short(title, 58));
    paper.line(
        (CENTRE_X, centre_y - INTAKE - 14.0),
        (CENTRE_X, centre_y + INTAKE + 14.0),
        Stroke::of("#999"),
    );
    paper.line(
        (CENTRE_X - INTAKE - 14.0, centre_y),
        (CENTRE_X + INTAKE + 14.0, centre_y),
        Stroke::of("#ccc"),
    );
    paper.text(CENTRE_X, centre_y - INTAKE - 50.0, "middle", 14, "TDC");
    let mut labels: Vec<Label> = Vec::new();
    for (valve, radius) in [(both.intake, INTAKE), (both.exhaust, EXHAUST)] {
        let valves = &drive.valves()[valve];
        let now = &timing.valves[valve];
        let (from, length) = (now.opens.get().to_f64(), now.duration.get().to_f64());
        if let Some(was) = was {
            let was = &was.valves[valve];
            if was.opens != now.opens {
                arc(
                    paper,
                    centre_y,
                    radius
                        + if valves.kind == ValveKind::Intake {
                            10.0
                        } else {
                            -10.0
                        },
                    was.opens.get().to_f64(),
                    length,
                    Stroke::of("#555").wide(2.0).dashed("6 5"),
                );
            }
        }
        // The exhaust is hatched by gaps, so that both kinds differ without colour.
        let whole = Stroke::of(valve_ink(valves.kind)).wide(12.0);
        let stroke = match valves.kind {
            ValveKind::Intake => whole,
            ValveKind::Exhaust => whole.dashed("4 1.5"),
        };
        arc(paper, centre_y, radius, from, length, stroke);
        labels.extend(labels_of(valves, now, centre_y));
    }
    part(&mut labels);
    // BDC gives way to an event close by.
    let beside = labels
        .iter()
        .find(|label| !label.inside && label.y > centre_y && (label.x - CENTRE_X).abs() < 36.0);
    let (x, anchor) = match beside.map(|label| label.anchor) {
        Some("start") => (CENTRE_X - 8.0, "end"),
        Some(_) => (CENTRE_X + 8.0, "start"),
        None => (CENTRE_X, "middle"),
    };
    paper.text(x, centre_y + INTAKE + 36.0, anchor, 14, "BDC");
    for label in &labels {
        for (i, line) in label.lines.iter().enumerate() {
            let y = label.y - 4.0 + 16.0 * f64::from(u8::try_from(i).unwrap_or(0));
            paper.text(label.x, y, label.anchor, 14, line);
        }
    }
    paper.text(
        CENTRE_X,
        top + HEIGHT - 28.0,
        "middle",
        14,
        &format!(
            "overlap {}, lobe separation {} cam degrees",
            decimal(both.overlap.get().to_f64(), 1),
            decimal(both.separation.to_f64(), 1),
        ),
    );
    paper.text(
        CENTRE_X,
        top + HEIGHT - 10.0,
        "middle",
        14,
        &format!(
            "intake open for {}, exhaust for {}",
            decimal(timing.valves[both.intake].duration.get().to_f64(), 1),
            decimal(timing.valves[both.exhaust].duration.get().to_f64(), 1),
        ),
    );
}

struct Label {
    x: f64,
    y: f64,
    anchor: &'static str,
    lines: Vec<String>,
    inside: bool,
}

fn labels_of(valves: &Valves, timing: &ValveTiming, centre_y: f64) -> Vec<Label> {
    let one = |place: CyclePlace, usual: CyclePlace, what: &str| {
        let event = slip::event(place, usual).unwrap_or_default();
        let clockwise = place.get().to_f64().rem_euclid(360.0);
        let mut lines = vec![format!("{} {what}", valves.kind.word())];
        // Named only where it is not the usual dead centre; on a line of its own, for want of room.
        match event.split_once(" of ") {
            Some((counted, centre)) => {
                lines.extend([counted.to_owned(), format!("of {centre}")]);
            }
            None => lines.push(event),
        }
        match valves.kind {
            // Outside of the ring, leading away from it.
            ValveKind::Intake => {
                let (x, y) = on(centre_y, INTAKE + 26.0, clockwise);
                let right = x >= CENTRE_X;
                Label {
                    x: x + if right { 2.0 } else { -2.0 },
                    y,
                    anchor: if right { "start" } else { "end" },
                    lines,
                    inside: false,
                }
            }
            // Inside of it, where there is room for both.
            ValveKind::Exhaust => {
                let (x, y) = on(centre_y, EXHAUST - 46.0, clockwise);
                Label {
                    x: CENTRE_X + (x - CENTRE_X) * 0.5,
                    y,
                    anchor: "middle",
                    lines,
                    inside: true,
                }
            }
        }
    };
    vec![
        one(timing.opens, valves.opens_near(), "opens"),
        one(timing.closes, valves.closes_near(), "closes"),
    ]
}

/// Moves labels that would lie on each other apart.
fn part(labels: &mut [Label]) {
    for i in 0..labels.len() {
        for j in 0..i {
            let (a, b) = (&labels[j], &labels[i]);
            let lines = if a.y <= b.y {
                a.lines.len()
            } else {
                b.lines.len()
            };
            // The upper one takes its lines and a little more.
            let apart = 6.0 + 16.0 * f64::from(u8::try_from(lines).unwrap_or(2));
            let near = a.inside == b.inside
                && (a.inside || a.anchor == b.anchor)
                && (a.y - b.y).abs() < apart;
            if near {
                let middle = f64::midpoint(a.y, b.y);
                let (up, down) = (middle - apart / 2.0, middle + apart / 2.0);
                if labels[j].y <= labels[i].y {
                    (labels[j].y, labels[i].y) = (up, down);
                } else {
                    (labels[j].y, labels[i].y) = (down, up);
                }
            }
        }
    }
}
