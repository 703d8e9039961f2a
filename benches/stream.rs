//! How fast are verdicts on a stream, against reading the same lines with serde_json alone? In the
//! library, line by line, and as a whole process on one core and on two.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use tautmark::{Drive, Source, stream::LineChecker};

const LINES: usize = 20_000;

fn main() {
    divan::main();
}

/// What is seen at many engines of one kind: mostly in time, now and then a cam some teeth off, each
/// with a name of its own. `different`: no two lines alike in what was seen, which is the worst.
fn lines(different: bool, count: usize) -> String {
    let mut out = String::new();
    for n in 0..count {
        let intake = if different {
            format!("{}.{:03} crank deg ahead", n / 1000 % 720, n % 1000)
        } else {
            match n % 50 {
                7 => "2 behind".to_owned(),
                23 => "1 ahead".to_owned(),
                _ => "on".to_owned(),
            }
        };
        writeln!(
            out,
            "{{\"id\":\"engine-{n:08}\",\"turned\":\"2\",\"links\":{{}},\"dots\":{{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"{intake}\"}}}}"
        )
        .unwrap();
    }
    out
}

fn drives() -> BTreeMap<String, Drive> {
    let text = include_str!("../engines/kestrel-four.yaml");
    let source = Source::new("bench.yaml", text.into()).unwrap();
    BTreeMap::from([("kestrel".to_owned(), Drive::read(&source).drive.unwrap())])
}

/// The measure of all others.
#[divan::bench(args = [false, true])]
fn serde_json_alone(bencher: Bencher<'_, '_>, different: bool) {
    let text = lines(different, LINES);
    bencher.counter(ItemsCount::new(LINES)).bench(|| {
        for line in text.lines() {
            black_box(serde_json::from_str::<serde_json::Value>(line).unwrap());
        }
    });
}

#[divan::bench(args = [false, true])]
fn verdicts(bencher: Bencher<'_, '_>, different: bool) {
    let text = lines(different, LINES);
    let drives = drives();
    bencher.counter(ItemsCount::new(LINES)).bench(|| {
        let mut checker = LineChecker::new(&drives);
        let mut out = String::new();
        for (number, line) in (1..).zip(text.lines()) {
            out.clear();
            checker.answer(number, line.as_bytes(), &mut out);
            black_box(&out);
        }
    });
}

/// Enough lines that starting the process does not count.
const MANY: usize = 200_000;

fn file(different: bool) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("stream-{different}.jsonl"));
    std::fs::write(&path, lines(different, MANY)).unwrap();
    path
}

#[divan::bench(args = [(1, false), (2, false), (1, true), (2, true)], sample_count = 5, sample_size = 1)]
fn process_on_cores(bencher: Bencher<'_, '_>, (cores, different): (usize, bool)) {
    let path = file(different);
    bencher.counter(ItemsCount::new(MANY)).bench(|| {
        let status = Command::new(env!("CARGO_BIN_EXE_tautmark"))
            .arg("check")
            .arg(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/engines/kestrel-four.yaml"
            ))
            .args(["--jobs", &cores.to_string(), "--records"])
            .arg(&path)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .unwrap();
        assert!(status.code().is_some_and(|code| code < 2));
    });
}
