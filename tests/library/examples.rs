//! The small programs in examples/ do what they say.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use std::path::{Path, PathBuf};
use tautmark::{Source, Verdict};

#[allow(dead_code, reason = "its main is for whoever runs it")]
#[path = "../../examples/check_a_look.rs"]
mod check_a_look;
#[allow(dead_code, reason = "its main is for whoever runs it")]
#[path = "../../examples/lint_a_folder.rs"]
mod lint_a_folder;
#[allow(dead_code, reason = "its main is for whoever runs it")]
#[path = "../../examples/sweep_slips.rs"]
mod sweep_slips;

fn in_project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn kestrel() -> Source {
    let path = in_project("engines/kestrel-four.yaml");
    Source::new("kestrel-four.yaml", std::fs::read(path).unwrap()).unwrap()
}

#[test]
fn a_look_is_checked() {
    let answer = |looks: &[&str]| {
        let looks: Vec<String> = looks.iter().map(ToString::to_string).collect();
        check_a_look::answer(&kestrel(), &looks)
    };
    let on = ["crank=on", "exhaust=on", "intake=on"];
    let (verdict, text) = answer(&on).unwrap();
    assert_eq!(verdict, Verdict::InTime);
    // What looks the same is told, and what can hurt.
    assert!(text.contains("inside out"), "{text}");
    assert!(text.contains("Cautions"), "{text}");
    let (verdict, text) = answer(&["crank=on", "exhaust=on", "intake=2 behind"]).unwrap();
    assert_eq!(verdict, Verdict::OutOfTime);
    assert!(text.contains("2 teeth behind"), "{text}");
    // What was not looked at is not taken to be right.
    assert_eq!(answer(&on[..2]).unwrap().0, Verdict::NotProven);
    assert_eq!(answer(&[]).unwrap().0, Verdict::NotProven);
    for wrong in ["intake", "nobody=on", "intake=2"] {
        assert!(answer(&[wrong]).is_err(), "{wrong}");
    }
    let broken = Source::new("x", b"tautmark: 1".to_vec()).unwrap();
    assert!(check_a_look::answer(&broken, &[]).is_err());
}

#[test]
fn a_folder_is_linted() {
    let (clean, text) = lint_a_folder::report(&in_project("engines")).unwrap();
    assert!(clean, "{text}");
    let (clean, text) = lint_a_folder::report(&in_project("tests/fixtures")).unwrap();
    assert!(!clean);
    let bad = text.lines().find(|line| line.contains("bad-name.yaml:"));
    let place = bad.unwrap().split("bad-name.yaml:").nth(1).unwrap();
    assert!(place.starts_with(|c: char| c.is_ascii_digit()), "{text}");
    // Nothing that was looked at is not clean.
    assert!(lint_a_folder::report(&in_project("src")).is_err());
    assert!(lint_a_folder::report(&in_project("nowhere")).is_err());
}

#[test]
fn slips_are_swept() {
    let table = sweep_slips::table(&kestrel(), "intake", 4).unwrap();
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines.len(), 9);
    assert!(
        lines[3].starts_with("-1 teeth: -20 crank degrees, "),
        "{table}"
    );
    assert!(
        lines[4].starts_with("+0 teeth: 0 crank degrees, "),
        "{table}"
    );
    assert!(table.contains("valves and piston meet"), "{table}");
    assert!(sweep_slips::table(&kestrel(), "nobody", 4).is_err());
    assert!(sweep_slips::table(&kestrel(), "intake", 1000).is_err());
}
