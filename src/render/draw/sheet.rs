//! A sheet of shapes and words in its own units: 190 of them make the printable width of A4 in mm.
//! x runs to the right, y down, as in SVG.

use super::lines::Line;
use super::link::Form;
use crate::render::svg::{Area, LinkColour, Spot};
use std::fmt;

/// The width of every sheet.
pub(super) const WIDTH: f64 = 190.0;

/// How words are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
}

/// A part of the engine: whoever reads the file can tell what it is, and which one a label names.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Part {
    /// In the order of the drive.
    Shaft(usize),
    Chain(usize),
    /// Of a chain, by its number.
    Link(usize, u16),
    /// Guides and tensioners of a chain, in the order of travel.
    Shoe(usize, usize),
    /// Straight runs of a chain, in the order of travel.
    Strand(usize, usize),
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shaft(shaft) => write!(f, "shaft-{shaft}"),
            Self::Chain(chain) => write!(f, "chain-{chain}"),
            Self::Link(chain, link) => write!(f, "link-{chain}-{link}"),
            Self::Shoe(chain, shoe) => write!(f, "shoe-{chain}-{shoe}"),
            Self::Strand(chain, strand) => write!(f, "strand-{chain}-{strand}"),
        }
    }
}

/// Words about a part, one line under the other, in the middle of an area.
#[derive(Clone, Debug)]
pub(super) struct Label {
    pub(super) of: Part,
    pub(super) area: Area,
    pub(super) lines: Vec<Line>,
    /// A frame around it, as a class.
    pub(super) frame: Option<&'static str>,
    /// The line to what it names.
    pub(super) line: Option<(Spot, Spot)>,
}

/// Something on the sheet. `class` names a rule of the style sheet.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Path {
        class: &'static str,
        points: Vec<Spot>,
        closed: bool,
        part: Option<Part>,
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
    Label(Label),
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
        self.shape(layer, class, points, false, None);
    }

    pub(super) fn area(&mut self, layer: Layer, class: &'static str, points: Vec<Spot>) {
        self.shape(layer, class, points, true, None);
    }

    /// A part of the engine.
    pub(super) fn part(
        &mut self,
        layer: Layer,
        class: &'static str,
        points: Vec<Spot>,
        part: Part,
    ) {
        self.shape(layer, class, points, true, Some(part));
    }

    fn shape(
        &mut self,
        layer: Layer,
        class: &'static str,
        points: Vec<Spot>,
        closed: bool,
        part: Option<Part>,
    ) {
        self.put(
            layer,
            Shape::Path {
                class,
                points,
                closed,
                part,
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
        self.arrow_along(layer, class, points, head, None);
    }

    /// The same along a part of the engine.
    pub(super) fn arrow_along(
        &mut self,
        layer: Layer,
        class: &'static str,
        points: Vec<Spot>,
        head: f64,
        part: Option<Part>,
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
        self.shape(layer, class, points, false, part);
    }

    /// Takes over all that another sheet has.
    pub(super) fn append(&mut self, other: Self) {
        self.shapes.extend(other.shapes);
    }
}
