//! All angles of a drive in crank turns, and the least common denominator of them: what a look at the
//! drive is reckoned with. One tooth is the same crank angle at every sprocket of a chain, a turn of a shaft
//! is as many teeth as its sprocket has, and a chain moves one tooth's angle a link; so everything
//! that can be seen is an angle in crank turns, and the model adds them up.

use crate::drive::ids::{Engagement, ShaftId};
use crate::units::number::{Number, Steps};
use crate::units::quantity::{Exact, OutOfRange};

/// A drive in bare indices: which sprocket sits where, in the order of the spec.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub(crate) crank: usize,
    pub(crate) shafts: Vec<FrameShaft>,
    pub(crate) chains: Vec<FrameChain>,
    /// Every sprocket of every chain.
    pub(crate) seats: Vec<FrameSeat>,
    /// The sprockets of each shaft, one shaft after the other.
    pub(super) carried: Vec<u16>,
    /// Every shaft but the crankshaft, each after the shaft that drives it.
    pub(crate) order: Vec<u8>,
    /// The sprockets by which a closed loop reaches a shaft a second time.
    pub(crate) again: Vec<u16>,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct FrameShaft {
    pub(crate) id: ShaftId,
    /// Must it be in time?
    pub(crate) timed: bool,
    /// Is there anything on its sprockets that can be looked at?
    pub(crate) marked: bool,
    /// The sprocket by which it is driven.
    pub(crate) driven: Option<u16>,
    pub(super) carried: (u16, u16),
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct FrameChain {
    /// The first of its sprockets, and the first of the next chain's.
    pub(super) first: u16,
    pub(super) end: u16,
    /// The sprocket that drives it.
    pub(crate) driver: u16,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct FrameSeat {
    pub(crate) at: Engagement,
    pub(crate) shaft: u8,
    pub(crate) chain: u8,
}

impl FrameSeat {
    pub(crate) fn shaft(self) -> usize {
        usize::from(self.shaft)
    }

    pub(crate) fn chain(self) -> usize {
        usize::from(self.chain)
    }
}

impl FrameChain {
    pub(crate) fn seats(self) -> std::ops::Range<usize> {
        usize::from(self.first)..usize::from(self.end)
    }

    pub(crate) fn driver(self) -> usize {
        usize::from(self.driver)
    }
}

impl Frame {
    /// The place of `at` among the sprockets, if it is one of this drive's.
    pub(crate) fn place(&self, at: Engagement) -> usize {
        let first = self
            .chains
            .get(at.chain.index())
            .map_or(0, |chain| chain.first);
        usize::from(first) + usize::from(at.sprocket)
    }

    /// Room for so many sprockets is room for everything.
    pub(crate) fn size(&self) -> usize {
        self.seats.len().max(self.shafts.len())
    }

    /// The sprockets of a shaft.
    pub(crate) fn carried_by(&self, shaft: usize) -> &[u16] {
        let (first, end) = self.shafts[shaft].carried;
        &self.carried[usize::from(first)..usize::from(end)]
    }

    /// The shaft that drives a chain.
    pub(crate) fn driver_shaft(&self, chain: usize) -> usize {
        self.seats[self.chains[chain].driver()].shaft()
    }

    /// The sprockets driven at each chain on the way to a shaft, from it to the crankshaft.
    pub(crate) fn way_to(&self, shaft: usize) -> impl Iterator<Item = usize> {
        let mut next = self.shafts[shaft].driven;
        std::iter::from_fn(move || {
            let driven = usize::from(next?);
            next = self.shafts[self.driver_shaft(self.seats[driven].chain())].driven;
            Some(driven)
        })
    }
}

/// The angles of a drive, in crank turns.
#[derive(Clone, Debug)]
pub(crate) struct Angles<N> {
    /// One turn of the crankshaft.
    pub(crate) turn: N,
    /// One degree of the crankshaft.
    pub(crate) degree: N,
    pub(crate) chains: Vec<ChainAngles<N>>,
    pub(crate) shafts: Vec<ShaftAngles<N>>,
    /// By sprocket: the link on which its dot belongs, one tooth a link.
    pub(crate) marks: Vec<Option<N>>,
    /// The common divisor of any two moduli, where they are worth the room; see [`Modulus`].
    pub(super) common: Vec<N>,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct ChainAngles<N> {
    /// One tooth, at any of its sprockets.
    pub(crate) tooth: N,
    /// All its links.
    pub(crate) around: N,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct ShaftAngles<N> {
    /// One turn of its own.
    pub(crate) period: N,
    /// One degree of its own.
    pub(crate) degree: N,
    /// The least angle between two ways to hang the chains between it and the crankshaft.
    pub(crate) finest: N,
}

/// By what a place is told: whole turns of a shaft are nothing, or whole teeth on the way to it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Modulus {
    Turn(u8),
    Teeth(u8),
}

impl Modulus {
    fn index(self) -> usize {
        match self {
            Self::Turn(shaft) => 2 * usize::from(shaft),
            Self::Teeth(shaft) => 2 * usize::from(shaft) + 1,
        }
    }
}

impl<N: Number> Angles<N> {
    pub(crate) fn modulus(&self, of: Modulus) -> N {
        match of {
            Modulus::Turn(shaft) => self.shafts[usize::from(shaft)].period,
            Modulus::Teeth(shaft) => self.shafts[usize::from(shaft)].finest,
        }
    }

    /// The greatest angle of which both are whole multiples.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub(crate) fn common(&self, a: Modulus, b: Modulus) -> Result<N, OutOfRange> {
        match self
            .common
            .get(a.index() * 2 * self.shafts.len() + b.index())
        {
            Some(common) => Ok(*common),
            None => self.modulus(a).common(self.modulus(b)),
        }
    }

    pub(super) fn fill_common(&mut self) -> Result<(), OutOfRange> {
        let all: Vec<N> = self
            .shafts
            .iter()
            .flat_map(|shaft| [shaft.period, shaft.finest])
            .collect();
        for a in &all {
            for b in &all {
                self.common.push(a.common(*b)?);
            }
        }
        Ok(())
    }
}

/// What a look at a drive is reckoned with.
#[derive(Clone, Debug)]
pub(crate) struct Lattice {
    pub(crate) frame: Frame,
    /// The angles in whole steps; none where the lattice would be too fine.
    pub(crate) steps: Option<Angles<Steps>>,
    pub(crate) exact: Angles<Exact>,
}
