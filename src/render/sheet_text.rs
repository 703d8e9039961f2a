//! The fasteners of a job by component, with count, length and torque.

use super::numbers;
use crate::drive::model::Drive;
use crate::drive::plan::Fastener;
use crate::units::quantity::Exact;
use crate::units::torque::{Tightening, TorqueUnit, decimal};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Said wherever torques are.
pub(crate) const TORQUES_ARE_OF_THE_SPEC: &str =
    "Lengths and torques are those of the spec file. The maker's figures rule.";

/// One stage of tightening: as the spec has it, and rounded in the other units.
pub(crate) fn tightening_words(stage: &Tightening) -> String {
    match stage {
        Tightening::Angle(angle) => format!("further by {} degrees", decimal(*angle)),
        Tightening::Torque(torque) => {
            let others = TorqueUnit::ALL
                .into_iter()
                .filter(|unit| *unit != torque.unit())
                .filter_map(|unit| {
                    let value = torque.in_unit(unit).ok()?;
                    Some(format!("{} {}", numbers::rounded(value, 1), unit.word()))
                });
            let others: Vec<String> = others.collect();
            format!("{torque} (about {})", others.join(", "))
        }
    }
}

/// `M8 x 1.25, 30 mm`.
pub(crate) fn size_words(kind: &Fastener) -> String {
    format!("{}, {} mm", kind.thread, decimal(kind.length))
}

/// The fasteners grouped by what they hold, in the order of the spec.
fn components(drive: &Drive) -> Vec<(&str, Vec<&Fastener>)> {
    let mut found: Vec<(&str, Vec<&Fastener>)> = Vec::new();
    for kind in drive.plan().fasteners() {
        match found.iter_mut().find(|(name, _)| *name == kind.component) {
            Some((_, kinds)) => kinds.push(kind),
            None => found.push((&kind.component, vec![kind])),
        }
    }
    found
}

/// The fastener sheet in words.
pub fn sheet_text(drive: &Drive) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_sheet(&mut out, drive);
    super::printable(&out)
}

fn write_sheet(out: &mut String, drive: &Drive) -> std::fmt::Result {
    writeln!(out, "{}\nFasteners by component", drive.engine())?;
    let mut count: u32 = 0;
    for (component, kinds) in components(drive) {
        writeln!(out, "\n{component}")?;
        for kind in kinds {
            count += kind.count;
            let new = if kind.single_use { "; always new" } else { "" };
            writeln!(
                out,
                "  {} x {}: {}{new}",
                kind.count,
                kind.name,
                size_words(kind)
            )?;
            for (i, stage) in kind.torque.iter().enumerate() {
                writeln!(out, "    {}. {}", i + 1, tightening_words(stage))?;
            }
        }
    }
    if count == 0 {
        writeln!(out, "\nThe spec gives none (section 'fasteners:').")
    } else {
        writeln!(out, "\n{count} in all. {TORQUES_ARE_OF_THE_SPEC}")
    }
}

/// The fastener sheet as JSON; torques exact in all three units.
pub fn sheet_json(drive: &Drive) -> Value {
    let stage = |stage: &Tightening| match stage {
        Tightening::Angle(angle) => json!({ "degrees": angle }),
        Tightening::Torque(torque) => {
            let value = |unit| -> Option<Exact> { torque.in_unit(unit).ok() };
            json!({
                "as_given": torque.to_string(),
                "newton_metres": value(TorqueUnit::NewtonMetre),
                "pound_force_feet": value(TorqueUnit::PoundForceFoot),
                "pound_force_inches": value(TorqueUnit::PoundForceInch),
            })
        }
    };
    let kinds: Vec<Value> = drive
        .plan()
        .fasteners()
        .iter()
        .map(|kind| {
            json!({
                "name": kind.name,
                "component": kind.component,
                "count": kind.count,
                "thread": kind.thread,
                "length_mm": kind.length,
                "single_use": kind.single_use,
                "torque": kind.torque.iter().map(stage).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({ "engine": drive.engine(), "fasteners": kinds, "cautions": super::CAUTIONS })
}
