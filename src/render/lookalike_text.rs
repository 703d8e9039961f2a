//! Ways in which the marks look right and are wrong, in words.

use super::check_text::coloured;
use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::timing::check::Unseen;
use crate::timing::lookalike::{Lookalike, LookalikeKind};
use crate::timing::observe::name_of;
use serde_json::{Value, json};

/// How it looks, how it differs, and what settles it.
pub fn lookalike_text(drive: &Drive, friend: &Lookalike) -> String {
    friend_words(drive, friend, false)
}

/// The same; without arguments where it is said to somebody who answers questions.
pub(crate) fn friend_words(drive: &Drive, friend: &Lookalike, asking: bool) -> String {
    let looks = match &friend.kind {
        LookalikeKind::CrankTurnOut => {
            "With the crankshaft one whole turn out, its dot is at its mark all the same".to_owned()
        }
        LookalikeKind::LinksMoved { chain, links } => format!(
            "Chain {}: with each dot on another one's link of the same colour ({}), every dot lies on a link of the right colour",
            drive.chain(*chain).name(),
            pairs(drive, links)
        ),
        LookalikeKind::InsideOut { chain, links } => format!(
            "Chain {}: hung inside out ({}), every dot lies on a link of the right colour",
            drive.chain(*chain).name(),
            pairs(drive, links)
        ),
        LookalikeKind::BanksSwapped { chain, marked_as } => format!(
            "Chain {}: with the chain that is marked for {} hung here, every dot lies on a link of the right colour",
            drive.chain(*chain).name(),
            drive.chain(*marked_as).name()
        ),
        LookalikeKind::WrongLinkAfterTurning {
            at,
            link_of,
            first,
            every,
        } => format!(
            "After {} crank turns (then every {}) the dot of {} lies on {}, which is {}'s and not its own",
            numbers::exact(first.get()),
            numbers::exact(every.get()),
            name_of(drive, *at),
            link(drive, *link_of),
            name_of(drive, *link_of)
        ),
        LookalikeKind::LinksBackDotsAway { turned } => format!(
            "After {} crank turns every coloured link is back in its timed place, but not every dot is",
            numbers::exact(turned.get())
        ),
    };
    let off: Vec<String> = friend
        .off
        .iter()
        .map(|(id, angle)| {
            format!(
                "{} {} {}",
                drive.shaft(*id).name(),
                numbers::crank_degrees(*angle),
                numbers::side(angle.get())
            )
        })
        .collect();
    let differs = if off.is_empty() {
        String::new()
    } else {
        format!("; but then: {}", off.join(", "))
    };
    let settles = match friend.settled_by {
        Some(unseen) if asking => format!(
            " Settled by {}.",
            super::check_text::unseen_words(drive, unseen).0
        ),
        // A dot is measured from the crankshaft's.
        Some(Unseen::Dot(id)) => {
            let (crank, name) = (drive.shaft(drive.crank()).name(), drive.shaft(id).name());
            format!(
                " Settled by the dots of {crank} and {name} against their reference marks (--dot {crank}=... --dot {name}=...)."
            )
        }
        Some(unseen) => format!(
            " Settled by {}.",
            super::check_text::unseen_text(drive, unseen)
        ),
        None => " Nothing in the spec tells it from the truth.".to_owned(),
    };
    format!("{looks}{differs}.{settles}")
}

fn link(drive: &Drive, at: Engagement) -> String {
    let links = drive.chain(at.chain).links().get();
    drive.sprocket(at).mark().map_or_else(String::new, |mark| {
        coloured(numbers::link(mark.link, links), mark.colour.as_deref())
    })
}

fn pairs(drive: &Drive, links: &[(Engagement, Engagement)]) -> String {
    let short = |at: Engagement| drive.shaft(drive.sprocket(at).shaft()).name();
    links
        .iter()
        .map(|(at, owner)| {
            if at == owner {
                format!("{} on its own", short(*at))
            } else {
                format!("{} on {}'s", short(*at), short(*owner))
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// The same for a program.
pub fn lookalike_json(drive: &Drive, friend: &Lookalike) -> Value {
    let code = match friend.kind {
        LookalikeKind::CrankTurnOut => "crank-turn-out",
        LookalikeKind::LinksMoved { .. } => "links-moved",
        LookalikeKind::InsideOut { .. } => "inside-out",
        LookalikeKind::BanksSwapped { .. } => "banks-swapped",
        LookalikeKind::WrongLinkAfterTurning { .. } => "wrong-link-after-turning",
        LookalikeKind::LinksBackDotsAway { .. } => "links-back-dots-away",
    };
    let off: Vec<Value> = friend
        .off
        .iter()
        .map(|(id, angle)| json!({ "shaft": drive.shaft(*id).name(), "off_crank_degrees": angle }))
        .collect();
    json!({
        "code": code,
        "off": off,
        "settled_by": friend.settled_by.map(|unseen| match unseen {
            Unseen::Link(at) => json!({ "look_at": "link", "shaft": name_of(drive, at) }),
            Unseen::Dot(id) => json!({ "look_at": "dot", "shaft": drive.shaft(id).name() }),
        }),
        "text": lookalike_text(drive, friend),
    })
}
