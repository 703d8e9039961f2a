//! Why a mark could not be computed.

use super::escape::printable;
use crate::plane::fitting::{FittedMark, FittedWhy, Unfitted};
use crate::render::hints::{Hints, Wanted, bracketed};
use crate::units::decimal::{decimal, exact};

/// Why something could not be computed, in one line. `hints` says how to see what is wrong.
pub fn unfitted_text(unfitted: &Unfitted, hints: &dyn Hints) -> String {
    let see = bracketed(hints, Wanted::FindingsFirst);
    printable(&match unfitted {
        Unfitted::Missing(missing) => missing.to_string(),
        Unfitted::NoPath { chain } => {
            format!("'{chain}' does not run as the spec has it{see}")
        }
        Unfitted::DotOffChain { chain, shaft, .. } => format!(
            "'{chain}' does not lie on the dot of '{shaft}', so no link of it can be on that (give a dot where it does to have a link)"
        ),
        Unfitted::Length { chain } => format!(
            "'{chain}' does not fit with the links it has, and marks are counted on those{see}"
        ),
        Unfitted::NoCount { chain, shaft } => {
            format!("only a slack strand of unknown length leads to '{shaft}' on '{chain}'{see}")
        }
    })
}

/// What becomes of a value and why, in one line.
pub(crate) fn fitted_text(mark: &FittedMark) -> String {
    let FittedMark {
        line,
        chain,
        shaft,
        key,
        old,
        new,
        why,
    } = mark;
    let what = match old {
        Some(old) => {
            format!("line {line}, '{shaft}' on '{chain}': '{old}' becomes '{key}: {new}'")
        }
        None => format!("line {line}, '{shaft}' on '{chain}': '{key}: {new}' is added"),
    };
    let why = match why {
        FittedWhy::Origin => "links are counted from here".to_owned(),
        FittedWhy::Counted { from, links, off } => {
            let counted = format!(
                "along the path its dot is {} links from the dot of '{from}'",
                decimal(*links, 2)
            );
            match off {
                Some(off) => format!(
                    "{counted}; as given it was {} {}",
                    decimal(off.abs(), 2),
                    if *off < 0.0 { "too few" } else { "too many" }
                ),
                None => counted,
            }
        }
        FittedWhy::Turned { link } => {
            format!("there link {} lies on it", exact(link.get()))
        }
    };
    format!("{what}: {why}")
}
