//! A sheet as SVG.

use super::lines::LEAD;
use super::link::write_link;
use super::look::Paper;
use super::sheet::{Anchor, Label, Shape, Sheet, WIDTH};
use crate::render::svg::{Area, Path, Spot, Svg};

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
.reference{fill:#111;stroke:#fff;stroke-width:.2}\
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

/// A hundredth of a unit is finer than any printer.
const DECIMALS: usize = 2;

/// What tensioners are filled with.
const HATCH: &str = "<defs><pattern id=\"hatch\" width=\"1.2\" height=\"1.2\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
    <rect width=\"1.2\" height=\"1.2\" style=\"fill:#fff\"/><rect width=\".55\" height=\"1.2\" style=\"fill:#444\"/></pattern></defs>";

/// The whole file. `title` and `about` are what a screen reader reads.
pub(super) fn document(sheet: &Sheet, paper: Option<Paper>, title: &str, about: &str) -> String {
    let mut svg = Svg::new(DECIMALS);
    let root = svg
        .element("svg")
        .set("xmlns", "http://www.w3.org/2000/svg");
    let (left, top, wide, high) = match paper {
        None => (0.0, 0.0, WIDTH, sheet.height),
        Some(paper) => {
            // As large as what can be printed on has room for, in the middle of the paper's width.
            let (width, height) = paper.size();
            let (most_wide, most_high) = paper.printable();
            let unit = (most_wide / WIDTH).min(most_high / sheet.height);
            let wide = width / unit;
            let margin = (height - most_high) / 2.0 / unit;
            (-(wide - WIDTH) / 2.0, -margin, wide, height / unit)
        }
    };
    match paper.map(Paper::size) {
        None => root,
        Some((width, height)) => root
            .set("width", &format!("{width}mm"))
            .set("height", &format!("{height}mm")),
    }
    .view_box((left, top), (wide, high))
    .set("role", "img")
    .set("aria-labelledby", "title about")
    .open();
    svg.line_break();
    svg.about(title, about);
    svg.constant("<style>");
    svg.constant(STYLE);
    svg.constant("</style>\n");
    svg.constant(HATCH);
    svg.line_break();
    svg.element("rect")
        .class("paper")
        .at(left, top)
        .sized(wide, high)
        .close();
    svg.line_break();
    for (_, shape) in sheet.shapes() {
        write_shape(&mut svg, shape);
        svg.line_break();
    }
    svg.end("svg");
    svg.line_break();
    svg.into_string()
}

fn write_shape(svg: &mut Svg, shape: &Shape) {
    match shape {
        Shape::Path {
            class,
            points,
            closed,
            part,
        } => {
            let path = svg.element("path").class(class);
            match part {
                Some(part) => path.set("data-part", &part.to_string()),
                None => path,
            }
            .path(&Path::along(points, *closed))
            .close();
        }
        Shape::Disc {
            class,
            centre,
            radius,
        } => svg
            .element("circle")
            .class(class)
            .set("cx", centre.x)
            .set("cy", centre.y)
            .set("r", *radius)
            .close(),
        Shape::Box { class, area } => write_box(svg, class, *area),
        Shape::Link {
            form,
            chain,
            number,
            centre,
            angle,
            pitch,
            colour,
        } => {
            svg.element("g")
                .class("link")
                .set("data-chain", *chain)
                .set("data-link", *number)
                .turned(centre.x, centre.y, *angle)
                .open();
            write_link(svg, *form, *chain, *pitch, *colour);
            svg.end("g");
        }
        Shape::KeyLink {
            form,
            centre,
            pitch,
            colour,
        } => {
            svg.element("g").moved(centre.x, centre.y).open();
            write_link(svg, *form, 0, *pitch, Some(*colour));
            svg.end("g");
        }
        Shape::Words {
            class,
            at,
            size,
            anchor,
            text,
        } => write_words(svg, class, *at, *size, *anchor, text),
        Shape::Label(label) => write_label(svg, label),
    }
}

fn write_words(svg: &mut Svg, class: &str, at: Spot, size: f64, anchor: Anchor, text: &str) {
    let words = svg
        .element("text")
        .class(class)
        .at(at.x, at.y)
        .set("font-size", size);
    match anchor {
        Anchor::Start => words,
        Anchor::Middle => words.set("text-anchor", "middle"),
    }
    .text(text);
}

fn write_box(svg: &mut Svg, class: &str, area: Area) {
    svg.element("rect")
        .class(class)
        .at(area.left, area.top)
        .sized(area.right - area.left, area.bottom - area.top)
        .set("rx", ".8")
        .close();
}

fn write_label(svg: &mut Svg, label: &Label) {
    svg.element("g")
        .class("label")
        .set("data-of", &label.of.to_string())
        .open();
    if let Some((from, to)) = label.line {
        let class = match label.frame {
            Some("off-frame") => "off-line",
            _ => "leader",
        };
        svg.element("path")
            .class(class)
            .path(&Path::along(&[from, to], false))
            .close();
    }
    if let Some(class) = label.frame {
        write_box(svg, class, label.area);
    }
    let middle = label.area.centre();
    let high: f64 = label.lines.iter().map(|line| line.size * LEAD).sum();
    let mut y = middle.y - high / 2.0;
    for line in &label.lines {
        y += line.size * LEAD;
        let at = Spot {
            x: middle.x,
            // The foot of the letters, their tails hang below it.
            y: y - line.size * 0.3,
        };
        write_words(svg, line.class, at, line.size, Anchor::Middle, &line.text);
    }
    svg.end("g");
}
