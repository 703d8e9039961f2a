//! How fast is a verdict? In the library, beside arrays that are moved and looked at; from the text of
//! a spec; and as a whole process, beside one that does nothing.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, black_box};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use support::simulator::Simulator;
use support::written::Written;
use tautmark::{
    Drive, Observations, Source, check,
    proof::{check_in_fractions, prove_in_fractions},
    prove,
};

/// An engine by its file name.
fn text(engine: &str) -> &'static str {
    match engine {
        "four" => include_str!("../engines/kestrel-four.yaml"),
        _ => include_str!("../engines/buzzard-v8.yaml"),
    }
}

fn main() {
    divan::main();
    // Left behind only if a benchmark failed.
    if let Some(directory) = LazyLock::force(&NOTHING).parent() {
        let _ = std::fs::remove_dir_all(directory);
    }
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

/// The verdict, the release and how far every shaft is off, without what is to be said of it.
#[divan::bench(args = ["four", "v8"])]
fn library_prove(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = drive(text(engine));
    let seen = two_behind(&drive);
    bencher.bench(|| prove(black_box(&drive), black_box(&seen)).unwrap());
}

/// The same in fractions, and with all that is to be said of it.
#[divan::bench(args = ["four", "v8"])]
fn prove_by_fractions(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = drive(text(engine));
    let seen = two_behind(&drive);
    bencher.bench(|| prove_in_fractions(black_box(&drive), black_box(&seen)).unwrap());
}

#[divan::bench(args = ["four", "v8"])]
fn check_by_fractions(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = drive(text(engine));
    let seen = two_behind(&drive);
    bencher.bench(|| check_in_fractions(black_box(&drive), black_box(&seen)).unwrap());
}

#[divan::bench(args = ["four", "v8"])]
fn read_spec(bencher: Bencher<'_, '_>, engine: &str) {
    bencher.bench(|| drive(black_box(text(engine))));
}

/// The parser's events over the same bytes, and nothing made of them: the limit of reading.
#[divan::bench(args = ["four", "v8"])]
fn bare_events(bencher: Bencher<'_, '_>, engine: &str) {
    bencher.bench(|| {
        for event in granit_parser::Parser::new_from_str(black_box(text(engine))) {
            black_box(event.unwrap());
        }
    });
}

#[divan::bench(args = ["four", "v8"])]
fn survey_of_the_geometry(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = drive(text(engine));
    bencher.bench(|| tautmark::plane::survey(black_box(&drive)));
}

/// The same verdict from arrays: the camshaft is let jump, then every shaft is turned home and every
/// link on a dot is looked at.
#[divan::bench(args = ["four", "v8"])]
fn simulated_check(bencher: Bencher<'_, '_>, engine: &str) {
    let right = Simulator::new(&Written::read(text(engine)));
    let last = right.sprockets().len() - 1;
    bencher.bench(|| {
        let mut arrays = black_box(&right).clone();
        arrays.slip(last, -2);
        let ahead: Vec<i64> = (0..arrays.shaft_count())
            .map(|shaft| arrays.steps_ahead(shaft))
            .collect();
        let links: Vec<_> = (0..=last)
            .map(|sprocket| arrays.link_on_dot(sprocket))
            .collect();
        assert!(!arrays.all_home());
        (ahead, links)
    });
}

fn run(command: &mut Command) {
    let status = command.stdout(Stdio::null()).stderr(Stdio::null()).status();
    assert!(status.is_ok());
}

#[divan::bench(args = ["four", "v8"])]
fn process_check(bencher: Bencher<'_, '_>, engine: &str) {
    let (name, links): (_, &[&str]) = match engine {
        "four" => ("kestrel-four", &["crank", "exhaust", "intake"]),
        _ => (
            "buzzard-v8",
            &[
                "left/crank",
                "left-exhaust",
                "left-intake",
                "right/crank",
                "right-intake",
                "right-exhaust",
            ],
        ),
    };
    let mut arguments = vec![
        "check".to_owned(),
        format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR")),
    ];
    arguments.extend(links.iter().map(|link| format!("--link={link}=on")));
    let tautmark = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tautmark"));
        command.args(&arguments);
        command
    };
    // In time by the links alone: a look-alike still fits, and the status says so.
    let status = tautmark().stdout(Stdio::null()).status().unwrap();
    assert_eq!(status.code(), Some(1));
    bencher.bench(|| run(&mut tautmark()));
}

/// A program that does nothing, compiled once.
static NOTHING: LazyLock<PathBuf> = LazyLock::new(|| {
    let directory = std::env::temp_dir().join(format!("tautmark-bench-{}", std::process::id()));
    std::fs::create_dir_all(&directory).unwrap();
    let source = directory.join("nothing.rs");
    std::fs::write(&source, "fn main() {}\n").unwrap();
    let program = directory.join("nothing");
    let compiled = Command::new("rustc")
        .arg("-O")
        .arg(&source)
        .arg("-o")
        .arg(&program)
        .status()
        .unwrap();
    assert!(compiled.success());
    program
});

#[divan::bench]
fn process_that_does_nothing(bencher: Bencher<'_, '_>) {
    let program = LazyLock::force(&NOTHING);
    bencher.bench(|| run(&mut Command::new(program)));
}
