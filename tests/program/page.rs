//! The page: what is in the file, and that its tables are the command line's numbers.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test that cannot go on must fail"
)]

use crate::support::program::{ENGINES, engine, scratch, tautmark};
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use std::path::{Path, PathBuf};
use tautmark::{Drive, Source};

/// The page of a spec file, in a folder of its own.
fn page_of(spec: &str, test: &str) -> String {
    let file = scratch(&format!("page-{test}")).join("page.html");
    let outcome = tautmark(&["page", spec, "-o", file.to_str().unwrap()]);
    assert_eq!(outcome.status, Some(0), "{outcome:?}");
    assert_eq!((outcome.stdout.as_str(), outcome.stderr.as_str()), ("", ""));
    std::fs::read_to_string(file).unwrap()
}

/// A spec with something changed, as a file.
fn changed(name: &str, test: &str, changes: &[(&str, &str)]) -> PathBuf {
    let mut text = std::fs::read_to_string(engine(name)).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let file = scratch(&format!("page-spec-{test}")).join("spec.yaml");
    std::fs::write(&file, text).unwrap();
    file
}

fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let rest = text
        .split_once(from)
        .unwrap_or_else(|| panic!("{from} is missing"))
        .1;
    rest.split_once(to).unwrap().0
}

fn data(page: &str) -> Value {
    let text = between(
        page,
        "<script type=\"application/json\" id=\"data\">",
        "</script>",
    );
    serde_json::from_str(text).unwrap()
}

/// The state of a shaft in the page's table, the way its script looks it up.
fn state(data: &Value, shaft: &Value, slips: &[i64]) -> Option<usize> {
    let range = data["turns"]["slip_range"].as_i64().unwrap();
    let index = shaft["by"]
        .as_array()
        .unwrap()
        .iter()
        .fold(0, |index, sprocket| {
            index * (2 * range + 1) + slips[sprocket.as_u64().unwrap() as usize] + range
        });
    let state = &shaft["table"][index as usize];
    assert!(state.is_u64() || state.is_null(), "no entry {index}");
    state.as_u64().map(|state| state as usize)
}

/// What the command line says of these slips.
fn slip_json(spec: &str, data: &Value, slips: &[i64]) -> Value {
    let given: Vec<String> = slips
        .iter()
        .enumerate()
        .filter(|(_, teeth)| **teeth != 0)
        .map(|(i, teeth)| {
            let label = data["sprockets"][i]["label"].as_str().unwrap();
            format!("{label}={teeth:+}")
        })
        .collect();
    let mut arguments = vec!["slip", spec];
    arguments.extend(given.iter().map(String::as_str));
    arguments.extend(["--format", "json"]);
    let outcome = tautmark(&arguments);
    assert_eq!(outcome.status, Some(0), "{outcome:?}");
    outcome.json()
}

#[test]
fn every_engine_has_a_page_that_needs_nothing_else() {
    for name in ENGINES.iter() {
        let page = page_of(&engine(name), name);
        assert!(page.starts_with("<!doctype html>"));
        assert!(page.len() < 3_000_000, "{name}: {} bytes", page.len());
        // No address of anything outside, in whatever form.
        for outside in [
            "://", "src=", "href=", "@import", "<link", "<iframe", "fetch(",
        ] {
            assert!(!page.contains(outside), "{name} has {outside}");
        }
        for (at, _) in page.match_indices("url(") {
            assert!(page[at..].starts_with("url(#"), "{name}");
        }
        let policy = between(&page, "Content-Security-Policy\" content=\"", "\"");
        assert!(
            policy.starts_with("default-src 'none'; script-src 'sha256-"),
            "{policy}"
        );
        assert!(!policy.contains("script-src 'unsafe"), "{policy}");
        assert_eq!(
            data(&page)["engine"].as_str(),
            Some(drive(&engine(name)).engine())
        );
    }
}

fn drive(spec: &str) -> Drive {
    let source = Source::new(spec, std::fs::read(spec).unwrap()).unwrap();
    Drive::read(&source).drive.unwrap()
}

#[test]
fn the_policy_allows_the_script_that_is_there() {
    let page = page_of(&engine("wren-single"), "hash");
    let script = between(&page, "<script>", "</script>");
    let hash = base64(&Sha256::digest(script.as_bytes()));
    let allowed = between(&page, "script-src 'sha256-", "'");
    assert_eq!(
        allowed, hash,
        "page.js has changed: put its new hash into POLICY in src/render/page.rs"
    );
}

fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let three = [0, 1, 2].map(|i| u32::from(chunk.get(i).copied().unwrap_or(0)));
        let all = three[0] << 16 | three[1] << 8 | three[2];
        for i in 0..4_usize {
            let letter = LETTERS[(all >> (18 - 6 * i)) as usize & 63];
            out.push(if i <= chunk.len() {
                char::from(letter)
            } else {
                '='
            });
        }
    }
    out
}

#[test]
fn the_tables_are_what_the_command_line_says() {
    for name in ["kestrel-four", "buzzard-v8", "wren-single"] {
        let spec = engine(name);
        let data = data(&page_of(&spec, &format!("values-{name}")));
        let count = data["sprockets"].as_array().unwrap().len();
        let mut states: Vec<Vec<i64>> = vec![vec![0; count]];
        for sprocket in 0..count {
            for teeth in [-4, -1, 2] {
                let mut slips = vec![0; count];
                slips[sprocket] = teeth;
                states.push(slips);
            }
        }
        // All at once, each by another number.
        states.push((0_i64..).take(count).map(|i| (i * 3 + 1) % 9 - 4).collect());
        for slips in states {
            let said = slip_json(&spec, &data, &slips);
            let mut compared = 0;
            let mut shaft_states = Vec::new();
            for shaft in data["shafts"].as_array().unwrap() {
                let state = state(&data, shaft, &slips).unwrap();
                shaft_states.push(state);
                let Some(other) = said["shafts"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .find(|other| other["shaft"] == shaft["name"])
                else {
                    continue;
                };
                for key in ["off_teeth", "off_crank_degrees"] {
                    assert_eq!(shaft["states"][state][key], other[key], "{name} {slips:?}");
                }
                compared += 1;
            }
            assert_eq!(compared, said["shafts"].as_array().unwrap().len());
            let of = |valve: &Value| shaft_states[valve["shaft"].as_u64().unwrap() as usize];
            let valves = data["valves"].as_array().unwrap();
            for (valve, other) in valves
                .iter()
                .zip(said["after"]["valves"].as_array().unwrap())
            {
                assert_eq!(
                    &valve["states"][of(valve)]["exact"],
                    other,
                    "{name} {slips:?}"
                );
            }
            let pairs = data["pairs"].as_array().unwrap();
            assert!(!pairs.is_empty());
            for (pair, other) in pairs.iter().zip(said["after"]["pairs"].as_array().unwrap()) {
                let [i, e] = ["intake", "exhaust"]
                    .map(|kind| of(&valves[pair[kind].as_u64().unwrap() as usize]));
                assert_eq!(&pair["table"][i][e][0], other, "{name} {slips:?}");
            }
        }
    }
}

#[test]
fn links_on_dots_are_those_of_roll() {
    for name in ["kestrel-four", "plover-three", "tern-between", "heron-v6"] {
        let spec = engine(name);
        let data = data(&page_of(&spec, &format!("links-{name}")));
        let range = data["turns"]["slip_range"].as_u64().unwrap() as usize;
        let numbers = data["turns"]["numbers"].as_array().unwrap();
        let home = data["turns"]["home_row"].as_u64().unwrap() as usize;
        for row in [0, 1, 2, 7, home] {
            let turned = numbers[row].to_string();
            let said = tautmark(&["roll", &spec, "--turned", &turned, "--format", "json"]).json();
            for mark in said["marks"].as_array().unwrap() {
                let sprocket = data["sprockets"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .find(|sprocket| {
                        let chain = sprocket["chain"].as_u64().unwrap() as usize;
                        let shaft = sprocket["shaft"].as_u64().unwrap() as usize;
                        data["chains"][chain]["name"] == mark["chain"]
                            && data["shafts"][shaft]["name"] == mark["shaft"]
                    })
                    .unwrap();
                let link = sprocket["on_dot"][range][row].as_f64().map(|link| {
                    if link.fract() == 0.0 {
                        format!("{link}")
                    } else {
                        format!("{}/2", link * 2.0)
                    }
                });
                assert_eq!(
                    link.as_deref(),
                    mark["link_on_dot"].as_str(),
                    "{name} {turned}"
                );
            }
        }
        assert_eq!(
            numbers[home],
            tautmark(&["roll", &spec, "--turned", "0", "--format", "json"]).json()["links_return_after"],
            "{name}"
        );
    }
}

#[test]
fn hostile_words_stay_words() {
    let hostile = "</script><script>alert(1)</script><!-- \\\" ' &amp;";
    let spec = changed(
        "kestrel-four",
        "hostile",
        &[
            (
                "engine: Kestrel 2.0 inline-four",
                &format!("engine: \"{hostile}\""),
            ),
            ("colour: blue", "colour: \"<b>'&\""),
        ],
    );
    let page = page_of(spec.to_str().unwrap(), "hostile");
    assert_eq!(page.matches("<script").count(), 2, "its own two");
    assert_eq!(page.matches("</script>").count(), 2);
    assert!(!page.contains("alert(1)</script><!--") && !page.contains("<b>"));
    // What turns text around does not even get as far as the page.
    let spec = changed(
        "kestrel-four",
        "turned",
        &[("engine: Kestrel", "engine: \"\\u2028\\u202e\" # ")],
    );
    let refused = tautmark(&["page", spec.to_str().unwrap(), "-o", "never.html"]);
    assert_eq!(refused.status, Some(2), "{refused:?}");
    let shown = data(&page)["engine"].as_str().unwrap().to_owned();
    assert!(
        shown.starts_with("</script><script>alert(1)</script><!-- "),
        "{shown}"
    );
    assert!(shown.ends_with("\" ' &amp;"), "{shown}");
}

#[test]
fn what_is_missing_is_named() {
    let valves = page_of(&engine("plover-three"), "no-valves");
    assert!(
        valves.contains("This spec has no &#39;valves:&#39; section"),
        "{valves}"
    );
    assert!(!valves.contains("What it does to the valves"));
    let spec = changed("kestrel-four", "no-places", &[(", at: [0, 0]", "")]);
    let places = page_of(spec.to_str().unwrap(), "no-places");
    assert!(places.contains("the spec gives no place (&#39;at:&#39;) for shaft &#39;crank&#39;"));
    assert!(!places.contains("id=\"drive\""));
    // What does not need them is there all the same.
    assert!(places.contains("What it does to the valves"));
}

#[test]
fn a_shaft_between_two_chains_slips_with_both_or_not_at_all() {
    let spec = scratch("page-spec-loop").join("spec.yaml");
    std::fs::write(
        &spec,
        "tautmark: 1\nengine: Loop\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n  cam: { kind: camshaft }\nchains:\n  one: { links: 90, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 40 } ] }\n  two: { links: 90, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 40 } ] }\n",
    )
    .unwrap();
    let data = data(&page_of(spec.to_str().unwrap(), "loop"));
    let labels: Vec<&str> = data["sprockets"]
        .as_array()
        .unwrap()
        .iter()
        .map(|sprocket| sprocket["label"].as_str().unwrap())
        .collect();
    assert_eq!(labels, ["one/crank", "one/cam", "two/crank", "two/cam"]);
    let cam = &data["shafts"][1];
    assert_eq!(state(&data, cam, &[0, 1, 0, 0]), None);
    let both = state(&data, cam, &[0, 1, 0, 1]).unwrap();
    assert_eq!(cam["states"][both]["off_teeth"], "1");
}

#[test]
fn a_file_that_is_there_stays_unless_forced() {
    let folder = scratch("page-force");
    let file = folder.join("page.html");
    std::fs::write(&file, "mine").unwrap();
    let path = file.to_str().unwrap();
    let spec = engine("wren-single");
    let refused = tautmark(&["page", &spec, "-o", path]);
    assert_eq!(refused.status, Some(2));
    assert!(
        refused
            .stderr
            .contains("already exists (nothing was written"),
        "{refused:?}"
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    let forced = tautmark(&["page", &spec, "-o", path, "--force"]);
    assert_eq!(forced.status, Some(0), "{forced:?}");
    assert!(
        std::fs::read_to_string(&file)
            .unwrap()
            .ends_with("</html>\n")
    );
    // Nothing half written is left beside it.
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
}

#[test]
fn a_spec_with_findings_makes_no_page() {
    let file = scratch("page-broken").join("page.html");
    let broken = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/wrong-type.yaml");
    let outcome = tautmark(&[
        "page",
        broken.to_str().unwrap(),
        "-o",
        file.to_str().unwrap(),
    ]);
    assert_eq!(outcome.status, Some(2), "{outcome:?}");
    assert!(!file.exists());
}
