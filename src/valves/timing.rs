//! Valve events, and what becomes of them when camshafts stand elsewhere than they belong.
//!
//! Events, durations, overlap, centrelines and separations are sums of degrees and exact. Trapped
//! compression and clearance are estimates; their numbers say so. However far a camshaft is off,
//! everything here follows from where the valves truly open and close in the 720 degrees.

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
    /// Exactly 360 is neither: see [`ValveTiming::crank_turn_out`].
    pub shift: CrankDegrees,
    /// Where they open.
    pub opens: CyclePlace,
    /// Where they close.
    pub closes: CyclePlace,
    /// From opening to closing at the stated lift.
    pub duration: CrankDegrees,
    /// The middle of it: after the TDC of overlap for an intake, before it for an exhaust; in
    /// `-360 < x <= 360`.
    pub centreline: CrankDegrees,
    /// Of an intake: the compression ratio that is left from where the last valve of its cylinders
    /// closes. An estimate; `None` for an exhaust, where the spec has no cylinders, and where
    /// nothing is compressed.
    pub trapped_compression: Option<f64>,
    /// Of an intake: why nothing is compressed in its cylinders, if so.
    pub no_compression: Option<NoCompression>,
    /// How near they come to the piston, or why that cannot be said.
    pub clearance: Result<LeastClearance, NoClearance>,
}

impl ValveTiming {
    /// Is their camshaft exactly half a turn of its own out, which is a whole turn of the
    /// crankshaft? Then they are neither early nor late: they work on the wrong strokes.
    pub fn crank_turn_out(&self) -> bool {
        self.shift.get().is_half_of(Exact::whole(720))
    }

    /// Are they open, by the stated lift, at TDC of compression? One that opens or closes just
    /// there counts as open.
    pub fn open_at_compression(&self) -> bool {
        // What cannot be held has been refused long before.
        CyclePlace::FIRING_TDC
            .on_from(self.opens)
            .is_ok_and(|since| since <= self.duration)
    }
}

/// Why a cylinder compresses nothing at its TDC of compression.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum NoCompression {
    /// The camshaft of these valves, of the intake or of an exhaust, is a whole crank turn out.
    CrankTurnOut(ValveKind),
    /// Its intake and exhaust are both a whole crank turn out: it compresses at the other TDC.
    OtherCentre,
    /// Valves of this kind are still open at TDC of compression.
    Open(ValveKind),
    /// The intake valves are shut all through the intake stroke.
    NothingDrawnIn,
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
    /// How long both are open in the 720 degrees, wherever in them that is. Below zero: they never
    /// are, and so long are both closed from the exhaust's closing to the intake's opening.
    pub overlap: CrankDegrees,
    /// Lobe separation, in degrees of the camshaft, in `-180 < x <= 180`; below zero: the intake's
    /// lobe comes first.
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
    let mut valves = alone(drive, errors)?;
    for i in 0..valves.len() {
        let others = beside(drive, i)
            .map(|other| (drive.valves()[other].kind, &valves[other]))
            .collect();
        compression(drive, i, &valves[i], others)?.write_to(&mut valves[i]);
    }
    let pairs = pairs(drive, &valves)?;
    Ok(Timing { valves, pairs })
}

/// The valves of every entry as if those of the others stood where they belong: what is compressed
/// hangs on their own closing alone.
///
/// # Errors
/// As [`timing`].
pub(crate) fn alone(
    drive: &Drive,
    errors: &[CrankDegrees],
) -> Result<Vec<ValveTiming>, OutOfRange> {
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
        let centre = opens
            .later(duration.scaled(half)?)?
            .since(CyclePlace::OVERLAP_TDC)?;
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
            trapped_compression: None,
            no_compression: None,
            clearance: PistonAndValve::of(drive, i).map(|both| both.least(shift.get().to_f64())),
        });
    }
    for (i, valve) in valves.iter_mut().enumerate() {
        compression(drive, i, valve, Vec::new())?.write_to(valve);
    }
    Ok(valves)
}

/// Do both sit on the same cylinders, or may they, for all that the spec says?
fn together(drive: &Drive, a: usize, b: usize) -> bool {
    let (a, b) = (&drive.valves()[a].cylinders, &drive.valves()[b].cylinders);
    (a.is_empty() && b.is_empty()) || a.iter().any(|n| b.contains(n))
}

/// The other valves that are sure to sit on the cylinders of `one`: where the spec numbers none,
/// those of an engine that has but one entry of each kind.
fn beside(drive: &Drive, one: usize) -> impl Iterator<Item = usize> + '_ {
    let all = drive.valves();
    let known = !all[one].cylinders.is_empty() || all.len() == 2;
    (0..all.len()).filter(move |other| known && *other != one && together(drive, one, *other))
}

/// What the cylinders of an intake compress; of an exhaust nothing is said.
#[derive(Default)]
struct Compression {
    trapped: Option<f64>,
    none: Option<NoCompression>,
}

impl Compression {
    fn write_to(self, valve: &mut ValveTiming) {
        valve.trapped_compression = self.trapped;
        valve.no_compression = self.none;
    }
}

fn compression(
    drive: &Drive,
    at: usize,
    own: &ValveTiming,
    others: Vec<(ValveKind, &ValveTiming)>,
) -> Result<Compression, OutOfRange> {
    let kind = drive.valves()[at].kind;
    if kind == ValveKind::Exhaust {
        return Ok(Compression::default());
    }
    let mut all = others;
    all.insert(0, (kind, own));
    let none = |why| {
        Ok(Compression {
            trapped: None,
            none: Some(why),
        })
    };
    if all.len() > 1 && all.iter().all(|(_, valve)| valve.crank_turn_out()) {
        return none(NoCompression::OtherCentre);
    }
    if let Some((kind, _)) = all.iter().find(|(_, valve)| valve.crank_turn_out()) {
        return none(NoCompression::CrankTurnOut(*kind));
    }
    if let Some((kind, _)) = all.iter().find(|(_, valve)| valve.open_at_compression()) {
        return none(NoCompression::Open(*kind));
    }
    // None is open where the cycle is counted from, so their closings can be compared.
    let closes = |valve: &ValveTiming| valve.closes.on_from(CyclePlace::FIRING_TDC);
    let mut last = closes(own)?;
    if last.get() <= CyclePlace::OVERLAP_TDC.get() {
        return none(NoCompression::NothingDrawnIn);
    }
    for (_, valve) in &all {
        last = last.max(closes(valve)?);
    }
    let last = CyclePlace::FIRING_TDC.later(last)?;
    Ok(Compression {
        trapped: drive.cylinders().and_then(|all| trapped(all, last)),
        none: None,
    })
}

/// How long `a` and `b` are both open, wherever that is; `None` if they never are.
fn both_open(a: &ValveTiming, b: &ValveTiming) -> Result<Option<CrankDegrees>, OutOfRange> {
    let (a_ends, opens) = (a.duration, b.opens.on_from(a.opens)?);
    let turn = CrankDegrees::whole(720);
    let closes = opens.checked_add(b.duration)?;
    let mut both = CrankDegrees::ZERO;
    let mut meet = false;
    for (from, to) in [
        // As it opens next after `a` does, and the time before that.
        (opens, closes),
        (opens.checked_sub(turn)?, closes.checked_sub(turn)?),
    ] {
        let (from, to) = (from.max(CrankDegrees::ZERO), to.min(a_ends));
        if from < to {
            meet = true;
            both = both.checked_add(to.checked_sub(from)?)?;
        }
    }
    Ok(meet.then_some(both))
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
            if !together(drive, intake, exhaust) {
                continue;
            }
            let (a, b) = (&all[intake].cylinders, &all[exhaust].cylinders);
            let shared: Vec<u8> = a.iter().copied().filter(|n| b.contains(n)).collect();
            let (i, e) = (&timings[intake], &timings[exhaust]);
            pairs.push(PairTiming {
                intake,
                exhaust,
                cylinders: shared,
                overlap: match both_open(e, i)? {
                    Some(both) => both,
                    None => i.opens.on_from(e.closes)?.negated(),
                },
                separation: i
                    .centreline
                    .checked_add(e.centreline)?
                    .get()
                    .checked_div(Exact::whole(2))?
                    .nearest_modulo(Exact::whole(360))?,
            });
        }
    }
    Ok(pairs)
}

fn trapped(cylinders: &Cylinders, closes: CyclePlace) -> Option<f64> {
    let crank = SliderCrank::new(cylinders.stroke.to_f64(), cylinders.rod.to_f64())?;
    Some(crank.trapped_compression(cylinders.compression.to_f64(), closes.get().to_f64()))
}
