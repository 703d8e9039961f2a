//! The sections on cylinders and valves as written.

pub(crate) use crate::spec::choice::ValveKind;

use crate::spec::format::key;
use crate::spec::source::{At, Span};
use crate::spec::values::{choice, exact, key_span, number, text, to_whole, written};
use crate::spec::yaml::{Node, Value};
use crate::units::cycle::TradeAngle;
use crate::units::quantity::Exact;

#[derive(Clone, Debug)]
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

#[derive(Clone, Debug)]
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
#[derive(Clone, Debug)]
pub(crate) struct List<T> {
    pub(crate) span: Span,
    pub(crate) items: Vec<At<T>>,
}

pub(super) fn cylinders(node: &Node) -> CylindersSpec {
    CylindersSpec {
        bore: exact(node, key::BORE),
        stroke: exact(node, key::STROKE),
        rod: exact(node, key::ROD),
        compression: exact(node, key::COMPRESSION),
        deck: exact(node, key::DECK),
        gasket: exact(node, key::GASKET),
        firing_order: list(node, key::FIRING_ORDER, |item| {
            number(item).and_then(to_whole)
        }),
        offsets: list(node, key::OFFSETS, number),
    }
}

pub(super) fn valve(name: At<String>, node: &Node) -> ValveSpec {
    ValveSpec {
        name,
        shaft: text(node, key::SHAFT),
        kind: choice(node, key::KIND, ValveKind::from_word),
        cylinders: list(node, key::CYLINDERS, |item| number(item).and_then(to_whole)),
        opens: event(node, key::OPENS),
        closes: event(node, key::CLOSES),
        at_lift: exact(node, key::AT_LIFT),
        lift: exact(node, key::LIFT),
        lift_table: list(node, key::LIFT_TABLE, |item| match &item.value {
            Value::List(pair) if pair.len() == 2 => Some([number(&pair[0])?, number(&pair[1])?]),
            _ => None,
        }),
        lift_table_span: node
            .get(key::LIFT_TABLE)
            .map(|_| key_span(node, key::LIFT_TABLE)),
        inclination: exact(node, key::INCLINATION),
        recess: exact(node, key::RECESS),
        relief: exact(node, key::RELIEF),
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
