//! Names by number: which shaft, which chain, which sprocket of which chain.

/// A shaft of one [`Drive`](crate::Drive).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ShaftId(pub(super) u8);

/// A chain of one [`Drive`](crate::Drive).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ChainId(pub(super) u8);

/// One sprocket on one chain: the place where they engage.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct Engagement {
    /// The chain.
    pub chain: ChainId,
    /// Which of its sprockets, in the order of travel.
    pub sprocket: u8,
}

impl ShaftId {
    /// Its place among [`Drive::shafts`](crate::Drive::shafts).
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

impl ChainId {
    /// Its place among [`Drive::chains`](crate::Drive::chains).
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}
