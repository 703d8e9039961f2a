//! Step 5: findings and verdicts to words, JSON and pictures. Nothing is decided here.

mod cautions;
mod check_json;
mod check_text;
mod draw;
mod explain_text;
mod false_friend_text;
mod finding_text;
mod numbers;
mod roll_text;
mod schema;
mod starter;

pub use cautions::CAUTIONS;
pub use check_json::check_json;
pub use check_text::{check_text, doubt_text, remedy_text};
pub use draw::{LinkPlace, Picture, ShoePlace, SprocketPlace, TensionerPlace, draw_svg, draw_text};
pub use explain_text::{explain_json, explain_text};
pub use false_friend_text::{false_friend_json, false_friend_text};
pub use finding_text::{finding_json, finding_text, finding_title};
pub use roll_text::{roll_json, roll_text};
pub use schema::schema;
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
