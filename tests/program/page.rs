//! The page: what is in the file, and that what it shows are the command line's numbers.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on must fail"
)]

use crate::support::program::{ENGINES, engine, scratch, tautmark};
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use std::path::{Path, PathBuf};
use tautmark::render::{figures_json, place_json, scene_json, slipped_json};
use tautmark::timing::name_of;
use tautmark::units::{Exact, Teeth, Turns};
use tautmark::valves::Slips;
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

fn specs(page: &str) -> Value {
    let text = between(
        page,
        "<script type=\"application/json\" id=\"specs\">",
        "</script>",
    );
    serde_json::from_str(text).unwrap()
}

#[test]
fn every_engine_has_a_page_that_needs_nothing_else() {
    for name in ENGINES.iter() {
        let page = page_of(&engine(name), name);
        assert!(page.starts_with("<!doctype html>"));
        assert!(page.len() < 1_000_000, "{name}: {} bytes", page.len());
        // No address of anything outside, in whatever form; the module and the specs are text without any.
        let own = page.replace(between(&page, "id=\"module\">", "</script>"), "");
        let own = own.replace("http://www.w3.org/2000/svg", "");
        for outside in ["://", "src=", "@import", "<link", "<iframe", "fetch("] {
            assert!(!own.contains(outside), "{name} has {outside}");
        }
        for (at, _) in own.match_indices("href=") {
            assert!(own[at..].starts_with("href=\"#"), "{name}");
        }
        for (at, _) in own.match_indices("url(") {
            assert!(own[at..].starts_with("url(#"), "{name}");
        }
        let policy = between(&page, "Content-Security-Policy\" content=\"", "\"");
        assert!(
            policy.starts_with("default-src 'none'; script-src 'sha256-"),
            "{policy}"
        );
        assert!(!policy.contains("script-src 'unsafe"), "{policy}");
        assert!(!policy.contains("connect-src"), "{policy}");
        let specs = specs(&page);
        assert_eq!(
            specs[0]["title"].as_str(),
            Some(drive(&engine(name)).engine())
        );
        assert_eq!(specs[0]["name"], format!("{name}.yaml"));
        assert_eq!(
            specs[0]["text"].as_str(),
            Some(std::fs::read_to_string(engine(name)).unwrap().as_str())
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
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/render/page/script.sha256");
        std::fs::write(file, hash).unwrap();
        return;
    }
    assert_eq!(
        allowed, hash,
        "the page's script has changed: UPDATE_SNAPSHOTS=1 cargo test --test program page:: writes its new hash"
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

/// What the command line says of these slips.
fn slip_json(spec: &str, drive: &Drive, slips: &Slips) -> Value {
    let given: Vec<String> = slips
        .teeth()
        .iter()
        .map(|(at, teeth)| format!("{}={:+}", name_of(drive, *at), teeth.get().floor()))
        .collect();
    let mut arguments = vec!["slip", spec];
    arguments.extend(given.iter().map(String::as_str));
    arguments.extend(["--format", "json"]);
    let outcome = tautmark(&arguments);
    assert_eq!(outcome.status, Some(0), "{outcome:?}");
    outcome.json()
}

#[test]
fn what_is_shown_of_slips_is_what_the_command_line_says() {
    for name in ["kestrel-four", "buzzard-v8", "wren-single"] {
        let spec = engine(name);
        let drive = drive(&spec);
        let mut cases = vec![Slips::none()];
        let mut all = Slips::none();
        for (i, (at, _)) in (0_i64..).zip(drive.engagements()) {
            for teeth in [-4, -1, 2] {
                cases.push(Slips::none().with(at, Teeth::whole(teeth)));
            }
            // All at once, each by another number.
            all = all.with(at, Teeth::whole((i * 3 + 1) % 9 - 4));
        }
        cases.push(all);
        for slips in cases {
            let said = slip_json(&spec, &drive, &slips);
            let shown = slipped_json(&drive, &slips).unwrap();
            let mut compared = 0;
            for other in said["shafts"].as_array().unwrap() {
                let shafts = shown["shafts"].as_array().unwrap();
                let shaft = shafts.iter().find(|shaft| shaft["name"] == other["shaft"]);
                for key in ["off_teeth", "off_crank_degrees"] {
                    assert_eq!(shaft.unwrap()[key], other[key], "{name} {slips:?}");
                }
                compared += 1;
            }
            assert!(compared > 0);
            let pairs = shown["pairs"].as_array().unwrap();
            assert!(!pairs.is_empty());
            for (pair, other) in pairs.iter().zip(said["after"]["pairs"].as_array().unwrap()) {
                // In words a number is written mixed: 48 4/7 for 340/7.
                let exact = other["overlap_crank_degrees"].as_str().unwrap();
                let words = match exact.split_once('/') {
                    Some((top, bottom)) => {
                        let (top, bottom): (i64, i64) =
                            (top.parse().unwrap(), bottom.parse().unwrap());
                        let (whole, rest) = (top / bottom, (top % bottom).abs());
                        match (whole, top < 0) {
                            (0, true) => format!("-{rest}/{bottom}"),
                            (0, false) => format!("{rest}/{bottom}"),
                            _ => format!("{whole} {rest}/{bottom}"),
                        }
                    }
                    None => exact.to_owned(),
                };
                assert_eq!(pair[0][1], words, "{name} {slips:?}");
            }
        }
    }
}

#[test]
fn links_on_dots_are_those_of_roll() {
    for name in ["kestrel-four", "plover-three", "tern-between", "heron-v6"] {
        let spec = engine(name);
        let drive = drive(&spec);
        for turned in ["0", "1", "2", "7", "118"] {
            let said = tautmark(&["roll", &spec, "--turned", turned, "--format", "json"]).json();
            let turns = Turns::new(Exact::parse(turned).unwrap());
            let shown = place_json(&drive, turns, &Slips::none()).unwrap();
            let marks = shown["marks"].as_array().unwrap();
            for mark in said["marks"].as_array().unwrap() {
                let names = [
                    mark["shaft"].as_str().unwrap().to_owned(),
                    format!(
                        "{}/{}",
                        mark["chain"].as_str().unwrap(),
                        mark["shaft"].as_str().unwrap()
                    ),
                ];
                let line = marks
                    .iter()
                    .map(|line| line.as_str().unwrap())
                    .find(|line| {
                        names
                            .iter()
                            .any(|name| line.starts_with(&format!("{name}: ")))
                    });
                match mark["link_on_dot"].as_str() {
                    Some(link) if !link.contains('/') => {
                        assert!(
                            line.unwrap().contains(&format!(" link {link} on its dot")),
                            "{line:?}"
                        );
                    }
                    Some(_) => assert!(line.unwrap().contains("between links"), "{line:?}"),
                    None => assert!(
                        line.is_none_or(|line| !line.contains(" on its dot")),
                        "{line:?}"
                    ),
                }
            }
        }
    }
}

#[test]
fn several_engines_or_none() {
    let folder = scratch("page-several");
    let file = folder.join("none.html");
    let none = tautmark(&["page", "-o", file.to_str().unwrap()]);
    assert_eq!(none.status, Some(0), "{none:?}");
    let page = std::fs::read_to_string(&file).unwrap();
    assert_eq!(specs(&page).as_array().unwrap().len(), 0);
    assert!(page.contains("<title>tautmark</title>"));
    let file = folder.join("two.html");
    let (one, other) = (engine("kestrel-four"), engine("heron-v6"));
    let two = tautmark(&["page", &one, &other, "-o", file.to_str().unwrap()]);
    assert_eq!(two.status, Some(0), "{two:?}");
    let specs = specs(&std::fs::read_to_string(&file).unwrap());
    assert_eq!(specs[0]["title"], "Kestrel 2.0 inline-four");
    assert_eq!(specs[1]["name"], "heron-v6.yaml");
    let nowhere = tautmark(&["page", &one]);
    assert_eq!(nowhere.status, Some(2));
}

#[test]
fn a_folder_for_a_web_server_has_all_it_takes() {
    let folder = scratch("page-folder").join("site");
    let spec = engine("wren-single");
    let path = folder.to_str().unwrap();
    let made = tautmark(&["page", &spec, "--folder", path]);
    assert_eq!(made.status, Some(0), "{made:?}");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let index = read("index.html");
    assert!(index.contains("<link rel=\"manifest\" href=\"manifest.webmanifest\">"));
    assert!(index.contains("worker-src 'self'"));
    let manifest: Value = serde_json::from_str(&read("manifest.webmanifest")).unwrap();
    assert_eq!(manifest["name"], drive(&spec).engine());
    let worker = read("worker.js");
    for file in ["index.html", "manifest.webmanifest", "icon.svg"] {
        assert!(
            worker.contains(file) && folder.join(file).exists(),
            "{file}"
        );
    }
    assert!(!worker.contains("{{"), "{worker}");
    roxmltree::Document::parse(&read("icon.svg")).unwrap();
    // Nothing of it is overwritten unless asked, and then nothing new is written either.
    std::fs::remove_file(folder.join("index.html")).unwrap();
    let refused = tautmark(&["page", &spec, "--folder", path]);
    assert_eq!(refused.status, Some(2), "{refused:?}");
    assert!(!folder.join("index.html").exists());
    let forced = tautmark(&["page", &spec, "--folder", path, "--force"]);
    assert_eq!(forced.status, Some(0), "{forced:?}");
    assert_eq!(read("index.html"), index);
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
    assert_eq!(page.matches("<script").count(), 3, "its own three");
    assert_eq!(page.matches("</script>").count(), 3);
    assert!(!page.contains("alert(1)</script><!--") && !page.contains("<b>"));
    // What turns text around does not even get as far as the page.
    let spec = changed(
        "kestrel-four",
        "turned",
        &[("engine: Kestrel", "engine: \"\\u2028\\u202e\" # ")],
    );
    let refused = tautmark(&["page", spec.to_str().unwrap(), "-o", "never.html"]);
    assert_eq!(refused.status, Some(2), "{refused:?}");
    let shown = specs(&page)[0]["title"].as_str().unwrap().to_owned();
    assert!(
        shown.starts_with("</script><script>alert(1)</script><!-- "),
        "{shown}"
    );
    assert!(shown.ends_with("\" ' &amp;"), "{shown}");
}

#[test]
fn what_is_missing_is_named() {
    let valves = scene_json(&drive(&engine("plover-three"))).unwrap();
    assert!(
        valves["missing"]
            .to_string()
            .contains("This spec has no 'valves:' section"),
        "{valves}"
    );
    let figures = figures_json(&drive(&engine("plover-three"))).unwrap();
    let empty = serde_json::json!({ "sweeps": [], "cylinders": [], "sections": [], "svg": "" });
    assert_eq!(figures, empty);
    let spec = changed("kestrel-four", "no-places", &[(", at: [0, 0]", "")]);
    let places = scene_json(&drive(spec.to_str().unwrap())).unwrap();
    let missing = places["missing"].to_string();
    assert!(
        missing.contains("the spec gives no place ('at:') for shaft 'crank'"),
        "{missing}"
    );
    assert_eq!(places["svg"], "");
    // What does not need them is there all the same.
    assert_ne!(places["figures"], "");
}

#[test]
fn a_shaft_between_two_chains_slips_with_both_or_not_at_all() {
    let spec = scratch("page-spec-loop").join("spec.yaml");
    std::fs::write(
        &spec,
        "tautmark: 1\nengine: Loop\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n  cam: { kind: camshaft }\nchains:\n  one: { links: 90, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 40 } ] }\n  two: { links: 90, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 40 } ] }\n",
    )
    .unwrap();
    let drive = drive(spec.to_str().unwrap());
    let cams: Vec<_> = drive.engagements().map(|(at, _)| at).collect();
    assert_eq!(
        scene_json(&drive).unwrap()["sprockets"],
        serde_json::json!(["one/crank", "one/cam", "two/crank", "two/cam"])
    );
    let one = Slips::none().with(cams[1], Teeth::whole(1));
    assert!(slipped_json(&drive, &one).unwrap()["cannot_be"].is_string());
    let both = slipped_json(&drive, &one.with(cams[3], Teeth::whole(1))).unwrap();
    assert!(both["cannot_be"].is_null());
    assert_eq!(both["shafts"][0]["off_teeth"], "1");
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
