//! A sheet of shapes and words in its own units: 190 of them make the printable width of A4 in mm.
//! x runs to the right, y down, as in SVG.

use super::link::Form;
use crate::render::svg::{Area, LinkColour, Spot};

/// The width of every sheet.
pub(super) const WIDTH: f64 = 190.0;

/// How words are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
}

/// Something on the sheet. `class` names a rule of the style sheet.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Path {
        class: &'static str,
        points: Vec<Spot>,
        closed: bool,
    },
    Disc {
        class: &'static str,
        centre: Spot,
        radius: f64,
    },
    Box {
        class: &'static str,
        area: Area,
    },
    /// A link of a chain, or a belt from tooth to tooth.
    Link {
        form: Form,
        /// In the order of the chains of the drive.
        chain: usize,
        number: u16,
        centre: Spot,
        /// Degrees clockwise from the x axis.
        angle: f64,
        pitch: f64,
        colour: Option<LinkColour>,
    },
    /// A coloured link in the key, which is no link of a chain.
    KeyLink {
        form: Form,
        centre: Spot,
        pitch: f64,
        colour: LinkColour,
    },
    Words {
        class: &'static str,
        at: Spot,
        size: f64,
        anchor: Anchor,
        text: String,
    },
}

/// What is drawn later covers what is drawn before.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Layer {
    Basis,
    Shoes,
    Sprockets,
    Chains,
    Marks,
    Off,
    Words,
}

/// All that is drawn.
pub(super) struct Sheet {
    pub(super) height: f64,
    shapes: Vec<(Layer, Shape)>,
}

impl Sheet {
    pub(super) fn new() -> Self {
        Self {
            height: 0.0,
            shapes: Vec::new(),
        }
    }

    pub(super) fn put(&mut self, layer: Layer, shape: Shape) {
        self.shapes.push((layer, shape));
    }

    /// In the order in which they are drawn.
    pub(super) fn shapes(&self) -> Vec<(Layer, &Shape)> {
        let mut all: Vec<(Layer, &Shape)> = self
            .shapes
            .iter()
            .map(|(layer, shape)| (*layer, shape))
            .collect();
        all.sort_by_key(|(layer, _)| *layer);
        all
    }

    pub(super) fn line(&mut self, layer: Layer, class: &'static str, points: Vec<Spot>) {
        self.put(
            layer,
            Shape::Path {
                class,
                points,
                closed: false,
            },
        );
    }

    pub(super) fn area(&mut self, layer: Layer, class: &'static str, points: Vec<Spot>) {
        self.put(
            layer,
            Shape::Path {
                class,
                points,
                closed: true,
            },
        );
    }

    pub(super) fn disc(&mut self, layer: Layer, class: &'static str, centre: Spot, radius: f64) {
        self.put(
            layer,
            Shape::Disc {
                class,
                centre,
                radius,
            },
        );
    }

    pub(super) fn words(
        &mut self,
        class: &'static str,
        at: Spot,
        size: f64,
        anchor: Anchor,
        text: impl Into<String>,
    ) {
        self.put(
            Layer::Words,
            Shape::Words {
                class,
                at,
                size,
                anchor,
                text: text.into(),
            },
        );
    }

    /// A line that ends in an arrow head of that size.
    pub(super) fn arrow(
        &mut self,
        layer: Layer,
        class: &'static str,
        points: Vec<Spot>,
        head: f64,
    ) {
        if let [.., before, tip] = points[..] {
            let length = before.distance(tip).max(1e-9);
            let along = ((tip.x - before.x) / length, (tip.y - before.y) / length);
            let back = tip.moved(along, -head);
            let side = (-along.1, along.0);
            let filled = match class {
                "off-line" => "off-fill",
                _ => "ink-fill",
            };
            self.area(
                layer,
                filled,
                vec![
                    tip,
                    back.moved(side, head * 0.45),
                    back.moved(side, -head * 0.45),
                ],
            );
        }
        self.line(layer, class, points);
    }
}
