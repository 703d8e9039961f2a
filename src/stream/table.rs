//! The names of a drive, found and written without making any.

use super::write;
use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::timing::check::Unseen;
use crate::timing::observe::{ObservationError, Seen, dot_named, link_named, name_of};
use crate::units::quantity::Teeth;

/// A drive with the names by which lines call its parts.
pub(super) struct Table<'d> {
    pub(super) drive: &'d Drive,
    /// By name, in the order of names.
    names: Vec<(String, Named)>,
    /// As they are written in an answer, between quotation marks.
    shafts: Vec<(ShaftId, String)>,
    links: Vec<(Engagement, String)>,
    dots: Vec<(ShaftId, String)>,
}

/// What a name stands for; `None` where that is an error, or needs a closer look.
struct Named {
    link: Option<Engagement>,
    /// Whatever was seen of it.
    dot: Option<Engagement>,
}

impl<'d> Table<'d> {
    pub(super) fn new(drive: &'d Drive) -> Self {
        let quoted = |text: &str| {
            let mut out = String::new();
            write::text(&mut out, text);
            out
        };
        let mut names = Vec::new();
        let mut add = |name: String| {
            // Where teeth are counted the sprocket may matter: then the name alone is not enough.
            let counted = Seen::Teeth(Teeth::whole(1));
            let named = Named {
                link: link_named(drive, &name).ok(),
                dot: dot_named(drive, &name, counted).ok(),
            };
            names.push((name, named));
        };
        for (_, shaft) in drive.shafts() {
            add(shaft.name().to_owned());
            for at in shaft.engagements() {
                add(format!("{}/{}", drive.chain(at.chain).name(), shaft.name()));
            }
        }
        names.sort_by(|(a, _), (b, _)| a.cmp(b));
        Self {
            drive,
            names,
            shafts: drive
                .shafts()
                .map(|(id, shaft)| (id, quoted(shaft.name())))
                .collect(),
            links: drive
                .engagements()
                .map(|(at, _)| (at, quoted(&format!("link {}", name_of(drive, at)))))
                .collect(),
            dots: drive
                .shafts()
                .map(|(id, shaft)| (id, quoted(&format!("dot {}", shaft.name()))))
                .collect(),
        }
    }

    fn named(&self, name: &str) -> Option<&Named> {
        let found = self
            .names
            .binary_search_by(|(known, _)| known.as_str().cmp(name));
        found.ok().map(|place| &self.names[place].1)
    }

    /// As [`link_named`].
    pub(super) fn link(&self, name: &str) -> Result<Engagement, ObservationError> {
        match self.named(name).and_then(|named| named.link) {
            Some(at) => Ok(at),
            None => link_named(self.drive, name),
        }
    }

    /// As [`dot_named`].
    pub(super) fn dot(&self, name: &str, seen: Seen) -> Result<Engagement, ObservationError> {
        match self.named(name).and_then(|named| named.dot) {
            Some(at) => Ok(at),
            None => dot_named(self.drive, name, seen),
        }
    }

    /// Every shaft with its name as it is written.
    pub(super) fn shafts(&self) -> impl Iterator<Item = (ShaftId, &str)> {
        self.shafts.iter().map(|(id, name)| (*id, name.as_str()))
    }

    pub(super) fn unseen(&self, unseen: Unseen) -> &str {
        let found = match unseen {
            Unseen::Link(at) => self.links.get(self.drive.index(at)).map(|(_, text)| text),
            Unseen::Dot(id) => self.dots.get(id.index()).map(|(_, text)| text),
        };
        found.map_or("null", String::as_str)
    }
}
