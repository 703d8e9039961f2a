//! When a drive is looked at, and what opens only on proof.

use crate::spec::format;

/// When a drive is looked at.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Stage {
    /// The chain is hung, the tensioner still held back.
    Hung,
    /// The tensioner is released.
    Released,
    /// The engine was turned by hand.
    Turned,
}

impl Stage {
    /// All of them, in order.
    pub const ALL: [Self; 3] = [Self::Hung, Self::Released, Self::Turned];

    /// Its word in a record.
    pub fn word(self) -> &'static str {
        format::STAGES[self.index()].0
    }

    /// Its place among [`Stage::ALL`].
    pub fn index(self) -> usize {
        self as usize
    }

    /// The stage of that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.word() == word)
    }
}

/// What opens only on proof.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Gate {
    /// The tensioner is released: only if the marks are in time as the chain was hung.
    Release,
    /// The cover goes on: only if the marks are in time at all three stages.
    Cover,
    /// The job is signed off: only if, besides, everything else is done.
    SignOff,
}

impl Gate {
    /// All of them, in order.
    pub const ALL: [Self; 3] = [Self::Release, Self::Cover, Self::SignOff];

    /// Its word in a spec.
    pub fn word(self) -> &'static str {
        format::GATES[self as usize].0
    }

    pub(crate) fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|gate| gate.word() == word)
    }
}
