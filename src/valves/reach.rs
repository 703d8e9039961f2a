//! How near valves and pistons can come to each other while crankshaft and camshafts stand apart.
//!
//! With the chain off, the crankshaft and each camshaft turn for themselves. The distance between a valve
//! and its piston falls with the valve's lift and rises with the piston's travel, and each of both goes by
//! one shaft alone. So while the crankshaft goes through one range and the camshaft through another, in
//! whatever order, it is least where the piston is highest in the one and the valve lifted furthest in
//! the other: two numbers that are known in closed form. Nothing is sampled.
#![allow(
    clippy::float_arithmetic,
    reason = "distances of moving parts, estimated"
)]

use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::spec::raw::ShaftKind;
use crate::spec::valves::ValveKind;
use crate::valves::clearance::{NoClearance, PistonAndValve};

/// Where a valve comes nearest to its piston.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Closest {
    /// The distance along the valve's axis in mm; at or below zero they meet. An estimate: of the model in
    /// the spec, and never above its true least.
    pub mm: f64,
    /// Which entry of [`Drive::valves`].
    pub valves: usize,
    /// Over which cylinder.
    pub cylinder: u8,
}

impl Closest {
    /// The nearer of two.
    pub(super) fn nearer(one: Option<Self>, other: Option<Self>) -> Option<Self> {
        match (one, other) {
            (Some(a), Some(b)) => Some(if b.mm < a.mm { b } else { a }),
            (a, b) => a.or(b),
        }
    }
}

/// Something without which an order of moves is not known.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Missing {
    /// The spec gives no valves for this camshaft.
    Valves(ShaftId),
    /// The spec gives these valves ([`Drive::valves`]) without what a clearance takes.
    Clearance {
        /// Which entry.
        valves: usize,
        /// What it lacks.
        why: NoClearance,
    },
    /// The spec gives no valves of this kind for a cylinder.
    Cylinder {
        /// Its number.
        cylinder: u8,
        /// The kind.
        kind: ValveKind,
    },
    /// Where this camshaft stands was not seen, or is contradicted.
    Position(ShaftId),
    /// Two chains hold this shaft, so that it cannot be moved against one of them.
    HeldTwice(ShaftId),
}

/// The valves of one entry over one cylinder.
struct Over {
    valves: usize,
    cylinder: u8,
    /// Crank degrees from the timed position to the cylinder's TDC of compression.
    offset: f64,
}

/// All valves whose clearance can be reckoned, by shaft.
pub(super) struct Reach {
    parts: Vec<Option<PistonAndValve>>,
    over: Vec<Vec<Over>>,
    /// By shaft: what the spec lacks to say anything of it.
    missing: Vec<Vec<Missing>>,
}

impl Reach {
    pub(super) fn of(drive: &Drive) -> Self {
        let shafts = drive.shafts().count();
        let mut reach = Self {
            parts: Vec::new(),
            over: (0..shafts).map(|_| Vec::new()).collect(),
            missing: vec![Vec::new(); shafts],
        };
        for (valves, entry) in drive.valves().iter().enumerate() {
            let shaft = entry.shaft.index();
            match PistonAndValve::of(drive, valves) {
                Ok(part) => reach.parts.push(Some(part)),
                Err(why) => {
                    reach.parts.push(None);
                    reach.missing[shaft].push(Missing::Clearance { valves, why });
                    continue;
                }
            }
            for cylinder in &entry.cylinders {
                let offsets = drive.cylinders().map(|all| &all.offsets[..]);
                let own = usize::from(*cylinder).checked_sub(1);
                // Numbers are checked when the spec is read.
                let Some(offset) = own.and_then(|own| offsets?.get(own)) else {
                    continue;
                };
                reach.over[shaft].push(Over {
                    valves,
                    cylinder: *cylinder,
                    offset: offset.get().to_f64(),
                });
            }
        }
        for (id, shaft) in drive.shafts() {
            let at = id.index();
            if shaft.kind() == ShaftKind::Camshaft
                && reach.over[at].is_empty()
                && reach.missing[at].is_empty()
            {
                reach.missing[at].push(Missing::Valves(id));
            }
        }
        reach
    }

    /// What the spec lacks to say anything of a shaft.
    pub(super) fn missing(&self, shaft: usize) -> &[Missing] {
        self.missing.get(shaft).map_or(&[], |all| &all[..])
    }

    /// How near the valves of a shaft come to their pistons while the crankshaft goes through the
    /// places `crank`, and the shaft, whether it turns with it or not, through the places `cam`: the
    /// lesser first, in crank degrees past the timed position, those of the camshaft twice its own.
    /// `None` for a shaft without valves.
    pub(super) fn closest(&self, shaft: usize, crank: [f64; 2], cam: [f64; 2]) -> Option<Closest> {
        let all = self.over.get(shaft)?.iter();
        all.filter_map(|over| {
            let part = self.parts.get(over.valves)?.as_ref()?;
            let from = |place: f64| place - over.offset;
            Some(Closest {
                mm: part.least_within(crank.map(from), cam.map(from)),
                valves: over.valves,
                cylinder: over.cylinder,
            })
        })
        .min_by(|a, b| a.mm.total_cmp(&b.mm))
    }

    /// Is a valve of a shaft open that stands there? Then its springs turn the shaft.
    pub(super) fn open(&self, shaft: usize, cam: f64) -> bool {
        self.over.get(shaft).into_iter().flatten().any(|over| {
            let part = self.parts.get(over.valves).and_then(Option::as_ref);
            part.is_some_and(|part| part.lift(cam - over.offset, 0.0) > 0.0)
        })
    }
}

/// What a spec with valves lacks that no shaft can be blamed for: a cylinder without an intake or
/// without an exhaust.
pub(super) fn cylinders_without(drive: &Drive) -> Vec<Missing> {
    let mut found = Vec::new();
    for cylinder in drive.cylinders().iter().flat_map(|all| &all.firing_order) {
        for kind in [ValveKind::Intake, ValveKind::Exhaust] {
            let there = drive
                .valves()
                .iter()
                .any(|entry| entry.kind == kind && entry.cylinders.contains(cylinder));
            if !there {
                found.push(Missing::Cylinder {
                    cylinder: *cylinder,
                    kind,
                });
            }
        }
    }
    found
}
