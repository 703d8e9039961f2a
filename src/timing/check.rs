//! Step 4: the verdict on a hung drive, the doubts about it, and what to move.

use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::timing::doubt::{Doubt, Reconciliation};
use crate::timing::evidence::{Evidence, Shafts, weigh};
use crate::timing::hang::{Bench, Off, Offset, State};
use crate::timing::observe::Observations;
use crate::units::number::Number;
use crate::units::quantity::{CrankDegrees, Exact, LinkPosition, OutOfRange, Teeth, Turns};

/// Is the drive in time?
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Verdict {
    /// Everything that must be in time was seen to be.
    InTime,
    /// Something was seen to be out of time.
    OutOfTime,
    /// Neither is proven.
    NotProven,
}

/// Where the crankshaft stood when it was looked at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct CrankPlace {
    /// Crank turns since the drive was timed, and by how much its dot was past where it is due then.
    pub past_timed: Turns,
    /// Was its dot looked at against the engine? If not, somebody only took it to stand there.
    pub seen: bool,
}

/// One shaft.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ShaftState {
    /// The shaft.
    pub shaft: ShaftId,
    /// Where it is driven; `None` for the crankshaft.
    pub at: Option<Engagement>,
    /// How far it is off, if that is known and nothing contradicts it.
    pub off: Option<Offset>,
    /// The same in teeth of its driven sprocket; may be a fraction.
    pub off_teeth: Option<Teeth>,
    /// Do links and dots contradict each other?
    pub contradicted: bool,
}

/// Something that was not looked at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Unseen {
    /// The link on that dot.
    Link(Engagement),
    /// That shaft's dot against its reference mark.
    Dot(ShaftId),
}

/// What follows from one look, before anything else is asked: whether a look-alike fits as well, whether
/// the spec holds together. Only `crate::proof` makes a proof of it.
#[derive(Debug)]
pub(crate) struct Judgement<N, const E: usize> {
    pub(crate) verdict: Verdict,
    /// Every shaft, known or not, in the order of the spec.
    pub(crate) shafts: [Stand<N>; E],
    /// What there is to carry the remedies from, where there are any and words are wanted.
    pub(crate) remedy: Option<Evidence<N, E>>,
}

impl<N: Number, const E: usize> Judgement<N, E> {
    /// Nothing is proven yet.
    pub(crate) fn new() -> Self {
        Self {
            verdict: Verdict::NotProven,
            shafts: [Stand {
                off: None,
                contradicted: false,
            }; E],
            remedy: None,
        }
    }
}

/// How a shaft stands, in crank turns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stand<N> {
    /// How far it is off, if that is known and nothing contradicts it.
    pub(crate) off: Option<Off<N>>,
    /// Do links and dots contradict each other?
    pub(crate) contradicted: bool,
}

/// What is said with a verdict. The verdict itself asks only whether there is anything; what it is is
/// worked out where somebody wants to read it.
#[derive(Debug)]
pub(crate) struct Notes<'n> {
    forbids: bool,
    cannot_be: bool,
    unseen: bool,
    doubts: Option<&'n mut Vec<Doubt>>,
    not_seen: Option<&'n mut Vec<Unseen>>,
}

impl<'n> Notes<'n> {
    /// The verdict alone, and what was not looked at where somebody wants to know.
    pub(crate) fn brief(not_seen: Option<&'n mut Vec<Unseen>>) -> Self {
        Self {
            forbids: false,
            cannot_be: false,
            unseen: false,
            doubts: None,
            not_seen,
        }
    }

    /// With everything that can be said.
    pub(crate) fn full(doubts: &'n mut Vec<Doubt>, not_seen: &'n mut Vec<Unseen>) -> Self {
        Self {
            doubts: Some(doubts),
            ..Self::brief(Some(not_seen))
        }
    }

    /// Something that lets nothing be in time.
    fn against(
        &mut self,
        doubt: impl FnOnce() -> Result<Doubt, OutOfRange>,
    ) -> Result<(), OutOfRange> {
        self.forbids = true;
        self.say(true, doubt)
    }

    /// Something that has to be said.
    fn also(
        &mut self,
        doubt: impl FnOnce() -> Result<Doubt, OutOfRange>,
    ) -> Result<(), OutOfRange> {
        self.say(false, doubt)
    }

    fn say(
        &mut self,
        forbids: bool,
        doubt: impl FnOnce() -> Result<Doubt, OutOfRange>,
    ) -> Result<(), OutOfRange> {
        if let Some(doubts) = &mut self.doubts {
            let doubt = doubt()?;
            debug_assert_eq!(doubt.forbids_proof(), forbids, "{doubt:?}");
            doubts.push(doubt);
        }
        Ok(())
    }

    fn miss(&mut self, what: impl FnOnce() -> Unseen) {
        self.unseen = true;
        if let Some(missing) = &mut self.not_seen {
            let what = what();
            if !missing.contains(&what) {
                missing.push(what);
            }
        }
    }
}

/// One look at a drive, to be judged.
pub(crate) struct Look<'a, N, const E: usize> {
    pub(crate) drive: &'a Drive,
    pub(crate) bench: Bench<'a, N>,
    pub(crate) seen: &'a Observations,
    pub(crate) state: &'a State<N, E>,
}

impl<N: Number, const E: usize> Look<'_, N, E> {
    /// Judges it, into a judgement that is new.
    pub(crate) fn judge(
        &self,
        notes: &mut Notes<'_>,
        judged: &mut Judgement<N, E>,
    ) -> Result<(), OutOfRange> {
        let (frame, state) = (self.bench.frame, self.state);
        let evidence = weigh(self.bench, state, Shafts::NONE, None)?;
        let shafts = &mut judged.shafts;
        self.stands(&evidence, notes, shafts)?;
        let shafts = &*shafts;
        if notes.doubts.is_none() && evidence.fits_some && !evidence.may_be_in_time {
            judged.verdict = self.out_of_time_in_short(&evidence, shafts, notes)?;
            return Ok(());
        }
        let mut contradicted = self.contradictions(notes)?;
        if notes.doubts.is_some() {
            for (at, _) in self.seen.links() {
                if !self.bench.readable(frame.place(*at), state.turned)? {
                    notes.also(|| Ok(Doubt::LinkNotReadable { at: *at }))?;
                }
            }
        }
        if state.any_open {
            for (seat, _) in frame
                .seats
                .iter()
                .zip(&state.open)
                .filter(|(_, open)| **open)
            {
                notes.against(|| Ok(Doubt::LoopContradiction { at: seat.at }))?;
                contradicted.add(seat.shaft());
            }
        }
        self.of_the_crankshaft(notes)?;
        self.chains(&evidence, notes)?;
        let one_turn_out = self.one_crank_turn_out(shafts)?;
        if one_turn_out {
            notes.against(|| Ok(Doubt::OneCrankTurnOut))?;
        } else if let Some(angle) = self.common_angle(shafts) {
            notes.against(|| {
                Ok(Doubt::SlipAtCrank {
                    angle: self.degrees(angle)?,
                })
            })?;
        }
        self.idlers(shafts, notes)?;
        self.unseen(&evidence, notes)?;
        let (out_of_time, rest) = if evidence.fits_some {
            (!evidence.may_be_in_time, None)
        } else {
            self.out_of_time_all_the_same(shafts, contradicted, notes.doubts.is_some())?
        };
        if !evidence.fits_some && !notes.forbids {
            notes.against(|| Ok(Doubt::DoesNotFit))?;
        }
        // Where nothing has to be in time there is nothing that could be proven to be.
        let (mut any, mut all_home, mut one_known_off) = (false, true, false);
        for (shaft, stand) in frame.shafts.iter().zip(shafts) {
            if shaft.timed {
                let home = stand.off.map(|off| off.angle.is_zero());
                any = true;
                all_home &= home == Some(true);
                one_known_off |= home == Some(false);
            }
        }
        let verdict = if one_turn_out || notes.cannot_be {
            Verdict::NotProven
        } else if out_of_time {
            Verdict::OutOfTime
        } else if any && all_home && !notes.unseen && !notes.forbids {
            Verdict::InTime
        } else {
            Verdict::NotProven
        };
        if verdict == Verdict::OutOfTime && !one_known_off {
            notes.against(|| Ok(Doubt::OneIsOff))?;
        }
        judged.verdict = verdict;
        // Whoever wants no words wants no remedies.
        if verdict == Verdict::OutOfTime && notes.doubts.is_some() {
            judged.remedy = rest.or(evidence.fits_some.then_some(evidence));
        }
        Ok(())
    }

    /// The verdict where everything fits and nothing that fits is in time. What else there is to be said changes it no more.
    fn out_of_time_in_short(
        &self,
        evidence: &Evidence<N, E>,
        shafts: &[Stand<N>; E],
        notes: &mut Notes<'_>,
    ) -> Result<Verdict, OutOfRange> {
        self.chains(evidence, notes)?;
        if notes.not_seen.is_some() {
            self.unseen(evidence, notes)?;
        }
        Ok(if notes.cannot_be || self.one_crank_turn_out(shafts)? {
            Verdict::NotProven
        } else {
            Verdict::OutOfTime
        })
    }

    /// Where the crankshaft stands. Its own dot counts even where nothing can be measured from it.
    pub(crate) fn crank_place(&self) -> Result<CrankPlace, OutOfRange> {
        let crank = self.bench.frame.crank;
        let dot = self.state.dots().iter().find(|dot| dot.shaft == crank);
        let past = match dot {
            Some(dot) => self.turns(dot.ahead)?,
            None => Turns::ZERO,
        };
        Ok(CrankPlace {
            past_timed: self.seen.turned().checked_add(past)?,
            seen: dot.is_some(),
        })
    }

    fn degrees(&self, angle: N) -> Result<CrankDegrees, OutOfRange> {
        angle.over(self.bench.angles.degree).map(CrankDegrees::new)
    }

    fn teeth(&self, chain: usize, angle: N) -> Result<Teeth, OutOfRange> {
        angle
            .over(self.bench.angles.chains[chain].tooth)
            .map(Teeth::new)
    }

    fn turns(&self, angle: N) -> Result<Turns, OutOfRange> {
        angle.over(self.bench.angles.turn).map(Turns::new)
    }

    fn timed<'s>(&self, shafts: &'s [Stand<N>; E]) -> impl Iterator<Item = (usize, &'s Stand<N>)> {
        let all = self.bench.frame.shafts.iter().zip(shafts).enumerate();
        all.filter(|(_, (shaft, _))| shaft.timed)
            .map(|(id, (_, stand))| (id, stand))
    }

    /// What was seen contradicts itself, or is no whole number of teeth. Is the drive out of time
    /// whatever comes of the marks that are to blame? Without them, or because a dot is further off than
    /// any misreading within one tooth explains. Where nothing is contradicted, what is left still tells
    /// what to move.
    fn out_of_time_all_the_same(
        &self,
        shafts: &[Stand<N>; E],
        mut without: Shafts,
        remedies: bool,
    ) -> Result<(bool, Option<Evidence<N, E>>), OutOfRange> {
        let contradicted = !without.is_empty();
        let mut far = false;
        for (id, stand) in shafts
            .iter()
            .enumerate()
            .take(self.bench.frame.shafts.len())
        {
            if self.parts_of_a_tooth(id, stand)? && !self.by_whole_teeth(id)? {
                without.add(id);
                far |= !contradicted && self.far_off(id, stand)?;
            }
        }
        // The crankshaft is never among them: all is measured from it.
        if without.is_empty() {
            return Ok((false, None));
        }
        // What is left has only to be weighed for what to move.
        if far && !remedies {
            return Ok((true, None));
        }
        let rest = weigh(self.bench, self.state, without, None)?;
        let off = rest.fits_some && !rest.may_be_in_time;
        Ok((off || far, Some(rest).filter(|_| off && !contradicted)))
    }

    /// Is a shaft known to be off by no whole number of teeth of its driven sprocket?
    fn parts_of_a_tooth(&self, id: usize, stand: &Stand<N>) -> Result<bool, OutOfRange> {
        let (Some(off), Some(at)) = (stand.off, self.bench.frame.shafts[id].driven) else {
            return Ok(false);
        };
        let chain = self.bench.frame.seats[usize::from(at)].chain();
        Ok(!off
            .angle
            .is_multiple_of(self.bench.angles.chains[chain].tooth)?)
    }

    /// Is a shaft that must be in time off by a tooth or more?
    fn far_off(&self, id: usize, stand: &Stand<N>) -> Result<bool, OutOfRange> {
        let frame = self.bench.frame;
        let teeth = frame
            .way_to(id)
            .map(|at| self.bench.angles.chains[frame.seats[at].chain()].tooth);
        Ok(match (stand.off, teeth.min()) {
            (Some(off), Some(tooth)) => frame.shafts[id].timed && off.angle.abs() >= tooth,
            _ => false,
        })
    }

    /// What has to be said of the crankshaft's own dot, and of dots that cannot be measured from it.
    fn of_the_crankshaft(&self, notes: &mut Notes<'_>) -> Result<(), OutOfRange> {
        let state = self.state;
        if state.crank_half_turn {
            notes.against(|| Ok(Doubt::CrankHalfTurn))?;
        }
        if state.loose {
            for dot in state.dots().iter().filter(|dot| !dot.ahead.is_zero()) {
                let angles = self.bench.angles.shafts[dot.shaft];
                notes.against(|| {
                    Ok(Doubt::DotAlone {
                        shaft: self.bench.frame.shafts[dot.shaft].id,
                        ahead: dot.ahead.over(angles.period).map(Turns::new)?,
                    })
                })?;
            }
        }
        if state.crank_past.is_zero() || state.crank_half_turn {
            return Ok(());
        }
        if self.seen.turned().get().is_whole() {
            notes.also(|| {
                Ok(Doubt::CrankOffMark {
                    past: self.turns(state.crank_past)?,
                })
            })
        } else {
            notes.against(|| {
                Ok(Doubt::DotAgainstTurns {
                    past: self.turns(state.crank_past)?,
                })
            })
        }
    }

    /// What has to be said of idlers that are off: an idler moves no valve. If its dot is not due at its
    /// mark after so many turns, it was probably taken for being there, or the turns were counted wrong.
    fn idlers(&self, shafts: &[Stand<N>; E], notes: &mut Notes<'_>) -> Result<(), OutOfRange> {
        let (frame, state) = (self.bench.frame, self.state);
        for (id, (shaft, stand)) in frame.shafts.iter().zip(shafts).enumerate() {
            let off = stand.off.is_some_and(|off| !off.angle.is_zero());
            if shaft.timed || id == frame.crank || !off {
                continue;
            }
            let due = state
                .turned
                .is_multiple_of(self.bench.angles.shafts[id].period)?;
            if state.shafts[id].by_links.is_some() || due {
                notes.also(|| Ok(Doubt::IdlerOff { shaft: shaft.id }))?;
            } else {
                notes.against(|| {
                    let speed = self.drive.shaft(shaft.id).speed();
                    Ok(Doubt::IdlerDot {
                        shaft: shaft.id,
                        every: Turns::new(Exact::integer(speed.denominator())?),
                    })
                })?;
            }
        }
        Ok(())
    }

    /// Do the links on the whole way to a shaft say how many whole teeth each sprocket is off?
    fn by_whole_teeth(&self, id: usize) -> Result<bool, OutOfRange> {
        if self.state.shafts[id].by_links.is_none() {
            return Ok(false);
        }
        for at in self.bench.frame.way_to(id) {
            let chain = self.bench.frame.seats[at].chain();
            let whole = match self.state.own[at] {
                Some(own) => own
                    .angle
                    .is_multiple_of(self.bench.angles.chains[chain].tooth)?,
                None => false,
            };
            if !whole {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Every shaft that can be looked at, with what is known of it.
    fn stands(
        &self,
        evidence: &Evidence<N, E>,
        notes: &mut Notes<'_>,
        stands: &mut [Stand<N>; E],
    ) -> Result<(), OutOfRange> {
        let frame = self.bench.frame;
        for (id, (shaft, stand)) in frame.shafts.iter().zip(stands).enumerate() {
            let known = self.state.shafts[id];
            if let (Some(links), Some(dots)) = (known.by_links, known.by_dots) {
                stand.contradicted = !self.bench.same(id, links.angle, dots.angle)?;
            }
            if !stand.contradicted {
                stand.off = match known.by_links.or(known.by_dots) {
                    None => evidence.ahead[id]
                        .filter(|_| evidence.agrees)
                        .map(|angle| Off {
                            angle,
                            either_way: angle.is_half_of(self.bench.angles.shafts[id].period),
                        }),
                    Some(sum) => Some(self.standing(id, sum)?),
                };
            }
            let Some(off) = stand.off else { continue };
            if !evidence.fits_some
                && self.parts_of_a_tooth(id, stand)?
                && !self.by_whole_teeth(id)?
            {
                notes.against(|| {
                    let at = shaft.driven.map_or(0, usize::from);
                    Ok(Doubt::NotWholeTeeth {
                        shaft: shaft.id,
                        teeth: self.teeth(frame.seats[at].chain(), off.angle)?,
                    })
                })?;
            }
            if shaft.timed && off.either_way {
                notes.against(|| Ok(Doubt::EitherWay { shaft: shaft.id }))?;
            }
        }
        Ok(())
    }

    /// How a shaft stands whose errors add up to `sum` on the way to it: whole turns of its own are nothing.
    /// A count past half a turn at one sprocket cannot be, and is told as it was given.
    fn standing(&self, id: usize, sum: Off<N>) -> Result<Off<N>, OutOfRange> {
        let frame = self.bench.frame;
        if sum.angle.is_zero() {
            return Ok(sum);
        }
        for at in frame.way_to(id) {
            let around = self.bench.angles.shafts[frame.seats[at].shaft()].period;
            if let Some(own) = self.state.own[at]
                && own.angle.plus(own.angle)?.abs() >= around
            {
                return Ok(sum);
            }
        }
        let period = self.bench.angles.shafts[id].period;
        let angle = sum.angle.nearest(period)?;
        Ok(Off {
            angle,
            either_way: sum.either_way || angle.is_half_of(period),
        })
    }

    /// The shafts of which links and dots say different things.
    fn contradictions(&self, notes: &mut Notes<'_>) -> Result<Shafts, OutOfRange> {
        let mut found = Shafts::NONE;
        let shafts = &self.state.shafts[..self.bench.frame.shafts.len()];
        for (id, known) in shafts.iter().enumerate() {
            if let (Some(links), Some(dots)) = (known.by_links, known.by_dots)
                && !self.bench.same(id, links.angle, dots.angle)?
            {
                found.add(id);
            }
        }
        if found.is_empty() {
            return Ok(found);
        }
        notes.forbids = true;
        if notes.doubts.is_none() {
            return Ok(found);
        }
        // Of each how far both are apart, and what is true of all of them.
        let mut differ = Vec::new();
        let mut agreeing = Vec::new();
        for (id, known) in shafts.iter().enumerate() {
            if let (Some(links), Some(dots)) = (known.by_links, known.by_dots) {
                if found.has(id) {
                    let period = self.bench.angles.shafts[id].period;
                    let apart = dots.angle.minus(links.angle)?.nearest(period)?;
                    differ.push((id, links.angle, dots.angle, apart));
                } else {
                    agreeing.push(id);
                }
            }
        }
        let common = match &differ[..] {
            [(.., first), rest @ ..] if rest.iter().all(|(.., other)| other == first) => {
                Some(*first)
            }
            _ => None,
        };
        for (id, links, dots, apart) in differ {
            notes.against(|| {
                Ok(Doubt::Contradiction {
                    shaft: self.bench.frame.shafts[id].id,
                    by_links: self.degrees(links)?,
                    by_dots: self.degrees(dots)?,
                    both_true_if: self.reconciliations(id, apart, common, &agreeing)?,
                })
            })?;
        }
        Ok(found)
    }

    /// What would make links and dots of a shaft both true that differ by `difference`. Nothing that
    /// another observation rules out: `common` is the difference of all shafts that differ, and `agreeing`
    /// are those of which both say the same.
    fn reconciliations(
        &self,
        id: usize,
        difference: N,
        common: Option<N>,
        agreeing: &[usize],
    ) -> Result<Vec<Reconciliation>, OutOfRange> {
        let (frame, angles) = (self.bench.frame, self.bench.angles);
        let shaft = self.drive.shaft(frame.shafts[id].id);
        let mut both_true_if = Vec::new();
        let Some(at) = frame.shafts[id].driven.map(usize::from) else {
            return Ok(both_true_if);
        };
        let tooth = angles.chains[frame.seats[at].chain()].tooth;
        for other in frame.chains[frame.seats[at].chain()].seats() {
            // With that link under the dot, everything must fit.
            if self.is_alike(at, difference, other)?
                && weigh(self.bench, self.state, Shafts::NONE, Some((at, difference)))?.fits_some
            {
                both_true_if.push(Reconciliation::OtherLink(frame.seats[other].at));
            }
        }
        // The crankshaft moves every shaft alike, those too of which both say the same.
        let moves_none_of_them = |angle: N| -> Result<bool, OutOfRange> {
            for other in agreeing.iter().filter(|other| **other != frame.crank) {
                if !self.bench.same(*other, angle, N::ZERO)? {
                    return Ok(false);
                }
            }
            Ok(true)
        };
        if let Some(common) = common
            && moves_none_of_them(common)?
        {
            if self.bench.same(id, common, angles.turn)? {
                both_true_if.push(Reconciliation::OneCrankTurn);
            } else {
                // Dots read with the crankshaft past its mark are all ahead by that much.
                both_true_if.push(Reconciliation::CrankOffItsMark(self.degrees(common)?));
            }
        }
        let degrees = self.degrees(difference)?;
        if shaft
            .phaser()
            .is_some_and(|phaser| degrees.abs() <= phaser.range)
        {
            both_true_if.push(Reconciliation::PhaserNotParked);
        }
        let mut way = self.drive.way_to(frame.shafts[id].id);
        let has_pins = way.any(|(_, driven)| self.drive.chain(driven.chain).has_pins());
        if has_pins && difference < N::ZERO && difference.abs() < tooth {
            both_true_if.push(Reconciliation::WornChain);
        }
        if difference.abs() <= tooth {
            both_true_if.push(Reconciliation::MisreadByATooth);
        }
        Ok(both_true_if)
    }

    /// Does the coloured link of the sprocket `other` lie `ahead` past the one due on the dot of `at`, and is it of
    /// the same colour, so that it could be taken for the right one?
    fn is_alike(&self, at: usize, ahead: N, other: usize) -> Result<bool, OutOfRange> {
        let (frame, angles) = (self.bench.frame, self.bench.angles);
        let (Some(own), Some(mark)) = (angles.marks[at], angles.marks[other]) else {
            return Ok(false);
        };
        let apart = mark.minus(own)?.minus(ahead)?;
        if other == at || !apart.is_multiple_of(angles.chains[frame.seats[at].chain()].around)? {
            return Ok(false);
        }
        let colour = |seat: usize| {
            let mark = self.drive.sprocket(frame.seats[seat].at).mark();
            mark.map(|mark| mark.colour.as_deref())
        };
        Ok(colour(at) == colour(other))
    }

    /// What the links of each chain say among themselves.
    fn chains(&self, evidence: &Evidence<N, E>, notes: &mut Notes<'_>) -> Result<(), OutOfRange> {
        if self.seen.links().is_empty() {
            return Ok(());
        }
        let (frame, state) = (self.bench.frame, self.state);
        for (c, chain) in frame.chains.iter().enumerate() {
            let angles = self.bench.angles.chains[c];
            let driver = chain.driver();
            let others = || chain.seats().filter(|at| *at != driver);
            let base = match state.seats[driver] {
                Some(seat) => Some((driver, seat)),
                None => others().find_map(|at| Some((at, state.seats[at]?))),
            };
            let Some((first, seat)) = base else { continue };
            let mut alone = true;
            let mut even = true;
            for at in chain.seats() {
                let Some(other) = state.seats[at].filter(|_| at != first) else {
                    continue;
                };
                alone = false;
                let angle = other.minus(seat)?.nearest(angles.around)?;
                if angle.is_zero() {
                    continue;
                }
                even = false;
                // Where it is known where both shafts are, it is told of them.
                let known = |at: usize| evidence.ahead[frame.seats[at].shaft()].is_some();
                if first != driver && !(evidence.fits_some && known(first) && known(at)) {
                    notes.against(|| {
                        Ok(Doubt::Disagree {
                            first: frame.seats[first].at,
                            second: frame.seats[at].at,
                            teeth: self.teeth(c, angle)?,
                        })
                    })?;
                }
                // As many teeth as there are make a turn of its shaft.
                let turn = self.bench.angles.shafts[frame.seats[at].shaft()].period;
                if angle.plus(angle)?.abs() >= turn {
                    notes.cannot_be = true;
                    notes.against(|| {
                        Ok(Doubt::CannotBe {
                            at: frame.seats[at].at,
                            teeth: self.teeth(c, angle)?,
                        })
                    })?;
                }
                if notes.doubts.is_some() {
                    for link_of in chain.seats() {
                        if self.is_alike(at, other, link_of)? {
                            notes.also(|| {
                                Ok(Doubt::OthersLink {
                                    at: frame.seats[at].at,
                                    link_of: frame.seats[link_of].at,
                                })
                            })?;
                            break;
                        }
                    }
                }
            }
            if !even {
                continue;
            }
            let shift = seat.nearest(angles.around)?;
            if shift.is_zero() {
                continue;
            }
            let id = frame.seats[first].at.chain;
            if !self.seen.turned().is_zero() {
                notes.against(|| {
                    Ok(Doubt::LinksAgainstTurns {
                        chain: id,
                        teeth: self.teeth(c, shift)?,
                    })
                })?;
            } else if !alone {
                notes.also(|| {
                    Ok(Doubt::ShiftedTogether {
                        chain: id,
                        teeth: self.teeth(c, shift)?,
                    })
                })?;
            }
        }
        Ok(())
    }

    /// Is every timed shaft that is known where it would be if the crankshaft stood one turn further,
    /// and at least one of them not where it belongs?
    fn one_crank_turn_out(&self, shafts: &[Stand<N>; E]) -> Result<bool, OutOfRange> {
        let mut any = false;
        for (id, stand) in self.timed(shafts) {
            let Some(off) = stand.off else { continue };
            if !self.bench.same(id, off.angle, self.bench.angles.turn)? {
                return Ok(false);
            }
            any |= !off.angle.is_zero();
        }
        Ok(any)
    }

    /// The crank angle by which every known timed shaft is off, if there are two and it is one.
    fn common_angle(&self, shafts: &[Stand<N>; E]) -> Option<N> {
        let mut known = self
            .timed(shafts)
            .map(|(_, stand)| stand.off.map(|off| off.angle));
        let first = known.next()??;
        let mut more = false;
        for other in known {
            more = true;
            if other != Some(first) {
                return None;
            }
        }
        (more && !first.is_zero()).then_some(first)
    }

    /// What would have to be looked at for a proof.
    fn unseen(&self, evidence: &Evidence<N, E>, notes: &mut Notes<'_>) -> Result<(), OutOfRange> {
        let (frame, state) = (self.bench.frame, self.state);
        let marked = |at: usize| self.bench.angles.marks[at].is_some();
        let driver_of = |at: usize| frame.chains[frame.seats[at].chain()].driver();
        let dot_seen = |id: usize| state.dots().iter().any(|dot| dot.shaft == id);
        let by_dots = !self.seen.dots().is_empty() && self.seen.links().is_empty();
        let mut proven_by_links = 0_u8;
        for (id, shaft) in frame.shafts.iter().enumerate() {
            let known = state.shafts[id];
            if !shaft.timed || known.by_dots.is_some() {
                continue;
            }
            if known.by_links.is_some() || (evidence.fits_some && evidence.ahead[id].is_some()) {
                for at in frame.way_to(id) {
                    proven_by_links |= 1 << frame.seats[at].chain();
                }
                continue;
            }
            let readable = frame
                .way_to(id)
                .all(|at| marked(driver_of(at)) && marked(at));
            if by_dots || !readable {
                for id in [frame.crank, id] {
                    if !dot_seen(id) {
                        notes.miss(|| Unseen::Dot(frame.shafts[id].id));
                    }
                }
                if state.crank_half_turn {
                    notes.miss(|| Unseen::Dot(frame.shafts[frame.crank].id));
                }
            } else {
                // From the crankshaft outwards.
                let mut way = [0; E];
                let mut count = 0;
                for (place, at) in way.iter_mut().zip(frame.way_to(id)) {
                    *place = at;
                    count += 1;
                }
                for at in way[..count]
                    .iter()
                    .rev()
                    .flat_map(|at| [driver_of(*at), *at])
                {
                    if state.seats[at].is_none() {
                        notes.miss(|| Unseen::Link(frame.seats[at].at));
                    }
                }
            }
        }
        // A chain that is proven by its links is proven by all of them, those of idlers too.
        if proven_by_links != 0 {
            for (at, seat) in frame.seats.iter().enumerate() {
                if proven_by_links & (1 << seat.chain) != 0
                    && state.seats[at].is_none()
                    && marked(at)
                    && state.shafts[seat.shaft()].by_dots.is_none()
                {
                    notes.miss(|| Unseen::Link(seat.at));
                }
            }
        }
        Ok(())
    }
}

/// What is known of every shaft that was or should have been looked at, as it is spoken of.
pub(crate) fn told<N: Number, const E: usize>(
    bench: Bench<'_, N>,
    stands: &[Stand<N>; E],
) -> Result<Vec<ShaftState>, OutOfRange> {
    let frame = bench.frame;
    let mut states = Vec::with_capacity(frame.shafts.len());
    for (id, stand) in stands.iter().enumerate().take(frame.shafts.len()) {
        if id == frame.crank || frame.shafts[id].marked {
            states.push(state(bench, id, stand)?);
        }
    }
    Ok(states)
}

/// One shaft, as it is spoken of.
pub(crate) fn state<N: Number>(
    bench: Bench<'_, N>,
    id: usize,
    stand: &Stand<N>,
) -> Result<ShaftState, OutOfRange> {
    let frame = bench.frame;
    let at = frame.shafts[id]
        .driven
        .map(|at| frame.seats[usize::from(at)]);
    Ok(ShaftState {
        shaft: frame.shafts[id].id,
        at: at.map(|seat| seat.at),
        off: match stand.off {
            Some(off) => Some(Offset {
                angle: off.angle.over(bench.angles.degree).map(CrankDegrees::new)?,
                either_way: off.either_way,
            }),
            None => None,
        },
        off_teeth: match (stand.off, at) {
            (Some(off), Some(seat)) => Some(
                off.angle
                    .over(bench.angles.chains[seat.chain()].tooth)
                    .map(Teeth::new)?,
            ),
            (Some(_), None) => Some(Teeth::ZERO),
            (None, _) => None,
        },
        contradicted: stand.contradicted,
    })
}

/// The link that belongs on the dot of `at` after `turned` crank turns, when that dot is in its
/// timed place; `None` if it is not there then, or has no coloured link.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn link_due(
    drive: &Drive,
    at: Engagement,
    turned: Turns,
) -> Result<Option<LinkPosition>, OutOfRange> {
    let chain = drive.chain(at.chain);
    let sprocket = drive.sprocket(at);
    let turns = drive
        .shaft(sprocket.shaft())
        .speed()
        .checked_mul(turned.get())?;
    match sprocket.mark() {
        Some(mark) if turns.is_whole() => {
            let moved = Teeth::new(chain.speed().checked_mul(turned.get())?);
            mark.link.moved(moved.negated(), chain.links()).map(Some)
        }
        _ => Ok(None),
    }
}
