//! Which marks are looked at at each stage, in which order, and after how many turns.

use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::job::look::Sight;
use crate::proof::check::{CheckError, check};
use crate::spec::raw::ShaftKind;
use crate::timing::check::Unseen;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::{Exact, Teeth, least_common_multiple};

/// Most crank turns that somebody is asked to make by hand before the third stage.
pub(super) const MAX_TURNS: i64 = 100;

/// Every coloured link, chain after chain from the crankshaft on, the sprocket that drives a chain
/// first and the others in the order of travel; then the dots without which the links would leave
/// something unproven. Apart from them, the dots that rule out the look-alikes of a drive whose
/// marks all look right.
pub(super) fn sights_when_hung(drive: &Drive) -> Result<(Vec<Sight>, Vec<Sight>), CheckError> {
    let mut sights = Vec::new();
    let mut all_on = Observations::at_timed_position();
    for at in in_order(drive) {
        if drive.sprocket(at).mark().is_some() {
            sights.push(Sight::Link(at));
            // Refused only if it has no link or was seen before, and neither can be.
            let _ = all_on.see_link(drive, at, Seen::Teeth(Teeth::ZERO));
        }
    }
    // What the verdict would still lack decides what else is asked, so that the two cannot differ.
    for unseen in check(drive, &all_on)?.not_seen().to_vec() {
        if let Unseen::Dot(id) = unseen
            && let Some(at) = dot_of(drive, id)
        {
            sights.push(Sight::Dot(at));
            let _ = all_on.see_dot(drive, at, Seen::Teeth(Teeth::ZERO));
        }
    }
    let mut extra = Vec::new();
    loop {
        let open = check(drive, &all_on)?.fits().to_vec();
        // A dot says where its shaft stands only if it is known where the crankshaft does.
        let worth = open
            .iter()
            .flat_map(|fit| {
                let settled_by = fit.lookalike.settled_by.and_then(|unseen| match unseen {
                    Unseen::Dot(id) => Some(id),
                    Unseen::Link(_) => None,
                });
                let off = fit.lookalike.off.iter().map(|(id, _)| *id);
                std::iter::once(drive.crank()).chain(settled_by).chain(off)
            })
            .filter(|id| all_on.dot(drive, *id).is_none())
            .find_map(|id| dot_of(drive, id));
        let Some(at) = worth else {
            return Ok((sights, extra));
        };
        if all_on.see_dot(drive, at, Seen::Teeth(Teeth::ZERO)).is_err() {
            return Ok((sights, extra));
        }
        extra.push(Sight::Dot(at));
    }
}

/// The dots that are back in their timed places after that many crank turns.
pub(super) fn sights_when_turned(drive: &Drive, turns: i64) -> Result<Vec<Sight>, CheckError> {
    let mut shafts: Vec<ShaftId> = Vec::new();
    for at in in_order(drive) {
        let id = drive.sprocket(at).shaft();
        let back = drive.shaft(id).speed().checked_mul(Exact::whole(turns))?;
        if back.is_whole() && drive.is_marked(id) && !shafts.contains(&id) {
            shafts.push(id);
        }
    }
    Ok(shafts
        .into_iter()
        .filter_map(|id| dot_of(drive, id))
        .map(Sight::Dot)
        .collect())
}

/// The fewest whole crank turns after which every shaft that must be in time stands as before:
/// the least common multiple of the denominators of their speeds. A pump that would take more
/// turns than anybody makes by hand is left out, and stays unproven at that stage.
pub(super) fn turns_to_make(drive: &Drive) -> i64 {
    let of = |kind: ShaftKind| {
        drive
            .shafts()
            .filter(move |(id, shaft)| shaft.kind() == kind && drive.is_timed(*id))
            .filter_map(|(_, shaft)| u64::try_from(shaft.speed().denominator()).ok())
    };
    let mut turns = 1_u64;
    for each in of(ShaftKind::Camshaft)
        .chain(of(ShaftKind::Balance))
        .chain(of(ShaftKind::Pump))
    {
        if let Some(both) = least_common_multiple(turns, each)
            && both <= MAX_TURNS.unsigned_abs()
        {
            turns = both;
        }
    }
    // At most MAX_TURNS.
    turns.cast_signed()
}

/// Every sprocket: the chains that the crankshaft drives first, on each the driving sprocket first.
fn in_order(drive: &Drive) -> Vec<Engagement> {
    let mut chains: Vec<_> = drive.chains().collect();
    chains.sort_by_key(|(id, _)| {
        let driver = drive.sprocket(drive.driver_of(*id)).shaft();
        drive.way_to(driver).count()
    });
    let mut order = Vec::new();
    for (id, chain) in chains {
        let mut all: Vec<Engagement> = chain.engagements(id).map(|(at, _)| at).collect();
        all.rotate_left(usize::from(chain.driver()));
        order.extend(all);
    }
    order
}

/// The sprocket at which a shaft's dot is looked at: the one that is driven, if it has the dot.
fn dot_of(drive: &Drive, id: ShaftId) -> Option<Engagement> {
    let shaft = drive.shaft(id);
    shaft
        .driven_at()
        .into_iter()
        .chain(shaft.engagements().iter().copied())
        .find(|at| drive.sprocket(*at).is_marked())
}
