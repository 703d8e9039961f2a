//! The fasteners of a job by component, with count, length and torque.

use crate::drive::model::Drive;
use crate::drive::plan::Fastener;
use crate::render::words::escape::printable;
use crate::render::words::torque::{TORQUES_ARE_OF_THE_SPEC, size_words, tightening_words};
use std::fmt::Write as _;

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
    printable(&out)
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
