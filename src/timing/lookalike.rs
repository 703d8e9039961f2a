//! Every way in which the marks of a drive can look right and be wrong.
//!
//! While a chain is hung, somebody who goes by colours alone is content when every dot lies on a
//! link of the right colour. The coloured links keep their order along the path, so all such
//! hangings are the turns of the order (each dot on another's link) and, with the chain inside out,
//! its mirror images: at most 2n - 1 of them on n marks, which are enumerated here exactly. Left out
//! are those that nobody can hang, with a dot a whole turn or more from its place, where no chain
//! lies on it. Where only some links of a chain were looked at, more hangings look like that, since the dots that were
//! not looked at may lie anywhere. After the engine is turned, single dots meet other sprockets' links of the same
//! colour ([`crate::meetings`]).

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Alike, Chain, Drive, Mark, Sprocket};
use crate::spec::finding::band::Band;
use crate::spec::finding::{AlsoRight, Finding, MarkProblem};
use crate::spec::format::{MAX_CHAINS, MAX_SHAFTS};
use crate::spec::raw::ShaftKind;
use crate::timing::check::{ShaftState, Unseen, Verdict};
use crate::timing::hang::same_angle;
use crate::timing::observe::Observations;
use crate::timing::roll::{meetings, returns};
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, Turns};
use std::cmp::Reverse;

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
        /// Dot, and the sprocket of the other chain whose link lies on it.
        links: Vec<(Engagement, Engagement)>,
        /// Is it inside out as well?
        inside_out: bool,
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
        let dots = from_driver(drive, id, chain);
        // All dots of a chain: there is one way on from each first link, so it needs no bound.
        let mut left = u32::MAX;
        hung_otherwise(drive, id, &dots, &mut found, &mut left)?;
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
            findings.push(Finding {
                band: Band::of_kind(chain.kind()),
                ..Finding::new(problem, places.name)
            });
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

/// Every way to hang a chain wrong in which each of `dots`, in the order of travel, lies on a link of the right colour:
/// its own chain, or one that is made like it and marked for another place. `left`: dots that may still be laid; once it is
/// zero, some ways may not have been found.
fn hung_otherwise(
    drive: &Drive,
    id: ChainId,
    dots: &[(Engagement, &Sprocket)],
    found: &mut Vec<Lookalike>,
    left: &mut u32,
) -> Result<(), OutOfRange> {
    let before = found.len();
    let own = from_driver(drive, id, drive.chain(id));
    let others = drive.chains().map(|(other, _)| other);
    for marked_as in std::iter::once(id).chain(others.filter(|other| *other != id)) {
        if marked_as != id && !is_made_like(drive, id, marked_as) {
            continue;
        }
        let theirs = from_driver(drive, marked_as, drive.chain(marked_as));
        let links = if marked_as == id { &own } else { &theirs };
        for inside_out in [false, true] {
            let mut laid = Laid {
                drive,
                id,
                marked_as,
                dots,
                links,
                inside_out,
                on: Vec::with_capacity(dots.len()),
                found,
                before,
                left,
            };
            laid.next_dot()?;
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

/// Could a chain that is marked for `other` be taken for the one that belongs here?
fn is_made_like(drive: &Drive, id: ChainId, other: ChainId) -> bool {
    let (chain, like) = (drive.chain(id), drive.chain(other));
    let (own, theirs) = (
        from_driver(drive, id, chain),
        from_driver(drive, other, like),
    );
    chain.links() == like.links()
        && own.len() == theirs.len()
        && own.len() == chain.sprockets().len()
        && theirs.len() == like.sprockets().len()
        && own
            .iter()
            .zip(&theirs)
            .all(|((_, a), (_, b))| a.teeth() == b.teeth())
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

/// Some dots of a chain, laid on coloured links one after the other.
struct Laid<'a, 'f> {
    drive: &'a Drive,
    id: ChainId,
    /// The chain whose coloured links these are.
    marked_as: ChainId,
    dots: &'a [(Engagement, &'a Sprocket)],
    links: &'a [(Engagement, &'a Sprocket)],
    inside_out: bool,
    /// The links on which the first of the dots lie, by their places in `links`.
    on: Vec<usize>,
    found: &'f mut Vec<Lookalike>,
    /// So many were found before those of this chain.
    before: usize,
    /// Dots that may still be laid.
    left: &'f mut u32,
}

impl Laid<'_, '_> {
    /// Lays the next dot on every link that could lie on it.
    fn next_dot(&mut self) -> Result<(), OutOfRange> {
        let (n, laid) = (self.links.len(), self.on.len());
        *self.left = self.left.saturating_sub(1);
        if *self.left == 0 {
            return Ok(());
        }
        if laid == self.dots.len() {
            return self.keep();
        }
        // Where every dot is laid there is one way on, and it is judged once at its end.
        if laid > 0 && self.dots.len() < n && self.off()?.is_none() {
            return Ok(());
        }
        // Along the path the links come in one order, turned to the right side or inside out; none lies on two
        // dots, and together they go around once.
        let gone = |on: usize| {
            let first = self.on.first().copied().unwrap_or(on);
            if self.inside_out {
                (first + n - on) % n
            } else {
                (on + n - first) % n
            }
        };
        let least = self.on.last().map(|last| gone(*last) + 1);
        let next: Vec<usize> = (0..n)
            .filter(|on| least.is_none_or(|least| gone(*on) >= least))
            // A link must be left for each dot that is still to come.
            .filter(|on| gone(*on) + (self.dots.len() - laid) <= n)
            .collect();
        for on in next {
            self.on.push(on);
            self.next_dot()?;
            self.on.pop();
        }
        Ok(())
    }

    /// The shafts that are off as far as it is laid; `None` if it cannot be laid so.
    fn off(&self) -> Result<Option<Vec<(ShaftId, CrankDegrees)>>, OutOfRange> {
        let mut on = Vec::with_capacity(self.on.len());
        on.extend(self.on.iter().filter_map(|on| self.links[*on].1.mark()));
        let dots = &self.dots[..self.on.len()];
        off_by(self.drive, self.id, dots, &on, self.inside_out)
    }

    fn keep(&mut self) -> Result<(), OutOfRange> {
        let Some(off) = self.off()?.filter(|off| !off.is_empty()) else {
            return Ok(());
        };
        let dots = self.dots.iter().map(|(at, _)| *at);
        let links: Vec<_> = dots
            .zip(self.on.iter().map(|on| self.links[*on].0))
            .collect();
        let (chain, inside_out) = (self.id, self.inside_out);
        let kind = if self.marked_as != chain {
            // Much the same comes of both chains where they are marked much the same.
            if self.found[self.before..].iter().any(|one| one.off == off) {
                return Ok(());
            }
            LookalikeKind::BanksSwapped {
                chain,
                marked_as: self.marked_as,
                links,
                inside_out,
            }
        } else if inside_out {
            LookalikeKind::InsideOut { chain, links }
        } else {
            LookalikeKind::LinksMoved { chain, links }
        };
        self.found.push(Lookalike {
            kind,
            settled_by: settled_by_dot(self.drive, &shafts_of(&off)),
            off,
        });
        Ok(())
    }
}

/// The dots of a chain that were looked at against its links, measured from the sprocket that drives it; where
/// that was not looked at, from one that is right.
fn dots_seen<'a>(
    drive: &'a Drive,
    id: ChainId,
    seen: &Observations,
) -> Vec<(Engagement, &'a Sprocket)> {
    let mut dots = from_driver(drive, id, drive.chain(id));
    dots.retain(|(at, _)| seen.link(*at).is_some());
    let is_right = |(at, _): &(Engagement, &Sprocket)| {
        *at == drive.driver_of(id) || seen.dot(drive, drive.sprocket(*at).shaft()).is_some()
    };
    let first = dots.iter().position(is_right);
    dots.rotate_left(first.unwrap_or(0));
    dots
}

/// What a verdict asks of the look-alikes.
fn in_short(all: &[Lookalike]) -> Vec<Alike> {
    let short = |lookalike: &Lookalike| {
        Some(Alike {
            chain: chain_of(lookalike)?,
            off: lookalike.off.clone(),
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

/// Were some coloured links of that chain looked at, but not all? `None` where none was.
fn is_part(drive: &Drive, seen: &Observations, id: ChainId) -> Option<bool> {
    let looked_at = seen.links().iter().filter(|(at, _)| at.chain == id).count();
    let sprockets = drive.chain(id).sprockets();
    let all = sprockets
        .iter()
        .filter(|sprocket| sprocket.mark().is_some());
    (looked_at > 0).then(|| looked_at < all.count())
}

/// Looks for a way to hang the chains wrong, any number of them at once, that shows all that was seen.
struct Open<'a> {
    drive: &'a Drive,
    seen: &'a Observations,
    alikes: &'a [Alike],
    /// The chains of which links were seen, each after those that tell where one of its shafts stands.
    chains: [Option<Linked>; MAX_CHAINS],
    /// Only with this one of the look-alikes.
    with: Option<usize>,
    /// Tries left.
    left: &'a mut u32,
}

/// A chain of which links were seen.
#[derive(Clone, Copy)]
struct Linked {
    chain: ChainId,
    /// The shaft from which the others on it are measured.
    from: ShaftId,
}

/// How far each shaft is ahead, where that is known; less than a turn of it.
type Ahead = [Option<CrankDegrees>; MAX_SHAFTS];

impl<'a> Open<'a> {
    fn new(
        drive: &'a Drive,
        seen: &'a Observations,
        alikes: &'a [Alike],
        with: Option<usize>,
        left: &'a mut u32,
    ) -> Self {
        let mut open = Self {
            drive,
            seen,
            alikes,
            chains: [None; MAX_CHAINS],
            with,
            left,
        };
        let mut known = open.by_dots().map(|ahead| ahead.is_some());
        for place in 0..MAX_CHAINS {
            let taken = open.chains;
            let new = |id: ChainId| !taken.iter().flatten().any(|one| one.chain == id);
            let waiting = || {
                let links = seen.links().iter();
                links.filter(|(at, _)| new(at.chain)).map(|(at, _)| *at)
            };
            let shaft = |at: Engagement| drive.sprocket(at).shaft();
            let next = waiting()
                .find(|at| known[shaft(*at).index()])
                .or_else(|| waiting().next());
            let Some(at) = next else { break };
            open.chains[place] = Some(Linked {
                chain: at.chain,
                from: shaft(at),
            });
            for (other, _) in seen.links() {
                known[shaft(*other).index()] |= other.chain == at.chain;
            }
        }
        open
    }

    /// The crankshaft, and the shafts whose dots are where they belong. Dots are measured from the crankshaft's:
    /// where that was not looked at, they say nothing.
    fn by_dots(&self) -> Ahead {
        let mut ahead = [None; MAX_SHAFTS];
        let crank = self.drive.crank();
        ahead[crank.index()] = Some(CrankDegrees::ZERO);
        if self.seen.dot(self.drive, crank).is_some() {
            for (at, _) in self.seen.dots() {
                ahead[self.drive.sprocket(*at).shaft().index()] = Some(CrankDegrees::ZERO);
            }
        }
        ahead
    }

    /// Is there one in which a shaft is off that must be in time?
    fn any(mut self) -> Result<bool, OutOfRange> {
        let ahead = self.by_dots();
        let with = self.with.is_none();
        self.hang_from(0, &ahead, with)
    }

    /// With the chains before `place` hung somehow.
    fn hang_from(&mut self, place: usize, ahead: &Ahead, with: bool) -> Result<bool, OutOfRange> {
        if *self.left == 0 {
            return Ok(true);
        }
        let Some(linked) = self.chains.get(place).copied().flatten() else {
            let mut off = false;
            for ((id, _), ahead) in self.drive.shafts().zip(ahead) {
                if let Some(ahead) = ahead
                    && self.drive.is_timed(id)
                {
                    off |= !ahead.is_zero();
                }
            }
            return Ok(with && off);
        };
        let only = self
            .with
            .filter(|with| self.alikes[*with].chain == linked.chain);
        let mut right = None;
        if only.is_none() {
            right = self.hang(linked, &[], 0, ahead)?;
            if let Some(hung) = &right
                && self.hang_from(place + 1, hung, with)?
            {
                return Ok(true);
            }
        }
        let alikes = self.alikes;
        for (i, alike) in alikes.iter().enumerate() {
            if alike.chain != linked.chain || only.is_some_and(|only| only != i) {
                continue;
            }
            for turns in [0, -1, 1] {
                *self.left = self.left.saturating_sub(1);
                if *self.left == 0 {
                    return Ok(true);
                }
                if let Some(hung) = self.hang(linked, &alike.off, turns, ahead)?
                    && !right.is_some_and(|right| self.is_no_matter(place, &right, &hung))
                    && self.hang_from(place + 1, &hung, with || only.is_some())?
                {
                    return Ok(true);
                }
            }
        }
        Ok(false)
    }

    /// Do both leave the same to come? An idler that drives nothing more moves no valve.
    fn is_no_matter(&self, place: usize, a: &Ahead, b: &Ahead) -> bool {
        let later = |id: ShaftId| {
            let mut links = self.seen.links().iter();
            links.any(|(at, _)| {
                let mut left = self.chains[place + 1..].iter().flatten();
                self.drive.sprocket(*at).shaft() == id && left.any(|one| one.chain == at.chain)
            })
        };
        self.drive
            .shafts()
            .zip(a.iter().zip(b))
            .all(|((id, _), (a, b))| a == b || (!self.drive.is_timed(id) && !later(id)))
    }

    /// Where the shafts stand with that chain hung so that it puts them `off`, the one from which the others are
    /// measured so many whole turns on; `None` if one would stand elsewhere than is known.
    fn hang(
        &self,
        linked: Linked,
        off: &[(ShaftId, CrankDegrees)],
        turns: i64,
        ahead: &Ahead,
    ) -> Result<Option<Ahead>, OutOfRange> {
        let off = |id: ShaftId| {
            let found = off.iter().find(|(other, _)| *other == id);
            found.map_or(CrankDegrees::ZERO, |(_, angle)| *angle)
        };
        let mut hung = *ahead;
        let base = ahead[linked.from.index()].unwrap_or(CrankDegrees::ZERO);
        let turn = self.drive.shaft(linked.from).turn()?.get();
        let on = CrankDegrees::new(turn.checked_mul(Exact::whole(turns))?);
        let base = base.checked_add(on)?.checked_sub(off(linked.from))?;
        let driver = self.drive.driver_of(linked.chain);
        for (at, _) in self.seen.links() {
            let id = self.drive.sprocket(*at).shaft();
            if at.chain != linked.chain {
                continue;
            }
            let (here, turn) = (base.checked_add(off(id))?, self.drive.shaft(id).turn()?);
            // Its dot lies on a link, so it is less than a turn from its place: the others are measured from there.
            if *at == driver && here.abs() >= turn {
                return Ok(None);
            }
            // Of itself a whole turn is nothing.
            let here = CrankDegrees::new(here.get().modulo(turn.get())?);
            match &mut hung[id.index()] {
                Some(known) if *known != here => return Ok(None),
                known => *known = Some(here),
            }
        }
        Ok(Some(hung))
    }
}

/// Ways to hang chains that are tried for one look: more than any drive takes that is not made for it. With none left,
/// nothing is ruled out.
const TRIES: u32 = 50_000;
/// Dots that are laid for one look, where links were looked at in part; likewise.
const LAID: u32 = 10_000;

/// The look-alikes of the chains whose links were looked at, as far as they were; and whether those are all.
fn as_far_as_seen(
    drive: &Drive,
    seen: &Observations,
) -> Result<(Vec<Lookalike>, bool), OutOfRange> {
    let mut left = LAID;
    let mut found = while_hanging(drive)?;
    drive.hung_alike(|_| Ok(in_short(&found)))?;
    found.retain(|one| chain_of(one).is_some_and(|id| is_part(drive, seen, id) == Some(false)));
    for (id, _) in drive.chains() {
        if is_part(drive, seen, id) == Some(true) {
            let dots = dots_seen(drive, id, seen);
            hung_otherwise(drive, id, &dots, &mut found, &mut left)?;
        }
    }
    Ok((found, left > 0))
}

/// Where everything seen is in time: does a look-alike fit as well?
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub(crate) fn one_fits(drive: &Drive, seen: &Observations) -> Result<bool, OutOfRange> {
    if seen.links().is_empty() {
        return Ok(false);
    }
    let mut left = TRIES;
    let mut chains = drive.chains();
    if chains.any(|(id, _)| is_part(drive, seen, id) == Some(true)) {
        let (found, all) = as_far_as_seen(drive, seen)?;
        let alikes = in_short(&found);
        return Ok(!all || Open::new(drive, seen, &alikes, None, &mut left).any()?);
    }
    let all = drive.hung_alike(|drive| Ok(in_short(&while_hanging(drive)?)))?;
    if all.is_empty() {
        return Ok(false);
    }
    Open::new(drive, seen, all, None, &mut left).any()
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
    match verdict {
        Verdict::InTime if one_fits(drive, seen)? => fit_as_well(drive, seen),
        // Most drives have none, which need not be found out again at every look.
        Verdict::OutOfTime if !drive.none_hung_alike() => explaining(drive, shafts),
        _ => Ok(Vec::new()),
    }
}

/// Those that everything seen, being in time, does not rule out.
fn fit_as_well(drive: &Drive, seen: &Observations) -> Result<Vec<Fit>, OutOfRange> {
    let (found, _) = as_far_as_seen(drive, seen)?;
    let alikes = in_short(&found);
    let mut open = Vec::new();
    // One bound for all of them: what is left once it is reached is not ruled out.
    let mut left = TRIES;
    for (i, lookalike) in found.iter().enumerate() {
        if Open::new(drive, seen, &alikes, Some(i), &mut left).any()? {
            open.push(lookalike.clone());
        }
    }
    if open.is_empty() {
        // Not everything could be tried, so one stands for those that were not.
        open.extend(found.into_iter().next());
        if open.is_empty() {
            crank_turn_out(drive, &mut open)?;
        }
    }
    // The dots not looked at yet that it puts off; first those that rule out the most with it.
    let crank_seen = seen.dot(drive, drive.crank()).is_some();
    let mut times = [0_u32; MAX_SHAFTS];
    let mut all_off: Vec<ShaftId> = Vec::new();
    for (id, _) in open.iter().flat_map(|one| &one.off) {
        if times[id.index()] == 0 {
            all_off.push(*id);
        }
        times[id.index()] += 1;
    }
    let of_use = |off: &[ShaftId]| -> Vec<ShaftId> {
        let unseen = |id: &ShaftId| !crank_seen || seen.dot(drive, *id).is_none();
        let mut shafts: Vec<ShaftId> = off.iter().copied().filter(unseen).collect();
        shafts.sort_by_key(|id| Reverse(times[id.index()]));
        shafts
    };
    for one in &mut open {
        let own = settled_by_dot(drive, &of_use(&shafts_of(&one.off)));
        // Chains that are hung wrong together can hide each other's errors at some shafts.
        one.settled_by = own.or_else(|| settled_by_dot(drive, &of_use(&all_off)));
    }
    let fit = |lookalike| Fit {
        lookalike,
        explains: false,
    };
    Ok(open.into_iter().map(fit).collect())
}

/// Those that put the shafts off just as they are.
fn explaining(drive: &Drive, shafts: &[ShaftState]) -> Result<Vec<Fit>, OutOfRange> {
    let found = while_hanging(drive)?;
    drive.hung_alike(|_| Ok(in_short(&found)))?;
    let mut just_like = Vec::new();
    for lookalike in found {
        if let Some(chain) = chain_of(&lookalike)
            && is_just_like(drive, shafts, chain, &lookalike)?
        {
            just_like.push(Fit {
                lookalike,
                explains: true,
            });
        }
    }
    Ok(just_like)
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
