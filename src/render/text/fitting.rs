//! Fitted marks as a patch.

use crate::plane::fitting::Fitting;
use crate::render::words::escape::printable;
use crate::spec::source::Source;
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
