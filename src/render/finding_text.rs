//! Findings in words, drawn under the lines that they are about.

use super::printable;
use crate::finding::{Finding, Problem, Severity};
use crate::format::MAX_TEXT;
use crate::quantity::NumberError;
use crate::render::numbers;
use crate::source::{Position, Source, Span};
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use serde_json::{Value, json};
use std::borrow::Cow;

/// Columns further apart than this are not drawn in one picture.
const FAR: usize = 200;

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

/// The text as it can be shown: a `?` for each character that a terminal would act on, so that
/// columns, which count characters, stay what they are.
fn visible(text: &str) -> Cow<'_, str> {
    let hidden = |c: char| crate::conform::is_unprintable(c) && !matches!(c, '\n' | '\t');
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
    let words = words(&finding.problem);
    let place = |span: Span| {
        let position = source.position(span);
        json!({ "line": position.line, "column": position.column, "text": clipped(source.slice(span), MAX_TEXT) })
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
    format!("'{}'", clipped(text, 40))
}

/// The text, or so many characters of it.
fn clipped(text: &str, most: usize) -> Cow<'_, str> {
    match text.char_indices().nth(most) {
        None => Cow::Borrowed(text),
        Some((end, _)) => Cow::Owned(format!("{}...", &text[..end])),
    }
}

/// What to do about a place at which the YAML parser gave up.
fn yaml_help(reason: &str) -> &'static str {
    let says = |word| reason.contains(word);
    if says("tabs") {
        "indent with blanks: YAML takes no tabs there"
    } else if says("mapping values are not allowed") {
        "a colon and a blank begin a value: put a text that has them in quotes, or look at the indentation"
    } else if says("unknown anchor") {
        "no '&' with that name stands before it: write the value out, or put the text in quotes"
    } else if says("unexpected character") {
        "put a text that begins with or has this character in quotes"
    } else if says("unclosed") || says("mismatched") {
        "close it, or put it in quotes if it belongs to a text"
    } else {
        "look at the indentation, and for a missing quote, bracket or brace just before this place"
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
            yaml_help(reason).into(),
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
        Problem::TooMuchRepeated { max } => (
            format!("aliases repeat more than {} KiB of text", max / 1024),
            "reading stopped here".into(),
            "",
            "no spec needs that much; write out what the aliases repeat".into(),
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
            match key.split_once(':') {
                _ if key == "<<" => "merge keys are not taken: write the keys out, or use an alias for the whole value".into(),
                Some((word, _)) if known.contains(&word) => format!("put a blank after the colon: '{word}: ...'"),
                _ => did_you_mean(*nearest, || format!("known here: {}", known.join(", "))),
            },
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
                if *whole && *reason == NumberError::Form {
                    "not a whole number".into()
                } else {
                    reason.to_string()
                },
                "",
                if *whole {
                    "write it with digits only, such as 36".into()
                } else {
                    "write it as 8, 9.525 or 1/100; powers of ten, inf and nan are not taken".into()
                },
            )
        }
        Problem::OutOfBounds { text, min, max, unit, above } => (
            if min == max {
                format!("expected {min} {unit}, found {}", quoted(text))
            } else if *above {
                format!("{} is not in the required range of above {min} and up to {max} {unit}", quoted(text))
            } else {
                format!("{} is not in the required range of {min}..={max} {unit}", quoted(text))
            },
            if min == max { "not known here" } else { "out of range" }.into(),
            "",
            if min == max {
                format!("write {min}; no other is known here")
            } else if *above {
                format!("give a value above {min}, {max} at most")
            } else {
                format!("give a value from {min} to {max}")
            },
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
            match text.chars().count() {
                n if n > MAX_TEXT => format!("this text is {n} characters long, {MAX_TEXT} at most are taken"),
                _ => format!("{} has characters that cannot be shown", quoted(text)),
            },
            if text.chars().count() > MAX_TEXT { "too long" } else { "control or invisible characters" }.into(),
            "",
            format!("use printable characters, {MAX_TEXT} at most"),
        ),
        Problem::TooManyOf { what, found, max } => (
            format!("{found} {what}, at most {max} are taken"),
            "too many here".into(),
            "",
            format!("leave out what is not part of the timing drive, down to {max} {what}"),
        ),
        Problem::UnknownEntry { known } => (
            format!("this entry must name one of: {}", known.join(", ")),
            "what is this?".into(),
            "",
            "give it the key of what it is".into(),
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
                1 => "one sprocket only".into(),
                n => format!("{n} sprockets only"),
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
            "the chain has this many",
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
            if link.get().is_whole() {
                format!("link {} is given for two dots", numbers::exact(link.get()))
            } else {
                format!("the place after link {} is given for two dots", link.get().floor())
            },
            "again here".into(),
            "first given here",
            format!("{} has it already; count this one again from there", quoted(shaft)),
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
            "put its sprocket on the path of a chain that the crankshaft drives, or leave the shaft out".into(),
        ),
        Problem::RatioOpen { shaft, first, second } => (
            format!(
                "{} would turn at two speeds: {} by chain {}, {} by chain {}",
                quoted(shaft), first.1, quoted(&first.0), second.1, quoted(&second.0)
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
            format!("{} has no coloured link on chain {}", quoted(at), quoted(chain)),
            "",
            "only its dot against the engine can (--dot); give a 'link' here if the chain has one".into(),
        ),
        Problem::MoreFindings { more } => (
            format!("{more} more findings from here on"),
            "the first of them".into(),
            "",
            "mend those above first; many of these may come of them".into(),
        ),
        Problem::DotAngle { angle } => (
            format!("a dot at {} degrees is outside of one turn", numbers::exact(angle.get())),
            "from 0 up to 360".into(),
            "",
            "give it in degrees clockwise from twelve o'clock, from 0 up to but not including 360".into(),
        ),
        Problem::UnknownNeed { what, name, nearest } => (
            format!("no {what} is called {}", quoted(name)),
            format!("not under '{what}s:'"),
            "",
            did_you_mean(nearest.as_deref(), || format!("add it under '{what}s:'")),
        ),
        Problem::NeededTwice { what, name } => (
            format!("{what} {} is taken by two steps", quoted(name)),
            "again here".into(),
            "first here",
            "leave it to the step that fits it, or give what the other step takes a name of its own".into(),
        ),
        Problem::InNoStep { what, name } => (
            format!("no step takes the {what} {}", quoted(name)),
            "when is it needed?".into(),
            "",
            format!("add it to '{what}s:' of the step that takes it"),
        ),
        Problem::StepTwice { name } => (
            format!("two steps are called {}", quoted(name)),
            "again here".into(),
            "first here",
            "give each step a name of its own".into(),
        ),
        Problem::StepRepeats { what } => (
            format!("'{what}' is given to two steps"),
            "again here".into(),
            "first here",
            "keep it on the step at whose end it must be proven".into(),
        ),
        Problem::StepMissing { what } => (
            format!("no step has '{what}'"),
            "one of these must have it".into(),
            "",
            "a job proves the marks at all three stages and has all three gates; add it to a step, or leave out 'steps:' altogether".into(),
        ),
        Problem::StepOrder { first, second } => (
            format!("'{second}' must come in a step after '{first}'"),
            "too early here".into(),
            "must come before it",
            "order: hung, release, released, turned, cover, sign-off; each in a step of its own".into(),
        ),
        Problem::AfterSignOff => (
            "a step after the sign-off".into(),
            "comes after it".into(),
            "the sign-off",
            "make the sign-off the last step".into(),
        ),
        Problem::TorqueUnreadable { text, reason } => (
            format!("{} is no stage of tightening", quoted(text)),
            reason.to_string(),
            "",
            "write each stage as '30 N m', '22 lbf ft', '90 lbf in' or '90 deg'".into(),
        ),
        Problem::AngleFirst => (
            "tightening begins with an angle".into(),
            "an angle from where?".into(),
            "",
            "an angle counts from the torque before it; give that torque first".into(),
        ),
        Problem::HistoryBroken { entry } => (
            format!("entry {entry} of the history is not as it was written"),
            "it, or one before it, was changed, moved or removed".into(),
            "",
            "nothing in this file is trusted now: take an unchanged copy, or begin a new job".into(),
        ),
        Problem::HistoryCut => (
            "the history does not end as it was written".into(),
            "the last entry has another checksum".into(),
            "",
            "entries were cut off or added by hand: take an unchanged copy, or begin a new job".into(),
        ),
        Problem::EntryUnreadable { reason } => (
            format!("this entry cannot be read: {reason}"),
            "this entry".into(),
            "",
            "take an unchanged copy, or begin a new job".into(),
        ),
        Problem::NoRecord => (
            "there is no record in this file".into(),
            String::new(),
            "",
            "`tautmark ask SPEC --record FILE` writes one".into(),
        ),
        Problem::OtherEngine { found, expected } => (
            format!("this record is of {}, the spec of {}", quoted(found), quoted(expected)),
            "another engine".into(),
            "",
            "give the spec that the record was made with".into(),
        ),
        Problem::OtherDrive => (
            "the drive in the spec is not the one that was looked at".into(),
            "its teeth, links or marks were others".into(),
            "",
            "give the spec as it was then, or look at every mark again".into(),
        ),
        Problem::SeenUnreadable { text, reason } => (
            format!("{} does not say where a dot stands", quoted(text)),
            "where is it?".into(),
            "",
            reason.clone(),
        ),
        Problem::SeenImpossible { reason } => (
            "this cannot have been seen on this drive".into(),
            "not on this drive".into(),
            "",
            reason.clone(),
        ),
        Problem::SeenAndNotSeen { at } => (
            format!("{} is given as seen and as not seen", quoted(at)),
            "not seen".into(),
            "seen",
            "keep what is true".into(),
        ),
        Problem::StageTurns { stage, must_turn } => (
            if *must_turn {
                format!("stage '{stage}' needs the crank turns by which it was turned")
            } else {
                format!("stage '{stage}' is looked at before the engine is turned")
            },
            if *must_turn { "turned how far?" } else { "not turned yet" }.into(),
            "",
            if *must_turn {
                "add 'turned: 2', or however many crank turns it was".into()
            } else {
                "remove 'turned', or call the stage 'turned'".into()
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
