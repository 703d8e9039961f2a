//! What follows from what was seen, in the strict sense: does any way to hang the chains fit it, does
//! one fit in which everything that must be in time is, and where does it leave each shaft?
//!
//! Everything here is an angle in crank turns. With `x_s` how far shaft s is ahead of where it
//! belongs (a whole turn of its own changes nothing), what can be seen says three kinds of things:
//!
//! - two dots of one chain on links that are `d` apart from where they should be:
//!   `x_a - x_b = d * tooth`, which joins the shafts of a chain into groups whose places among
//!   each other are known;
//! - a dot `A_s` ahead of its reference mark, the crankshaft `D` past the turns that were
//!   counted: `x_s + D = A_s`, modulo a turn of s;
//! - chains are hung by whole teeth: between two shafts of one chain there is a whole number of
//!   them, seen or not.
//!
//! The crankshaft is what all is measured from, `x = 0`. A group without it may stand anywhere on the
//! lattice of the teeth between it and the crankshaft. What is left is a handful of congruences for
//! `D`; congruences of rationals have a common solution just when any two of them have one.

use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::timing::hang::Hung;
use crate::timing::observe::Observations;
use crate::units::quantity::{Exact, OutOfRange};

/// What was seen, weighed.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Evidence {
    /// Is there any way to hang the chains by whole teeth that fits all that was seen?
    pub(crate) fits_some: bool,
    /// Apart from parts of a tooth, does it hold together?
    pub(crate) agrees: bool,
    /// Is there one among them in which everything that must be in time is?
    pub(crate) may_be_in_time: bool,
    /// What was seen of these shafts was left out.
    pub(crate) without: Vec<ShaftId>,
    /// How far each shaft is ahead, in crank turns, where that follows; modulo a turn of its own.
    pub(crate) ahead: Vec<Option<Exact>>,
}

/// `D = rest` modulo `modulus`; exactly, where there is none.
#[derive(Clone, Copy)]
struct Congruence {
    rest: Exact,
    modulus: Option<Exact>,
}

impl Congruence {
    /// Have both a common solution?
    fn agrees(self, other: Self) -> Result<bool, OutOfRange> {
        let apart = self.rest.checked_sub(other.rest)?;
        let modulus = match (self.modulus, other.modulus) {
            (Some(a), Some(b)) => common(a, b)?,
            (Some(a), None) | (None, Some(a)) => a,
            (None, None) => return Ok(apart.is_zero()),
        };
        Ok(apart.modulo(modulus)?.is_zero())
    }
}

fn all_agree(all: &[Congruence]) -> Result<bool, OutOfRange> {
    for (i, a) in all.iter().enumerate() {
        for b in &all[..i] {
            if !a.agrees(*b)? {
                return Ok(false);
            }
        }
    }
    Ok(true)
}

/// The greatest number of which both are whole multiples.
fn common(a: Exact, b: Exact) -> Result<Exact, OutOfRange> {
    let (mut a, mut b) = (a, b);
    while !b.is_zero() {
        (a, b) = (b, a.modulo(b)?);
    }
    Ok(a)
}

/// A shaft's place within its group.
#[derive(Clone, Copy)]
struct Placed {
    group: usize,
    /// Ahead of where it belongs if the group's first shaft is where that belongs.
    off: Exact,
}

struct Weighing<'a> {
    drive: &'a Drive,
    placed: Vec<Placed>,
    /// How many groups there are; the crankshaft's is the first.
    groups: usize,
    /// Dots of all shafts but the crankshaft, ahead of where they are due, in crank turns.
    dots: Vec<(ShaftId, Exact)>,
    /// How far the crankshaft is past the turns that were counted, if its dot says.
    crank: Option<Exact>,
    /// Do the links agree among themselves?
    links_agree: bool,
    /// Are all links whole teeth apart?
    whole: bool,
}

/// Weighs what was seen, all but what was seen of the shafts in `without`.
pub(crate) fn weigh(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    without: &[ShaftId],
) -> Result<Evidence, OutOfRange> {
    let mut weighing = Weighing {
        drive,
        placed: Vec::new(),
        groups: 0,
        dots: Vec::new(),
        crank: None,
        links_agree: true,
        whole: true,
    };
    weighing.group(hung, without)?;
    weighing.take_dots(seen, hung, without)?;
    weighing.conclude(without)
}

impl Weighing<'_> {
    /// Joins shafts whose links were seen on one chain.
    fn group(&mut self, hung: &Hung, without: &[ShaftId]) -> Result<(), OutOfRange> {
        let drive = self.drive;
        let count = drive.shafts().count();
        let mut placed: Vec<Option<Placed>> = vec![None; count];
        let mut ids: Vec<ShaftId> = drive.shafts().map(|(id, _)| id).collect();
        // The crankshaft first, the others as the chains reach them.
        ids.sort_by_key(|id| *id != drive.crank());
        let mut waiting = Vec::new();
        // A chain is measured once, from the shaft by which it is reached: between two others of it, the
        // way round that is meant may be the longer one.
        let mut measured = vec![false; drive.chains().count()];
        for first in ids {
            if placed[first.index()].is_some() {
                continue;
            }
            let group = self.groups;
            self.groups += 1;
            placed[first.index()] = Some(Placed {
                group,
                off: Exact::ZERO,
            });
            waiting.push(first);
            while let Some(shaft) = waiting.pop() {
                let Some(here) = placed[shaft.index()] else {
                    continue;
                };
                for at in drive.shaft(shaft).engagements() {
                    let Some(seat) = hung.seat(drive, *at).filter(|_| !without.contains(&shaft))
                    else {
                        continue;
                    };
                    if std::mem::replace(&mut measured[at.chain.index()], true) {
                        continue;
                    }
                    let chain = drive.chain(at.chain);
                    for (to, sprocket) in chain.engagements(at.chain) {
                        let next = sprocket.shaft();
                        let Some(other) = hung.seat(drive, to) else {
                            continue;
                        };
                        if next == shaft || without.contains(&next) {
                            continue;
                        }
                        let teeth = other
                            .checked_sub(seat)?
                            .get()
                            .nearest_modulo(chain.links().to_exact())?;
                        self.whole &= teeth.is_whole();
                        let off = here.off.checked_add(teeth.checked_div(chain.speed())?)?;
                        match placed[next.index()] {
                            None => {
                                placed[next.index()] = Some(Placed { group, off });
                                waiting.push(next);
                            }
                            Some(there) => {
                                let apart = there.off.checked_sub(off)?;
                                let turn = drive.shaft(next).period();
                                self.links_agree &= apart.modulo(turn)?.is_zero();
                            }
                        }
                    }
                }
            }
        }
        self.placed = placed.into_iter().flatten().collect();
        Ok(())
    }

    fn take_dots(
        &mut self,
        seen: &Observations,
        hung: &Hung,
        without: &[ShaftId],
    ) -> Result<(), OutOfRange> {
        // With the crankshaft half a turn from its mark nobody can say which turn the dots belong to.
        if hung.crank_half_turn() {
            return Ok(());
        }
        let drive = self.drive;
        for (at, what) in seen.dots() {
            let id = drive.sprocket(*at).shaft();
            if without.contains(&id) {
                continue;
            }
            let ahead = crate::timing::hang::ahead(drive, seen, *at, *what)?.get();
            if id == drive.crank() {
                self.crank = Some(ahead);
            } else {
                let turns = ahead.checked_mul(drive.shaft(id).period())?;
                self.dots.push((id, turns));
            }
        }
        Ok(())
    }

    fn conclude(&self, without: &[ShaftId]) -> Result<Evidence, OutOfRange> {
        let drive = self.drive;
        let mut known: Vec<Option<Exact>> = vec![None; self.groups];
        known[0] = Some(Exact::ZERO);
        if let Some(crank) = self.crank {
            for (group, first) in known.iter_mut().enumerate().skip(1) {
                *first = self.by_dots(group, crank)?;
            }
        }
        let mut ahead = Vec::with_capacity(self.placed.len());
        for place in &self.placed {
            ahead.push(match known[place.group] {
                Some(first) => Some(first.checked_add(place.off)?),
                None => None,
            });
        }
        let agrees = self.links_agree && self.dots_agree(&known, false)?;
        let whole = self.whole && self.whole_teeth(&ahead)? && self.dots_agree(&known, true)?;
        let may_be_in_time = self.links_agree && self.home()?;
        for (id, shaft) in drive.shafts() {
            let ahead = &mut ahead[id.index()];
            if let Some(found) = ahead {
                *ahead = Some(found.nearest_modulo(shaft.period())?);
            }
        }
        Ok(Evidence {
            fits_some: agrees && whole,
            agrees,
            may_be_in_time,
            without: without.to_vec(),
            ahead,
        })
    }

    /// Where a group without the crankshaft stands, by its dots. Each tells it but for whole turns of its
    /// own shaft: the place is sought that goes with all of them, from the slowest shaft's on, and
    /// where there is none the slowest shaft's is taken.
    fn by_dots(&self, group: usize, crank: Exact) -> Result<Option<Exact>, OutOfRange> {
        /// More whole turns than any shaft of few teeth makes before the others are back.
        const MOST_TURNS: i64 = 400;
        let mut dots = Vec::new();
        for (id, ahead) in self.dots_of(group) {
            let off = self.placed[id.index()].off;
            let place = ahead.checked_sub(crank)?.checked_sub(off)?;
            dots.push((place, self.drive.shaft(*id).period()));
        }
        let Some((slowest, turn)) = dots.iter().copied().max_by_key(|(_, turn)| *turn) else {
            return Ok(None);
        };
        for turns in 0..=MOST_TURNS {
            for turns in [turns, -turns] {
                let place = slowest.checked_add(turn.checked_mul(Exact::whole(turns))?)?;
                let mut all = true;
                for (other, turn) in &dots {
                    all &= place.checked_sub(*other)?.modulo(*turn)?.is_zero();
                }
                if all {
                    return Ok(Some(place));
                }
            }
            // Where two of them never meet there is nothing to seek.
            if turns == 0 && !self.meet(&dots)? {
                break;
            }
        }
        Ok(Some(slowest))
    }

    fn meet(&self, dots: &[(Exact, Exact)]) -> Result<bool, OutOfRange> {
        let all: Vec<Congruence> = dots
            .iter()
            .map(|(rest, turn)| Congruence {
                rest: *rest,
                modulus: Some(*turn),
            })
            .collect();
        all_agree(&all)
    }

    /// Can all dots have been seen at one place of the crankshaft? Groups of which nothing else is known
    /// may stand anywhere, or by `teeth` only whole teeth from where they belong.
    fn dots_agree(&self, known: &[Option<Exact>], teeth: bool) -> Result<bool, OutOfRange> {
        let mut all = self.of_the_crankshaft();
        for (group, first) in known.iter().enumerate() {
            let dots = self.dots.iter().filter(|(id, _)| {
                let place = self.placed[id.index()];
                place.group == group
            });
            let mut within: Vec<Congruence> = Vec::new();
            for (id, ahead) in dots {
                let off = self.placed[id.index()].off;
                let first = first.unwrap_or(Exact::ZERO);
                within.push(Congruence {
                    rest: ahead.checked_sub(off)?.checked_sub(first)?,
                    modulus: Some(self.drive.shaft(*id).period()),
                });
            }
            if !all_agree(&within)? {
                return Ok(false);
            }
            let free = first.is_none();
            if free && !teeth {
                continue;
            }
            for (dot, (id, _)) in within.iter().zip(self.dots_of(group)) {
                let modulus = match dot.modulus {
                    Some(turn) if free => Some(common(turn, self.lattice(*id)?)?),
                    other => other,
                };
                all.push(Congruence { modulus, ..*dot });
            }
        }
        all_agree(&all)
    }

    fn dots_of(&self, group: usize) -> impl Iterator<Item = &(ShaftId, Exact)> {
        self.dots
            .iter()
            .filter(move |(id, _)| self.placed[id.index()].group == group)
    }

    fn of_the_crankshaft(&self) -> Vec<Congruence> {
        let exactly = |rest| Congruence {
            rest,
            modulus: None,
        };
        self.crank.map(exactly).into_iter().collect()
    }

    /// The least angle between two ways to hang the chains between a shaft and the crankshaft.
    fn lattice(&self, id: ShaftId) -> Result<Exact, OutOfRange> {
        let mut finest = self.drive.shaft(id).period();
        for (_, driven) in self.drive.way_to(id) {
            let tooth = Exact::ONE.checked_div(self.drive.chain(driven.chain).speed())?;
            finest = common(finest, tooth)?;
        }
        Ok(finest)
    }

    /// Is every shaft of which that follows whole teeth from the one that drives it?
    fn whole_teeth(&self, ahead: &[Option<Exact>]) -> Result<bool, OutOfRange> {
        for id in self.drive.driven() {
            let Some(here) = ahead[id.index()] else {
                continue;
            };
            let Some(at) = self.drive.shaft(id).driven_at() else {
                continue;
            };
            let chain = self.drive.chain(at.chain);
            let driver = self.drive.sprocket(self.drive.driver_of(at.chain)).shaft();
            let whole = match ahead[driver.index()] {
                Some(base) => {
                    let turns = here.checked_sub(base)?;
                    // A whole turn of the shaft that drives is no whole turn of a chain's teeth
                    // elsewhere, but always whole teeth on its own.
                    turns.checked_mul(chain.speed())?.is_whole()
                }
                None => here.checked_div(self.lattice(id)?)?.is_whole(),
            };
            if !whole {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Does everything fit if all that must be in time is where it belongs?
    fn home(&self) -> Result<bool, OutOfRange> {
        let mut all = self.of_the_crankshaft();
        for group in 0..self.groups {
            // Where a timed shaft, or the crankshaft, belongs to the group, all of it is known.
            let mut first = (group == 0).then_some(Exact::ZERO);
            for (id, shaft) in self.drive.shafts() {
                let place = self.placed[id.index()];
                if place.group != group || !self.drive.is_timed(id) {
                    continue;
                }
                match first {
                    None => first = Some(place.off.negated()),
                    Some(first) => {
                        let here = first.checked_add(place.off)?;
                        if !here.modulo(shaft.period())?.is_zero() {
                            return Ok(false);
                        }
                    }
                }
            }
            let mut within = Vec::new();
            for (id, ahead) in self.dots_of(group) {
                let off = self.placed[id.index()].off;
                let modulus = self.drive.shaft(*id).period();
                let rest = ahead
                    .checked_sub(off)?
                    .checked_sub(first.unwrap_or(Exact::ZERO))?;
                within.push((
                    *id,
                    Congruence {
                        rest,
                        modulus: Some(modulus),
                    },
                ));
            }
            let bare: Vec<Congruence> = within.iter().map(|(_, dot)| *dot).collect();
            if !all_agree(&bare)? {
                return Ok(false);
            }
            for (id, dot) in within {
                let modulus = match dot.modulus {
                    Some(turn) if first.is_none() => Some(common(turn, self.lattice(id)?)?),
                    other => other,
                };
                all.push(Congruence { modulus, ..dot });
            }
        }
        all_agree(&all)
    }
}
