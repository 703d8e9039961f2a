//! From where somebody sees the timing end, settled by which way the crankshaft turns there.

use crate::drive::model::Drive;
use crate::spec::choice::{Rotation, Viewpoint};

/// From where somebody sees the timing end, and whether left and right are exchanged there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct View {
    from: Viewpoint,
    mirrored: bool,
}

/// The crankshaft does not turn that way in this view.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WrongView;

impl View {
    /// The view from `from` in which the crankshaft must turn `crank` for the engine to run its normal
    /// way. Looking down on it, clockwise is to the right: so its upper side moves.
    ///
    /// # Errors
    /// [`WrongView`] where that cannot be: somebody before the timing end sees it turn as the spec has it,
    /// and in a mirror the other way. A photo may be mirrored, and from above one may stand at either end.
    pub fn new(drive: &Drive, from: Viewpoint, crank: Rotation) -> Result<Self, WrongView> {
        let mirrored = crank != drive.crank_turns();
        match from {
            Viewpoint::Facing if mirrored => Err(WrongView),
            Viewpoint::Mirror if !mirrored => Err(WrongView),
            _ => Ok(Self { from, mirrored }),
        }
    }

    /// Straight before the timing end.
    pub fn facing() -> Self {
        Self {
            from: Viewpoint::Facing,
            mirrored: false,
        }
    }

    /// From where.
    pub fn from(self) -> Viewpoint {
        self.from
    }

    /// Are left and right exchanged, as against facing the timing end?
    pub fn is_mirrored(self) -> bool {
        self.mirrored
    }

    /// How something that turns so, facing the timing end, is seen to turn.
    #[must_use]
    pub fn seen(self, turning: Rotation) -> Rotation {
        if self.mirrored {
            turning.reversed()
        } else {
            turning
        }
    }
}
