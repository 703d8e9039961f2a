//! A sheet as SVG. Every word goes through [`escaped`].

use super::sheet::{Anchor, LinkColour, Shape, Sheet, WIDTH, number, path_words};
use crate::render::words::escape::{entities, written_out};
use std::fmt::Write as _;

/// The look of everything, in one place. Nothing is told by colour alone: what is off is dashed,
/// crossed or framed too.
const STYLE: &str = "\
text{font-family:Helvetica,Arial,'DejaVu Sans',sans-serif;fill:#111}\
.bold,.title,.off-word{font-weight:bold}\
.halo{paint-order:stroke;stroke:#fff;stroke-width:.9;stroke-linejoin:round}\
.off-word,.off-small{fill:#b00000}\
path,circle,rect{fill:none;stroke-linejoin:round}\
.paper{fill:#fff}\
.body{fill:#ececec;stroke:#555;stroke-width:.25}\
.pitch{stroke:#666;stroke-width:.2;stroke-dasharray:2 .6 .4 .6}\
.hub{fill:#fff;stroke:#333;stroke-width:.3}\
.ink{stroke:#111;stroke-width:.35}\
.ink-fill{fill:#111}\
.turning{stroke:#111;stroke-width:.5}\
.tight{stroke:#111;stroke-width:.55}\
.slack{stroke:#111;stroke-width:.55;stroke-dasharray:2.2 1.4}\
.leader{stroke:#777;stroke-width:.2}\
.guide{fill:#cfcfcf;stroke:#333;stroke-width:.3}\
.tensioner{fill:url(#hatch);stroke:#111;stroke-width:.45}\
.plunger{fill:#fff;stroke:#111;stroke-width:.4}\
.dot{fill:#000;stroke:#fff;stroke-width:.3}\
.dot-unseen{fill:#fff;stroke:#000;stroke-width:.4}\
.dot-off{fill:#d40000;stroke:#000;stroke-width:.3}\
.dot-cross{stroke:#fff;stroke-width:.4}\
.off-ring{stroke:#d40000;stroke-width:.5;stroke-dasharray:.9 .5}\
.off-line{stroke:#d40000;stroke-width:.55}\
.off-dash{stroke:#d40000;stroke-width:.35;stroke-dasharray:.9 .6}\
.off-fill{fill:#d40000}\
.off-frame{fill:#fff;stroke:#b00000;stroke-width:.4}\
.frame{fill:#fff;stroke:#111;stroke-width:.4}\
.rule{stroke:#999;stroke-width:.25}";

/// What one chain's links are filled with, outer and inner ones: chains that lie over each other stay apart.
const FILLS: [(&str, &str); 3] = [
    ("#fff", "#b4b4b4"),
    ("#8c8c8c", "#e4e4e4"),
    ("#dcdcdc", "#6e6e6e"),
];

/// `text` for SVG: what has a meaning in XML as an entity, what no viewer should act on written out.
pub(in crate::render) fn escaped(text: &str) -> String {
    entities(&written_out(text, |_| false))
}

/// The whole file. `title` and `about` are what a screen reader reads.
pub(super) fn svg(sheet: &Sheet, title: &str, about: &str) -> String {
    let mut out = String::with_capacity(64 * 1024);
    // Writing to a String cannot fail.
    let _ = write_svg(&mut out, sheet, title, about);
    out
}

fn write_svg(out: &mut String, sheet: &Sheet, title: &str, about: &str) -> std::fmt::Result {
    let (width, height) = (number(WIDTH), number(sheet.height));
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"title about\">"
    )?;
    writeln!(out, "<title id=\"title\">{}</title>", escaped(title))?;
    writeln!(out, "<desc id=\"about\">{}</desc>", escaped(about))?;
    writeln!(out, "<style>{STYLE}</style>")?;
    writeln!(
        out,
        "<defs><pattern id=\"hatch\" width=\"1.2\" height=\"1.2\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <rect width=\"1.2\" height=\"1.2\" style=\"fill:#fff\"/><rect width=\".55\" height=\"1.2\" style=\"fill:#444\"/></pattern></defs>"
    )?;
    writeln!(
        out,
        "<rect class=\"paper\" width=\"{width}\" height=\"{height}\"/>"
    )?;
    for (_, shape) in sheet.shapes() {
        write_shape(out, shape)?;
    }
    writeln!(out, "</svg>")
}

fn write_shape(out: &mut String, shape: &Shape) -> std::fmt::Result {
    match shape {
        Shape::Path {
            class,
            points,
            closed,
        } => writeln!(
            out,
            "<path class=\"{class}\" d=\"{}\"/>",
            path_words(points, *closed)
        ),
        Shape::Disc {
            class,
            centre,
            radius,
        } => writeln!(
            out,
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            number(centre.x),
            number(centre.y),
            number(*radius)
        ),
        Shape::Box { class, area } => writeln!(
            out,
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\".8\"/>",
            number(area.left),
            number(area.top),
            number(area.right - area.left),
            number(area.bottom - area.top)
        ),
        Shape::Link {
            outer,
            chain,
            number: link,
            centre,
            angle,
            pitch,
            colour,
        } => {
            write!(
                out,
                "<g class=\"link\" data-chain=\"{chain}\" data-link=\"{link}\" transform=\"translate({} {}) rotate({})\">",
                number(centre.x),
                number(centre.y),
                number(*angle)
            )?;
            write_link(out, *outer, *chain, *pitch, *colour)?;
            writeln!(out, "</g>")
        }
        Shape::KeyLink {
            centre,
            pitch,
            colour,
        } => {
            write!(
                out,
                "<g transform=\"translate({} {})\">",
                number(centre.x),
                number(centre.y)
            )?;
            write_link(out, true, 0, *pitch, Some(*colour))?;
            writeln!(out, "</g>")
        }
        Shape::Words {
            class,
            at,
            size,
            anchor,
            text,
        } => writeln!(
            out,
            "<text class=\"{class}\" x=\"{}\" y=\"{}\" font-size=\"{}\"{}>{}</text>",
            number(at.x),
            number(at.y),
            number(*size),
            match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
            },
            escaped(text)
        ),
    }
}

/// A link lying along the x axis, its middle at the origin.
pub(super) fn write_link(
    out: &mut String,
    outer: bool,
    chain: usize,
    pitch: f64,
    colour: Option<LinkColour>,
) -> std::fmt::Result {
    let fills = FILLS[chain % FILLS.len()];
    let (height, fill, stroke) = match (colour, outer) {
        (Some(colour), _) => (pitch * 0.92, colour.fill.unwrap_or("#fff"), 0.45),
        (None, true) => (pitch * 0.62, fills.0, 0.2),
        (None, false) => (pitch * 0.5, fills.1, 0.2),
    };
    // A plate reaches past its pins by most of its half height.
    let length = pitch + height * 0.8;
    write!(
        out,
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" style=\"fill:{fill};stroke:#111;stroke-width:{stroke}\"/>",
        number(-length / 2.0),
        number(-height / 2.0),
        number(length),
        number(height),
        number(height / 2.0),
    )?;
    if let Some(colour) = colour {
        // A bar has a white rim, so that it shows on dark colours too.
        for bar in 0..colour.bars {
            let middle = f64::from(u32::try_from(bar).unwrap_or(0))
                - (f64::from(u32::try_from(colour.bars).unwrap_or(1)) - 1.0) / 2.0;
            let x = number(middle * pitch * 0.36);
            let half = number(height / 2.0);
            for (ink, width) in [("#fff", pitch * 0.26), ("#111", pitch * 0.14)] {
                write!(
                    out,
                    "<path d=\"M{x} -{half}V{half}\" style=\"stroke:{ink};stroke-width:{}\"/>",
                    number(width)
                )?;
            }
        }
    } else if outer {
        for x in [-pitch / 2.0, pitch / 2.0] {
            write!(
                out,
                "<circle cx=\"{}\" r=\"{}\" style=\"fill:#333\"/>",
                number(x),
                number(pitch * 0.1)
            )?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_words() {
        assert_eq!(
            escaped("<b a=\"1\" c='2'>&\u{1b}[31m\u{0}\u{ffff}\u{202e}"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;\\u{1b}[31m\\u{0}\\u{ffff}\\u{202e}"
        );
    }
}
