//! Findings in the formats of other programs, held against the answer in JSON over every fixture and engine. What SARIF
//! 2.1.0 asks for is stated here from memory, as is JUnit's XML; the XML is read by a parser that is not ours.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use crate::support::program::{Outcome, program, run, scratch};
use serde_json::Value;
use std::path::Path;

fn lint(files: &[&str], format: &str) -> Outcome {
    let mut child = program();
    child.current_dir(env!("CARGO_MANIFEST_DIR"));
    child.arg("lint").args(files).args(["--format", format]);
    let outcome = run(child, b"");
    outcome.assert_printable();
    outcome
}

/// Clean ones, broken ones, and one that is not there.
const ALL: &[&str] = &[
    "engines",
    "tests/fixtures",
    "tests/fixtures/geometry",
    "tests/fixtures/valves",
    "nowhere.yaml",
];

/// File, line, column, severity and code.
type Found = (String, u64, u64, String, String);

/// File, line, column, severity and code of every finding, by the answer in JSON.
fn by_json(files: &[&str]) -> (Option<i32>, Vec<Found>) {
    let outcome = lint(files, "json");
    let mut all = Vec::new();
    for file in outcome.json()["files"].as_array().unwrap() {
        let word = |of: &Value, key: &str| of[key].as_str().unwrap().to_owned();
        for finding in file["findings"].as_array().unwrap() {
            let at = &finding["at"];
            all.push((
                word(file, "file"),
                at["line"].as_u64().unwrap_or(1),
                at["column"].as_u64().unwrap_or(1),
                word(finding, "severity"),
                word(finding, "code"),
            ));
        }
    }
    assert!(all.len() > 3 || files.len() < ALL.len(), "{outcome:?}");
    (outcome.status, all)
}

#[test]
fn short_lines_are_file_line_column_severity_and_code() {
    let (status, expected) = by_json(ALL);
    let outcome = lint(ALL, "short");
    assert_eq!(outcome.status, status);
    let mut lines = outcome.stdout.lines();
    for (file, line, column, severity, code) in expected {
        let beginning = format!("{file}:{line}:{column}: {severity}[{code}]: ");
        let next = lines.next().unwrap();
        assert!(next.starts_with(&beginning), "{next} is not {beginning}");
    }
    let last: Vec<&str> = lines.collect();
    assert!(
        matches!(last[..], [one] if one.starts_with("nowhere.yaml:1:1: error: ")),
        "{last:?}"
    );
}

/// The rules of SARIF 2.1.0 that this uses (value from memory): what is required, and what refers to what.
fn is_sarif(log: &Value) {
    assert_eq!(log["version"], "2.1.0");
    let runs = log["runs"].as_array().unwrap();
    for run in runs {
        let driver = &run["tool"]["driver"];
        assert!(!driver["name"].as_str().unwrap().is_empty());
        assert!(
            ["utf16CodeUnits", "unicodeCodePoints"].contains(&run["columnKind"].as_str().unwrap())
        );
        for invocation in run["invocations"].as_array().unwrap() {
            assert!(invocation["executionSuccessful"].is_boolean());
            for told in invocation["toolExecutionNotifications"].as_array().unwrap() {
                assert!(!told["message"]["text"].as_str().unwrap().is_empty());
            }
        }
        let rules = driver["rules"].as_array().unwrap();
        for (i, rule) in rules.iter().enumerate() {
            let same = rules.iter().filter(|other| other["id"] == rule["id"]);
            assert_eq!(same.count(), 1, "rule {i} is there twice");
        }
        for result in run["results"].as_array().unwrap() {
            assert!(
                ["none", "note", "warning", "error"].contains(&result["level"].as_str().unwrap())
            );
            let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
            assert_eq!(rules[index]["id"], result["ruleId"]);
            assert!(!result["message"]["text"].as_str().unwrap().is_empty());
            for location in result["locations"].as_array().unwrap() {
                let physical = &location["physicalLocation"];
                // RFC 3986: nothing but unreserved characters, strokes, colons and percent signs is written here.
                let uri = physical["artifactLocation"]["uri"].as_str().unwrap();
                assert!(
                    uri.bytes()
                        .all(|b| b.is_ascii_alphanumeric() || b"-._~/:%".contains(&b)),
                    "{uri}"
                );
                if let Some(region) = physical.get("region") {
                    assert!(region["startLine"].as_u64().unwrap() >= 1);
                    assert!(region["startColumn"].as_u64().unwrap() >= 1);
                }
            }
        }
    }
}

#[test]
fn sarif_has_every_finding_in_its_place() {
    let (status, expected) = by_json(ALL);
    let outcome = lint(ALL, "sarif");
    assert_eq!(outcome.status, status);
    let log: Value = serde_json::from_str(&outcome.stdout).unwrap();
    is_sarif(&log);
    let run = &log["runs"][0];
    let results = run["results"].as_array().unwrap();
    assert_eq!(results.len(), expected.len());
    for (result, (file, line, column, severity, code)) in results.iter().zip(expected) {
        let physical = &result["locations"][0]["physicalLocation"];
        let region = physical.get("region");
        let place = |key: &str| region.map_or(1, |region| region[key].as_u64().unwrap());
        assert_eq!(physical["artifactLocation"]["uri"], file.as_str());
        assert_eq!((place("startLine"), place("startColumn")), (line, column));
        assert_eq!(result["level"], severity.as_str());
        assert_eq!(result["ruleId"], code.as_str());
    }
    // One file was not there; the others' findings are all the same.
    assert_eq!(run["invocations"][0]["executionSuccessful"], false);
    let told = run["invocations"][0]["toolExecutionNotifications"]
        .as_array()
        .unwrap();
    assert_eq!(told.len(), 1);
}

#[test]
fn junit_has_a_case_for_every_file_and_fails_those_that_are_not_clean() {
    let told = lint(ALL, "json").json();
    let outcome = lint(ALL, "junit");
    let document = roxmltree::Document::parse(&outcome.stdout).unwrap();
    let suite = document.root_element().first_element_child().unwrap();
    let cases: Vec<_> = suite
        .children()
        .filter(|node| node.has_tag_name("testcase"))
        .collect();
    let files = told["files"].as_array().unwrap();
    assert_eq!(cases.len(), files.len());
    let mut counts = [0; 2];
    for (case, file) in cases.iter().zip(files) {
        assert_eq!(case.attribute("name"), file["file"].as_str());
        let has = |tag: &str| {
            case.children()
                .filter(|node| node.has_tag_name(tag))
                .count()
        };
        let error = file.get("error").is_some();
        let failed = !error && file["clean"] == false;
        assert_eq!(
            (has("error"), has("failure")),
            (error.into(), failed.into())
        );
        counts[0] += usize::from(failed);
        counts[1] += usize::from(error);
        let text: String = case.descendants().filter_map(|node| node.text()).collect();
        for finding in file["findings"].as_array().unwrap() {
            let code = finding["code"].as_str().unwrap();
            assert!(
                text.contains(&format!("[{code}]")),
                "{code} is not in {text}"
            );
        }
    }
    let number = |key: &str| suite.attribute(key).unwrap().parse::<usize>().unwrap();
    assert_eq!([number("failures"), number("errors")], counts);
    assert_eq!(number("tests"), files.len());
    assert!(counts[0] > 3 && counts[1] == 1);
}

/// A name with everything in it that means something to one of the formats.
#[test]
fn a_strange_name_of_a_file_breaks_no_format() {
    let folder = scratch("formats");
    let name = "a b&<c>\"'%:é\u{202e}\nerror: nothing.yaml";
    let path = folder.join(name);
    let engine = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/odd-links.yaml");
    std::fs::copy(engine, &path).unwrap();
    let path = path.to_str().unwrap();
    let short = lint(&[path], "short");
    assert_eq!(
        short.stdout.lines().count(),
        by_json(&[path]).1.len(),
        "{short:?}"
    );
    let log: Value = serde_json::from_str(&lint(&[path], "sarif").stdout).unwrap();
    is_sarif(&log);
    let uri = &log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
        ["uri"];
    assert!(uri.as_str().unwrap().starts_with("file:///"), "{uri}");
    assert!(uri.as_str().unwrap().contains("%20b%26%3Cc%3E%22"), "{uri}");
    let junit = lint(&[path], "junit");
    roxmltree::Document::parse(&junit.stdout).unwrap();
}

#[test]
fn figures_and_patches_have_no_such_format() {
    for more in ["--fit", "--report"] {
        for format in ["short", "sarif", "junit"] {
            let outcome = lint(&["engines/wren-single.yaml", more], format);
            assert_eq!(
                (outcome.status, outcome.stdout.as_str()),
                (Some(2), ""),
                "{more} {format}"
            );
            assert!(outcome.stderr.contains("--format"), "{outcome:?}");
        }
    }
}
