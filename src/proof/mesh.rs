//! A link that cannot have been on that dot: the dot would be off the chain there, by the wrap of its
//! sprocket as the geometry gives it. Such a count is to be read again, and nothing rests on it.
#![allow(
    clippy::float_arithmetic,
    reason = "where a wrap ends is geometry; it only ever takes a proof away"
)]

use crate::drive::model::Drive;
use crate::plane::layout::Layout;
use crate::timing::doubt::Doubt;
use crate::timing::hang::hang;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::OutOfRange;

/// A dot can be read a tooth beyond the ends of the wrap, where the chain is about to leave it.
const BEYOND: f64 = 1.0;

/// The dots that were seen on a link they cannot have been on. Who counts teeth from the coloured link
/// can count past the end of the wrap; who reads the link on the dot cannot. Only dots that belong on the chain in
/// the timed position, and only against the sprocket that drives the chain.
pub(super) fn out_of_mesh(drive: &Drive, seen: &Observations) -> Result<Vec<Doubt>, OutOfRange> {
    let named = |(_, what): &(_, Seen)| matches!(what, Seen::Link(_));
    if seen.links().len() < 2 || !seen.links().iter().any(named) {
        return Ok(Vec::new());
    }
    by_number(drive, seen)
}

/// The same of looks at which links were read by their numbers.
fn by_number(drive: &Drive, seen: &Observations) -> Result<Vec<Doubt>, OutOfRange> {
    let mut found = Vec::new();
    let hung = hang(drive, seen)?;
    for (id, chain) in drive.chains() {
        let off = |at| hung.own(drive, at).filter(|own| !own.teeth.is_zero());
        if !chain.engagements(id).any(|(at, _)| off(at).is_some()) {
            continue;
        }
        let Ok(layout) = Layout::new(drive, id) else {
            continue;
        };
        for (at, sprocket) in chain.engagements(id) {
            if !matches!(seen.link(at), Some(Seen::Link(_))) {
                continue;
            }
            let (Some(own), Some(dot)) = (off(at), sprocket.dot()) else {
                continue;
            };
            let Some(wheel) = layout.wheel_of(at) else {
                continue;
            };
            let place = layout.path().position(wheel, dot.get().to_f64());
            let (Some((links, true)), Some(contact)) = (place, layout.path().contact(wheel)) else {
                continue;
            };
            let past = hung.crank_past().get().to_f64() * chain.speed().to_f64();
            let there = links + own.teeth.get().to_f64() + past;
            let wrap = contact.start - BEYOND..=contact.start + contact.links + BEYOND;
            if !wrap.contains(&there) {
                found.push(Doubt::OutOfMesh {
                    at,
                    teeth: own.teeth,
                });
            }
        }
    }
    Ok(found)
}
