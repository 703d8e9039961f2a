//! How fast is a verdict? In the library, from the text of a spec, and as a whole process.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

use divan::{Bencher, black_box};
use tautmark::{Drive, Observations, Source, check};

/// An engine by its file name.
fn text(engine: &str) -> &'static str {
    match engine {
        "four" => include_str!("../engines/kestrel-four.yaml"),
        _ => include_str!("../engines/buzzard-v8.yaml"),
    }
}

fn main() {
    divan::main();
}

fn drive(text: &str) -> Drive {
    let source = Source::new("bench.yaml", text.into()).unwrap();
    Drive::read(&source).drive.unwrap()
}

/// Every coloured link on its dot, but for one camshaft two teeth behind.
fn two_behind(drive: &Drive) -> Observations {
    let mut seen = Observations::at_timed_position();
    let marked: Vec<_> = drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.mark().is_some())
        .map(|(at, _)| at)
        .collect();
    for (i, at) in marked.iter().enumerate() {
        let what = if i + 1 == marked.len() {
            "2 behind"
        } else {
            "on"
        };
        seen.see_link(drive, *at, what.parse().unwrap()).unwrap();
    }
    seen
}

#[divan::bench(args = ["four", "v8"])]
fn library_check(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = drive(text(engine));
    let seen = two_behind(&drive);
    bencher.bench(|| check(black_box(&drive), black_box(&seen)).unwrap());
}

#[divan::bench(args = ["four", "v8"])]
fn read_spec(bencher: Bencher<'_, '_>, engine: &str) {
    bencher.bench(|| drive(black_box(text(engine))));
}
