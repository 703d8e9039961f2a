//! How coloured links are painted: colour names that every viewer of SVG knows, and bars for print.

use super::sheet::LinkColour;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;

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

/// The name as CSS writes it, if `colour` is one: `Light Blue` is `lightblue`.
fn css_colour(colour: &str) -> Option<&'static str> {
    let name: String = colour
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect();
    CSS.iter().copied().find(|known| **known == *name)
}

/// The colour keywords of CSS that a painted link can have: the sixteen old ones and the common rest.
const CSS: &[&str] = &[
    "aqua",
    "aquamarine",
    "azure",
    "beige",
    "black",
    "blue",
    "brown",
    "chocolate",
    "coral",
    "cornflowerblue",
    "crimson",
    "cyan",
    "darkblue",
    "darkgray",
    "darkgreen",
    "darkgrey",
    "darkorange",
    "darkred",
    "darkviolet",
    "deeppink",
    "deepskyblue",
    "dimgray",
    "dimgrey",
    "dodgerblue",
    "firebrick",
    "forestgreen",
    "fuchsia",
    "gold",
    "goldenrod",
    "gray",
    "green",
    "greenyellow",
    "grey",
    "hotpink",
    "indigo",
    "ivory",
    "khaki",
    "lavender",
    "lightblue",
    "lightgray",
    "lightgreen",
    "lightgrey",
    "lightpink",
    "lightyellow",
    "lime",
    "limegreen",
    "magenta",
    "maroon",
    "mediumblue",
    "midnightblue",
    "navy",
    "olive",
    "orange",
    "orangered",
    "orchid",
    "pink",
    "plum",
    "powderblue",
    "purple",
    "red",
    "royalblue",
    "salmon",
    "seagreen",
    "silver",
    "skyblue",
    "slateblue",
    "slategray",
    "slategrey",
    "springgreen",
    "steelblue",
    "tan",
    "teal",
    "tomato",
    "turquoise",
    "violet",
    "wheat",
    "white",
    "yellow",
    "yellowgreen",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_known_names_become_colours() {
        assert_eq!(css_colour("Light Blue"), Some("lightblue"));
        assert_eq!(css_colour("yellow"), Some("yellow"));
        for unknown in ["", "copper", "red;fill:url(x)", "url(#a)"] {
            assert_eq!(css_colour(unknown), None, "{unknown}");
        }
    }
}
