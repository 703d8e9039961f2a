//! Names by number: which shaft, which chain, which sprocket of which chain, and of which drive.

/// Tells one drive from another: a number made of the text of its spec. Drives read from the same text
/// are alike, and so are their numbers; others differ all but surely.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub(crate) struct DriveTag(u32);

impl DriveTag {
    /// Of no drive.
    pub(crate) const NONE: Self = Self(0);

    /// FNV-1a over the text (the published 32-bit constants).
    pub(crate) fn of(text: &str) -> Self {
        let tag = text.bytes().fold(0x811c_9dc5_u32, |sum, byte| {
            (sum ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        });
        Self(tag.max(1))
    }
}

/// A shaft of one [`Drive`](crate::Drive).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ShaftId {
    index: u8,
    drive: DriveTag,
}

/// A chain of one [`Drive`](crate::Drive).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ChainId {
    index: u8,
    drive: DriveTag,
}

/// One sprocket on one chain: the place where they engage.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct Engagement {
    /// The chain.
    pub chain: ChainId,
    /// Which of its sprockets, in the order of travel.
    pub sprocket: u8,
}

impl ShaftId {
    pub(super) const fn new(index: u8, drive: DriveTag) -> Self {
        Self { index, drive }
    }

    pub(crate) fn drive(self) -> DriveTag {
        self.drive
    }

    /// Its place among [`Drive::shafts`](crate::Drive::shafts).
    pub fn index(self) -> usize {
        usize::from(self.index)
    }
}

impl ChainId {
    pub(super) const fn new(index: u8, drive: DriveTag) -> Self {
        Self { index, drive }
    }

    pub(crate) fn drive(self) -> DriveTag {
        self.drive
    }

    /// Its place among [`Drive::chains`](crate::Drive::chains).
    pub fn index(self) -> usize {
        usize::from(self.index)
    }
}
