//! Marks by name.

use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::render::hints::{Hints, Wanted, bracketed};
use crate::spec::raw::ShaftKind;
use crate::timing::check::Unseen;
use crate::timing::observe::name_of;

pub(crate) fn coloured(link: String, colour: Option<&str>) -> String {
    match colour {
        Some(colour) => format!("{link} ({colour})"),
        None => link,
    }
}

/// The coloured link of a sprocket: `link 44 (yellow)`; empty where it has none.
pub(crate) fn marked_link(drive: &Drive, at: Engagement) -> String {
    let chain = drive.chain(at.chain);
    drive.sprocket(at).mark().map_or_else(String::new, |mark| {
        coloured(numbers::link(mark.link, chain), mark.colour.as_deref())
    })
}

/// What would have to be looked at, and how to say what was seen there.
pub(crate) fn unseen_text(drive: &Drive, unseen: Unseen, hints: &dyn Hints) -> String {
    match unseen {
        Unseen::Link(at) => {
            let (name, due) = (name_of(drive, at), marked_link(drive, at));
            let hint = bracketed(hints, Wanted::Link(&name));
            format!("the dot of {name} against {due}{hint}")
        }
        Unseen::Dot(id) => {
            let name = drive.shaft(id).name();
            let hint = bracketed(hints, Wanted::Dot(name));
            format!("the dot of {name} against its reference mark{hint}")
        }
    }
}

/// What a shaft is, in a word or two.
pub(crate) fn kind_word(kind: ShaftKind) -> &'static str {
    match kind {
        ShaftKind::Crankshaft => "crankshaft",
        ShaftKind::Camshaft => "camshaft",
        ShaftKind::Idler => "idler",
        ShaftKind::Balance => "balance shaft",
        ShaftKind::Pump => "pump",
    }
}
