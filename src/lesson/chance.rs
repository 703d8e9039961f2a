//! Chance that is the same everywhere: numbers that follow from a seed.

use std::fmt;
use std::str::FromStr;

/// Which exercise: a number short enough to be called across a room.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Seed(u32);

/// The text is no whole number in `0..=999999`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SeedError;

impl Seed {
    /// The largest.
    pub const MAX: u32 = 999_999;

    /// A seed, if it is at most [`Seed::MAX`].
    pub fn new(number: u32) -> Option<Self> {
        (number <= Self::MAX).then_some(Self(number))
    }

    /// Its number.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// The one after it; after the last comes 0.
    #[must_use]
    pub const fn next(self) -> Self {
        if self.0 < Self::MAX {
            Self(self.0 + 1)
        } else {
            Self(0)
        }
    }
}

impl fmt::Display for Seed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for SeedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "not in the required form (give a whole number in 0..={}, such as 7)",
            Seed::MAX
        )
    }
}

impl std::error::Error for SeedError {}

impl FromStr for Seed {
    type Err = SeedError;

    fn from_str(text: &str) -> Result<Self, SeedError> {
        let text = text.trim();
        if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(SeedError);
        }
        text.parse().ok().and_then(Self::new).ok_or(SeedError)
    }
}

/// How hard an exercise is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Level {
    /// One camshaft's sprocket a tooth or two off, or nothing.
    Easy,
    /// One fault of any kind: a sprocket, a phaser, wear, a crankshaft one turn out, or nothing.
    Medium,
    /// Mostly several faults at once.
    Hard,
}

impl Level {
    /// All of them, the easiest first.
    pub const ALL: [Self; 3] = [Self::Easy, Self::Medium, Self::Hard];
}

/// Numbers by the generator SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number
/// generators", 2014).
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: Seed, level: Level) -> Self {
        // Each level has its own exercises.
        Self(u64::from(seed.0) * 3 + level as u64)
    }

    fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number in `from..=to`; `from` where that is empty. What the remainder prefers is less than one in
    /// a million million.
    pub(super) fn within(&mut self, from: i64, to: i64) -> i64 {
        let count = u64::try_from(to.saturating_sub(from).saturating_add(1)).unwrap_or(1);
        let at = self.number() % count.max(1);
        from.saturating_add(i64::try_from(at).unwrap_or(0))
    }

    /// One of them.
    pub(super) fn one<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        let last = i64::try_from(of.len()).ok()?.checked_sub(1)?;
        of.get(usize::try_from(self.within(0, last)).ok()?).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_are_those_of_the_published_generator() {
        // The first numbers for the seed 1234567, as implementations of the paper give them (value from memory).
        let mut chance = Chance(1_234_567);
        let numbers: Vec<u64> = (0..5).map(|_| chance.number()).collect();
        assert_eq!(
            numbers,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn a_seed_is_read_or_refused() {
        assert_eq!("7".parse(), Ok(Seed(7)));
        assert_eq!(" 999999 ".parse(), Ok(Seed(999_999)));
        for bad in [
            "",
            "-1",
            "+1",
            "1000000",
            "7.5",
            "seven",
            "99999999999999999999",
        ] {
            assert_eq!(bad.parse::<Seed>(), Err(SeedError), "{bad}");
        }
        assert_eq!(Seed(999_999).next(), Seed(0));
    }
}
