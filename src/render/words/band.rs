//! What a drive's chains and belts are called.

use crate::drive::model::{Chain, Drive};
use crate::spec::finding::band::{BELT, BOTH};

pub(crate) use crate::spec::finding::band::{Band, CHAIN};

impl Band {
    /// The words for this one.
    pub(crate) fn of(chain: &Chain) -> &'static Self {
        Self::of_kind(chain.kind())
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
