//! What stands against a verdict, and what has to be said with one.

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::units::quantity::{CrankDegrees, Teeth, Turns};

/// What stands against a verdict, or has to be said with it.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum Doubt {
    /// Links and dots say different things of one shaft.
    Contradiction {
        /// The shaft.
        shaft: ShaftId,
        /// What the links say.
        by_links: CrankDegrees,
        /// What the dots say.
        by_dots: CrankDegrees,
        /// What could make both true.
        both_true_if: Vec<Reconciliation>,
    },
    /// After that many turns other links belong on the dots than those that were seen.
    LinksAgainstTurns {
        /// The chain.
        chain: ChainId,
        /// Links by which all of them differ.
        teeth: Teeth,
    },
    /// Every coloured link of a chain is off its dot by the same number of links, which changes
    /// nothing about the timing.
    ShiftedTogether {
        /// The chain.
        chain: ChainId,
        /// By how many links.
        teeth: Teeth,
    },
    /// Everything fits if the crankshaft stands one whole turn from where it is said to.
    OneCrankTurnOut,
    /// All these shafts are off by the same crank angle: one slip at the crankshaft would do it.
    SlipAtCrank {
        /// The angle.
        angle: CrankDegrees,
    },
    /// Two sprockets of one chain disagree, while the one that drives it was not looked at.
    Disagree {
        /// One.
        first: Engagement,
        /// The other.
        second: Engagement,
        /// How far the second is ahead of the first.
        teeth: Teeth,
    },
    /// A reading that is no whole number of teeth, which no chain can be hung by.
    NotWholeTeeth {
        /// The shaft.
        shaft: ShaftId,
        /// The reading in teeth of its driven sprocket.
        teeth: Teeth,
    },
    /// Exactly half way around: ahead and behind are the same.
    EitherWay {
        /// The shaft.
        shaft: ShaftId,
    },
    /// A link was given for a dot that is not in its timed place after that many turns.
    LinkNotReadable {
        /// The sprocket.
        at: Engagement,
    },
    /// The crankshaft's dot is half a turn from its mark.
    CrankHalfTurn,
    /// A dot is not where it is due, and there is nothing to measure it from: the crankshaft's dot, or
    /// every other one, was not looked at.
    DotAlone {
        /// The shaft.
        shaft: ShaftId,
        /// How far ahead, in its own turns.
        ahead: Turns,
    },
    /// The crankshaft's dot cannot be there after that many turns.
    DotAgainstTurns {
        /// How far past where it is due, in crank turns.
        past: Turns,
    },
    /// The crankshaft stands off its mark, and everything else was measured from it.
    CrankOffMark {
        /// How far past its mark, in crank turns.
        past: Turns,
    },
    /// The dot of an idler is not where it is due, though everything it drives is in time.
    IdlerDot {
        /// The idler.
        shaft: ShaftId,
        /// The crank turns after which its dot comes back.
        every: Turns,
    },
    /// The spec contradicts itself in so many places; what rests on it is not proven.
    SpecInDoubt {
        /// Places.
        places: usize,
    },
    /// The engine has camshafts that are not on the drive; what is seen of the drive proves nothing of them.
    CamshaftsNotNamed {
        /// How many there are on the drive.
        named: usize,
        /// How many the engine has.
        engine: usize,
    },
    /// The link on a dot is the one that belongs on another dot, of the same colour.
    OthersLink {
        /// The dot.
        at: Engagement,
        /// The sprocket whose link it is.
        link_of: Engagement,
    },
    /// Two chains drive one shaft, and their links contradict each other.
    LoopContradiction {
        /// The sprocket on the second of them.
        at: Engagement,
    },
    /// An idler is off. It moves no valve by itself.
    IdlerOff {
        /// The idler.
        shaft: ShaftId,
    },
    /// At least one shaft that must be in time is not, but it cannot be told which.
    OneIsOff,
    /// No way to hang the chains by whole teeth shows all that was seen.
    DoesNotFit,
    /// By the geometry no chain lies on the dot there: it would have left the wrap of its sprocket.
    OutOfMesh {
        /// The sprocket.
        at: Engagement,
        /// How far it would be ahead of where it belongs.
        teeth: Teeth,
    },
    /// A dot half a turn of its sprocket or more from its link: no chain lies on it there.
    CannotBe {
        /// The sprocket.
        at: Engagement,
        /// How far.
        teeth: Teeth,
    },
}

/// What could make two contradicting observations both true.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub enum Reconciliation {
    /// The link taken for this sprocket's was another sprocket's of the same colour.
    OtherLink(Engagement),
    /// The crankshaft was one whole turn from where it is said to have been.
    OneCrankTurn,
    /// The crankshaft stood this far past its mark when the dots were read (below zero: before it).
    CrankOffItsMark(CrankDegrees),
    /// The dot was read one tooth wrong, or a link was counted wrong.
    MisreadByATooth,
    /// The dot is on the camshaft, not on the sprocket, and the phaser was not in its parked position.
    PhaserNotParked,
    /// A worn chain holds the camshaft back.
    WornChain,
}

impl Doubt {
    /// Can nothing be "in time" with it?
    pub fn forbids_proof(&self) -> bool {
        !matches!(
            self,
            Self::ShiftedTogether { .. }
                | Self::LinkNotReadable { .. }
                | Self::CrankOffMark { .. }
                | Self::OthersLink { .. }
                | Self::IdlerOff { .. }
        )
    }
}
