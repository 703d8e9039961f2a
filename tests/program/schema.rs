//! `tautmark schema`: a valid JSON Schema that accepts what the reader accepts and refuses what
//! breaks keys, kinds and bounds. YAML is read here by another reader than our own.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use crate::support::program::{ENGINES, engine, tautmark};
use boon::{Compiler, Draft, SchemaIndex, Schemas};
use serde_json::Value;
use tautmark::{Drive, Source, render::STARTER};

struct Schema {
    schemas: Schemas,
    index: SchemaIndex,
}

impl Schema {
    /// As printed. The compiler holds it against the meta-schema of its draft.
    fn printed() -> Self {
        let printed = tautmark(&["schema"]);
        assert_eq!((printed.status, printed.stderr.as_str()), (Some(0), ""));
        let schema = printed.json();
        assert_eq!(schema["$schema"], "http://json-schema.org/draft-07/schema#");
        let mut compiler = Compiler::new();
        compiler.set_default_draft(Draft::V7);
        compiler.add_resource("mem:///spec.json", schema).unwrap();
        let mut schemas = Schemas::new();
        let index = compiler
            .compile("mem:///spec.json", &mut schemas)
            .unwrap_or_else(|error| panic!("{error:#}"));
        Self { schemas, index }
    }

    fn judge(&self, text: &str) -> Result<(), String> {
        let value: Value = serde_yaml::from_str(text).unwrap();
        self.schemas
            .validate(&value, self.index)
            .map_err(|error| format!("{error:#}"))
    }
}

#[test]
fn it_accepts_every_engine_and_the_starter() {
    let schema = Schema::printed();
    for name in ENGINES.iter() {
        let text = std::fs::read_to_string(engine(name)).unwrap();
        assert_eq!(schema.judge(&text), Ok(()), "{name}");
    }
    let new = tautmark(&["new"]);
    assert_eq!(new.stdout, STARTER);
    assert_eq!(schema.judge(&new.stdout), Ok(()));
}

#[test]
fn it_refuses_what_breaks_keys_kinds_and_bounds() {
    let schema = Schema::printed();
    for code in [
        "unknown-key",
        "missing-key",
        "wrong-type",
        "not-a-number",
        "out-of-range",
        "not-a-choice",
        "bad-name",
        "too-many",
        "unknown-entry",
    ] {
        let path = format!("{}/tests/fixtures/{code}.yaml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        assert!(schema.judge(&text).is_err(), "{code}");
    }
}

const GOOD: &str = "
tautmark: 1
engine: x
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 0] }
  cam: { kind: camshaft, phaser: { range: 50, parked: retarded } }
chains:
  main:
    links: 90
    pitch: 8
    elongation_limit: 1/100
    path:
      - { sprocket: crank, teeth: 20, link: 0, dot: 180, colour: blue }
      - { tensioner: [-90, 100], radius: 80, outside: true, pushes: 90, stroke: 20 }
      - { sprocket: cam, teeth: 40, link: 48 }
      - { guide: [90, 100], radius: 80, outside: true }
";

/// Where schema and reader answer alike, for every key and every way to write its value.
#[test]
fn it_says_what_the_reader_says() {
    let schema = Schema::printed();
    let clean = |text: &str| {
        let source = Source::new("spec.yaml", text.into()).unwrap();
        // Codes that only reckoning can find are none of the schema's.
        Drive::read(&source).findings.iter().all(|finding| {
            matches!(
                finding.code(),
                "camshaft-not-half-speed"
                    | "chain-too-short"
                    | "link-past-end"
                    | "dot-angle"
                    | "link-shared"
                    | "links-cannot-prove"
                    | "unknown-shaft"
                    | "shaft-not-driven"
                    | "nothing-to-see"
                    | "no-crankshaft"
                    | "second-crankshaft"
                    | "camshafts-miscounted"
                    | "camshafts-not-named"
                    | "link-and-links"
                    | "phaser-not-on-camshaft"
                    | "colour-without-link"
                    | "links-not-neighbours"
                    | "too-few-sprockets"
            )
        })
    };
    assert!(clean(GOOD));
    let values = [
        "",
        "~",
        "x",
        "'x'",
        "[]",
        "{}",
        "[1]",
        "[1, 2]",
        "[1, 2, 3]",
        "[x, y]",
        "true",
        "false",
        "'true'",
        "yes",
        "0",
        "1",
        "-1",
        "1/2",
        "3/0",
        "-1/2",
        "0.5",
        "4",
        "5",
        "400",
        "401",
        "7",
        "8",
        "2000",
        "2001",
        "1999",
        "180",
        "180.5",
        "181",
        "360",
        "361",
        "-360",
        "-361",
        "5000",
        "5001",
        "-5000",
        "-5001",
        "500",
        "501",
        "100",
        "101",
        "1.5",
        "'1,5'",
        "'0,5'",
        "'1,500'",
        "'1,5,5'",
        "'1,'",
        "',5'",
        ".inf",
        ".nan",
        "clockwise",
        "counter-clockwise",
        "crankshaft",
        "idler",
        "advanced",
        "{ range: 1 }",
        "{ range: 1, parked: middle }",
        "{ range: 0, parked: middle }",
    ];
    let mut differ = Vec::new();
    let mut accepted = 0;
    let mut refused = 0;
    for (old, key) in [
        ("tautmark: 1", "tautmark"),
        ("engine: x", "engine"),
        ("crank_turns: clockwise", "crank_turns"),
        ("kind: camshaft", "kind"),
        ("at: [0, 0]", "at"),
        ("phaser: { range: 50, parked: retarded }", "phaser"),
        ("range: 50", "range"),
        ("parked: retarded", "parked"),
        ("links: 90", "links"),
        ("pitch: 8", "pitch"),
        ("elongation_limit: 1/100", "elongation_limit"),
        ("sprocket: cam", "sprocket"),
        ("teeth: 40", "teeth"),
        ("link: 48", "link"),
        ("link: 48", "links"),
        ("dot: 180", "dot"),
        ("colour: blue", "colour"),
        ("tensioner: [-90, 100]", "tensioner"),
        ("pushes: 90", "pushes"),
        ("stroke: 20", "stroke"),
        ("guide: [90, 100]", "guide"),
        ("radius: 80, outside: true, pushes", "radius"),
    ] {
        assert!(GOOD.contains(old), "{old}");
        for value in values {
            let tail = if key == "radius" {
                ", outside: true, pushes"
            } else {
                ""
            };
            let text = GOOD.replacen(old, &format!("{key}: {value}{tail}"), 1);
            let (by_schema, by_reader) = (schema.judge(&text).is_ok(), clean(&text));
            if by_schema {
                accepted += 1;
            } else {
                refused += 1;
            }
            let odd = key == "links" && old == "links: 90" && ODD.contains(&value);
            if odd {
                assert!(by_schema && !by_reader, "{value}");
            } else if by_schema != by_reader {
                differ.push(format!(
                    "{key}: {value} (schema {by_schema}, reader {by_reader})"
                ));
            }
        }
    }
    assert!(
        accepted > 100 && refused > 500,
        "{accepted} accepted, {refused} refused"
    );
    assert_eq!(differ, DIFFERENCES);
}

/// Where they differ, and that is meant: JSON has no such numbers, so another reader of YAML gives
/// nothing for them, while ours takes the text as it is written. And of a text with a decimal comma a pattern can tell
/// the form, but not the bounds.
const DIFFERENCES: &[&str] = &[
    "engine: .inf (schema false, reader true)",
    "engine: .nan (schema false, reader true)",
    "elongation_limit: '1,5' (schema true, reader false)",
    "sprocket: .inf (schema false, reader true)",
    "sprocket: .nan (schema false, reader true)",
    "colour: .inf (schema false, reader true)",
    "colour: .nan (schema false, reader true)",
];

/// An odd number of links is worth a warning, which a schema cannot give.
const ODD: [&str; 6] = ["401", "1999", "181", "361", "501", "101"];

#[test]
fn every_key_is_explained() {
    fn walk(value: &Value, keys: &mut usize) {
        if let Some(properties) = value["properties"].as_object() {
            for (key, property) in properties {
                *keys += 1;
                assert!(
                    property["description"]
                        .as_str()
                        .is_some_and(|text| text.len() > 5),
                    "{key}"
                );
                walk(property, keys);
            }
        }
        for inside in ["patternProperties", "items"] {
            match &value[inside] {
                Value::Object(map) => map.values().for_each(|value| walk(value, keys)),
                Value::Array(all) => all.iter().for_each(|value| walk(value, keys)),
                _ => {}
            }
        }
        if let Some(all) = value["items"]["oneOf"].as_array() {
            all.iter().for_each(|value| walk(value, keys));
        }
    }
    let mut keys = 0;
    walk(&tautmark(&["schema"]).json(), &mut keys);
    assert!(keys >= 28, "{keys}");
}
