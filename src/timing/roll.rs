//! After the crankshaft has turned: where every dot and every coloured link is, when they come
//! back, and which links lie on which dots in between. Closed forms; nothing is stepped through.
//!
//! A shaft of speed r has made r * N turns after N crank turns. When its dot is back in its timed
//! place after k whole turns, the link on it is `m - k * z` modulo the chain's links.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::spec::raw::Rotation;
use crate::timing::check::link_due;
use crate::units::quantity::{
    ClockAngle, Exact, LinkPosition, OutOfRange, Turns, least_common_multiple,
};

/// Where everything is after the crankshaft has turned.
#[derive(Clone, PartialEq, Debug)]
pub struct Roll {
    /// Crank turns since the drive was timed.
    pub turned: Turns,
    /// Every sprocket that has a dot, in the order of the spec.
    pub marks: Vec<MarkPlace>,
    /// After how many crank turns the marks come back.
    pub returns: Returns,
    /// The next crank turn, counted from the timed position, at which every dot is in its place:
    /// `turned` itself if they are now. `None` as in [`Returns`].
    pub next_dots: Option<Turns>,
    /// The same for every coloured link on its dot.
    pub next_links: Option<Turns>,
    /// The same for the dots of the crankshaft and of every shaft that must be in time: at this turn
    /// the timing can be proven by dots. Idlers come back later and are not needed for it.
    pub next_proof: Option<Turns>,
}

/// Where one dot is.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct MarkPlace {
    /// The sprocket.
    pub at: Engagement,
    /// How far its dot is past its timed place, in turns of its own shaft: from 0 up to 1.
    pub past: Turns,
    /// Where its dot points, if the spec says where it points in the timed position.
    pub clock: Option<ClockAngle>,
    /// The link on the dot, if the dot is in its timed place and the chain is marked. In between
    /// nothing is claimed: the dot may be out of mesh.
    pub link: Option<LinkPosition>,
}

/// After how many crank turns the marks come back, counted from the timed position.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Returns {
    /// Every dot in its place. `None`: not within [`Returns::MOST`] turns.
    pub dots: Option<u64>,
    /// Every dot in its place and on its own coloured link. `None`: not within [`Returns::MOST`]
    /// turns, or the drive has no coloured links.
    pub links: Option<u64>,
}

impl Returns {
    /// The longest return that is told: no hand turns an engine that often.
    pub const MOST: u64 = 1_000_000_000_000_000;
}

/// When the marks of `drive` come back: the least common multiple of the denominators of r * 1 and
/// of v / L, for every marked shaft of speed r and every marked chain of L links and speed v.
///
/// ```
/// # use tautmark::{Drive, Source, timing::returns};
/// # let text = "
/// # tautmark: 1
/// # engine: Example single
/// # crank_turns: clockwise
/// # shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// # chains: { main: { links: 128, path: [
/// #   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 64 } ] } }
/// # ";
/// # let source = Source::new("example.yaml", text.into()).unwrap();
/// # let drive = Drive::read(&source).drive.unwrap();
/// // 128 links over 18 and 36 teeth.
/// let returns = returns(&drive);
/// assert_eq!((returns.dots, returns.links), (Some(2), Some(64)));
/// ```
pub fn returns(drive: &Drive) -> Returns {
    let mut dots = Some(1);
    for (id, shaft) in drive.shafts() {
        if drive.is_marked(id) {
            dots = returning_after(dots, Ok(shaft.speed()));
        }
    }
    let mut links = dots;
    let mut any = false;
    for (_, chain) in drive.chains() {
        if chain
            .sprockets()
            .iter()
            .any(|sprocket| sprocket.mark().is_some())
        {
            any = true;
            links = returning_after(links, chain.speed().checked_div(chain.links().to_exact()));
        }
    }
    Returns {
        dots,
        links: links.filter(|_| any),
    }
}

/// The least whole N that `so_far` divides and that makes `per_turn * N` whole.
fn returning_after(so_far: Option<u64>, per_turn: Result<Exact, OutOfRange>) -> Option<u64> {
    let so_far = so_far?;
    let every = u64::try_from(per_turn.ok()?.denominator()).ok()?;
    least_common_multiple(so_far, every).filter(|turns| *turns <= Returns::MOST)
}

/// Where everything is after `turned` crank turns. Above zero, in the normal direction.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{timing::roll, units::Turns};
///
/// // Two turns on, the dots are back and the coloured links are not: they come back after 118.
/// let rolled = roll(&drive, Turns::whole(2))?;
/// assert_eq!(rolled.next_dots, Some(Turns::whole(2)));
/// assert_eq!(rolled.next_links, Some(Turns::whole(118)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] and of
/// [`crate::Observations::after`] prevent it.
pub fn roll(drive: &Drive, turned: Turns) -> Result<Roll, OutOfRange> {
    let mut marks = Vec::new();
    for (at, sprocket) in drive.engagements() {
        if !sprocket.is_marked() {
            continue;
        }
        let shaft = drive.shaft(sprocket.shaft());
        let past = shaft
            .speed()
            .checked_mul(turned.get())?
            .modulo(Exact::ONE)?;
        let clockwise = drive.rotation(sprocket.shaft()) == Rotation::Clockwise;
        let clock = match sprocket.dot() {
            None => None,
            Some(dot) => {
                let swept = past.checked_mul(Exact::whole(360))?;
                let swept = if clockwise { swept } else { swept.negated() };
                let angle = dot.get().checked_add(swept)?.modulo(Exact::whole(360))?;
                Some(ClockAngle::new(angle))
            }
        };
        marks.push(MarkPlace {
            at,
            past: Turns::new(past),
            clock,
            link: link_due(drive, at, turned)?,
        });
    }
    let returns = returns(drive);
    let mut proof = Some(1);
    for (id, shaft) in drive.shafts() {
        if drive.is_timed(id) {
            proof = returning_after(proof, Ok(shaft.speed()));
        }
    }
    Ok(Roll {
        turned,
        marks,
        returns,
        next_dots: next(turned, returns.dots)?,
        next_links: next(turned, returns.links)?,
        next_proof: next(turned, proof)?,
    })
}

/// The first multiple of `every` that is not before `turned`.
fn next(turned: Turns, every: Option<u64>) -> Result<Option<Turns>, OutOfRange> {
    let Some(every) = every.and_then(|every| i64::try_from(every).ok()) else {
        return Ok(None);
    };
    let every = Exact::whole(every);
    let past = turned.get().modulo(every)?;
    let next = if past.is_zero() {
        turned.get()
    } else {
        turned.get().checked_sub(past)?.checked_add(every)?
    };
    Ok(Some(Turns::new(next)))
}

/// A coloured link that lies, again and again, on a dot in its timed place: its own, or another's.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Meeting {
    /// The dot.
    pub at: Engagement,
    /// The sprocket to whose dot the link belongs: `at` itself, or another of the same chain.
    pub link_of: Engagement,
    /// Crank turns until it is so for the first time after the timed position.
    pub first: Turns,
    /// Crank turns from each time to the next.
    pub every: Turns,
}

/// Every way in which a coloured link comes to lie on a dot in its timed place. Each repeats for ever.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn meetings(drive: &Drive) -> Result<Vec<Meeting>, OutOfRange> {
    let mut found = Vec::new();
    for (id, chain) in drive.chains() {
        let links = i64::from(chain.links().get());
        for (at, sprocket) in chain.engagements(id) {
            let Some(mark) = sprocket.mark() else {
                continue;
            };
            let period = drive.shaft(sprocket.shaft()).period();
            for (other, other_sprocket) in chain.engagements(id) {
                let Some(other_mark) = other_sprocket.mark() else {
                    continue;
                };
                // After k turns of the sprocket: m - k z = m', so k z = m - m' (modulo the links).
                let apart = mark.link.since(other_mark.link)?.get();
                if !apart.is_whole() {
                    continue;
                }
                let apart = i64::try_from(apart.numerator()).map_err(|_| OutOfRange)?;
                let teeth = i64::from(sprocket.teeth().get());
                let Some((first, every)) = congruence(teeth, apart, links) else {
                    continue;
                };
                let first = if first == 0 { every } else { first };
                found.push(Meeting {
                    at,
                    link_of: other,
                    first: Turns::new(period.checked_mul(Exact::whole(first))?),
                    every: Turns::new(period.checked_mul(Exact::whole(every))?),
                });
            }
        }
    }
    Ok(found)
}

/// The least k at or above zero with `a * k = b` modulo `modulus`, and the step to the next.
fn congruence(a: i64, b: i64, modulus: i64) -> Option<(i64, i64)> {
    // Extended Euclid: a * x = g modulo the modulus.
    let (mut g, mut rest, mut x, mut next) = (a.rem_euclid(modulus), modulus, 1, 0);
    while rest != 0 {
        let times = g / rest;
        (g, rest) = (rest, g - times * rest);
        (x, next) = (next, x - times * next);
    }
    let step = modulus / g;
    let b = b.rem_euclid(modulus);
    (b % g == 0).then(|| (((b / g) * x.rem_euclid(step)).rem_euclid(step), step))
}

/// A crank position at which something lines up.
#[derive(Clone, PartialEq, Debug)]
pub struct Moment {
    /// Crank turns since the drive was timed.
    pub turned: Turns,
    /// Is every dot in its timed place?
    pub all_dots: bool,
    /// Is every dot on its own coloured link too? Then everything begins anew. Never so in a drive
    /// without coloured links.
    pub all_links: bool,
    /// The coloured links that lie on dots: dot, and the sprocket whose link it is.
    pub links: Vec<(Engagement, Engagement)>,
}

/// Every crank position after the timed one at which all dots are in their places or a coloured link
/// lies on a dot, in order, up to the one at which everything begins anew (which may be far off:
/// take as many as you need).
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn moments(drive: &Drive) -> Result<Moments, OutOfRange> {
    let returns = returns(drive);
    let whole = |turns: Option<u64>| {
        turns
            .and_then(|turns| i64::try_from(turns).ok())
            .map(Exact::whole)
    };
    let has_links = drive
        .engagements()
        .any(|(_, sprocket)| sprocket.mark().is_some());
    Ok(Moments {
        has_links,
        meetings: meetings(drive)?
            .into_iter()
            .map(|meeting| (meeting, meeting.first.get()))
            .collect(),
        dots: whole(returns.dots),
        next_dots: whole(returns.dots),
        end: whole(if has_links {
            returns.links
        } else {
            returns.dots
        }),
    })
}

/// The moments of a drive, made one by one; see [`moments`].
#[derive(Clone, Debug)]
pub struct Moments {
    has_links: bool,
    meetings: Vec<(Meeting, Exact)>,
    dots: Option<Exact>,
    next_dots: Option<Exact>,
    end: Option<Exact>,
}

impl Iterator for Moments {
    type Item = Moment;

    fn next(&mut self) -> Option<Moment> {
        let turned = self
            .meetings
            .iter()
            .map(|(_, next)| *next)
            .chain(self.next_dots)
            .min()?;
        if self.end.is_some_and(|end| turned > end) {
            return None;
        }
        let all_dots = self.next_dots == Some(turned);
        if all_dots {
            self.next_dots = self.dots.and_then(|dots| turned.checked_add(dots).ok());
        }
        let mut links = Vec::new();
        for (meeting, next) in &mut self.meetings {
            if *next == turned {
                links.push((meeting.at, meeting.link_of));
                *next = turned.checked_add(meeting.every.get()).ok()?;
            }
        }
        Some(Moment {
            turned: Turns::new(turned),
            all_dots,
            all_links: self.has_links && self.end == Some(turned),
            links,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn congruences_are_solved_as_by_trying() {
        for modulus in 1..40_i64 {
            for a in 1..40 {
                for b in -40..40 {
                    let tried = (0..modulus).find(|k| (a * k - b).rem_euclid(modulus) == 0);
                    let solved = congruence(a, b, modulus);
                    assert_eq!(solved.map(|(k, _)| k), tried, "{a} k = {b} mod {modulus}");
                    if let Some((_, step)) = solved {
                        let again = (1..=modulus).find(|k| (a * k).rem_euclid(modulus) == 0);
                        assert_eq!(Some(step), again);
                    }
                }
            }
        }
    }
}
