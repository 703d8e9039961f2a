//! What runs over the sprockets, as it is called: a chain has links and coloured links, a belt has teeth and marks.

use crate::spec::choice::ChainKind;

/// The words for a chain or a belt.
#[derive(PartialEq, Debug)]
pub(crate) struct Band {
    /// `chain`.
    pub(crate) name: &'static str,
    /// The same at the beginning of a sentence.
    pub(crate) title: &'static str,
    /// `this chain`.
    pub(crate) this: &'static str,
    /// More than one.
    pub(crate) many: &'static str,
    /// `link`.
    pub(crate) link: &'static str,
    /// More than one.
    pub(crate) links: &'static str,
    /// `coloured link`.
    pub(crate) mark: &'static str,
    /// More than one.
    pub(crate) marks: &'static str,
    /// What has a colour, behind that: `link`, as in `yellow link`.
    pub(crate) noun: &'static str,
    /// Hung so that its links come in the other order.
    pub(crate) over: &'static str,
}

/// Of links.
pub(crate) const CHAIN: Band = Band {
    name: "chain",
    title: "Chain",
    this: "this chain",
    many: "chains",
    link: "link",
    links: "links",
    mark: "coloured link",
    marks: "coloured links",
    noun: "link",
    over: "inside out",
};

/// Of teeth, on a back of cord.
pub(crate) const BELT: Band = Band {
    name: "belt",
    title: "Belt",
    this: "this belt",
    many: "belts",
    link: "belt tooth",
    links: "belt teeth",
    mark: "belt mark",
    marks: "belt marks",
    noun: "belt mark",
    over: "back to front, against its arrows",
};

/// Some of each.
pub(crate) const BOTH: Band = Band {
    name: "chain or belt",
    title: "Chain or belt",
    this: "this chain or belt",
    many: "chains and belts",
    link: "link or belt tooth",
    links: "links and belt teeth",
    mark: "coloured link or belt mark",
    marks: "coloured links and belt marks",
    noun: "link or belt mark",
    over: "inside out or back to front",
};

impl Band {
    /// The words for what is of this kind.
    pub(crate) fn of_kind(kind: Option<ChainKind>) -> &'static Self {
        if kind == Some(ChainKind::Belt) {
            &BELT
        } else {
            &CHAIN
        }
    }
}

impl std::fmt::Display for Band {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}
