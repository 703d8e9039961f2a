//! What runs over the sprockets, as it is called: a chain has links and coloured links, a belt has teeth and marks.

use crate::drive::model::{Chain, Drive};

/// The words for a chain or a belt.
pub(crate) struct Band {
    /// `chain`.
    pub(crate) name: &'static str,
    /// The same at the beginning of a sentence.
    pub(crate) title: &'static str,
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
    noun: &'static str,
    /// Hung so that its links come in the other order.
    pub(crate) over: &'static str,
}

/// Of links.
pub(crate) const CHAIN: Band = Band {
    name: "chain",
    title: "Chain",
    many: "chains",
    link: "link",
    links: "links",
    mark: "coloured link",
    marks: "coloured links",
    noun: "link",
    over: "inside out",
};

const BELT: Band = Band {
    name: "belt",
    title: "Belt",
    many: "belts",
    link: "belt tooth",
    links: "belt teeth",
    mark: "belt mark",
    marks: "belt marks",
    noun: "belt mark",
    over: "back to front, against its arrows",
};

const BOTH: Band = Band {
    name: "chain or belt",
    title: "Chain or belt",
    many: "chains and belts",
    link: "link or belt tooth",
    links: "links and belt teeth",
    mark: "coloured link or belt mark",
    marks: "coloured links and belt marks",
    noun: "link or belt mark",
    over: "inside out or back to front",
};

impl Band {
    /// The words for this one.
    pub(crate) fn of(chain: &Chain) -> &'static Self {
        if chain.is_belt() { &BELT } else { &CHAIN }
    }

    /// The words for all of a drive's together.
    pub(crate) fn all(drive: &Drive) -> &'static Self {
        let belts = drive.chains().filter(|(_, chain)| chain.is_belt()).count();
        match belts {
            0 => &CHAIN,
            _ if belts == drive.chains().count() => &BELT,
            _ => &BOTH,
        }
    }

    /// What has a colour: `link`, `belt mark`.
    pub(crate) fn coloured_noun(&self) -> &'static str {
        self.noun
    }

    /// `yellow link`, `coloured link` where no colour is given; `yellow belt mark`, `belt mark`.
    pub(crate) fn coloured(&self, colour: Option<&str>) -> String {
        colour.map_or_else(
            || self.mark.to_owned(),
            |colour| format!("{colour} {}", self.noun),
        )
    }
}
