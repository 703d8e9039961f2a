//! YAML text to a tree of nodes, each with its place. Nothing is interpreted here: a scalar is its
//! text, so that `3/2`, `1.50` and `1e400` reach our own exact reading and never a float.

use crate::spec::finding::{Finding, ReadingProblem, words};
use crate::spec::source::{Source, Span};
use granit_parser::{ErrorKind, Event, Marker, Parser, ScalarStyle, ScanError};
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

    /// How many values it is, keys and all that is below it counted.
    pub(crate) fn values(&self) -> usize {
        self.size.values
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
    let mut tree = Tree::default();
    for event in Parser::new_from_str_with_options(source.text(), options) {
        let (event, place) = event.map_err(|error| gave_up(source, &error))?;
        let span = place.byte_range().map_or(Span::default(), |range| Span {
            start: range.start,
            end: range.end,
        });
        tree.take(event, span, source.text().len())?;
    }
    tree.root
        .filter(|node| !node.is_nothing())
        .ok_or_else(|| Box::new(Finding::of_file(ReadingProblem::Empty)))
}

/// The finding for a place at which the parser gave up.
fn gave_up(source: &Source, error: &ScanError) -> Box<Finding> {
    let start = byte_of(source, error.marker());
    let end = source.text()[start..]
        .chars()
        .next()
        .map_or(start, |c| start + c.len_utf8());
    if !matches!(error.kind(), ErrorKind::RecursionLimitExceeded)
        && let Some(cause) = cause(source.text(), start, error.info().contains("tab"))
    {
        return Box::new(cause.with(Span { start, end }));
    }
    let problem = match error.kind() {
        ErrorKind::RecursionLimitExceeded => ReadingProblem::TooDeep { max: MAX_DEPTH },
        _ => ReadingProblem::NotYaml {
            reason: error.info(),
        },
    };
    failed(problem, Span { start, end })
}

/// What a person did before the place `stop` at which the parser gave up, where that can be told: a tab at the head of
/// a line, a character that only looks like a space, a bracket that is not closed.
fn cause(text: &str, stop: usize, at_tab: bool) -> Option<Finding> {
    let at = |start: usize, c: char, problem: ReadingProblem| {
        Some(Finding::new(
            problem,
            Span {
                start,
                end: start + c.len_utf8(),
            },
        ))
    };
    // The character at which it stopped belongs to it, and of a line that it refused the whole.
    let end = text[stop..]
        .find('\n')
        .map_or(text.len(), |line| stop + line);
    let mut open: Vec<(usize, char)> = Vec::new();
    let mut quote = None;
    let mut head = true;
    let mut before = '\n';
    for (place, c) in text[..end].char_indices() {
        match (quote, c) {
            (Some(mark), _) if c == mark => quote = None,
            (Some(_), _) => {}
            (None, '#') if before.is_whitespace() => quote = Some('\n'),
            (None, '"' | '\'') if matches!(before, ' ' | '[' | '{' | ',' | '\n') => {
                quote = Some(c);
            }
            (None, '\t') if head => return at(place, c, ReadingProblem::Tab),
            (None, _) if words::is_odd_space(c) => {
                return at(place, c, ReadingProblem::OddSpace { character: c });
            }
            (None, '[' | '{') if !open.is_empty() || starts_value(before) => {
                open.push((place, c));
            }
            (None, ']' | '}') => {
                // Closed by the other kind: the parser's own words say it.
                let closed = open.pop();
                if closed.is_some_and(|(_, opened)| (opened == '[') != (c == ']')) {
                    return None;
                }
            }
            _ => {}
        }
        head = c == '\n' || head && matches!(c, ' ' | '\t');
        before = c;
    }
    // It may stop before the line break behind which the tab stands.
    if let Some(tab) = text[stop..].find('\t').filter(|_| at_tab) {
        return at(stop + tab, '\t', ReadingProblem::Tab);
    }
    let Some((place, bracket)) = open.pop() else {
        return no_space(text, stop);
    };
    // At a bracket that is closed by another kind the parser points itself.
    if matches!(text[stop..].chars().next(), Some('[' | '{' | ']' | '}')) {
        return None;
    }
    at(place, bracket, ReadingProblem::Unclosed { bracket })
}

/// A key at the head of the line whose colon has no space behind it.
fn no_space(text: &str, stop: usize) -> Option<Finding> {
    let head = text[..stop].rfind('\n').map_or(0, |newline| newline + 1);
    let line = text[head..].lines().next()?;
    let start = line.len() - line.trim_start_matches([' ', '-']).len();
    let colon = start + line[start..].find(':')?;
    let key = &line[start..colon];
    let is_key = !key.is_empty()
        && key
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '_' | '-'));
    (is_key && line[colon + 1..].starts_with(|c: char| !c.is_whitespace())).then(|| {
        Finding::new(
            ReadingProblem::NoSpace {
                key: key.to_owned(),
            },
            Span {
                start: head + colon,
                end: head + colon + 1,
            },
        )
    })
}

/// Can a bracket behind this character start a value?
fn starts_value(before: char) -> bool {
    before.is_whitespace() || matches!(before, '[' | '{' | ',')
}

/// A tree that grows event by event.
#[derive(Default)]
struct Tree {
    /// Collections that are still open, each within the one before.
    open: Vec<Open>,
    /// What the anchors stand for, by the parser's numbers.
    anchors: HashMap<usize, Node>,
    /// The whole document once it is read.
    root: Option<Node>,
    documents: u32,
    /// Values read so far, aliases counted each time.
    count: usize,
    /// Bytes of text that aliases have repeated so far.
    repeated: usize,
}

impl Tree {
    /// Takes the next event of a text of `text` bytes.
    fn take(&mut self, event: Event<'_>, span: Span, text: usize) -> Result<(), Box<Finding>> {
        match event {
            Event::DocumentStart(..) => {
                self.documents += 1;
                if self.documents > 1 {
                    return Err(failed(ReadingProblem::SecondDocument, span));
                }
                Ok(())
            }
            Event::Scalar(text, style, anchor, _) => {
                self.counted(1, span)?;
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
                self.keep(anchor, &node);
                self.place(node)
            }
            Event::Alias(id) => {
                let node = self.repeat(id, span)?;
                self.place(node)
            }
            Event::SequenceStart(_, anchor, _) => {
                self.begin(Content::List(Vec::new()), anchor, span)
            }
            Event::MappingStart(_, anchor, _) => {
                self.begin(Content::Map(Vec::new(), None), anchor, span)
            }
            Event::SequenceEnd | Event::MappingEnd => self.end(span.end.min(text)),
            _ => Ok(()),
        }
    }

    /// Adds `more` values to the count of what was read.
    fn counted(&mut self, more: usize, span: Span) -> Result<(), Box<Finding>> {
        self.count += more;
        if self.count > MAX_NODES {
            return Err(failed(ReadingProblem::TooMany { max: MAX_NODES }, span));
        }
        Ok(())
    }

    /// Keeps an anchored node for the aliases to come; anchor 0 is none.
    fn keep(&mut self, anchor: usize, node: &Node) {
        if anchor != 0 {
            self.anchors.insert(anchor, node.clone());
        }
    }

    /// What an alias stands for.
    fn repeat(&mut self, id: usize, span: Span) -> Result<Node, Box<Finding>> {
        // An anchor is kept when its value ends: within it there is nothing yet to repeat.
        let node = self
            .anchors
            .get(&id)
            .cloned()
            .ok_or_else(|| failed(ReadingProblem::AliasLoop, span))?;
        self.counted(node.size.values, span)?;
        self.repeated += node.size.bytes;
        if self.repeated > MAX_REPEATED {
            let problem = ReadingProblem::TooMuchRepeated { max: MAX_REPEATED };
            return Err(failed(problem, span));
        }
        Ok(node)
    }

    /// Opens a collection.
    fn begin(&mut self, content: Content, anchor: usize, span: Span) -> Result<(), Box<Finding>> {
        if self.open.len() == MAX_DEPTH {
            return Err(failed(ReadingProblem::TooDeep { max: MAX_DEPTH }, span));
        }
        self.counted(1, span)?;
        self.open.push(Open {
            span,
            anchor,
            size: Size {
                values: 1,
                bytes: 0,
            },
            content,
        });
        Ok(())
    }

    /// Closes the collection that was opened last; it ends at byte `end`.
    fn end(&mut self, end: usize) -> Result<(), Box<Finding>> {
        let Some(done) = self.open.pop() else {
            return Ok(());
        };
        let node = Node {
            span: Span {
                start: done.span.start,
                end: done.span.end.max(end),
            },
            value: match done.content {
                Content::List(items) => Value::List(items.into()),
                Content::Map(pairs, _) => Value::Map(pairs.into()),
            },
            size: done.size,
        };
        self.keep(done.anchor, &node);
        self.place(node)
    }

    /// Puts a node where it belongs: into the collection that is open, or at the root.
    fn place(&mut self, node: Node) -> Result<(), Box<Finding>> {
        let Some(parent) = self.open.last_mut() else {
            self.root = Some(node);
            return Ok(());
        };
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
        Ok(())
    }
}

fn failed(problem: ReadingProblem, span: Span) -> Box<Finding> {
    Box::new(Finding::new(problem, span))
}

/// The byte that a marker of the parser stands for. Some errors carry only line and column.
fn byte_of(source: &Source, marker: &Marker) -> usize {
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
