//! Causes in words.

use super::{CAUTIONS, numbers};
use crate::cause::{Cause, Explanation, Fault};
use crate::drive::Drive;
use crate::measure::Measured;
use crate::observe::name_of;
use crate::quantity::Exact;
use crate::trouble::{ABOUT_CODES, TroubleCode};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The smallest causes, what is left over of each measurement, and what the codes are worth.
pub fn explain_text(
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_explanation(&mut out, drive, measured, explanation, codes);
    super::printable(&out)
}

fn write_explanation(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    for code in codes {
        writeln!(out, "\n{}: {}", code.code, code.meaning)?;
        writeln!(out, "  tells         {}", code.tells)?;
        writeln!(out, "  does not tell {}", code.does_not_tell)?;
    }
    if !codes.is_empty() {
        writeln!(out, "{ABOUT_CODES}")?;
    }
    if let Some(explanation) = explanation {
        write_causes(out, drive, measured, explanation)?;
    }
    writeln!(out, "\nCautions")?;
    for caution in CAUTIONS {
        writeln!(out, "  - {caution}")?;
    }
    Ok(())
}

fn write_causes(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    explanation: &Explanation,
) -> std::fmt::Result {
    writeln!(out, "\nMeasured")?;
    for one in measured {
        let sure = if one.tolerance.is_zero() {
            String::new()
        } else {
            format!(", give or take {}", numbers::crank_degrees(one.tolerance))
        };
        let off = if one.angle.is_zero() {
            "where it belongs".to_owned()
        } else {
            format!(
                "{} {}",
                numbers::crank_degrees(one.angle),
                numbers::side(one.angle.get())
            )
        };
        writeln!(out, "  {}: {off}{sure}", drive.shaft(one.shaft).name())?;
    }
    match &explanation.causes[..] {
        [] => {
            writeln!(
                out,
                "\nNo explanation with at most {} faults fits. Measure again; think of wear, a phaser, or a sprocket that has turned on its shaft.",
                crate::cause::MOST_FAULTS
            )?;
            for one in measured {
                writeln!(out, "  {}", nearest_tooth(drive, one))?;
            }
            return Ok(());
        }
        [cause] if cause.faults.is_empty() => {
            writeln!(out, "\nNothing is wrong, as far as this was measured.")?;
        }
        [_] => writeln!(out, "\nThe smallest cause")?,
        many => writeln!(
            out,
            "\nThe smallest causes: {}, none of them proven",
            many.len()
        )?,
    }
    for (i, cause) in explanation.causes.iter().enumerate() {
        if cause.faults.is_empty() {
            write_residuals(out, drive, measured, cause)?;
            continue;
        }
        let faults: Vec<String> = cause
            .faults
            .iter()
            .map(|fault| fault_text(drive, fault))
            .collect();
        writeln!(out, "  {}. {}", i + 1, faults.join("; and "))?;
        write_residuals(out, drive, measured, cause)?;
    }
    if explanation.more {
        writeln!(out, "  ... and more (--most N lists more)")?;
    }
    Ok(())
}

/// The nearest whole tooth to what was measured, and what that leaves.
fn nearest_tooth(drive: &Drive, one: &Measured) -> String {
    let name = drive.shaft(one.shaft).name();
    let Some(tooth) = drive
        .shaft(one.shaft)
        .driven_at()
        .map(|at| drive.chain(at.chain).tooth())
    else {
        return name.to_owned();
    };
    let rest = one
        .angle
        .get()
        .nearest_modulo(tooth.get())
        .unwrap_or(Exact::ZERO);
    format!(
        "{name}: {} crank degrees {} the nearest whole tooth (one tooth is {})",
        numbers::exact(rest.abs()),
        if rest.signum() < 0 {
            "behind"
        } else {
            "ahead of"
        },
        numbers::crank_degrees(tooth)
    )
}

fn write_residuals(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    cause: &Cause,
) -> std::fmt::Result {
    let left: Vec<String> = measured
        .iter()
        .zip(&cause.residuals)
        .filter(|(_, residual)| !residual.is_zero())
        .map(|(one, residual)| {
            format!(
                "{} {} {}",
                drive.shaft(one.shaft).name(),
                numbers::crank_degrees(*residual),
                numbers::side(residual.get())
            )
        })
        .collect();
    if !left.is_empty() {
        writeln!(
            out,
            "     left over, within what was measured: {}",
            left.join(", ")
        )?;
    }
    Ok(())
}

fn fault_text(drive: &Drive, fault: &Fault) -> String {
    match fault {
        Fault::Slip { at, teeth } => {
            let chain = drive.chain(at.chain);
            let angle = chain.crank_degrees_of(*teeth).map_or_else(
                |_| String::new(),
                |angle| format!(" ({})", numbers::crank_degrees(angle)),
            );
            let name = name_of(drive, *at);
            let slip = format!(
                "the chain {} is {} off at the {name} sprocket, which sits {} it{angle}",
                chain.name(),
                numbers::teeth(*teeth),
                if teeth.get().signum() < 0 {
                    "behind"
                } else {
                    "ahead of"
                },
            );
            if *at == drive.driver_of(at.chain) {
                format!("{slip}; everything it drives is as far the other way")
            } else {
                slip
            }
        }
        Fault::Phaser { shaft, angle } => format!(
            "the phaser of {} is {} {} its parked position",
            drive.shaft(*shaft).name(),
            numbers::crank_degrees(*angle),
            if angle.get().signum() < 0 {
                "retarded from"
            } else {
                "advanced from"
            }
        ),
        Fault::Dowel { shaft, angle } => format!(
            "the dowel of {} sits in another hole, {} {}",
            drive.shaft(*shaft).name(),
            numbers::crank_degrees(*angle),
            numbers::side(angle.get())
        ),
        Fault::CrankTurn => {
            "the crankshaft was one whole turn from where it was taken to be (the other TDC)"
                .to_owned()
        }
        Fault::Elongation { least, most } => format!(
            "the chain has grown by about {} to {} per cent (reckoned from the links between the dots; measure it)",
            percent(*least),
            percent(*most)
        ),
    }
}

fn percent(fraction: Exact) -> String {
    fraction
        .times(Exact::whole(100))
        .map_or_else(|_| String::new(), |percent| numbers::rounded(percent, 2))
}

/// The same for a program.
pub fn explain_json(
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
) -> Value {
    let causes: Vec<Value> = explanation
        .map_or(&[][..], |explanation| &explanation.causes)
        .iter()
        .map(|cause| {
            let residuals: Map<String, Value> = measured
                .iter()
                .zip(&cause.residuals)
                .map(|(one, residual)| (drive.shaft(one.shaft).name().to_owned(), json!(residual)))
                .collect();
            json!({
                "faults": cause.faults.iter().map(|fault| fault_json(drive, fault)).collect::<Vec<_>>(),
                "residual_crank_degrees": residuals,
                "teeth": cause.teeth,
            })
        })
        .collect();
    json!({
        "causes": causes,
        "more": explanation.is_some_and(|explanation| explanation.more),
        "codes": codes.iter().map(|code| json!({
            "code": code.code,
            "meaning": code.meaning,
            "tells": code.tells,
            "does_not_tell": code.does_not_tell,
        })).collect::<Vec<_>>(),
        "cautions": CAUTIONS,
    })
}

fn fault_json(drive: &Drive, fault: &Fault) -> Value {
    let name = |id: &crate::drive::ShaftId| drive.shaft(*id).name();
    match fault {
        Fault::Slip { at, teeth } => json!({
            "kind": "slip",
            "chain": drive.chain(at.chain).name(),
            "shaft": drive.shaft(drive.sprocket(*at).shaft()).name(),
            "teeth": teeth,
        }),
        Fault::Phaser { shaft, angle } => {
            json!({ "kind": "phaser", "shaft": name(shaft), "crank_degrees": angle })
        }
        Fault::Dowel { shaft, angle } => {
            json!({ "kind": "dowel", "shaft": name(shaft), "crank_degrees": angle })
        }
        Fault::CrankTurn => json!({ "kind": "crank-turn" }),
        Fault::Elongation { least, most } => {
            json!({ "kind": "elongation", "least": least, "most": most })
        }
    }
}
