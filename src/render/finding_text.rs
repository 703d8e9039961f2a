//! Findings drawn under the lines that they are about. Their words stand with their types, in
//! `spec::finding`.

use super::printable;
use crate::spec::finding::words::clipped;
use crate::spec::finding::{Finding, Remedy, Severity};
use crate::spec::format::MAX_TEXT;
use crate::spec::source::{Position, Source, Span};
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use serde_json::{Value, json};
use std::borrow::Cow;

/// Columns further apart than this are not drawn in one picture.
const FAR: usize = 200;

/// The finding as one line, without its place.
pub fn finding_title(finding: &Finding) -> String {
    printable(&finding.words().title)
}

/// The finding with file, line and column, the lines that it is about, and the remedy. `colour`
/// adds terminal colours.
///
/// ```
/// use tautmark::{Drive, Source, render::finding_text};
///
/// let source = Source::new("example.yaml", b"tautmark: 1\n".to_vec())?;
/// let reading = Drive::read(&source);
/// let text = finding_text(&reading.findings[0], &source, false);
/// assert!(text.contains("error[missing-key]") && text.contains("example.yaml"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn finding_text(finding: &Finding, source: &Source, colour: bool) -> String {
    let words = finding.words();
    let level = match finding.severity() {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = level
        .primary_title(printable(&words.title))
        .id(finding.code());
    let help = Level::HELP.message(printable(&help_of(finding, source)));
    let group: Group<'_> = match finding.span {
        None => title
            .element(annotate_snippets::Origin::path(printable(source.name())))
            .element(help),
        Some(span) => {
            // Only the lines from one place to the other: the rest of the file would cost time.
            let place = drawable(source, span);
            // Places in columns far apart cannot be drawn side by side; the second is named instead.
            let column = source.position(span).column;
            let (other, named) = match finding.related {
                Some(related) if source.position(related).column.abs_diff(column) > FAR => {
                    (None, Some(source.position(related)))
                }
                related => (related.map(|span| drawable(source, span)), None),
            };
            let text = source.text();
            let (mut first, mut last) = (place.start, place.end);
            if let Some(other) = &other {
                (first, last) = (first.min(other.start), last.max(other.end));
            }
            let first = text[..first].rfind('\n').map_or(0, |newline| newline + 1);
            // What stands far behind on the last line would not fit on a screen anyhow.
            let last = text[last..]
                .char_indices()
                .take(FAR)
                .find_map(|(at, c)| matches!(c, '\n' | '\r').then_some(last + at))
                .or_else(|| Some(last + text[last..].char_indices().nth(FAR)?.0))
                .unwrap_or(text.len());
            let lines = &text[first..last];
            let within = |place: std::ops::Range<usize>| {
                visible(&text[first..place.start]).len()..visible(&text[first..place.end]).len()
            };
            let mut snippet = Snippet::source(visible(lines))
                .path(printable(source.name()))
                .line_start(
                    source
                        .position(Span {
                            start: first,
                            end: first,
                        })
                        .line,
                )
                .annotation(
                    AnnotationKind::Primary
                        .span(within(place))
                        .label(printable(&words.label)),
                );
            if let Some(other) = other {
                snippet = snippet.annotation(
                    AnnotationKind::Context
                        .span(within(other))
                        .label(words.related),
                );
            }
            let group = title.element(snippet);
            match named {
                None => group.element(help),
                Some(Position { line, column }) => group
                    .element(Level::NOTE.message(format!("{}: {line}:{column}", words.related)))
                    .element(help),
            }
        }
    };
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.decor_style(DecorStyle::Ascii).render(&[group])
}

/// What to do about the finding.
///
/// What one finding alone would have one do may agree with it and with nothing else; so where a remedy was sought,
/// that is what is said.
fn help_of(finding: &Finding, source: &Source) -> String {
    let line = |span: Span| source.position(span).line;
    let it = finding.band.this;
    match &finding.remedy {
        Remedy::NotSought => finding.words().help.into_owned(),
        Remedy::Any { mends, more } => {
            let all: Vec<String> = mends
                .iter()
                .map(|mend| format!("line {}: {}", line(mend.span), mend.change.words()))
                .collect();
            match all.as_slice() {
                [only] if *more == 0 => {
                    format!("one change would make all of {it} agree; {only}")
                }
                _ => {
                    let more = match more {
                        0 => String::new(),
                        1 => "\n- or one change more like these".to_owned(),
                        more => format!("\n- or {more} changes more like these"),
                    };
                    format!(
                        "any one of these would make all of {it} agree, the smallest change first; measure before you choose:\n- {}{more}",
                        all.join("\n- ")
                    )
                }
            }
        }
        Remedy::With(first) => format!(
            "see the finding at line {}: what would put that right would put this right, too",
            line(*first)
        ),
        Remedy::NoneAlone { .. } if finding.problem.is_of_one_mark() => {
            finding.words().help.into_owned()
        }
        Remedy::NoneAlone { all_tried } => format!(
            "no single change {} makes all of {it} agree, so more than one value may be wrong; check its places, its order, 'outside' and the units",
            if *all_tried {
                "of the usual kinds"
            } else {
                "that was tried"
            }
        ),
    }
}

/// What to do about a finding whose remedies stand beside it.
fn help_with(it: &str, remedies: usize, more: usize) -> String {
    let more = match more {
        0 => String::new(),
        1 => "; one change more like these would, too".to_owned(),
        more => format!("; {more} changes more like these would, too"),
    };
    let told = if remedies == 1 {
        format!("the one remedy would make all of {it} agree")
    } else {
        format!(
            "any one of the remedies would make all of {it} agree, the smallest change first; measure before you choose"
        )
    };
    format!("{told}{more}")
}

/// The text as it can be shown: a `?` for each character that a terminal would act on, so that
/// columns, which count characters, stay what they are.
fn visible(text: &str) -> Cow<'_, str> {
    let hidden = |c: char| crate::spec::conform::is_unprintable(c) && !matches!(c, '\n' | '\t');
    if !text.chars().any(hidden) {
        return Cow::Borrowed(text);
    }
    let mut rest = text.chars().peekable();
    let mut out = String::with_capacity(text.len());
    while let Some(c) = rest.next() {
        let ends_line = c == '\r' && rest.peek() == Some(&'\n');
        out.push(if hidden(c) && !ends_line { '?' } else { c });
    }
    Cow::Owned(out)
}

/// A place that can be drawn: at least within the text, at most to the end of its first line.
fn drawable(source: &Source, span: Span) -> std::ops::Range<usize> {
    let text = source.text();
    let start = span.start.min(text.len());
    let end = span.end.clamp(start, text.len());
    let first_line = text[start..end].lines().next().map_or(0, str::len);
    start..start + first_line
}

/// The finding for a program to read. Of the offending text the beginning is enough.
pub fn finding_json(finding: &Finding, source: &Source) -> Value {
    let words = finding.words();
    let place = |span: Span| {
        let position = source.position(span);
        json!({ "line": position.line, "column": position.column, "text": clipped(source.slice(span), MAX_TEXT) })
    };
    let remedies = match &finding.remedy {
        Remedy::Any { mends, .. } => mends
            .iter()
            .map(|mend| json!({ "at": place(mend.span), "change": mend.change.words() }))
            .collect(),
        Remedy::NotSought | Remedy::With(_) | Remedy::NoneAlone { .. } => Vec::new(),
    };
    json!({
        "file": source.name(),
        "code": finding.code(),
        "severity": match finding.severity() {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        },
        "message": words.title,
        "help": match &finding.remedy {
            Remedy::Any { mends, more } => help_with(finding.band.this, mends.len(), *more),
            _ => help_of(finding, source),
        },
        "remedies": remedies,
        "at": finding.span.map(place),
        "see_also": finding.related.map(place),
    })
}
