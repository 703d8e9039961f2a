//! Every finding that geometry can make, at the line and column where something would have to change, and the values that the
//! findings themselves give put right what they are about.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use std::path::Path;
use tautmark::{
    Finding, Source,
    plane::lint,
    render::finding_text,
    spec::{FitProblem, PathProblem, Severity},
};

/// Code, line and column of a finding.
type Found = (&'static str, usize, usize);

/// File, then everything found in it.
const TABLE: &[(&str, &[Found])] = &[
    ("elongation-limit", &[("elongation-limit", 15, 23)]),
    (
        "tensioner-on-tight-strand",
        &[("tensioner-on-tight-strand", 20, 9)],
    ),
    ("sprockets-overlap", &[("sprockets-overlap", 9, 34)]),
    ("no-strand", &[("no-strand", 17, 9)]),
    ("sprocket-not-touched", &[("sprocket-not-touched", 22, 9)]),
    ("pitch-missing", &[("pitch-missing", 11, 3)]),
    ("loop-winds", &[("loop-winds", 11, 3)]),
    ("chain-crosses", &[("chain-crosses", 19, 9)]),
    (
        "strand-through-sprocket",
        &[
            ("strand-through-sprocket", 21, 9),
            ("strand-through-sprocket", 21, 9),
        ],
    ),
    ("shoe-not-touched", &[("shoe-not-touched", 20, 18)]),
    ("few-teeth-in-mesh", &[("few-teeth-in-mesh", 21, 9)]),
    ("chain-does-not-fit", &[("chain-does-not-fit", 12, 12)]),
    (
        "chain-does-not-fit-apart",
        &[("chain-does-not-fit", 12, 12)],
    ),
    ("tensioner-cannot-fit", &[("tensioner-cannot-fit", 13, 12)]),
    ("tensioner-slackens", &[("tensioner-slackens", 17, 70)]),
    (
        "tensioner-out-of-stroke",
        &[("tensioner-out-of-stroke", 17, 82)],
    ),
    (
        "tensioner-out-of-stroke-back",
        &[("tensioner-out-of-stroke", 17, 22)],
    ),
    (
        "tensioner-out-of-stroke-links",
        &[("tensioner-out-of-stroke", 13, 12)],
    ),
    (
        "tensioner-out-of-stroke-worn",
        &[("tensioner-out-of-stroke", 17, 82)],
    ),
    ("dot-off-chain", &[("dot-off-chain", 16, 44)]),
    ("links-disagree", &[("links-disagree", 19, 55)]),
    ("links-disagree-driver", &[("links-disagree", 16, 55)]),
    ("links-disagree-half", &[("links-disagree", 18, 57)]),
    ("pitch-not-standard", &[("pitch-not-standard", 12, 12)]),
    ("geometry-incomplete", &[("geometry-incomplete", 9, 3)]),
];

/// File, what its finding says would do, and that change.
const REMEDIES: &[(&str, &str, &str, &str)] = &[
    (
        "chain-does-not-fit",
        "'links: 54'",
        "links: 56",
        "links: 54",
    ),
    (
        "chain-does-not-fit",
        "119.97 mm",
        "[0, 110.1]",
        "[0, 119.97]",
    ),
    (
        "chain-does-not-fit-apart",
        "110.1 mm",
        "[0, 112.1]",
        "[0, 110.1]",
    ),
    (
        "tensioner-cannot-fit",
        "'links: 118'",
        "links: 150",
        "links: 118",
    ),
    (
        "tensioner-slackens",
        "'pushes: 90'",
        "pushes: 270",
        "pushes: 90",
    ),
    (
        "tensioner-out-of-stroke-worn",
        "'stroke: 17.8'",
        "stroke: 15",
        "stroke: 17.8",
    ),
    (
        "tensioner-out-of-stroke-back",
        "[-117.5, 120]",
        "[-115, 120]",
        "[-117.5, 120]",
    ),
    (
        "tensioner-out-of-stroke-links",
        "'links: 118'",
        "links: 120",
        "links: 118",
    ),
    ("links-disagree", "link 68", "link: 69", "link: 68"),
    (
        "links-disagree",
        "dot 20",
        "dot: 10, link: 69",
        "dot: 20, link: 69",
    ),
    ("links-disagree-driver", "link 0", "link: 1,", "link: 0,"),
    (
        "links-disagree-driver",
        "dot 200.1",
        "dot: 180",
        "dot: 200.1",
    ),
    (
        "links-disagree-half",
        "links [50, 51]",
        "link: 51",
        "links: [50, 51]",
    ),
    ("links-disagree-half", "dot 350", "dot: 345", "dot: 350"),
    ("shoe-not-touched", "13.9 mm", "[170, 130]", "[155, 130]"),
    ("pitch-not-standard", "8 mm", "8.01", "8"),
];

fn text_of(name: &str) -> String {
    let file = Path::new("tests/fixtures/geometry").join(format!("{name}.yaml"));
    std::fs::read_to_string(file).unwrap()
}

fn findings_in(text: &str) -> (Source, Vec<Finding>) {
    let source = Source::new("spec", text.into()).unwrap();
    let reading = lint(&source);
    assert!(reading.drive.is_some(), "{:?}", reading.findings);
    (source, reading.findings)
}

#[test]
fn every_finding_points_at_the_line_to_change() {
    for (name, expected) in TABLE {
        let (source, findings) = findings_in(&text_of(name));
        let found: Vec<Found> = findings
            .iter()
            .map(|finding| {
                let at = source.position(finding.span.unwrap());
                (finding.code(), at.line, at.column)
            })
            .collect();
        assert_eq!(&found, expected, "{name}");
    }
}

#[test]
fn every_fixture_and_every_code_of_the_geometry_is_in_the_table() {
    for code in PathProblem::CODES.iter().chain(FitProblem::CODES) {
        assert!(
            TABLE
                .iter()
                .any(|(_, found)| found.iter().any(|(at, ..)| at == code)),
            "{code} has no fixture"
        );
    }
    for file in std::fs::read_dir("tests/fixtures/geometry").unwrap() {
        let path = file.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        assert!(
            TABLE.iter().any(|(known, _)| *known == name),
            "{name} is in no test"
        );
    }
}

#[test]
fn what_a_finding_says_would_do_does() {
    for (name, said, from, to) in REMEDIES {
        let text = text_of(name);
        let (source, findings) = findings_in(&text);
        let words: Vec<String> = findings
            .iter()
            .map(|finding| finding_text(finding, &source, false))
            .collect();
        assert!(
            words.iter().any(|words| words.contains(said)),
            "{name}: {said} in {words:?}"
        );
        assert_eq!(text.matches(from).count(), 1, "{name}: {from}");
        let (_, left) = findings_in(&text.replace(from, to));
        let left: Vec<&str> = left
            .iter()
            .filter(|finding| finding.severity() != Severity::Note || finding.code() == *name)
            .map(Finding::code)
            .collect();
        assert_eq!(left, [""; 0], "{name} with {to}");
    }
}

#[test]
fn geometric_findings_leave_the_spec_usable() {
    for (name, _) in TABLE {
        let (_, findings) = findings_in(&text_of(name));
        assert!(
            findings
                .iter()
                .all(|finding| finding.severity() != Severity::Error),
            "{name}"
        );
    }
}

#[test]
fn without_geometry_there_is_nothing_to_find() {
    for file in std::fs::read_dir("engines").unwrap() {
        let path = file.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let (_, findings) = findings_in(&text);
        assert!(
            findings
                .iter()
                .all(|finding| finding.code() == "links-cannot-prove"),
            "{path:?}: {findings:?}"
        );
        // No places, no pitch, no shoes: what is left says nothing about the plane.
        let bare: String = text
            .lines()
            .filter(|line| {
                !["pitch:", "{ guide:", "{ tensioner:"]
                    .iter()
                    .any(|key| line.contains(key))
            })
            .map(|line| match line.split_once(", at: [") {
                Some((before, after)) => {
                    format!("{before}{}\n", after.split_once(']').unwrap().1)
                }
                None => format!("{line}\n"),
            })
            .collect();
        assert_ne!(bare, text);
        let (_, findings) = findings_in(&bare);
        assert!(
            findings
                .iter()
                .all(|finding| finding.code() == "links-cannot-prove"),
            "{path:?}: {findings:?}"
        );
    }
}

#[test]
fn what_is_missing_is_noted_once() {
    let text = std::fs::read_to_string("engines/heron-v6.yaml").unwrap();
    let text = text.replace("    pitch: 6.35\n", "");
    let (_, findings) = findings_in(&text);
    let codes: Vec<&str> = findings.iter().map(Finding::code).collect();
    assert_eq!(codes, ["pitch-missing", "pitch-missing"]);
    let text = text
        .replace(", at: [-123.355, 306.28]", "")
        .replace(", at: [123.355, 306.28]", "");
    let (_, findings) = findings_in(&text);
    let codes: Vec<&str> = findings.iter().map(Finding::code).collect();
    assert_eq!(codes, ["geometry-incomplete"]);
}

#[test]
fn without_marks_nothing_speaks_for_another_number_of_links() {
    let text = text_of("tensioner-out-of-stroke-links")
        .replace("link: 51, colour: yellow", "colour: yellow")
        .replace("link: 68, colour: yellow", "colour: yellow");
    let (source, findings) = findings_in(&text);
    let finding = findings
        .iter()
        .find(|finding| finding.code() == "tensioner-out-of-stroke")
        .unwrap();
    assert_eq!(source.position(finding.span.unwrap()).line, 17);
}

#[test]
fn an_even_number_of_links_is_preferred() {
    // The loop holds 117.69 to 119.51 links: 119 is nearer to 150, but an odd chain needs a cranked link.
    let text = text_of("tensioner-cannot-fit").replace("    elongation_limit: 1/100\n", "");
    let (source, findings) = findings_in(&text);
    assert!(finding_text(&findings[0], &source, false).contains("'links: 118' would fit"));
}
