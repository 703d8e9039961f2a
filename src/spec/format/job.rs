//! Parts, fasteners and steps of the job around the chain.

use super::{MAX_PARTS, MAX_WAIT, Record, Shape, key, optional, required};
use crate::spec::stage::{Gate, Stage};

pub(crate) static PART: Record = Record {
    title: "a part",
    fields: &[
        required(key::ABOUT, Shape::Text, "what it is"),
        required(
            key::QUANTITY,
            Shape::Whole {
                min: 1,
                max: 1000,
                unit: "pieces",
            },
            "how many the job takes",
        ),
        optional(
            key::SINGLE_USE,
            Shape::Flag,
            "true: once fitted it must not be fitted again",
        ),
        optional(
            key::COUNT_OLD,
            Shape::Flag,
            "true: the old ones are counted, and as many must have come off as go on",
        ),
    ],
};

pub(crate) static FASTENER: Record = Record {
    title: "a kind of fastener",
    fields: &[
        required(key::COMPONENT, Shape::Text, "what it holds"),
        required(
            key::COUNT,
            Shape::Whole {
                min: 1,
                max: 1000,
                unit: "pieces",
            },
            "how many there are",
        ),
        required(key::THREAD, Shape::Text, "its thread, such as M8 x 1.25"),
        required(
            key::LENGTH,
            Shape::Number {
                min: 0,
                max: 1000,
                unit: "mm",
                above: true,
            },
            "its length in mm",
        ),
        optional(
            key::SINGLE_USE,
            Shape::Flag,
            "true: it must be a new one, and belongs to what is to be on the bench",
        ),
        required(
            key::TORQUE,
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: 8,
                what: "stages of tightening",
            },
            "every stage of tightening: `30 N m`, `22 lbf ft`, `90 lbf in`, or an angle `90 deg`",
        ),
    ],
};

pub(crate) static STEP: Record = Record {
    title: "a step",
    fields: &[
        required(key::STEP, Shape::OwnName, "a name of your own"),
        required(key::ABOUT, Shape::Text, "what is done"),
        optional(
            key::PARTS,
            Shape::List {
                of: &Shape::Name,
                min: 0,
                max: MAX_PARTS,
                what: "parts",
            },
            "the parts that it takes, by their names under `parts`",
        ),
        optional(
            key::FASTENERS,
            Shape::List {
                of: &Shape::Name,
                min: 0,
                max: MAX_PARTS,
                what: "kinds of fasteners",
            },
            "what is tightened, by names under `fasteners`; each must be confirmed",
        ),
        optional(
            key::STAGE,
            Shape::Choice(Stage::CHOICES),
            "the marks must be seen to be in time at this stage",
        ),
        optional(
            key::GATE,
            Shape::Choice(Gate::CHOICES),
            "opens only when the timing is proven",
        ),
        optional(
            key::WAIT,
            Shape::Whole {
                min: 1,
                max: MAX_WAIT,
                unit: "minutes",
            },
            "minutes before the next step, such as for sealant to cure",
        ),
        optional(
            key::WITHIN,
            Shape::Whole {
                min: 1,
                max: MAX_WAIT,
                unit: "minutes",
            },
            "minutes after the step before, at most, such as before sealant skins over",
        ),
    ],
};
