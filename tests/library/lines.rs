//! Lines of a stream however they are written: with spaces, escapes, pairs of surrogates, keys given twice, numbers, lists, nulls and
//! whatever a slip of a byte makes of them. Each is read a second time here, by serde_json into pairs that keep every key, and what
//! it says is asked of `check`: the answer to the line must be the same, or an error where there is nothing to ask.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use crate::support::drive;
use proptest::{prelude::*, strategy::ValueTree as _};
use serde::{Deserialize, Deserializer, de::MapAccess, de::Visitor};
use serde_json::{Value, json, value::RawValue};
use std::collections::BTreeMap;
use std::fmt;
use tautmark::{
    Drive, Observations, Seen, Verdict, check, dot_named, link_named,
    stream::{LineChecker, LineOutcome},
    timing::{DotCount, Unseen, name_of},
    units::{Exact, Turns},
};

/// All pairs of an object in their order, keys that are given twice too.
struct Pairs(Vec<(String, Box<RawValue>)>);

impl<'de> Deserialize<'de> for Pairs {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Taker;
        impl<'de> Visitor<'de> for Taker {
            type Value = Pairs;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Pairs, M::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        from.deserialize_map(Taker)
    }
}

fn text(raw: &RawValue) -> Option<String> {
    serde_json::from_str(raw.get()).ok()
}

/// What `check` says of a line, as the line's answer should say it, without the line's number; `None` if nothing can be asked.
fn asked(drive: &Drive, line: &str) -> Option<Value> {
    let Pairs(all) = serde_json::from_str(line).ok()?;
    let mut parts: BTreeMap<String, Box<RawValue>> = BTreeMap::new();
    for (key, value) in all {
        if !["id", "spec", "turned", "links", "dots", "counts"].contains(&key.as_str()) {
            return None;
        }
        if parts.insert(key, value).is_some() {
            return None;
        }
    }
    let mut answer = json!({});
    if let Some(id) = parts.get("id") {
        let value: Value = serde_json::from_str(id.get()).ok()?;
        if !(value.is_string() || value.is_number()) {
            return None;
        }
        answer["id"] = value;
    }
    if let Some(spec) = parts.get("spec") {
        (text(spec)? == "engine").then_some(())?;
    }
    let turned = match parts.get("turned") {
        None => Exact::ZERO,
        Some(raw) => match serde_json::from_str(raw.get()).ok()? {
            Value::String(text) => Exact::parse(&text).ok()?,
            // As it is written, and no float.
            Value::Number(_) => Exact::parse(raw.get()).ok()?,
            _ => return None,
        },
    };
    let mut seen = Observations::after(Turns::new(turned)).ok()?;
    if let Some(links) = parts.get("links") {
        let Pairs(links) = serde_json::from_str(links.get()).ok()?;
        for (name, what) in links {
            let at = link_named(drive, &name).ok()?;
            seen.see_link(drive, at, text(&what)?.parse().ok()?).ok()?;
        }
    }
    if let Some(dots) = parts.get("dots") {
        let Pairs(dots) = serde_json::from_str(dots.get()).ok()?;
        for (name, what) in dots {
            let what: Seen = text(&what)?.parse().ok()?;
            let at = dot_named(drive, &name, what).ok()?;
            seen.see_dot(drive, at, what).ok()?;
        }
    }
    if let Some(counts) = parts.get("counts") {
        let Pairs(counts) = serde_json::from_str(counts.get()).ok()?;
        let mut all = Vec::new();
        for (names, what) in counts {
            all.push(DotCount::named(drive, &names, &text(&what)?).ok()?);
        }
        seen.see_counts(drive, &all).ok()?;
    }
    let outcome = check(drive, &seen).unwrap();
    answer["verdict"] = json!(match outcome.verdict() {
        Verdict::InTime => "in time",
        Verdict::OutOfTime => "out of time",
        Verdict::NotProven => "not proven",
    });
    answer["release_tensioner"] = json!(outcome.release_tensioner());
    let mut shafts = json!({});
    for state in outcome.shafts() {
        shafts[drive.shaft(state.shaft).name()] = json!({
            "off_teeth": state.off_teeth,
            "off_crank_degrees": state.off.map(|off| off.angle),
        });
    }
    answer["shafts"] = shafts;
    let not_seen = outcome.not_seen().iter().map(|unseen| match unseen {
        Unseen::Link(at) => format!("link {}", name_of(drive, *at)),
        Unseen::Dot(id) => format!("dot {}", drive.shaft(*id).name()),
    });
    answer["not_seen"] = json!(not_seen.collect::<Vec<_>>());
    Some(answer)
}

/// The line's answer without its number; `None` for an error.
fn answered(checker: &mut LineChecker<'_>, line: &str) -> Option<Value> {
    let mut out = String::new();
    let outcome = checker.answer(5, line.as_bytes(), &mut out);
    let mut answer: Value = serde_json::from_str(&out).unwrap();
    let parts = answer.as_object_mut().unwrap();
    assert_eq!(parts.remove("line"), Some(json!(5)));
    assert_eq!(
        outcome == LineOutcome::Bad,
        parts.contains_key("error"),
        "{line}"
    );
    (outcome != LineOutcome::Bad).then_some(answer)
}

/// Text between quotation marks, its characters as they are or escaped in one way or another.
fn written(text: &str, ways: &[u8]) -> String {
    let mut out = String::from("\"");
    for (i, c) in text.chars().enumerate() {
        match (ways.get(i % ways.len().max(1)).copied().unwrap_or(9), c) {
            (0, _) => {
                for unit in c.encode_utf16(&mut [0; 2]) {
                    out += &format!("\\u{unit:04x}");
                }
            }
            (1, _) => {
                for unit in c.encode_utf16(&mut [0; 2]) {
                    out += &format!("\\u{unit:04X}");
                }
            }
            (_, '"') => out += "\\\"",
            (_, '\\') => out += "\\\\",
            (2, '/') => out += "\\/",
            (_, '\t') => out += "\\t",
            _ => out.push(c),
        }
    }
    out + "\""
}

/// Most texts with nothing escaped, so that both ways of reading are taken.
fn quoted(text: impl Strategy<Value = String>) -> impl Strategy<Value = String> {
    let ways = prop_oneof![
        4 => Just(Vec::new()),
        1 => prop::collection::vec(0..12_u8, 1..6),
    ];
    (text, ways).prop_map(|(text, ways)| written(&text, &ways))
}

fn one_of(all: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop::sample::select(all).prop_map(str::to_owned)
}

/// What is no text, in places where one belongs.
fn other() -> impl Strategy<Value = String> {
    prop_oneof![
        one_of(&[
            "null",
            "true",
            "[]",
            "{}",
            "[\"on\"]",
            "{\"on\": 1}",
            "0",
            "-1",
            "2",
            "1.50",
            "1e2",
            "01",
            "+1",
            "1.",
            ".5",
            "-",
            "-0",
            "1E+2",
            "2e",
            "Infinity",
            "\"\\ud800\"",
            "\"\\udc00\\ud800\"",
            "\"\\x\"",
            "\"\u{1}\"",
            "\"",
        ]),
        (1..300_usize).prop_map(|deep| "[".repeat(deep) + &"]".repeat(deep)),
    ]
}

fn marks() -> impl Strategy<Value = String> {
    let name = one_of(&[
        "crank",
        "exhaust",
        "intake",
        "main/crank",
        "main/intake",
        "cam",
        "",
        "Crank",
        "crank ",
        "é",
        "😀",
    ]);
    let what = prop_oneof![
        3 => one_of(&["on"]),
        3 => one_of(&[
            "2 behind", "1 ahead", "+2", "-1", "link 68", "link 0", "1/2 ahead", "18.5 deg", "18.5 crank deg behind", "0.125 cam deg ahead",
        ]),
        1 => one_of(&[
            "ON", "ok", "2", "12,5 deg behind", "2  behind ", "\t2 behind", "2\u{a0}behind", "link 500", "99 ahead", "", "1/17 ahead", "é",
            "+ 2", "a b c d e f g h i j",
        ]),
    ];
    let value = prop_oneof![20 => quoted(what).boxed(), 1 => other().boxed()];
    prop::collection::vec((quoted(name), value, spaces()), 0..5).prop_map(|pairs| object(&pairs))
}

fn counts() -> impl Strategy<Value = String> {
    let names = one_of(&[
        "crank..exhaust",
        "exhaust..intake",
        "intake..crank",
        "crank..cam",
        "crank",
        "",
    ]);
    let what = one_of(&[
        "51 outer inner",
        "17 inner outer",
        "50",
        "51 outer outer",
        "",
        "x",
    ]);
    let value = prop_oneof![20 => quoted(what).boxed(), 1 => other().boxed()];
    prop::collection::vec((quoted(names), value, spaces()), 0..4).prop_map(|pairs| object(&pairs))
}

/// Spaces as JSON has them, and now and then one that it has not.
fn spaces() -> impl Strategy<Value = String> {
    prop_oneof![
        8 => Just(String::new()),
        2 => Just(" ".to_owned()),
        1 => one_of(&["\t", " \r ", "\n", "\u{a0}", "\u{c}", "\u{feff}"]),
    ]
}

fn object(pairs: &[(String, String, String)]) -> String {
    let pairs = pairs
        .iter()
        .map(|(key, value, space)| format!("{space}{key}{space}:{space}{value}"));
    format!("{{{}}}", pairs.collect::<Vec<_>>().join(","))
}

fn line() -> impl Strategy<Value = String> {
    let turned = prop_oneof![
        6 => quoted(one_of(&["0", "2", "3/2", "1.5", "-1", "1000001", " 2", "1/1001", ""])).boxed(),
        6 => one_of(&["0", "2", "1.5", "1.50", "4e0", "-1", "-0", "1000000"]).boxed(),
        1 => other().boxed(),
    ];
    let id = prop_oneof![
        4 => quoted(one_of(&["a1", "", "é", "😀 \u{7f}", "a\"b\\c/d\te", "\u{1}\u{200e}"])).boxed(),
        4 => one_of(&["7", "-7", "0.25", "123456789012345678901234567890"]).boxed(),
        1 => other().boxed(),
    ];
    let part = prop_oneof![
        2 => (quoted(one_of(&["id"])), id).boxed(),
        2 => (quoted(one_of(&["turned"])), turned).boxed(),
        1 => (quoted(one_of(&["spec"])), quoted(one_of(&["engine", "engine", "engines", ""]))).boxed(),
        6 => (quoted(one_of(&["links", "dots"])), marks()).boxed(),
        1 => (quoted(one_of(&["counts"])), counts()).boxed(),
        1 => (quoted(one_of(&["id", "spec", "turned", "links", "dots", "link", "", "Id"])), other()).boxed(),
    ];
    let part = (part, spaces()).prop_map(|((key, value), space)| (key, value, space));
    (prop::collection::vec(part, 0..5), spaces(), spaces())
        .prop_map(|(parts, before, after)| format!("{before}{}{after}", object(&parts)))
}

/// The line, or what a slip makes of it.
fn slipped() -> impl Strategy<Value = String> {
    let slip = (
        any::<prop::sample::Index>(),
        one_of(&["\"", ",", ":", "{", "}", "\\", " ", "1", ""]),
        any::<bool>(),
    );
    (line(), prop::option::weighted(0.3, slip)).prop_map(|(line, slip)| {
        let Some((at, put, over)) = slip else {
            return line;
        };
        let mut chars: Vec<String> = line.chars().map(String::from).collect();
        let at = at.index(chars.len());
        if over {
            chars[at] = put;
        } else {
            chars.insert(at, put);
        }
        chars.concat()
    })
}

fn kestrel() -> BTreeMap<String, Drive> {
    let text = include_str!("../../engines/kestrel-four.yaml");
    BTreeMap::from([("engine".to_owned(), drive(text))])
}

proptest! {
    #![proptest_config(crate::support::cases(400))]

    #[test]
    fn a_line_is_answered_as_a_second_reader_understands_it(
        lines in prop::collection::vec(slipped(), 1..20),
    ) {
        let drives = kestrel();
        // What one line leaves behind must not come up in the next.
        let mut checker = LineChecker::new(&drives);
        for line in lines {
            prop_assert_eq!(answered(&mut checker, &line), asked(&drives["engine"], &line), "{}", line);
        }
    }
}

/// The property above says little if hardly any of its lines can be answered.
#[test]
fn lines_of_both_kinds_are_thrown() {
    let drives = kestrel();
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut usable, mut count) = (0, 0);
    for _ in 0..1000 {
        let line = slipped().new_tree(&mut runner).unwrap().current();
        count += 1;
        usable += usize::from(asked(&drives["engine"], &line).is_some());
    }
    assert!(usable > count / 10 && usable < count * 9 / 10, "{usable}");
}
