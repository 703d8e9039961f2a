//! Where the values of a [`crate::Drive`] are written, so that checks that come after reading can
//! point at the line that would have to change. Same order as the drive's own shafts, chains and
//! parts.

use crate::spec::raw::{EntrySpec, Spec};
use crate::spec::source::{At, Span};

/// The places of all values that a later check may speak of.
#[derive(Clone, Debug, Default)]
pub(crate) struct Places {
    pub(crate) shafts: Vec<ShaftPlaces>,
    pub(crate) chains: Vec<ChainPlaces>,
}

#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ShaftPlaces {
    pub(crate) name: Span,
    pub(crate) at: Option<Span>,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct ChainPlaces {
    pub(crate) name: Span,
    pub(crate) links: Option<Span>,
    pub(crate) pitch: Option<Span>,
    pub(crate) elongation_limit: Option<Span>,
    /// One for each part of the path.
    pub(crate) parts: Vec<PartPlaces>,
}

/// The places of an entry of a path; what an entry of its kind does not have is `None`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PartPlaces {
    /// The whole entry.
    pub(crate) whole: Span,
    /// A shoe's centre.
    pub(crate) centre: Option<Span>,
    pub(crate) dot: Option<Span>,
    /// The value of `link`, or of `links`.
    pub(crate) link: Option<Span>,
    pub(crate) colour: Option<Span>,
    pub(crate) pushes: Option<Span>,
    pub(crate) stroke: Option<Span>,
}

fn span<T>(at: &Option<At<T>>) -> Option<Span> {
    at.as_ref().map(|at| at.span)
}

impl Places {
    pub(crate) fn of(spec: &Spec) -> Self {
        let part = |entry: &EntrySpec| match entry {
            EntrySpec::Sprocket(sprocket) => PartPlaces {
                whole: sprocket.span,
                dot: span(&sprocket.dot),
                link: span(&sprocket.link).or(span(&sprocket.links)),
                colour: span(&sprocket.colour),
                ..PartPlaces::default()
            },
            EntrySpec::Shoe(shoe) => PartPlaces {
                whole: shoe.span,
                centre: span(&shoe.centre),
                pushes: shoe.tensioner.as_ref().and_then(|t| span(&t.pushes)),
                stroke: shoe.tensioner.as_ref().and_then(|t| span(&t.stroke)),
                ..PartPlaces::default()
            },
            EntrySpec::Unreadable => PartPlaces::default(),
        };
        Self {
            shafts: spec
                .shafts
                .iter()
                .map(|shaft| ShaftPlaces {
                    name: shaft.name.span,
                    at: span(&shaft.at),
                })
                .collect(),
            chains: spec
                .chains
                .iter()
                .map(|chain| ChainPlaces {
                    name: chain.name.span,
                    links: span(&chain.links),
                    pitch: span(&chain.pitch),
                    elongation_limit: span(&chain.elongation_limit),
                    parts: chain.path.iter().map(part).collect(),
                })
                .collect(),
        }
    }
}
