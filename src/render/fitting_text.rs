//! Fitted marks as a patch.

use super::printable;
use crate::plane::fitting::{Fitting, Unfitted};
use crate::spec::source::Source;
use serde_json::{Value, json};
use std::fmt::Write as _;

/// The changes as a unified diff without context, which patching programs take; empty if nothing changes.
pub fn fitting_text(fitting: &Fitting, source: &Source) -> String {
    let mut out = String::new();
    if fitting.changes.is_empty() {
        return out;
    }
    let name = source.name();
    // Writing to a String cannot fail.
    let _ = writeln!(out, "--- {name}\n+++ {name}");
    // Lines that were added above move the new line numbers down.
    let mut added = 0;
    for change in &fitting.changes {
        let lines = change.new.lines().count();
        let count = if lines == 1 {
            String::new()
        } else {
            format!(",{lines}")
        };
        let _ = writeln!(
            out,
            "@@ -{} +{}{count} @@",
            change.line,
            change.line + added
        );
        let _ = writeln!(out, "-{}", change.old);
        for line in change.new.lines() {
            let _ = writeln!(out, "+{line}");
        }
        added += lines - 1;
    }
    printable(&out)
}

/// Why something could not be fitted, in one line.
pub fn unfitted_text(unfitted: &Unfitted) -> String {
    printable(&match unfitted {
        Unfitted::Missing(missing) => missing.to_string(),
        Unfitted::NoPath { chain } => format!(
            "chain '{chain}' does not run as the spec has it (see what lint finds without --fit)"
        ),
        Unfitted::DotOffChain { chain, shaft, .. } => format!(
            "no chain lies on the dot of '{shaft}', so no link of chain '{chain}' can be on it (give a dot where it does to have a link)"
        ),
        Unfitted::Length { chain } => format!(
            "chain '{chain}' does not fit with the links it has, and marks are counted on those (see what lint finds without --fit)"
        ),
        Unfitted::NoCount { chain, shaft } => format!(
            "only a slack strand of unknown length leads to '{shaft}' on chain '{chain}' (see what lint finds without --fit)"
        ),
    })
}

/// The changes for a program to read.
pub fn fitting_json(fitting: &Fitting, source: &Source) -> Value {
    json!({
        "file": source.name(),
        "changes": fitting
            .changes
            .iter()
            .map(|change| json!({ "line": change.line, "old": change.old, "new": change.new }))
            .collect::<Vec<_>>(),
        "unfitted": fitting.unfitted.iter().map(unfitted_text).collect::<Vec<_>>(),
    })
}
