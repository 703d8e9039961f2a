//! The lines of labels, and labels that still want a place.

use super::label::Request;
use crate::render::svg::width_of;

/// Sizes of words: what must be read, what explains it, coloured links, and mere numbers.
pub(super) const NAME: f64 = 4.4;
pub(super) const SMALL: f64 = 3.4;
pub(super) const LINK: f64 = 3.6;
pub(super) const NUMBER: f64 = 2.9;
/// From line to line, in sizes.
pub(super) const LEAD: f64 = 1.22;

/// A line of a label.
pub(super) struct Line {
    pub(super) class: &'static str,
    pub(super) size: f64,
    pub(super) bold: bool,
    pub(super) text: String,
}

impl Line {
    pub(super) fn name(text: impl Into<String>) -> Self {
        Self {
            class: "must bold halo",
            size: NAME,
            bold: true,
            text: text.into(),
        }
    }

    pub(super) fn small(text: impl Into<String>) -> Self {
        Self {
            class: "must halo",
            size: SMALL,
            bold: false,
            text: text.into(),
        }
    }
}

/// A label without its place yet.
pub(super) struct Wanted {
    pub(super) request: Request,
    pub(super) lines: Vec<Line>,
    pub(super) frame: Option<&'static str>,
}

/// Width and height of lines of words.
pub(super) fn size_of(lines: &[Line]) -> (f64, f64) {
    let width = lines
        .iter()
        .map(|line| width_of(&line.text, line.size, line.bold))
        .fold(0.0, f64::max);
    (width, lines.iter().map(|line| line.size * LEAD).sum())
}
