//! Cylinders and valves, checked.

use crate::drive::ids::ShaftId;
use crate::spec::valves::ValveKind;
use crate::units::lift::LiftCurve;
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact};

/// The cylinders of an engine. Lengths in mm.
#[derive(Clone, PartialEq, Debug)]
pub struct Cylinders {
    /// The bore.
    pub bore: Option<Exact>,
    /// The stroke.
    pub stroke: Exact,
    /// The connecting rod from centre to centre: longer than half the stroke.
    pub rod: Exact,
    /// The compression ratio.
    pub compression: Exact,
    /// How far the crown stands above the deck at TDC; 0 if the spec does not say.
    pub deck: Exact,
    /// The clamped head gasket; 0 if the spec does not say.
    pub gasket: Exact,
    /// Every cylinder's number once.
    pub firing_order: Vec<u8>,
    /// Crank degrees from the timed position to each cylinder's TDC of compression, cylinder 1 first.
    pub offsets: Vec<CrankDegrees>,
}

/// The valves of one entry: opened alike, by lobes of one camshaft.
#[derive(Clone, PartialEq, Debug)]
pub struct Valves {
    /// Their name.
    pub name: String,
    /// The camshaft.
    pub shaft: ShaftId,
    /// What they are for.
    pub kind: ValveKind,
    /// On which cylinders they sit; empty if the spec does not number its cylinders.
    pub cylinders: Vec<u8>,
    /// Where they open, the drive in time and a phaser parked.
    pub opens: CyclePlace,
    /// Where they close.
    pub closes: CyclePlace,
    /// The lift in mm at which both are stated.
    pub at_lift: Exact,
    /// How they are lifted, if the spec says so.
    pub lift: Option<Lift>,
    /// Degrees between their axis and the cylinder's.
    pub inclination: Exact,
    /// How far the closed valve's lowest edge lies above the head's face, along its axis, in mm.
    pub recess: Option<Exact>,
    /// How deep the piston's pocket is, along their axis, in mm; 0 if the spec does not say.
    pub relief: Exact,
}

/// What a spec says of a lobe.
#[derive(Clone, PartialEq, Debug)]
pub enum Lift {
    /// The most lift in mm.
    Most(Exact),
    /// Crank degrees and mm.
    Table(Vec<[Exact; 2]>),
}

impl Valves {
    /// The dead centre of the cycle near which they open.
    pub fn opens_near(&self) -> CyclePlace {
        opens_near(self.kind)
    }

    /// The dead centre of the cycle near which they close.
    pub fn closes_near(&self) -> CyclePlace {
        closes_near(self.kind)
    }

    /// Their lobe in floating point, and where in the cycle its own degrees are counted from: a
    /// table is laid so that the stated opening comes out, a motion law so that both events do.
    pub fn curve(&self) -> Option<(LiftCurve, f64)> {
        curve(self.opens, self.closes, self.at_lift, self.lift.as_ref()?)
    }

    /// Lift in mm at `place` crank degrees after TDC of compression, the lobe `shift` crank degrees early; `None` if
    /// the spec does not say how they are lifted.
    #[allow(clippy::float_arithmetic, reason = "a lift is an estimate")]
    pub fn lift_at(&self, place: f64, shift: f64) -> Option<f64> {
        let (lobe, zero) = self.curve()?;
        Some(lobe.at(lobe.within_cycle(place + shift - zero)))
    }
}

pub(super) fn opens_near(kind: ValveKind) -> CyclePlace {
    match kind {
        ValveKind::Intake => CyclePlace::OVERLAP_TDC,
        ValveKind::Exhaust => CyclePlace::POWER_BDC,
    }
}

pub(super) fn closes_near(kind: ValveKind) -> CyclePlace {
    match kind {
        ValveKind::Intake => CyclePlace::INTAKE_BDC,
        ValveKind::Exhaust => CyclePlace::OVERLAP_TDC,
    }
}

#[allow(
    clippy::float_arithmetic,
    reason = "lays a lobe, which is an estimate, into the cycle"
)]
pub(super) fn curve(
    opens: CyclePlace,
    closes: CyclePlace,
    at_lift: Exact,
    lift: &Lift,
) -> Option<(LiftCurve, f64)> {
    let at_lift = at_lift.to_f64();
    let duration = closes.on_from(opens).ok()?.get().to_f64();
    let opens = opens.get().to_f64();
    match lift {
        Lift::Most(most) => {
            let lobe = LiftCurve::polynomial_345(duration, at_lift, most.to_f64())?;
            Some((lobe, opens + duration / 2.0))
        }
        Lift::Table(points) => {
            let points: Vec<[f64; 2]> = points.iter().map(|p| p.map(Exact::to_f64)).collect();
            let lobe = LiftCurve::table(&points)?;
            let (open, _) = lobe.open_above(at_lift);
            Some((lobe, opens - open))
        }
    }
}
