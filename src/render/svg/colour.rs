//! Colours that every viewer of SVG knows. Nothing is told by them alone.

use crate::spec::valves::ValveKind;

/// How a coloured link is painted.
#[derive(Clone, Copy, Debug)]
pub(in crate::render) struct LinkColour {
    /// A CSS colour, if its name is one.
    pub(in crate::render) fill: Option<&'static str>,
    /// So many bars across it stand for the colour in print.
    pub(in crate::render) bars: usize,
}

/// What one chain's links are filled with, outer and inner ones: chains that lie over each other stay apart.
const FILLS: [(&str, &str); 3] = [
    ("#fff", "#b4b4b4"),
    ("#8c8c8c", "#e4e4e4"),
    ("#dcdcdc", "#6e6e6e"),
];

/// What the outer and the inner links of a chain are filled with.
pub(in crate::render) fn chain_fills(chain: usize) -> (&'static str, &'static str) {
    FILLS[chain % FILLS.len()]
}

/// The ink of a valve's lines.
pub(in crate::render) fn valve_ink(kind: ValveKind) -> &'static str {
    match kind {
        ValveKind::Intake => "#1558a0",
        ValveKind::Exhaust => "#a83210",
    }
}

/// The name as CSS writes it, if `colour` is one: `Light Blue` is `lightblue`.
pub(in crate::render) fn css_colour(colour: &str) -> Option<&'static str> {
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
