//! How long does it take to find the smallest causes?
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

use divan::{Bencher, black_box};
use tautmark::{
    Drive, Source,
    timing::{FromMarks, Measured, explain},
    units::{CrankDegrees, Exact},
};

fn main() {
    divan::main();
}

/// The V8, and how far its camshafts are off.
fn question(which: &str) -> (Drive, Vec<Measured>) {
    let text = include_str!("../engines/buzzard-v8.yaml");
    let source = Source::new("bench.yaml", text.into()).unwrap();
    let drive = Drive::read(&source).drive.unwrap();
    // Left intake, left exhaust, right intake, right exhaust.
    let seen = match which {
        "in-time" => ["on", "on", "on", "on"],
        "one-camshaft" => ["1 behind", "on", "on", "on"],
        "two-camshafts" => ["1 behind", "on", "2 ahead", "on"],
        "two-by-angle" => [
            "18.5 crank deg behind",
            "1 crank deg ahead",
            "33 crank deg ahead",
            "0 crank deg ahead",
        ],
        "four-camshafts" => ["1 behind", "2 ahead", "3 behind", "4 ahead"],
        // No whole tooth anywhere, and no tolerance: everything is tried in vain.
        _ => [
            "1 +- 0 crank deg ahead",
            "2 +- 0 crank deg ahead",
            "3 +- 0 crank deg behind",
            "4 +- 0 crank deg ahead",
        ],
    };
    let names = [
        "left-intake",
        "left-exhaust",
        "right-intake",
        "right-exhaust",
    ];
    let tolerance = CrankDegrees::new(Exact::whole(3));
    let measured = names
        .iter()
        .zip(seen)
        .map(|(name, seen)| Measured::read(&drive, name, seen, tolerance).unwrap())
        .collect();
    (drive, measured)
}

#[divan::bench(args = ["in-time", "one-camshaft", "two-camshafts", "two-by-angle", "four-camshafts", "in-vain"])]
fn causes(bencher: Bencher<'_, '_>, which: &str) {
    let (drive, measured) = question(which);
    let found = explain(&drive, &measured, &FromMarks(&drive), 12).unwrap();
    assert_eq!(found.causes.is_empty(), which == "in-vain", "{which}");
    bencher.bench(|| {
        explain(
            black_box(&drive),
            black_box(&measured),
            &FromMarks(&drive),
            12,
        )
        .unwrap()
    });
}
