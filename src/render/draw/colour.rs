//! Colour names that every viewer of SVG knows.

/// The name as CSS writes it, if `colour` is one: `Light Blue` is `lightblue`.
pub(super) fn css_colour(colour: &str) -> Option<&'static str> {
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
