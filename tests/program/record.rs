//! Records: what is written reads back equal, what is broken is found in its place, and what was
//! tampered with is in time only if what it says was seen is.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::{drive, engines};
use proptest::prelude::*;
use std::path::Path;
use std::process::Command;
use tautmark::{
    Drive, Observations, Seen, Source, Verdict,
    drive::Engagement,
    job::{Look, Record, Said, Sight, View},
    render::finding_json,
    spec::{Rotation, Stage, Viewpoint},
    timing::name_of,
    units::{CrankDegrees, Exact, LinkPosition, Teeth, Timestamp, Turns},
};

fn kestrel_text() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("engines/kestrel-four.yaml");
    std::fs::read_to_string(path).unwrap()
}

fn kestrel() -> Drive {
    drive(&kestrel_text())
}

/// A drive whose names some reader of YAML takes for something else than a text.
fn awkward(engine: &str) -> Drive {
    let text = format!(
        "tautmark: 1\nengine: {}\ncrank_turns: clockwise\n\
         shafts: {{ 'null': {{ kind: crankshaft }}, 'on': {{ kind: camshaft }}, '007': {{ kind: balance }}, 'é': {{ kind: pump }} }}\n\
         chains: {{ '1e3': {{ links: 90, path: [ {{ sprocket: 'null', teeth: 20, link: 0, dot: 0 }}, \
         {{ sprocket: 'on', teeth: 40, links: [30, 31], dot: 1 }}, {{ sprocket: '007', teeth: 20, link: 60, dot: 2 }} ] }}, \
         'no': {{ links: 90, path: [ {{ sprocket: 'null', teeth: 20, link: 0 }}, {{ sprocket: 'é', teeth: 20, dot: 0 }} ] }} }}\n",
        serde_json::to_string(engine).unwrap()
    );
    let reading = Drive::read(&Source::new("spec", text.into()).unwrap());
    reading
        .drive
        .unwrap_or_else(|| panic!("{:?}", reading.findings))
}

fn source(text: &str) -> Source {
    Source::new("job.yaml", text.into()).unwrap()
}

fn seen() -> impl Strategy<Value = Seen> {
    let number = (
        -400_000..=400_000_i64,
        prop::sample::select(vec![1, 2, 3, 7, 16, 1000]),
    )
        .prop_map(|(n, below)| {
            let above = if below == 1000 { n } else { n % (300 * below) };
            Exact::fraction(above, below).unwrap()
        });
    prop_oneof![
        4 => Just(Seen::Teeth(Teeth::ZERO)),
        2 => number.clone().prop_map(|n| Seen::Teeth(Teeth::new(n))),
        1 => number.clone().prop_map(Seen::ShaftDegrees),
        1 => number.prop_map(|n| Seen::CrankDegrees(CrankDegrees::new(n))),
        1 => (0..80_i64).prop_map(|n| Seen::Link(LinkPosition::new(Exact::fraction(n, 2).unwrap()))),
    ]
}

/// For each sprocket: what was seen of its link and its dot, or that it could not be seen.
type Sighting = (Option<Seen>, Option<Seen>, bool);

fn look() -> impl Strategy<Value = (usize, i64, Vec<Sighting>)> {
    let sighting = (
        proptest::option::of(seen()),
        proptest::option::of(seen()),
        any::<bool>(),
    );
    (
        0..3_usize,
        1..50_000_i64,
        prop::collection::vec(sighting, 16),
    )
}

fn record_of(drive: &Drive, spec: &str, looks: Vec<(usize, i64, Vec<Sighting>)>) -> Record {
    let mut record = Record::new(drive, spec);
    let all: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
    for (stage, turned, sightings) in looks {
        let stage = Stage::ALL[stage];
        let mut seen = match stage {
            Stage::Turned => {
                Observations::after(Turns::new(Exact::fraction(turned, 1000).unwrap())).unwrap()
            }
            _ => Observations::at_timed_position(),
        };
        let mut not_seen = Vec::new();
        let mut dotted = Vec::new();
        for (at, (link, dot, skip)) in all.iter().zip(sightings) {
            let sprocket = drive.sprocket(*at);
            if sprocket.mark().is_some() {
                match link {
                    // What goes past half the teeth is refused, and not in the record.
                    Some(what) => drop(seen.see_link(drive, *at, what)),
                    None if skip => not_seen.push(Sight::Link(*at)),
                    None => {}
                }
            }
            if sprocket.is_marked() && !dotted.contains(&sprocket.shaft()) {
                dotted.push(sprocket.shaft());
                match dot {
                    Some(Seen::Link(_)) => {}
                    Some(what) => drop(seen.see_dot(drive, *at, what)),
                    None if skip => not_seen.push(Sight::Dot(*at)),
                    None => {}
                }
            }
        }
        record.looks.push(Look::new(stage, seen, not_seen));
    }
    record
}

/// Reads `text` with a reader of YAML that is not ours, every mapping's values by their keys.
fn other_reader(text: &str) -> serde_yaml::Value {
    serde_yaml::from_str(text).unwrap()
}

proptest! {
    #![proptest_config(crate::support::cases(300))]

    #[test]
    fn what_is_written_reads_back_equal(
        which in any::<prop::sample::Index>(),
        looks in prop::collection::vec(look(), 0..5),
        spec in "\\PC{0,30}|[ -~]{0,30}|.{0,250}",
        engine in "[!-~]|[!-~][ -~é]{0,30}[!-~]",
    ) {
        let engines = engines();
        let which = which.index(engines.len() + 1);
        let drive = engines.get(which).map_or_else(|| awkward(&engine), |(_, text)| drive(text));
        let record = record_of(&drive, &spec, looks);
        let text = record.to_yaml(&drive);
        let reading = Record::read(&source(&text), &drive);
        prop_assert!(reading.findings.is_empty(), "{:?}\n{text}", reading.findings);
        prop_assert_eq!(&reading.record.unwrap(), &record);

        // A second reader sees the same texts.
        let other = other_reader(&text);
        prop_assert_eq!(other["engine"].as_str(), Some(drive.engine()));
        prop_assert_eq!(other["spec"].as_str(), Some(record.spec()));
        for (i, look) in record.looks.iter().enumerate() {
            let there = &other["stages"][i];
            prop_assert_eq!(there["stage"].as_str(), Some(look.stage.word()));
            for (key, seen) in [("links", look.seen.links()), ("dots", look.seen.dots())] {
                for (at, what) in seen {
                    let name = serde_yaml::Value::String(name_of(&drive, *at));
                    let what = what.to_string();
                    prop_assert_eq!(there[key][&name].as_str(), Some(what.as_str()));
                }
            }
            let count = there["not_seen"].as_sequence().map_or(0, Vec::len);
            prop_assert_eq!(count, look.not_seen.len());
        }
    }

    #[test]
    fn who_from_where_and_what_was_felt_read_back(
        by in proptest::option::of("[!-~é]([ -~é]{0,60}[!-~é])?"),
        view in proptest::option::of((0..4_usize, any::<bool>())),
        halves in proptest::option::of(0..=20_i64),
        said in prop::collection::vec((0..Said::ALL.len(), any::<bool>()), 0..6),
        at in proptest::option::of(0..4_000_000_000_i64),
    ) {
        for (_, text) in engines() {
            let drive = drive(&text);
            let mut look = Look::new(Stage::Hung, Observations::at_timed_position(), Vec::new());
            look.by.clone_from(&by);
            look.at = at.map(|at| Timestamp::from_unix_seconds(at).unwrap());
            look.felt = halves.map(|halves| Turns::new(Exact::fraction(halves, 2).unwrap()));
            for (what, so) in &said {
                if look.said(Said::ALL[*what]).is_none() {
                    look.said.push((Said::ALL[*what], *so));
                }
            }
            if let Some((from, clockwise)) = view {
                let from = [Viewpoint::Facing, Viewpoint::Mirror, Viewpoint::Photo, Viewpoint::Above][from];
                let crank = if clockwise { Rotation::Clockwise } else { Rotation::CounterClockwise };
                // Facing it and in a mirror there is one way only.
                let must = match from {
                    Viewpoint::Facing => Some(drive.crank_turns()),
                    Viewpoint::Mirror => Some(drive.crank_turns().reversed()),
                    _ => None,
                };
                look.view = View::new(&drive, from, crank).ok();
                prop_assert_eq!(look.view.is_some(), must.is_none_or(|must| must == crank));
                // Ahead is where the crankshaft was said to turn.
                prop_assert!(look.view.is_none_or(|view| view.seen(drive.crank_turns()) == crank));
            }
            let mut record = Record::new(&drive, "x.yaml");
            record.looks.push(look);
            let text = record.to_yaml(&drive);
            let reading = Record::read(&source(&text), &drive);
            prop_assert!(reading.findings.is_empty(), "{:?}\n{text}", reading.findings);
            prop_assert_eq!(&reading.record.unwrap(), &record);
            let other = other_reader(&text);
            prop_assert_eq!(other["stages"][0]["by"].as_str(), by.as_deref());
        }
    }

    #[test]
    fn any_text_is_read_or_found_fault_with(text in "\\PC{0,200}") {
        let reading = Record::read(&source(&text), &kestrel());
        prop_assert!(reading.record.is_some() || !reading.findings.is_empty());
    }

    /// Whatever is changed in a good record, it is in time only if the plain rules, stated here a
    /// second time, say that everything was seen in place.
    #[test]
    fn a_tampered_record_is_in_time_only_if_what_it_says_was_seen_is(
        cuts in prop::collection::vec((0..40_usize, 0..6_usize), 1..4),
    ) {
        let drive = kestrel();
        let mut lines: Vec<String> = good(&drive).lines().map(str::to_owned).collect();
        for (line, how) in cuts {
            let i = line % lines.len();
            match how {
                0 => { lines.remove(i); }
                1 => { let again = lines[i].clone(); lines.insert(i, again); }
                2 => lines[i] = lines[i].replace("\"on\"", "\"1 ahead\""),
                3 => lines[i] = lines[i].replace("\"on\"", "\"0 teeth\""),
                4 => lines[i] = lines[i].replace("turned", "released"),
                _ => {
                    let other = line / 2 % lines.len();
                    lines.swap(i, other);
                }
            }
            prop_assume!(!lines.is_empty());
        }
        let text = lines.join("\n");
        let reading = Record::read(&source(&text), &drive);
        let Some(record) = reading.record else {
            prop_assert!(!reading.findings.is_empty());
            return Ok(());
        };
        let in_time = record.check(&drive).unwrap().verdict() == Verdict::InTime;
        prop_assert_eq!(in_time, plainly_in_time(&other_reader(&text)), "{}", text);
    }
}

/// A record of the Kestrel with every mark in place at all three stages.
fn good(drive: &Drive) -> String {
    let on = |stage: usize| {
        let what = Some(Seen::Teeth(Teeth::ZERO));
        let (link, dot) = if stage < 2 {
            (what, None)
        } else {
            (None, what)
        };
        (stage, 2000, vec![(link, dot, false); 16])
    };
    record_of(drive, "kestrel-four.yaml", vec![on(0), on(1), on(2)]).to_yaml(drive)
}

/// For the Kestrel: the last `hung`, the last `released` after it and the last `turned` after that,
/// the first two with all three links in place and no dot out of place, the third with all three
/// dots in place, two crank turns on.
fn plainly_in_time(record: &serde_yaml::Value) -> bool {
    let stages = record["stages"].as_sequence().unwrap();
    let mut from = 0;
    for stage in ["hung", "released", "turned"] {
        let last = (from..stages.len())
            .rev()
            .find(|i| stages[*i]["stage"].as_str() == Some(stage));
        let Some(last) = last else { return false };
        from = last + 1;
        let look = &stages[last];
        let place = |key: &str, shaft: &str| {
            let what = look[key][shaft].as_str()?;
            Some(matches!(what, "on" | "0 teeth"))
        };
        let key = if stage == "turned" { "dots" } else { "links" };
        let all = ["crank", "exhaust", "intake"]
            .iter()
            .all(|shaft| place(key, shaft) == Some(true));
        let turned = look["turned"].as_i64().unwrap_or(0);
        if !all || turned != if stage == "turned" { 2 } else { 0 } {
            return false;
        }
    }
    true
}

#[test]
fn the_good_record_is_in_time_by_both() {
    let drive = kestrel();
    let text = good(&drive);
    let record = Record::read(&source(&text), &drive).record.unwrap();
    assert_eq!(record.check(&drive).unwrap().verdict(), Verdict::InTime);
    assert!(plainly_in_time(&other_reader(&text)));
}

#[test]
fn one_mark_out_of_place_at_any_stage_is_out_of_time() {
    let drive = kestrel();
    let text = good(&drive);
    for (i, _) in text.match_indices("\"on\"") {
        let mut changed = text.clone();
        changed.replace_range(i..i + 4, "\"1 behind\"");
        let record = Record::read(&source(&changed), &drive).record.unwrap();
        let checked = record.check(&drive).unwrap();
        assert_eq!(checked.verdict(), Verdict::OutOfTime, "{changed}");
        assert!(!checked.release_tensioner());
    }
}

#[test]
fn what_was_seen_before_the_chain_was_hung_again_no_longer_counts() {
    let drive = kestrel();
    let text = good(&drive);
    let mut record = Record::read(&source(&text), &drive).record.unwrap();
    // Hung once more: the release and the turning have to be looked at again.
    let mut hung = record.looks[0].clone();
    // The links alone would look the same with the chain inside out.
    record.looks.push(hung.clone());
    assert!(!record.check(&drive).unwrap().release_tensioner());
    record.looks.pop();
    for shaft in ["crank", "exhaust"] {
        let what = Seen::Teeth(Teeth::ZERO);
        let at = tautmark::dot_named(&drive, shaft, what).unwrap();
        hung.seen.see_dot(&drive, at, what).unwrap();
    }
    record.looks.push(hung);
    let checked = record.check(&drive).unwrap();
    assert_eq!(checked.verdict(), Verdict::NotProven);
    assert!(checked.release_tensioner());
    let missing: Vec<Stage> = checked.missing().collect();
    assert_eq!(missing, [Stage::Released, Stage::Turned]);
    assert_eq!(checked.earlier.len(), 3);
}

/// Everything found in `text`, as `LINE:COLUMN code`.
fn found(text: &str, drive: &Drive) -> Vec<String> {
    let source = source(text);
    let reading = Record::read(&source, drive);
    assert!(reading.record.is_none(), "{text}");
    reading
        .findings
        .iter()
        .map(|finding| {
            let value = finding_json(finding, &source);
            let code = value["code"].as_str().unwrap();
            match value["at"]["line"].as_u64() {
                Some(line) => format!("{line}:{} {code}", value["at"]["column"]),
                None => code.to_owned(),
            }
        })
        .collect()
}

#[test]
fn every_mistake_is_found_in_its_place_and_in_one_go() {
    let text = "\
tautmark_record: 7
engine: Plover
spec: x.yaml
colour: red
stages:
  - stage: hang
  - stage: hung
    turned: 2
    links:
      crank: 2
      exhast: on
      main/intake: on
      intake: on
    not_seen: [crank, link main/intake, dot oil, dot crank, dot crank]
  - stage: turned
    dots:
      crank: link 4
      intake: 1/17 ahead
      intake: on
  - stage: turned
    turned: 1/3000
  - links: []
";
    assert_eq!(
        found(text, &kestrel()),
        [
            "1:18 out-of-range",
            "2:9 other-engine",
            "4:1 unknown-key",
            "6:12 not-a-choice",
            "8:13 stage-turns",
            "10:14 seen-unreadable",
            "11:7 seen-impossible",
            "13:7 seen-impossible",
            "14:16 seen-impossible",
            "14:23 seen-and-not-seen",
            "14:41 seen-impossible",
            "14:61 seen-impossible",
            "15:12 stage-turns",
            "17:7 seen-impossible",
            "18:15 seen-unreadable",
            "19:7 duplicate-key",
            "21:13 seen-impossible",
            "22:5 missing-key",
            "22:12 wrong-type",
        ]
    );
}

#[test]
fn a_file_that_is_no_record_at_all_says_so() {
    let drive = kestrel();
    assert_eq!(found("# nothing\n", &drive), ["no-record"]);
    assert_eq!(found("[1, 2]", &drive), ["1:1 wrong-type"]);
    assert_eq!(found("a: [", &drive).len(), 1);
    // A spec given for a record.
    assert!(
        found(&kestrel_text(), &drive)
            .iter()
            .any(|found| found.ends_with("missing-key"))
    );
}

#[test]
fn a_record_of_the_drive_as_it_was_is_refused_for_the_drive_as_it_is() {
    let text = good(&kestrel());
    let spec = kestrel_text().replace("link: 51", "link: 52");
    let changed = Drive::read(&Source::new("spec", spec.into()).unwrap())
        .drive
        .unwrap();
    assert_eq!(found(&text, &changed), ["6:8 other-drive"]);
}

#[test]
fn a_record_may_be_written_by_hand() {
    let drive = kestrel();
    let text = "\
tautmark_record: 1
engine: Kestrel 2.0 inline-four
spec: kestrel-four.yaml
stages:
  - { stage: hung, links: { crank: on, exhaust: link 51, main/intake: +0 }, dots: { crank: on, exhaust: on } }
";
    let record = Record::read(&source(text), &drive).record.unwrap();
    let checked = record.check(&drive).unwrap();
    assert!(checked.release_tensioner());
    assert_eq!(checked.verdict(), Verdict::NotProven);
}

// The command line.

fn check(folder: &Path, arguments: &[&str]) -> (String, String, Option<i32>) {
    let outcome = Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .current_dir(folder)
        .arg("check")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("engines/kestrel-four.yaml"))
        .args(arguments)
        .output()
        .unwrap();
    (
        String::from_utf8(outcome.stdout).unwrap(),
        String::from_utf8(outcome.stderr).unwrap(),
        outcome.status.code(),
    )
}

#[test]
fn check_verifies_a_record_for_a_program_too() {
    let folder = tempfile::tempdir().unwrap();
    let drive = kestrel();
    let good = good(&drive);
    let write = |text: &str| std::fs::write(folder.path().join("job.yaml"), text).unwrap();
    let json = |text: &str| {
        write(text);
        let (out, err, status) =
            check(folder.path(), &["--record", "job.yaml", "--format", "json"]);
        assert_eq!(err, "");
        let value: serde_json::Value = serde_json::from_str(&out).unwrap();
        (value, status)
    };

    let (value, status) = json(&good);
    assert_eq!(status, Some(0));
    assert_eq!(value["verdict"], "in time");
    assert_eq!(value["release_tensioner"], true);
    assert_eq!(value["stages"].as_array().unwrap().len(), 3);
    assert_eq!(value["stages"][2]["stage"], "turned");
    assert_eq!(value["stages"][2]["turned"], "2");
    assert_eq!(value["stages"][2]["shafts"][1]["off_teeth"], "0");
    assert_eq!(value["missing"], serde_json::json!([]));
    assert!(!value["cautions"].as_array().unwrap().is_empty());

    let without_last = good.split("  # after turning").next().unwrap();
    // What only a look at the dots rules out is said until that look was taken.
    assert_eq!(value["stages"][0]["false_friends"], serde_json::json!([]));
    let (value, status) = json(without_last);
    let lookalikes = value["stages"][0]["false_friends"].as_array().unwrap();
    assert!(!lookalikes.is_empty());
    assert_eq!((status, &value["verdict"]), (Some(1), &"not proven".into()));
    assert_eq!(value["missing"], serde_json::json!(["turned"]));

    let skipped = good.replacen(
        "      intake: \"on\"\n",
        "    not_seen:\n      - link intake\n",
        1,
    );
    let (value, status) = json(&skipped);
    assert_eq!((status, &value["verdict"]), (Some(1), &"not proven".into()));
    assert_eq!(value["release_tensioner"], false);
    assert_eq!(
        value["stages"][0]["could_not_be_seen"][0]["shaft"],
        "intake"
    );
    let (out, _, _) = check(folder.path(), &["--record", "job.yaml"]);
    assert!(out.contains("Could not be seen\n  - the dot of intake against its coloured link"));
}

#[test]
fn a_broken_record_is_unusable_and_mixing_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let good = good(&kestrel());
    std::fs::write(
        folder.path().join("job.yaml"),
        good.replace("\"on\"", "maybe"),
    )
    .unwrap();
    let (out, err, status) = check(folder.path(), &["--record", "job.yaml"]);
    assert_eq!((out.as_str(), status), ("", Some(2)));
    assert!(err.contains("job.yaml:12:"), "{err}");
    assert_eq!(err.matches("[seen-unreadable]").count(), 9, "{err}");

    std::fs::write(folder.path().join("job.yaml"), good).unwrap();
    for mixed in [
        ["--link", "crank=on"],
        ["--dot", "crank=on"],
        ["--turned", "0"],
    ] {
        let (_, err, status) = check(
            folder.path(),
            &[&["--record", "job.yaml"][..], &mixed].concat(),
        );
        assert_eq!(status, Some(2));
        assert!(err.contains("cannot be used with"), "{err}");
    }
    let (_, err, status) = check(folder.path(), &["--record", "none.yaml"]);
    assert_eq!(status, Some(2));
    assert!(err.contains("'none.yaml' could not be opened"));
}
