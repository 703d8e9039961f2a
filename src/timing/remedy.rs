//! What to move so that everything that must be in time is, exactly and in that order.
//!
//! Moving a sprocket n teeth ahead against its chain carries its shaft, and every shaft behind it, n teeth
//! of that chain ahead. Laying a chain n links over at the sprocket that drives it carries everything
//! behind that chain the other way. From the crankshaft outwards, each shaft is moved by what
//! is left of its error once those before it were moved.

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Chain, Drive};
use crate::spec::raw::Rotation;
use crate::timing::evidence::Shafts;
use crate::timing::hang::Hung;
use crate::timing::observe::Observations;
use crate::units::quantity::{Exact, LinkPosition, OutOfRange, Teeth};

/// What is moved, and what is held.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Move {
    /// The sprocket is turned against its chain; the chain is held.
    Sprocket,
    /// The chain is laid over at the sprocket that drives it; that sprocket is held.
    Chain,
}

/// One sprocket and its chain to be moved against each other.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Remedy {
    /// The sprocket.
    pub at: Engagement,
    /// Which of both is moved.
    pub what: Move,
    /// How far the sprocket must go against the chain, in its own direction of rotation; below zero:
    /// back. Whole, not zero, and never more than half of its teeth.
    pub teeth: Teeth,
    /// Which way what is moved turns, as seen facing the timing end.
    pub turn: Rotation,
    /// The link that must come to lie on its dot, at this crank position.
    pub lay: Option<LinkPosition>,
}

/// Where what was seen leaves the shafts, as far as the remedies go by it.
pub(crate) struct Left {
    /// What was seen of these has to be seen again first.
    pub(crate) without: Shafts,
    /// How far each shaft is ahead, in crank turns, where that follows.
    pub(crate) ahead: Vec<Option<Exact>>,
}

/// What to move. Nothing where a part of a tooth would have to be: no chain can be moved by that.
pub(crate) fn remedies(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    evidence: &Left,
) -> Result<Vec<Remedy>, OutOfRange> {
    let mut planned = Plan {
        drive,
        hung,
        moved: vec![Exact::ZERO; drive.shafts().count()],
        moves: Vec::new(),
    };
    planned.lay_over()?;
    for id in drive.driven() {
        let Some(at) = drive.shaft(id).driven_at() else {
            continue;
        };
        let chain = drive.chain(at.chain);
        let driver = drive.driver_of(at.chain);
        let along = planned.moved[drive.sprocket(driver).shaft().index()]
            .checked_sub(planned.over(driver)?)?;
        planned.moved[id.index()] = along;
        if evidence.without.has(id.index()) {
            // It must be read again first.
            continue;
        }
        let left = match (planned.own(at)?, evidence.ahead[id.index()]) {
            (Some(own), _) => own.get(),
            (None, Some(ahead)) => ahead
                .checked_add(along)?
                .checked_mul(chain.speed())?
                .nearest_modulo(drive.sprocket(at).teeth().to_exact())?,
            (None, None) => {
                let teeth = planned.for_those_behind(id, at, evidence)?;
                if !teeth.is_zero() {
                    let ahead = teeth.get().checked_div(chain.speed())?;
                    planned.moved[id.index()] = along.checked_add(ahead)?;
                    planned.moves.push((at, teeth));
                }
                continue;
            }
        };
        if !left.is_whole() {
            return Ok(Vec::new());
        }
        if !left.is_zero() {
            let back = left.checked_div(chain.speed())?;
            planned.moved[id.index()] = along.checked_sub(back)?;
            planned.moves.push((at, Teeth::new(left.negated())));
        }
    }
    let moves = std::mem::take(&mut planned.moves);
    moves
        .iter()
        .map(|(at, teeth)| planned.remedy(seen, &moves, *at, *teeth))
        .collect()
}

struct Plan<'a> {
    drive: &'a Drive,
    hung: &'a Hung,
    /// By how much each shaft is carried ahead, in crank turns.
    moved: Vec<Exact>,
    moves: Vec<(Engagement, Teeth)>,
}

impl Plan<'_> {
    /// By how many teeth an idler of which nothing is known must be moved, so that whole teeth are left
    /// for every shaft behind it of which it is known where it is: the fewest teeth in all. Nothing
    /// where there is no such number.
    fn for_those_behind(
        &self,
        id: ShaftId,
        at: Engagement,
        evidence: &Left,
    ) -> Result<Teeth, OutOfRange> {
        let drive = self.drive;
        let tooth = Exact::ONE.checked_div(drive.chain(at.chain).speed())?;
        let half = i64::from(drive.sprocket(at).teeth().get() / 2);
        let mut best: Option<(Exact, i64)> = None;
        for teeth in -half..=half {
            let moved = tooth
                .checked_mul(Exact::whole(teeth))?
                .checked_add(self.moved[id.index()])?;
            let mut all = Exact::whole(teeth.abs());
            let mut whole = true;
            for behind in drive.driven() {
                let Some(here) = drive.shaft(behind).driven_at() else {
                    continue;
                };
                let driver = drive.sprocket(drive.driver_of(here.chain)).shaft();
                let Some(ahead) = evidence.ahead[behind.index()].filter(|_| driver == id) else {
                    continue;
                };
                let left = ahead
                    .checked_add(moved)?
                    .checked_mul(drive.chain(here.chain).speed())?
                    .nearest_modulo(drive.sprocket(here).teeth().to_exact())?;
                whole &= left.is_whole();
                all = all.checked_add(left.abs())?;
            }
            if whole && best.is_none_or(|(fewest, _)| all < fewest) {
                best = Some((all, teeth));
            }
        }
        Ok(Teeth::whole(best.map_or(0, |(_, teeth)| teeth)))
    }

    /// The sprocket that drives a chain is not turned. Where its dot is off its coloured link while
    /// another one of that chain is on its own, the chain is laid over there.
    fn lay_over(&mut self) -> Result<(), OutOfRange> {
        for (id, chain) in self.drive.chains() {
            let driver = self.drive.driver_of(id);
            let Some(seat) = self.seat(chain, driver)? else {
                continue;
            };
            let mut one_is_on = false;
            for (at, _) in chain.engagements(id) {
                one_is_on |= at != driver && self.seat(chain, at)?.is_some_and(Teeth::is_zero);
            }
            // Never further than half around.
            let twice = seat.checked_add(seat)?.abs().get();
            let near = twice <= self.drive.sprocket(driver).teeth().to_exact();
            if one_is_on && near && !seat.is_zero() && seat.get().is_whole() {
                self.moves.push((driver, seat.negated()));
            }
        }
        Ok(())
    }

    /// How far everything behind a chain is carried back when the chain is laid over at its driver.
    fn over(&self, driver: Engagement) -> Result<Exact, OutOfRange> {
        let chain = self.drive.chain(driver.chain);
        match self.moves.iter().find(|(at, _)| *at == driver) {
            Some((_, teeth)) => teeth.get().checked_div(chain.speed()),
            None => Ok(Exact::ZERO),
        }
    }

    /// Links past its own on which a dot lies, in the smallest form.
    fn seat(&self, chain: &Chain, at: Engagement) -> Result<Option<Teeth>, OutOfRange> {
        let Some(seat) = self.hung.seat(self.drive, at) else {
            return Ok(None);
        };
        let links = chain.links().to_exact();
        Ok(Some(Teeth::new(seat.get().nearest_modulo(links)?)))
    }

    /// How far a sprocket is ahead of the one that drives it, the chain laid over as planned.
    fn own(&self, at: Engagement) -> Result<Option<Teeth>, OutOfRange> {
        let Some(own) = self.hung.own(self.drive, at) else {
            return Ok(None);
        };
        let driver = self.drive.driver_of(at.chain);
        let over = self.moves.iter().find(|(other, _)| *other == driver);
        Ok(Some(match over {
            Some((_, teeth)) => own.teeth.checked_sub(*teeth)?,
            None => own.teeth,
        }))
    }

    /// The links past their own on which all dots of a chain lie after the moves, if any of them was seen.
    fn base(
        &self,
        id: ChainId,
        moves: &[(Engagement, Teeth)],
    ) -> Result<Option<Teeth>, OutOfRange> {
        let chain = self.drive.chain(id);
        for (at, _) in chain.engagements(id) {
            let Some(seat) = self.seat(chain, at)? else {
                continue;
            };
            let moved = moves.iter().find(|(other, _)| *other == at);
            return match moved {
                Some((_, teeth)) => seat.checked_add(*teeth).map(Some),
                None => Ok(Some(seat)),
            };
        }
        Ok(None)
    }

    fn remedy(
        &self,
        seen: &Observations,
        moves: &[(Engagement, Teeth)],
        at: Engagement,
        teeth: Teeth,
    ) -> Result<Remedy, OutOfRange> {
        let drive = self.drive;
        let chain = drive.chain(at.chain);
        let forward = drive.rotation(drive.sprocket(at).shaft());
        let turned = Teeth::new(chain.speed().checked_mul(seen.turned().get())?);
        let lay = match (drive.sprocket(at).mark(), self.base(at.chain, moves)?) {
            (Some(mark), Some(base)) => {
                let now = base.checked_sub(turned)?;
                Some(mark.link.moved(now, chain.links())?)
            }
            _ => None,
        };
        let over = at == drive.driver_of(at.chain);
        // The chain goes the other way than the sprocket would.
        let backward = (teeth.get().signum() < 0) != over;
        Ok(Remedy {
            at,
            what: if over { Move::Chain } else { Move::Sprocket },
            teeth,
            turn: if backward {
                forward.reversed()
            } else {
                forward
            },
            lay,
        })
    }
}
