//! Valve events, and what becomes of them when camshafts stand elsewhere than they belong.
//!
//! Events, durations, overlap, centrelines and separations are sums of degrees and exact. Trapped
//! compression and clearance are estimates; their numbers say so.

use crate::drive::model::Drive;
use crate::drive::valves::Cylinders;
use crate::spec::valves::ValveKind;
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, OutOfRange};
use crate::valves::clearance::{LeastClearance, NoClearance, PistonAndValve};
use crate::valves::piston::SliderCrank;

/// All valves of an engine with each camshaft standing somewhere.
#[derive(Clone, PartialEq, Debug)]
pub struct Timing {
    /// In the order of [`Drive::valves`].
    pub valves: Vec<ValveTiming>,
    /// Every intake with every exhaust that sits on the same cylinders.
    pub pairs: Vec<PairTiming>,
}

/// The valves of one entry.
#[derive(Clone, PartialEq, Debug)]
pub struct ValveTiming {
    /// By how much they are early (above zero) or late against the spec: in `-360 < x <= 360`.
    pub shift: CrankDegrees,
    /// Where they open.
    pub opens: CyclePlace,
    /// Where they close.
    pub closes: CyclePlace,
    /// From opening to closing at the stated lift.
    pub duration: CrankDegrees,
    /// The middle of it: after the TDC of overlap for an intake, before it for an exhaust.
    pub centreline: CrankDegrees,
    /// Of an intake: the compression ratio that is left from its closing on. An estimate; `None`
    /// for an exhaust, and where the spec has no cylinders.
    pub trapped_compression: Option<f64>,
    /// How near they come to the piston, or why that cannot be said.
    pub clearance: Result<LeastClearance, NoClearance>,
}

/// An intake and an exhaust on the same cylinders.
#[derive(Clone, PartialEq, Debug)]
pub struct PairTiming {
    /// Index of the intake among [`Drive::valves`].
    pub intake: usize,
    /// Index of the exhaust.
    pub exhaust: usize,
    /// The cylinders on which both sit; empty if the spec does not number them.
    pub cylinders: Vec<u8>,
    /// From the intake's opening to the exhaust's closing; below zero: both closed in between.
    pub overlap: CrankDegrees,
    /// Lobe separation, in degrees of the camshaft.
    pub separation: Exact,
}

/// The timing with each shaft off by `errors` (above zero: ahead), in the order of
/// [`Drive::shafts`]; shafts beyond its end stand where they belong.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::valves::timing;
///
/// // No shaft is off: every valve opens where the spec says.
/// let timing = timing(&drive, &[])?;
/// assert!(timing.valves.iter().all(|valve| valve.shift.is_zero()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn timing(drive: &Drive, errors: &[CrankDegrees]) -> Result<Timing, OutOfRange> {
    let mut valves = Vec::with_capacity(drive.valves().len());
    for (i, valve) in drive.valves().iter().enumerate() {
        let error = errors
            .get(valve.shaft.index())
            .copied()
            .unwrap_or(CrankDegrees::ZERO);
        let shift = CrankDegrees::new(error.get().nearest_modulo(Exact::whole(720))?);
        // A shaft that is ahead opens its valves earlier.
        let opens = valve.opens.later(shift.negated())?;
        let closes = valve.closes.later(shift.negated())?;
        let duration = valve.closes.on_from(valve.opens)?;
        let half = Exact::fraction(1, 2).ok_or(OutOfRange)?;
        // Counted from the overlap's TDC as the spec states it, then shifted, so that a large slip
        // does not turn it over.
        let centre = valve
            .opens
            .since(CyclePlace::OVERLAP_TDC)?
            .checked_add(duration.scaled(half)?)?
            .checked_sub(shift)?;
        let centreline = match valve.kind {
            ValveKind::Intake => centre,
            ValveKind::Exhaust => centre.negated(),
        };
        valves.push(ValveTiming {
            shift,
            opens,
            closes,
            duration,
            centreline,
            trapped_compression: (valve.kind == ValveKind::Intake)
                .then(|| trapped(drive.cylinders()?, closes))
                .flatten(),
            clearance: PistonAndValve::of(drive, i).map(|both| both.least(shift.get().to_f64())),
        });
    }
    let pairs = pairs(drive, &valves)?;
    Ok(Timing { valves, pairs })
}

/// Every intake with every exhaust on the same cylinders, the valves standing as in `timings`.
///
/// # Errors
/// As [`timing`].
pub(crate) fn pairs(drive: &Drive, timings: &[ValveTiming]) -> Result<Vec<PairTiming>, OutOfRange> {
    let all = drive.valves();
    let of = |kind| (0..all.len()).filter(move |i| all[*i].kind == kind);
    let mut pairs = Vec::new();
    for intake in of(ValveKind::Intake) {
        for exhaust in of(ValveKind::Exhaust) {
            let (a, b) = (&all[intake].cylinders, &all[exhaust].cylinders);
            let shared: Vec<u8> = a.iter().copied().filter(|n| b.contains(n)).collect();
            if shared.is_empty() && !(a.is_empty() && b.is_empty()) {
                continue;
            }
            let (i, e) = (&timings[intake], &timings[exhaust]);
            pairs.push(PairTiming {
                intake,
                exhaust,
                cylinders: shared,
                // As the spec states it, then shifted, like the centrelines: the definition's sum of
                // two angles, which a large slip does not turn over.
                overlap: all[exhaust]
                    .closes
                    .since(all[intake].opens)?
                    .checked_add(i.shift)?
                    .checked_sub(e.shift)?,
                separation: i
                    .centreline
                    .checked_add(e.centreline)?
                    .get()
                    .checked_div(Exact::whole(2))?,
            });
        }
    }
    Ok(pairs)
}

fn trapped(cylinders: &Cylinders, closes: CyclePlace) -> Option<f64> {
    let crank = SliderCrank::new(cylinders.stroke.to_f64(), cylinders.rod.to_f64())?;
    Some(crank.trapped_compression(cylinders.compression.to_f64(), closes.get().to_f64()))
}
