//! What has to be said, whatever the verdict.

use std::fmt::Write as _;

/// Said again when the engine is turned.
pub(crate) const TURNING: &str = "Turn the engine only by hand, in its normal direction, and stop at any resistance: valves may be meeting pistons.";
/// Said again when the tensioner is released.
pub(crate) const TENSIONER: &str =
    "A tensioner stores energy: no fingers in the drive when it is released.";

/// What has to be said with every verdict.
pub const CAUTIONS: &[&str] = &[
    "Engine off, battery disconnected, engine supported.",
    TURNING,
    TENSIONER,
    "The maker's service information and torque figures rule over this tool.",
    "Work that needs a licence belongs to whoever holds it.",
];

pub(crate) fn write_cautions(out: &mut String) -> std::fmt::Result {
    writeln!(out, "\nCautions")?;
    for caution in CAUTIONS {
        writeln!(out, "  - {caution}")?;
    }
    Ok(())
}
