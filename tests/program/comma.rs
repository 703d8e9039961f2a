//! A decimal comma means the same wherever a number is written, and where it may part thousands it is asked back.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{engine, scratch, tautmark, tautmark_fed};

/// Each way of writing one number: with a comma, and with a point (ISO 80000-1:2009, 7.3.2, has both as decimal signs; from memory).
const ALIKE: [(&str, &str); 4] = [
    ("1,5", "1.5"),
    ("0,25", "0.25"),
    ("0,125", "0.125"),
    ("-0,5", "-0.5"),
];
/// What may be twelve hundred and fifty, or is no number.
const REFUSED: [&str; 6] = ["1,250", "12,500", "1,5,5", "1.250,5", ",5", "1,"];

/// What a place that takes a number makes of it: what it printed, and how it ended.
type Place = fn(&str) -> (String, Option<i32>);

fn said(words: &[&str]) -> (String, Option<i32>) {
    let outcome = tautmark(words);
    (outcome.stdout, outcome.status)
}

fn in_spec(number: &str) -> (String, Option<i32>) {
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    // The deck height may be below zero, and changes the compression that is reckoned.
    let text = text.replace("deck: -0.2 ", &format!("deck: {number} "));
    let path = scratch("comma").join("spec.yaml");
    std::fs::write(&path, text).unwrap();
    said(&["slip", path.to_str().unwrap(), "intake=0"])
}

fn in_record(number: &str) -> (String, Option<i32>) {
    let record = format!(
        "tautmark_record: 5\nengine: Kestrel 2.0 inline-four\nspec: x\nstages:\n  - {{ stage: hung, links: {{ crank: on, exhaust: \"{number} deg\", intake: on }} }}\n"
    );
    let path = scratch("comma").join("record.yaml");
    std::fs::write(&path, record).unwrap();
    said(&[
        "check",
        &engine("kestrel-four"),
        "--record",
        path.to_str().unwrap(),
    ])
}

fn on_the_command_line(number: &str) -> (String, Option<i32>) {
    said(&[
        "check",
        &engine("kestrel-four"),
        "--dot",
        "crank=on",
        "--dot",
        &format!("intake={number} deg"),
    ])
}

fn in_a_stream(number: &str) -> (String, Option<i32>) {
    let line = format!("{{\"dots\": {{\"crank\": \"on\", \"intake\": \"{number} deg\"}}}}\n");
    let outcome = tautmark_fed(
        &["check", &engine("kestrel-four"), "--records", "-"],
        line.as_bytes(),
    );
    (outcome.stdout, outcome.status)
}

#[test]
fn a_decimal_comma_means_the_same_everywhere() {
    let places: [(&str, Place); 4] = [
        ("spec", in_spec),
        ("record", in_record),
        ("command line", on_the_command_line),
        ("stream", in_a_stream),
    ];
    for (name, place) in places {
        for (comma, point) in ALIKE {
            let (told, status) = place(point);
            assert_ne!(status, Some(2), "{name} {point}: {told}");
            assert_eq!(place(comma), (told, status), "{name} {comma}");
        }
        for number in REFUSED {
            assert_eq!(place(number).1, Some(2), "{name} {number}");
        }
    }
}
