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

use crate::drive::lattice::Modulus;
use crate::spec::format::MAX_CHAINS;
use crate::timing::hang::{Bench, State};
use crate::units::number::Number;
use crate::units::quantity::OutOfRange;

/// What was seen, weighed.
#[derive(Clone, Debug)]
pub(crate) struct Evidence<N, const E: usize> {
    /// Is there any way to hang the chains by whole teeth that fits all that was seen?
    pub(crate) fits_some: bool,
    /// Apart from parts of a tooth, does it hold together?
    pub(crate) agrees: bool,
    /// Is there one among them in which everything that must be in time is?
    pub(crate) may_be_in_time: bool,
    /// What was seen of these shafts was left out.
    pub(crate) without: Shafts,
    /// How far each shaft is ahead, in crank turns, where that follows; modulo a turn of its own.
    pub(crate) ahead: [Option<N>; E],
}

/// Some shafts of a drive.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Shafts(u16);

impl Shafts {
    pub(crate) const NONE: Self = Self(0);

    pub(crate) fn add(&mut self, shaft: usize) {
        self.0 |= 1 << shaft;
    }

    pub(crate) fn has(self, shaft: usize) -> bool {
        self.0 & (1 << shaft) != 0
    }

    pub(crate) fn is_empty(self) -> bool {
        self.0 == 0
    }
}

/// `D = rest` modulo `modulus`; exactly, where there is none.
#[derive(Clone, Copy, Debug)]
struct Congruence<N> {
    rest: N,
    modulus: Option<Modulus>,
}

/// Congruences, as many as there are shafts at most.
struct Congruences<N, const E: usize> {
    all: [Congruence<N>; E],
    count: usize,
}

impl<N: Number, const E: usize> Congruences<N, E> {
    fn new() -> Self {
        Self {
            all: [Congruence {
                rest: N::ZERO,
                modulus: None,
            }; E],
            count: 0,
        }
    }

    /// Takes down one more. Has it a common solution with each of the others? Congruences of
    /// rationals have one together just when any two of them have.
    fn take(&mut self, bench: Bench<'_, N>, next: Congruence<N>) -> Result<bool, OutOfRange> {
        for other in &self.all[..self.count] {
            if !next.agrees(bench, *other)? {
                return Ok(false);
            }
        }
        // One for each dot, and there is one dot a shaft.
        let Some(place) = self.all.get_mut(self.count) else {
            return Err(OutOfRange);
        };
        *place = next;
        self.count += 1;
        Ok(true)
    }
}

impl<N: Number> Congruence<N> {
    /// Have both a common solution?
    fn agrees(self, bench: Bench<'_, N>, other: Self) -> Result<bool, OutOfRange> {
        let apart = self.rest.minus(other.rest)?;
        if apart.is_zero() {
            return Ok(true);
        }
        let modulus = match (self.modulus, other.modulus) {
            (Some(a), Some(b)) => bench.angles.common(a, b)?,
            (Some(a), None) | (None, Some(a)) => bench.angles.modulus(a),
            (None, None) => return Ok(false),
        };
        apart.is_multiple_of(modulus)
    }
}

/// A shaft's place within its group.
#[derive(Clone, Copy, Debug)]
struct Placed<N> {
    group: u8,
    /// Ahead of where it belongs if the group's first shaft is where that belongs.
    off: N,
}

/// No group yet.
const NO_GROUP: u8 = u8::MAX;

struct Weighing<'a, N, const E: usize> {
    bench: Bench<'a, N>,
    placed: [Placed<N>; E],
    /// How many groups there are; the crankshaft's is the first.
    groups: usize,
    /// The dots of other shafts than the crankshaft count, and that many times.
    dots: &'a State<N, E>,
    /// What was seen of these is left out.
    without: Shafts,
    /// How far the crankshaft is past the turns that were counted, if its dot says.
    crank: Option<N>,
    /// Do the links agree among themselves?
    links_agree: bool,
    /// Are all links whole teeth apart?
    whole: bool,
}

/// Weighs what was seen, all but what was seen of the shafts in `without`. `moved`: had the dot of that sprocket been
/// on a link so much further on.
pub(crate) fn weigh<N: Number, const E: usize>(
    bench: Bench<'_, N>,
    state: &State<N, E>,
    without: Shafts,
    moved: Option<(usize, N)>,
) -> Result<Evidence<N, E>, OutOfRange> {
    let mut weighing = Weighing {
        bench,
        placed: [Placed {
            group: NO_GROUP,
            off: N::ZERO,
        }; E],
        groups: 0,
        dots: state,
        without,
        crank: None,
        links_agree: true,
        whole: true,
    };
    weighing.group(state, moved)?;
    // Never among those left out: all is measured from it.
    let crank = state
        .dots()
        .iter()
        .find(|dot| dot.shaft == bench.frame.crank);
    weighing.crank = crank.map(|dot| dot.ahead);
    weighing.conclude()
}

impl<N: Number, const E: usize> Weighing<'_, N, E> {
    /// Joins shafts whose links were seen on one chain.
    fn group(&mut self, state: &State<N, E>, moved: Option<(usize, N)>) -> Result<(), OutOfRange> {
        let frame = self.bench.frame;
        let seat = |at: usize| match (state.seats[at], moved) {
            (Some(seat), Some((other, by))) if other == at => seat.plus(by).map(Some),
            (seat, _) => Ok(seat),
        };
        // A chain is measured once, from the shaft by which it is reached: between two others of it, the
        // way round that is meant may be the longer one.
        let mut measured = [false; MAX_CHAINS];
        let mut waiting = [0_u8; E];
        // The crankshaft first, the others as the chains reach them.
        let others = (0..frame.shafts.len()).filter(|shaft| *shaft != frame.crank);
        for first in std::iter::once(frame.crank).chain(others) {
            if self.placed[first].group != NO_GROUP {
                continue;
            }
            // There are as many groups as shafts at most.
            let group = u8::try_from(self.groups).map_err(|_| OutOfRange)?;
            self.groups += 1;
            self.placed[first].group = group;
            waiting[0] = u8::try_from(first).map_err(|_| OutOfRange)?;
            let mut left = 1;
            while left > 0 {
                left -= 1;
                let shaft = usize::from(waiting[left]);
                if self.without.has(shaft) {
                    continue;
                }
                let here = self.placed[shaft].off;
                for at in frame.carried_by(shaft) {
                    let at = usize::from(*at);
                    let Some(base) = seat(at)? else { continue };
                    let c = frame.seats[at].chain();
                    if std::mem::replace(&mut measured[c], true) {
                        continue;
                    }
                    let chain = self.bench.angles.chains[c];
                    for to in frame.chains[c].seats() {
                        let next = frame.seats[to].shaft();
                        if next == shaft || self.without.has(next) {
                            continue;
                        }
                        let Some(other) = seat(to)? else { continue };
                        let apart = other.minus(base)?.nearest(chain.around)?;
                        self.whole &= apart.is_multiple_of(chain.tooth)?;
                        let off = here.plus(apart)?;
                        let there = self.placed[next];
                        if there.group == NO_GROUP {
                            self.placed[next] = Placed { group, off };
                            // Each shaft waits once.
                            waiting[left] = u8::try_from(next).map_err(|_| OutOfRange)?;
                            left += 1;
                        } else {
                            self.links_agree &= self.bench.same(next, there.off, off)?;
                        }
                    }
                }
            }
        }
        Ok(())
    }

    fn conclude(&self) -> Result<Evidence<N, E>, OutOfRange> {
        let frame = self.bench.frame;
        let mut known: [Option<N>; E] = [None; E];
        known[0] = Some(N::ZERO);
        if let Some(crank) = self.crank {
            for (group, first) in known.iter_mut().enumerate().take(self.groups).skip(1) {
                *first = self.by_dots(group, crank)?;
            }
        }
        let mut ahead = [None; E];
        for (ahead, place) in ahead.iter_mut().zip(&self.placed[..frame.shafts.len()]) {
            if let Some(first) = known[usize::from(place.group)] {
                *ahead = Some(first.plus(place.off)?);
            }
        }
        let dots_agree = self.dots_agree(&known, false)?;
        let agrees = self.links_agree && dots_agree;
        // Only a group that may stand anywhere is asked more by whole teeth.
        let free = known[..self.groups].iter().any(Option::is_none);
        let whole = agrees
            && self.whole
            && self.whole_teeth(&ahead)?
            && (!free || self.dots_agree(&known, true)?);
        let may_be_in_time = self.links_agree && self.home()?;
        for (ahead, shaft) in ahead.iter_mut().zip(&self.bench.angles.shafts) {
            if let Some(found) = ahead {
                *ahead = Some(found.nearest(shaft.period)?);
            }
        }
        Ok(Evidence {
            fits_some: whole,
            agrees,
            may_be_in_time,
            without: self.without,
            ahead,
        })
    }

    /// Where a group without the crankshaft stands, by its dots. Each tells it but for whole turns of its
    /// own shaft: the place is sought that goes with all of them, from the slowest shaft's on, and
    /// where there is none the slowest shaft's is taken.
    fn by_dots(&self, group: usize, crank: N) -> Result<Option<N>, OutOfRange> {
        /// More whole turns than any shaft of few teeth makes before the others are back.
        const MOST_TURNS: usize = 400;
        let mut dots = self.dots_of(group);
        if let (Some((shaft, ahead)), None) = (dots.next(), dots.next()) {
            let rest = ahead.minus(crank)?.minus(self.placed[shaft].off)?;
            return Ok(Some(rest));
        }
        let mut slowest: Option<(N, N)> = None;
        let mut meet = Congruences::<N, E>::new();
        for (shaft, ahead) in self.dots_of(group) {
            let rest = ahead.minus(crank)?.minus(self.placed[shaft].off)?;
            let turn = self.bench.angles.shafts[shaft].period;
            if slowest.is_none_or(|(_, slowest)| slowest <= turn) {
                slowest = Some((rest, turn));
            }
            // Where two of them never meet there is nothing to seek: nothing fits, wherever the group stands.
            if !meet.take(self.bench, self.turn_of(shaft, rest)?)? {
                return Ok(Some(rest));
            }
        }
        let Some((slowest, turn)) = slowest else {
            return Ok(None);
        };
        let (mut on, mut back) = (slowest, slowest);
        for _ in 0..=MOST_TURNS {
            for place in [on, back] {
                let mut all = true;
                for dot in &meet.all[..meet.count] {
                    let turn = dot
                        .modulus
                        .map_or(turn, |turn| self.bench.angles.modulus(turn));
                    all &= place.minus(dot.rest)?.is_multiple_of(turn)?;
                }
                if all {
                    return Ok(Some(place));
                }
            }
            (on, back) = (on.plus(turn)?, back.minus(turn)?);
        }
        Ok(Some(slowest))
    }

    fn turn_of(&self, shaft: usize, rest: N) -> Result<Congruence<N>, OutOfRange> {
        let shaft = u8::try_from(shaft).map_err(|_| OutOfRange)?;
        Ok(Congruence {
            rest,
            modulus: Some(Modulus::Turn(shaft)),
        })
    }

    fn teeth_of(&self, shaft: usize, rest: N) -> Result<Congruence<N>, OutOfRange> {
        let shaft = u8::try_from(shaft).map_err(|_| OutOfRange)?;
        Ok(Congruence {
            rest,
            modulus: Some(Modulus::Teeth(shaft)),
        })
    }

    /// Can all dots have been seen at one place of the crankshaft? Groups of which nothing else is known
    /// may stand anywhere, or by `teeth` only whole teeth from where they belong.
    fn dots_agree(&self, known: &[Option<N>; E], teeth: bool) -> Result<bool, OutOfRange> {
        if self.no_dots() {
            return Ok(true);
        }
        let mut all = Congruences::<N, E>::new();
        if let Some(rest) = self.crank {
            all.take(
                self.bench,
                Congruence {
                    rest,
                    modulus: None,
                },
            )?;
        }
        for (nth, (shaft, ahead)) in self.all_dots().enumerate() {
            let place = self.placed[shaft];
            let rest = ahead.minus(place.off)?;
            let agrees = match known[usize::from(place.group)] {
                Some(first) => {
                    let dot = self.turn_of(shaft, rest.minus(first)?)?;
                    all.take(self.bench, dot)?
                }
                // Within its group it agrees with those before it, wherever the group stands.
                None => {
                    self.agrees_within(shaft, rest, nth)?
                        && (!teeth || all.take(self.bench, self.teeth_of(shaft, rest)?)?)
                }
            };
            if !agrees {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Does a dot agree with those of its group among the first `before`?
    fn agrees_within(&self, shaft: usize, rest: N, before: usize) -> Result<bool, OutOfRange> {
        let dot = self.turn_of(shaft, rest)?;
        let group = self.placed[shaft].group;
        for (other, ahead) in self.all_dots().take(before) {
            let place = self.placed[other];
            if place.group != group {
                continue;
            }
            let other = self.turn_of(other, ahead.minus(place.off)?)?;
            if !dot.agrees(self.bench, other)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// With the crankshaft half a turn from its mark nobody can say which turn the dots belong to.
    fn no_dots(&self) -> bool {
        self.dots.crank_half_turn || self.dots.dots().is_empty()
    }

    /// The dots of other shafts than the crankshaft, in the order in which they were seen.
    fn all_dots(&self) -> impl Iterator<Item = (usize, N)> {
        let dots = if self.no_dots() {
            &[][..]
        } else {
            self.dots.dots()
        };
        dots.iter()
            .filter(|dot| dot.shaft != self.bench.frame.crank && !self.without.has(dot.shaft))
            .map(|dot| (dot.shaft, dot.ahead))
    }

    /// Those of a group.
    fn dots_of(&self, group: usize) -> impl Iterator<Item = (usize, N)> {
        self.all_dots()
            .filter(move |(shaft, _)| usize::from(self.placed[*shaft].group) == group)
    }

    /// Is every shaft of which that follows whole teeth from the one that drives it?
    fn whole_teeth(&self, ahead: &[Option<N>; E]) -> Result<bool, OutOfRange> {
        let frame = self.bench.frame;
        for id in &frame.order {
            let id = usize::from(*id);
            let (Some(here), Some(at)) = (ahead[id], frame.shafts[id].driven) else {
                continue;
            };
            let chain = frame.seats[usize::from(at)].chain();
            let whole = match ahead[frame.driver_shaft(chain)] {
                // A whole turn of the shaft that drives is no whole turn of a chain's teeth
                // elsewhere, but always whole teeth on its own.
                Some(base) => here
                    .minus(base)?
                    .is_multiple_of(self.bench.angles.chains[chain].tooth)?,
                None => here.is_multiple_of(self.bench.angles.shafts[id].finest)?,
            };
            if !whole {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Does everything fit if all that must be in time is where it belongs?
    fn home(&self) -> Result<bool, OutOfRange> {
        let frame = self.bench.frame;
        let mut first: [Option<N>; E] = [None; E];
        // Where a timed shaft, or the crankshaft, belongs to a group, all of it is known.
        first[0] = Some(N::ZERO);
        for (shaft, place) in frame.shafts.iter().zip(&self.placed) {
            if !shaft.timed {
                continue;
            }
            let first = &mut first[usize::from(place.group)];
            match *first {
                None => *first = Some(place.off.negated()),
                Some(first) => {
                    let here = first.plus(place.off)?;
                    if !self.bench.same(shaft.id.index(), here, N::ZERO)? {
                        return Ok(false);
                    }
                }
            }
        }
        self.dots_agree(&first, true)
    }
}
