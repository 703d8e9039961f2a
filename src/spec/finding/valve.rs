//! Cylinders and valves that contradict themselves.

use super::words::{family, quoted};
use crate::units::cycle::{DeadCentre, TradeAngle};
use crate::units::decimal::exact;
use crate::units::quantity::{CrankDegrees, Exact};

/// What keeps a lift table from being a lobe.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum LiftTableFault {
    /// The degrees do not rise by at least a thousandth.
    NotRising,
    /// The first or last lift is not 0.
    NotFromZero,
    /// It does not rise to one top and fall from there.
    NotOneTop,
    /// It is longer than a cycle.
    TooLong,
    /// Nowhere more lift than that at which the events are stated.
    TooLow,
}

impl LiftTableFault {
    /// What is wrong, and what to do.
    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::NotRising => (
                "its degrees do not rise",
                "each point needs at least 0.001 crank degrees more than the one before",
            ),
            Self::NotFromZero => (
                "it does not start and end at 0 mm",
                "give the whole lobe, from seat to seat",
            ),
            Self::NotOneTop => (
                "its lift does not rise to one peak and fall from there",
                "a lobe has one nose; check the values",
            ),
            Self::TooLong => (
                "it is longer than 720 crank degrees",
                "give crank degrees, two for each camshaft degree, over one lobe",
            ),
            Self::TooLow => (
                "it never lifts above 'at_lift'",
                "give both in mm; the table must rise above the lift at which the events are stated",
            ),
        }
    }
}

family! {
    /// Cylinders and valves that contradict themselves.
    ValveProblem {
        /// A valve event counted from the wrong dead centre.
        EventDeadCentre {
            /// `intake` or `exhaust`.
            kind: &'static str,
            /// `opens` or `closes`.
            event: &'static str,
            /// As written.
            found: TradeAngle,
            /// The dead centre near which it belongs.
            expected: DeadCentre,
        } = "event-dead-centre", Error {
            title: format!("{kind} valves cannot have '{event}: {found}'"),
            label: format!("counted from {}", found.centre),
            related: "because of this kind",
            help: format!("for {kind} valves '{event}' is counted from {expected}, before (B{expected}) or after it (A{expected})"),
        }
        /// Valves that open for no time, or for longer than a turn of the crankshaft.
        ValveDuration {
            /// From opening to closing.
            duration: CrankDegrees,
        } = "valve-duration", Error {
            title: format!("these valves would be open for {} crank degrees", exact(duration.get())),
            label: "to this closing",
            related: "from this opening",
            help: "it must be more than 0 and at most 360; check B (before) and A (after)",
        }
        /// Valves on a shaft that is no camshaft.
        ValvesNotOnCamshaft {
            /// The shaft.
            shaft: String,
        } = "valves-not-on-camshaft", Error {
            title: format!("{} is not a camshaft and opens no valves", quoted(shaft)),
            label: "this shaft",
            related: "not a camshaft",
            help: "name the camshaft that opens these valves, or make this shaft a camshaft",
        }
        /// Both `lift` and `lift_table`.
        LiftAndTable = "lift-and-table", Error {
            title: "both 'lift' and 'lift_table' for the same valves",
            label: "and this",
            related: "this",
            help: "keep the table if you have one: its peak is the maximum lift",
        }
        /// Events stated at more than half the most lift.
        StatedLift {
            /// The lift at which the events are stated.
            at_lift: Exact,
            /// The most lift.
            most: Exact,
        } = "stated-lift", Error {
            title: format!("events stated at {} mm of {} mm lift", exact(*at_lift), exact(*most)),
            label: "more than half the maximum lift",
            related: "the maximum lift",
            help: "events are stated near the seat, commonly at 1 mm; give both in mm",
        }
        /// A lift table that is no lobe.
        LiftTable {
            /// What is wrong with it.
            fault: LiftTableFault,
        } = "lift-table", Error {
            title: format!("this lift table is not a cam lobe: {}", fault.words().0),
            label: "from here on",
            help: fault.words().1,
        }
        /// A lift table that contradicts the stated events.
        LiftTableDuration {
            /// What the events say.
            stated: CrankDegrees,
            /// What the table says, in tenths of a crank degree.
            by_table_tenths: i64,
        } = "lift-table-duration", Warning {
            title: format!(
                "the lift table is open for {}.{} crank degrees at the stated lift, the events say {}",
                by_table_tenths / 10,
                by_table_tenths % 10,
                exact(stated.get())
            ),
            label: "this table",
            related: "this closing",
            help: "the opening is taken as stated and the closing from the table; give crank degrees (two for each camshaft degree), or correct the events",
        }
        /// A firing order with a cylinder missing or named twice.
        FiringOrder {
            /// How many are listed.
            count: usize,
            /// The first that is missing.
            missing: i64,
        } = "firing-order", Error {
            title: format!("this firing order does not name each of {count} cylinders once"),
            label: format!("cylinder {missing} is missing"),
            help: format!("list the numbers 1 to {count} once each, in the order in which they fire"),
        }
        /// Another number of offsets than of cylinders.
        OffsetCount {
            /// Offsets.
            found: usize,
            /// Cylinders.
            cylinders: usize,
        } = "offset-count", Error {
            title: format!("{found} offsets for {cylinders} cylinders"),
            label: format!("one for each of {cylinders} cylinders is needed"),
            related: "the cylinders",
            help: "give one for each cylinder, cylinder 1 first, or leave 'offsets' out for even firing",
        }
        /// Offsets by which the cylinders fire in another order than the firing order.
        OffsetsAgainstFiringOrder {
            /// The first cylinder that is out of turn.
            cylinder: i64,
        } = "offsets-against-firing-order", Error {
            title: "with these offsets the cylinders fire in another order",
            label: format!("cylinder {cylinder} is out of turn"),
            related: "than this",
            help: "list offsets by cylinder number, cylinder 1 first, not in firing order",
        }
        /// A connecting rod that could not pass the crankshaft.
        RodTooShort {
            /// The stroke.
            stroke: Exact,
        } = "rod-too-short", Error {
            title: "this rod is too short for the stroke",
            label: "the crank could not pass",
            related: "this stroke",
            help: format!("it must be longer than half the stroke of {} mm; a rod is measured centre to centre", exact(*stroke)),
        }
        /// A cylinder that the engine does not have, or the same one twice.
        ValveCylinder {
            /// As written.
            cylinder: i64,
            /// How many cylinders there are.
            count: usize,
            /// Is it there, but listed twice?
            twice: bool,
        } = "valve-cylinder", Error {
            title: if *twice {
                format!("cylinder {cylinder} is listed twice")
            } else {
                format!("there is no cylinder {cylinder}")
            },
            label: if *twice { "again here" } else { "not in the firing order" },
            related: "the cylinders",
            help: if *count == 0 {
                "add a 'cylinders:' section with a firing order, or leave the list out".into()
            } else {
                format!("list each of the cylinders 1 to {count} at most once, or leave the list out for all")
            },
        }
    }
}
