//! JSON as text.

use crate::spec::conform::is_unprintable;
use serde_json::Value;
use std::fmt::Write as _;

/// JSON for a stream that may be a terminal, with a line break at its end. JSON itself lets
/// characters through that a terminal acts on or that turn text around; here they are escaped too,
/// which leaves the same JSON.
///
/// ```
/// let value = serde_json::json!("a\u{202e}b");
/// let text = tautmark::render::json_text(&value);
/// assert_eq!(text, "\"a\\u202eb\"\n");
/// assert_eq!(serde_json::from_str::<serde_json::Value>(&text).ok(), Some(value));
/// ```
pub fn json_text(value: &Value) -> String {
    let text = format!("{value:#}\n");
    if !text.chars().any(|c| is_unprintable(c) && c != '\n') {
        return text;
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_unprintable(c) && c != '\n' {
            // Such a character can only stand within a string. Writing to a String cannot fail.
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    out
}
