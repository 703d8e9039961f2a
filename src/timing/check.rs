//! Step 4: the verdict on a hung drive, the doubts about it, and what to move.

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Drive, Shaft};
use crate::timing::doubt::{Doubt, Reconciliation};
use crate::timing::evidence::{Evidence, weigh};
use crate::timing::hang::{Hung, Offset, ahead, hang, same_angle};
use crate::timing::observe::Observations;
use crate::timing::remedy::{Remedy, remedies};
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

/// What follows from one look, before anything else is asked: whether a look-alike fits as well, whether
/// the spec holds together. Only `crate::proof` makes a proof of it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Judgement {
    pub(crate) verdict: Verdict,
    /// Every shaft that was or should have been looked at, in the order of the spec.
    pub(crate) shafts: Vec<ShaftState>,
    /// What to move, in that order.
    pub(crate) remedies: Vec<Remedy>,
    /// What would have to be looked at for a proof.
    pub(crate) not_seen: Vec<Unseen>,
    /// Everything that makes the verdict doubtful, or needs explaining.
    pub(crate) doubts: Vec<Doubt>,
    /// Where the crankshaft stood.
    pub(crate) crank: CrankPlace,
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

/// Judges one look.
pub(crate) fn judge(drive: &Drive, seen: &Observations) -> Result<Judgement, OutOfRange> {
    let hung = hang(drive, seen)?;
    let evidence = weigh(drive, seen, &hung, &[])?;
    let mut doubts = Vec::new();
    let shafts = states(drive, &hung, &evidence, &mut doubts)?;
    let mut contradicted = contradictions(drive, seen, &hung, &mut doubts)?;
    for at in hung.unreadable() {
        doubts.push(Doubt::LinkNotReadable { at: *at });
    }
    for at in hung.open_loops() {
        doubts.push(Doubt::LoopContradiction { at: *at });
        contradicted.push(drive.sprocket(*at).shaft());
    }
    of_the_crankshaft(drive, seen, &hung, &mut doubts);
    chains(drive, seen, &hung, &evidence, &mut doubts)?;
    let one_turn_out = one_crank_turn_out(drive, &shafts)?;
    if one_turn_out {
        doubts.push(Doubt::OneCrankTurnOut);
    } else if let Some(angle) = common_angle(drive, &shafts) {
        doubts.push(Doubt::SlipAtCrank { angle });
    }
    idlers(drive, seen, &hung, &shafts, &mut doubts)?;
    let not_seen = unseen(drive, seen, &hung, &evidence, &shafts);
    let (out_of_time, rest) = if evidence.fits_some {
        (!evidence.may_be_in_time, None)
    } else {
        out_of_time_all_the_same(drive, seen, &hung, &shafts, contradicted)?
    };
    if !evidence.fits_some && !doubts.iter().any(Doubt::forbids_proof) {
        doubts.push(Doubt::DoesNotFit);
    }
    let count_that_cannot_be = doubts
        .iter()
        .any(|doubt| matches!(doubt, Doubt::CannotBe { .. }));
    // Where nothing has to be in time there is nothing that could be proven to be.
    let mut timed = shafts.iter().filter(|state| drive.is_timed(state.shaft));
    let all_home = timed.clone().next().is_some()
        && timed.all(|state| state.off.is_some_and(|off| off.angle.is_zero()));
    let verdict = if one_turn_out || count_that_cannot_be {
        Verdict::NotProven
    } else if out_of_time {
        Verdict::OutOfTime
    } else if all_home && not_seen.is_empty() && !doubts.iter().any(Doubt::forbids_proof) {
        Verdict::InTime
    } else {
        Verdict::NotProven
    };
    let somewhere = |state: &ShaftState| {
        drive.is_timed(state.shaft) && state.off.is_some_and(|off| !off.angle.is_zero())
    };
    if verdict == Verdict::OutOfTime && !shafts.iter().any(somewhere) {
        doubts.push(Doubt::OneIsOff);
    }
    let remedies = match rest.as_ref().or(evidence.fits_some.then_some(&evidence)) {
        Some(evidence) if verdict == Verdict::OutOfTime => remedies(drive, seen, &hung, evidence)?,
        _ => Vec::new(),
    };
    let crank = crank_place(drive, seen)?;
    Ok(Judgement {
        verdict,
        shafts,
        remedies,
        not_seen,
        doubts,
        crank,
    })
}

/// What was seen contradicts itself, or is no whole number of teeth. Is the drive out of time
/// whatever comes of the marks that are to blame? Without them, or because a dot is further off than
/// any misreading within one tooth explains. Where nothing is contradicted, what is left still tells
/// what to move.
fn out_of_time_all_the_same(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    shafts: &[ShaftState],
    mut without: Vec<ShaftId>,
) -> Result<(bool, Option<Evidence>), OutOfRange> {
    let contradicted = !without.is_empty();
    let mut far = false;
    for state in shafts {
        let parts = state.off_teeth.is_some_and(|teeth| !teeth.get().is_whole());
        if parts && !by_whole_teeth(drive, hung, state.shaft) {
            without.push(state.shaft);
            far |= !contradicted && far_off(drive, state);
        }
    }
    // The crankshaft is never among them: all is measured from it.
    if without.is_empty() {
        return Ok((false, None));
    }
    let rest = weigh(drive, seen, hung, &without)?;
    let off = rest.fits_some && !rest.may_be_in_time;
    Ok((off || far, Some(rest).filter(|_| off && !contradicted)))
}

/// Is a shaft that must be in time off by a tooth or more?
fn far_off(drive: &Drive, state: &ShaftState) -> bool {
    let finest = drive
        .way_to(state.shaft)
        .map(|(_, driven)| drive.chain(driven.chain).tooth())
        .min();
    drive.is_timed(state.shaft)
        && state
            .off
            .zip(finest)
            .is_some_and(|(off, tooth)| off.angle.abs() >= tooth)
}

/// Where the crankshaft stands. Its own dot counts even where nothing can be measured from it.
fn crank_place(drive: &Drive, seen: &Observations) -> Result<CrankPlace, OutOfRange> {
    let dot = seen.dot(drive, drive.crank());
    let past = match dot {
        Some((at, what)) => ahead(drive, seen, at, what)?,
        None => Turns::ZERO,
    };
    Ok(CrankPlace {
        past_timed: seen.turned().checked_add(past)?,
        seen: dot.is_some(),
    })
}

/// What has to be said of the crankshaft's own dot, and of dots that cannot be measured from it.
fn of_the_crankshaft(drive: &Drive, seen: &Observations, hung: &Hung, doubts: &mut Vec<Doubt>) {
    if hung.crank_half_turn() {
        doubts.push(Doubt::CrankHalfTurn);
    }
    for (at, ahead) in hung.loose_dots() {
        let shaft = drive.sprocket(*at).shaft();
        doubts.push(Doubt::DotAlone {
            shaft,
            ahead: *ahead,
        });
    }
    if !hung.crank_past().is_zero() && !hung.crank_half_turn() {
        let past = hung.crank_past();
        doubts.push(if seen.turned().get().is_whole() {
            Doubt::CrankOffMark { past }
        } else {
            Doubt::DotAgainstTurns { past }
        });
    }
}

/// What has to be said of idlers that are off: an idler moves no valve. If its dot is not due at its
/// mark after so many turns, it was probably taken for being there, or the turns were counted wrong.
fn idlers(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    shafts: &[ShaftState],
    doubts: &mut Vec<Doubt>,
) -> Result<(), OutOfRange> {
    for state in shafts {
        let off = state.off.filter(|off| !off.angle.is_zero());
        if drive.is_timed(state.shaft) || state.shaft == drive.crank() || off.is_none() {
            continue;
        }
        let speed = drive.shaft(state.shaft).speed();
        let due = speed.checked_mul(seen.turned().get())?.is_whole();
        let by_links = hung.shafts()[state.shaft.index()].by_links.is_some();
        doubts.push(if by_links || due {
            Doubt::IdlerOff { shaft: state.shaft }
        } else {
            Doubt::IdlerDot {
                shaft: state.shaft,
                every: Turns::new(Exact::integer(speed.denominator())?),
            }
        });
    }
    Ok(())
}

/// Do the links on the whole way to a shaft say how many whole teeth each sprocket is off?
fn by_whole_teeth(drive: &Drive, hung: &Hung, id: ShaftId) -> bool {
    hung.shafts()[id.index()].by_links.is_some()
        && drive.way_to(id).all(|(_, driven)| {
            hung.own(drive, driven)
                .is_some_and(|own| own.teeth.get().is_whole())
        })
}

/// Every shaft that can be looked at, with what is known of it.
fn states(
    drive: &Drive,
    hung: &Hung,
    evidence: &Evidence,
    doubts: &mut Vec<Doubt>,
) -> Result<Vec<ShaftState>, OutOfRange> {
    let mut states = Vec::with_capacity(hung.shafts().len());
    for (id, shaft) in drive.shafts() {
        if id != drive.crank() && !drive.is_marked(id) {
            continue;
        }
        let known = hung.shafts()[id.index()];
        let contradicted = match (known.by_links, known.by_dots) {
            (Some(links), Some(dots)) => !same_angle(shaft, links.angle, dots.angle)?,
            _ => false,
        };
        let off = if contradicted {
            None
        } else {
            match known.by_links.or(known.by_dots) {
                None => follows(
                    shaft,
                    evidence.ahead[id.index()].filter(|_| evidence.agrees),
                )?,
                Some(sum) => Some(standing(drive, hung, id, sum)?),
            }
        };
        let chain = shaft.driven_at().map(|at| drive.chain(at.chain));
        let off_teeth = match (off, chain) {
            (Some(off), Some(chain)) => Some(chain.teeth_in(off.angle)?),
            (Some(_), None) => Some(Teeth::ZERO),
            (None, _) => None,
        };
        if let Some(teeth) = off_teeth {
            if !evidence.fits_some && !teeth.get().is_whole() && !by_whole_teeth(drive, hung, id) {
                doubts.push(Doubt::NotWholeTeeth { shaft: id, teeth });
            }
            if drive.is_timed(id) && off.is_some_and(|off| off.either_way) {
                doubts.push(Doubt::EitherWay { shaft: id });
            }
        }
        states.push(ShaftState {
            shaft: id,
            at: shaft.driven_at(),
            off,
            off_teeth,
            contradicted,
        });
    }
    Ok(states)
}

/// How a shaft stands whose errors add up to `sum` on the way to it: whole turns of its own are nothing.
/// A count past half a turn at one sprocket cannot be, and is told as it was given.
fn standing(drive: &Drive, hung: &Hung, id: ShaftId, sum: Offset) -> Result<Offset, OutOfRange> {
    for (_, driven) in drive.way_to(id) {
        let around = drive.sprocket(driven).teeth().to_exact();
        if let Some(own) = hung.own(drive, driven)
            && own.teeth.checked_add(own.teeth)?.abs().get() >= around
        {
            return Ok(sum);
        }
    }
    let shaft = drive.shaft(id);
    let angle = shaft.nearest(sum.angle)?;
    Ok(Offset {
        angle,
        either_way: sum.either_way || angle.get().is_half_of(shaft.turn()?.get()),
    })
}

/// How far a shaft is ahead that was not looked at itself, where it follows from others.
fn follows(shaft: &Shaft, ahead: Option<Exact>) -> Result<Option<Offset>, OutOfRange> {
    let Some(turns) = ahead else {
        return Ok(None);
    };
    Ok(Some(Offset {
        angle: Turns::new(turns).to_crank_degrees()?,
        either_way: turns.is_half_of(shaft.period()),
    }))
}

/// The shafts of which links and dots say different things.
fn contradictions(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    doubts: &mut Vec<Doubt>,
) -> Result<Vec<ShaftId>, OutOfRange> {
    let mut found = Vec::new();
    let mut agreeing = Vec::new();
    for (id, shaft) in drive.shafts() {
        let known = hung.shafts()[id.index()];
        let (Some(links), Some(dots)) = (known.by_links, known.by_dots) else {
            continue;
        };
        if same_angle(shaft, links.angle, dots.angle)? {
            agreeing.push(id);
        } else {
            found.push((id, shaft.nearest(dots.angle.checked_sub(links.angle)?)?));
        }
    }
    let common = match &found[..] {
        [(_, first), rest @ ..] if rest.iter().all(|(_, other)| other == first) => Some(*first),
        _ => None,
    };
    for (id, difference) in &found {
        let known = hung.shafts()[id.index()];
        doubts.push(Doubt::Contradiction {
            shaft: *id,
            by_links: known
                .by_links
                .map_or(CrankDegrees::ZERO, |offset| offset.angle),
            by_dots: known
                .by_dots
                .map_or(CrankDegrees::ZERO, |offset| offset.angle),
            both_true_if: reconciliations(
                drive,
                seen,
                hung,
                (*id, *difference),
                common,
                &agreeing,
            )?,
        });
    }
    Ok(found.into_iter().map(|(id, _)| id).collect())
}

/// What would make links and dots of a shaft both true that differ by `difference`. Nothing that
/// another observation rules out: `common` is the difference of all shafts that differ, and `agreeing`
/// are those of which both say the same.
fn reconciliations(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    (id, difference): (ShaftId, CrankDegrees),
    common: Option<CrankDegrees>,
    agreeing: &[ShaftId],
) -> Result<Vec<Reconciliation>, OutOfRange> {
    let shaft = drive.shaft(id);
    let mut both_true_if = Vec::new();
    let Some(at) = shaft.driven_at() else {
        return Ok(both_true_if);
    };
    let teeth = drive.chain(at.chain).teeth_in(difference)?;
    for other in links_alike(drive, at, teeth)? {
        // With that link under the dot, everything must fit.
        let moved = hung.with_link_moved(drive, at, teeth)?;
        if weigh(drive, seen, &moved, &[])?.fits_some {
            both_true_if.push(Reconciliation::OtherLink(other));
        }
    }
    // The crankshaft moves every shaft alike, those too of which both say the same.
    let moves_none_of_them = |angle: CrankDegrees| -> Result<bool, OutOfRange> {
        for other in agreeing.iter().filter(|other| **other != drive.crank()) {
            if !same_angle(drive.shaft(*other), angle, CrankDegrees::ZERO)? {
                return Ok(false);
            }
        }
        Ok(true)
    };
    if let Some(common) = common
        && moves_none_of_them(common)?
    {
        if same_angle(shaft, common, CrankDegrees::whole(360))? {
            both_true_if.push(Reconciliation::OneCrankTurn);
        } else {
            // Dots read with the crankshaft past its mark are all ahead by that much.
            both_true_if.push(Reconciliation::CrankOffItsMark(common));
        }
    }
    if shaft
        .phaser()
        .is_some_and(|phaser| difference.abs() <= phaser.range)
    {
        both_true_if.push(Reconciliation::PhaserNotParked);
    }
    if teeth.get().signum() < 0 && teeth.abs() < Teeth::whole(1) {
        both_true_if.push(Reconciliation::WornChain);
    }
    if teeth.abs() <= Teeth::whole(1) {
        both_true_if.push(Reconciliation::MisreadByATooth);
    }
    Ok(both_true_if)
}

/// The sprockets whose coloured link lies `teeth` past the one due on the dot of `at`, and is of the same
/// colour, so that it could be taken for the right one.
fn links_alike(drive: &Drive, at: Engagement, teeth: Teeth) -> Result<Vec<Engagement>, OutOfRange> {
    let chain = drive.chain(at.chain);
    let links = chain.links().to_exact();
    let mut found = Vec::new();
    let Some(own) = drive.sprocket(at).mark() else {
        return Ok(found);
    };
    for (other, sprocket) in chain.engagements(at.chain) {
        let Some(mark) = sprocket.mark() else {
            continue;
        };
        let apart = mark.link.since(own.link)?.checked_sub(teeth)?;
        if other != at && mark.colour == own.colour && apart.get().modulo(links)?.is_zero() {
            found.push(other);
        }
    }
    Ok(found)
}

/// What the links of each chain say among themselves.
fn chains(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    evidence: &Evidence,
    doubts: &mut Vec<Doubt>,
) -> Result<(), OutOfRange> {
    for (id, chain) in drive.chains() {
        let links = chain.links().to_exact();
        let driver = drive.driver_of(id);
        let base = chain
            .engagements(id)
            .filter(|(at, _)| *at != driver)
            .find_map(|(at, _)| Some((at, hung.seat(drive, at)?)));
        let (first, seat) = match (hung.seat(drive, driver), base) {
            (Some(seat), _) => (driver, seat),
            (None, Some(found)) => found,
            (None, None) => continue,
        };
        let mut alone = true;
        let mut even = true;
        for (at, sprocket) in chain.engagements(id) {
            let Some(other) = hung.seat(drive, at) else {
                continue;
            };
            if at == first {
                continue;
            }
            alone = false;
            let teeth = Teeth::new(other.checked_sub(seat)?.get().nearest_modulo(links)?);
            if teeth.is_zero() {
                continue;
            }
            even = false;
            // Where it is known where both shafts are, it is told of them.
            let known = |at| evidence.ahead[drive.sprocket(at).shaft().index()].is_some();
            if first != driver && !(evidence.fits_some && known(first) && known(at)) {
                doubts.push(Doubt::Disagree {
                    first,
                    second: at,
                    teeth,
                });
            }
            let twice = teeth.checked_add(teeth)?.abs().get();
            if twice >= sprocket.teeth().to_exact() {
                doubts.push(Doubt::CannotBe { at, teeth });
            }
            if let Some(link_of) = links_alike(drive, at, other)?.first().copied() {
                doubts.push(Doubt::OthersLink { at, link_of });
            }
        }
        let shift = Teeth::new(seat.get().nearest_modulo(links)?);
        if even && !shift.is_zero() {
            if !seen.turned().is_zero() {
                doubts.push(Doubt::LinksAgainstTurns {
                    chain: id,
                    teeth: shift,
                });
            } else if !alone {
                doubts.push(Doubt::ShiftedTogether {
                    chain: id,
                    teeth: shift,
                });
            }
        }
    }
    Ok(())
}

/// Is every timed shaft that is known where it would be if the crankshaft stood one turn further,
/// and at least one of them not where it belongs?
fn one_crank_turn_out(drive: &Drive, shafts: &[ShaftState]) -> Result<bool, OutOfRange> {
    let mut any = false;
    for state in shafts.iter().filter(|state| drive.is_timed(state.shaft)) {
        let Some(off) = state.off else { continue };
        if !same_angle(
            drive.shaft(state.shaft),
            off.angle,
            CrankDegrees::whole(360),
        )? {
            return Ok(false);
        }
        any |= !off.angle.is_zero();
    }
    Ok(any)
}

/// The crank angle by which every known timed shaft is off, if there are two and it is one.
fn common_angle(drive: &Drive, shafts: &[ShaftState]) -> Option<CrankDegrees> {
    let mut known = shafts
        .iter()
        .filter(|state| drive.is_timed(state.shaft))
        .map(|state| state.off.map(|off| off.angle));
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
fn unseen(
    drive: &Drive,
    seen: &Observations,
    hung: &Hung,
    evidence: &Evidence,
    shafts: &[ShaftState],
) -> Vec<Unseen> {
    let mut missing: Vec<Unseen> = Vec::new();
    let add = |what: Unseen, missing: &mut Vec<Unseen>| {
        if !missing.contains(&what) {
            missing.push(what);
        }
    };
    let by_dots = !seen.dots().is_empty() && seen.links().is_empty();
    let mut proven_by_links: Vec<ChainId> = Vec::new();
    for state in shafts.iter().filter(|state| drive.is_timed(state.shaft)) {
        let known = hung.shafts()[state.shaft.index()];
        if known.by_dots.is_some() {
            continue;
        }
        let readable = drive
            .way_to(state.shaft)
            .flat_map(|(driver, driven)| [driver, driven])
            .all(|at| drive.sprocket(at).mark().is_some());
        let follows = evidence.fits_some && evidence.ahead[state.shaft.index()].is_some();
        if known.by_links.is_some() || follows {
            proven_by_links.extend(drive.way_to(state.shaft).map(|(driver, _)| driver.chain));
        } else if by_dots || !readable {
            for id in [drive.crank(), state.shaft] {
                if seen.dot(drive, id).is_none() {
                    add(Unseen::Dot(id), &mut missing);
                }
            }
            if hung.crank_half_turn() {
                add(Unseen::Dot(drive.crank()), &mut missing);
            }
        } else {
            let way: Vec<_> = drive.way_to(state.shaft).collect();
            for at in way
                .into_iter()
                .rev()
                .flat_map(|(driver, driven)| [driver, driven])
            {
                if hung.seat(drive, at).is_none() {
                    add(Unseen::Link(at), &mut missing);
                }
            }
        }
    }
    // A chain that is proven by its links is proven by all of them, those of idlers too.
    for (at, sprocket) in drive.engagements() {
        let by_dot = hung.shafts()[sprocket.shaft().index()].by_dots.is_some();
        if proven_by_links.contains(&at.chain)
            && sprocket.mark().is_some()
            && hung.seat(drive, at).is_none()
            && !by_dot
        {
            add(Unseen::Link(at), &mut missing);
        }
    }
    missing
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
