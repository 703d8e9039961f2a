//! Elements, attributes, numbers and text: each is escaped and rounded here and nowhere else.

use super::place::Spot;
use crate::render::words::escape::escaped;
use crate::render::words::numbers::decimal;

/// SVG that is being written: a document, or a part of a page.
pub(in crate::render) struct Svg {
    out: String,
    decimals: usize,
}

impl Svg {
    /// Numbers are rounded to so many decimals.
    pub(in crate::render) fn new(decimals: usize) -> Self {
        Self {
            out: String::new(),
            decimals,
        }
    }

    /// Begins the tag of an element; attributes follow.
    pub(in crate::render) fn element(&mut self, name: &'static str) -> Element<'_> {
        self.out.push('<');
        self.out.push_str(name);
        Element { svg: self, name }
    }

    /// Ends an element that was opened.
    pub(in crate::render) fn end(&mut self, name: &'static str) {
        self.out.push_str("</");
        self.out.push_str(name);
        self.out.push('>');
    }

    /// Words between elements.
    pub(in crate::render) fn words(&mut self, words: &str) {
        self.out.push_str(&escaped(words));
    }

    /// What a screen reader reads of a document whose `aria-labelledby` is `title about`.
    pub(in crate::render) fn about(&mut self, title: &str, about: &str) {
        self.element("title").set("id", "title").text(title);
        self.line_break();
        self.element("desc").set("id", "about").text(about);
        self.line_break();
    }

    /// SVG that is the same in every picture, as it is.
    pub(in crate::render) fn constant(&mut self, svg: &'static str) {
        self.out.push_str(svg);
    }

    /// SVG written before, as it is.
    pub(in crate::render) fn insert(&mut self, written: &Self) {
        self.out.push_str(&written.out);
    }

    pub(in crate::render) fn line_break(&mut self) {
        self.out.push('\n');
    }

    pub(in crate::render) fn into_string(self) -> String {
        self.out
    }

    fn number(&mut self, value: f64) {
        let words = decimal(value, self.decimals);
        self.out.push_str(&words);
    }

    fn numbers(&mut self, (x, y): (f64, f64)) {
        self.number(x);
        self.out.push(' ');
        self.number(y);
    }
}

/// A tag that is being written.
#[must_use = "a tag that is not ended spoils the document"]
pub(in crate::render) struct Element<'a> {
    svg: &'a mut Svg,
    name: &'static str,
}

impl<'a> Element<'a> {
    /// An attribute.
    pub(in crate::render) fn set(self, name: &'static str, value: impl Value) -> Self {
        self.with(name, |svg| value.write(svg))
    }

    /// `class`, which is almost everywhere.
    pub(in crate::render) fn class(self, class: &str) -> Self {
        self.set("class", class)
    }

    /// `x` and `y`.
    pub(in crate::render) fn at(self, x: f64, y: f64) -> Self {
        self.set("x", x).set("y", y)
    }

    /// `width` and `height`.
    pub(in crate::render) fn sized(self, width: f64, height: f64) -> Self {
        self.set("width", width).set("height", height)
    }

    /// The part of the plane that is shown.
    pub(in crate::render) fn view_box(
        self,
        (left, top): (f64, f64),
        (width, height): (f64, f64),
    ) -> Self {
        self.with("viewBox", |svg| {
            svg.numbers((left, top));
            svg.out.push(' ');
            svg.numbers((width, height));
        })
    }

    /// Moved to a place.
    pub(in crate::render) fn moved(self, x: f64, y: f64) -> Self {
        self.with("transform", |svg| {
            svg.out.push_str("translate(");
            svg.numbers((x, y));
            svg.out.push(')');
        })
    }

    /// Moved along.
    pub(in crate::render) fn moved_across(self, x: f64) -> Self {
        self.with("transform", |svg| {
            svg.out.push_str("translate(");
            svg.number(x);
            svg.out.push(')');
        })
    }

    /// Turned by degrees clockwise, then moved to a place.
    pub(in crate::render) fn turned(self, x: f64, y: f64, degrees: f64) -> Self {
        self.with("transform", |svg| {
            svg.out.push_str("translate(");
            svg.numbers((x, y));
            svg.out.push_str(") rotate(");
            svg.number(degrees);
            svg.out.push(')');
        })
    }

    /// The way of a path.
    pub(in crate::render) fn path(self, path: &Path) -> Self {
        self.with("d", |svg| {
            for step in &path.0 {
                match *step {
                    Step::Move(x, y) => {
                        svg.out.push('M');
                        svg.numbers((x, y));
                    }
                    Step::Line(x, y) => {
                        svg.out.push('L');
                        svg.numbers((x, y));
                    }
                    Step::Down(y) => {
                        svg.out.push('V');
                        svg.number(y);
                    }
                    Step::Close => svg.out.push('Z'),
                }
            }
        })
    }

    /// How a line is drawn.
    pub(in crate::render) fn stroke(self, stroke: Stroke) -> Self {
        let Stroke { ink, width, dash } = stroke;
        let mut element = self.set("stroke", ink);
        if let Some(width) = width {
            element = element.set("stroke-width", width);
        }
        if let Some(dash) = dash {
            element = element.set("stroke-dasharray", dash);
        }
        element
    }

    /// Ends the tag of an element that holds nothing.
    pub(in crate::render) fn close(self) {
        self.svg.out.push_str("/>");
    }

    /// Ends the tag; what is written next lies within, until [`Svg::end`].
    pub(in crate::render) fn open(self) {
        self.svg.out.push('>');
    }

    /// Ends the element; it holds these words.
    pub(in crate::render) fn text(self, words: &str) {
        let Self { svg, name } = self;
        svg.out.push('>');
        svg.words(words);
        svg.end(name);
    }

    fn with(self, name: &'static str, write: impl FnOnce(&mut Svg)) -> Self {
        let svg: &'a mut Svg = self.svg;
        svg.out.push(' ');
        svg.out.push_str(name);
        svg.out.push_str("=\"");
        write(svg);
        svg.out.push('"');
        Self {
            svg,
            name: self.name,
        }
    }
}

/// What an attribute can hold.
pub(in crate::render) trait Value {
    fn write(self, svg: &mut Svg);
}

impl Value for &str {
    fn write(self, svg: &mut Svg) {
        svg.out.push_str(&escaped(self));
    }
}

impl Value for &String {
    fn write(self, svg: &mut Svg) {
        self.as_str().write(svg);
    }
}

impl Value for f64 {
    fn write(self, svg: &mut Svg) {
        svg.number(self);
    }
}

impl Value for usize {
    fn write(self, svg: &mut Svg) {
        svg.out.push_str(&self.to_string());
    }
}

impl Value for u16 {
    fn write(self, svg: &mut Svg) {
        usize::from(self).write(svg);
    }
}

/// The way of a line: straight from place to place.
#[derive(Default)]
pub(in crate::render) struct Path(Vec<Step>);

enum Step {
    Move(f64, f64),
    Line(f64, f64),
    Down(f64),
    Close,
}

impl Path {
    /// Through these places.
    pub(in crate::render) fn through(points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let steps = points.into_iter().enumerate().map(|(i, (x, y))| match i {
            0 => Step::Move(x, y),
            _ => Step::Line(x, y),
        });
        Self(steps.collect())
    }

    /// Through these places, and back to the first if it is closed.
    pub(in crate::render) fn along(spots: &[Spot], closed: bool) -> Self {
        let path = Self::through(spots.iter().map(|spot| (spot.x, spot.y)));
        if closed { path.close() } else { path }
    }

    pub(in crate::render) fn from(x: f64, y: f64) -> Self {
        Self::default().and_from(x, y)
    }

    pub(in crate::render) fn and_from(self, x: f64, y: f64) -> Self {
        self.then(Step::Move(x, y))
    }

    pub(in crate::render) fn to(self, x: f64, y: f64) -> Self {
        self.then(Step::Line(x, y))
    }

    pub(in crate::render) fn down_to(self, y: f64) -> Self {
        self.then(Step::Down(y))
    }

    pub(in crate::render) fn close(self) -> Self {
        self.then(Step::Close)
    }

    /// Two lines that cross at the origin and reach so far either way.
    pub(in crate::render) fn cross(reach: f64) -> Self {
        Self::from(-reach, -reach)
            .to(reach, reach)
            .and_from(-reach, reach)
            .to(reach, -reach)
    }

    fn then(mut self, step: Step) -> Self {
        self.0.push(step);
        self
    }
}

/// How a line is drawn.
#[derive(Clone, Copy)]
pub(in crate::render) struct Stroke {
    ink: &'static str,
    width: Option<f64>,
    dash: Option<&'static str>,
}

impl Stroke {
    pub(in crate::render) const fn of(ink: &'static str) -> Self {
        Self {
            ink,
            width: None,
            dash: None,
        }
    }

    pub(in crate::render) const fn wide(self, width: f64) -> Self {
        Self {
            width: Some(width),
            ..self
        }
    }

    pub(in crate::render) const fn dashed(self, dash: &'static str) -> Self {
        Self {
            dash: Some(dash),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_element_holds_is_escaped_and_rounded() {
        let mut svg = Svg::new(1);
        svg.element("text")
            .class("a\"b<")
            .at(1.04, -0.04)
            .text("<b>&");
        assert_eq!(
            svg.into_string(),
            "<text class=\"a&quot;b&lt;\" x=\"1\" y=\"0\">&lt;b&gt;&amp;</text>"
        );
        let mut svg = Svg::new(2);
        svg.element("g").turned(1.0, 2.5, -0.001).open();
        svg.element("path")
            .path(&Path::from(0.0, 1.0).down_to(2.126).to(-3.0, 0.0).close())
            .close();
        svg.end("g");
        assert_eq!(
            svg.into_string(),
            "<g transform=\"translate(1 2.5) rotate(0)\"><path d=\"M0 1V2.13L-3 0Z\"/></g>"
        );
    }
}
