//! YAML text to a tree of nodes, each with its place. Nothing is interpreted here: a scalar is its
//! text, so that `3/2`, `1.50` and `1e400` reach our own exact reading and never a float.

use crate::spec::finding::{Finding, Problem, ReadingProblem};
use crate::spec::source::{Source, Span};
use granit_parser::{Event, Parser, ScalarStyle};
use std::collections::HashMap;
use std::rc::Rc;

/// Deepest nesting that is read.
pub(crate) const MAX_DEPTH: usize = 32;
/// Most values that are read; an alias counts as all that it stands for.
pub(crate) const MAX_NODES: usize = 50_000;
/// Most bytes of text that aliases may repeat: few values can be long ones.
pub(crate) const MAX_REPEATED: usize = 1 << 18;

/// A value as written.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) span: Span,
    pub(crate) value: Value,
    size: Size,
}

/// How much a node and all below it are.
#[derive(Clone, Copy, Debug, Default)]
struct Size {
    values: usize,
    bytes: usize,
}

/// What an anchor keeps is shared, not copied: anchors may stand within anchors.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    Scalar { text: String, plain: bool },
    List(Rc<[Node]>),
    Map(Rc<[(Key, Node)]>),
}

/// A key as written.
#[derive(Clone, Debug)]
pub(crate) struct Key {
    pub(crate) text: String,
    pub(crate) span: Span,
}

impl Node {
    /// What stands here, in words for a message.
    pub(crate) fn kind(&self) -> String {
        match &self.value {
            // However it is written, and if nothing is; the parser gives "~" for that.
            Value::Scalar { .. } if self.is_nothing() => "nothing".into(),
            Value::Scalar { text, .. } => format!("'{text}'"),
            Value::List(items) => match items.len() {
                1 => "a list of one value".into(),
                n => format!("a list of {n} values"),
            },
            Value::Map(_) => "a mapping".into(),
        }
    }

    /// The key's value; the first one where the key stands twice.
    pub(crate) fn get(&self, key: &str) -> Option<&Node> {
        match &self.value {
            Value::Map(pairs) => pairs
                .iter()
                .find_map(|(k, node)| (k.text == key).then_some(node)),
            _ => None,
        }
    }

    /// Is it YAML's way of writing nothing?
    pub(crate) fn is_nothing(&self) -> bool {
        matches!(&self.value, Value::Scalar { text, plain: true } if matches!(text.as_str(), "" | "~" | "null" | "Null" | "NULL"))
    }
}

/// A collection that is still open.
struct Open {
    span: Span,
    anchor: usize,
    size: Size,
    content: Content,
}

enum Content {
    List(Vec<Node>),
    Map(Vec<(Key, Node)>, Option<Key>),
}

/// Reads the one document in `source`.
///
/// # Errors
/// The one finding that ended the reading.
pub(crate) fn read(source: &Source) -> Result<Node, Box<Finding>> {
    let options = granit_parser::options! {
        emit_comments: false,
        flow_nesting_limit: 2 * MAX_DEPTH,
        block_nesting_limit: 2 * MAX_DEPTH,
    };
    let mut open: Vec<Open> = Vec::new();
    let mut anchors: HashMap<usize, Node> = HashMap::new();
    let mut root: Option<Node> = None;
    let mut count = 0_usize;
    let mut repeated = 0_usize;
    let mut documents = 0_u32;

    for event in Parser::new_from_str_with_options(source.text(), options) {
        let (event, place) = event.map_err(|error| {
            let start = byte_of(source, error.marker());
            let end = source.text()[start..]
                .chars()
                .next()
                .map_or(start, |c| start + c.len_utf8());
            let problem = match error.kind() {
                granit_parser::ErrorKind::RecursionLimitExceeded => {
                    ReadingProblem::TooDeep { max: MAX_DEPTH }
                }
                _ => ReadingProblem::NotYaml {
                    reason: error.info(),
                },
            };
            failed(problem, Span { start, end })
        })?;
        let span = place.byte_range().map_or(Span::default(), |range| Span {
            start: range.start,
            end: range.end,
        });
        let node = match event {
            Event::DocumentStart(..) => {
                documents += 1;
                if documents > 1 {
                    return Err(failed(ReadingProblem::SecondDocument, span));
                }
                continue;
            }
            Event::Scalar(text, style, anchor, _) => {
                counted(&mut count, 1, span)?;
                let node = Node {
                    span,
                    size: Size {
                        values: 1,
                        bytes: text.len(),
                    },
                    value: Value::Scalar {
                        text: text.into_owned(),
                        plain: style == ScalarStyle::Plain,
                    },
                };
                keep(&mut anchors, anchor, &node);
                node
            }
            Event::Alias(id) => {
                let node = anchors
                    .get(&id)
                    .ok_or_else(|| failed(ReadingProblem::AliasLoop, span))?;
                counted(&mut count, node.size.values, span)?;
                repeated += node.size.bytes;
                if repeated > MAX_REPEATED {
                    return Err(failed(
                        ReadingProblem::TooMuchRepeated { max: MAX_REPEATED },
                        span,
                    ));
                }
                node.clone()
            }
            Event::SequenceStart(_, anchor, _) | Event::MappingStart(_, anchor, _) => {
                if open.len() == MAX_DEPTH {
                    return Err(failed(ReadingProblem::TooDeep { max: MAX_DEPTH }, span));
                }
                counted(&mut count, 1, span)?;
                open.push(Open {
                    span,
                    anchor,
                    size: Size {
                        values: 1,
                        bytes: 0,
                    },
                    content: if matches!(event, Event::SequenceStart(..)) {
                        Content::List(Vec::new())
                    } else {
                        Content::Map(Vec::new(), None)
                    },
                });
                continue;
            }
            Event::SequenceEnd | Event::MappingEnd => {
                let Some(done) = open.pop() else { continue };
                let node = Node {
                    span: Span {
                        start: done.span.start,
                        end: done.span.end.max(span.end.min(source.text().len())),
                    },
                    value: match done.content {
                        Content::List(items) => Value::List(items.into()),
                        Content::Map(pairs, _) => Value::Map(pairs.into()),
                    },
                    size: done.size,
                };
                keep(&mut anchors, done.anchor, &node);
                node
            }
            _ => continue,
        };
        match open.last_mut() {
            None => root = Some(node),
            Some(parent) => {
                parent.size.values += node.size.values;
                parent.size.bytes += node.size.bytes;
                match &mut parent.content {
                    Content::List(items) => items.push(node),
                    Content::Map(pairs, key) => match key.take() {
                        Some(key) => pairs.push((key, node)),
                        None => match node.value {
                            Value::Scalar { text, .. } => {
                                *key = Some(Key {
                                    text,
                                    span: node.span,
                                });
                            }
                            _ => return Err(failed(ReadingProblem::KeyNotText, node.span)),
                        },
                    },
                }
            }
        }
    }
    root.filter(|node| !node.is_nothing())
        .ok_or_else(|| Box::new(Finding::of_file(ReadingProblem::Empty)))
}

fn failed(problem: impl Into<Problem>, span: Span) -> Box<Finding> {
    Box::new(Finding::new(problem, span))
}

/// Adds `more` values to the count of what was read.
fn counted(count: &mut usize, more: usize, span: Span) -> Result<(), Box<Finding>> {
    *count += more;
    if *count > MAX_NODES {
        return Err(failed(ReadingProblem::TooMany { max: MAX_NODES }, span));
    }
    Ok(())
}

/// Keeps an anchored node for the aliases to come; anchor 0 is none.
fn keep(anchors: &mut HashMap<usize, Node>, anchor: usize, node: &Node) {
    if anchor != 0 {
        anchors.insert(anchor, node.clone());
    }
}

/// The byte that a marker of the parser stands for. Some errors carry only line and column.
fn byte_of(source: &Source, marker: &granit_parser::Marker) -> usize {
    let text = source.text();
    let start = marker.byte_offset().unwrap_or_else(|| {
        let line_start: usize = text
            .split_inclusive('\n')
            .take(marker.line().saturating_sub(1))
            .map(str::len)
            .sum();
        let column: usize = text[line_start..]
            .chars()
            .take(marker.col())
            .map(char::len_utf8)
            .sum();
        line_start + column
    });
    let mut start = start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    start
}
