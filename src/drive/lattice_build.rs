//! From a drive to what a look at it is reckoned with.

use crate::drive::lattice::{
    Angles, ChainAngles, Frame, FrameChain, FrameSeat, FrameShaft, Lattice, ShaftAngles,
};
use crate::drive::model::Drive;
use crate::units::number::{Number as _, Steps};
use crate::units::quantity::{Exact, OutOfRange, greatest_common_divisor};

impl Drive {
    /// What a look at this drive is reckoned with, made the first time it is asked for.
    ///
    /// # Errors
    /// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
    pub(crate) fn lattice(&self) -> Result<&Lattice, OutOfRange> {
        match self.lattice.get_or_init(|| Lattice::of(self).map(Box::new)) {
            Ok(lattice) => Ok(lattice),
            Err(error) => Err(*error),
        }
    }
}

impl Frame {
    fn of(drive: &Drive) -> Result<Self, OutOfRange> {
        // A path has at most 64 sprockets, and there are at most 8 of them.
        let short = |n: usize| u16::try_from(n).map_err(|_| OutOfRange);
        let byte = |n: usize| u8::try_from(n).map_err(|_| OutOfRange);
        let mut seats = Vec::with_capacity(drive.engagement_count());
        let mut chains = Vec::new();
        for (id, chain) in drive.chains() {
            let first = short(seats.len())?;
            for (at, sprocket) in chain.engagements(id) {
                seats.push(FrameSeat {
                    at,
                    shaft: byte(sprocket.shaft().index())?,
                    chain: byte(id.index())?,
                });
            }
            chains.push(FrameChain {
                first,
                end: short(seats.len())?,
                driver: short(drive.index(drive.driver_of(id)))?,
            });
        }
        let mut shafts = Vec::new();
        let mut carried = Vec::new();
        for (id, shaft) in drive.shafts() {
            let first = short(carried.len())?;
            for at in shaft.engagements() {
                carried.push(short(drive.index(*at))?);
            }
            shafts.push(FrameShaft {
                id,
                timed: drive.is_timed(id),
                marked: drive.is_marked(id),
                driven: match shaft.driven_at() {
                    Some(at) => Some(short(drive.index(at))?),
                    None => None,
                },
                carried: (first, short(carried.len())?),
            });
        }
        let mut again = Vec::new();
        for (at, sprocket) in drive.engagements() {
            let id = sprocket.shaft();
            let driven = drive.shaft(id).driven_at() == Some(at) || at == drive.driver_of(at.chain);
            if !driven && id != drive.crank() {
                again.push(short(drive.index(at))?);
            }
        }
        Ok(Self {
            again,
            crank: drive.crank().index(),
            order: drive
                .driven()
                .map(|id| byte(id.index()))
                .collect::<Result<_, _>>()?,
            shafts,
            chains,
            seats,
            carried,
        })
    }
}

impl Angles<Exact> {
    fn of(drive: &Drive) -> Result<Self, OutOfRange> {
        let full = Exact::whole(360);
        let mut chains = Vec::new();
        let mut marks = Vec::with_capacity(drive.engagement_count());
        for (_, chain) in drive.chains() {
            let tooth = Exact::ONE.checked_div(chain.speed())?;
            chains.push(ChainAngles {
                tooth,
                around: tooth.checked_mul(chain.links().to_exact())?,
            });
            for sprocket in chain.sprockets() {
                marks.push(match sprocket.mark() {
                    Some(mark) => Some(mark.link.get().checked_mul(tooth)?),
                    None => None,
                });
            }
        }
        let mut shafts = Vec::new();
        for (id, shaft) in drive.shafts() {
            let period = shaft.period();
            let mut finest = period;
            for (_, driven) in drive.way_to(id) {
                finest = finest.common(chains[driven.chain.index()].tooth)?;
            }
            shafts.push(ShaftAngles {
                period,
                degree: period.checked_div(full)?,
                finest,
            });
        }
        Ok(Self {
            turn: Exact::ONE,
            degree: Exact::ONE.checked_div(full)?,
            chains,
            shafts,
            marks,
            common: Vec::new(),
        })
    }

    fn values(&self) -> impl Iterator<Item = Exact> {
        let of_chains = self
            .chains
            .iter()
            .flat_map(|chain| [chain.tooth, chain.around]);
        let of_shafts = self
            .shafts
            .iter()
            .flat_map(|shaft| [shaft.period, shaft.finest]);
        of_chains
            .chain(of_shafts)
            .chain(self.marks.iter().copied().flatten())
    }

    /// What is seen comes in parts of these.
    fn seen(&self) -> impl Iterator<Item = Exact> {
        let of_chains = self.chains.iter().map(|chain| chain.tooth);
        let of_shafts = self.shafts.iter().map(|shaft| shaft.degree);
        [self.turn, self.degree]
            .into_iter()
            .chain(of_chains)
            .chain(of_shafts)
    }

    /// The steps in a crank turn of the coarsest lattice that holds all angles, and of what can be seen all
    /// that is written in whole parts of `fine`. `None` where it would be finer than can be reckoned with.
    fn steps(&self, fine: i128) -> Option<i64> {
        let denominators = self.values().map(|value| Some(value.denominator())).chain(
            self.seen()
                .map(|value| value.denominator().checked_mul(fine)),
        );
        let mut steps = 1_i128;
        for next in denominators {
            let next = next?;
            steps = (steps / greatest_common_divisor(steps, next)).checked_mul(next)?;
            if steps > Lattice::FINEST {
                return None;
            }
        }
        i64::try_from(steps).ok()
    }

    fn in_steps(&self, turn: Steps) -> Result<Angles<Steps>, OutOfRange> {
        let steps = |value: Exact| Steps::times(turn, value);
        Ok(Angles {
            turn,
            degree: steps(self.degree)?,
            chains: self
                .chains
                .iter()
                .map(|chain| {
                    Ok(ChainAngles {
                        tooth: steps(chain.tooth)?,
                        around: steps(chain.around)?,
                    })
                })
                .collect::<Result<_, _>>()?,
            shafts: self
                .shafts
                .iter()
                .map(|shaft| {
                    Ok(ShaftAngles {
                        period: steps(shaft.period)?,
                        degree: steps(shaft.degree)?,
                        finest: steps(shaft.finest)?,
                    })
                })
                .collect::<Result<_, _>>()?,
            marks: self
                .marks
                .iter()
                .map(|mark| mark.map(steps).transpose())
                .collect::<Result<_, _>>()?,
            common: Vec::new(),
        })
    }
}

impl Lattice {
    /// Most steps in a crank turn. A million turns of them, the most that is counted, leave room for more in 64 bits.
    const FINEST: i128 = 1 << 40;
    /// What can be seen has a denominator of at most 16 or one that goes into 1000: their least common
    /// multiple, and what to be content with where that is too fine.
    const PARTS: [i128; 5] = [18_018_000, 2000, 1000, 10, 1];

    /// # Errors
    /// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
    fn of(drive: &Drive) -> Result<Self, OutOfRange> {
        let exact = Angles::of(drive)?;
        let turn = Self::PARTS.into_iter().find_map(|fine| exact.steps(fine));
        let steps = match turn {
            Some(turn) => {
                let mut steps = exact.in_steps(Steps::new(turn))?;
                steps.fill_common()?;
                Some(steps)
            }
            None => None,
        };
        Ok(Self {
            frame: Frame::of(drive)?,
            steps,
            exact,
        })
    }
}
