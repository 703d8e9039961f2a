//! Every way in which the marks of a drive can look right and be wrong.
//!
//! While a chain is hung, somebody who goes by colours alone is content when every dot lies on a
//! link of the right colour. The coloured links keep their order along the path, so all such
//! hangings are the turns of the order (each dot on another's link) and, with the chain inside out,
//! its mirror images: at most 2n - 1 of them on n marks, which are enumerated here exactly. Left out
//! are those that nobody can hang, with a dot a whole turn or more from its place, where no chain
//! lies on it. After the engine is turned, single dots meet other sprockets' links of the same
//! colour ([`crate::meetings`]).

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Alike, Chain, Drive, Mark, Sprocket};
use crate::spec::finding::{AlsoRight, Finding, MarkProblem};
use crate::spec::raw::ShaftKind;
use crate::timing::check::{ShaftState, Unseen, Verdict};
use crate::timing::hang::same_angle;
use crate::timing::observe::Observations;
use crate::timing::roll::{meetings, returns};
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, Turns};

/// A way in which marks look right and are wrong.
#[derive(Clone, PartialEq, Debug)]
pub struct Lookalike {
    /// How it comes about.
    pub kind: LookalikeKind,
    /// The shafts that are wrong, each with how far it would be ahead of where it belongs.
    pub off: Vec<(ShaftId, CrankDegrees)>,
    /// One observation that tells it from the truth. `None`: nothing in the spec does.
    pub settled_by: Option<Unseen>,
}

/// How marks come to look right and be wrong.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum LookalikeKind {
    /// The crankshaft's dot is at its mark, one whole turn from the timed position.
    CrankTurnOut,
    /// Each dot lies on another one's link of the same colour.
    LinksMoved {
        /// The chain.
        chain: ChainId,
        /// Dot, and the sprocket whose link lies on it.
        links: Vec<(Engagement, Engagement)>,
    },
    /// The chain is hung inside out, every dot on a link of the right colour.
    InsideOut {
        /// The chain.
        chain: ChainId,
        /// Dot, and the sprocket whose link lies on it.
        links: Vec<(Engagement, Engagement)>,
    },
    /// A chain marked for another bank is hung on this one.
    BanksSwapped {
        /// The chain's place.
        chain: ChainId,
        /// The chain whose coloured links are on it.
        marked_as: ChainId,
    },
    /// After turning, a dot in its timed place lies on another sprocket's link of the same colour.
    WrongLinkAfterTurning {
        /// The dot.
        at: Engagement,
        /// The sprocket whose link it is.
        link_of: Engagement,
        /// Crank turns until it is so for the first time.
        first: Turns,
        /// Crank turns from each time to the next.
        every: Turns,
    },
    /// After turning, every coloured link is at its timed place, but some dots are not there.
    LinksBackDotsAway {
        /// Crank turns until it is so for the first time.
        turned: Turns,
    },
}

impl Lookalike {
    /// Can it come about while the chain is hung, before the engine is turned?
    pub fn while_hanging(&self) -> bool {
        matches!(
            self.kind,
            LookalikeKind::LinksMoved { .. }
                | LookalikeKind::InsideOut { .. }
                | LookalikeKind::BanksSwapped { .. }
        )
    }
}

/// Every look-alike of `drive`, exactly.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::timing::{LookalikeKind, lookalikes};
///
/// // Whatever the links look like, the crankshaft may be a whole turn out; one look at a dot tells.
/// let all = lookalikes(&drive)?;
/// let turn = all.iter().find(|one| one.kind == LookalikeKind::CrankTurnOut);
/// assert!(turn.ok_or("not listed")?.settled_by.is_some());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn lookalikes(drive: &Drive) -> Result<Vec<Lookalike>, OutOfRange> {
    let mut found = Vec::new();
    crank_turn_out(drive, &mut found)?;
    found.extend(while_hanging(drive)?);
    links_back_dots_away(drive, &mut found)?;
    for meeting in meetings(drive)? {
        let colour = |at: Engagement| {
            drive
                .sprocket(at)
                .mark()
                .and_then(|mark| mark.colour.as_deref())
        };
        if meeting.at != meeting.link_of && colour(meeting.at) == colour(meeting.link_of) {
            found.push(Lookalike {
                kind: LookalikeKind::WrongLinkAfterTurning {
                    at: meeting.at,
                    link_of: meeting.link_of,
                    first: meeting.first,
                    every: meeting.every,
                },
                off: Vec::new(),
                settled_by: settled_by_dot(drive, &[drive.sprocket(meeting.at).shaft()]),
            });
        }
    }
    Ok(found)
}

/// Those of them that can come about while the chains are hung, chain by chain.
fn while_hanging(drive: &Drive) -> Result<Vec<Lookalike>, OutOfRange> {
    let mut found = Vec::new();
    for (id, chain) in drive.chains() {
        hung_otherwise(drive, id, chain, &mut found)?;
        banks_swapped(drive, id, chain, &mut found)?;
    }
    Ok(found)
}

/// Every way to hang a chain wrong that looks right and that nothing in the spec settles.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn ambiguous(drive: &Drive) -> Result<Vec<(ChainId, Lookalike)>, OutOfRange> {
    let mut found = lookalikes(drive)?;
    found.retain(|lookalike| lookalike.settled_by.is_none());
    Ok(found
        .into_iter()
        .filter_map(|lookalike| match lookalike.kind {
            LookalikeKind::LinksMoved { chain, .. }
            | LookalikeKind::InsideOut { chain, .. }
            | LookalikeKind::BanksSwapped { chain, .. } => Some((chain, lookalike)),
            _ => None,
        })
        .collect())
}

/// A warning for every chain with [`ambiguous`] marks.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub(crate) fn ambiguous_marks(drive: &Drive) -> Result<Vec<Finding>, OutOfRange> {
    let mut findings = Vec::new();
    let found = ambiguous(drive)?;
    let name = |at: Engagement| drive.shaft(drive.sprocket(at).shaft()).name().to_owned();
    for (id, chain) in drive.chains() {
        let mut here = found.iter().filter(|(chain, _)| *chain == id);
        let Some((_, lookalike)) = here.next() else {
            continue;
        };
        let also = match &lookalike.kind {
            LookalikeKind::BanksSwapped { marked_as, .. } => AlsoRight::MarkedAs {
                chain: drive.chain(*marked_as).name().to_owned(),
            },
            LookalikeKind::InsideOut { links, .. } => AlsoRight::InsideOut {
                links: links.iter().map(|(a, b)| (name(*a), name(*b))).collect(),
            },
            LookalikeKind::LinksMoved { links, .. } => AlsoRight::LinksMoved {
                links: links.iter().map(|(a, b)| (name(*a), name(*b))).collect(),
            },
            _ => continue,
        };
        let problem = MarkProblem::MarksAmbiguous {
            chain: chain.name().to_owned(),
            also,
            off: lookalike
                .off
                .iter()
                .map(|(shaft, _)| drive.shaft(*shaft).name().to_owned())
                .collect(),
            more: here.count(),
        };
        if let Some(places) = drive.places().chains.get(id.index()) {
            findings.push(Finding::new(problem, places.name));
        }
    }
    Ok(findings)
}

/// The dot of one of `shafts` against the engine, if the spec gives one.
fn settled_by_dot(drive: &Drive, shafts: &[ShaftId]) -> Option<Unseen> {
    shafts
        .iter()
        .copied()
        .find(|id| {
            drive
                .shaft(*id)
                .engagements()
                .iter()
                .any(|at| drive.sprocket(*at).dot().is_some())
        })
        .map(Unseen::Dot)
}

/// One turn of the crankshaft leaves its dot at its mark and every camshaft half a turn away.
fn crank_turn_out(drive: &Drive, found: &mut Vec<Lookalike>) -> Result<(), OutOfRange> {
    let turn = CrankDegrees::whole(360);
    let mut off = Vec::new();
    for (id, shaft) in drive.shafts() {
        if drive.is_timed(id) && !same_angle(shaft, turn, CrankDegrees::ZERO)? {
            off.push((id, turn));
        }
    }
    if !off.is_empty() {
        let cams: Vec<ShaftId> = off
            .iter()
            .map(|(id, _)| *id)
            .filter(|id| drive.shaft(*id).kind() == ShaftKind::Camshaft)
            .collect();
        found.push(Lookalike {
            kind: LookalikeKind::CrankTurnOut,
            settled_by: settled_by_dot(drive, &cams),
            off,
        });
    }
    Ok(())
}

/// The marked sprockets of a chain, in the order of the spec.
fn marked(id: ChainId, chain: &Chain) -> Vec<(Engagement, &Sprocket)> {
    chain
        .engagements(id)
        .filter(|(_, sprocket)| sprocket.mark().is_some())
        .collect()
}

fn hung_otherwise(
    drive: &Drive,
    id: ChainId,
    chain: &Chain,
    found: &mut Vec<Lookalike>,
) -> Result<(), OutOfRange> {
    let marked = from_driver(drive, id, chain);
    let n = marked.len();
    for inside_out in [false, true] {
        for shift in 0..n {
            // Turned right way out, dot i lies on the link of i + shift; inside out the order of the
            // links runs the other way.
            let partner = |i: usize| {
                if inside_out {
                    (shift + n - i) % n
                } else {
                    (i + shift) % n
                }
            };
            let on: Vec<&Mark> = (0..n).filter_map(|i| marked[partner(i)].1.mark()).collect();
            let Some(off) = off_by(drive, id, &marked, &on, inside_out)? else {
                continue;
            };
            if off.is_empty() {
                continue;
            }
            let links = (0..n)
                .map(|i| (marked[i].0, marked[partner(i)].0))
                .collect();
            found.push(Lookalike {
                kind: if inside_out {
                    LookalikeKind::InsideOut { chain: id, links }
                } else {
                    LookalikeKind::LinksMoved { chain: id, links }
                },
                settled_by: settled_by_dot(drive, &shafts_of(&off)),
                off,
            });
        }
    }
    Ok(())
}

fn shafts_of(off: &[(ShaftId, CrankDegrees)]) -> Vec<ShaftId> {
    off.iter().map(|(shaft, _)| *shaft).collect()
}

/// The shafts that are out of place when the dots of `marked`, in the order of travel from the
/// sprocket that drives the chain (or, if that has no mark, the first), lie on the links `on`.
/// `None` if the chain cannot be hung so, or would not look right.
fn off_by(
    drive: &Drive,
    id: ChainId,
    marked: &[(Engagement, &Sprocket)],
    on: &[&Mark],
    inside_out: bool,
) -> Result<Option<Vec<(ShaftId, CrankDegrees)>>, OutOfRange> {
    let chain = drive.chain(id);
    let around = chain.links().to_exact();
    let lies = |mark: &Mark| {
        if inside_out {
            mark.link.get().negated()
        } else {
            mark.link.get()
        }
    };
    let (Some((_, first)), Some(first_on)) = (marked.first(), on.first()) else {
        return Ok(None);
    };
    let Some(first) = first.mark() else {
        return Ok(None);
    };
    let mut seats = Vec::with_capacity(marked.len());
    for ((at, sprocket), other) in marked.iter().zip(on) {
        let Some(own) = sprocket.mark() else {
            return Ok(None);
        };
        // A dot that belongs between two coloured links never looks right on one of them.
        if own.colour != other.colour || !lies(other).checked_sub(own.link.get())?.is_whole() {
            return Ok(None);
        }
        // The path meets the dots in one order, so the links from the first dot to this one are
        // less than the whole chain, hung so or so.
        let hung = lies(other).checked_sub(lies(first_on))?.modulo(around)?;
        let right = own.link.since(first.link)?.get().modulo(around)?;
        let ahead = hung.checked_sub(right)?;
        // A dot that lies on a link is in mesh, so it is less than a turn from its timed place.
        if ahead.abs() >= Exact::whole(i64::from(sprocket.teeth().get())) {
            return Ok(None);
        }
        seats.push((*at, Teeth::new(ahead)));
    }
    let mut off = Vec::new();
    for (shaft_id, shaft) in drive.shafts() {
        if !drive.is_marked(shaft_id) {
            continue;
        }
        let seat_of = |at: Engagement| {
            seats
                .iter()
                .find_map(|(other, seat)| (*other == at).then_some(*seat))
        };
        // On this chain, or on another one behind it.
        let seat = shaft
            .engagements()
            .iter()
            .find_map(|at| seat_of(*at))
            .or_else(|| {
                drive
                    .way_to(shaft_id)
                    .find(|(_, driven)| driven.chain == id)
                    .and_then(|(_, driven)| seat_of(driven))
            });
        let Some(seat) = seat else { continue };
        let angle = chain.crank_degrees_of(seat)?;
        if !same_angle(shaft, angle, CrankDegrees::ZERO)? {
            off.push((shaft_id, angle));
        }
    }
    Ok(Some(off))
}

fn banks_swapped(
    drive: &Drive,
    id: ChainId,
    chain: &Chain,
    found: &mut Vec<Lookalike>,
) -> Result<(), OutOfRange> {
    let own = from_driver(drive, id, chain);
    for (other_id, other) in drive.chains() {
        if other_id == id || other.links() != chain.links() {
            continue;
        }
        let theirs = from_driver(drive, other_id, other);
        let alike = own.len() == theirs.len()
            && own.len() == chain.sprockets().len()
            && theirs.len() == other.sprockets().len()
            && own
                .iter()
                .zip(&theirs)
                .all(|((_, a), (_, b))| a.teeth() == b.teeth());
        if !alike {
            continue;
        }
        let on: Vec<&Mark> = theirs
            .iter()
            .filter_map(|(_, sprocket)| sprocket.mark())
            .collect();
        let Some(off) = off_by(drive, id, &own, &on, false)? else {
            continue;
        };
        if !off.is_empty() {
            found.push(Lookalike {
                kind: LookalikeKind::BanksSwapped {
                    chain: id,
                    marked_as: other_id,
                },
                settled_by: settled_by_dot(drive, &shafts_of(&off)),
                off,
            });
        }
    }
    Ok(())
}

/// The marked sprockets in the order of travel, beginning with the one that drives the chain.
fn from_driver<'a>(
    drive: &Drive,
    id: ChainId,
    chain: &'a Chain,
) -> Vec<(Engagement, &'a Sprocket)> {
    let mut all = marked(id, chain);
    let driver = drive.driver_of(id);
    let first = all.iter().position(|(at, _)| *at == driver).unwrap_or(0);
    all.rotate_left(first);
    all
}

fn links_back_dots_away(drive: &Drive, found: &mut Vec<Lookalike>) -> Result<(), OutOfRange> {
    // Whole crank turns after which every marked chain has gone around a whole number of times.
    let mut every = 1_i64;
    let mut any = false;
    for (id, chain) in drive.chains() {
        if marked(id, chain).is_empty() {
            continue;
        }
        any = true;
        let around = chain.speed().checked_div(chain.links().to_exact())?;
        let Ok(next) = Exact::whole(every).checked_mul(around) else {
            return Ok(());
        };
        // every * d with the least d that makes every * around * d whole.
        let Some(product) = i64::try_from(next.denominator())
            .ok()
            .and_then(|d| every.checked_mul(d))
        else {
            return Ok(());
        };
        every = product;
    }
    if !any
        || returns(drive)
            .links
            .is_some_and(|links| i64::try_from(links) == Ok(every))
    {
        return Ok(());
    }
    let turned = Turns::whole(every);
    let mut off = Vec::new();
    for (id, shaft) in drive.shafts() {
        let turns = shaft.speed().checked_mul(turned.get())?;
        if drive.is_marked(id) && !turns.is_whole() {
            // Ahead of its place, in crank turns: the part of a turn it has made, at its own speed.
            let past = turns.modulo(Exact::ONE)?.checked_div(shaft.speed())?;
            off.push((id, Turns::new(past).to_crank_degrees()?));
        }
    }
    if !off.is_empty() {
        found.push(Lookalike {
            kind: LookalikeKind::LinksBackDotsAway { turned },
            settled_by: settled_by_dot(drive, &shafts_of(&off)),
            off,
        });
    }
    Ok(())
}

/// A look-alike that what was seen does not rule out, or that it looks just like.
#[derive(Clone, PartialEq, Debug)]
pub struct Fit {
    /// The look-alike.
    pub lookalike: Lookalike,
    /// Is what was seen out of time in just its way? Otherwise the links look right, and it would
    /// take another look to rule it out.
    pub explains: bool,
}

/// What a verdict asks of the look-alikes.
fn in_short(all: &[Lookalike]) -> Vec<Alike> {
    let short = |lookalike: &Lookalike| {
        Some(Alike {
            chain: chain_of(lookalike)?,
            off: shafts_of(&lookalike.off),
        })
    };
    all.iter().filter_map(short).collect()
}

fn chain_of(lookalike: &Lookalike) -> Option<ChainId> {
    match lookalike.kind {
        LookalikeKind::LinksMoved { chain, .. }
        | LookalikeKind::InsideOut { chain, .. }
        | LookalikeKind::BanksSwapped { chain, .. } => Some(chain),
        _ => None,
    }
}

/// Do the links of its chain look right, and does it take another look to rule it out?
fn is_open(drive: &Drive, seen: &Observations, alike: &Alike) -> bool {
    // A dot is measured from the crankshaft's: both have to be looked at to rule it out.
    let dot_seen = |id: ShaftId| seen.dot(drive, id).is_some();
    let ruled_out = dot_seen(drive.crank()) && alike.off.iter().any(|id| dot_seen(*id));
    !ruled_out && seen.links().iter().any(|(at, _)| at.chain == alike.chain)
}

/// Where everything seen is in time: does a look-alike fit as well?
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub(crate) fn one_fits(drive: &Drive, seen: &Observations) -> Result<bool, OutOfRange> {
    let all = drive.hung_alike(|drive| Ok(in_short(&while_hanging(drive)?)))?;
    Ok(all.iter().any(|alike| is_open(drive, seen, alike)))
}

/// The look-alikes of hanging a chain that fit what was seen.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub(crate) fn fits(
    drive: &Drive,
    seen: &Observations,
    verdict: Verdict,
    shafts: &[ShaftState],
) -> Result<Vec<Fit>, OutOfRange> {
    let mut found = Vec::new();
    let in_question = match verdict {
        Verdict::InTime => one_fits(drive, seen)?,
        // Most drives have none, which need not be found out again at every look.
        Verdict::OutOfTime => !drive.none_hung_alike(),
        Verdict::NotProven => false,
    };
    if !in_question {
        return Ok(found);
    }
    let all = while_hanging(drive)?;
    drive.hung_alike(|_| Ok(in_short(&all)))?;
    for lookalike in all {
        let Some(chain) = chain_of(&lookalike) else {
            continue;
        };
        let explains =
            verdict == Verdict::OutOfTime && is_just_like(drive, shafts, chain, &lookalike)?;
        let alike = Alike {
            chain,
            off: shafts_of(&lookalike.off),
        };
        if explains || (verdict == Verdict::InTime && is_open(drive, seen, &alike)) {
            found.push(Fit {
                lookalike,
                explains,
            });
        }
    }
    Ok(found)
}

/// Is every shaft of the chain known to be off by just as much as `lookalike` puts it off?
fn is_just_like(
    drive: &Drive,
    shafts: &[ShaftState],
    chain: ChainId,
    lookalike: &Lookalike,
) -> Result<bool, OutOfRange> {
    for (at, _) in marked(chain, drive.chain(chain)) {
        let id = drive.sprocket(at).shaft();
        let wanted = lookalike
            .off
            .iter()
            .find_map(|(other, angle)| (*other == id).then_some(*angle))
            .unwrap_or(CrankDegrees::ZERO);
        let known = shafts
            .iter()
            .find(|state| state.shaft == id)
            .and_then(|state| state.off);
        match known {
            Some(off) if same_angle(drive.shaft(id), off.angle, wanted)? => {}
            _ => return Ok(false),
        }
    }
    Ok(true)
}
