//! Changes to the text of a spec that leave everything else in it as it is.

use super::format::key;
use super::place::PartPlaces;
use super::source::{Source, Span};
use crate::units::quantity::{LinkCount, LinkPosition};

/// A stretch of the text and what takes its place.
pub(crate) struct Edit {
    pub(crate) span: Span,
    pub(crate) text: String,
}

/// The value at `span` with its key, `link` or `links`.
pub(crate) fn link_with_key(source: &Source, span: Span) -> Option<Span> {
    with_key(source, span, &[key::LINKS, key::LINK])
}

/// The value at `span` with its key, one of `keys`; of two that end alike the longer stands first.
fn with_key(source: &Source, span: Span, keys: &[&str]) -> Option<Span> {
    let before = source.text().get(..span.start)?.trim_end();
    let before = before.strip_suffix(':')?.trim_end();
    let key = keys.iter().find(|key| before.ends_with(*key))?;
    Some(Span {
        start: before.len() - key.len(),
        end: span.end,
    })
}

/// `link: 46`, or `links: [45, 46]` for a half.
pub(crate) fn link_key(link: LinkPosition, links: LinkCount) -> String {
    let first = link.get().floor();
    if link.get().is_whole() {
        format!("{}: {first}", key::LINK)
    } else {
        let second = (first + 1) % i128::from(links.get());
        format!("{}: [{first}, {second}]", key::LINKS)
    }
}

/// Adds keys to an entry: before the brace that closes it, or under its first line in block form.
pub(crate) fn insertion(source: &Source, places: &PartPlaces, added: &[String]) -> Option<Edit> {
    let entry = source.slice(places.whole);
    let start = places.whole.start;
    if entry.starts_with('{') {
        let inside = entry.strip_suffix('}')?.trim_end();
        let comma = if inside.ends_with(',') { " " } else { ", " };
        let place = start + inside.len();
        return Some(Edit {
            span: Span {
                start: place,
                end: place,
            },
            text: format!("{comma}{}", added.join(", ")),
        });
    }
    let column = source.position(places.whole).column - 1;
    let line = source.text().get(start..)?.lines().next()?;
    let place = start + line.len();
    // The file's own line ending.
    let ending = source
        .text()
        .get(place..)
        .filter(|rest| rest.starts_with("\r\n"));
    let newline = if ending.is_some() { "\r\n" } else { "\n" };
    let indent = format!("{newline}{}", " ".repeat(column));
    Some(Edit {
        span: Span {
            start: place,
            end: place,
        },
        text: format!("{indent}{}", added.join(&indent)),
    })
}

/// Takes the value at `span` out of its entry, with its key and what joined it to the key before. `None` where
/// nothing stands before it in the entry.
pub(crate) fn removal(source: &Source, places: &PartPlaces, span: Span) -> Option<Edit> {
    let whole = with_key(source, span, &[key::LINKS, key::LINK, key::COLOUR])?;
    let before = source.text().get(places.whole.start..whole.start)?;
    let kept = before.trim_end();
    let kept = if source.slice(places.whole).starts_with('{') {
        kept.strip_suffix(',')?.trim_end()
    } else {
        kept
    };
    (!kept.is_empty()).then(|| Edit {
        span: Span {
            start: places.whole.start + kept.len(),
            end: whole.end,
        },
        text: String::new(),
    })
}

/// Puts the edits in the order of the text; `None` if two of them touch the same.
pub(crate) fn in_order(mut edits: Vec<Edit>) -> Option<Vec<Edit>> {
    edits.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let apart = edits
        .windows(2)
        .all(|pair| pair[0].span.end <= pair[1].span.start && pair[0].span != pair[1].span);
    apart.then_some(edits)
}

/// The text with the edits made, which stand in the order of the text.
pub(crate) fn made(source: &Source, edits: &[Edit]) -> String {
    let mut whole = source.text().to_owned();
    for edit in edits.iter().rev() {
        whole.replace_range(edit.span.start..edit.span.end, &edit.text);
    }
    whole
}

/// A scalar that every reader of YAML takes for this text: plain where it begins with a letter, has
/// nothing in it that means something in YAML, and is no word that some version of YAML takes for
/// a truth value, a number or nothing; in double quotes otherwise.
pub(crate) fn quote(text: &str) -> String {
    const WORDS: &[&str] = &[
        "y", "n", "yes", "no", "on", "off", "true", "false", "null", "inf", "nan",
    ];
    let plain = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '_' | '/' | '.'))
        && !text.ends_with(' ')
        && !WORDS.contains(&text.to_ascii_lowercase().as_str());
    if plain {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            _ => out.push(c),
        }
    }
    out.push('"');
    out
}
