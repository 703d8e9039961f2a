//! Numbers that look random and are the same every time.

pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    /// From 0 up to below `sides`.
    pub(crate) fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % sides
    }

    /// One of so many places.
    pub(crate) fn place(&mut self, places: u64) -> usize {
        usize::try_from(self.roll(places)).unwrap()
    }
}
