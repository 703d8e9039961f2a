//! Every mistake in the sections on cylinders and valves is found where it stands, with a remedy.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on must fail")]

use tautmark::{
    Drive, Source,
    render::finding_text,
    spec::{Severity, ValveProblem},
};

fn read(name: &str) -> (Source, tautmark::Reading) {
    let path = format!(
        "{}/tests/fixtures/valves/{name}.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    let source = Source::new(name, std::fs::read(path).unwrap()).unwrap();
    let reading = Drive::read(&source);
    (source, reading)
}

/// Fixture, code, line, column.
const MISTAKES: &[(&str, &str, usize, usize)] = &[
    ("too-few", "too-few", 19, 17),
    ("bad-event", "bad-event", 26, 12),
    ("event-dead-centre", "event-dead-centre", 27, 13),
    ("valve-duration", "valve-duration", 27, 13),
    ("valves-not-on-camshaft", "valves-not-on-camshaft", 23, 12),
    ("unknown-shaft", "unknown-shaft", 23, 12),
    ("lift-and-table", "lift-and-table", 38, 5),
    ("stated-lift", "stated-lift", 28, 14),
    ("lift-table", "lift-table", 41, 9),
    ("lift-table-not-rising", "lift-table", 40, 9),
    ("lift-table-not-from-zero", "lift-table", 42, 9),
    ("lift-table-too-long", "lift-table", 42, 9),
    ("lift-table-too-low", "lift-table", 38, 7),
    ("lift-table-duration", "lift-table-duration", 37, 5),
    ("firing-order", "firing-order", 19, 17),
    ("offset-count", "offset-count", 20, 12),
    (
        "offsets-against-firing-order",
        "offsets-against-firing-order",
        20,
        26,
    ),
    ("rod-too-short", "rod-too-short", 17, 8),
    ("valve-cylinder", "valve-cylinder", 25, 26),
    ("valve-cylinder-twice", "valve-cylinder", 25, 26),
];

#[test]
fn every_mistake_is_the_one_finding_and_stands_in_its_place() {
    for (fixture, code, line, column) in MISTAKES {
        let (source, reading) = read(fixture);
        let found: Vec<_> = reading
            .findings
            .iter()
            .map(|finding| {
                let at = source.position(finding.span.unwrap());
                (finding.code(), at.line, at.column)
            })
            .collect();
        assert_eq!(found, [(*code, *line, *column)], "{fixture}");
        let usable = reading.findings[0].severity() != Severity::Error;
        assert_eq!(reading.drive.is_some(), usable, "{fixture}");
        let text = finding_text(&reading.findings[0], &source, false);
        assert!(text.contains("= help: "), "{text}");
        assert!(
            text.contains(&format!("{fixture}:{line}:{column}")),
            "{text}"
        );
    }
}

#[test]
fn every_code_of_these_sections_has_a_fixture() {
    for code in ValveProblem::CODES.iter().chain(&["too-few", "bad-event"]) {
        assert!(
            MISTAKES.iter().any(|(_, found, ..)| found == code),
            "{code}"
        );
    }
}

#[test]
fn the_same_spec_without_a_mistake_is_clean() {
    let (_, reading) = read("clean");
    assert_eq!(reading.findings, []);
    let drive = reading.drive.unwrap();
    assert_eq!(drive.valves().len(), 2);
    let offsets: Vec<String> = drive
        .cylinders()
        .unwrap()
        .offsets
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(offsets, ["0", "540", "180", "360"]);
}

#[test]
fn without_offsets_the_cylinders_fire_evenly_in_the_firing_order() {
    let (source, _) = read("clean");
    let text = source.text().replace("  offsets: [0, 540, 180, 360]\n", "");
    let even = Drive::read(&Source::new("even", text.into()).unwrap())
        .drive
        .unwrap();
    let given = read("clean").1.drive.unwrap();
    assert_eq!(even.cylinders(), given.cylinders());
}

#[test]
fn valves_that_number_cylinders_need_a_firing_order_to_number_them_by() {
    let (source, _) = read("clean");
    let text = source.text();
    let from = text.find("cylinders:\n").unwrap();
    let to = text.find("valves:\n").unwrap();
    let source = Source::new("none", [&text[..from], &text[to..]].concat().into()).unwrap();
    let codes: Vec<&str> = Drive::read(&source)
        .findings
        .iter()
        .map(|f| f.code())
        .collect();
    assert_eq!(codes, ["valve-cylinder"; 4]);
}

/// A key that is missing, of the wrong kind or out of bounds in these sections: the tables of the
/// format find it like everywhere else.
#[test]
fn bounds_and_kinds_are_those_of_the_format() {
    let (source, _) = read("clean");
    for (from, to, code) in [
        ("  rod: 130\n", "", "missing-key"),
        ("stroke: 80", "stroke: 0", "out-of-range"),
        ("compression: 10", "compression: 1", "out-of-range"),
        ("compression: 10", "compression: 41", "out-of-range"),
        ("kind: intake", "kind: inlet", "not-a-choice"),
        ("recess: 1", "recess: [1]", "wrong-type"),
        ("recess: 1", "recesss: 1", "unknown-key"),
        ("[1, 3, 4, 2]", "[1, 3, 4, 17]", "out-of-range"),
        ("- [70, 4]", "- [70, 4, 1]", "wrong-type"),
        ("- [70, 4]", "- [70, 1e1]", "not-a-number"),
        ("12 BTDC", "[12, BTDC]", "wrong-type"),
        ("12 BTDC", "180 BTDC", "bad-event"),
        ("12 BTDC", "12.0001 BTDC", "bad-event"),
    ] {
        let text = source.text().replacen(from, to, 1);
        let reading = Drive::read(&Source::new("changed", text.into()).unwrap());
        let codes: Vec<&str> = reading.findings.iter().map(|f| f.code()).collect();
        assert!(codes.contains(&code), "{to}: {codes:?}");
    }
}
