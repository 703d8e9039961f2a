//! Step 5: findings and verdicts to words, JSON and pictures. Nothing is decided here.

mod cautions;
mod check_json;
mod check_text;
mod finding_text;
mod numbers;
mod plot;
mod schema;
mod slip_json;
mod slip_text;
mod slip_words;
mod starter;

pub use cautions::CAUTIONS;
pub use check_json::check_json;
pub use check_text::{check_text, doubt_text, remedy_text};
pub use finding_text::{finding_json, finding_text, finding_title};
pub use plot::{Plot, PlotError, plot};
pub use schema::schema;
pub use slip_json::slip_json;
pub use slip_text::slip_text;
pub use starter::STARTER;

use crate::conform::is_unprintable;
use std::fmt::Write as _;

/// `text` with everything that would move a terminal's cursor, hide, or turn text around written
/// as an escape. Line breaks and tabs stay.
///
/// ```
/// assert_eq!(tautmark::printable("a\u{1b}[31mb"), "a\\u{1b}[31mb");
/// ```
pub fn printable(text: &str) -> String {
    if !text
        .chars()
        .any(|c| is_unprintable(c) && !matches!(c, '\n' | '\t'))
    {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_unprintable(c) && !matches!(c, '\n' | '\t') {
            // Writing to a String cannot fail.
            let _ = write!(out, "{}", c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}
