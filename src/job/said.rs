//! What nothing can measure and somebody has to say.

use crate::drive::model::{Drive, Part};
use crate::spec::format::key;
use crate::spec::stage::Stage;

/// Something that nothing can measure. It proves nothing; but where it is denied, or was not said, the
/// tensioner is not released.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Said {
    /// Every phaser is locked in its parked position.
    PhaserParked,
    /// All slack lies on the tensioner's strand.
    SlackSide,
    /// No chain is hung inside out. It is kept; it opens nothing where a look-alike is not ruled out.
    NotInsideOut,
    /// It was seen facing the timing end, and in no mirror.
    FacingEnd,
}

impl Said {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::PhaserParked,
        Self::SlackSide,
        Self::NotInsideOut,
        Self::FacingEnd,
    ];

    /// How it is named in a record.
    pub fn word(self) -> &'static str {
        match self {
            Self::PhaserParked => key::PHASER_PARKED,
            Self::SlackSide => key::SLACK_SIDE,
            Self::NotInsideOut => key::NOT_INSIDE_OUT,
            Self::FacingEnd => key::FACING_END,
        }
    }

    /// The one of that name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|said| said.word() == word)
    }

    /// What has to be said at a stage of `drive` before the next one, in the order of asking.
    pub fn needed(drive: &Drive, stage: Stage) -> Vec<Self> {
        let mut needed = Vec::new();
        if stage == Stage::Hung {
            if drive.shafts().any(|(_, shaft)| shaft.phaser().is_some()) {
                needed.push(Self::PhaserParked);
            }
            if is_tensioned(drive) {
                needed.push(Self::SlackSide);
            }
        }
        needed
    }
}

/// Is there a tensioner on any chain's path? Where no path is known, there may be.
fn is_tensioned(drive: &Drive) -> bool {
    let tensioner = drive.chains().any(|(_, chain)| {
        let mut path = chain.path().iter();
        path.any(|part| matches!(part, Part::Tensioner { .. }))
    });
    let laid_out = drive.chains().all(|(_, chain)| chain.pitch().is_some())
        && drive.shafts().all(|(_, shaft)| shaft.centre().is_some());
    tensioner || !laid_out
}
