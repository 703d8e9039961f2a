//! What the signs of the moving picture mean.

use crate::render::draw::{Sign, write_link};
use crate::render::svg::Svg;

/// A list of the signs, each drawn as in the picture.
pub(super) fn key(signs: &[(Sign, String)]) -> String {
    let mut svg = Svg::new(2);
    svg.element("ul")
        .class("key")
        .set("aria-label", "What the signs mean")
        .open();
    for (sign, words) in signs {
        svg.element("li").open();
        write_sign(&mut svg, *sign);
        svg.words(words);
        svg.end("li");
    }
    svg.end("ul");
    svg.into_string()
}

fn write_sign(svg: &mut Svg, sign: Sign) {
    svg.element("svg")
        .class(if matches!(sign, Sign::Off) {
            "sign off"
        } else {
            "sign"
        })
        .view_box((-14.0, -8.0), (28.0, 16.0))
        .set("aria-hidden", "true")
        .open();
    match sign {
        Sign::Dot => svg.element("circle").class("dot").set("r", "5").close(),
        Sign::Off => svg.constant("<circle class=\"dot\" cx=\"-7\" r=\"6\"/><path class=\"cross\" d=\"M-10 -3L-4 3M-10 3L-4 -3\"/><circle class=\"ring\" cx=\"7\" r=\"6\"/>"),
        Sign::Link(form, colour) => {
            svg.element("g").class("link").open();
            write_link(svg, form, 0, 8.0, Some(colour));
            svg.end("g");
        }
        Sign::Guide | Sign::Tensioner => svg
            .element("rect")
            .class(if matches!(sign, Sign::Guide) {
                "guide"
            } else {
                "tensioner"
            })
            .at(-11.0, -4.0)
            .sized(22.0, 8.0)
            .close(),
    }
    svg.end("svg");
}
