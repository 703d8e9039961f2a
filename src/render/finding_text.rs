//! Findings in words, drawn under the lines that they are about.

use super::printable;
use crate::finding::{Finding, LiftTableFault, Problem, Severity};
use crate::render::numbers;
use crate::source::{Source, Span};
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use serde_json::{Value, json};
use std::borrow::Cow;

/// A finding in words.
struct Words {
    /// What is wrong.
    title: String,
    /// Under the offence.
    label: String,
    /// Under the second place.
    related: &'static str,
    /// What to do.
    help: String,
}

/// The finding as one line, without its place.
pub fn finding_title(finding: &Finding) -> String {
    printable(&words(&finding.problem).title)
}

/// The finding with file, line and column, the lines that it is about, and the remedy. `colour`
/// adds terminal colours.
pub fn finding_text(finding: &Finding, source: &Source, colour: bool) -> String {
    let words = words(&finding.problem);
    let level = match finding.severity() {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = level
        .primary_title(printable(&words.title))
        .id(finding.code());
    let help = Level::HELP.message(printable(&words.help));
    let group: Group<'_> = match finding.span {
        None => title
            .element(annotate_snippets::Origin::path(printable(source.name())))
            .element(help),
        Some(span) => {
            let text = visible(source.text());
            let mut snippet = Snippet::source(text)
                .path(printable(source.name()))
                .annotation(
                    AnnotationKind::Primary
                        .span(drawable(source, span))
                        .label(printable(&words.label)),
                );
            if let Some(related) = finding.related {
                snippet = snippet.annotation(
                    AnnotationKind::Context
                        .span(drawable(source, related))
                        .label(words.related),
                );
            }
            title.element(snippet).element(help)
        }
    };
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.decor_style(DecorStyle::Ascii).render(&[group])
}

/// The text as it can be shown. Characters that a terminal would act on become `?`s of the same
/// number of bytes, so that every place stays where it is.
fn visible(text: &str) -> Cow<'_, str> {
    let hidden = |c: char| crate::conform::is_unprintable(c) && !matches!(c, '\n' | '\r' | '\t');
    if !text.chars().any(hidden) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(
        text.chars()
            .flat_map(|c| {
                let (shown, times) = if hidden(c) {
                    ('?', c.len_utf8())
                } else {
                    (c, 1)
                };
                std::iter::repeat_n(shown, times)
            })
            .collect(),
    )
}

/// A place that can be drawn: at least within the text, at most to the end of its first line.
fn drawable(source: &Source, span: Span) -> std::ops::Range<usize> {
    let text = source.text();
    let start = span.start.min(text.len());
    let end = span.end.clamp(start, text.len());
    let first_line = text[start..end].lines().next().map_or(0, str::len);
    start..start + first_line
}

/// The finding for a program to read.
pub fn finding_json(finding: &Finding, source: &Source) -> Value {
    let words = words(&finding.problem);
    let place = |span: Span| {
        let position = source.position(span);
        json!({ "line": position.line, "column": position.column, "text": source.slice(span) })
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
        "help": words.help,
        "at": finding.span.map(place),
        "see_also": finding.related.map(place),
    })
}

/// A quoted text of a length that can be read.
fn quoted(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST {
        format!("'{text}'")
    } else {
        format!("'{}...'", text.chars().take(MOST).collect::<String>())
    }
}

fn did_you_mean(nearest: Option<&str>, otherwise: impl FnOnce() -> String) -> String {
    nearest.map_or_else(otherwise, |nearest| format!("did you mean '{nearest}'?"))
}

fn words(problem: &Problem) -> Words {
    let (title, label, related, help): (String, String, &'static str, String) = match problem {
        Problem::NotYaml { reason } => (
            format!("this is not YAML: {reason}"),
            "reading stopped here".into(),
            "",
            "look at the indentation, and for a missing quote, bracket or brace just before this place".into(),
        ),
        Problem::Empty => (
            "there is no spec in this file".into(),
            String::new(),
            "",
            "`tautmark new` prints one to start from".into(),
        ),
        Problem::SecondDocument => (
            "a second document begins here".into(),
            "one file holds one spec".into(),
            "",
            "remove the '---', or put the second spec into a file of its own".into(),
        ),
        Problem::TooDeep { max } => (
            format!("values are nested more than {max} deep"),
            "too deep here".into(),
            "",
            "no part of a spec is nested that deep; look for brackets that are not closed".into(),
        ),
        Problem::TooMany { max } => (
            format!("more than {max} values, aliases counted each time"),
            "reading stopped here".into(),
            "",
            "no spec needs that many; write out what the aliases repeat".into(),
        ),
        Problem::AliasLoop => (
            "an alias stands within the value it stands for".into(),
            "this alias".into(),
            "",
            "write the value out".into(),
        ),
        Problem::KeyNotText => (
            "a key must be a word".into(),
            "this is a list or a mapping".into(),
            "",
            "look for a missing quote or a stray '?' or bracket".into(),
        ),
        Problem::UnknownKey { key, nearest, known } => (
            format!("unknown key {}", quoted(key)),
            "not known here".into(),
            "",
            did_you_mean(*nearest, || format!("known here: {}", known.join(", "))),
        ),
        Problem::DuplicateKey { key } => (
            format!("key {} is given twice", quoted(key)),
            "given again".into(),
            "first given here",
            "keep one of them".into(),
        ),
        Problem::MissingKey { key, record, about } => (
            format!("{record} needs the key '{key}'"),
            format!("'{key}' is missing here"),
            "",
            format!("add '{key}: ...' ({about})"),
        ),
        Problem::WrongType { expected, found } => (
            format!("expected {expected}, found {}", found_words(found)),
            format!("expected {expected}"),
            "",
            format!("give {expected}"),
        ),
        Problem::NotANumber { text, reason, whole } => {
            let expected = if *whole { "a whole number" } else { "a number" };
            (
                format!("expected {expected}, found {}", quoted(text)),
                reason.to_string(),
                "",
                if *whole {
                    "write it with digits only, such as 36".into()
                } else {
                    "write it as 8, 9.525 or 1/100; powers of ten, inf and nan are not taken".into()
                },
            )
        }
        Problem::OutOfBounds { text, min, max, unit, above } => (
            format!(
                "{} is not in the required range of {}{min}..={max} {unit}",
                quoted(text),
                if *above { "more than " } else { "" }
            ),
            "out of range".into(),
            "",
            format!("give a value from {min} to {max}{}", if *above { " (but not the first)" } else { "" }),
        ),
        Problem::NotAChoice { text, choices, nearest } => (
            format!("{} is none of: {}", quoted(text), choices.join(", ")),
            "not one of the choices".into(),
            "",
            did_you_mean(*nearest, || format!("give one of: {}", choices.join(", "))),
        ),
        Problem::BadName { name } => (
            format!("{} cannot be a name", quoted(name)),
            "names go on a command line".into(),
            "",
            "use letters, digits, '-' and '_', beginning with a letter or digit, 32 at most".into(),
        ),
        Problem::UnprintableText { text } => (
            format!("{} cannot be shown as it is", quoted(text)),
            "control characters, or too long".into(),
            "",
            "use printable characters, 200 at most".into(),
        ),
        Problem::TooManyOf { what, found, max } => (
            format!("{found} {what}, at most {max} are taken"),
            "too many here".into(),
            "",
            format!("leave out what is not part of the timing drive, down to {max} {what}"),
        ),
        Problem::UnknownEntry { known } => (
            format!("an entry of a path must name one of: {}", known.join(", ")),
            "which part is this?".into(),
            "",
            format!("begin it with one of these keys: {}", known.join(", ")),
        ),
        Problem::UnknownShaft { name, nearest } => (
            format!("no shaft is called {}", quoted(name)),
            "not under 'shafts:'".into(),
            "",
            did_you_mean(nearest.as_deref(), || "add it under 'shafts:'".into()),
        ),
        Problem::NoCrankshaft => (
            "no shaft is the crankshaft".into(),
            "one of these must be".into(),
            "",
            "give one shaft 'kind: crankshaft'".into(),
        ),
        Problem::SecondCrankshaft { name } => (
            format!("{} is a second crankshaft", quoted(name)),
            "a crankshaft too".into(),
            "the first one",
            "every drive has exactly one; give the other its own kind".into(),
        ),
        Problem::PhaserNotOnCamshaft { shaft } => (
            format!("{} is no camshaft but has a phaser", quoted(shaft)),
            "this phaser".into(),
            "because of this kind",
            "a phaser sits between a sprocket and a camshaft; move it there, or make this shaft a camshaft".into(),
        ),
        Problem::TooFewSprockets { chain, found } => (
            format!("chain {} runs over {}", quoted(chain), match found {
                0 => "no sprocket".into(),
                n => format!("{n} sprocket only"),
            }),
            "a chain joins at least two".into(),
            "this chain",
            "list every sprocket in the order in which a travelling link meets it".into(),
        ),
        Problem::ShaftTwiceOnChain { shaft, chain } => (
            format!("shaft {} is on chain {} twice: two dots on one sprocket", quoted(shaft), quoted(chain)),
            "again here".into(),
            "first here",
            "a shaft has one sprocket on a chain and that sprocket one dot; remove one entry, or name the shaft that is meant".into(),
        ),
        Problem::ChainTooShort { chain, least } => (
            format!("chain {} has fewer links than its sprockets take up", quoted(chain)),
            format!("at least {least} lie on its two largest sprockets"),
            "",
            "count the links again, and the teeth".into(),
        ),
        Problem::LinkAndLinks => (
            "both 'link' and 'links' on one sprocket".into(),
            "and this".into(),
            "this",
            "keep 'link' if the dot belongs on one link, 'links' if it belongs between two".into(),
        ),
        Problem::LinkPastEnd { link, links } => (
            format!("link {link} is past the chain's end"),
            format!("the last link is {}", links - 1),
            "because of this",
            format!("links are counted from 0 to {}", links - 1),
        ),
        Problem::LinksNotNeighbours { first, second, links } => (
            format!("links {first} and {second} are not next to each other in the direction of travel"),
            "a dot lies between two neighbours".into(),
            "",
            format!("write [{first}, {}]", (first + 1) % i64::from(*links)),
        ),
        Problem::ColourWithoutLink => (
            "a colour without a link".into(),
            "which link has it?".into(),
            "",
            "add 'link: ...', or remove the colour".into(),
        ),
        Problem::LinkShared { link, shaft } => (
            format!("link {} lies on two dots", numbers::exact(link.get())),
            "again here".into(),
            "and here",
            format!("'{shaft}' has it already; count this one again from there"),
        ),
        Problem::LinksOutOfOrder { chain, reversed } => (
            format!("the link numbers of chain {} do not rise along its path", quoted(chain)),
            "lower than the one before".into(),
            "the one before",
            if *reversed {
                "they fall all along: number the links in the direction of travel, or turn the order of the path around".into()
            } else {
                "a sprocket that a link meets later carries a higher number; put the path in the order of travel, or count the links again".into()
            },
        ),
        Problem::ShaftNotDriven { shaft } => (
            format!("no chain joins {} to the crankshaft", quoted(shaft)),
            "not driven".into(),
            "",
            "put its sprocket on a chain's path, or leave the shaft out".into(),
        ),
        Problem::RatioOpen { shaft, first, second } => (
            format!(
                "{} would turn at two speeds: {} by chain '{}', {} by chain '{}'",
                quoted(shaft), first.1, first.0, second.1, second.0
            ),
            format!("{} turns per crank turn this way", second.1),
            "the other way",
            "tooth counts around a closed loop must multiply to 1; count the teeth again, or see whether one sprocket is on the outside".into(),
        ),
        Problem::CamshaftSpeed { shaft, ratio, teeth } => (
            format!(
                "camshaft {} turns {} times for each crank turn, not 1/2",
                quoted(shaft),
                ratio.abs()
            ),
            teeth.map_or_else(|| "no tooth count here makes it half speed".into(), |teeth| format!("{teeth} teeth would make it half speed")),
            "this camshaft",
            teeth.map_or_else(
                || "a four-stroke camshaft turns at exactly half crank speed; count the teeth of every sprocket on the way to it again".into(),
                |teeth| format!("a four-stroke camshaft turns at exactly half crank speed; count again: 'teeth: {teeth}' here would do, or another sprocket on the way is wrong"),
            ),
        ),
        Problem::TooIntricate => (
            "these tooth counts give fractions too fine to be held exactly".into(),
            "among these shafts".into(),
            "",
            "every shaft must turn at 1/100 to 100 times crank speed, in fractions under a million; count the teeth again".into(),
        ),
        Problem::NothingToSee { shaft } => (
            format!("{} has neither a coloured link nor a dot", quoted(shaft)),
            "nothing could prove its timing".into(),
            "",
            "give one of its sprockets 'link: ...', 'links: [..., ...]' or 'dot: ...'".into(),
        ),
        Problem::LinksCannotProve { shaft, chain, at } => (
            format!("the links alone cannot prove {}", quoted(shaft)),
            format!("'{at}' has no coloured link on chain '{chain}'"),
            "",
            "only its dot against the engine can (--dot); give a 'link' here if the chain has one".into(),
        ),
        Problem::DotAngle { angle } => (
            format!("a dot at {} degrees is outside of one turn", numbers::exact(angle.get())),
            "from 0 up to 360".into(),
            "",
            "give it in degrees clockwise from twelve o'clock, from 0 up to but not including 360".into(),
        ),
        Problem::TooFewOf { what, found, min } => (
            format!("{found} {what}, at least {min} are needed"),
            "too few here".into(),
            "",
            format!("give {min} or more"),
        ),
        Problem::BadEvent { text, reason } => (
            format!("{} is no valve event", quoted(text)),
            reason.to_string(),
            "",
            "write it as the trade does: 12 BTDC, 5 ATDC, 48 ABDC, 40 BBDC, TDC or BDC".into(),
        ),
        Problem::EventDeadCentre { kind, event, found, expected } => (
            format!("{kind} valves cannot have '{event}: {found}'"),
            format!("counted from {}", found.centre),
            "because of this kind",
            format!("of {kind} valves '{event}' is counted from {expected}, before (B{expected}) or after it (A{expected})"),
        ),
        Problem::ValveDuration { duration } => (
            format!("these valves would be open for {} crank degrees", numbers::exact(duration.get())),
            "by this closing".into(),
            "and this opening",
            "it must be more than 0 and at most 360; look at B (before) and A (after) again".into(),
        ),
        Problem::ValvesNotOnCamshaft { shaft } => (
            format!("{} is no camshaft and opens no valves", quoted(shaft)),
            "this shaft".into(),
            "because of this kind",
            "name the camshaft that opens these valves, or make this shaft a camshaft".into(),
        ),
        Problem::LiftAndTable => (
            "both 'lift' and 'lift_table' for the same valves".into(),
            "and this".into(),
            "this",
            "keep the table if you have one: its top is the most lift".into(),
        ),
        Problem::StatedLift { at_lift, most } => (
            format!(
                "events stated at {} mm of {} mm lift",
                numbers::exact(*at_lift),
                numbers::exact(*most)
            ),
            "more than half of the most lift".into(),
            "this most lift",
            "events are stated near the seat, commonly at 1 mm; give both in mm".into(),
        ),
        Problem::LiftTable { fault } => {
            let (what, help) = match fault {
                LiftTableFault::NotRising => (
                    "its degrees do not rise",
                    "each point needs at least 0.001 crank degrees more than the one before",
                ),
                LiftTableFault::NotFromZero => (
                    "it does not begin and end at 0 mm",
                    "give the whole lobe, from the seat to the seat",
                ),
                LiftTableFault::NotOneTop => (
                    "its lift does not rise to one top and fall from there",
                    "a lobe has one nose; count the values again",
                ),
                LiftTableFault::TooLong => (
                    "it is longer than 720 crank degrees",
                    "give crank degrees, two for each degree of the camshaft, over one lobe",
                ),
                LiftTableFault::TooLow => (
                    "it never lifts above 'at_lift'",
                    "give both in mm; the table must rise above the lift at which the events are stated",
                ),
            };
            (
                format!("this lift table is no lobe: {what}"),
                "from here on".into(),
                "",
                help.into(),
            )
        }
        Problem::LiftTableDuration { stated, by_table_tenths } => (
            format!(
                "the lift table is open for {}.{} crank degrees at the stated lift, the events say {}",
                by_table_tenths / 10,
                by_table_tenths % 10,
                numbers::exact(stated.get())
            ),
            "this table".into(),
            "this closing",
            "the opening is taken as stated and the closing from the table; give crank degrees (two for each camshaft degree), or correct the events".into(),
        ),
        Problem::FiringOrder { count, missing } => (
            format!("this firing order does not name each of {count} cylinders once"),
            format!("cylinder {missing} is missing"),
            "",
            format!("list the numbers 1 to {count} once each, in the order in which they fire"),
        ),
        Problem::OffsetCount { found, cylinders } => (
            format!("{found} offsets for {cylinders} cylinders"),
            format!("one for each of {cylinders} cylinders is needed"),
            "because of this",
            "give one for each cylinder, cylinder 1 first, or leave 'offsets' out for even firing".into(),
        ),
        Problem::OffsetsAgainstFiringOrder { cylinder } => (
            "by these offsets the cylinders fire in another order".into(),
            format!("cylinder {cylinder} is out of turn"),
            "than this",
            "offsets stand in the order of the cylinders' numbers, cylinder 1 first, not in the firing order".into(),
        ),
        Problem::RodTooShort { stroke } => (
            "this rod is too short for the stroke".into(),
            "the crank would not pass".into(),
            "this stroke",
            format!(
                "it must be longer than half the stroke of {} mm; a rod is measured from centre to centre",
                numbers::exact(*stroke)
            ),
        ),
        Problem::ValveCylinder { cylinder, count, twice } => (
            if *twice {
                format!("cylinder {cylinder} is listed twice")
            } else {
                format!("there is no cylinder {cylinder}")
            },
            if *twice { "again here".into() } else { "not in the firing order".into() },
            "the cylinders",
            if *count == 0 {
                "add a 'cylinders:' section with a firing order, or leave the list out".into()
            } else {
                format!("list each of the cylinders 1 to {count} at most once, or leave the list out for all")
            },
        ),
    };
    Words {
        title,
        label,
        related,
        help,
    }
}

fn found_words(found: &str) -> String {
    match found
        .strip_prefix('\'')
        .and_then(|rest| rest.strip_suffix('\''))
    {
        Some(text) => quoted(text),
        None => found.to_owned(),
    }
}
