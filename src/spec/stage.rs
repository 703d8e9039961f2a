//! When a drive is looked at, and what opens only on proof.

use super::choice::choices;

choices! {
    /// When a drive is looked at.
    #[derive(PartialOrd, Ord)]
    Stage {
        /// The chain is hung, the tensioner still held back.
        Hung = "hung", "before the tensioner is released";
        /// The tensioner is released.
        Released = "released", "after the tensioner is released";
        /// The engine was turned by hand.
        Turned = "turned", "after turning the engine by hand";
    }
}

impl Stage {
    /// All of them, in order.
    pub const ALL: [Self; 3] = [Self::Hung, Self::Released, Self::Turned];

    /// Its place among [`Stage::ALL`].
    pub fn index(self) -> usize {
        self as usize
    }

    /// When that is.
    pub(crate) fn about(self) -> &'static str {
        Self::CHOICES[self.index()].1
    }
}

choices! {
    /// What opens only on proof.
    #[derive(PartialOrd, Ord)]
    Gate {
        /// The tensioner is released: only if the marks are in time as the chain was hung.
        Release = "release", "the tensioner is released: opens when the marks are in time as hung";
        /// The cover goes on: only if the marks are in time at all three stages.
        Cover = "cover", "the cover goes on: opens when the marks are in time at all three stages";
        /// The job is signed off: only if, besides, everything else is done.
        SignOff = "sign-off", "the end of the job: opens when, besides, all else is done";
    }
}

impl Gate {
    /// All of them, in order.
    pub const ALL: [Self; 3] = [Self::Release, Self::Cover, Self::SignOff];
}
