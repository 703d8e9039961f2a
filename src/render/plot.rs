//! Pictures of what a slip does, as SVG. Everything reads in black and white: kinds and states are
//! told apart by lines and words, and by colour only besides.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

mod circle;
mod clearance;
mod lift;

use super::words::escape::{entities, printable};
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::spec::valves::ValveKind;
use crate::units::lift::LiftCurve;
use crate::valves::slip::{SlipOutcome, Slips, Sweep};
use std::fmt;

/// Which picture.
#[derive(Clone, Copy, Debug)]
pub enum Plot<'a> {
    /// Valve lift and piston travel over 720 crank degrees.
    Lift,
    /// The circular valve timing diagram.
    Circle,
    /// Clearance against teeth slipped, and what has slipped already.
    Clearance(&'a Sweep, &'a Slips),
}

/// What a spec lacks for a picture.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum PlotError {
    /// An intake and an exhaust on the same cylinders.
    NoPair,
    /// Something about these valves.
    Lacks {
        /// Their name.
        valves: String,
        /// What.
        missing: &'static str,
    },
}

impl fmt::Display for PlotError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoPair => f.write_str(
                "this picture needs an intake and an exhaust on the same cylinders (add what is missing under 'valves:')",
            ),
            Self::Lacks { valves, missing } => write!(
                f,
                "this picture needs {missing}, which the spec does not give for '{valves}' (add it)"
            ),
        }
    }
}

impl std::error::Error for PlotError {}

/// The picture as one SVG document.
///
/// # Errors
/// [`PlotError`]: what the spec would have to say.
pub fn plot(drive: &Drive, outcome: &SlipOutcome, which: Plot<'_>) -> Result<String, PlotError> {
    match which {
        Plot::Lift => lift::draw(drive, outcome),
        Plot::Circle => circle::draw(drive, outcome),
        Plot::Clearance(sweep, slips) => clearance::draw(drive, sweep, slips),
    }
}

/// An SVG document that is being written.
struct Paper {
    width: f64,
    body: String,
}

impl Paper {
    fn new(width: f64) -> Self {
        Self {
            width,
            body: String::new(),
        }
    }

    fn put(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    fn text(&mut self, x: f64, y: f64, anchor: &str, size: u32, words: &str) {
        let words = escape(words);
        // A white edge keeps letters legible where a line runs behind them.
        self.put(&format!(
            r#"<text x="{x:.1}" y="{y:.1}" text-anchor="{anchor}" font-size="{size}" stroke="white" stroke-width="4" stroke-linejoin="round" paint-order="stroke">{words}</text>"#
        ));
    }

    fn line(&mut self, from: (f64, f64), to: (f64, f64), style: &str) {
        self.put(&format!(
            r#"<line x1="{:.1}" y1="{:.1}" x2="{:.1}" y2="{:.1}" {style}/>"#,
            from.0, from.1, to.0, to.1
        ));
    }

    fn path(&mut self, points: impl Iterator<Item = (f64, f64)>, style: &str) {
        let mut d = String::new();
        for (i, (x, y)) in points.enumerate() {
            d.push_str(&format!("{}{x:.1} {y:.1}", if i == 0 { 'M' } else { 'L' }));
        }
        self.put(&format!(r#"<path d="{d}" fill="none" {style}/>"#));
    }

    /// The whole document, `height` high.
    fn finish(self, height: f64, title: &str, about: &str) -> String {
        let width = self.width;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" height=\"{height:.0}\" role=\"img\" aria-labelledby=\"title about\" font-family=\"sans-serif\" fill=\"#111\">\n<title id=\"title\">{}</title>\n<desc id=\"about\">{}</desc>\n<rect width=\"{width:.0}\" height=\"{height:.0}\" fill=\"white\"/>\n{}</svg>\n",
            escape(title),
            escape(about),
            self.body
        )
    }
}

/// Text for a document, with nothing in it that a reader of XML would act on.
fn escape(text: &str) -> String {
    entities(&printable(text)).replace(['\n', '\t'], " ")
}

/// `text` cut to what fits, so that nothing runs off the paper.
pub(super) fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        text.to_owned()
    } else {
        let cut: String = text.chars().take(most.saturating_sub(1)).collect();
        format!("{cut}\u{2026}")
    }
}

fn colour(kind: ValveKind) -> &'static str {
    match kind {
        ValveKind::Intake => "#1558a0",
        ValveKind::Exhaust => "#a83210",
    }
}

/// Crank degrees for a picture: one decimal, none where there is none.
fn rounded(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// The pairs worth a panel: those that the slip changed, each kind of change once; the first if
/// nothing changed.
fn pairs_to_draw(outcome: &SlipOutcome) -> Vec<usize> {
    let events = |p: usize| {
        let pair = &outcome.after.pairs[p];
        [pair.intake, pair.exhaust].map(|valve| {
            (
                outcome.before.valves[valve].opens,
                outcome.before.valves[valve].closes,
                outcome.after.valves[valve].shift,
            )
        })
    };
    let mut chosen: Vec<usize> = Vec::new();
    for p in 0..outcome.after.pairs.len() {
        let moved = events(p).iter().any(|(_, _, shift)| !shift.is_zero());
        if moved && !chosen.iter().any(|other| events(*other) == events(p)) {
            chosen.push(p);
        }
    }
    if chosen.is_empty() && !outcome.after.pairs.is_empty() {
        chosen.push(0);
    }
    chosen
}

/// What has been moved, in few words and crank degrees: `exhaust in time, intake 20 late`.
fn moved_words(drive: &Drive, outcome: &SlipOutcome, pair: usize) -> String {
    let Some(pair) = outcome.after.pairs.get(pair) else {
        return String::new();
    };
    let one = |valve: usize| {
        let shift = outcome.after.valves[valve].shift;
        let name = &drive.valves()[valve].name;
        match shift.get().signum() {
            0 => format!("{name} in time"),
            sign => format!(
                "{name} {} {}",
                rounded(shift.get().abs().to_f64()),
                if sign < 0 { "late" } else { "early" }
            ),
        }
    };
    format!("{}, {}", one(pair.exhaust), one(pair.intake))
}

fn curve_of(valves: &Valves) -> Result<(LiftCurve, f64), PlotError> {
    valves.curve().ok_or_else(|| PlotError::Lacks {
        valves: valves.name.clone(),
        missing: "'lift' or 'lift_table'",
    })
}
