//! The file format, stated once: which keys there are, of what kind, within which bounds, and what
//! they mean. The reader checks against these tables, `tautmark schema` is made of them, and the
//! README's table of keys is tested against them.

use crate::quantity::{LinkCount, ToothCount};

/// The version of the file format that this library reads.
pub const FORMAT_VERSION: u32 = 1;
/// Most shafts of one drive.
pub const MAX_SHAFTS: usize = 16;
/// Most chains of one drive.
pub const MAX_CHAINS: usize = 8;
/// Most entries on one chain's path.
pub(crate) const MAX_PATH: usize = 64;
/// Most characters of a name.
pub(crate) const MAX_NAME: usize = 32;
/// Most characters of a text.
pub(crate) const MAX_TEXT: usize = 200;

/// What kind of value a key takes.
#[derive(Clone, Copy)]
pub(crate) enum Shape {
    /// Printable characters, at most [`MAX_TEXT`].
    Text,
    /// A name given elsewhere in the file.
    Name,
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
    /// A list of at most so many.
    List {
        of: &'static Shape,
        max: usize,
        what: &'static str,
    },
    /// A mapping with fixed keys.
    Record(&'static Record),
    /// A mapping from names of one's own to records.
    Named {
        record: &'static Record,
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
            "its teeth",
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
