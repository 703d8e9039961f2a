//! Text made safe for where it is shown.

use crate::spec::conform::is_unprintable;
use std::fmt::Write as _;

/// `text` with everything that would move a terminal's cursor, hide, or turn text around written
/// as an escape. Line breaks and tabs stay.
///
/// ```
/// assert_eq!(tautmark::render::printable("a\u{1b}[31mb"), "a\\u{1b}[31mb");
/// ```
pub fn printable(text: &str) -> String {
    written_out(text, |c| matches!(c, '\n' | '\t'))
}

/// `text` with every unprintable character but those to be kept written as an escape.
pub(crate) fn written_out(text: &str, keep: impl Fn(char) -> bool) -> String {
    if !text.chars().any(|c| is_unprintable(c) && !keep(c)) {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_unprintable(c) && !keep(c) {
            // Writing to a String cannot fail.
            let _ = write!(out, "{}", c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// `text` with what has a meaning in XML and HTML, within quotes too, as entities.
pub(crate) fn entities(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            _ => out.push(c),
        }
    }
    out
}

/// `text` as it can stand in a page, within a tag's quotes too. Line breaks and tabs stay.
pub(crate) fn page_text(text: &str) -> String {
    entities(&printable(text))
}

/// `text` with a capital letter at its front.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// `text` for an attribute or an element of SVG or HTML: what has a meaning there as an entity, what no
/// viewer should act on written out.
pub(crate) fn escaped(text: &str) -> String {
    entities(&written_out(text, |_| false))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_words() {
        assert_eq!(
            escaped("<b a=\"1\" c='2'>&\u{1b}[31m\u{0}\u{ffff}\u{202e}"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;\\u{1b}[31m\\u{0}\\u{ffff}\\u{202e}"
        );
    }
}
