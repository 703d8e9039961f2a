//! The least clearance against teeth slipped.

use super::{Paper, PlotError, colour, rounded, short};
use crate::drive::model::Drive;
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

pub(super) fn draw(drive: &Drive, sweep: &Sweep, slips: &Slips) -> Result<String, PlotError> {
    let series = series(drive, sweep)?;
    let (first, last) = (
        sweep.rows.first().map_or(0, |row| row.teeth),
        sweep.rows.last().map_or(0, |row| row.teeth),
    );
    let all = || series.iter().flat_map(|s| s.values.iter().copied());
    let least = (all().fold(0.0, f64::min) - 0.8).floor();
    let most = (all().fold(1.0, f64::max) + 0.4).ceil();
    let x = |teeth: f64| {
        #[allow(
            clippy::cast_precision_loss,
            reason = "at most twenty teeth either way"
        )]
        let (first, span) = (first as f64, (last - first).max(1) as f64);
        LEFT + 20.0 + (teeth - first) / span * (RIGHT - LEFT - 40.0)
    };
    let y = |mm: f64| BOTTOM - (mm - least) / (most - least) * (BOTTOM - TOP);

    let mut paper = Paper::new(WIDTH);
    let name = name_of(drive, sweep.at);
    paper.text(20.0, 30.0, "start", 18, &short(drive.engine(), 50));
    paper.text(
        20.0,
        54.0,
        "start",
        14,
        &short(
            &format!("Least valve-to-piston clearance, {name} sprocket slipped"),
            70,
        ),
    );
    paper.text(20.0, 72.0, "start", 14, "estimate for teaching");
    paper.put(
        r##"<defs><pattern id="meet" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="8" stroke="#999" stroke-width="2"/></pattern></defs>"##,
    );
    paper.put(&format!(
        r##"<rect x="{LEFT}" y="{:.1}" width="{:.1}" height="{:.1}" fill="url(#meet)"/>"##,
        y(0.0),
        RIGHT - LEFT,
        BOTTOM - y(0.0)
    ));
    axes(&mut paper, (first, last), (least, most), &x, &y);
    let taken = slips.of(sweep.at).get().to_f64();
    if taken != 0.0 && x(taken) > LEFT && x(taken) < RIGHT {
        paper.line(
            (x(taken), TOP),
            (x(taken), BOTTOM),
            "stroke=\"#111\" stroke-width=\"1.5\" stroke-dasharray=\"2 3\"",
        );
        paper.text(x(taken), TOP - 8.0, "middle", 13, "this slip");
    }
    for one in &series {
        let points: Vec<(f64, f64)> = sweep
            .rows
            .iter()
            .zip(&one.values)
            .map(|(row, mm)| {
                #[allow(
                    clippy::cast_precision_loss,
                    reason = "at most twenty teeth either way"
                )]
                let teeth = row.teeth as f64;
                (x(teeth), y(*mm))
            })
            .collect();
        let (ink, dash) = match one.kind {
            ValveKind::Intake => (colour(one.kind), ""),
            ValveKind::Exhaust => (colour(one.kind), " stroke-dasharray=\"9 5\""),
        };
        paper.path(
            points.iter().copied(),
            &format!("stroke=\"{ink}\" stroke-width=\"2.6\"{dash}"),
        );
        for (px, py) in &points {
            paper.put(&match one.kind {
                ValveKind::Intake => {
                    format!(r#"<circle cx="{px:.1}" cy="{py:.1}" r="4.5" fill="{ink}"/>"#)
                }
                ValveKind::Exhaust => format!(
                    r#"<rect x="{:.1}" y="{:.1}" width="9" height="9" fill="white" stroke="{ink}" stroke-width="2"/>"#,
                    px - 4.5,
                    py - 4.5
                ),
            });
        }
    }
    paper.text(
        f64::midpoint(LEFT, RIGHT),
        BOTTOM - 10.0,
        "middle",
        14,
        "valves and piston meet",
    );
    name_series(&mut paper, &series, &y);
    let words = super::super::words::slip::first_meeting(sweep);
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

fn axes(
    paper: &mut Paper,
    (first, last): (i64, i64),
    (least, most): (f64, f64),
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    let mut tick = least;
    let step = if most - least > 14.0 { 2.0 } else { 1.0 };
    while tick <= most {
        let style = if tick == 0.0 {
            "stroke=\"#111\" stroke-width=\"2\""
        } else {
            "stroke=\"#ddd\""
        };
        paper.line((LEFT, y(tick)), (RIGHT, y(tick)), style);
        paper.text(LEFT - 8.0, y(tick) + 5.0, "end", 13, &rounded(tick));
        tick += step;
    }
    paper.text(LEFT + 4.0, TOP - 8.0, "start", 13, "mm");
    for teeth in first..=last {
        #[allow(
            clippy::cast_precision_loss,
            reason = "at most twenty teeth either way"
        )]
        let at = x(teeth as f64);
        paper.line((at, BOTTOM), (at, BOTTOM + 5.0), "stroke=\"#111\"");
        if last - first <= 20 || teeth % 5 == 0 {
            paper.text(at, BOTTOM + 20.0, "middle", 13, &teeth.abs().to_string());
        }
    }
    paper.text(LEFT, BOTTOM + 42.0, "start", 14, "\u{2190} teeth behind");
    paper.text(RIGHT, BOTTOM + 42.0, "end", 14, "teeth ahead \u{2192}");
    paper.put(&format!(
        r##"<rect x="{LEFT}" y="{TOP}" width="{:.1}" height="{:.1}" fill="none" stroke="#111"/>"##,
        RIGHT - LEFT,
        BOTTOM - TOP
    ));
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
fn name_series(paper: &mut Paper, series: &[Series], y: &dyn Fn(f64) -> f64) {
    let mut ends: Vec<(f64, &Series)> = series
        .iter()
        .filter_map(|one| Some((y(*one.values.last()?), one)))
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
