//! The paper of a plot: a white sheet with lines and words, written as SVG.

use crate::render::svg::{Path, Stroke, Svg};

/// A tenth of a pixel.
const DECIMALS: usize = 1;
pub(super) const INK: &str = "#111";

/// A document that is being written.
pub(super) struct Paper {
    width: f64,
    body: Svg,
}

impl Paper {
    pub(super) fn new(width: f64) -> Self {
        Self {
            width,
            body: Svg::new(DECIMALS),
        }
    }

    pub(super) fn text(&mut self, x: f64, y: f64, anchor: &str, size: u16, words: &str) {
        // A white edge keeps letters legible where a line runs behind them.
        self.body
            .element("text")
            .at(x, y)
            .set("text-anchor", anchor)
            .set("font-size", size)
            .set("stroke", "white")
            .set("stroke-width", "4")
            .set("stroke-linejoin", "round")
            .set("paint-order", "stroke")
            .text(words);
        self.body.line_break();
    }

    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke) {
        self.body
            .element("line")
            .set("x1", from.0)
            .set("y1", from.1)
            .set("x2", to.0)
            .set("y2", to.1)
            .stroke(stroke)
            .close();
        self.body.line_break();
    }

    pub(super) fn path(&mut self, points: impl Iterator<Item = (f64, f64)>, stroke: Stroke) {
        self.body
            .element("path")
            .path(&Path::through(points))
            .set("fill", "none")
            .stroke(stroke)
            .close();
        self.body.line_break();
    }

    pub(super) fn rectangle(
        &mut self,
        (left, top): (f64, f64),
        (right, bottom): (f64, f64),
        fill: &str,
        stroke: Option<Stroke>,
    ) {
        let element = self
            .body
            .element("rect")
            .at(left, top)
            .sized(right - left, bottom - top)
            .set("fill", fill);
        match stroke {
            Some(stroke) => element.stroke(stroke).close(),
            None => element.close(),
        }
        self.body.line_break();
    }

    pub(super) fn disc(
        &mut self,
        (x, y): (f64, f64),
        radius: f64,
        fill: &str,
        stroke: Option<Stroke>,
    ) {
        let element = self
            .body
            .element("circle")
            .set("cx", x)
            .set("cy", y)
            .set("r", radius)
            .set("fill", fill);
        match stroke {
            Some(stroke) => element.stroke(stroke).close(),
            None => element.close(),
        }
        self.body.line_break();
    }

    /// What is the same in every plot of a kind, as it is.
    pub(super) fn constant(&mut self, svg: &'static str) {
        self.body.constant(svg);
        self.body.line_break();
    }

    /// The whole document, `height` high.
    pub(super) fn finish(self, height: f64, title: &str, about: &str) -> String {
        let width = self.width;
        let mut svg = Svg::new(DECIMALS);
        svg.element("svg")
            .set("xmlns", "http://www.w3.org/2000/svg")
            .view_box((0.0, 0.0), (width, height))
            .sized(width, height)
            .set("role", "img")
            .set("aria-labelledby", "title about")
            .set("font-family", "sans-serif")
            .set("fill", INK)
            .open();
        svg.line_break();
        svg.about(title, about);
        svg.element("rect")
            .sized(width, height)
            .set("fill", "white")
            .close();
        svg.line_break();
        svg.insert(&self.body);
        svg.end("svg");
        svg.line_break();
        svg.into_string()
    }
}
