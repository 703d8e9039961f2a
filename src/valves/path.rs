//! The search for an order in which crankshaft and camshafts can be moved.
//!
//! A place in it is where the crankshaft stands, in steps from where it stood at first, and which of
//! the camshafts were moved to where they belong; each is moved in one go. From every place the
//! crankshaft may go one step either way, or one camshaft may be moved. Whatever keeps the margin is a
//! way; the best way from start to end is taken (Dijkstra). The steps are only where the way may turn:
//! between them the clearance is bounded over the whole range, not looked at in points.
#![allow(
    clippy::float_arithmetic,
    reason = "distances of moving parts, estimated"
)]

use crate::valves::reach::{Closest, Reach};
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

/// Crank degrees of a step.
pub(super) const STEP: i32 = 5;

/// Steps that the crankshaft is turned at most, either way: one whole turn.
const MOST_STEPS: i32 = 360 / STEP;

/// What a step costs on either side of where the crankshaft stood: back, before TDC, is common practice
/// where camshafts are moved, and ahead is taken where that is much nearer.
const BACK: u32 = 2;
const AHEAD: u32 = 3;

/// With so many remedies or fewer, they are tried in every order.
const ANY_ORDER: usize = 6;

/// A whole turn of a camshaft, in crank degrees.
const CYCLE: f64 = 720.0;

/// What one remedy moves, all of it by as much.
pub(super) struct Moving {
    /// The shafts, by their place among those of the drive.
    pub(super) shafts: Vec<usize>,
    /// How far ahead, in crank degrees; below zero: back.
    pub(super) by: f64,
    /// May it go there the other way round as well? Only a camshaft alone comes out where it belongs.
    pub(super) other_way: bool,
}

/// Where everything stands, and what is to be moved.
pub(super) struct Task<'a> {
    pub(super) reach: &'a Reach,
    /// The crankshaft, in crank degrees past the timed position.
    pub(super) crank: f64,
    /// Every shaft likewise, twice its own degrees for a camshaft.
    pub(super) shafts: &'a [f64],
    pub(super) moving: &'a [Moving],
    /// Is enough known to turn the crankshaft?
    pub(super) crank_turns: bool,
    /// How far a shaft may be let run past either end of its way, in crank degrees.
    pub(super) overrun: f64,
}

/// A part of the way.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Leg {
    /// The crankshaft is turned between two places, in steps from where it stood at first.
    Crank { from: i32, to: i32 },
    /// A remedy is carried out with the crankshaft there.
    Move {
        index: usize,
        at: i32,
        /// The other way round than the remedy says.
        other_way: bool,
        /// Nothing comes too near wherever on its whole turn any of it stands.
        anywhere: bool,
    },
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct Place {
    crank: i32,
    moved: u32,
    /// The way in which the crankshaft was turned just now, if it was.
    turning: i32,
}

/// What is better is less: times that the crankshaft is turned, remedies the other way round, remedies
/// where not every place of the camshaft is safe, and how far the crankshaft is turned.
type Cost = (u32, u32, u32, u32);

/// The best that is known of each place: its cost, and from where and how it is reached.
type Best = HashMap<Place, (Cost, Option<(Place, Leg)>)>;

impl Task<'_> {
    /// Where a shaft stands once the remedies of `moved` were carried out.
    fn stands(&self, shaft: usize, moved: u32) -> f64 {
        let all = self.moving.iter().enumerate();
        all.filter(|(i, one)| moved & (1 << i) != 0 && one.shafts.contains(&shaft))
            .fold(self.shafts[shaft], |at, (_, one)| at + one.by)
    }

    fn crank_at(&self, steps: i32) -> f64 {
        self.crank + f64::from(steps * STEP)
    }

    /// The nearest that anything comes while the crankshaft goes between two places and no other shaft
    /// moves.
    pub(super) fn turning(&self, from: i32, to: i32, moved: u32) -> Option<Closest> {
        let ends = [from.min(to), from.max(to)].map(|steps| self.crank_at(steps));
        (0..self.shafts.len()).fold(None, |closest, shaft| {
            let at = self.stands(shaft, moved);
            Closest::nearer(closest, self.reach.closest(shaft, ends, [at, at]))
        })
    }

    /// The nearest that anything comes while a remedy is carried out.
    ///
    /// Where the crankshaft was turned to, it need not stand to the degree: a step either way will do.
    pub(super) fn moving(
        &self,
        index: usize,
        at: i32,
        moved: u32,
        other_way: bool,
    ) -> Option<Closest> {
        let one = &self.moving[index];
        let by = if other_way {
            one.by - CYCLE.copysign(one.by)
        } else {
            one.by
        };
        let swept = self.sweep(one, at, |shaft| {
            let from = self.stands(shaft, moved);
            let to = from + by;
            [from.min(to) - self.overrun, from.max(to) + self.overrun]
        });
        if at == 0 {
            return swept;
        }
        let (from, to) = (at - 1, at + 1);
        let before = self.turning(from, to, moved);
        let after = self.turning(from, to, moved | 1 << index);
        Closest::nearer(swept, Closest::nearer(before, after))
    }

    /// The nearest that anything comes while the shafts of a remedy go through a range.
    fn sweep(&self, one: &Moving, at: i32, range: impl Fn(usize) -> [f64; 2]) -> Option<Closest> {
        let slack = i32::from(at != 0);
        let crank = [at - slack, at + slack].map(|steps| self.crank_at(steps));
        one.shafts.iter().fold(None, |closest, shaft| {
            let here = self.reach.closest(*shaft, crank, range(*shaft));
            Closest::nearer(closest, here)
        })
    }

    /// The same wherever on their whole turn they stand.
    pub(super) fn anywhere(&self, index: usize, at: i32) -> Option<Closest> {
        self.sweep(&self.moving[index], at, |_| [0.0, CYCLE])
    }

    /// The nearest that anything that is moved is where it belongs.
    fn moved_at_the_end(&self, all: u32) -> Option<Closest> {
        let crank = [self.crank, self.crank];
        let shafts = self.moving.iter().flat_map(|one| &one.shafts);
        shafts.fold(None, |closest, shaft| {
            let at = self.stands(*shaft, all);
            Closest::nearer(closest, self.reach.closest(*shaft, crank, [at, at]))
        })
    }

    /// May a remedy be the next one?
    fn in_order(&self, index: usize, moved: u32) -> bool {
        if moved & (1 << index) != 0 {
            return false;
        }
        let own = &self.moving[index].shafts;
        (0..index).all(|before| {
            let done = moved & (1 << before) != 0;
            let apart = !self.moving[before]
                .shafts
                .iter()
                .any(|shaft| own.contains(shaft));
            done || (apart && self.moving.len() <= ANY_ORDER)
        })
    }

    /// The best way that keeps everything `margin` mm apart.
    pub(super) fn way(&self, margin: f64) -> Option<Vec<Leg>> {
        let keeps = |closest: Option<Closest>| closest.is_none_or(|closest| closest.mm >= margin);
        let all = (1_u32 << self.moving.len()) - 1;
        // No way leads to where it is too close; most that is not found ends here.
        if !keeps(self.moved_at_the_end(all)) {
            return None;
        }
        let start = Place {
            crank: 0,
            moved: 0,
            turning: 0,
        };
        let mut known: HashMap<(i32, u32), bool> = HashMap::new();
        let mut best = Best::new();
        let mut waiting = BinaryHeap::new();
        let none: Cost = (0, 0, 0, 0);
        best.insert(start, (none, None));
        waiting.push(Reverse((none, start)));
        while let Some(Reverse((cost, here))) = waiting.pop() {
            if best.get(&here).is_some_and(|(other, _)| *other < cost) {
                continue;
            }
            if here.crank == 0 && here.moved == all {
                return Some(legs(&best, here));
            }
            let mut next: Vec<(Cost, Place, Leg)> = Vec::new();
            for index in 0..self.moving.len() {
                if !self.in_order(index, here.moved) {
                    continue;
                }
                let anywhere = keeps(self.anywhere(index, here.crank));
                for other_way in [false, true] {
                    if other_way && !self.moving[index].other_way
                        || !keeps(self.moving(index, here.crank, here.moved, other_way))
                    {
                        continue;
                    }
                    let place = Place {
                        moved: here.moved | 1 << index,
                        turning: 0,
                        ..here
                    };
                    let cost = (
                        cost.0,
                        cost.1 + u32::from(other_way),
                        cost.2 + u32::from(!anywhere),
                        cost.3,
                    );
                    let leg = Leg::Move {
                        index,
                        at: here.crank,
                        other_way,
                        anywhere,
                    };
                    next.push((cost, place, leg));
                }
            }
            for by in [-1, 1] {
                let to = here.crank + by;
                if !self.crank_turns || to.abs() > MOST_STEPS {
                    continue;
                }
                let clear = *known
                    .entry((here.crank.min(to), here.moved))
                    .or_insert_with(|| keeps(self.turning(here.crank, to, here.moved)));
                if !clear {
                    continue;
                }
                let place = Place {
                    crank: to,
                    turning: by,
                    ..here
                };
                let cost = (
                    cost.0 + u32::from(here.turning != by),
                    cost.1,
                    cost.2,
                    cost.3 + if here.crank + to < 0 { BACK } else { AHEAD },
                );
                let leg = Leg::Crank {
                    from: here.crank,
                    to,
                };
                next.push((cost, place, leg));
            }
            for (cost, place, leg) in next {
                if best.get(&place).is_none_or(|(other, _)| cost < *other) {
                    best.insert(place, (cost, Some((here, leg))));
                    waiting.push(Reverse((cost, place)));
                }
            }
        }
        None
    }
}

/// The way that leads to `end`, turns of the crankshaft that follow each other taken as one.
fn legs(best: &Best, end: Place) -> Vec<Leg> {
    let mut back = Vec::new();
    let mut here = end;
    while let Some((_, Some((before, leg)))) = best.get(&here) {
        back.push(*leg);
        here = *before;
    }
    let mut legs: Vec<Leg> = Vec::new();
    for leg in back.into_iter().rev() {
        match (legs.last_mut(), leg) {
            (Some(Leg::Crank { from, to }), Leg::Crank { to: on, .. })
                if (*to - *from).signum() == (on - *to).signum() =>
            {
                *to = on;
            }
            _ => legs.push(leg),
        }
    }
    legs
}
