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
    /// It was seen from where it was said to be: facing the timing end, and in no mirror, unless the look
    /// has another view.
    FacingEnd,
    /// The tensioner is held back by its pin or lock.
    PinIn,
    /// Every locking tool is in.
    ToolsIn,
    /// The bolts of the phasers are hand-tight only.
    BoltsLoose,
    /// No pin and no locking tool is in any more.
    PinsOut,
    /// Every phaser bolt is tightened as its maker says.
    BoltsTight,
    /// Nothing resisted while the engine was turned by hand.
    TurnedFree,
}

impl Said {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::PhaserParked,
        Self::SlackSide,
        Self::NotInsideOut,
        Self::FacingEnd,
        Self::PinIn,
        Self::ToolsIn,
        Self::BoltsLoose,
        Self::PinsOut,
        Self::BoltsTight,
        Self::TurnedFree,
    ];

    /// How it is named in a record.
    pub fn word(self) -> &'static str {
        match self {
            Self::PhaserParked => key::PHASER_PARKED,
            Self::SlackSide => key::SLACK_SIDE,
            Self::NotInsideOut => key::NOT_INSIDE_OUT,
            Self::FacingEnd => key::FACING_END,
            Self::PinIn => key::PIN_IN,
            Self::ToolsIn => key::TOOLS_IN,
            Self::BoltsLoose => key::BOLTS_LOOSE,
            Self::PinsOut => key::PINS_OUT,
            Self::BoltsTight => key::BOLTS_TIGHT,
            Self::TurnedFree => key::TURNED_FREE,
        }
    }

    /// The one of that name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|said| said.word() == word)
    }

    /// What has to be said at a stage of `drive` before the next one, in the order of asking.
    pub fn needed(drive: &Drive, stage: Stage) -> Vec<Self> {
        let phasers = || drive.shafts().filter_map(|(_, shaft)| shaft.phaser());
        let phaser = phasers().next().is_some();
        let (tensioned, tools) = (is_tensioned(drive), !drive.plan().tools().is_empty());
        let all: &[(Self, bool)] = match stage {
            Stage::Hung => &[
                (Self::PinIn, tensioned),
                (Self::ToolsIn, tools),
                (Self::PhaserParked, phaser),
                (Self::BoltsLoose, phasers().any(|phaser| phaser.hand_tight)),
                (Self::SlackSide, tensioned),
            ],
            Stage::Released => &[
                (Self::PinsOut, tensioned || tools),
                (Self::BoltsTight, phaser),
            ],
            Stage::Turned => &[(Self::TurnedFree, true)],
        };
        let needed = all.iter().filter(|(_, needed)| *needed);
        needed.map(|(said, _)| *said).collect()
    }

    /// Is it asked the other way round, so that it is the "no" that is good? Whoever presses one key
    /// through all questions is stopped by it.
    pub fn is_asked_the_other_way(self) -> bool {
        matches!(self, Self::BoltsLoose | Self::PinsOut | Self::TurnedFree)
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
