//! The geometry of a drive in figures.

use crate::drive::model::Drive;
use crate::plane::geometry::Tension;
use crate::plane::report::{ChainReport, Laid};
use crate::plane::survey::AGREES;
use crate::spec::finding::PartName;
use crate::timing::roll::{Returns, returns};
use crate::units::decimal::decimal;
use serde_json::{Value, json};

/// The figures of every chain as JSON: lengths in mm and links, angles in degrees, ratios exact.
pub fn geometry_json(drive: &Drive, report: &[ChainReport]) -> Value {
    let Returns { dots, links } = returns(drive);
    json!({
        "engine": drive.engine(),
        "timed_position": drive.timed_position(),
        "chains": report.iter().map(|report| {
            let chain = drive.chain(report.chain);
            let (laid, why_not) = match &report.laid {
                Ok(laid) => (laid_json(drive, laid), Value::Null),
                Err(error) => (Value::Null, json!(error.to_string())),
            };
            json!({
                "chain": chain.name(),
                "links": chain.links().get(),
                "even": chain.links().get().is_multiple_of(2),
                "pitch_mm": chain.pitch().map(|pitch| pitch.to_string()),
                "laid": laid,
                "why_not": why_not,
            })
        }).collect::<Vec<_>>(),
        "shafts": drive.shafts().map(|(_, shaft)| json!({
            "shaft": shaft.name(),
            "turns_per_crank_turn": shaft.ratio().to_string(),
        })).collect::<Vec<_>>(),
        "returns": { "dots": dots, "dots_and_links": links },
    })
}

fn laid_json(drive: &Drive, laid: &Laid) -> Value {
    let shaft = |at| drive.shaft(drive.sprocket(at).shaft()).name();
    json!({
        "loop_mm": short(laid.loop_mm),
        "loop_links": short(laid.loop_links),
        "tensioner": laid.tensioner.map(|tensioner| json!({
            "stroke_mm": short(tensioner.stroke),
            "new_mm": tensioner.new.map(short),
            "worn_mm": tensioner.worn.map(short),
        })),
        "parts": laid.parts.iter().map(|part| json!({
            "part": name(&part.name),
            "teeth": part.teeth.map(|teeth| teeth.get()),
            "wrap_degrees": short(part.wrap),
            "links": short(part.links),
        })).collect::<Vec<_>>(),
        "strands": laid.strands.iter().map(|strand| json!({
            "from": name(&strand.from),
            "to": name(&strand.to),
            "mm": short(strand.mm),
            "links": short(strand.links),
            "tight": strand.tension == Tension::Tight,
        })).collect::<Vec<_>>(),
        "marks": laid.marks.iter().map(|(at, residual)| {
            let sprocket = drive.sprocket(*at);
            json!({
                "shaft": shaft(*at),
                "dot": sprocket.dot().map(|dot| dot.get().to_string()),
                "link": sprocket.mark().map(|mark| mark.link.get().to_string()),
                "counted_from": residual.map(|residual| shaft(residual.from)),
                "counted": residual.map(|residual| short(residual.counted)),
                "off_links": residual.map(|residual| short(residual.off)),
                "off_degrees": residual.map(|residual| short(residual.degrees)),
                "within": residual.map(|residual| residual.off.abs() <= AGREES),
                "tolerance_links": AGREES,
            })
        }).collect::<Vec<_>>(),
    })
}

fn name(part: &PartName) -> &str {
    match part {
        PartName::Sprocket(shaft) => shaft,
        PartName::Guide => "(guide)",
        PartName::Tensioner => "(tensioner)",
    }
}

/// To a thousandth: the last digits of a float are not the same on every machine.
fn short(value: f64) -> f64 {
    decimal(value, 3).parse().unwrap_or(value)
}
