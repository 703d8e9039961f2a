//! What several tests share. Nothing in here is taken from `src/`: it is what `src/` is held to.
#![allow(dead_code, reason = "each test uses another part of it")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

#[cfg(feature = "cli")]
pub(crate) mod contract;
pub(crate) mod dice;
pub(crate) mod drawn;
pub(crate) mod fraction;
#[cfg(feature = "cli")]
pub(crate) mod largest;
pub(crate) mod plan;
#[cfg(feature = "cli")]
pub(crate) mod program;
pub(crate) mod rig;
pub(crate) mod simulator;
pub(crate) mod written;

use proptest::test_runner::Config;
use std::path::PathBuf;
use tautmark::{Drive, Source};

/// The model of `text`, which must be without a mistake; warnings are let pass.
pub(crate) fn drive(text: &str) -> Drive {
    let source = Source::new("test.yaml", text.into()).unwrap();
    let reading = Drive::read(&source);
    reading
        .drive
        .unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
}

/// So many cases of a property. A seed that failed is kept in `tests/proptest-regressions/`, in a file
/// named like the test's, and is tried first from then on: commit it with the repair.
/// `CASES_TIMES=50` in the environment makes fifty times as many of each, for a long run.
pub(crate) fn cases(n: u32) -> Config {
    let times = std::env::var("CASES_TIMES").map_or(1, |times| {
        times.parse().expect("CASES_TIMES must be a whole number")
    });
    Config {
        max_global_rejects: 1024 * times,
        ..Config::with_cases(n * times)
    }
}

/// File name and text of every engine that comes with the project. Tests over all engines go over
/// this list, so that a new one is tested by being there.
pub(crate) fn engines() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("engines");
    let mut found: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect();
    found.sort();
    assert!(found.len() >= 7, "the engines were not found");
    found
}
