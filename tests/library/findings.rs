//! Every kind of finding: the smallest file that has it, its exact place, the offending text and
//! the remedy.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use serde_json::Value;
use tautmark::{
    Drive, Finding, Source,
    plane::lint,
    render::{finding_json, finding_text},
    spec::{MAX_CHAINS, MAX_SHAFTS, Problem, RecordProblem},
};

/// What reading finds: each as `line:column code 'text'`, and its help.
fn findings_of(name: &str, text: &str) -> Vec<(String, String)> {
    let source = Source::new(name, text.into()).unwrap();
    told(name, &source, &Drive::read(&source).findings)
}

/// The same, and what `lint` finds besides.
fn all_findings_of(name: &str, text: &str) -> Vec<(String, String)> {
    let source = Source::new(name, text.into()).unwrap();
    told(name, &source, &lint(&source).findings)
}

fn told(name: &str, source: &Source, findings: &[Finding]) -> Vec<(String, String)> {
    findings
        .iter()
        .map(|finding| {
            let json = finding_json(finding, source);
            assert_eq!(json["file"], name);
            let at = &json["at"];
            let place = match at {
                Value::Null => format!("{name} "),
                _ => format!("{name}:{}:{} ", at["line"], at["column"]),
            };
            let shown = finding_text(finding, source, false);
            assert!(shown.contains(place.trim_end()), "{place} in {shown}");
            assert!(shown.contains(&format!("[{}]", finding.code())), "{shown}");
            (
                format!(
                    "{}{} '{}'",
                    place.strip_prefix(&format!("{name}:")).unwrap_or("file "),
                    finding.code(),
                    at["text"].as_str().unwrap_or("")
                ),
                json["help"].as_str().unwrap().to_owned(),
            )
        })
        .collect()
}

/// The same without the help.
fn places(text: &str) -> Vec<String> {
    findings_of("spec.yaml", text)
        .into_iter()
        .map(|(place, _)| place)
        .collect()
}

fn fixture(code: &str) -> String {
    std::fs::read_to_string(format!(
        "{}/tests/fixtures/{code}.yaml",
        env!("CARGO_MANIFEST_DIR")
    ))
    .unwrap()
}

#[test]
fn every_kind_is_found_at_its_place_with_its_remedy() {
    for (code, expected) in FIXTURES {
        let found = all_findings_of(&format!("{code}.yaml"), &fixture(code));
        // Of a hundred findings alike the last two are enough.
        let found = &found[found.len().saturating_sub(2)..];
        let expected: Vec<(String, String)> = expected
            .iter()
            .map(|(place, help)| ((*place).to_owned(), (*help).to_owned()))
            .collect();
        assert_eq!(found, expected, "{code}");
        assert!(
            expected
                .iter()
                .any(|(place, _)| place.contains(&format!(" {code} '"))),
            "{code}"
        );
    }
}

#[test]
fn every_code_has_a_fixture_and_every_fixture_a_code() {
    let with: Vec<&str> = FIXTURES.iter().map(|(code, _)| *code).collect();
    // What is found in records is shown in the tests of records.
    let of_specs = || {
        Problem::CODES
            .iter()
            .filter(|code| !RecordProblem::CODES.contains(code))
    };
    // A folder of fixtures has a test of its own, which says what each of its files shows.
    let (mut elsewhere, mut here) = (Vec::new(), Vec::new());
    let directory = format!("{}/tests/fixtures", env!("CARGO_MANIFEST_DIR"));
    for file in std::fs::read_dir(directory).unwrap() {
        let path = file.unwrap().path();
        if path.is_dir() {
            elsewhere.extend(
                std::fs::read_dir(path)
                    .unwrap()
                    .map(|file| file.unwrap().path()),
            );
        } else {
            here.push(path);
        }
    }
    let stem = |path: &std::path::PathBuf| path.file_stem().unwrap().to_str().unwrap().to_owned();
    for path in &here {
        assert!(
            with.contains(&stem(path).as_str()),
            "{path:?} shows no finding"
        );
    }
    for code in of_specs() {
        let shown =
            with.contains(code) || elsewhere.iter().any(|path| stem(path).starts_with(code));
        assert!(shown, "no fixture shows {code}");
    }
}

#[test]
fn codes_are_unique_words_in_kebab_case() {
    let mut codes = Problem::CODES.to_vec();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), Problem::CODES.len());
    for code in codes {
        let words: Vec<&str> = code.split('-').collect();
        assert!(
            words
                .iter()
                .all(|word| !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase())),
            "{code}"
        );
    }
}

const HEAD: &str = "tautmark: 1\nengine: x\ncrank_turns: clockwise\n";

/// A spec that holds together, of as many lines as the places below count.
fn good() -> String {
    format!(
        "{HEAD}shafts:
  crank: {{ kind: crankshaft }}
  cam: {{ kind: camshaft, phaser: {{ range: 50, parked: retarded }} }}
chains:
  main:
    links: 90
    path:
      - {{ sprocket: crank, teeth: 20, link: 0, dot: 180 }}
      - {{ sprocket: cam, teeth: 40, link: 48 }}
"
    )
}

#[test]
fn the_spec_that_the_others_vary_is_clean() {
    assert_eq!(places(&good()), [""; 0]);
}

/// `old` in the good spec written as each of the values; the codes that come of it.
fn assert_values(old: &str, values: &[(&str, &[&str])]) {
    assert_eq!(good().matches(old).count(), 1, "{old}");
    let (key, _) = old.rsplit_once(' ').unwrap();
    for (value, codes) in values {
        let text = good().replace(old, &format!("{key} {value}"));
        let found = findings_of("spec.yaml", &text);
        let found: Vec<&str> = found
            .iter()
            .map(|(place, _)| place.split(' ').nth(1).unwrap())
            .collect();
        assert_eq!(found, *codes, "{key} {value}");
    }
}

const OUT: &[&str] = &["out-of-range"];
const NO_NUMBER: &[&str] = &["not-a-number"];

#[test]
fn bounds_hold_on_both_sides() {
    // Within bounds the cam no longer comes to half speed, which shows that the value was taken.
    assert_values(
        "teeth: 40",
        &[
            ("4", OUT),
            ("5", &["camshaft-not-half-speed"]),
            ("40", &[]),
            ("400", &["chain-too-short", "camshaft-not-half-speed"]),
            ("401", OUT),
            ("0", OUT),
            ("-40", OUT),
        ],
    );
    assert_values(
        "links: 90",
        &[
            ("7", OUT),
            ("8", &["chain-too-short", "link-past-end"]),
            ("30", &["chain-too-short", "link-past-end"]),
            ("31", &["odd-links", "link-past-end"]),
            ("48", &["link-past-end"]),
            ("49", &["odd-links"]),
            ("50", &[]),
            ("2000", &[]),
            ("2001", OUT),
        ],
    );
    assert_values(
        "range: 50",
        &[
            ("0", OUT),
            ("-1", OUT),
            ("1/1000", &[]),
            ("180", &[]),
            ("180.001", OUT),
            ("181", OUT),
        ],
    );
    assert_values(
        "link: 48",
        &[
            ("-1", OUT),
            ("89", &[]),
            ("90", &["link-past-end"]),
            ("1999", &["link-past-end"]),
            ("2000", OUT),
        ],
    );
    assert_values(
        "dot: 180",
        &[
            ("-361", OUT),
            ("-360", &["dot-angle"]),
            ("-1/2", &["dot-angle"]),
            ("0", &[]),
            ("359.999", &[]),
            ("360", &["dot-angle"]),
            ("360.001", OUT),
        ],
    );
    assert_values(
        "tautmark: 1",
        &[("0", OUT), ("2", &["newer-format"]), ("one", NO_NUMBER)],
    );
}

#[test]
fn as_many_shafts_and_chains_as_are_taken_and_no_more() {
    let spec = |shafts: usize, chains: usize| {
        let mut text = format!("{HEAD}shafts:\n  crank: {{ kind: crankshaft }}\n");
        for n in 1..shafts {
            text += &format!("  p{n}: {{ kind: pump }}\n");
        }
        text += "chains:\n";
        for c in 0..chains {
            text += &format!(
                "  c{c}:\n    links: 200\n    path:\n      - {{ sprocket: crank, teeth: 20, link: 0 }}\n"
            );
            for n in (1..shafts).filter(|n| n % chains == c) {
                text += &format!("      - {{ sprocket: p{n}, teeth: 20 }}\n");
            }
        }
        text
    };
    assert_eq!(places(&spec(MAX_SHAFTS, MAX_CHAINS)), [""; 0]);
    assert_eq!(places(&spec(MAX_SHAFTS, 1)), [""; 0]);
    for (shafts, chains, says) in [
        (MAX_SHAFTS + 1, MAX_CHAINS, "17 shafts; the limit is 16"),
        (MAX_SHAFTS, MAX_CHAINS + 1, "9 chains; the limit is 8"),
    ] {
        let source = Source::new("spec.yaml", spec(shafts, chains).into()).unwrap();
        let found = Drive::read(&source).findings;
        assert_eq!(found.len(), 1);
        assert_eq!(finding_json(&found[0], &source)["message"], says);
    }
}

#[test]
fn numbers_are_taken_exactly_or_not_at_all() {
    // Whole numbers: anything that is exactly one.
    assert_values(
        "teeth: 40",
        &[
            ("'40'", &[]),
            ("\"40\"", &[]),
            ("40.0", &[]),
            ("+40", &[]),
            ("80/2", &[]),
            ("040", &[]),
            ("40.5", NO_NUMBER),
            ("4e1", NO_NUMBER),
            ("4_0", NO_NUMBER),
            ("0x28", NO_NUMBER),
            ("0o50", NO_NUMBER),
            ("0b101000", NO_NUMBER),
            ("40.", NO_NUMBER),
            ("' 40'", NO_NUMBER),
            ("1,000", &["out-of-range", "unknown-key"]),
            (".inf", NO_NUMBER),
            (".nan", NO_NUMBER),
            ("nan", NO_NUMBER),
            ("true", NO_NUMBER),
            ("4:0", NO_NUMBER),
            ("40/0", NO_NUMBER),
            ("４０", NO_NUMBER),
            ("99999999999999999999999999999999999999999999999999", OUT),
            ("-99999999999999999999999999999999999999999999999999", OUT),
            ("", &["wrong-type"]),
            ("~", &["wrong-type"]),
            ("null", &["wrong-type"]),
            ("[]", &["wrong-type"]),
            ("{}", &["wrong-type"]),
        ],
    );
    assert_values(
        "link: 0",
        &[("-0", &[]), ("+0", &[]), ("0.0", &[]), ("0/7", &[])],
    );
    // Numbers that need not be whole.
    assert_values(
        "range: 50",
        &[
            ("3/0", NO_NUMBER),
            ("0/0", NO_NUMBER),
            ("-3/0", NO_NUMBER),
            ("1e3", NO_NUMBER),
            ("1_000", NO_NUMBER),
            ("0x10", NO_NUMBER),
            (".inf", NO_NUMBER),
            ("-.inf", NO_NUMBER),
            ("nan", NO_NUMBER),
            ("'3'", &[]),
            ("3.0", &[]),
            ("012", &[]),
            ("3/2", &[]),
            ("3/-2", NO_NUMBER),
            ("'3 / 2'", NO_NUMBER),
            ("3/2/1", NO_NUMBER),
            ("1.5/2", NO_NUMBER),
            (".5", NO_NUMBER),
            ("5.", NO_NUMBER),
            ("1.2.3", NO_NUMBER),
            ("--3", NO_NUMBER),
            ("-", &["not-yaml"]),
            ("'-'", NO_NUMBER),
            ("-0", OUT),
            ("123456789012/123456789012", &[]),
            ("1.123456789012", &[]),
            ("1.1234567890123", NO_NUMBER),
            ("1/1234567890123", NO_NUMBER),
            ("1234567890123", OUT),
        ],
    );
}

#[test]
fn ten_mistakes_are_ten_findings_in_the_order_of_the_file() {
    let text = "tautmark: 0
engine: \"a\\u0007b\"
crank_turns: clockwize
colour: red
shafts:
  crank: { kind: crankshaft, phaser: { range: 50, parked: retarded } }
  cam: { kind: camshaft }
  cam: { kind: idler }
chains:
  main:
    links: 90
    path:
      - { sprocket: crank, teeth: twenty, link: 0 }
      - { sprocket: cam, teeth: 401, link: 90 }
      - { sprocket: camm, link: 50 }
";
    assert_eq!(
        places(text),
        [
            "1:11 out-of-range '0'",
            "2:9 unprintable-text '\"a\\u0007b\"'",
            "3:14 not-a-choice 'clockwize'",
            "4:1 unknown-key 'colour'",
            "6:38 phaser-not-on-camshaft '{ range: 50, parked: retarded }'",
            "8:3 duplicate-key 'cam'",
            "13:35 not-a-number 'twenty'",
            "14:33 out-of-range '401'",
            "14:44 link-past-end '90'",
            "15:11 missing-key 'sprocket'",
            "15:21 unknown-shaft 'camm'",
        ]
    );
}

#[test]
fn a_wrong_mark_is_one_mistake_not_two() {
    for (mark, code) in [
        ("link: 90", "link-past-end"),
        ("link: x", "not-a-number"),
        ("links: [1, 3]", "links-not-neighbours"),
        ("links: [1]", "wrong-type"),
        ("dot: x", "not-a-number"),
    ] {
        let found = places(&good().replace("link: 48", mark));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains(code), "{found:?}");
    }
    let found = places(
        &good()
            .replace(", link: 48", "")
            .replace("teeth: 20", "teeth: x"),
    );
    assert_eq!(
        found,
        ["6:3 nothing-to-see 'cam'", "11:35 not-a-number 'x'"]
    );
}

/// What the findings of the good spec with `new` for `old` say, with the label under the place.
fn says(old: &str, new: &str) -> String {
    let source = Source::new("spec.yaml", good().replace(old, new).into()).unwrap();
    let findings = Drive::read(&source).findings;
    assert_eq!(findings.len(), 1, "{new}");
    finding_text(&findings[0], &source, false)
}

#[test]
fn messages_give_value_bounds_and_unit() {
    for (old, new, title, label) in [
        (
            "teeth: 40",
            "teeth: 4",
            "'4' is out of range: 5 to 400 teeth",
            "out of range",
        ),
        (
            "range: 50",
            "range: 0",
            "'0' is out of range: above 0, up to 180 crank degrees",
            "out of range",
        ),
        (
            "tautmark: 1",
            "tautmark: 2",
            "this file is of version '2' of the format; this tautmark reads version 1",
            "newer than this program",
        ),
        (
            "teeth: 40",
            "teeth: 40.5",
            "expected a whole number, found '40.5'",
            "not a whole number",
        ),
        (
            "range: 50",
            "range: 3/0",
            "expected a number, found '3/0'",
            "a fraction over zero is no number",
        ),
        (
            "range: 50",
            "range: 1e3",
            "expected a number, found '1e3'",
            "expected a number such as 3, -3.25 or 3/2",
        ),
        (
            "teeth: 40",
            "teeth:",
            "expected a whole number, found nothing",
            "expected a whole number",
        ),
        (
            "link: 48",
            "link: 0",
            "link 0 is given for two dots",
            "again here",
        ),
        (
            "engine: x",
            "engine: \"\\e[1m\"",
            "'\\u{1b}[1m' has characters that cannot be shown",
            "control or invisible characters",
        ),
    ] {
        let text = says(old, new);
        assert!(
            text.lines()
                .next()
                .unwrap()
                .ends_with(&format!("]: {title}")),
            "{title}\n{text}"
        );
        assert!(
            text.lines()
                .any(|line| line.ends_with(&format!("^ {label}"))),
            "{label}\n{text}"
        );
    }
    let long = says("engine: x", &format!("engine: {}", "ä".repeat(201)));
    assert!(
        long.contains("]: this text has 201 characters; the limit is 200\n"),
        "{long}"
    );
    assert_eq!(
        places(&good().replace("engine: x", &format!("engine: {}", "ä".repeat(200)))),
        [""; 0]
    );
}

#[test]
fn two_places_are_both_shown() {
    let text = says("teeth: 40", "teeth: 40, teeth: 42");
    assert!(text.contains("-----      ^^^^^ given again\n"), "{text}");
    assert!(text.contains(" first given here\n"), "{text}");
    // Too far apart to be drawn side by side, the other place is named.
    let text = says(
        "teeth: 40",
        &format!("teeth: 40, colour: \"{}\", teeth: 42", " ".repeat(200)),
    );
    assert!(text.contains("= note: first given here: 12:26\n"), "{text}");
    assert!(text.contains("spec.yaml:12:249\n"), "{text}");
}

#[test]
fn columns_count_characters_wherever_the_offence_stands() {
    let bad = |text: &str| places(&text.replace("teeth: 40", "teeth: 4O"));
    let at = ["12:33 not-a-number '4O'"];
    assert_eq!(bad(&good()), at);
    assert_eq!(bad(&format!("\u{feff}{}", good())), at, "byte-order mark");
    assert_eq!(bad(&good().replace('\n', "\r\n")), at, "CRLF");
    assert_eq!(
        bad(&good().replace("engine: x", "engine: Müllerßchen 引擎 🦆")),
        at
    );
    assert_eq!(
        bad(&good().replace("shafts:\n", "shafts: # größe 引擎 🦆\n")),
        at
    );
    assert_eq!(
        bad(&good().replace("cam", "cäm").replace("cämshaft", "camshaft")),
        at
    );
    assert_eq!(
        bad(&good().replace("sprocket: cam", "sprocket: \"cam\"")),
        ["12:35 not-a-number '4O'"]
    );
    assert_eq!(
        bad(&good()
            .replace("link: 48", "link: 48, colour: 黄色")
            .replace("link: 48, colour: 黄色", "colour: 黄色, link: 48")
            .replace("teeth: 40, colour: 黄色", "colour: 黄色, teeth: 40")),
        ["12:45 not-a-number '4O'"]
    );
    assert_eq!(
        bad(&format!("---\n{}", good())),
        ["13:33 not-a-number '4O'"]
    );
    assert_eq!(
        bad(&format!("%YAML 1.2\n---\n{}...\n", good())),
        ["14:33 not-a-number '4O'"]
    );
}

#[test]
fn what_is_no_yaml_is_told_where_reading_stopped() {
    let indentation = "check the indentation, and look for a missing quote, bracket or brace just before this place";
    let quotes = "quote a text that starts with or contains this character";
    let brace = "close it with '}', or quote it if it is part of a text";
    let close = "close it, or quote it if it is part of a text";
    for (old, new, place, help) in [
        (
            "    links: 90",
            "\tlinks: 90",
            "9:1 tab '\t'",
            "indent with spaces; tabs are not allowed",
        ),
        ("link: 48 }", "link: 48", "12:9 not-yaml '{'", close),
        (
            "retarded } }",
            "retarded }",
            "6:8 unclosed-bracket '{'",
            brace,
        ),
        ("crankshaft }", "crankshaft ]", "5:10 not-yaml '{'", close),
        ("engine: x", "engine: \"x", "2:9 not-yaml '\"'", close),
        (
            "engine: x",
            "engine: x: y",
            "2:10 not-yaml ':'",
            "a colon and a space start a value: quote a text that contains them, or check the indentation",
        ),
        ("engine: x", "engine: @x", "2:9 not-yaml '@'", quotes),
        ("engine: x", "engine: %x", "2:9 not-yaml '%'", quotes),
        ("engine: x", "engine x", "2:1 not-yaml 'e'", indentation),
        ("  cam:", "   cam:", "6:4 not-yaml 'c'", indentation),
        (
            "link: 48",
            "link: *nobody",
            "12:43 not-yaml '*'",
            "no '&' with that name comes before it: write the value out, or quote the text",
        ),
    ] {
        let found = findings_of("spec.yaml", &good().replace(old, new));
        assert_eq!(found, [(place.to_owned(), help.to_owned())], "{new}");
    }
    let first = |text: &str| places(text).remove(0);
    assert_eq!(
        first(&format!("{}---\n{}", good(), good())),
        "13:1 second-document '---'"
    );
    assert_eq!(first("just a text"), "1:1 wrong-type 'just a text'");
    assert_eq!(first("- a list"), "1:1 wrong-type '- a list'");
    let found = findings_of(
        "spec.yaml",
        &good().replace("kind: crankshaft", "kind:crankshaft"),
    );
    assert_eq!(found[1].1, "put a space after the colon: 'kind: ...'");
}

#[test]
fn anchors_and_aliases_stand_for_what_they_name() {
    let text = good()
        .replace("teeth: 20", "teeth: &small 20")
        .replace("link: 0, dot: 180", "link: 0, dot: *small");
    assert_eq!(places(&text), [""; 0]);
    let text = format!(
        "{HEAD}shafts:
  crank: {{ kind: crankshaft }}
  exhaust: &cam {{ kind: &kind camshaft, phaser: {{ range: 40, parked: retarded }} }}
  intake: *cam
  spare: {{ kind: *kind }}
chains:
  main:
    links: 130
    path:
      - {{ sprocket: crank, teeth: 20, link: 0 }}
      - {{ sprocket: exhaust, teeth: &teeth 40, link: 48 }}
      - {{ sprocket: intake, teeth: *teeth, link: 70 }}
      - {{ sprocket: spare, teeth: *teeth, link: 90 }}
"
    );
    assert_eq!(places(&text), [""; 0]);
    // What an alias stands for is wrong where it is written, not where it is used.
    assert_eq!(
        places(
            &good()
                .replace("teeth: 20", "teeth: &t 4")
                .replace("teeth: 40", "teeth: *t")
        ),
        ["11:38 out-of-range '4'", "11:38 out-of-range '4'"]
    );
    // One alias twice as a key is one key twice.
    assert_eq!(
        places(
            &good()
                .replace("engine: x", "&e engine: x")
                .replace("shafts:", "*e : y\n*e : z\nshafts:")
        )
        .len(),
        2
    );
}

#[test]
fn merge_keys_are_named_and_tags_change_nothing() {
    let found = findings_of(
        "spec.yaml",
        &good()
            .replace("crank: {", "crank: &c {")
            .replace("cam: {", "cam: { <<: *c,"),
    );
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].0, "6:10 unknown-key '<<'");
    assert_eq!(
        found[0].1,
        "merge keys are not supported: write the keys out, or use an alias for the whole value"
    );
    assert_eq!(
        places(
            &good()
                .replace("teeth: 40", "teeth: !!str 40")
                .replace("kind: camshaft", "kind: !mine camshaft")
        ),
        [""; 0]
    );
}

/// Code by code: the findings of `fixtures/CODE.yaml` with their remedies.
const FIXTURES: &[(&str, &[(&str, &str)])] = &[
    (
        "no-space-after-colon",
        &[(
            "3:12 no-space-after-colon ':'",
            "put a space after the colon: 'crank_turns: ...'",
        )],
    ),
    (
        "unclosed-bracket",
        &[(
            "5:10 unclosed-bracket '{'",
            "close it with '}', or quote it if it is part of a text",
        )],
    ),
    (
        "odd-space",
        &[(
            "9:1 odd-space '\u{a0}'",
            "put a plain space in its place; text copied from a page or a letter often brings others",
        )],
    ),
    (
        "tab",
        &[("9:1 tab '\t'", "indent with spaces; tabs are not allowed")],
    ),
    (
        "not-of-a-belt",
        &[(
            "11:23 not-of-a-belt '1/100'",
            "take this line out; if it is a chain, its 'kind' is not 'belt'",
        )],
    ),
    (
        "not-a-gear-pair",
        &[(
            "11:5 not-a-gear-pair 'path'",
            "list the gear that drives and the one that is driven; a third that meshes with one of them is a pair of its own",
        )],
    ),
    (
        "gear-teeth",
        &[(
            "10:12 gear-teeth '42'",
            "the 'links' of a gear pair are the teeth of the gear that is driven: write 'links: 40', or recount the teeth",
        )],
    ),
    (
        "gear-outside",
        &[(
            "12:9 gear-outside '{ sprocket: crank, teeth: 20, link: 0, outside: true }'",
            "give 'outside: true' to 'cam' instead: the driven gear then turns the other way; only inside of a ring gear does it turn the same way, and neither is 'outside'",
        )],
    ),
    (
        "gear-mark",
        &[(
            "13:42 gear-mark '3'",
            "the marked teeth of two gears meet on the line of centres: 'link: 0' for each gear that has a mark, and no 'links'",
        )],
    ),
    (
        "not-of-gears",
        &[(
            "11:5 not-of-gears 'cranked_link'",
            "take this line out; if it is a chain, its 'kind' is not 'gears'",
        )],
    ),
    (
        "gear-centres",
        &[(
            "8:3 gear-centres 'main'",
            "move one of the shafts, recount the teeth, or check the pitch (it is pi times the module, in the plane of rotation) and 'outside'",
        )],
    ),
    (
        "gear-dot",
        &[(
            "13:43 gear-dot '30'",
            "'dot: 0' would agree; a dot that only lines up with the engine has no 'link: 0'",
        )],
    ),
    (
        "odd-links",
        &[
            (
                "8:3 marks-ambiguous 'main'",
                "give 'cam' its 'dot: ...', so that it can be checked against the engine; or tell the links apart by 'colour', if they differ",
            ),
            (
                "9:12 odd-links '91'",
                "a timing chain has an even number; recount: 90 or 92? One that is closed with a cranked link has its 'cranked_link: true', a toothed belt its 'kind: belt'",
            ),
        ],
    ),
    (
        "too-few-inside",
        &[
            (
                "8:3 marks-ambiguous 'main'",
                "give 'cam' its 'dot: ...', so that it can be checked against the engine; or tell the links apart by 'colour', if they differ",
            ),
            (
                "10:5 too-few-inside 'path'",
                "only what the chain's outside touches is 'outside: true'; leave it out elsewhere, or list the shoe that is missing",
            ),
        ],
    ),
    (
        "newer-format",
        &[(
            "1:11 newer-format '2'",
            "get a newer tautmark for it; writing another number here would not make it an older file",
        )],
    ),
    (
        "blank-text",
        &[("2:9 blank-text '\" \"'", "write what it is")],
    ),
    (
        "camshafts-not-half-speed",
        &[(
            "12:35 camshafts-not-half-speed '19'",
            "a four-stroke camshaft turns at exactly half crank speed; recount the sprockets common to them: 'teeth: 20' for 'crank' on chain 'main' would do",
        )],
    ),
    (
        "not-yaml",
        &[(
            "6:1 not-yaml 'c'",
            "check the indentation, and look for a missing quote, bracket or brace just before this place",
        )],
    ),
    (
        "empty",
        &[("file empty ''", "`tautmark new` prints one to start from")],
    ),
    (
        "second-document",
        &[(
            "14:1 second-document '---'",
            "remove the '---', or put the second spec in its own file",
        )],
    ),
    (
        "too-deep",
        &[(
            "4:40 too-deep '['",
            "no spec is nested that deep; look for an unclosed bracket",
        )],
    ),
    (
        "too-many-values",
        &[(
            "5:17 too-many-values '*d'",
            "no spec needs that many; write out what the aliases repeat",
        )],
    ),
    (
        "too-much-repeated",
        &[(
            "2:92 too-much-repeated '*a'",
            "no spec needs that much; write out what the aliases repeat",
        )],
    ),
    (
        "alias-loop",
        &[("1:23 alias-loop '*all'", "write the value out")],
    ),
    (
        "key-not-text",
        &[(
            "4:1 key-not-text '[shafts]'",
            "look for a missing quote, or a stray '?' or bracket",
        )],
    ),
    (
        "unknown-key",
        &[("5:30 unknown-key 'phasr'", "did you mean 'phaser'?")],
    ),
    (
        "duplicate-key",
        &[("12:47 duplicate-key 'teeth'", "keep one of them")],
    ),
    (
        "missing-key",
        &[(
            "12:11 missing-key 'sprocket'",
            "add 'teeth: ...' (how many teeth it has)",
        )],
    ),
    (
        "wrong-type",
        &[("12:33 wrong-type '[40]'", "give a whole number")],
    ),
    (
        "not-a-number",
        &[("12:33 not-a-number 'forty'", "use digits only, such as 36")],
    ),
    (
        "out-of-range",
        &[("12:33 out-of-range '4'", "give a value from 5 to 400")],
    ),
    (
        "not-a-choice",
        &[("6:16 not-a-choice 'cam-shaft'", "did you mean 'camshaft'?")],
    ),
    (
        "bad-name",
        &[(
            "6:3 bad-name 'in/take'",
            "use letters, digits, '-' and '_'; start with a letter or digit; 32 characters at most",
        )],
    ),
    (
        "unprintable-text",
        &[(
            "2:9 unprintable-text '\"x\\u202Ey\"'",
            "use printable characters, 200 at most",
        )],
    ),
    (
        "too-many",
        &[(
            "5:3 too-many 'crank: { kind: crankshaft }\n  cam: { kind: camshaft }\n  p0: { kind: pump }\n  p1: { kind: pump }\n  p2: { kind: pump }\n  p3: { kind: pump }\n  p4: { kind: pump }\n  p5: { kind: pump }\n  p6: { kind: pump }...'",
            "leave out what the timing does not need, down to 16 shafts",
        )],
    ),
    (
        "unknown-entry",
        &[(
            "13:9 unknown-entry '{ radius: 80 }'",
            "add the key that says what it is",
        )],
    ),
    (
        "unknown-shaft",
        &[("12:21 unknown-shaft 'cma'", "did you mean 'cam'?")],
    ),
    (
        "no-crankshaft",
        &[(
            "4:1 no-crankshaft 'shafts'",
            "give one shaft 'kind: crankshaft'",
        )],
    ),
    (
        "second-crankshaft",
        &[(
            "6:3 second-crankshaft 'cam'",
            "a drive has exactly one; give the other its own kind",
        )],
    ),
    (
        "camshafts-miscounted",
        &[(
            "4:12 camshafts-miscounted '1'",
            "count the camshafts of all banks again, and give what is no camshaft its own kind (idler, pump, balance)",
        )],
    ),
    (
        "camshafts-not-named",
        &[(
            "4:12 camshafts-not-named '4'",
            "add those that are left out, with their marks: nothing that is seen proves this engine in time without them",
        )],
    ),
    (
        "phaser-not-on-camshaft",
        &[(
            "5:38 phaser-not-on-camshaft '{ range: 50, parked: retarded }'",
            "a phaser sits between a sprocket and a camshaft; move it there, or make this shaft a camshaft",
        )],
    ),
    (
        "too-few-sprockets",
        &[(
            "9:5 too-few-sprockets 'path'",
            "list every sprocket in the order in which a travelling link meets it",
        )],
    ),
    (
        "two-dots-on-one-sprocket",
        &[(
            "13:21 two-dots-on-one-sprocket 'cam'",
            "a shaft has one sprocket on a chain, with one dot; remove one entry, or name the right shaft",
        )],
    ),
    (
        "chain-too-short",
        &[(
            "9:12 chain-too-short '30'",
            "recount the links and the teeth",
        )],
    ),
    (
        "link-and-links",
        &[(
            "12:54 link-and-links '[48, 49]'",
            "keep 'link' if the dot belongs on one link, 'links' if it belongs between two",
        )],
    ),
    (
        "link-past-end",
        &[(
            "12:43 link-past-end '90'",
            "links are numbered from 0 to 89",
        )],
    ),
    (
        "links-not-neighbours",
        &[(
            "12:44 links-not-neighbours '[48, 50]'",
            "recount: [48, 49] or [49, 50]?",
        )],
    ),
    (
        "colour-without-link",
        &[
            (
                "12:9 links-cannot-prove '{ sprocket: cam, teeth: 40, dot: 0, colour: yellow }'",
                "only its dot against the engine can; give a 'link' here if the chain has one",
            ),
            (
                "12:53 colour-without-link 'yellow'",
                "add 'link: ...', or remove the colour",
            ),
        ],
    ),
    (
        "link-shared",
        &[(
            "12:43 link-shared '0'",
            "'crank' has it already; recount from there",
        )],
    ),
    (
        "links-out-of-order",
        &[(
            "14:46 links-out-of-order '48'",
            "they fall all the way: reverse the order of the path, or swap two entries, or number the links in that direction",
        )],
    ),
    (
        "shaft-not-driven",
        &[(
            "7:3 shaft-not-driven 'pump'",
            "put its sprocket on the path of a chain that the crankshaft drives, or leave the shaft out",
        )],
    ),
    (
        "ratio-does-not-close",
        &[(
            "17:70 ratio-does-not-close '21'",
            "tooth counts around a closed loop must multiply to 1; recount the teeth, or check whether a sprocket is on the outside",
        )],
    ),
    (
        "camshaft-not-half-speed",
        &[(
            "12:33 camshaft-not-half-speed '38'",
            "a four-stroke camshaft turns at exactly half crank speed; recount: 'teeth: 40' here would do, or another sprocket on the way is wrong",
        )],
    ),
    (
        "too-intricate",
        &[(
            "4:1 too-intricate 'shafts'",
            "every shaft must turn at 1/100 to 100 times crank speed, in fractions under a million; recount the teeth",
        )],
    ),
    (
        "nothing-to-see",
        &[(
            "6:3 nothing-to-see 'cam'",
            "give one of its sprockets 'link: ...', 'links: [..., ...]' or 'dot: ...'",
        )],
    ),
    (
        "links-cannot-prove",
        &[(
            "12:9 links-cannot-prove '{ sprocket: cam, teeth: 40, dot: 180 }'",
            "only its dot against the engine can; give a 'link' here if the chain has one",
        )],
    ),
    (
        "marks-ambiguous",
        &[(
            "8:3 marks-ambiguous 'main'",
            "give 'cam' its 'dot: ...', so that it can be checked against the engine",
        )],
    ),
    (
        "dot-angle",
        &[(
            "12:52 dot-angle '360'",
            "give it in degrees clockwise from twelve o'clock, from 0 to less than 360",
        )],
    ),
    (
        "more-findings",
        &[
            (
                "112:1 unknown-key 'x99'",
                "known here: tautmark, engine, crank_turns, timed_position, camshafts, shafts, chains, cylinders, valves, parts, fasteners, tools, steps",
            ),
            (
                "113:1 more-findings 'x100'",
                "fix the ones above first; they may cause the rest",
            ),
        ],
    ),
    (
        "unknown-need",
        &[("16:49 unknown-need 'seel'", "did you mean 'seal'?")],
    ),
    (
        "needed-twice",
        &[(
            "17:49 needed-twice 'seal'",
            "keep it in the step where it is fitted, or give the other step's part a name of its own",
        )],
    ),
    (
        "in-no-step",
        &[(
            "14:3 in-no-step 'seal'",
            "add it to 'parts:' of the step that uses it",
        )],
    ),
    (
        "step-twice",
        &[(
            "18:13 step-twice 'hang'",
            "give each step a name of its own",
        )],
    ),
    (
        "step-repeats",
        &[(
            "18:61 step-repeats 'release'",
            "keep it on the step that ends with it",
        )],
    ),
    (
        "step-missing",
        &[(
            "15:1 step-missing 'steps'",
            "a job proves the marks at all three stages and has all three gates; add it to a step, or leave out 'steps:' altogether",
        )],
    ),
    (
        "within-nothing",
        &[(
            "16:13 within-nothing 'hang'",
            "'within' counts from the step before: give it to a later one, or leave it out",
        )],
    ),
    (
        "step-order",
        &[(
            "16:56 step-order 'release'",
            "the order is hung, release, released, turned, cover, sign-off, each in a step of its own",
        )],
    ),
    (
        "after-sign-off",
        &[(
            "22:5 after-sign-off '{ step: late, about: too late }'",
            "make the sign-off the last step",
        )],
    ),
    (
        "torque-unreadable",
        &[(
            "14:72 torque-unreadable '20 ft-lb'",
            "write each stage as '30 N m', '22 lbf ft', '90 lbf in' or '90 deg'",
        )],
    ),
    (
        "angle-first",
        &[(
            "14:72 angle-first '90 deg'",
            "an angle counts from the torque before it; give that torque first",
        )],
    ),
];
