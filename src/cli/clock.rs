//! The clock, and numbers that nobody else has. The library knows neither.

use anyhow::{Context as _, Result};
use std::hash::{BuildHasher as _, RandomState};
use std::time::SystemTime;
use tautmark::units::Timestamp;

/// What the clock says.
pub(crate) fn now() -> Result<Timestamp> {
    let since = SystemTime::now()
        .duration_since(SystemTime::UNIX_EPOCH)
        .context("the clock is set before 1970 (correct it)")?;
    let seconds = i64::try_from(since.as_secs()).unwrap_or(i64::MAX);
    Timestamp::from_unix_seconds(seconds).context("the clock's time is out of range (correct it)")
}

/// A number that no other record has: the standard library seeds its hash tables at random.
pub(crate) fn number() -> String {
    let hash = RandomState::new().hash_one(std::process::id());
    format!("r{hash:016x}")
}
