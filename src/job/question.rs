//! What an interview asks and takes for a reply.

use crate::job::look::Sight;
use crate::job::said::Said;
use crate::proof::check::CheckError;
use crate::spec::stage::Stage;
use crate::timing::observe::{ObservationError, Seen};
use crate::units::quantity::{OutOfRange, Turns};

/// What is to happen next.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Step {
    /// Something has to be done before this stage is looked at: the chain hung, the tensioner
    /// released, the engine turned.
    Ready(Stage),
    /// One mark has to be looked at.
    Ask(Question),
    /// Something that nothing can measure has to be said.
    Say(Stage, Said),
    /// Something resisted while the engine was turned: by how many crank turns?
    Felt,
    /// The stage is in time by what was answered: is that what was seen? It does not go on while
    /// [`Interview::not_ruled_out`](crate::job::Interview::not_ruled_out) lists anything.
    Confirm(Stage),
    /// The stage is not proven in time, and nothing further may be done before it is.
    Halt(Stage),
    /// All three stages are in time.
    Done,
}

/// One mark to look at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Question {
    /// At which stage.
    pub stage: Stage,
    /// What to look at.
    pub sight: Sight,
    /// Its number at this stage, from 1.
    pub number: usize,
    /// How many there are at this stage; those that rule out look-alikes are counted once it is
    /// their turn.
    pub of: usize,
    /// Is it asked only since the links would look the same with the chain hung wrong?
    pub extra: bool,
    /// What was answered before, if one has come back to it.
    pub earlier: Option<Answer>,
}

/// What is said of one mark.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Answer {
    /// Where the dot stands.
    Seen(Seen),
    /// It could not be seen. Nothing is concluded from that.
    NotSeen,
}

/// What somebody replies to a [`Step`].
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reply {
    /// To [`Step::Ready`]: it is done. To [`Step::Confirm`]: it is so.
    Ready,
    /// To [`Step::Ask`].
    Answer(Answer),
    /// To [`Step::Say`]: is it so?
    Said(bool),
    /// To [`Step::Felt`]; `None` if it is not known.
    Felt(Option<Turns>),
    /// To [`Step::Ask`]: as it was answered before.
    Keep,
    /// To [`Step::Halt`]: look again, at what [`Interview::repeats`](crate::job::Interview::repeats) says. To [`Step::Confirm`]: look
    /// again at what rules out look-alikes.
    Again,
    /// To anything: back to the step before.
    Back,
}

/// What is looked at again after a stage that was not in time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Repeat {
    /// What could not be seen: nothing else is missing.
    Unseen,
    /// What was denied: the marks are in time.
    Said,
    /// Every mark, since it was seen from the other side or in a mirror.
    FromTheOtherSide,
    /// Every mark of the stage, the earlier answers shown: they cannot all be as they were read.
    Stage,
    /// Every mark from the first stage on. The chain had to be moved, and what was seen before that
    /// says nothing now.
    Everything,
}

/// Why a reply does not fit.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Refusal {
    /// It answers another kind of step.
    NotHere,
    /// There is no earlier answer.
    NothingToKeep,
    /// There is no step before.
    NothingBefore,
    /// A look-alike would show the same, and nobody's word rules it out.
    NotRuledOut,
    /// More than half a turn of the sprocket: it is nearer the other way round.
    PastHalf {
        /// The teeth of the sprocket.
        teeth: u16,
    },
    /// The links of this chain are numbered from a dot, since no colour was to be seen: it is counted on, or not seen.
    Counted,
    /// It cannot have been seen on this drive.
    Impossible(ObservationError),
    /// A number that cannot be held; the bounds of [`Drive`](crate::Drive) prevent it.
    OutOfRange,
}

impl From<CheckError> for Refusal {
    fn from(_: CheckError) -> Self {
        Self::OutOfRange
    }
}

impl From<OutOfRange> for Refusal {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}

impl From<ObservationError> for Refusal {
    fn from(error: ObservationError) -> Self {
        Self::Impossible(error)
    }
}
