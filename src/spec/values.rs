//! Values of the tree of nodes as what a key may hold: each `None` where conform has found it wrong.

use crate::spec::source::{At, Span};
use crate::spec::yaml::{Node, Value};
use crate::units::quantity::{Exact, LinkCount};
use std::collections::HashSet;

/// Could some chain have that link? If not, a finding says so already.
pub(super) fn is_link(link: i64) -> bool {
    (0..i64::from(LinkCount::MAX)).contains(&link)
}

pub(super) fn key_span(node: &Node, key: &str) -> Span {
    match &node.value {
        Value::Map(pairs) => pairs
            .iter()
            .find_map(|(k, _)| (k.text == key).then_some(k.span))
            .unwrap_or(node.span),
        _ => node.span,
    }
}

pub(super) fn named<T>(node: &Node, key: &str, make: impl Fn(At<String>, &Node) -> T) -> Vec<T> {
    let Some(Value::Map(pairs)) = node.get(key).map(|node| &node.value) else {
        return Vec::new();
    };
    let mut taken = HashSet::with_capacity(pairs.len());
    pairs
        .iter()
        // A name given twice is a finding already; the first one counts.
        .filter(|(key, _)| taken.insert(key.text.as_str()))
        .map(|(key, value)| {
            let name = At {
                value: key.text.clone(),
                span: key.span,
            };
            make(name, value)
        })
        .collect()
}

pub(crate) fn written(node: &Node) -> Option<&str> {
    match &node.value {
        Value::Scalar { text, .. } if !node.is_nothing() => Some(text),
        _ => None,
    }
}

pub(crate) fn text(node: &Node, key: &str) -> Option<At<String>> {
    let node = node.get(key)?;
    Some(At {
        value: written(node)?.to_owned(),
        span: node.span,
    })
}

pub(super) fn choice<T>(node: &Node, key: &str, take: impl Fn(&str) -> Option<T>) -> Option<At<T>> {
    let node = node.get(key)?;
    Some(At {
        value: take(written(node)?)?,
        span: node.span,
    })
}

pub(super) fn number(node: &Node) -> Option<Exact> {
    Exact::parse(written(node)?).ok()
}

pub(super) fn to_whole(number: Exact) -> Option<i64> {
    number
        .is_whole()
        .then(|| i64::try_from(number.numerator()).ok())
        .flatten()
}

pub(crate) fn exact(node: &Node, key: &str) -> Option<At<Exact>> {
    let node = node.get(key)?;
    Some(At {
        value: number(node)?,
        span: node.span,
    })
}

pub(super) fn whole(node: &Node, key: &str) -> Option<At<i64>> {
    let number = exact(node, key)?;
    let value = to_whole(number.value)?;
    Some(number.map(|_| value))
}

pub(super) fn count(node: &Node, key: &str) -> Option<u32> {
    u32::try_from(whole(node, key)?.value).ok()
}

pub(super) fn flag(node: &Node, key: &str) -> bool {
    node.get(key).and_then(written) == Some("true")
}

pub(super) fn texts(node: &Node, key: &str) -> Vec<At<String>> {
    let Some(Value::List(items)) = node.get(key).map(|node| &node.value) else {
        return Vec::new();
    };
    items
        .iter()
        .filter_map(|item| {
            Some(At {
                value: written(item)?.to_owned(),
                span: item.span,
            })
        })
        .collect()
}

pub(super) fn pair<T>(
    node: &Node,
    key: &str,
    take: impl Fn(&Node) -> Option<T>,
) -> Option<At<[T; 2]>> {
    let node = node.get(key)?;
    match &node.value {
        Value::List(items) if items.len() == 2 => Some(At {
            value: [take(&items[0])?, take(&items[1])?],
            span: node.span,
        }),
        _ => None,
    }
}

/// A place in mm: to the right and up, facing the timing end.
pub(crate) type Point = [Exact; 2];

pub(super) fn point(node: &Node, key: &str) -> Option<At<Point>> {
    pair(node, key, number)
}
