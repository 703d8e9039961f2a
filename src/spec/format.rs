//! The file format, stated once: which keys there are, of what kind, within which bounds, and what
//! they mean. The reader checks against these tables, `tautmark schema` is made of them, and the
//! README's table of keys is tested against them.

use crate::units::quantity::{LinkCount, ToothCount};

/// The version of the file format that this library reads.
pub const FORMAT_VERSION: u32 = 1;
/// The version of the format of records that this library reads and writes.
pub const RECORD_VERSION: u32 = 1;
/// The version of the format of records that hold a whole job, as this library writes it.
pub const JOB_VERSION: u32 = 2;
/// Most shafts of one drive.
pub const MAX_SHAFTS: usize = 16;
/// Most chains of one drive.
pub const MAX_CHAINS: usize = 8;
/// Most crank turns since a drive was timed.
pub(crate) const MAX_TURNED: i64 = 1_000_000;
/// Most looks in one record.
pub(crate) const MAX_LOOKS: usize = 1000;
/// Most entries in the history of one job.
pub(crate) const MAX_ENTRIES: usize = 2000;
/// Most sprockets of one drive, and so most marks in one look.
pub(crate) const MAX_SIGHTS: usize = MAX_CHAINS * MAX_PATH;
/// Most entries on one chain's path.
pub(crate) const MAX_PATH: usize = 64;
/// Most parts, and most kinds of fasteners, of one job.
pub(crate) const MAX_PARTS: usize = 200;
/// Most steps of one job.
pub(crate) const MAX_STEPS: usize = 100;
/// Most minutes that a step makes the next one wait: a week.
pub(crate) const MAX_WAIT: i64 = 7 * 24 * 60;
/// Most characters of a name.
pub(crate) const MAX_NAME: usize = 32;
/// Most characters of a text.
pub(crate) const MAX_TEXT: usize = 200;

/// Most cylinders of one engine.
pub(crate) const MAX_CYLINDERS: usize = 16;
/// Most entries under `valves:`.
pub(crate) const MAX_VALVES: usize = 32;
/// Most points of a lift table.
pub(crate) const MAX_LIFT_POINTS: usize = 720;

/// What kind of value a key takes.
#[derive(Clone, Copy)]
pub(crate) enum Shape {
    /// Printable characters, at most [`MAX_TEXT`].
    Text,
    /// A name given elsewhere in the file.
    Name,
    /// A name of one's own.
    OwnName,
    /// One of some words, each with its meaning.
    Choice(&'static [(&'static str, &'static str)]),
    /// A whole number within bounds.
    Whole {
        min: i64,
        max: i64,
        unit: &'static str,
    },
    /// An exact number within bounds; `above`: the least itself is excluded.
    Number {
        min: i64,
        max: i64,
        unit: &'static str,
        above: bool,
    },
    /// `true` or `false`.
    Flag,
    /// A list of exactly two.
    Pair(&'static Shape, &'static str),
    /// A list of so many values of one kind.
    List {
        of: &'static Shape,
        min: usize,
        max: usize,
        what: &'static str,
    },
    /// A valve event in the trade's form: `12 BTDC`.
    Event,
    /// A mapping with fixed keys.
    Record(&'static Record),
    /// A mapping from names of one's own to records.
    Named {
        record: &'static Record,
        max: usize,
        what: &'static str,
    },
    /// A mapping from sprockets, as `SHAFT` or `CHAIN/SHAFT`, to values of one kind.
    BySprocket {
        value: &'static Shape,
        max: usize,
        what: &'static str,
    },
    /// A list of records, told apart by the first key of each.
    Entries {
        variants: &'static [&'static Record],
        max: usize,
        what: &'static str,
    },
}

/// A key of a record.
pub(crate) struct Field {
    pub(crate) key: &'static str,
    pub(crate) required: bool,
    pub(crate) shape: Shape,
    pub(crate) about: &'static str,
}

/// A mapping with fixed keys.
pub(crate) struct Record {
    /// With its article, for messages: "a shaft".
    pub(crate) title: &'static str,
    pub(crate) fields: &'static [Field],
}

const fn required(key: &'static str, shape: Shape, about: &'static str) -> Field {
    Field {
        key,
        required: true,
        shape,
        about,
    }
}

const fn optional(key: &'static str, shape: Shape, about: &'static str) -> Field {
    Field {
        key,
        required: false,
        shape,
        about,
    }
}

const COORDINATE: Shape = Shape::Number {
    min: -5000,
    max: 5000,
    unit: "mm",
    above: false,
};
const CLOCK: Shape = Shape::Number {
    min: -360,
    max: 360,
    unit: "degrees",
    above: false,
};
const RADIUS: Shape = Shape::Number {
    min: 0,
    max: 5000,
    unit: "mm",
    above: true,
};
const LINK: Shape = Shape::Whole {
    min: 0,
    max: LinkCount::MAX as i64 - 1,
    unit: "links",
};
const POINT: Shape = Shape::Pair(&COORDINATE, "a place [x, y]");

pub(crate) const ROTATIONS: &[(&str, &str)] = &[
    ("clockwise", "as seen facing the timing end"),
    ("counter-clockwise", "as seen facing the timing end"),
];

pub(crate) const SHAFT_KINDS: &[(&str, &str)] = &[
    (
        "crankshaft",
        "the one that drives; every drive has exactly one",
    ),
    ("camshaft", "must come to exactly half crank speed"),
    ("idler", "carries one or more sprockets, opens no valves"),
    ("balance", "a balance shaft; it must be in time too"),
    (
        "pump",
        "an oil, water or injection pump; in time only if it has a dot or a link",
    ),
];

pub(crate) const PARKED: &[(&str, &str)] = &[
    (
        "advanced",
        "locked at the end that opens the valves earliest",
    ),
    ("retarded", "locked at the end that opens the valves latest"),
    ("middle", "locked between its ends"),
];

/// The whole file.
pub(crate) static SPEC: Record = Record {
    title: "a spec",
    fields: &[
        required(
            "tautmark",
            Shape::Whole {
                min: 1,
                max: FORMAT_VERSION as i64,
                unit: "(version of the file format)",
            },
            "version of the file format: 1",
        ),
        required("engine", Shape::Text, "what the engine is called"),
        required(
            "crank_turns",
            Shape::Choice(ROTATIONS),
            "the normal direction of rotation, facing the timing end",
        ),
        optional(
            "timed_position",
            Shape::Text,
            "the crank position at which every dot belongs on its link",
        ),
        required(
            "shafts",
            Shape::Named {
                record: &SHAFT,
                max: MAX_SHAFTS,
                what: "shafts",
            },
            "every shaft by its name",
        ),
        required(
            "chains",
            Shape::Named {
                record: &CHAIN,
                max: MAX_CHAINS,
                what: "chains",
            },
            "every chain by its name",
        ),
        optional(
            "cylinders",
            Shape::Record(&CYLINDERS),
            "the cylinders and what moves in them, for trapped compression and clearance",
        ),
        optional(
            "valves",
            Shape::Named {
                record: &VALVE,
                max: MAX_VALVES,
                what: "entries under 'valves:'",
            },
            "the valves that one cam lobe after the other opens alike, by a name of your own",
        ),
        optional(
            "parts",
            Shape::Named {
                record: &PART,
                max: MAX_PARTS,
                what: "parts",
            },
            "what the job around the chain needs, by names of your own",
        ),
        optional(
            "fasteners",
            Shape::Named {
                record: &FASTENER,
                max: MAX_PARTS,
                what: "kinds of fasteners",
            },
            "bolts and nuts, by names of your own",
        ),
        optional(
            "steps",
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

pub(crate) static PART: Record = Record {
    title: "a part",
    fields: &[
        required("about", Shape::Text, "what it is"),
        required(
            "quantity",
            Shape::Whole {
                min: 1,
                max: 1000,
                unit: "pieces",
            },
            "how many the job takes",
        ),
        optional(
            "single_use",
            Shape::Flag,
            "true: once fitted it must not be fitted again",
        ),
    ],
};

pub(crate) static FASTENER: Record = Record {
    title: "a kind of fastener",
    fields: &[
        required("component", Shape::Text, "what it holds"),
        required(
            "count",
            Shape::Whole {
                min: 1,
                max: 1000,
                unit: "pieces",
            },
            "how many there are",
        ),
        required("thread", Shape::Text, "its thread, such as M8 x 1.25"),
        required(
            "length",
            Shape::Number {
                min: 0,
                max: 1000,
                unit: "mm",
                above: true,
            },
            "its length in mm",
        ),
        optional(
            "single_use",
            Shape::Flag,
            "true: it must be a new one, and belongs to what is to be on the bench",
        ),
        required(
            "torque",
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

pub(crate) const GATES: &[(&str, &str)] = &[
    (
        "release",
        "the tensioner is released: opens when the marks are in time as hung",
    ),
    (
        "cover",
        "the cover goes on: opens when the marks are in time at all three stages",
    ),
    (
        "sign-off",
        "the end of the job: opens when, besides, all else is done",
    ),
];

pub(crate) static STEP: Record = Record {
    title: "a step",
    fields: &[
        required("step", Shape::OwnName, "a name of your own"),
        required("about", Shape::Text, "what is done"),
        optional(
            "parts",
            Shape::List {
                of: &Shape::Name,
                min: 0,
                max: MAX_PARTS,
                what: "parts",
            },
            "the parts that it takes, by their names under `parts`",
        ),
        optional(
            "fasteners",
            Shape::List {
                of: &Shape::Name,
                min: 0,
                max: MAX_PARTS,
                what: "kinds of fasteners",
            },
            "what is tightened, by names under `fasteners`; each must be confirmed",
        ),
        optional(
            "stage",
            Shape::Choice(STAGES),
            "the marks must be seen to be in time at this stage",
        ),
        optional(
            "gate",
            Shape::Choice(GATES),
            "opens only when the timing is proven",
        ),
        optional(
            "wait",
            Shape::Whole {
                min: 1,
                max: MAX_WAIT,
                unit: "minutes",
            },
            "minutes before the next step, such as for sealant to cure",
        ),
    ],
};

pub(crate) static SHAFT: Record = Record {
    title: "a shaft",
    fields: &[
        required("kind", Shape::Choice(SHAFT_KINDS), "what the shaft is"),
        optional(
            "at",
            POINT,
            "its centre in mm, x to the right, y up, facing the timing end",
        ),
        optional(
            "phaser",
            Shape::Record(&PHASER),
            "a phaser between sprocket and camshaft",
        ),
    ],
};

pub(crate) static PHASER: Record = Record {
    title: "a phaser",
    fields: &[
        required(
            "range",
            Shape::Number {
                min: 0,
                max: 180,
                unit: "crank degrees",
                above: true,
            },
            "from end to end, in crank degrees",
        ),
        required(
            "parked",
            Shape::Choice(PARKED),
            "where its lock holds it with the engine off",
        ),
    ],
};

pub(crate) static CHAIN: Record = Record {
    title: "a chain",
    fields: &[
        required(
            "links",
            Shape::Whole {
                min: LinkCount::MIN as i64,
                max: LinkCount::MAX as i64,
                unit: "links",
            },
            "how many links it has, inner and outer ones alike",
        ),
        optional(
            "pitch",
            Shape::Number {
                min: 0,
                max: 100,
                unit: "mm",
                above: true,
            },
            "from pin to pin in mm",
        ),
        optional(
            "elongation_limit",
            Shape::Number {
                min: 0,
                max: 1,
                unit: "(a fraction of the length)",
                above: true,
            },
            "the elongation at which it must be replaced: 1/100 is one per cent",
        ),
        required(
            "path",
            Shape::Entries {
                variants: &[&SPROCKET, &GUIDE, &TENSIONER],
                max: MAX_PATH,
                what: "entries on the path",
            },
            "what a travelling link meets, in that order",
        ),
    ],
};

pub(crate) static SPROCKET: Record = Record {
    title: "a sprocket",
    fields: &[
        required("sprocket", Shape::Name, "the shaft that carries it"),
        required(
            "teeth",
            Shape::Whole {
                min: ToothCount::MIN as i64,
                max: ToothCount::MAX as i64,
                unit: "teeth",
            },
            "how many teeth it has",
        ),
        optional(
            "dot",
            CLOCK,
            "where its dot points in the timed position, in degrees clockwise from twelve o'clock",
        ),
        optional(
            "link",
            LINK,
            "the coloured link on which its dot belongs, counted from 0 in the direction of travel",
        ),
        optional(
            "links",
            Shape::Pair(&LINK, "two links [a, b]"),
            "the two coloured links between which its dot belongs",
        ),
        optional(
            "colour",
            Shape::Text,
            "the colour of that link or those links",
        ),
        optional(
            "outside",
            Shape::Flag,
            "true: the chain's outside drives it, so it turns the other way",
        ),
        optional(
            "dowel_holes",
            Shape::List {
                of: &CLOCK,
                min: 0,
                max: 16,
                what: "dowel holes",
            },
            "other holes into which its dowel would go, in degrees of its shaft ahead of the right one",
        ),
    ],
};

pub(crate) static GUIDE: Record = Record {
    title: "a guide",
    fields: &[
        required("guide", POINT, "the centre of its arc in mm"),
        required("radius", RADIUS, "the radius of its arc in mm"),
        optional(
            "outside",
            Shape::Flag,
            "true: it bears on the chain's outside",
        ),
    ],
};

pub(crate) static TENSIONER: Record = Record {
    title: "a tensioner",
    fields: &[
        required(
            "tensioner",
            POINT,
            "the centre of its shoe's arc in mm, pushed all the way back",
        ),
        required("radius", RADIUS, "the radius of its shoe's arc in mm"),
        optional(
            "outside",
            Shape::Flag,
            "true: its shoe bears on the chain's outside",
        ),
        required(
            "pushes",
            CLOCK,
            "the direction in which it pushes, in degrees clockwise from twelve o'clock",
        ),
        required(
            "stroke",
            Shape::Number {
                min: 0,
                max: 500,
                unit: "mm",
                above: true,
            },
            "how far it can push, in mm",
        ),
    ],
};

pub(crate) const STAGES: &[(&str, &str)] = &[
    ("hung", "before the tensioner is released"),
    ("released", "after the tensioner is released"),
    ("turned", "after turning the engine by hand"),
];

const SIGHTS: Shape = Shape::BySprocket {
    value: &Shape::Text,
    max: MAX_SIGHTS,
    what: "marks",
};

/// A whole record of what was seen.
pub(crate) static RECORD: Record = Record {
    title: "a record",
    fields: &[
        required(
            "tautmark_record",
            Shape::Whole {
                min: 1,
                max: JOB_VERSION as i64,
                unit: "(version of the record format)",
            },
            "version of the record format: 1, or 2 with a history",
        ),
        required("engine", Shape::Text, "what the spec calls the engine"),
        required("spec", Shape::Text, "the spec file, as it was named"),
        optional(
            "drive",
            Shape::Text,
            "fingerprint of the drive that was looked at; leave it out when writing by hand",
        ),
        required(
            "stages",
            Shape::List {
                of: &Shape::Record(&LOOK),
                min: 0,
                max: MAX_LOOKS,
                what: "stages",
            },
            "what was seen, in order; a stage that was gone through again stands again",
        ),
    ],
};

pub(crate) static LOOK: Record = Record {
    title: "a stage",
    fields: &[
        required("stage", Shape::Choice(STAGES), "when it was looked at"),
        optional(
            "turned",
            Shape::Number {
                min: 0,
                max: MAX_TURNED,
                unit: "turns",
                above: false,
            },
            "crank turns since the drive was timed",
        ),
        optional(
            "links",
            SIGHTS,
            "where each dot stands against its coloured link",
        ),
        optional(
            "dots",
            SIGHTS,
            "where each dot stands against its reference mark on the engine",
        ),
        optional(
            "not_seen",
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: 2 * MAX_SIGHTS,
                what: "marks",
            },
            "what could not be seen, as 'link SHAFT' or 'dot SHAFT'",
        ),
    ],
};

const CYLINDER: Shape = Shape::Whole {
    min: 1,
    max: MAX_CYLINDERS as i64,
    unit: "(cylinder number)",
};
const OFFSET: Shape = Shape::Number {
    min: 0,
    max: 720,
    unit: "crank degrees",
    above: false,
};
const LIFT_NUMBER: Shape = Shape::Number {
    min: -720,
    max: 720,
    unit: "crank degrees or mm",
    above: false,
};
const LIFT_POINT: Shape = Shape::Pair(&LIFT_NUMBER, "a point [crank degrees, mm]");

/// Millimetres from `min` to `max`.
const fn millimetres(min: i64, max: i64) -> Shape {
    Shape::Number {
        min,
        max,
        unit: "mm",
        above: false,
    }
}

/// Millimetres above zero, up to `max`.
const fn millimetres_above_zero(max: i64) -> Shape {
    Shape::Number {
        min: 0,
        max,
        unit: "mm",
        above: true,
    }
}

pub(crate) const VALVE_KINDS: &[(&str, &str)] = &[
    ("intake", "opens near TDC and closes near BDC"),
    ("exhaust", "opens near BDC and closes near TDC"),
];

pub(crate) static CYLINDERS: Record = Record {
    title: "the 'cylinders' section",
    fields: &[
        optional("bore", millimetres_above_zero(1000), "the bore in mm"),
        required(
            "stroke",
            millimetres_above_zero(3000),
            "the piston's stroke in mm",
        ),
        required(
            "rod",
            millimetres_above_zero(6000),
            "the connecting rod's length in mm, from centre to centre",
        ),
        required(
            "compression",
            Shape::Number {
                min: 1,
                max: 40,
                unit: "(compression ratio)",
                above: true,
            },
            "the compression ratio: 10.5 is 10.5 to 1",
        ),
        optional(
            "deck",
            millimetres(-50, 50),
            "how far the piston's crown stands above the deck at TDC, in mm; below zero: beneath it",
        ),
        optional(
            "gasket",
            millimetres(0, 20),
            "the head gasket's thickness as clamped, in mm",
        ),
        required(
            "firing_order",
            Shape::List {
                of: &CYLINDER,
                min: 1,
                max: MAX_CYLINDERS,
                what: "cylinders",
            },
            "every cylinder's number once, in the order in which they fire",
        ),
        optional(
            "offsets",
            Shape::List {
                of: &OFFSET,
                min: 1,
                max: MAX_CYLINDERS,
                what: "offsets",
            },
            "crank degrees from the timed position to each cylinder's TDC of compression, cylinder 1 first; without it: evenly over 720, cylinder 1 first",
        ),
    ],
};

pub(crate) static VALVE: Record = Record {
    title: "an entry under 'valves:'",
    fields: &[
        required("shaft", Shape::Name, "the camshaft that opens them"),
        required("kind", Shape::Choice(VALVE_KINDS), "what the valves are"),
        optional(
            "cylinders",
            Shape::List {
                of: &CYLINDER,
                min: 1,
                max: MAX_CYLINDERS,
                what: "cylinders",
            },
            "the cylinders on which they sit; without it: all",
        ),
        required(
            "opens",
            Shape::Event,
            "when they open, the drive in time and a phaser parked: 12 BTDC",
        ),
        required(
            "closes",
            Shape::Event,
            "when they close, the drive in time and a phaser parked: 48 ABDC",
        ),
        required(
            "at_lift",
            millimetres(0, 50),
            "the lift in mm at which the two events are stated; 0: from seat to seat",
        ),
        optional("lift", millimetres_above_zero(100), "the most lift in mm"),
        optional(
            "lift_table",
            Shape::List {
                of: &LIFT_POINT,
                min: 3,
                max: MAX_LIFT_POINTS,
                what: "points of a lift table",
            },
            "points [crank degrees, lift in mm] instead of lift, from 0 up and down to 0; its degrees may be counted from anywhere",
        ),
        optional(
            "inclination",
            Shape::Number {
                min: 0,
                max: 60,
                unit: "degrees",
                above: false,
            },
            "between the valve's axis and the cylinder's, in degrees",
        ),
        optional(
            "recess",
            millimetres(-20, 50),
            "how far the closed valve's lowest edge lies above the head's face, along the valve's axis, in mm; below zero: it stands out",
        ),
        optional(
            "relief",
            millimetres(0, 50),
            "how deep the piston's pocket for it is, along the valve's axis, in mm",
        ),
    ],
};

/// What may stand in the history of a job.
pub(crate) static ENTRIES: &[&Record] = &[&BEGUN, &BENCH, &ORDERED, &TORQUE, &STEP_DONE, &LOOKED];

/// A whole record of a job.
pub(crate) static JOB: Record = Record {
    title: "a job",
    fields: &[
        required(
            "tautmark_record",
            Shape::Whole {
                min: 1,
                max: JOB_VERSION as i64,
                unit: "(version of the record format)",
            },
            "version of the record format: 1, or 2 with a history",
        ),
        required("engine", Shape::Text, "what the spec calls the engine"),
        required("spec", Shape::Text, "the spec file, as it was named"),
        required("drive", Shape::Text, "fingerprint of the drive"),
        required(
            "history",
            Shape::Entries {
                variants: ENTRIES,
                max: MAX_ENTRIES,
                what: "entries",
            },
            "what was done, in order",
        ),
        required("last", Shape::Text, "the checksum of the last entry"),
    ],
};

const AT: Field = optional("at", Shape::Text, "when, in UTC");
const BY: Field = optional("by", Shape::Text, "by whom");
const SUM: Field = required(
    "sum",
    Shape::Text,
    "checksum of this entry and the one before",
);
const OVERRIDE: Field = optional(
    "override",
    Shape::Record(&OVERRIDDEN),
    "what stood against it, and why it was done all the same",
);

pub(crate) static OVERRIDDEN: Record = Record {
    title: "an override",
    fields: &[
        required("why", Shape::Text, "the reason that was given"),
        required(
            "against",
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: 2 * MAX_PARTS + MAX_STEPS,
                what: "reasons",
            },
            "what stood against it",
        ),
    ],
};

pub(crate) static BEGUN: Record = Record {
    title: "a beginning",
    fields: &[
        required(
            "job",
            Shape::Choice(&[("begun", "the record was begun")]),
            "that the job was begun",
        ),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static BENCH: Record = Record {
    title: "a part on the bench",
    fields: &[
        required("part", Shape::Text, "the part or single-use fastener"),
        required(
            "count",
            Shape::Whole {
                min: 0,
                max: 1_000_000,
                unit: "pieces",
            },
            "how many are there",
        ),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static ORDERED: Record = Record {
    title: "an order",
    fields: &[
        required("ordered", Shape::Text, "the part or single-use fastener"),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static TORQUE: Record = Record {
    title: "a torque",
    fields: &[
        required("torque", Shape::Text, "the fastener"),
        required("to", Shape::Text, "what it was tightened to"),
        AT,
        BY,
        OVERRIDE,
        SUM,
    ],
};

pub(crate) static STEP_DONE: Record = Record {
    title: "a step done",
    fields: &[
        required("step", Shape::Text, "the step"),
        AT,
        BY,
        OVERRIDE,
        SUM,
    ],
};

pub(crate) static LOOKED: Record = Record {
    title: "a look",
    fields: &[
        required("look", Shape::Record(&LOOK), "what was seen"),
        AT,
        BY,
        SUM,
    ],
};
