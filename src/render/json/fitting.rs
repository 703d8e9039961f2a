//! Marks computed from the centres.

use crate::plane::fitting::{FittedWhy, Fitting};
use crate::render::hints::Hints;
use crate::render::words::fitting::{fitted_text, unfitted_text};
use crate::spec::source::Source;
use crate::units::decimal::decimal;
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct FittingJson<'a> {
    file: &'a str,
    changes: Vec<ChangeJson<'a>>,
    marks: Vec<MarkJson<'a>>,
    unfitted: Vec<String>,
}

#[derive(Serialize)]
struct ChangeJson<'a> {
    line: usize,
    old: &'a str,
    new: &'a str,
}

#[derive(Serialize)]
struct MarkJson<'a> {
    line: usize,
    chain: &'a str,
    shaft: &'a str,
    key: &'a str,
    old: Option<&'a str>,
    new: &'a str,
    /// Shaft from whose dot the links were counted; `null` where they were not.
    counted_from: Option<&'a str>,
    /// Links from there to this dot.
    counted: Option<f64>,
    /// How many links what was given is ahead of that.
    off: Option<f64>,
    why: String,
}

/// The changes to a spec as JSON. `hints` says how to see why something was not computed.
pub fn fitting_json(fitting: &Fitting, source: &Source, hints: &dyn Hints) -> Value {
    let unfitted = fitting.unfitted.iter();
    let marks = fitting.marks.iter().map(|mark| {
        let (counted_from, counted, off) = match &mark.why {
            FittedWhy::Counted { from, links, off } => {
                (Some(from.as_str()), Some(short(*links)), off.map(short))
            }
            FittedWhy::Origin | FittedWhy::Turned { .. } => (None, None, None),
        };
        MarkJson {
            line: mark.line,
            chain: &mark.chain,
            shaft: &mark.shaft,
            key: mark.key,
            old: mark.old.as_deref(),
            new: &mark.new,
            counted_from,
            counted,
            off,
            why: fitted_text(mark),
        }
    });
    json!(FittingJson {
        file: source.name(),
        changes: fitting
            .changes
            .iter()
            .map(|change| ChangeJson {
                line: change.line,
                old: &change.old,
                new: &change.new,
            })
            .collect(),
        marks: marks.collect(),
        unfitted: unfitted.map(|each| unfitted_text(each, hints)).collect(),
    })
}

/// To a thousandth of a link: the last digits of a float are not the same on every machine.
fn short(links: f64) -> f64 {
    decimal(links, 3).parse().unwrap_or(links)
}
