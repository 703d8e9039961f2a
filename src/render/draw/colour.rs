//! How the coloured links of a drive are painted: by name in colour, by bars in print.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::render::svg::{LinkColour, css_colour};

/// The colours of a drive's links, in the order of the spec: the first has one bar, the second two,
/// the third three, and so on again.
pub(super) struct Palette(Vec<Option<String>>);

impl Palette {
    pub(super) fn of(drive: &Drive) -> Self {
        let mut found: Vec<Option<String>> = Vec::new();
        for (_, sprocket) in drive.engagements() {
            if let Some(mark) = sprocket.mark()
                && !found.contains(&mark.colour)
            {
                found.push(mark.colour.clone());
            }
        }
        Self(found)
    }

    /// Every colour, as the spec names it, and how it is painted.
    pub(super) fn colours(&self) -> impl Iterator<Item = (Option<&str>, LinkColour)> {
        self.0.iter().enumerate().map(|(order, name)| {
            let name = name.as_deref();
            (name, painted(name, order))
        })
    }

    /// How the coloured link of a sprocket is painted.
    pub(super) fn link(&self, drive: &Drive, at: Engagement) -> LinkColour {
        let mark = drive.sprocket(at).mark();
        let name = mark.and_then(|mark| mark.colour.as_deref());
        let order = self.0.iter().position(|known| known.as_deref() == name);
        painted(name, order.unwrap_or(0))
    }
}

fn painted(name: Option<&str>, order: usize) -> LinkColour {
    LinkColour {
        fill: name.and_then(css_colour),
        bars: order % 3 + 1,
    }
}
