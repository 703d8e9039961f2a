//! What to move.

use super::band::Band;
use super::marks::coloured;
use super::numbers;
use super::view::{from_words, way_word};
use crate::drive::model::Drive;
use crate::job::View;
use crate::timing::observe::name_of;
use crate::timing::remedy::{Move, Remedy};

/// What to move, in one sentence.
pub fn remedy_text(drive: &Drive, remedy: &Remedy) -> String {
    remedy_seen(drive, remedy, View::facing())
}

/// The same in the words of a view.
pub(crate) fn remedy_seen(drive: &Drive, remedy: &Remedy, view: View) -> String {
    let name = name_of(drive, remedy.at);
    let forward = remedy.teeth.get().signum() >= 0;
    if remedy.what == Move::Chain {
        return lay_over_text(drive, remedy);
    }
    let band = Band::of(drive.chain(remedy.at.chain)).name;
    let way = if forward {
        "ahead, the way it normally turns"
    } else {
        "back, against the way it normally turns"
    };
    let lay = link_to_lay(drive, remedy).map_or_else(String::new, |(words, whole)| {
        if whole {
            format!(" Lay {words} on its dot.")
        } else {
            format!(" Its dot belongs {words}.")
        }
    });
    if drive.chain(remedy.at.chain).is_gears() {
        return format!(
            "{name}: with the gears of {} out of mesh, turn this one {} {}, {} ({way}), so that its dot comes to the line of centres.",
            drive.chain(remedy.at.chain).name(),
            numbers::teeth(remedy.teeth),
            way_word(view, remedy.turn),
            from_words(view)
        );
    }
    format!(
        "{name}: turn the sprocket {} {} against the {band}, {} ({way}).{lay}",
        numbers::teeth(remedy.teeth),
        way_word(view, remedy.turn),
        from_words(view)
    )
}

/// The link that belongs on the dot of a remedy's sprocket, and whether it is one and not two.
fn link_to_lay(drive: &Drive, remedy: &Remedy) -> Option<(String, bool)> {
    let (link, mark) = (remedy.lay?, drive.sprocket(remedy.at).mark()?);
    let chain = drive.chain(remedy.at.chain);
    let own = link == mark.link;
    let words = coloured(
        numbers::link(link, chain),
        mark.colour.as_deref().filter(|_| own),
    );
    Some((words, link.get().is_whole()))
}

/// The remedy at the sprocket that drives a chain: its shaft stays where it is, for the crankshaft is
/// what everything is measured from, and another shaft is held by the chain that drives it.
fn lay_over_text(drive: &Drive, remedy: &Remedy) -> String {
    let name = name_of(drive, remedy.at);
    let band = Band::of(drive.chain(remedy.at.chain)).name;
    if drive.chain(remedy.at.chain).is_gears() {
        return format!(
            "{name}: leave this shaft where it is. With the gears of {} out of mesh, turn the other one {} {}, and what it drives with it.",
            drive.chain(remedy.at.chain).name(),
            numbers::teeth(remedy.teeth),
            if remedy.teeth.get().signum() < 0 {
                "ahead, the way it normally turns"
            } else {
                "back, against the way it normally turns"
            },
        );
    }
    let side = if remedy.teeth.get().signum() < 0 {
        format!("further on, the way the {band} travels")
    } else {
        format!("back, against the way the {band} travels")
    };
    let lay = link_to_lay(drive, remedy).map_or_else(String::new, |(words, whole)| {
        if whole {
            format!(", so that {words} lies on its dot")
        } else {
            format!(", so that its dot lies {words}")
        }
    });
    format!(
        "{name}: leave this shaft where it is. Lift {band} {} off its sprocket and lay it over by {} {side}{lay}. What the {band} drives follows as its slack is taken up.",
        drive.chain(remedy.at.chain).name(),
        numbers::links(remedy.teeth, drive.chain(remedy.at.chain)),
    )
}
