//! SVG as drawings, plots and the page write it: one writer for elements, attributes, numbers and text, and
//! what all three share besides: places, the room words take, colours.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

mod colour;
mod place;
mod words;
mod writer;

pub(super) use colour::{LinkColour, chain_fills, css_colour, valve_ink};
pub(super) use place::{Area, Spot};
pub(super) use words::{short, width_of, wrapped};
pub(super) use writer::{Path, Stroke, Svg};
