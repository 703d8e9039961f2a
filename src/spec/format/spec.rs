//! The whole of a spec.

use super::{
    CHAIN, CYLINDERS, FASTENER, FORMAT_VERSION, MAX_CAMSHAFTS, MAX_CHAINS, MAX_PARTS, MAX_SHAFTS,
    MAX_STEPS, MAX_TOOLS, MAX_VALVES, PART, Record, SHAFT, STEP, Shape, VALVE, key, optional,
    required,
};
use crate::spec::choice::Rotation;

/// The whole file.
pub(crate) static SPEC: Record = Record {
    title: "a spec",
    fields: &[
        required(
            key::TAUTMARK,
            Shape::Whole {
                min: 1,
                max: FORMAT_VERSION as i64,
                unit: "(version of the file format)",
            },
            "version of the file format: 1",
        ),
        required(key::ENGINE, Shape::Text, "what the engine is called"),
        required(
            key::CRANK_TURNS,
            Shape::Choice(Rotation::CHOICES),
            "the normal direction of rotation, facing the timing end",
        ),
        optional(
            key::TIMED_POSITION,
            Shape::Text,
            "the crank position at which every dot belongs on its link",
        ),
        optional(
            key::CAMSHAFTS,
            Shape::Whole {
                min: 1,
                max: MAX_CAMSHAFTS as i64,
                unit: "camshafts",
            },
            "how many camshafts the engine has, all banks together; if fewer are under `shafts`, nothing proves the engine",
        ),
        required(
            key::SHAFTS,
            Shape::Named {
                record: &SHAFT,
                max: MAX_SHAFTS,
                what: "shafts",
            },
            "every shaft by its name",
        ),
        required(
            key::CHAINS,
            Shape::Named {
                record: &CHAIN,
                max: MAX_CHAINS,
                what: "chains",
            },
            "every chain by its name",
        ),
        optional(
            key::CYLINDERS,
            Shape::Record(&CYLINDERS),
            "the cylinders and what moves in them, for trapped compression and clearance",
        ),
        optional(
            key::VALVES,
            Shape::Named {
                record: &VALVE,
                max: MAX_VALVES,
                what: "entries under 'valves:'",
            },
            "the valves that one cam lobe after the other opens alike, by a name of your own",
        ),
        optional(
            key::PARTS,
            Shape::Named {
                record: &PART,
                max: MAX_PARTS,
                what: "parts",
            },
            "what the job around the chain needs, by names of your own",
        ),
        optional(
            key::FASTENERS,
            Shape::Named {
                record: &FASTENER,
                max: MAX_PARTS,
                what: "kinds of fasteners",
            },
            "bolts and nuts, by names of your own",
        ),
        optional(
            key::TOOLS,
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: MAX_TOOLS,
                what: "locking tools",
            },
            "the locking tools that hold shafts while the chain is hung; asked for, in and out",
        ),
        optional(
            key::STEPS,
            Shape::List {
                of: &Shape::Record(&STEP),
                min: 0,
                max: MAX_STEPS,
                what: "steps",
            },
            "the steps of the job, in order; left out, the three mark checks and three gates alone",
        ),
    ],
};
