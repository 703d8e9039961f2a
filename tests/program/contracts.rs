//! Answers in JSON as contracts: each names its format and the program's version, and is as its published schema
//! says. (What other tests read as JSON is held to it as well.) The validator is not ours.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use crate::support::contract::{folder, judge, judge_as_published, published};
use crate::support::program::{program, run};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Commands, and the kind of answer that each gives. `~` stands for the folder of fixtures.
const ANSWERS: &[(&str, &str)] = &[
    ("check", "check engines/wren-single.yaml --link crank=on"),
    (
        "check",
        "check engines/kestrel-four.yaml --link crank=on --link exhaust=on --link intake=-2",
    ),
    (
        "check",
        "check engines/kestrel-four.yaml --link crank=on --link exhaust=on --link intake=on",
    ),
    (
        "check",
        "check engines/buzzard-v8.yaml --turned 2 --dot crank=on",
    ),
    (
        "check-record",
        "check engines/wren-single.yaml --record ~/record/wren-done.yaml",
    ),
    ("roll", "roll engines/wren-single.yaml --turned 1/2"),
    ("roll", "roll engines/wren-single.yaml --turned 2 --table"),
    (
        "explain",
        "explain engines/kestrel-four.yaml intake=18_crank_deg_behind --tolerance 1 --code P0016",
    ),
    ("explain", "explain engines/kestrel-four.yaml --code P0016"),
    ("explain", "explain engines/wren-single.yaml cam=-1"),
    ("slip", "slip engines/kestrel-four.yaml intake=+2"),
    (
        "slip",
        "slip engines/kestrel-four.yaml intake --sweep -4..4",
    ),
    (
        "slip",
        "slip engines/wren-single.yaml cam=-20 --elongation 1/100",
    ),
    ("wear", "wear engines/kestrel-four.yaml --elongation 1/200"),
    ("wear", "wear engines/kestrel-four.yaml --extension 6"),
    (
        "lint",
        "lint engines ~/geometry/links-disagree.yaml ~/not-yaml.yaml nowhere.yaml",
    ),
    ("lint-fit", "lint --fit ~/geometry/links-disagree.yaml"),
    ("lint-report", "lint --report engines"),
    (
        "job-status",
        "job status engines/kestrel-four.yaml ~/job/signed-off.yaml",
    ),
    (
        "job-status",
        "job status engines/kestrel-four.yaml ~/job/kit-incomplete.yaml",
    ),
    ("job-sheet", "job sheet engines/kestrel-four.yaml"),
    ("paint-marks", "paint plan engines/wren-single.yaml"),
    (
        "paint-marks",
        "paint count --turns clockwise --links 90 --camshafts 1 --points crank=6 --points cam=12:30 crank=20 48 cam=40 42",
    ),
    (
        "paint-new-chain",
        "paint new-chain ~/paint/wagtail.yaml --links 122 --count 53,19,50",
    ),
    (
        "exercise",
        "exercise engines/kestrel-four.yaml --seed 7 --count 3",
    ),
    (
        "exercise",
        "exercise engines/siskin-v6.yaml --seed 8 --level hard --answers",
    ),
    (
        "exercise-grade",
        "exercise engines/kestrel-four.yaml --seed 7 --says nothing",
    ),
    (
        "exercise-grade",
        "exercise engines/kestrel-four.yaml --seed 7 --says exhaust=1_ahead",
    ),
    ("error", "check ~/missing-key.yaml"),
    ("error", "check nowhere.yaml"),
    (
        "error",
        "check engines/wren-single.yaml --link cam=nonsense",
    ),
    ("error", "check engines/wren-single.yaml --no-such-flag"),
    (
        "error",
        "check ~/marks-ambiguous.yaml --record ~/record/wren-done.yaml",
    ),
];

/// The names of the schemas that are published.
fn names() -> BTreeSet<String> {
    let entries = std::fs::read_dir(folder()).unwrap();
    entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .map(|name| name.trim_end_matches(".json").to_owned())
        .collect()
}

fn answer(command: &str) -> Value {
    let mut child = program();
    child.current_dir(env!("CARGO_MANIFEST_DIR"));
    // A stroke below stands for a space within a word.
    let words = command.split(' ').map(|word| word.replace('_', " "));
    child.args(words.map(|word| word.replace('~', "tests/fixtures")));
    child.args(["--format", "json"]);
    let outcome = run(child, b"");
    outcome.assert_printable();
    let answer = outcome.json();
    let error = answer.get("error").and_then(Value::as_str);
    assert_eq!(
        outcome.status == Some(2) && !command.starts_with("lint"),
        error.is_some(),
        "{command}: {outcome:?}"
    );
    answer
}

#[test]
fn every_answer_names_its_format_and_is_as_its_schema_says() {
    let mut shown = BTreeSet::new();
    for (kind, command) in ANSWERS {
        let told = answer(command);
        assert_eq!(told["format"], format!("{kind}/1"), "{command}: {told:#}");
        assert_eq!(told["tautmark"], env!("CARGO_PKG_VERSION"), "{command}");
        assert_eq!(judge(kind, &told), Ok(()), "{command}");
        shown.insert(*kind);
    }
    shown.insert("check-line");
    let all = names();
    assert_eq!(shown, all.iter().map(String::as_str).collect());
}

#[test]
fn every_line_of_a_stream_is_as_its_schema_says() {
    let lines = [
        r#"{"links": {"crank": "on", "cam": "1 ahead"}}"#,
        r#"{"id": 7, "turned": "2", "dots": {"crank": "on"}}"#,
        r#"{"id": "a", "links": {}}"#,
        r#"{"id": "b", "links": {"nobody": "on"}}"#,
        "{",
    ]
    .join("\n");
    for more in [&[][..], &["--fields", "verdict"]] {
        let mut child = program();
        child.current_dir(env!("CARGO_MANIFEST_DIR"));
        child.args(["check", "engines/wren-single.yaml", "--records", "-"]);
        child.args(more).stdin(std::process::Stdio::piped());
        let outcome = run(child, lines.as_bytes());
        assert_eq!(outcome.stdout.lines().count(), 5, "{outcome:?}");
        for line in outcome.stdout.lines() {
            let told = serde_json::from_str(line).unwrap();
            assert_eq!(judge("check-line", &told), Ok(()), "{line}");
        }
    }
}

/// A schema that takes everything would hold nothing.
#[test]
fn a_field_that_is_missing_or_of_another_type_is_refused_and_a_new_one_is_not() {
    for (kind, command) in ANSWERS {
        let told = answer(command);
        let Value::Object(fields) = &told else {
            panic!("{told:#}");
        };
        for (name, value) in fields {
            let mut less = told.clone();
            if published(kind)["required"]
                .as_array()
                .unwrap()
                .contains(&json!(name))
            {
                less.as_object_mut().unwrap().remove(name);
                assert!(
                    judge_as_published(kind, &less).is_err(),
                    "{command}: {name}"
                );
            }
            less[name] = match value {
                Value::String(_) => json!(1),
                _ => json!("x"),
            };
            // What may be a text or null may be any text.
            if !value.is_null() {
                assert!(
                    judge_as_published(kind, &less).is_err(),
                    "{command}: {name}"
                );
            }
        }
        let mut more = told.clone();
        more["a_field_of_a_later_version"] = json!(1);
        assert_eq!(judge_as_published(kind, &more), Ok(()), "{command}");
        assert!(judge(kind, &more).is_err(), "{command}");
    }
}

#[test]
fn what_is_exact_is_no_number_and_what_is_a_number_is_not_exact() {
    let mut told = answer("check engines/wren-single.yaml --link crank=on --link cam=-1/2");
    let off = &mut told["shafts"][1]["off_teeth"];
    assert_eq!(off, "-1/2");
    for wrong in [
        json!(0.5),
        json!("0.5"),
        json!("1/0"),
        json!("01"),
        json!("+1"),
        json!("1/2 "),
    ] {
        told["shafts"][1]["off_teeth"] = wrong;
        assert!(judge_as_published("check", &told).is_err(), "{told:#}");
    }
}

#[test]
fn every_schema_is_printed_by_its_name_and_no_other_is_published() {
    let mut child = program();
    child.args(["schema", "--help"]);
    let help = run(child, b"").stdout;
    let told: BTreeSet<String> = help
        .split(|c: char| !(c.is_ascii_lowercase() || c == '-'))
        .map(str::to_owned)
        .collect();
    let list = help.split("possible values: ").nth(1).unwrap();
    let list = list.split(']').next().unwrap();
    assert_eq!(list.split(',').count(), names().len(), "{list}");
    for name in names() {
        assert!(told.contains(&name), "{name} is not in {help}");
        let mut child = program();
        child.args(["schema", &name]);
        let outcome = run(child, b"");
        let printed: Value = serde_json::from_str(&outcome.stdout).unwrap();
        assert_eq!(printed, published(&name));
        assert_eq!(printed["$id"], format!("urn:tautmark:{}:1", name));
    }
}

#[test]
fn what_goes_wrong_is_told_in_json_with_the_findings_and_on_standard_error() {
    let mut child = program();
    child.current_dir(env!("CARGO_MANIFEST_DIR"));
    child.args(["check", "tests/fixtures/missing-key.yaml", "--format=json"]);
    let outcome = run(child, b"");
    assert_eq!(outcome.status, Some(2));
    assert!(outcome.stderr.contains("error[missing-key]"), "{outcome:?}");
    let told = outcome.json();
    assert_eq!(told["findings"][0]["code"], "missing-key", "{told:#}");
    // Nobody who asked for text gets JSON.
    let mut child = program();
    child.current_dir(env!("CARGO_MANIFEST_DIR"));
    child.args(["check", "tests/fixtures/missing-key.yaml"]);
    assert_eq!(run(child, b"").stdout, "");
}
