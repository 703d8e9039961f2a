//! The least clearance between valve and piston, found by bounds and not by sampling.
//!
//! The valve's face and the floor of the piston's pocket are taken as parallel planes across the
//! valve's axis. With the piston x below TDC and the valve lifted by L the distance between them,
//! along the valve's axis, is
//!
//! ```text
//! c = recess + relief + (gasket - deck + x) cos(inclination) - L
//! ```
//!
//! The cycle is cut at every place where the piston turns round, the lobe's pieces meet or the
//! lift is at its top. Between two cuts x and L are monotone, and smooth with a known bound on
//! their second derivatives. So no value of c in an interval of width w lies below
//! - the least of its x with the greatest of its L, nor below
//! - the lower of its ends less M w^2 / 8, with M the sum of both bounds.
//!
//! Halving the interval with the lowest bound until that bound is within the accuracy of a value
//! that was reached leaves no room for a contact to be stepped over, however narrow.
#![allow(
    clippy::float_arithmetic,
    reason = "distances of moving parts, estimated"
)]

use crate::drive::model::Drive;
use crate::units::lift::{LiftCurve, Piece};
use crate::valves::piston::SliderCrank;
use std::collections::BinaryHeap;

/// Why a clearance cannot be reckoned: what the spec lacks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoClearance {
    /// The section on cylinders.
    Cylinders,
    /// `lift` or `lift_table`.
    Lift,
    /// `recess`.
    Recess,
}

impl NoClearance {
    /// What to add to the spec.
    pub fn missing(self) -> &'static str {
        match self {
            Self::Cylinders => "'cylinders:'",
            Self::Lift => "'lift' or 'lift_table'",
            Self::Recess => "'recess'",
        }
    }
}

/// How far the stated least clearance may lie below the true least of the model, in mm.
pub const CLEARANCE_ACCURACY_MM: f64 = 1e-6;

/// Less than this between valve and piston, in mm, says nothing: lash, wear and the spec's own numbers are no
/// better known. (Clearances of a millimetre and more are what engines are built with: common practice.)
pub const TOO_CLOSE_MM: f64 = 1.0;

/// Room for rounding in the sums, in mm.
pub(crate) const ROUNDING_MM: f64 = 1e-9;

/// Most halvings. No spec within the format's bounds needs a hundredth of it; should one all the
/// same, the result says how accurate it is.
const MOST_HALVINGS: usize = 50_000;

/// The least clearance over the whole cycle. An estimate: of the model in the spec, not of an engine.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LeastClearance {
    /// The distance along the valve's axis in mm; at or below zero valve and piston meet. The true
    /// least of the model is not below it, and at most `accuracy_mm` above it.
    pub mm: f64,
    /// Where it is reached, in crank degrees after TDC of compression.
    pub at: f64,
    /// How far the valve is lifted there, in mm.
    pub lift_mm: f64,
    /// How accurate `mm` is; [`CLEARANCE_ACCURACY_MM`].
    pub accuracy_mm: f64,
}

impl LeastClearance {
    /// Do valve and piston meet?
    pub fn meet(&self) -> bool {
        self.mm <= 0.0
    }
}

/// A valve over its piston, everything in floating point.
#[derive(Clone, PartialEq, Debug)]
pub struct PistonAndValve {
    crank: SliderCrank,
    lobe: LiftCurve,
    /// Where in the cycle the lobe's own degrees are counted from, the drive in time.
    zero: f64,
    cosine: f64,
    /// At TDC with the valve closed.
    closed_at_tdc: f64,
}

impl PistonAndValve {
    /// Of the entry `valve` of [`Drive::valves`].
    ///
    /// # Errors
    /// [`NoClearance`]: what the spec would have to say.
    pub fn of(drive: &Drive, valve: usize) -> Result<Self, NoClearance> {
        let cylinders = drive.cylinders().ok_or(NoClearance::Cylinders)?;
        let valve = drive.valves().get(valve).ok_or(NoClearance::Lift)?;
        let crank = SliderCrank::new(cylinders.stroke.to_f64(), cylinders.rod.to_f64())
            .ok_or(NoClearance::Cylinders)?;
        let (lobe, zero) = valve.curve().ok_or(NoClearance::Lift)?;
        let recess = valve.recess.ok_or(NoClearance::Recess)?.to_f64();
        let cosine = libm::cos(valve.inclination.to_f64().to_radians());
        Ok(Self {
            crank,
            lobe,
            zero,
            cosine,
            closed_at_tdc: recess
                + valve.relief.to_f64()
                + (cylinders.gasket.to_f64() - cylinders.deck.to_f64()) * cosine,
        })
    }

    /// Of parts in floating point: the lobe's own degrees are counted from `zero` crank degrees
    /// after TDC of compression, `inclination` is in degrees, `closed_at_tdc` is the distance in mm
    /// along the valve's axis with the piston at TDC and the valve closed.
    pub fn new(
        crank: SliderCrank,
        lobe: LiftCurve,
        zero: f64,
        inclination: f64,
        closed_at_tdc: f64,
    ) -> Self {
        Self {
            crank,
            lobe,
            zero,
            cosine: libm::cos(inclination.to_radians()),
            closed_at_tdc,
        }
    }

    /// Lift in mm at `place` crank degrees after TDC of compression, the lobe `shift` crank degrees early.
    pub fn lift(&self, place: f64, shift: f64) -> f64 {
        self.lobe.at(self.own(place, shift))
    }

    /// How far the piston stands below TDC there, in mm.
    pub fn travel(&self, place: f64) -> f64 {
        self.crank.travel(place)
    }

    /// The clearance in mm there.
    pub fn clearance(&self, place: f64, shift: f64) -> f64 {
        self.closed_at_tdc + self.cosine * self.travel(place) - self.lift(place, shift)
    }

    /// A clearance below which there is none while the piston goes through the places `piston` and the
    /// lobe, whether it turns with the crankshaft or not, through the places `lobe`: crank degrees after
    /// TDC of compression, the lesser first. It is reached, but for rounding: each of both stands where it
    /// is nearest for the other to come to.
    pub(crate) fn least_within(&self, piston: [f64; 2], lobe: [f64; 2]) -> f64 {
        let (down, lift) = (self.crank.least_travel(piston), self.most_lift(lobe));
        self.closed_at_tdc + self.cosine * down - lift - ROUNDING_MM
    }

    /// The most lift between two places, the lesser first: at the lobe's top if that is among them, and
    /// at one of both if not, for a lobe rises to one top and falls from it.
    fn most_lift(&self, [from, to]: [f64; 2]) -> f64 {
        let top = self.zero + self.lobe.top();
        let next = top + ((from - top) / 720.0).ceil() * 720.0;
        if next <= to {
            self.lobe.most()
        } else {
            self.lift(from, 0.0).max(self.lift(to, 0.0))
        }
    }

    /// `place` in the lobe's own degrees.
    fn own(&self, place: f64, shift: f64) -> f64 {
        self.lobe.within_cycle(place + shift - self.zero)
    }

    /// The least clearance over 720 crank degrees with the lobe `shift` crank degrees early.
    pub fn least(&self, shift: f64) -> LeastClearance {
        // Everything is reckoned in the lobe's own degrees, over one cycle from its beginning; the
        // piston is at a dead centre wherever `place` is a multiple of 180.
        let (from, to) = (self.lobe.start(), self.lobe.start() + 720.0);
        let place = |own: f64| own - shift + self.zero;
        let mut cuts: Vec<f64> = self.lobe.pieces().iter().map(|piece| piece.from).collect();
        cuts.push(self.lobe.end());
        cuts.push(to);
        let first = (place(from) / 180.0).ceil() * 180.0;
        cuts.extend(
            (0..5)
                .map(|k| first + 180.0 * f64::from(k) - place(0.0))
                .filter(|cut| (from..=to).contains(cut)),
        );
        cuts.sort_by(f64::total_cmp);

        let bend = self.cosine * self.crank.bend();
        let ends = |own: f64, piece: Option<&Piece>| End {
            own,
            down: self.crank.travel(place(own)),
            lift: piece.map_or(0.0, |piece| piece.at(own)),
        };
        let mut search = Search {
            search: self,
            best: (f64::INFINITY, from, 0.0),
            waiting: BinaryHeap::new(),
        };
        let mut pieces = self.lobe.pieces().iter().peekable();
        for pair in cuts.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if b <= a {
                continue;
            }
            // Pieces and cuts both rise: the piece in which the interval lies is the next one that
            // ends behind its middle.
            let middle = f64::midpoint(a, b);
            while pieces.peek().is_some_and(|piece| piece.to() <= middle) {
                pieces.next();
            }
            let piece = pieces.peek().copied();
            search.add(Interval {
                bound: f64::NEG_INFINITY,
                piece,
                bend: bend + piece.map_or(0.0, |piece| piece.bend),
                from: ends(a, piece),
                to: ends(b, piece),
            });
        }
        let mut bound = search.best.0;
        for halvings in 0.. {
            let Some(interval) = search.waiting.pop() else {
                bound = search.best.0;
                break;
            };
            bound = interval.bound.min(search.best.0);
            let middle = f64::midpoint(interval.from.own, interval.to.own);
            let split = middle > interval.from.own && middle < interval.to.own;
            if bound >= search.best.0 - CLEARANCE_ACCURACY_MM / 2.0
                || halvings == MOST_HALVINGS
                || !split
            {
                break;
            }
            let middle = ends(middle, interval.piece);
            search.add(Interval {
                to: middle,
                ..interval
            });
            search.add(Interval {
                from: middle,
                ..interval
            });
        }
        let (reached, own, lift_mm) = search.best;
        LeastClearance {
            mm: bound - ROUNDING_MM,
            at: place(own).rem_euclid(720.0),
            lift_mm,
            accuracy_mm: (reached - bound + 2.0 * ROUNDING_MM).max(CLEARANCE_ACCURACY_MM),
        }
    }
}

/// One end of an interval.
#[derive(Clone, Copy)]
struct End {
    own: f64,
    down: f64,
    lift: f64,
}

/// An interval in which piston and lift are monotone and smooth.
#[derive(Clone, Copy)]
struct Interval<'a> {
    /// No clearance in it is less.
    bound: f64,
    piece: Option<&'a Piece>,
    bend: f64,
    from: End,
    to: End,
}

struct Search<'a> {
    search: &'a PistonAndValve,
    /// The least clearance reached, where, and the lift there.
    best: (f64, f64, f64),
    waiting: BinaryHeap<Interval<'a>>,
}

impl<'a> Search<'a> {
    fn add(&mut self, mut interval: Interval<'a>) {
        let both = self.search;
        let value = |end: End| both.closed_at_tdc + both.cosine * end.down - end.lift;
        for end in [interval.from, interval.to] {
            if value(end) < self.best.0 {
                self.best = (value(end), end.own, end.lift);
            }
        }
        let (from, to) = (interval.from, interval.to);
        let by_ends =
            both.closed_at_tdc + both.cosine * from.down.min(to.down) - from.lift.max(to.lift);
        let width = to.own - from.own;
        let by_bend = value(from).min(value(to)) - interval.bend * width * width / 8.0;
        interval.bound = by_ends.max(by_bend);
        if interval.bound < self.best.0 {
            self.waiting.push(interval);
        }
    }
}

/// The lowest bound comes first out of a heap.
impl Ord for Interval<'_> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        other.bound.total_cmp(&self.bound)
    }
}

impl PartialOrd for Interval<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Interval<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Interval<'_> {}
