//! Why a mark could not be computed.

use super::escape::printable;
use crate::plane::fitting::Unfitted;
use crate::render::hints::{Hints, Wanted, bracketed};

/// Why something could not be computed, in one line. `hints` says how to see what is wrong.
pub fn unfitted_text(unfitted: &Unfitted, hints: &dyn Hints) -> String {
    let see = bracketed(hints, Wanted::FindingsFirst);
    printable(&match unfitted {
        Unfitted::Missing(missing) => missing.to_string(),
        Unfitted::NoPath { chain } => {
            format!("chain '{chain}' does not run as the spec has it{see}")
        }
        Unfitted::DotOffChain { chain, shaft, .. } => format!(
            "no chain lies on the dot of '{shaft}', so no link of chain '{chain}' can be on it (give a dot where it does to have a link)"
        ),
        Unfitted::Length { chain } => format!(
            "chain '{chain}' does not fit with the links it has, and marks are counted on those{see}"
        ),
        Unfitted::NoCount { chain, shaft } => format!(
            "only a slack strand of unknown length leads to '{shaft}' on chain '{chain}'{see}"
        ),
    })
}
