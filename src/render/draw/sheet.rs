//! A sheet of shapes and words in its own units: 190 of them make the printable width of A4 in mm.
//! x runs to the right, y down, as in SVG.

use std::fmt::Write as _;

/// The width of every sheet.
pub(super) const WIDTH: f64 = 190.0;

/// A place on the sheet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Spot {
    pub(super) x: f64,
    pub(super) y: f64,
}

impl Spot {
    pub(super) fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// `part` of the way to `other`.
    pub(super) fn towards(self, other: Self, part: f64) -> Self {
        Self {
            x: self.x + (other.x - self.x) * part,
            y: self.y + (other.y - self.y) * part,
        }
    }

    /// So far in the direction of (x, y).
    pub(super) fn moved(self, (x, y): (f64, f64), by: f64) -> Self {
        Self {
            x: self.x + x * by,
            y: self.y + y * by,
        }
    }
}

/// A rectangle on the sheet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    pub(super) fn around(centre: Spot, width: f64, height: f64) -> Self {
        Self {
            left: centre.x - width / 2.0,
            top: centre.y - height / 2.0,
            right: centre.x + width / 2.0,
            bottom: centre.y + height / 2.0,
        }
    }

    /// Its corners, once round.
    pub(super) fn corners(self) -> Vec<Spot> {
        let Self {
            left,
            top,
            right,
            bottom,
        } = self;
        [(left, top), (right, top), (right, bottom), (left, bottom)]
            .map(|(x, y)| Spot { x, y })
            .into()
    }

    pub(super) fn centre(self) -> Spot {
        Spot {
            x: f64::midpoint(self.left, self.right),
            y: f64::midpoint(self.top, self.bottom),
        }
    }

    pub(super) fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(super) fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right >= other.right
            && self.bottom >= other.bottom
    }

    pub(super) fn grown(self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    /// The place in it that is nearest to `spot`.
    pub(super) fn nearest(self, spot: Spot) -> Spot {
        Spot {
            x: spot.x.clamp(self.left, self.right),
            y: spot.y.clamp(self.top, self.bottom),
        }
    }

    pub(super) fn distance(self, spot: Spot) -> f64 {
        self.nearest(spot).distance(spot)
    }
}

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
    /// A link of a chain.
    Link {
        outer: bool,
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

/// How a coloured link is painted.
#[derive(Clone, Copy, Debug)]
pub(super) struct LinkColour {
    /// A CSS colour, if its name is one.
    pub(super) fill: Option<&'static str>,
    /// So many bars across it stand for the colour in print.
    pub(super) bars: usize,
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

/// About how wide words are: fonts differ, so the widest common ones are reckoned with.
pub(super) fn width_of(text: &str, size: f64, bold: bool) -> f64 {
    let ems: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' | ' ' | '(' | ')' | 'f' | 't'
            | '-' => 0.38,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
            'A'..='Z' => 0.72,
            '\u{0}'..='\u{2ff}' => 0.635,
            // Letters of other scripts, and what fills a square.
            '\u{300}'..='\u{10ff}' => 0.8,
            _ => 1.05,
        })
        .sum();
    ems * size * if bold { 1.12 } else { 1.0 }
}

/// `text` in lines of at most `width`, broken between words; a word that is too long by itself is broken anywhere.
pub(super) fn wrapped(text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut tried = line.clone();
        if !tried.is_empty() {
            tried.push(' ');
        }
        tried.push_str(word);
        if width_of(&tried, size, bold) <= width {
            line = tried;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if width_of(&line, size, bold) > width && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// A number for SVG: hundredths are finer than any printer.
pub(super) fn number(value: f64) -> String {
    super::super::words::numbers::decimal(value, 2)
}

/// The `d` of a path through these places.
pub(super) fn path_words(points: &[Spot], closed: bool) -> String {
    let mut words = String::with_capacity(points.len() * 12);
    for (i, spot) in points.iter().enumerate() {
        // Writing to a String cannot fail.
        let _ = write!(
            words,
            "{}{} {}",
            if i == 0 { "M" } else { "L" },
            number(spot.x),
            number(spot.y)
        );
    }
    if closed {
        words.push('Z');
    }
    words
}
