//! Every way in which the marks of a drive can look right and be wrong.
//!
//! While a chain is hung, somebody who goes by colours alone is content when every dot lies on a
//! link of the right colour. The coloured links keep their order along the path, so all such
//! hangings are the turns of the order (each dot on another's link) and, with the chain inside out,
//! its mirror images: 2n - 1 of them on n marks, which are enumerated here exactly. After the
//! engine is turned, single dots meet other sprockets' links of the same colour ([`crate::meetings`]).

use crate::check::{Check, Unseen, Verdict};
use crate::drive::{Chain, ChainId, Drive, Engagement, ShaftId, Sprocket};
use crate::hang::same_angle;
use crate::observe::Observations;
use crate::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, Turns};
use crate::roll::{meetings, returns};
use crate::spec::ShaftKind;

/// A way in which marks look right and are wrong.
#[derive(Clone, PartialEq, Debug)]
pub struct FalseFriend {
    /// How it comes about.
    pub kind: FalseFriendKind,
    /// The shafts that are wrong, each with how far it would be ahead of where it belongs.
    pub off: Vec<(ShaftId, CrankDegrees)>,
    /// One observation that tells it from the truth. `None`: nothing in the spec does.
    pub settled_by: Option<Unseen>,
}

/// How marks come to look right and be wrong.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum FalseFriendKind {
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

impl FalseFriend {
    /// Can it come about while the chain is hung, before the engine is turned?
    pub fn while_hanging(&self) -> bool {
        matches!(
            self.kind,
            FalseFriendKind::LinksMoved { .. }
                | FalseFriendKind::InsideOut { .. }
                | FalseFriendKind::BanksSwapped { .. }
        )
    }
}

/// Every false friend of `drive`, exactly.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn false_friends(drive: &Drive) -> Result<Vec<FalseFriend>, OutOfRange> {
    let mut found = Vec::new();
    crank_turn_out(drive, &mut found)?;
    for (id, chain) in drive.chains() {
        hung_otherwise(drive, id, chain, &mut found)?;
        banks_swapped(drive, id, chain, &mut found)?;
    }
    links_back_dots_away(drive, &mut found)?;
    for meeting in meetings(drive)? {
        let colour = |at: Engagement| {
            drive
                .sprocket(at)
                .mark()
                .and_then(|mark| mark.colour.as_deref())
        };
        if meeting.at != meeting.link_of && colour(meeting.at) == colour(meeting.link_of) {
            found.push(FalseFriend {
                kind: FalseFriendKind::WrongLinkAfterTurning {
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
fn crank_turn_out(drive: &Drive, found: &mut Vec<FalseFriend>) -> Result<(), OutOfRange> {
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
        found.push(FalseFriend {
            kind: FalseFriendKind::CrankTurnOut,
            settled_by: settled_by_dot(drive, &cams),
            off,
        });
    }
    Ok(())
}

/// The marked sprockets of a chain, in the order of travel.
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
    found: &mut Vec<FalseFriend>,
) -> Result<(), OutOfRange> {
    let marked = marked(id, chain);
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
            let pairs: Vec<(usize, usize)> = (0..n).map(|i| (i, partner(i))).collect();
            let colour = |i: usize| marked[i].1.mark().and_then(|mark| mark.colour.as_deref());
            if pairs.iter().any(|(i, j)| colour(*i) != colour(*j)) {
                continue;
            }
            let mut seats = Vec::with_capacity(n);
            for (i, j) in &pairs {
                let (Some(own), Some(other)) = (marked[*i].1.mark(), marked[*j].1.mark()) else {
                    continue;
                };
                let lies = if inside_out {
                    other.link.get().negated()
                } else {
                    other.link.get()
                };
                seats.push((marked[*i].0, lies.minus(own.link.get())?));
            }
            let off = off_by(drive, id, &seats)?;
            if off.is_empty() {
                continue;
            }
            let links = pairs
                .iter()
                .map(|(i, j)| (marked[*i].0, marked[*j].0))
                .collect();
            let shafts: Vec<ShaftId> = off.iter().map(|(shaft, _)| *shaft).collect();
            found.push(FalseFriend {
                kind: if inside_out {
                    FalseFriendKind::InsideOut { chain: id, links }
                } else {
                    FalseFriendKind::LinksMoved { chain: id, links }
                },
                off,
                settled_by: settled_by_dot(drive, &shafts),
            });
        }
    }
    Ok(())
}

/// The shafts of a chain that are out of place when its dots lie that many links past their own,
/// against the sprocket that drives it (or, if that has no mark, the first).
fn off_by(
    drive: &Drive,
    id: ChainId,
    seats: &[(Engagement, Exact)],
) -> Result<Vec<(ShaftId, CrankDegrees)>, OutOfRange> {
    let chain = drive.chain(id);
    let driver = drive.driver_of(id);
    let base = seats
        .iter()
        .find(|(at, _)| *at == driver)
        .or(seats.first())
        .map_or(Exact::ZERO, |(_, seat)| *seat);
    let mut off = Vec::new();
    for (at, seat) in seats {
        let teeth = seat.minus(base)?.nearest_modulo(chain.links().to_exact())?;
        let angle = chain.crank_degrees_of(Teeth::new(teeth))?;
        let shaft = drive.sprocket(*at).shaft();
        if !same_angle(drive.shaft(shaft), angle, CrankDegrees::ZERO)? {
            off.push((shaft, angle));
        }
    }
    Ok(off)
}

fn banks_swapped(
    drive: &Drive,
    id: ChainId,
    chain: &Chain,
    found: &mut Vec<FalseFriend>,
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
            && own.iter().zip(&theirs).all(|((_, a), (_, b))| {
                a.teeth() == b.teeth()
                    && a.mark().and_then(|mark| mark.colour.as_deref())
                        == b.mark().and_then(|mark| mark.colour.as_deref())
            });
        if !alike {
            continue;
        }
        let mut seats = Vec::new();
        for ((at, a), (_, b)) in own.iter().zip(&theirs) {
            if let (Some(a), Some(b)) = (a.mark(), b.mark()) {
                seats.push((*at, b.link.from(a.link)?.get()));
            }
        }
        let off = off_by(drive, id, &seats)?;
        if !off.is_empty() {
            let shafts: Vec<ShaftId> = off.iter().map(|(shaft, _)| *shaft).collect();
            found.push(FalseFriend {
                kind: FalseFriendKind::BanksSwapped {
                    chain: id,
                    marked_as: other_id,
                },
                off,
                settled_by: settled_by_dot(drive, &shafts),
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

fn links_back_dots_away(drive: &Drive, found: &mut Vec<FalseFriend>) -> Result<(), OutOfRange> {
    // Whole crank turns after which every marked chain has gone around a whole number of times.
    let mut every = 1_i64;
    let mut any = false;
    for (id, chain) in drive.chains() {
        if marked(id, chain).is_empty() {
            continue;
        }
        any = true;
        let around = chain.speed().over(chain.links().to_exact())?;
        let Ok(next) = Exact::whole(every).times(around) else {
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
        let turns = shaft.speed().times(turned.get())?;
        if drive.is_marked(id) && !turns.is_whole() {
            // Ahead of its place, in crank turns: the part of a turn it has made, at its own speed.
            let past = turns.modulo(Exact::ONE)?.over(shaft.speed())?;
            off.push((id, Turns::new(past).to_crank_degrees()?));
        }
    }
    if !off.is_empty() {
        let shafts: Vec<ShaftId> = off.iter().map(|(shaft, _)| *shaft).collect();
        found.push(FalseFriend {
            kind: FalseFriendKind::LinksBackDotsAway { turned },
            settled_by: shafts.first().copied().map(Unseen::Dot),
            off,
        });
    }
    Ok(())
}

/// A false friend that what was seen does not rule out, or that it looks just like.
#[derive(Clone, PartialEq, Debug)]
pub struct Fit {
    /// The false friend.
    pub friend: FalseFriend,
    /// Is what was seen out of time in just its way? Otherwise the links look right, and it would
    /// take another look to rule it out.
    pub explains: bool,
}

/// The false friends of hanging a chain that fit what was seen.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn fits(drive: &Drive, seen: &Observations, check: &Check) -> Result<Vec<Fit>, OutOfRange> {
    let mut found = Vec::new();
    for friend in false_friends(drive)? {
        let chain = match friend.kind {
            FalseFriendKind::LinksMoved { chain, .. }
            | FalseFriendKind::InsideOut { chain, .. }
            | FalseFriendKind::BanksSwapped { chain, .. } => chain,
            _ => continue,
        };
        let explains =
            check.verdict == Verdict::OutOfTime && is_just_like(drive, check, chain, &friend)?;
        let by_links_alone = check.verdict == Verdict::InTime
            && seen.links().iter().any(|(at, _)| at.chain == chain)
            && !friend.off.iter().any(|(id, _)| {
                seen.dots()
                    .iter()
                    .any(|(at, _)| drive.sprocket(*at).shaft() == *id)
            });
        if explains || by_links_alone {
            found.push(Fit { friend, explains });
        }
    }
    Ok(found)
}

/// Is every shaft of the chain known to be off by just as much as `friend` puts it off?
fn is_just_like(
    drive: &Drive,
    check: &Check,
    chain: ChainId,
    friend: &FalseFriend,
) -> Result<bool, OutOfRange> {
    for (at, _) in marked(chain, drive.chain(chain)) {
        let id = drive.sprocket(at).shaft();
        let wanted = friend
            .off
            .iter()
            .find_map(|(other, angle)| (*other == id).then_some(*angle))
            .unwrap_or(CrankDegrees::ZERO);
        let known = check
            .shafts
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
