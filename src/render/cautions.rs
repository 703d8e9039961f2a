/// What has to be said with every verdict.
pub const CAUTIONS: &[&str] = &[
    "Engine off, battery disconnected, engine supported.",
    "Turn the engine only by hand, in its normal direction, and stop at any resistance: valves may be meeting pistons.",
    "A tensioner stores energy: no fingers in the drive when it is released.",
    "The maker's service information and torque figures rule over this tool.",
    "Work that needs a licence belongs to whoever holds it.",
];
