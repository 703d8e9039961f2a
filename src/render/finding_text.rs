//! Findings in words, drawn under the lines that they are about.

use super::words::escape::printable;
use crate::render::words::numbers::{self, decimal};
use crate::spec::finding::{
    AlsoRight, Finding, LiftTableFault, PartName, Piece, Problem, Severity,
};
use crate::spec::format::MAX_TEXT;
use crate::spec::source::{Position, Source, Span};
use crate::units::quantity::{Exact, LinkPosition, NumberError};
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
        Problem::MarksAmbiguous { chain, also, off, more } => (
            match also {
                AlsoRight::InsideOut { .. } => format!("chain {} looks right when it is hung inside out, too", quoted(chain)),
                AlsoRight::LinksMoved { .. } => format!("chain {} looks right when each dot lies on another one's link, too", quoted(chain)),
                AlsoRight::MarkedAs { chain: other } => format!("the chain marked for {} looks right in the place of {}, too", quoted(other), quoted(chain)),
            },
            {
                let how = match also {
                    AlsoRight::InsideOut { links } | AlsoRight::LinksMoved { links } => {
                        let pairs: Vec<String> = links
                            .iter()
                            .map(|(at, owner)| if at == owner {
                                format!("{at} on its own link")
                            } else {
                                format!("{at} on the link of {owner}")
                            })
                            .collect();
                        format!("{}; ", pairs.join(", "))
                    }
                    AlsoRight::MarkedAs { .. } => String::new(),
                };
                let more = match more {
                    0 => String::new(),
                    1 => ", and one more such way".to_owned(),
                    more => format!(", and {more} more such ways"),
                };
                format!("{how}out of time then: {}{more}", off.join(", "))
            },
            "",
            {
                let colours = match also {
                    AlsoRight::InsideOut { links } if links.iter().all(|(at, owner)| at == owner) => "",
                    _ => "; or tell the links apart by 'colour', if they differ",
                };
                format!("give {} its 'dot: ...', so that it can be looked at against the engine{colours}", one_of(off))
            },
        ),
        Problem::MoreFindings { more } => (
            format!("{more} more findings from here on"),
            "the first of them".into(),
            "",
            "mend those above first; many of these may come of them".into(),
        ),
        Problem::ElongationLimit { limit } => (
            format!("an elongation of {limit} is more than any chain runs with"),
            "5 per cent is 1/20".into(),
            "",
            "give it as a fraction of the length: 1 per cent is 1/100".into(),
        ),
        Problem::TensionerOnTightStrand { chain, slack_before } => (
            format!("this tensioner bears on the strand of chain {} that is pulled tight", quoted(chain)),
            "no slack comes here".into(),
            "",
            format!("slack gathers where the chain leaves the sprocket that drives it, before '{slack_before}'; put the tensioner there, or see whether 'crank_turns' and the order of the path are right"),
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
        Problem::SprocketsOverlap { first, second, apart, least } => (
            format!("sprockets {} and {} overlap", part(first), part(second)),
            "too near".into(),
            "to this one",
            format!("their centres are {} mm apart; more than {} mm would do", decimal(*apart, 1), decimal(*least, 1)),
        ),
        Problem::NoStrand { from, to } => (
            format!("no straight strand leads from {} to {}", part(from), part(to)),
            "cannot be reached".into(),
            "from here",
            "their circles lie in each other; move one of them, make its radius smaller, or see whether it is on the 'outside'".into(),
        ),
        Problem::SprocketNotTouched { part: at, outside } => (
            format!("the chain passes {} without touching it", part(at)),
            "not touched".into(),
            "",
            if *outside {
                "put the path in the order of travel, see whether 'crank_turns' and the signs of 'at' are right (x to the right, y up, facing the timing end), move the shaft towards the chain, or leave out 'outside: true'".into()
            } else {
                "put the path in the order of travel, see whether 'crank_turns' and the signs of 'at' are right (x to the right, y up, facing the timing end), move the shaft, or give it 'outside: true' if the chain's outside drives it".into()
            },
        ),
        Problem::LoopWinds { chain, turns } => (
            format!("chain {} goes round {} times", quoted(chain), decimal(*turns, 0)),
            "once would be right".into(),
            "",
            "see whether 'crank_turns' and the signs of 'at' are right (x to the right, y up, facing the timing end); put the path in the order in which a link meets its parts while the engine turns its normal way, and see which of them are on the 'outside'".into(),
        ),
        Problem::ChainCrosses { chain, first, second, at: [x, y] } => (
            format!("chain {} crosses itself at [{}, {}]", quoted(chain), decimal(*x, 1), decimal(*y, 1)),
            format!("the chain {}", piece(second)),
            "the other piece begins here",
            format!("it meets the chain {}; put the path in the order of travel, or move one of these parts", piece(first)),
        ),
        Problem::StrandThroughSprocket { strand, sprocket, by } => (
            format!("the chain {} runs through {}", piece(strand), part(sprocket)),
            "in its way".into(),
            "this strand begins here",
            format!("it cuts {} mm into the pitch circle; move one of them by more than that, or list this sprocket where the chain meets it", decimal(*by, 1)),
        ),
        Problem::ShoeNotTouched { part: at, gap } => (
            format!("the chain does not touch {}", part(at)),
            "not touched".into(),
            "",
            format!("the chain is {} mm away; move the centre towards it by more than that, or make the radius so much larger", decimal(*gap, 1)),
        ),
        Problem::FewTeethInMesh { part: at, teeth, least, wrap } => (
            format!("only {} teeth of {} are in mesh", decimal(*teeth, 2), part(at)),
            format!("at least {} are wanted", decimal(*least, 0)),
            "",
            format!("a wrap of {} degrees would give them; move it, or a shoe beside it", decimal(*wrap, 0)),
        ),
        Problem::ChainDoesNotFit { chain, links, holds, fits, apart } => (
            format!("chain {} has {links} links, its loop holds {}", quoted(chain), decimal(*holds, 2)),
            "no tensioner makes up for it".into(),
            "",
            would_fit(*fits, apart.map(|apart| format!("{} mm between the centres", decimal(apart, 2)))),
        ),
        Problem::TensionerCannotFit { chain, links, elongation, holds, fits } => (
            format!("no travel of the tensioner lets a chain of {links} links fit, {}", state(*elongation)),
            match holds {
                Some([least, most]) => format!("the loop holds {} to {} links", decimal(*least, 2), decimal(*most, 2)),
                None => format!("chain {}", quoted(chain)),
            },
            "this tensioner",
            would_fit(*fits, None),
        ),
        Problem::TensionerSlackens { pushes, opposite } => (
            format!("pushing towards {} degrees, the tensioner slackens the chain", decimal(*pushes, 1)),
            "away from the chain".into(),
            "",
            format!("'pushes: {}' would tighten it", decimal(*opposite, 1)),
        ),
        Problem::TensionerOutOfStroke { chain, elongation, travel, stroke, would_do, centre, fits, marks_say_so } => {
            let or_links = fits.map_or(String::new(), |links| format!(", or a chain of {links} links"));
            let chain = format!("chain {}, {},", quoted(chain), state(*elongation));
            match centre {
                _ if *marks_say_so => (
                    format!("{chain} needs {} mm of its tensioner, which has {}", decimal(*travel, 1), decimal(*stroke, 1)),
                    "the marks are those of another chain".into(),
                    "this tensioner",
                    format!("{} would fit the marks and the tensioner", fits.map_or_else(|| "another number".into(), |links| format!("'links: {links}'"))),
                ),
                Some([x, y]) => (
                    format!("{chain} does not go over its tensioner: that would have to give way by {} mm more", decimal(travel.abs(), 1)),
                    "in the way, pushed all the way back".into(),
                    "for this chain",
                    format!("pushed back at [{}, {}] it would fit{or_links}", decimal(*x, 1), decimal(*y, 1)),
                ),
                None => (
                    format!("{chain} needs {} mm of its tensioner, which has {}", decimal(*travel, 1), decimal(*stroke, 1)),
                    "too short".into(),
                    "for this chain",
                    format!("'stroke: {}' would do{or_links}", decimal(*would_do, 1)),
                ),
            }
        }
        Problem::DotOffChain { part: at, dot, chain_lies: [from, to], clockwise } => (
            format!("no chain lies on the dot of {} at {} degrees", part(at), decimal(*dot, 1)),
            "its coloured link cannot be here".into(),
            "",
            format!(
                "the chain lies on it from {} {} to {} degrees; give a dot there, in degrees clockwise from twelve o'clock (not radians)",
                decimal(*from, 1),
                if *clockwise { "clockwise" } else { "counter-clockwise" },
                decimal(*to, 1)
            ),
        ),
        Problem::LinksDisagree { part: at, from, marked, counted, off, degrees, link, links, dot } => (
            format!(
                "from the dot of {} to the dot of {} the marks make {} links, the path {}",
                part(from), part(at), numbers::exact(*marked), decimal(*counted, 2)
            ),
            format!(
                "{} {}, {} degrees of this sprocket",
                links_of(off.abs()),
                if *off < 0.0 { "behind" } else { "ahead" },
                decimal(degrees.abs(), 1)
            ),
            "counted from here",
            match dot {
                Some(dot) => format!("{} or dot {} would agree", link_key(*link, *links), decimal(*dot, 1)),
                None => format!("{} would agree; count the links again", link_key(*link, *links)),
            },
        ),
        Problem::PitchNotStandard { pitch, nearest } => (
            format!("a pitch of {} mm is in no series of ISO 606", numbers::exact(*pitch)),
            "perhaps a chain made for this engine".into(),
            "",
            format!("the nearest that is one: {} mm", numbers::exact(*nearest)),
        ),
        Problem::GeometryIncomplete { chain, shafts, pitch } => (
            format!("chain {} cannot be laid in the plane", quoted(chain)),
            match (shafts.as_slice(), pitch) {
                ([], _) => "'pitch' is missing".into(),
                (names, false) => format!("'at' is missing for {}", names.join(", ")),
                (names, true) => format!("'pitch' is missing, and 'at' for {}", names.join(", ")),
            },
            "",
            "give every shaft its 'at: [x, y]' and every chain its 'pitch' to have centres, lengths and marks checked against each other".into(),
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

fn part(name: &PartName) -> String {
    match name {
        PartName::Sprocket(shaft) => format!("'{shaft}'"),
        PartName::Guide => "the guide".into(),
        PartName::Tensioner => "the tensioner".into(),
    }
}

fn piece(piece: &Piece) -> String {
    match piece {
        Piece::Strand(from, to) => format!("from {} to {}", part(from), part(to)),
        Piece::On(at) => format!("on {}", part(at)),
    }
}

/// `link 46`, or `links [45, 46]` for a half.
fn link_key(link: LinkPosition, links: u16) -> String {
    let first = link.get().floor();
    if link.get().is_whole() {
        format!("link {first}")
    } else {
        format!("links [{first}, {}]", (first + 1) % i128::from(links))
    }
}

/// `1 link`, `0.5 links`.
fn links_of(count: f64) -> String {
    match decimal(count, 2).as_str() {
        "1" => "1 link".into(),
        n => format!("{n} links"),
    }
}

/// `new`, or `grown by 1/100`.
fn state(elongation: Exact) -> String {
    if elongation.is_zero() {
        "new".into()
    } else {
        format!("grown by {elongation}")
    }
}

fn would_fit(links: Option<u16>, otherwise: Option<String>) -> String {
    match (links, otherwise) {
        (Some(links), Some(other)) => format!("'links: {links}' or {other} would fit"),
        (Some(links), None) => {
            format!("'links: {links}' would fit; count them again, or move a shaft")
        }
        (None, Some(other)) => format!("{other} would fit"),
        (None, None) => "no number of links fits; move a shaft or the tensioner".into(),
    }
}

fn one_of(names: &[String]) -> String {
    match names {
        [one] => quoted(one),
        many => format!(
            "one of {}",
            many.iter()
                .map(|name| quoted(name))
                .collect::<Vec<_>>()
                .join(", ")
        ),
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
