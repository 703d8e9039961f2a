//! The lines of labels, and how large they are.

use crate::render::svg::width_of;

/// Sizes of words: what must be read, what explains it, coloured links, and mere numbers.
pub(super) const NAME: f64 = 4.4;
pub(super) const SMALL: f64 = 3.4;
pub(super) const LINK: f64 = 3.6;
pub(super) const NUMBER: f64 = 2.9;
/// From line to line, in sizes.
pub(super) const LEAD: f64 = 1.22;

/// A line of a label.
#[derive(Clone, Debug)]
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

    /// A line to write on.
    pub(super) fn write() -> Self {
        Self {
            class: "must halo",
            size: NAME,
            bold: false,
            text: "_".repeat(12),
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

/// Width and height of lines of words.
pub(super) fn size_of(lines: &[Line]) -> (f64, f64) {
    let width = lines
        .iter()
        .map(|line| width_of(&line.text, line.size, line.bold))
        .fold(0.0, f64::max);
    (width, lines.iter().map(|line| line.size * LEAD).sum())
}
