//! Ways in which the marks look right and are wrong.

use super::band::Band;
use super::marks::{marked_link, unseen_text};
use super::numbers;
use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::Drive;
use crate::render::hints::{Hints, Wanted};
use crate::timing::check::Unseen;
use crate::timing::lookalike::{Lookalike, LookalikeKind};
use crate::timing::observe::name_of;

/// How it looks, how it differs, and what settles it. `hints` says how to look at that.
pub fn lookalike_text(drive: &Drive, lookalike: &Lookalike, hints: &dyn Hints) -> String {
    lookalike_words(drive, lookalike, hints, false)
}

/// The same, said to somebody who answers questions if `asking`: one mark at a time.
pub(crate) fn lookalike_words(
    drive: &Drive,
    lookalike: &Lookalike,
    hints: &dyn Hints,
    asking: bool,
) -> String {
    let band = |chain| Band::of(drive.chain(chain));
    let looks = match &lookalike.kind {
        LookalikeKind::CrankTurnOut => {
            "With the crankshaft one whole turn out, its dot is at its mark all the same".to_owned()
        }
        LookalikeKind::LinksMoved { chain, links } => format!(
            "{} {}: with each dot on another one's {mark} of the same colour ({}), every dot{} lies on a {mark} of the right colour",
            band(*chain).title,
            drive.chain(*chain).name(),
            pairs(drive, links),
            looked_at(drive, *chain, links),
            mark = band(*chain).coloured_noun()
        ),
        LookalikeKind::InsideOut { chain, links } => format!(
            "{} {}: hung {} ({}), every dot{} lies on a {} of the right colour",
            band(*chain).title,
            drive.chain(*chain).name(),
            band(*chain).over,
            pairs(drive, links),
            looked_at(drive, *chain, links),
            band(*chain).coloured_noun()
        ),
        LookalikeKind::BanksSwapped {
            chain,
            marked_as,
            links,
            inside_out,
        } => {
            let how = if *inside_out {
                format!(" {}", band(*chain).over)
            } else {
                String::new()
            };
            let first = links.first().map(|(_, owner)| *owner);
            let which = if *inside_out || first != Some(drive.driver_of(*marked_as)) {
                format!(" ({})", pairs(drive, links))
            } else {
                String::new()
            };
            format!(
                "{} {}: with the {} that is marked for {} hung here{how}{which}, every dot{} lies on a {} of the right colour",
                band(*chain).title,
                drive.chain(*chain).name(),
                band(*chain).name,
                drive.chain(*marked_as).name(),
                looked_at(drive, *chain, links),
                band(*chain).coloured_noun()
            )
        }
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
            marked_link(drive, *link_of),
            name_of(drive, *link_of)
        ),
        LookalikeKind::LinksBackDotsAway { turned } => format!(
            "After {} crank turns every {} is back in its timed place, but not every dot is",
            numbers::exact(turned.get()),
            Band::all(drive).mark
        ),
    };
    let off: Vec<String> = lookalike
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
    let settles = match lookalike.settled_by {
        // A dot is measured from the crankshaft's.
        Some(Unseen::Dot(id)) if !asking => {
            let (crank, name) = (drive.shaft(drive.crank()).name(), drive.shaft(id).name());
            let hint: Vec<String> = [crank, name]
                .into_iter()
                .filter_map(|name| hints.hint(Wanted::Dot(name)))
                .collect();
            let hint = match &hint[..] {
                [] => String::new(),
                hint => format!(" ({})", hint.join(" ")),
            };
            format!(
                " Settled by the dots of {crank} and {name} against their reference marks{hint}."
            )
        }
        Some(unseen) => format!(" Settled by {}.", unseen_text(drive, unseen, hints)),
        None => " Nothing in the spec tells it apart from correct timing.".to_owned(),
    };
    format!("{looks}{differs}.{settles}")
}

/// Nothing where every coloured link of the chain was looked at.
fn looked_at(drive: &Drive, chain: ChainId, links: &[(Engagement, Engagement)]) -> &'static str {
    let sprockets = drive.chain(chain).sprockets().iter();
    let all = sprockets
        .filter(|sprocket| sprocket.mark().is_some())
        .count();
    if links.len() < all {
        " that was looked at"
    } else {
        ""
    }
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
