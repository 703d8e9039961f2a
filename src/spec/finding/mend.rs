//! Single changes to a spec, each of which would put a chain right.

use super::path::{PartName, words_of};
use crate::spec::source::Span;

/// What is known of how to put a finding right.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Remedy {
    /// Nobody looked further than the finding itself.
    NotSought,
    /// Each of these changes alone leaves nothing to find of the chain: the smallest first.
    Any {
        /// The first of them.
        mends: Vec<Mend>,
        /// How many more there are.
        more: usize,
    },
    /// The remedies stand with another finding of the same chain, which is here.
    With(Span),
    /// No single change that was tried would do.
    NoneAlone {
        /// Was every change tried that there is to try?
        all_tried: bool,
    },
}

/// One change to a spec.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mend {
    /// The value, or the entry, that would change.
    pub span: Span,
    /// What it would become.
    pub change: Change,
}

/// What a place in a spec would become.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Change {
    /// A part of a path on the outside of the chain, or no longer.
    Outside {
        /// The part.
        part: PartName,
        /// On the outside?
        outside: bool,
    },
    /// A part of a path at another place of its list.
    Moved {
        /// The part.
        part: PartName,
        /// The part that it would follow.
        after: PartName,
    },
    /// The whole path in the reverse order.
    Reversed {
        /// The chain.
        chain: String,
    },
    /// Another value.
    Value {
        /// The key.
        key: &'static str,
        /// Whose it is; nothing where the key says enough.
        of: Option<PartName>,
        /// The value, as it would be written.
        value: String,
        /// Why it may be that, as something to ask oneself; empty where there is no more to say.
        why: &'static str,
    },
    /// All values of a kind together.
    All {
        /// What would be done, as an order.
        what: &'static str,
        /// Why, as something to ask oneself.
        why: &'static str,
    },
}

impl Change {
    /// What is changed of its place, so that two changes of the same can be told from changes of two.
    pub(crate) fn key(&self) -> &'static str {
        match self {
            Self::Outside { .. } => "outside",
            Self::Moved { .. } => "moved",
            Self::Reversed { .. } => "reversed",
            Self::Value { key, .. } => key,
            Self::All { what, .. } => what,
        }
    }

    /// The change in words, without what may have happened.
    pub(crate) fn without_why(&self) -> String {
        match self {
            Self::Value { value, .. } => value.clone(),
            other => other.words(),
        }
    }

    /// The change in words.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Outside { part, outside } => format!(
                "{} 'outside: true' for {}",
                if *outside { "give" } else { "leave out" },
                words_of(part)
            ),
            Self::Moved { part, after } => {
                format!("list {} right after {}", words_of(part), words_of(after))
            }
            Self::Reversed { chain } => format!("list the path of '{chain}' the other way round"),
            Self::Value {
                key,
                of,
                value,
                why,
            } => {
                let of = of
                    .as_ref()
                    .map_or_else(String::new, |part| format!(" for {}", words_of(part)));
                let why = asked(why);
                format!("write '{key}: {value}'{of}{why}")
            }
            Self::All { what, why } => format!("{what}{}", asked(why)),
        }
    }
}

fn asked(why: &str) -> String {
    if why.is_empty() {
        String::new()
    } else {
        format!(" ({why}?)")
    }
}
