//! Cylinders and valves.

use super::{MAX_CYLINDERS, MAX_LIFT_POINTS, Record, Shape, key, optional, required};
use crate::spec::choice::ValveKind;

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

pub(crate) static CYLINDERS: Record = Record {
    title: "the 'cylinders' section",
    fields: &[
        optional(key::BORE, millimetres_above_zero(1000), "the bore in mm"),
        required(
            key::STROKE,
            millimetres_above_zero(3000),
            "the piston's stroke in mm",
        ),
        required(
            key::ROD,
            millimetres_above_zero(6000),
            "the connecting rod's length in mm, from centre to centre",
        ),
        required(
            key::COMPRESSION,
            Shape::Number {
                min: 1,
                max: 40,
                unit: "(compression ratio)",
                above: true,
            },
            "the compression ratio: 10.5 is 10.5 to 1",
        ),
        optional(
            key::DECK,
            millimetres(-50, 50),
            "how far the piston's crown stands above the deck at TDC, in mm; below zero: beneath it",
        ),
        optional(
            key::GASKET,
            millimetres(0, 20),
            "the head gasket's thickness as clamped, in mm",
        ),
        required(
            key::FIRING_ORDER,
            Shape::List {
                of: &CYLINDER,
                min: 1,
                max: MAX_CYLINDERS,
                what: "cylinders",
            },
            "every cylinder's number once, in the order in which they fire",
        ),
        optional(
            key::OFFSETS,
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
        required(key::SHAFT, Shape::Name, "the camshaft that opens them"),
        required(
            key::KIND,
            Shape::Choice(ValveKind::CHOICES),
            "what the valves are",
        ),
        optional(
            key::CYLINDERS,
            Shape::List {
                of: &CYLINDER,
                min: 1,
                max: MAX_CYLINDERS,
                what: "cylinders",
            },
            "the cylinders on which they sit; without it: all",
        ),
        required(
            key::OPENS,
            Shape::Event,
            "when they open, the drive in time and a phaser parked: 12 BTDC",
        ),
        required(
            key::CLOSES,
            Shape::Event,
            "when they close, the drive in time and a phaser parked: 48 ABDC",
        ),
        required(
            key::AT_LIFT,
            millimetres(0, 50),
            "the lift in mm at which the two events are stated; 0: from seat to seat",
        ),
        optional(
            key::LIFT,
            millimetres_above_zero(100),
            "the maximum lift in mm",
        ),
        optional(
            key::LIFT_TABLE,
            Shape::List {
                of: &LIFT_POINT,
                min: 3,
                max: MAX_LIFT_POINTS,
                what: "points of a lift table",
            },
            "points [crank degrees, lift in mm] instead of lift, from 0 up and down to 0; its degrees may be counted from anywhere",
        ),
        optional(
            key::INCLINATION,
            Shape::Number {
                min: 0,
                max: 60,
                unit: "degrees",
                above: false,
            },
            "between the valve's axis and the cylinder's, in degrees",
        ),
        optional(
            key::RECESS,
            millimetres(-20, 50),
            "how far the closed valve's lowest edge lies above the head's face, along the valve's axis, in mm; below zero: it stands out",
        ),
        optional(
            key::RELIEF,
            millimetres(0, 50),
            "how deep the piston's pocket for it is, along the valve's axis, in mm",
        ),
    ],
};
