//! A tree of nodes against the tables of `format`: every departure is a finding, and reading goes
//! on after each, so that one run reports every mistake.

use crate::spec::finding::{Finding, ValueProblem};
use crate::spec::format::{MAX_NAME, MAX_TEXT, Record, Shape};
use crate::spec::source::Span;
use crate::spec::yaml::{Key, Node, Value};
use crate::units::cycle::TradeAngle;
use crate::units::quantity::{Exact, NumberError};
use std::collections::HashMap;

/// Checks `node` against `record`.
pub(crate) fn record(node: &Node, record: &'static Record, findings: &mut Vec<Finding>) {
    record_of_variants(node, record, None, findings);
}

fn record_of_variants(
    node: &Node,
    record: &'static Record,
    place: Option<Span>,
    findings: &mut Vec<Finding>,
) {
    let Value::Map(pairs) = &node.value else {
        wrong_type(node, "a mapping of keys to values", findings);
        return;
    };
    no_key_twice(pairs, findings);
    for (key, value) in pairs.iter() {
        match record.fields.iter().find(|field| field.key == key.text) {
            Some(field) => shape(value, &field.shape, findings),
            None => {
                let known = || record.fields.iter().map(|field| field.key);
                findings.push(Finding::new(
                    ValueProblem::UnknownKey {
                        key: key.text.clone(),
                        nearest: nearest(&key.text, known()),
                        known: known().collect(),
                    },
                    key.span,
                ));
            }
        }
    }
    for field in record.fields.iter().filter(|field| field.required) {
        if !pairs.iter().any(|(key, _)| key.text == field.key) {
            // A mapping in braces is a place one can point at; of one in block form, its first key.
            let span = place
                .or_else(|| pairs.first().map(|(key, _)| key.span))
                .unwrap_or(node.span);
            findings.push(Finding::new(
                ValueProblem::MissingKey {
                    key: field.key,
                    record: record.title,
                    about: field.about,
                },
                span,
            ));
        }
    }
}

fn shape(node: &Node, wanted: &Shape, findings: &mut Vec<Finding>) {
    match *wanted {
        Shape::Text => text(node, findings),
        // Whether it may be a name is asked where the name is given, and told once.
        Shape::Name => {
            scalar(node, "a name", findings);
        }
        Shape::OwnName => {
            if let Some(written) = scalar(node, "a name", findings) {
                name(written, node.span, findings);
            }
        }
        Shape::Choice(choices) => {
            let words = choices.iter().map(|(word, _)| *word);
            choice(node, "a word", words, findings);
        }
        Shape::Whole { min, max, unit } => number(node, min, max, unit, false, true, findings),
        Shape::Number {
            min,
            max,
            unit,
            above,
        } => number(node, min, max, unit, above, false, findings),
        Shape::Flag => choice(
            node,
            "true or false",
            ["true", "false"].into_iter(),
            findings,
        ),
        Shape::Pair(inner, expected) => match &node.value {
            Value::List(items) if items.len() == 2 => {
                for item in items.iter() {
                    shape(item, inner, findings);
                }
            }
            _ => wrong_type(node, expected, findings),
        },
        Shape::List {
            of: inner,
            min,
            max,
            what,
        } => list(node, inner, min, max, what, findings),
        Shape::Event => event(node, findings),
        Shape::Record(inner) => record(node, inner, findings),
        Shape::Named {
            record: inner,
            max,
            what,
        } => {
            for (key, value) in pairs_of(node, "a mapping of names", max, what, findings) {
                name(&key.text, key.span, findings);
                record_of_variants(value, inner, Some(key.span), findings);
            }
        }
        Shape::BySprocket {
            value: inner,
            max,
            what,
        } => {
            for (_, value) in pairs_of(node, "a mapping from sprockets", max, what, findings) {
                shape(value, inner, findings);
            }
        }
        Shape::Entries {
            variants,
            max,
            what,
        } => {
            for item in items_of(node, max, what, findings).unwrap_or_default() {
                entry(item, variants, findings);
            }
        }
    }
}

fn choice(
    node: &Node,
    expected: &'static str,
    words: impl Iterator<Item = &'static str> + Clone,
    findings: &mut Vec<Finding>,
) {
    if let Some(written) = scalar(node, expected, findings)
        && !words.clone().any(|word| word == written)
    {
        findings.push(Finding::new(
            ValueProblem::NotAChoice {
                text: written.into(),
                nearest: nearest(written, words.clone()),
                choices: words.collect(),
            },
            node.span,
        ));
    }
}

fn event(node: &Node, findings: &mut Vec<Finding>) {
    if let Some(written) = scalar(node, "a valve event", findings)
        && let Err(reason) = written.parse::<TradeAngle>()
    {
        findings.push(Finding::new(
            ValueProblem::BadEvent {
                text: written.into(),
                reason,
            },
            node.span,
        ));
    }
}

fn list(
    node: &Node,
    inner: &Shape,
    min: usize,
    max: usize,
    what: &'static str,
    findings: &mut Vec<Finding>,
) {
    let Some(items) = items_of(node, max, what, findings) else {
        return;
    };
    let found = items.len();
    if found < min {
        findings.push(Finding::new(
            ValueProblem::TooFewOf { what, found, min },
            node.span,
        ));
    }
    for item in items {
        shape(item, inner, findings);
    }
}

/// The items of a list; `None` where it is no list.
fn items_of<'n>(
    node: &'n Node,
    max: usize,
    what: &'static str,
    findings: &mut Vec<Finding>,
) -> Option<&'n [Node]> {
    let Value::List(items) = &node.value else {
        wrong_type(node, "a list", findings);
        return None;
    };
    too_many(node, items.len(), max, what, findings);
    Some(items)
}

/// The pairs of a mapping with keys of one's own; none where it is no mapping.
fn pairs_of<'n>(
    node: &'n Node,
    expected: &'static str,
    max: usize,
    what: &'static str,
    findings: &mut Vec<Finding>,
) -> &'n [(Key, Node)] {
    let Value::Map(pairs) = &node.value else {
        wrong_type(node, expected, findings);
        return &[];
    };
    no_key_twice(pairs, findings);
    too_many(node, pairs.len(), max, what, findings);
    pairs
}

/// The record of `variants` whose first key stands in `node`.
pub(crate) fn variant(node: &Node, variants: &[&'static Record]) -> Option<&'static Record> {
    variants
        .iter()
        .find(|record| node.get(record.fields[0].key).is_some())
        .copied()
}

fn entry(node: &Node, variants: &'static [&'static Record], findings: &mut Vec<Finding>) {
    if !matches!(node.value, Value::Map(_)) {
        wrong_type(node, "a mapping of keys to values", findings);
    } else if let Some(found) = variant(node, variants) {
        record(node, found, findings);
    } else {
        findings.push(Finding::new(
            ValueProblem::UnknownEntry {
                known: variants.iter().map(|record| record.fields[0].key).collect(),
            },
            node.span,
        ));
    }
}

fn no_key_twice(pairs: &[(Key, Node)], findings: &mut Vec<Finding>) {
    /// So few are compared with each other sooner than they are hashed.
    const FEW: usize = 16;
    let few = pairs.len() <= FEW;
    if few
        && (1..pairs.len()).all(|i| {
            pairs[..i]
                .iter()
                .all(|(key, _)| key.text != pairs[i].0.text)
        })
    {
        return;
    }
    let mut firsts: HashMap<&str, Span> = HashMap::with_capacity(pairs.len());
    for (key, _) in pairs {
        if let Some(first) = firsts.get(key.text.as_str()).copied() {
            findings.push(
                Finding::new(
                    ValueProblem::DuplicateKey {
                        key: key.text.clone(),
                    },
                    key.span,
                )
                .with(first),
            );
        } else {
            firsts.insert(&key.text, key.span);
        }
    }
}

fn too_many(
    node: &Node,
    found: usize,
    max: usize,
    what: &'static str,
    findings: &mut Vec<Finding>,
) {
    if found > max {
        findings.push(Finding::new(
            ValueProblem::TooManyOf { what, found, max },
            node.span,
        ));
    }
}

fn wrong_type(node: &Node, expected: &'static str, findings: &mut Vec<Finding>) {
    findings.push(Finding::new(
        ValueProblem::WrongType {
            expected,
            found: node.kind(),
        },
        node.span,
    ));
}

fn scalar<'a>(
    node: &'a Node,
    expected: &'static str,
    findings: &mut Vec<Finding>,
) -> Option<&'a str> {
    match &node.value {
        Value::Scalar { text, .. } if !node.is_nothing() => Some(text),
        _ => {
            wrong_type(node, expected, findings);
            None
        }
    }
}

fn number(
    node: &Node,
    min: i64,
    max: i64,
    unit: &'static str,
    above: bool,
    whole: bool,
    findings: &mut Vec<Finding>,
) {
    let expected = if whole { "a whole number" } else { "a number" };
    let Some(written) = scalar(node, expected, findings) else {
        return;
    };
    let parsed = Exact::parse(written);
    let problem = match parsed {
        // A number of whatever length is out of bounds rather than too long.
        Err(NumberError::TooLong) | Ok(_) if outside(written, parsed, min, max, above) => {
            ValueProblem::OutOfBounds {
                text: written.into(),
                min,
                max,
                unit,
                above,
            }
        }
        Ok(value) if whole && !value.is_whole() => ValueProblem::NotANumber {
            text: written.into(),
            reason: NumberError::Form,
            whole,
        },
        Ok(_) => return,
        Err(reason) => ValueProblem::NotANumber {
            text: written.into(),
            reason,
            whole,
        },
    };
    findings.push(Finding::new(problem, node.span));
}

fn outside(
    written: &str,
    parsed: Result<Exact, NumberError>,
    min: i64,
    max: i64,
    above: bool,
) -> bool {
    match parsed {
        Ok(value) => {
            let (min, max) = (Exact::whole(min), Exact::whole(max));
            value < min || value > max || (above && value == min)
        }
        Err(_) => {
            let digits = written.trim_start_matches(['+', '-']);
            digits.bytes().all(|byte| byte.is_ascii_digit())
        }
    }
}

fn text(node: &Node, findings: &mut Vec<Finding>) {
    if let Some(written) = scalar(node, "a text", findings)
        && (written.chars().any(is_unprintable) || written.chars().count() > MAX_TEXT)
    {
        findings.push(Finding::new(
            ValueProblem::UnprintableText {
                text: written.into(),
            },
            node.span,
        ));
    }
}

fn name(written: &str, span: Span, findings: &mut Vec<Finding>) {
    let fits = (1..=MAX_NAME).contains(&written.chars().count())
        && written
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'))
        && written.chars().next().is_some_and(char::is_alphanumeric);
    if !fits {
        findings.push(Finding::new(
            ValueProblem::BadName {
                name: written.into(),
            },
            span,
        ));
    }
}

/// Characters that move a terminal's cursor, hide, or turn text around.
pub(crate) fn is_unprintable(c: char) -> bool {
    c.is_control()
        // Noncharacters, the last two of every plane among them, which YAML does not take either.
        || u32::from(c) & 0xfffe == 0xfffe
        || matches!(c, '\u{fdd0}'..='\u{fdef}')
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}')
}

/// The known word that `written` was probably meant to be.
pub(crate) fn nearest<'a>(written: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    // A long text is no slip of the finger, and comparing it would cost time.
    if written.len() > 4 * MAX_NAME {
        return None;
    }
    let written = written.to_lowercase();
    let length = written.chars().count();
    known
        .filter_map(|word| {
            let count = word.chars().count();
            let most = 1.max(count / 3);
            // Words of very different lengths are far apart; comparing them would cost time.
            (count.abs_diff(length) <= most && count <= MAX_NAME)
                .then(|| (strsim::osa_distance(&written, word), word))
                .filter(|(distance, _)| *distance <= most)
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}
