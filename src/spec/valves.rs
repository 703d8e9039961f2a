//! The sections on cylinders and valves as written.

use crate::spec::source::{At, Span};
use crate::spec::values::*;
use crate::spec::yaml::{Node, Value};
use crate::units::cycle::TradeAngle;
use crate::units::quantity::Exact;

/// What valves are for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum ValveKind {
    /// Lets in.
    Intake,
    /// Lets out.
    Exhaust,
}

impl ValveKind {
    /// `intake` or `exhaust`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Intake => "intake",
            Self::Exhaust => "exhaust",
        }
    }
}

#[derive(Debug)]
pub(crate) struct CylindersSpec {
    pub(crate) bore: Option<At<Exact>>,
    pub(crate) stroke: Option<At<Exact>>,
    pub(crate) rod: Option<At<Exact>>,
    pub(crate) compression: Option<At<Exact>>,
    pub(crate) deck: Option<At<Exact>>,
    pub(crate) gasket: Option<At<Exact>>,
    pub(crate) firing_order: Option<List<i64>>,
    pub(crate) offsets: Option<List<Exact>>,
}

#[derive(Debug)]
pub(crate) struct ValveSpec {
    pub(crate) name: At<String>,
    pub(crate) shaft: Option<At<String>>,
    pub(crate) kind: Option<At<ValveKind>>,
    pub(crate) cylinders: Option<List<i64>>,
    pub(crate) opens: Option<At<TradeAngle>>,
    pub(crate) closes: Option<At<TradeAngle>>,
    pub(crate) at_lift: Option<At<Exact>>,
    pub(crate) lift: Option<At<Exact>>,
    pub(crate) lift_table: Option<List<[Exact; 2]>>,
    /// Where the table stands, whether or not it could be read.
    pub(crate) lift_table_span: Option<Span>,
    pub(crate) inclination: Option<At<Exact>>,
    pub(crate) recess: Option<At<Exact>>,
    pub(crate) relief: Option<At<Exact>>,
}

/// A list that could be read whole.
#[derive(Debug)]
pub(crate) struct List<T> {
    pub(crate) span: Span,
    pub(crate) items: Vec<At<T>>,
}

pub(super) fn cylinders(node: &Node) -> CylindersSpec {
    CylindersSpec {
        bore: exact(node, "bore"),
        stroke: exact(node, "stroke"),
        rod: exact(node, "rod"),
        compression: exact(node, "compression"),
        deck: exact(node, "deck"),
        gasket: exact(node, "gasket"),
        firing_order: list(node, "firing_order", |item| number(item).and_then(to_whole)),
        offsets: list(node, "offsets", number),
    }
}

pub(super) fn valve(name: At<String>, node: &Node) -> ValveSpec {
    ValveSpec {
        name,
        shaft: text(node, "shaft"),
        kind: choice(node, "kind", |word| match word {
            "intake" => Some(ValveKind::Intake),
            "exhaust" => Some(ValveKind::Exhaust),
            _ => None,
        }),
        cylinders: list(node, "cylinders", |item| number(item).and_then(to_whole)),
        opens: event(node, "opens"),
        closes: event(node, "closes"),
        at_lift: exact(node, "at_lift"),
        lift: exact(node, "lift"),
        lift_table: list(node, "lift_table", |item| match &item.value {
            Value::List(pair) if pair.len() == 2 => Some([number(&pair[0])?, number(&pair[1])?]),
            _ => None,
        }),
        lift_table_span: node.get("lift_table").map(|_| key_span(node, "lift_table")),
        inclination: exact(node, "inclination"),
        recess: exact(node, "recess"),
        relief: exact(node, "relief"),
    }
}

fn event(node: &Node, key: &str) -> Option<At<TradeAngle>> {
    let node = node.get(key)?;
    Some(At {
        value: written(node)?.parse().ok()?,
        span: node.span,
    })
}

fn list<T>(node: &Node, key: &str, take: impl Fn(&Node) -> Option<T>) -> Option<List<T>> {
    let node = node.get(key)?;
    let Value::List(items) = &node.value else {
        return None;
    };
    let items = items
        .iter()
        .map(|item| {
            Some(At {
                value: take(item)?,
                span: item.span,
            })
        })
        .collect::<Option<Vec<_>>>()?;
    Some(List {
        span: node.span,
        items,
    })
}
