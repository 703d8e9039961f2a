//! Shafts and chains, with what stands on a chain's path.

use super::{MAX_PATH, Record, Shape, key, optional, required};
use crate::spec::choice::{ChainKind, Parked, ShaftKind};
use crate::units::quantity::{LinkCount, ToothCount};

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

pub(crate) static SHAFT: Record = Record {
    title: "a shaft",
    fields: &[
        required(
            key::KIND,
            Shape::Choice(ShaftKind::CHOICES),
            "what the shaft is",
        ),
        optional(
            key::AT,
            POINT,
            "its centre in mm, x to the right, y up, facing the timing end",
        ),
        optional(
            key::PHASER,
            Shape::Record(&PHASER),
            "a phaser between sprocket and camshaft",
        ),
    ],
};

pub(crate) static PHASER: Record = Record {
    title: "a phaser",
    fields: &[
        required(
            key::RANGE,
            Shape::Number {
                min: 0,
                max: 180,
                unit: "crank degrees",
                above: true,
            },
            "from end to end, in crank degrees",
        ),
        required(
            key::PARKED,
            Shape::Choice(Parked::CHOICES),
            "where its lock holds it with the engine off",
        ),
        optional(
            key::HAND_TIGHT,
            Shape::Flag,
            "true: its bolts stay hand-tight until the chain is hung",
        ),
    ],
};

pub(crate) static CHAIN: Record = Record {
    title: "a chain",
    fields: &[
        optional(
            key::KIND,
            Shape::Choice(ChainKind::CHOICES),
            "what runs over the sprockets; left out, a chain whose inner and outer links take turns",
        ),
        required(
            key::LINKS,
            Shape::Whole {
                min: LinkCount::MIN as i64,
                max: LinkCount::MAX as i64,
                unit: "links",
            },
            "how many links it has, inner and outer ones alike; of a belt, its teeth; of gears, the teeth of the driven one",
        ),
        optional(
            key::PITCH,
            Shape::Number {
                min: 0,
                max: 100,
                unit: "mm",
                above: true,
            },
            "from pin to pin in mm; of a belt, from tooth to tooth along its pitch line; of gears, along the pitch circle: pi times the module",
        ),
        optional(
            key::ELONGATION_LIMIT,
            Shape::Number {
                min: 0,
                max: 1,
                unit: "(a fraction of the length)",
                above: true,
            },
            "the elongation at which it must be replaced: 1/100 is one per cent",
        ),
        optional(
            key::CRANKED_LINK,
            Shape::Flag,
            "true if it is closed with a cranked link, and so may have an odd number of links",
        ),
        required(
            key::PATH,
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
        required(key::SPROCKET, Shape::Name, "the shaft that carries it"),
        required(
            key::TEETH,
            Shape::Whole {
                min: ToothCount::MIN as i64,
                max: ToothCount::MAX as i64,
                unit: "teeth",
            },
            "how many teeth it has",
        ),
        optional(
            key::DOT,
            CLOCK,
            "where its dot points in the timed position, in degrees clockwise from twelve o'clock",
        ),
        optional(
            key::LINK,
            LINK,
            "the coloured link on which its dot belongs, counted from 0 in the direction of travel; of gears 0, the line of centres",
        ),
        optional(
            key::LINKS,
            Shape::Pair(&LINK, "two links [a, b]"),
            "the two coloured links between which its dot belongs",
        ),
        optional(
            key::COLOUR,
            Shape::Text,
            "the colour of that link or those links",
        ),
        optional(
            key::OUTSIDE,
            Shape::Flag,
            "true: the chain's outside drives it, or it meshes with the gear that drives it from outside, so it turns the other way",
        ),
        optional(
            key::DOWEL_HOLES,
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
        required(key::GUIDE, POINT, "the centre of its arc in mm"),
        required(key::RADIUS, RADIUS, "the radius of its arc in mm"),
        optional(
            key::OUTSIDE,
            Shape::Flag,
            "true: it bears on the chain's outside",
        ),
    ],
};

pub(crate) static TENSIONER: Record = Record {
    title: "a tensioner",
    fields: &[
        required(
            key::TENSIONER,
            POINT,
            "the centre of its shoe's arc in mm, pushed all the way back",
        ),
        required(key::RADIUS, RADIUS, "the radius of its shoe's arc in mm"),
        optional(
            key::OUTSIDE,
            Shape::Flag,
            "true: its shoe bears on the chain's outside",
        ),
        required(
            key::PUSHES,
            CLOCK,
            "the direction in which it pushes, in degrees clockwise from twelve o'clock",
        ),
        required(
            key::STROKE,
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
