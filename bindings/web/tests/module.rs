//! The built module against the library: made of the sources that are here, and the same answers to the byte.
//!
//! `wasmi`, an interpreter that is not ours, runs what `bindings/web/build` has put in its place.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test that cannot go on must fail"
)]

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use tautmark::{Drive, Source, timing::name_of};
use wasmi::{Engine, Instance, Linker, Memory, Module, Store};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The packed module, running.
struct Web {
    store: Store<()>,
    instance: Instance,
    memory: Memory,
}

impl Web {
    fn new() -> Self {
        let packed = std::fs::read(root().join("src/render/page/tautmark.wasm.gz")).unwrap();
        let mut bytes = Vec::new();
        flate2::read::GzDecoder::new(packed.as_slice())
            .read_to_end(&mut bytes)
            .unwrap();
        let engine = Engine::default();
        let module = Module::new(&engine, &bytes).unwrap();
        // It asks its surroundings for nothing: no clock, no chance, no file.
        assert_eq!(module.imports().count(), 0);
        let mut store = Store::new(&engine, ());
        let instance = Linker::new(&engine)
            .instantiate_and_start(&mut store, &module)
            .unwrap();
        let memory = instance.get_memory(&store, "memory").unwrap();
        Self {
            store,
            instance,
            memory,
        }
    }

    fn answer(&mut self, question: &str) -> String {
        let Self {
            store,
            instance,
            memory,
        } = self;
        let room = instance.get_typed_func::<u32, u32>(&*store, "tautmark_room");
        let at = room
            .unwrap()
            .call(&mut *store, question.len() as u32)
            .unwrap();
        memory
            .write(&mut *store, at as usize, question.as_bytes())
            .unwrap();
        let answer = instance.get_typed_func::<(u32, u32), u64>(&*store, "tautmark_answer");
        let there = answer
            .unwrap()
            .call(&mut *store, (at, question.len() as u32))
            .unwrap();
        let (at, length) = ((there >> 32) as u32, there as u32);
        let mut answer = vec![0; length as usize];
        memory.read(&*store, at as usize, &mut answer).unwrap();
        let free = instance.get_typed_func::<(u32, u32), ()>(&*store, "tautmark_free");
        free.unwrap().call(&mut *store, (at, length)).unwrap();
        String::from_utf8(answer).unwrap()
    }

    /// The same question to both; how many were not refused.
    fn same(&mut self, questions: impl IntoIterator<Item = Value>) -> usize {
        let mut answered = 0;
        for question in questions {
            let question = question.to_string();
            let (module, library) = (self.answer(&question), tautmark_web::answer(&question));
            if module != library {
                let at = module
                    .bytes()
                    .zip(library.bytes())
                    .position(|(a, b)| a != b);
                let at = at.unwrap_or(0).saturating_sub(60);
                let cut = |text: &str| text.chars().skip(at).take(160).collect::<String>();
                panic!(
                    "the module answers otherwise than the library (run bindings/web/build)\n{}\nmodule:  {}\nlibrary: {}",
                    &question[..question.len().min(300)],
                    cut(&module),
                    cut(&library)
                );
            }
            answered += usize::from(library.starts_with("{\"ok\""));
        }
        answered
    }
}

/// Every file of which the module is made, as `bindings/web/build` gathers them.
fn sources() -> String {
    fn gather(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(root().join(folder)).unwrap() {
            let path = folder.join(entry.unwrap().file_name());
            let name = path.to_str().unwrap().to_owned();
            if ["src/main.rs", "src/cli.rs", "src/render/page.rs"].contains(&name.as_str()) {
                continue;
            }
            if !root().join(&path).is_dir() {
                found.push(name);
            } else if !["src/cli", "src/render/page"].contains(&name.as_str()) {
                gather(&path, found);
            }
        }
    }
    let mut found = Vec::new();
    gather(Path::new("src"), &mut found);
    gather(Path::new("bindings/web/src"), &mut found);
    found.sort();
    let mut list = String::new();
    for name in found {
        let text = std::fs::read(root().join(&name)).unwrap();
        writeln!(list, "{}  {name}", hex(&text)).unwrap();
    }
    hex(list.as_bytes())
}

fn hex(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    digest.iter().fold(String::new(), |mut out, byte| {
        write!(out, "{byte:02x}").unwrap();
        out
    })
}

#[test]
fn it_was_built_from_the_sources_that_are_here() {
    let about: Value = serde_json::from_str(&Web::new().answer(r#"{"ask":"about"}"#)).unwrap();
    assert_eq!(
        about["ok"]["sources"].as_str(),
        Some(sources().as_str()),
        "the packed module is made of other sources than those that are here: run bindings/web/build"
    );
}

/// Chance that is the same every time.
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: usize) -> usize {
        // Knuth's multiplier (value from memory); its upper bits.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % most as u64) as usize
    }

    fn one_of<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.below(of.len())]
    }
}

struct Case {
    spec: Value,
    links: Vec<String>,
    dots: Vec<String>,
    sprockets: Vec<String>,
}

fn specs(folder: &str) -> Vec<Value> {
    let mut found = Vec::new();
    let mut open = vec![root().join(folder)];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|end| end == "yaml") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
        .iter()
        .filter_map(|path| {
            let text = String::from_utf8(std::fs::read(path).unwrap()).ok()?;
            let name = path.file_name().unwrap().to_str().unwrap();
            Some(json!({ "name": name, "text": text }))
        })
        .collect()
}

fn engines() -> Vec<Case> {
    let mut cases = Vec::new();
    for spec in specs("engines") {
        let text = spec["text"].as_str().unwrap().to_owned();
        let source = Source::new(spec["name"].as_str().unwrap(), text.into()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        let mut case = Case {
            spec,
            links: Vec::new(),
            dots: Vec::new(),
            sprockets: Vec::new(),
        };
        for (at, sprocket) in drive.engagements() {
            case.sprockets.push(name_of(&drive, at));
            if sprocket.mark().is_some() {
                case.links.push(name_of(&drive, at));
            }
        }
        for (id, shaft) in drive.shafts() {
            if drive.is_marked(id) {
                case.dots.push(shaft.name().to_owned());
            }
        }
        cases.push(case);
    }
    assert!(cases.len() > 6);
    cases
}

const SEEN: &[&str] = &[
    "on",
    "on",
    "on",
    "on",
    "1 ahead",
    "1 behind",
    "2 behind",
    "3 ahead",
    "1/2 behind",
    "18 deg ahead",
    "20 crank deg behind",
    "link 7",
    "7 ahead",
    "19 behind",
    "nonsense",
];
const TURNED: &[&str] = &["0", "0", "0", "1", "2", "2", "3/2", "7", "118", "1000000"];

fn look(case: &Case, chance: &mut Chance) -> Value {
    let mut pick = |names: &[String], often: usize| -> Vec<Value> {
        let mut picked = Vec::new();
        for name in names {
            if chance.below(8) < often {
                picked.push(json!([name, chance.one_of(SEEN)]));
            }
        }
        picked
    };
    let (links, dots) = (pick(&case.links, 6), pick(&case.dots, 3));
    json!({
        "ask": "check", "spec": case.spec, "turned": chance.one_of(TURNED), "links": links, "dots": dots,
    })
}

fn slips(case: &Case, chance: &mut Chance) -> Vec<Value> {
    let mut slips = Vec::new();
    for name in &case.sprockets {
        if chance.below(3) == 0 {
            slips.push(json!([name, chance.below(9) as i64 - 4]));
        }
    }
    slips
}

#[test]
fn thousands_of_looks_are_judged_alike() {
    let (mut web, mut chance) = (Web::new(), Chance(1));
    let mut judged = 0;
    for case in engines() {
        judged += web.same((0..300).map(|_| look(&case, &mut chance)));
        judged += web.same((0..2).map(|_| {
            let mut question = look(&case, &mut chance);
            question["ask"] = json!("draw");
            question
        }));
    }
    assert!(judged > 1000, "{judged}");
}

#[test]
fn slips_rolls_and_places_are_alike() {
    let (mut web, mut chance) = (Web::new(), Chance(2));
    let mut answered = 0;
    for case in engines() {
        let spec = &case.spec;
        answered += web.same([
            json!({ "ask": "scene", "spec": spec }),
            json!({ "ask": "figures", "spec": spec }),
        ]);
        for seed in 0..9 {
            let (seed, level) = (seed.to_string(), ["easy", "medium", "hard"][seed % 3]);
            let says = json!([format!("{}=1 behind", case.sprockets[0])]);
            answered += web.same([
                json!({ "ask": "exercise", "spec": spec, "seed": seed, "level": level }),
                json!({ "ask": "grade", "spec": spec, "seed": seed, "level": level, "says": says }),
                json!({ "ask": "grade", "spec": spec, "seed": seed, "level": level, "says": ["nothing"] }),
            ]);
        }
        for _ in 0..12 {
            let slips = slips(&case, &mut chance);
            let turned = format!("{}/72", chance.below(72 * 9));
            answered += web.same([
                json!({ "ask": "slipped", "spec": spec, "slips": slips }),
                json!({ "ask": "slip", "spec": spec, "slips": slips }),
                json!({ "ask": "place", "spec": spec, "turned": turned, "slips": slips }),
                json!({ "ask": "moment", "spec": spec, "turned": turned, "slips": slips, "wear": chance.below(12) }),
                json!({ "ask": "cylinders", "spec": spec, "turned": turned, "slips": slips, "phasers": [["intake", chance.below(60)]] }),
                json!({ "ask": "roll", "spec": spec, "turned": chance.below(500).to_string() }),
                json!({ "ask": "roll", "spec": spec, "turned": turned }),
            ]);
        }
    }
    assert!(answered > 400, "{answered}");
}

#[test]
fn findings_and_fits_are_alike() {
    let mut web = Web::new();
    let mut answered = web.same([json!({ "ask": "starter" }), json!({ "ask": "glossary" })]);
    let mut all = specs("engines");
    all.extend(specs("tests/fixtures"));
    for spec in &all {
        answered += web.same([
            json!({ "ask": "lint", "spec": spec }),
            json!({ "ask": "lint", "spec": spec, "seek": true }),
            json!({ "ask": "fit", "spec": spec }),
            json!({ "ask": "scene", "spec": spec }),
            json!({ "ask": "figures", "spec": spec }),
        ]);
    }
    // Half typed, as at a desk.
    let mut chance = Chance(3);
    for spec in specs("engines") {
        let text = spec["text"].as_str().unwrap();
        for _ in 0..12 {
            let mut cut = chance.below(text.len());
            while !text.is_char_boundary(cut) {
                cut -= 1;
            }
            let spec = json!({ "name": "half", "text": text[..cut] });
            answered += web.same([json!({ "ask": "lint", "spec": spec, "seek": true })]);
        }
    }
    assert!(answered > 200, "{answered}");
}

/// Whole interviews, answered by chance, with their records, and jobs that take them.
#[test]
fn interviews_records_and_jobs_are_alike() {
    let (mut web, mut chance) = (Web::new(), Chance(4));
    let mut steps = 0;
    for case in engines() {
        for round in 0..4 {
            let mut replies: Vec<Value> = Vec::new();
            let mut record = Value::Null;
            for minute in 0..60 {
                let at = format!("2026-11-25T09:{minute:02}:00Z");
                let question = json!({
                    "ask": "interview", "spec": case.spec, "id": "r1", "job": null, "record": record, "replies": replies,
                });
                steps += web.same([question.clone()]);
                let shown: Value =
                    serde_json::from_str(&tautmark_web::answer(&question.to_string())).unwrap();
                assert!(shown["ok"].is_object(), "{shown}\n{question}");
                let shown = &shown["ok"];
                if shown["step"] == "done" {
                    record = shown["record"].clone();
                    break;
                }
                // Mostly what goes on, sometimes not.
                let odd = round > 0 && chance.below(6) == 0;
                let reply = match shown["step"].as_str().unwrap() {
                    "view" => "view",
                    "ask" if odd && shown["counting"].is_object() => "counted",
                    "ask" if odd => chance.one_of(&["seen", "not-seen", "back", "keep"]),
                    "ask" => "seen",
                    _ if odd => chance.one_of(&["ready", "yes", "no", "back", "again", "moved"]),
                    _ => shown["choices"][0]["reply"]
                        .as_str()
                        .unwrap_or_else(|| panic!("{shown}")),
                };
                let seen = if shown["step"] == "view" {
                    chance.one_of(&[
                        "facing clockwise",
                        "mirror counter-clockwise",
                        "facing counter-clockwise",
                    ])
                } else if reply == "felt" {
                    chance.one_of(&["1/2", "2", ""])
                } else if reply == "counted" {
                    chance.one_of(&["51 same", "17 other", "34 same", "50 other"])
                } else if odd {
                    chance.one_of(&["1 behind", "2 ahead", "on"])
                } else {
                    "on"
                };
                replies.push(json!({ "reply": reply, "seen": seen, "at": at }));
                if shown["refused"].is_string() {
                    replies.pop();
                    replies.pop();
                }
                // A locked screen: it goes on from the record.
                if round == 3 && minute == 5 && shown["answers"] != 0 {
                    record = shown["record"].clone();
                    replies.clear();
                }
            }
            if record.is_string() {
                let at = "2026-11-25T10:30:00Z";
                steps += web.same([
                    json!({ "ask": "record", "spec": case.spec, "record": record }),
                    json!({ "ask": "job-begin", "spec": case.spec, "at": "2026-11-25T08:00:00Z", "by": "R. Moe" }),
                ]);
                let begun = tautmark_web::answer(
                    &json!({ "ask": "job-begin", "spec": case.spec, "at": "2026-11-25T08:00:00Z", "by": null })
                        .to_string(),
                );
                let begun: Value = serde_json::from_str(&begun).unwrap();
                steps += web.same([
                    json!({ "ask": "job-take", "spec": case.spec, "job": begun["ok"]["job"], "file": "job.yaml", "record": record, "at": at, "by": null }),
                    json!({ "ask": "job-tick", "spec": case.spec, "job": begun["ok"]["job"], "items": ["part:nothing"], "at": at, "by": null }),
                    json!({ "ask": "job", "spec": case.spec, "job": begun["ok"]["job"], "at": at }),
                ]);
            }
        }
    }
    assert!(steps > 300, "{steps}");
}

#[test]
fn what_is_no_question_is_refused_alike() {
    let mut web = Web::new();
    for question in [
        "",
        "{",
        "[]",
        "{\"ask\":\"\"}",
        "\u{0}",
        "{\"ask\":\"lint\"}",
    ] {
        let answer = web.answer(question);
        assert_eq!(answer, tautmark_web::answer(question));
        assert!(
            answer.starts_with("{\"error\":\"not a question"),
            "{answer}"
        );
    }
}
