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
    /// How a sprocket comes free of it.
    pub(crate) lifted: &'static str,
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
    lifted: "with the chain lifted off it",
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
    lifted: "with the belt lifted off it",
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
    lifted: "with the chain or belt lifted off it",
    over: "inside out or back to front",
};

/// Of two gears in mesh: a dot belongs on the line through both centres, where it meets the other one's.
pub(crate) const GEARS: Band = Band {
    name: "gear pair",
    title: "Gear pair",
    this: "this gear pair",
    many: "gear pairs",
    link: "tooth",
    links: "teeth",
    mark: "line of centres",
    marks: "lines of centres",
    noun: "line of centres",
    lifted: "with the gears out of mesh",
    over: "the other way round",
};

/// Chains and gears.
pub(crate) const CHAINS_GEARS: Band = Band {
    name: "chain or gear pair",
    title: "Chain or gear pair",
    this: "this chain or gear pair",
    many: "chains and gear pairs",
    link: "link or tooth",
    links: "links and teeth",
    mark: "coloured link or line of centres",
    marks: "coloured links and lines of centres",
    noun: "link or line of centres",
    lifted: "taken off or out of mesh",
    over: "inside out",
};

/// Belts and gears.
pub(crate) const BELTS_GEARS: Band = Band {
    name: "belt or gear pair",
    title: "Belt or gear pair",
    this: "this belt or gear pair",
    many: "belts and gear pairs",
    link: "tooth",
    links: "teeth",
    mark: "belt mark or line of centres",
    marks: "belt marks and lines of centres",
    noun: "belt mark or line of centres",
    lifted: "taken off or out of mesh",
    over: "back to front, against its arrows",
};

/// Some of each kind.
pub(crate) const ALL: Band = Band {
    name: "chain, belt or gear pair",
    title: "Chain, belt or gear pair",
    this: "this chain, belt or gear pair",
    many: "chains, belts and gear pairs",
    link: "link or tooth",
    links: "links and teeth",
    mark: "coloured link, belt mark or line of centres",
    marks: "coloured links, belt marks and lines of centres",
    noun: "link, belt mark or line of centres",
    lifted: "taken off or out of mesh",
    over: "inside out or back to front",
};

impl Band {
    /// The words for what is of this kind.
    pub(crate) fn of_kind(kind: Option<ChainKind>) -> &'static Self {
        match kind {
            Some(ChainKind::Belt) => &BELT,
            Some(ChainKind::Gears) => &GEARS,
            _ => &CHAIN,
        }
    }
}

impl std::fmt::Display for Band {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}
