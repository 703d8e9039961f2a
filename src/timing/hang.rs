//! Step 3: how the drive is hung, as far as what was seen tells. Closed forms, exact.
//!
//! A chain on which the dot of sprocket i lies `d_i` links past the link it belongs on carries that
//! sprocket `e_i = d_i - d_c` teeth ahead of the sprocket c that drives it (modulo the chain's
//! links, the smallest representative). One tooth is the same crank angle at every sprocket of a
//! chain, so a shaft's whole error is the plain sum of `e * tooth` along the way from the crankshaft.

use crate::drive::ids::Engagement;
use crate::drive::lattice::{Angles, Frame, FrameSeat, Lattice};
use crate::drive::model::{Drive, Shaft};
use crate::spec::format::{MAX_CHAINS, MAX_PATH};
use crate::timing::observe::{Observations, Seen};
use crate::units::number::Number;
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, Turns};

/// Sprockets and shafts of most drives, of nearly all, and of all there can be.
pub(crate) const FEW: usize = 8;
pub(crate) const SOME: usize = 24;
pub(crate) const ALL: usize = MAX_CHAINS * MAX_PATH;

/// How far a shaft is from where it belongs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Offset {
    /// Above zero: ahead (advanced). Below zero: behind (retarded).
    pub angle: CrankDegrees,
    /// Exactly half way around, so that ahead and behind are the same.
    pub either_way: bool,
}

/// How far a sprocket is from where it belongs, against the sprocket that drives its chain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OwnOffset {
    /// Above zero: ahead (advanced).
    pub teeth: Teeth,
    /// Exactly half the chain, so that ahead and behind are the same.
    pub either_way: bool,
}

/// What is known of one shaft.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct ShaftHung {
    /// By the links on its dots and on those of the shafts that drive it.
    pub by_links: Option<Offset>,
    /// By its dot against the engine.
    pub by_dots: Option<Offset>,
}

/// A drive as it is hung, as far as it was looked at.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hung {
    /// Links past the one that belongs on the dot, by sprocket.
    seats: Vec<Option<Teeth>>,
    own: Vec<Option<OwnOffset>>,
    shafts: Vec<ShaftHung>,
    /// How far the crankshaft's dot is past where it is due, the other dots being measured from it.
    crank_past: Turns,
}

impl Hung {
    /// How many links past the one on which it belongs the dot of `at` lies: counted against its
    /// own coloured link, after the crankshaft has turned; modulo the chain's links.
    pub fn seat(&self, drive: &Drive, at: Engagement) -> Option<Teeth> {
        self.seats.get(drive.index(at)).copied().flatten()
    }

    /// How far the sprocket `at` is ahead of the one that drives its chain.
    pub fn own(&self, drive: &Drive, at: Engagement) -> Option<OwnOffset> {
        self.own.get(drive.index(at)).copied().flatten()
    }

    /// What is known of each shaft, in the order of [`Drive::shafts`].
    pub fn shafts(&self) -> &[ShaftHung] {
        &self.shafts
    }

    /// How far the crankshaft's dot is past where it is due after the turns that are given.
    pub fn crank_past(&self) -> Turns {
        self.crank_past
    }
}

/// What `seen` says about `drive`.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{Observations, link_named, timing::hang, units::Teeth};
///
/// let intake = link_named(&drive, "intake")?;
/// let mut seen = Observations::at_timed_position();
/// seen.see_link(&drive, link_named(&drive, "crank")?, "on".parse()?)?;
/// seen.see_link(&drive, intake, "2 behind".parse()?)?;
/// let hung = hang(&drive, &seen)?;
/// let own = hung.own(&drive, intake).ok_or("not known")?;
/// assert_eq!(own.teeth, Teeth::whole(-2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] and [`Observations`] prevent it.
pub fn hang(drive: &Drive, seen: &Observations) -> Result<Hung, OutOfRange> {
    let nothing;
    let seen = if seen.are_of(drive) {
        seen
    } else {
        // What was seen at another drive says nothing of this one.
        nothing = seen.without_marks();
        &nothing
    };
    let lattice = drive.lattice()?;
    let bench = lattice.bench(&lattice.exact);
    if lattice.frame.size() <= SOME {
        hang_of::<SOME>(seen, bench)
    } else {
        hang_of::<ALL>(seen, bench)
    }
}

/// The same in the units in which it is spoken of.
// Never within its caller: the room for the largest drive would be taken, and touched page by page, for each.
#[inline(never)]
fn hang_of<const E: usize>(
    seen: &Observations,
    bench: Bench<'_, Exact>,
) -> Result<Hung, OutOfRange> {
    let mut state = State::<Exact, E>::new();
    bench.hang(seen, &mut state)?;
    let frame = bench.frame;
    let teeth = |at: &FrameSeat, angle: Exact| {
        angle
            .checked_div(bench.angles.chains[at.chain()].tooth)
            .map(Teeth::new)
    };
    let offset = |off: Option<Off<Exact>>| {
        off.map(|off| {
            Ok(Offset {
                angle: Turns::new(off.angle).to_crank_degrees()?,
                either_way: off.either_way,
            })
        })
        .transpose()
    };
    let mut hung = Hung {
        seats: Vec::with_capacity(frame.seats.len()),
        own: Vec::with_capacity(frame.seats.len()),
        shafts: Vec::with_capacity(frame.shafts.len()),
        crank_past: Turns::new(state.crank_past),
    };
    for (at, (seat, own)) in frame.seats.iter().zip(state.seats.iter().zip(&state.own)) {
        hung.seats
            .push(seat.map(|seat| teeth(at, seat)).transpose()?);
        let own = own.map(|own| {
            Ok(OwnOffset {
                teeth: teeth(at, own.angle)?,
                either_way: own.either_way,
            })
        });
        hung.own.push(own.transpose()?);
    }
    for known in &state.shafts[..frame.shafts.len()] {
        hung.shafts.push(ShaftHung {
            by_links: offset(known.by_links)?,
            by_dots: offset(known.by_dots)?,
        });
    }
    Ok(hung)
}

/// Are both the same position of that shaft? One whole turn of it changes nothing.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub(crate) fn same_angle(
    shaft: &Shaft,
    a: CrankDegrees,
    b: CrankDegrees,
) -> Result<bool, OutOfRange> {
    if a == b {
        return Ok(true);
    }
    let turn = shaft.turn()?.get();
    Ok(a.checked_sub(b)?.get().modulo(turn)?.is_zero())
}

/// A place against where it belongs, in crank turns.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Off<N> {
    pub(crate) angle: N,
    /// Exactly half way around, so that ahead and behind are the same.
    pub(crate) either_way: bool,
}

/// What is known of one shaft, in crank turns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known<N> {
    pub(crate) by_links: Option<Off<N>>,
    pub(crate) by_dots: Option<Off<N>>,
}

impl<N> Default for Known<N> {
    fn default() -> Self {
        Self {
            by_links: None,
            by_dots: None,
        }
    }
}

/// A dot as it was seen.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Dot<N> {
    pub(crate) shaft: usize,
    /// How far ahead of where it is due, in crank turns: the smallest that it can be.
    pub(crate) ahead: N,
}

/// A drive as it is hung, everything in crank turns. Room for `E` sprockets and as many shafts,
/// none of it on the heap.
#[derive(Clone, Debug)]
pub(crate) struct State<N, const E: usize> {
    pub(crate) turned: N,
    /// Of each sprocket, links past the one that belongs on the dot, one tooth a link.
    pub(crate) seats: [Option<N>; E],
    /// Of each sprocket, how far it is ahead of the one that drives its chain.
    pub(crate) own: [Option<Off<N>>; E],
    pub(crate) shafts: [Known<N>; E],
    dots: [Dot<N>; E],
    dot_count: usize,
    /// Sprockets of closed loops whose links contradict the rest of the loop.
    pub(crate) open: [bool; E],
    pub(crate) any_open: bool,
    pub(crate) crank_half_turn: bool,
    /// Were dots seen that cannot be measured from the crankshaft's?
    pub(crate) loose: bool,
    pub(crate) crank_past: N,
}

/// A drive and the numbers to reckon with.
#[derive(Debug)]
pub(crate) struct Bench<'a, N> {
    pub(crate) frame: &'a Frame,
    pub(crate) angles: &'a Angles<N>,
}

impl Lattice {
    /// The drive, in one of both kinds of numbers.
    pub(crate) fn bench<'a, N>(&'a self, angles: &'a Angles<N>) -> Bench<'a, N> {
        Bench {
            frame: &self.frame,
            angles,
        }
    }
}

impl<N> Clone for Bench<'_, N> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<N> Copy for Bench<'_, N> {}

impl<N: Number> Bench<'_, N> {
    /// Are both the same position of that shaft? One whole turn of it changes nothing.
    pub(crate) fn same(self, shaft: usize, a: N, b: N) -> Result<bool, OutOfRange> {
        Ok(a == b
            || a.minus(b)?
                .is_multiple_of(self.angles.shafts[shaft].period)?)
    }

    /// Can the link on that dot be told after `turned`?
    pub(crate) fn readable(self, seat: usize, turned: N) -> Result<bool, OutOfRange> {
        let shaft = self.frame.seats[seat].shaft();
        turned.is_multiple_of(self.angles.shafts[shaft].period)
    }

    /// How far past its mark that is.
    fn past(self, seat: usize, seen: Seen, mark: Option<N>) -> Result<N, OutOfRange> {
        let here = self.frame.seats[seat];
        let tooth = self.angles.chains[here.chain()].tooth;
        match seen {
            Seen::Teeth(teeth) => N::times(tooth, teeth.get()),
            Seen::ShaftDegrees(angle) | Seen::CamDegrees(angle) => {
                N::times(self.angles.shafts[here.shaft()].degree, angle)
            }
            Seen::CrankDegrees(angle) => N::times(self.angles.degree, angle.get()),
            // Of a dot against the engine it was refused when it was taken down.
            Seen::Link(link) => match mark {
                Some(mark) => N::times(tooth, link.get())?.minus(mark),
                None => Ok(N::ZERO),
            },
        }
    }

    /// How the drive is hung, as far as what was seen tells: put into `state`, which is new.
    pub(crate) fn hang<const E: usize>(
        self,
        seen: &Observations,
        state: &mut State<N, E>,
    ) -> Result<(), OutOfRange> {
        state.turned = N::times(self.angles.turn, seen.turned().get())?;
        if !seen.dots().is_empty() {
            self.by_dots(seen, state)?;
        }
        if !seen.links().is_empty() {
            self.by_links(seen, state)?;
        }
        Ok(())
    }

    fn by_dots<const E: usize>(
        self,
        seen: &Observations,
        state: &mut State<N, E>,
    ) -> Result<(), OutOfRange> {
        let mut crank = None;
        for (i, (at, what)) in seen.dots().iter().enumerate() {
            let seat = self.frame.place(*at);
            let shaft = self.frame.seats[seat].shaft();
            let past = self.past(seat, *what, None)?;
            // A dot says nothing about whole turns.
            let ahead = past
                .minus(state.turned)?
                .nearest(self.angles.shafts[shaft].period)?;
            // One for each shaft, so there is room for it.
            let Some(dot) = state.dots.get_mut(i) else {
                return Err(OutOfRange);
            };
            *dot = Dot { shaft, ahead };
            state.dot_count = i + 1;
            if shaft == self.frame.crank {
                crank = Some(ahead);
            }
        }
        let here = Off {
            angle: N::ZERO,
            either_way: false,
        };
        let dots = &state.dots[..state.dot_count];
        let Some(past) = crank.filter(|_| dots.len() > 1) else {
            state.loose = dots.iter().any(|dot| !dot.ahead.is_zero());
            // The crankshaft is what the others are measured from, even while there are none.
            if crank.is_some() {
                state.shafts[self.frame.crank].by_dots = Some(here);
            }
            return Ok(());
        };
        state.crank_past = past;
        if past.is_half_of(self.angles.turn) {
            state.crank_half_turn = true;
            return Ok(());
        }
        for dot in dots {
            let period = self.angles.shafts[dot.shaft].period;
            // Where the shaft stands, less where the crankshaft stands.
            let angle = dot.ahead.minus(past)?.nearest(period)?;
            state.shafts[dot.shaft].by_dots = Some(Off {
                angle,
                either_way: angle.is_half_of(period),
            });
        }
        Ok(())
    }

    fn by_links<const E: usize>(
        self,
        seen: &Observations,
        state: &mut State<N, E>,
    ) -> Result<(), OutOfRange> {
        self.seats(seen, state)?;
        let crank = self.frame.crank;
        state.shafts[crank].by_links = Some(Off {
            angle: N::ZERO,
            either_way: false,
        });
        for id in &self.frame.order {
            let id = usize::from(*id);
            if let Some(at) = self.frame.shafts[id].driven {
                state.shafts[id].by_links = self.along(state, usize::from(at))?;
            }
        }
        // A shaft in a closed loop is reached a second time; both ways must say the same.
        for again in &self.frame.again {
            let at = usize::from(*again);
            let Some(found) = self.along(state, at)? else {
                continue;
            };
            let shaft = self.frame.seats[at].shaft();
            match state.shafts[shaft].by_links {
                None => state.shafts[shaft].by_links = Some(found),
                Some(first) if !self.same(shaft, first.angle, found.angle)? => {
                    state.open[at] = true;
                    state.any_open = true;
                }
                Some(_) => {}
            }
        }
        Ok(())
    }

    /// Fills in where links were seen, and what that makes of each sprocket on its chain.
    fn seats<const E: usize>(
        self,
        seen: &Observations,
        state: &mut State<N, E>,
    ) -> Result<(), OutOfRange> {
        for (at, what) in seen.links() {
            let seat = self.frame.place(*at);
            let mark = self.angles.marks[seat];
            if mark.is_none() || !self.readable(seat, state.turned)? {
                continue;
            }
            // Since it was timed the chain has moved on under each dot's timed place, as far as the crankshaft
            // was turned, so that the link that belongs there now is that much lower.
            state.seats[seat] = Some(self.past(seat, *what, mark)?.plus(state.turned)?);
        }
        for (chain, angles) in self.frame.chains.iter().zip(&self.angles.chains) {
            let Some(driver) = state.seats[chain.driver()] else {
                continue;
            };
            for at in chain.seats() {
                if let Some(seat) = state.seats[at] {
                    let angle = seat.minus(driver)?.nearest(angles.around)?;
                    state.own[at] = Some(Off {
                        angle,
                        either_way: angle.is_half_of(angles.around),
                    });
                }
            }
        }
        Ok(())
    }

    /// The whole error of the shaft driven at `at`: that of the shaft that drives it, and its own.
    fn along<const E: usize>(
        self,
        state: &State<N, E>,
        at: usize,
    ) -> Result<Option<Off<N>>, OutOfRange> {
        let driver = self.frame.driver_shaft(self.frame.seats[at].chain());
        let known = state.shafts[driver];
        let (Some(base), Some(own)) = (known.by_links.or(known.by_dots), state.own[at]) else {
            return Ok(None);
        };
        Ok(Some(Off {
            angle: base.angle.plus(own.angle)?,
            either_way: base.either_way || own.either_way,
        }))
    }
}

impl<N: Number, const E: usize> State<N, E> {
    /// Nothing is known yet.
    pub(crate) fn new() -> Self {
        Self {
            turned: N::ZERO,
            seats: [None; E],
            own: [None; E],
            shafts: [Known::default(); E],
            dots: [Dot {
                shaft: 0,
                ahead: N::ZERO,
            }; E],
            dot_count: 0,
            open: [false; E],
            any_open: false,
            crank_half_turn: false,
            loose: false,
            crank_past: N::ZERO,
        }
    }

    pub(crate) fn dots(&self) -> &[Dot<N>] {
        &self.dots[..self.dot_count]
    }
}
