//! The least clearance against teeth slipped.

use super::error::PlotError;
use super::paper::{INK, Paper};
use crate::drive::model::Drive;
use crate::render::svg::{Stroke, short, valve_ink};
use crate::render::words::numbers::decimal;
use crate::render::words::slip::first_meeting;
use crate::spec::valves::ValveKind;
use crate::timing::observe::name_of;
use crate::valves::slip::{Slips, Sweep};

// Narrow, so that its letters can be read on a phone.
const WIDTH: f64 = 540.0;
const HEIGHT: f64 = 500.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 404.0;
const TOP: f64 = 100.0;
const BOTTOM: f64 = 398.0;

/// Where teeth and millimetres lie on the paper.
struct Scale {
    first: i64,
    last: i64,
    least: f64,
    most: f64,
}

impl Scale {
    fn new(sweep: &Sweep, series: &[Series]) -> Self {
        let all = || series.iter().flat_map(|s| s.values.iter().copied());
        Self {
            first: sweep.rows.first().map_or(0, |row| row.teeth),
            last: sweep.rows.last().map_or(0, |row| row.teeth),
            least: (all().fold(0.0, f64::min) - 0.8).floor(),
            most: (all().fold(1.0, f64::max) + 0.4).ceil(),
        }
    }

    fn x(&self, teeth: f64) -> f64 {
        let (first, span) = (real(self.first), real((self.last - self.first).max(1)));
        LEFT + 20.0 + (teeth - first) / span * (RIGHT - LEFT - 40.0)
    }

    fn y(&self, mm: f64) -> f64 {
        BOTTOM - (mm - self.least) / (self.most - self.least) * (BOTTOM - TOP)
    }
}

#[allow(
    clippy::cast_precision_loss,
    reason = "at most twenty teeth either way"
)]
fn real(teeth: i64) -> f64 {
    teeth as f64
}

/// What the part where valves and piston meet is filled with.
const HATCH: &str = r##"<defs><pattern id="meet" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="8" stroke="#999" stroke-width="2"/></pattern></defs>"##;

pub(super) fn draw(drive: &Drive, sweep: &Sweep, slips: &Slips) -> Result<String, PlotError> {
    let series = series(drive, sweep)?;
    let scale = Scale::new(sweep, &series);
    let mut paper = Paper::new(WIDTH);
    head(&mut paper, drive, &name_of(drive, sweep.at));
    paper.constant(HATCH);
    paper.rectangle((LEFT, scale.y(0.0)), (RIGHT, BOTTOM), "url(#meet)", None);
    axes(&mut paper, &scale);
    let taken = slips.of(sweep.at).get().to_f64();
    let at = scale.x(taken);
    if taken != 0.0 && at > LEFT && at < RIGHT {
        let stroke = Stroke::of(INK).wide(1.5).dashed("2 3");
        paper.line((at, TOP), (at, BOTTOM), stroke);
        paper.text(at, TOP - 8.0, "middle", 13, "this slip");
    }
    for one in &series {
        curve(&mut paper, sweep, one, &scale);
    }
    paper.text(
        f64::midpoint(LEFT, RIGHT),
        BOTTOM - 10.0,
        "middle",
        14,
        "valves and piston meet",
    );
    name_series(&mut paper, &series, &scale);
    let words = first_meeting(sweep);
    for (i, line) in words.split_inclusive(';').enumerate() {
        let y = if i == 0 { HEIGHT - 36.0 } else { HEIGHT - 16.0 };
        paper.text(20.0, y, "start", 14, &short(line.trim(), 72));
    }
    Ok(paper.finish(
        HEIGHT,
        &format!("Valve-to-piston clearance of {}", drive.engine()),
        &words,
    ))
}

fn head(paper: &mut Paper, drive: &Drive, sprocket: &str) {
    paper.text(20.0, 30.0, "start", 18, &short(drive.engine(), 50));
    let what = format!("Least valve-to-piston clearance, {sprocket} sprocket slipped");
    paper.text(20.0, 54.0, "start", 14, &short(&what, 70));
    paper.text(20.0, 72.0, "start", 14, "estimate for teaching");
}

/// A valve's line with a sign at every tooth.
fn curve(paper: &mut Paper, sweep: &Sweep, of: &Series, scale: &Scale) {
    let points: Vec<(f64, f64)> = sweep
        .rows
        .iter()
        .zip(&of.values)
        .map(|(row, mm)| (scale.x(real(row.teeth)), scale.y(*mm)))
        .collect();
    let ink = valve_ink(of.kind);
    let whole = Stroke::of(ink).wide(2.6);
    let stroke = match of.kind {
        ValveKind::Intake => whole,
        ValveKind::Exhaust => whole.dashed("9 5"),
    };
    paper.path(points.iter().copied(), stroke);
    for (x, y) in points {
        match of.kind {
            ValveKind::Intake => paper.disc((x, y), 4.5, ink, None),
            ValveKind::Exhaust => paper.rectangle(
                (x - 4.5, y - 4.5),
                (x + 4.5, y + 4.5),
                "white",
                Some(Stroke::of(ink).wide(2.0)),
            ),
        }
    }
}

fn axes(paper: &mut Paper, scale: &Scale) {
    let mut tick = scale.least;
    let step = if scale.most - scale.least > 14.0 {
        2.0
    } else {
        1.0
    };
    while tick <= scale.most {
        let stroke = if tick == 0.0 {
            Stroke::of(INK).wide(2.0)
        } else {
            Stroke::of("#ddd")
        };
        let y = scale.y(tick);
        paper.line((LEFT, y), (RIGHT, y), stroke);
        paper.text(LEFT - 8.0, y + 5.0, "end", 13, &decimal(tick, 1));
        tick += step;
    }
    paper.text(LEFT + 4.0, TOP - 8.0, "start", 13, "mm");
    for teeth in scale.first..=scale.last {
        let at = scale.x(real(teeth));
        paper.line((at, BOTTOM), (at, BOTTOM + 5.0), Stroke::of(INK));
        if scale.last - scale.first <= 20 || teeth % 5 == 0 {
            paper.text(at, BOTTOM + 20.0, "middle", 13, &teeth.abs().to_string());
        }
    }
    paper.text(LEFT, BOTTOM + 42.0, "start", 14, "\u{2190} teeth behind");
    paper.text(RIGHT, BOTTOM + 42.0, "end", 14, "teeth ahead \u{2192}");
    paper.rectangle((LEFT, TOP), (RIGHT, BOTTOM), "none", Some(Stroke::of(INK)));
}

struct Series {
    name: String,
    kind: ValveKind,
    values: Vec<f64>,
}

/// The valves whose clearance the slip changes; all that are known if it changes none.
fn series(drive: &Drive, sweep: &Sweep) -> Result<Vec<Series>, PlotError> {
    let mut known: Vec<(Series, bool)> = Vec::new();
    let mut lacking = None;
    for (i, valves) in drive.valves().iter().enumerate() {
        let values: Result<Vec<f64>, _> = sweep
            .rows
            .iter()
            .map(|row| {
                row.timing.valves[i]
                    .clearance
                    .as_ref()
                    .map(|least| least.mm)
            })
            .collect();
        match values {
            Ok(values) => {
                let moved = sweep
                    .rows
                    .windows(2)
                    .any(|rows| rows[0].timing.valves[i].shift != rows[1].timing.valves[i].shift);
                known.push((
                    Series {
                        name: valves.name.clone(),
                        kind: valves.kind,
                        values,
                    },
                    moved,
                ));
            }
            Err(why) => {
                lacking = Some(PlotError::Lacks {
                    valves: valves.name.clone(),
                    missing: why.missing(),
                });
            }
        }
    }
    if known.is_empty() {
        return Err(lacking.unwrap_or(PlotError::NoPair));
    }
    let any = known.iter().any(|(_, moved)| *moved);
    Ok(known
        .into_iter()
        .filter(|(_, moved)| *moved || !any)
        .map(|(series, _)| series)
        .collect())
}

/// Names at the right ends of the lines, pushed apart where they would lie on each other.
fn name_series(paper: &mut Paper, series: &[Series], scale: &Scale) {
    let mut ends: Vec<(f64, &Series)> = series
        .iter()
        .filter_map(|one| Some((scale.y(*one.values.last()?), one)))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut last = f64::NEG_INFINITY;
    for (at, one) in ends {
        let at = at.max(last + 18.0);
        last = at;
        let sign = match one.kind {
            ValveKind::Intake => "\u{25cf}",
            ValveKind::Exhaust => "\u{25a1}",
        };
        paper.text(
            RIGHT + 8.0,
            at + 5.0,
            "start",
            14,
            &format!("{sign} {}", short(&one.name, 15)),
        );
    }
}
