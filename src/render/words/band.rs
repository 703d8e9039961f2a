//! What a drive's chains, belts and gears are called.

use crate::drive::model::{Chain, Drive};
use crate::spec::finding::band::{ALL, BELT, BELTS_GEARS, BOTH, CHAINS_GEARS, GEARS};

pub(crate) use crate::spec::finding::band::{Band, CHAIN};

impl Band {
    /// The words for this one.
    pub(crate) fn of(chain: &Chain) -> &'static Self {
        Self::of_kind(chain.kind())
    }

    /// The words for all of a drive's together.
    pub(crate) fn all(drive: &Drive) -> &'static Self {
        let any = |is: fn(&Chain) -> bool| drive.chains().any(|(_, chain)| is(chain));
        match (
            any(|chain| chain.has_pins()),
            any(Chain::is_belt),
            any(Chain::is_gears),
        ) {
            (_, false, false) => &CHAIN,
            (false, true, false) => &BELT,
            (true, true, false) => &BOTH,
            (false, false, true) => &GEARS,
            (true, false, true) => &CHAINS_GEARS,
            (false, true, true) => &BELTS_GEARS,
            (true, true, true) => &ALL,
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
