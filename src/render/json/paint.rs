//! Marks of one's own.

use crate::drive::ids::{ChainId, ShaftId};
use crate::drive::model::Drive;
use crate::proof::counted::{Carried, Recount};
use crate::proof::paint::OwnMarks;
use crate::render::hints::Hints;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::lookalike::lookalike_text;
use crate::units::quantity::{LinkPosition, Teeth};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct OwnMarksJson<'a> {
    engine: &'a str,
    pairs: Vec<PairJson<'a>>,
    lines: Vec<&'a str>,
    turned: Vec<&'a str>,
    alike: Vec<String>,
    counted: bool,
    /// Of the engine, all banks together; `null` where the spec does not say.
    camshafts: Option<usize>,
    /// Those of which something is proven.
    camshafts_named: usize,
    spec: Option<&'a str>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct PairJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    link: Option<LinkPosition>,
    tooth: bool,
    paint: &'a str,
}

#[derive(Serialize)]
struct CarriedJson<'a> {
    engine: &'a str,
    chain: &'a str,
    links: u16,
    marks: Vec<CarriedMarkJson<'a>>,
    recount: Option<&'static str>,
}

#[derive(Serialize)]
struct CarriedMarkJson<'a> {
    shaft: &'a str,
    colour: Option<&'a str>,
    from_first: LinkPosition,
    to_next: Teeth,
}

/// The marks to paint as JSON, with the painted `spec` if there is one.
pub fn own_marks_json(
    drive: &Drive,
    marks: &OwnMarks,
    spec: Option<&str>,
    hints: &dyn Hints,
) -> Value {
    let names = |shafts: &[ShaftId]| -> Vec<&str> {
        shafts.iter().map(|id| drive.shaft(*id).name()).collect()
    };
    let pairs = marks.pairs.iter().map(|pair| PairJson {
        chain: drive.chain(pair.at.chain).name(),
        shaft: drive.shaft(drive.sprocket(pair.at).shaft()).name(),
        link: pair.link,
        tooth: pair.tooth,
        paint: &pair.paint,
    });
    let alike = marks.alike.iter();
    json!(OwnMarksJson {
        engine: drive.engine(),
        pairs: pairs.collect(),
        lines: names(&marks.lines),
        turned: names(&marks.turned),
        alike: alike
            .map(|alike| lookalike_text(drive, alike, hints))
            .collect(),
        counted: marks.counted,
        camshafts: drive.camshafts(),
        camshafts_named: drive.camshafts_named(),
        spec,
        cautions: CAUTIONS,
    })
}

/// The marks of a new chain as JSON, and what counting them came to, if they were counted.
pub fn carried_json(
    drive: &Drive,
    id: ChainId,
    marks: &[Carried],
    recount: Option<&Recount>,
) -> Value {
    let marks = marks.iter().map(|mark| {
        let sprocket = drive.sprocket(mark.at);
        CarriedMarkJson {
            shaft: drive.shaft(sprocket.shaft()).name(),
            colour: sprocket.mark().and_then(|mark| mark.colour.as_deref()),
            from_first: mark.from_first,
            to_next: mark.to_next,
        }
    });
    json!(CarriedJson {
        engine: drive.engine(),
        chain: drive.chain(id).name(),
        links: drive.chain(id).links().get(),
        marks: marks.collect(),
        recount: recount.map(|recount| match recount {
            Recount::Same => "same",
            Recount::OtherWay => "other way around",
            Recount::AddsUp { .. } => "miscounted",
            Recount::Differs(_) => "differs",
        }),
    })
}
