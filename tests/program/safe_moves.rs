//! Orders of moves at every door that tells what to move, and a whole invented job on a V6 of which
//! a camshaft stands under spring load.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::job::assert_kept;
use crate::support::engines;
use crate::support::program::{ENGINES, Outcome, engine, scratch, tautmark};
use serde_json::Value;
use tautmark::{Drive, Source};

const HEADING: &str =
    "In what order (an estimate from the spec's figures: the maker's order rules)";

/// What the V6's job needs on the bench before anything is taken off.
pub(crate) const V6_KIT: [&str; 7] = [
    "part:sealant",
    "part:left-chain",
    "part:right-chain",
    "part:tensioner",
    "part:front-seal",
    "part:cover-gasket",
    "part:damper-bolt",
];

/// What is done there before the chains are hung.
pub(crate) const V6_BEFORE_HANGING: [&str; 2] = ["step:teardown", "torque:tensioner-bolt"];

/// The marks of the V6 with one dot of the right bank off its link.
fn looked_at(intake: &str) -> Vec<String> {
    let mut words = Vec::new();
    for name in [
        "left/crank",
        "right/crank",
        "left-exhaust",
        "left-intake",
        "right-exhaust",
    ] {
        words.extend(["--link".to_owned(), format!("{name}=on")]);
    }
    words.extend(["--link".to_owned(), format!("right-intake={intake}")]);
    words
}

fn check(name: &str, seen: &[String], format: &str) -> Outcome {
    let spec = engine(name);
    let mut words = vec![
        "check".to_owned(),
        spec,
        "--format".to_owned(),
        format.to_owned(),
    ];
    words.extend_from_slice(seen);
    let outcome = tautmark(&words);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    outcome.assert_printable();
    outcome
}

/// The order of moves alone, as it stands in a text.
fn order_in(text: &str) -> String {
    let (_, rest) = text
        .split_once(&format!("{HEADING}\n"))
        .unwrap_or_else(|| panic!("no order in {text}"));
    rest.split("\n\n").next().unwrap().trim_end().to_owned()
}

/// The whole job: the old chains off, the new ones hung with a camshaft two teeth behind, the order in
/// which to move it, the second look, release, two turns, cover, sign-off.
#[test]
fn a_camshaft_under_spring_load_is_moved_and_the_job_signed_off() {
    let folder = scratch("job-spring-load");
    let job = folder.join("job.yaml").to_string_lossy().into_owned();
    // By its own name, so that what is kept is the same on every machine.
    let spec = "engines/siskin-v6.yaml".to_owned();
    let command = |what: &str, more: &[String], time: &str| {
        let mut words = vec!["job".to_owned(), what.to_owned(), spec.clone()];
        match what {
            "new" => words.extend(["-o".to_owned(), job.clone()]),
            _ => words.push(job.clone()),
        }
        words.extend_from_slice(more);
        words.extend(["--at".to_owned(), format!("2024-11-26T{time}:00Z")]);
        let outcome = tautmark(&words);
        outcome.assert_printable();
        outcome
    };
    let by = |items: &[&str]| -> Vec<String> {
        items
            .iter()
            .chain(&["--by", "Jo"])
            .map(|word| (*word).to_owned())
            .collect()
    };
    let tick = |items: &[&str], time: &str| {
        let outcome = command("tick", &by(items), time);
        assert_eq!((outcome.stderr.as_str(), outcome.status), ("", Some(0)));
    };
    assert_eq!(command("new", &by(&[]), "08:00").status, Some(0));
    tick(&V6_KIT, "08:10");
    tick(&V6_BEFORE_HANGING, "09:30");

    let hung = |intake: &str, time: &str| {
        let mut more = by(&[
            "--stage",
            "hung",
            "--said",
            "pin-in",
            "--said",
            "phaser-parked",
            "--said",
            "slack-side",
        ]);
        more.extend(looked_at(intake));
        for (shaft, what) in [
            ("crank", "on"),
            ("left-intake", "on"),
            ("right-intake", intake),
        ] {
            more.extend(["--dot".to_owned(), format!("{shaft}={what}")]);
        }
        command("look", &more, time)
    };
    let looked = hung("2 behind", "10:00");
    assert_eq!(looked.status, Some(1), "{}", looked.stderr);
    assert_eq!(
        order_in(&looked.stdout),
        "  It takes the pistons of cylinders 1, 5 to be at TDC as it stands, and every phaser to be parked. Where that is not so, it does not hold.
  Valves are open, and their springs can turn the camshaft by itself as soon as no chain holds it. First hold, and keep holding: left-exhaust, left-intake, right-intake, right-exhaust.
  1. Take chains left, right off the crankshaft, so that it turns alone. Only then may it be turned back.
  2. Turn the crankshaft back 40 crank degrees (counter-clockwise); from 35 to 45 degrees back of where it stood will do.
  3. right-intake: with the chain lifted off it, turn the sprocket 2 teeth clockwise. No place on its turn brings a valve too near here.
  4. Turn the crankshaft ahead 40 crank degrees (clockwise), to where it stood.
  5. Lay every chain that is off on again, as told above.
  Closest on the way: 2.7 mm or more (right-exhaust, cylinder 5), even if a camshaft runs 10 of its own degrees too far. Under 1 mm would be too close to call.
  Stop at any resistance. Whether intake and exhaust valves meet each other is not calculated."
    );
    assert_kept("v6-two-behind", &std::fs::read_to_string(&job).unwrap());
    let refused = command("tick", &by(&["step:hang", "step:release"]), "10:01");
    assert_eq!(refused.status, Some(1));
    let status = command(
        "status",
        &["--format".to_owned(), "json".to_owned()],
        "10:02",
    );
    let stage = &status.json()["timing"]["stages"][0];
    assert_eq!(
        stage["remedies"][0]["safe_order"], "known",
        "{}",
        status.stdout
    );
    let report = command("report", &[], "10:03").stdout;
    assert_eq!(order_in(&report), order_in(&looked.stdout));

    assert_eq!(hung("on", "10:40").status, Some(0));
    tick(&["step:hang", "step:release"], "10:45");
    let mut more = by(&[
        "--stage",
        "released",
        "--said",
        "pins-out",
        "--said",
        "bolts-tight",
    ]);
    more.extend(looked_at("on"));
    for shaft in ["crank", "left-intake", "right-intake"] {
        more.extend(["--dot".to_owned(), format!("{shaft}=on")]);
    }
    assert_eq!(command("look", &more, "10:50").status, Some(0));
    tick(&["step:look"], "10:51");
    let mut more = by(&[
        "--stage",
        "turned",
        "--turned",
        "2",
        "--said",
        "turned-free",
    ]);
    for shaft in [
        "crank",
        "left-exhaust",
        "left-intake",
        "right-intake",
        "right-exhaust",
    ] {
        more.extend(["--dot".to_owned(), format!("{shaft}=on")]);
    }
    assert_eq!(command("look", &more, "11:00").status, Some(0));
    tick(&["step:turn", "step:seal"], "12:00");
    assert_kept("v6-sealed", &std::fs::read_to_string(&job).unwrap());
    // A call in between: the sealant has skinned over, and is not covered up.
    for items in [&["torque:cover-bolt"][..], &["step:cover"]] {
        let late = command("tick", &by(items), "12:11");
        assert_eq!(late.status, Some(1));
        let why = "it had to be done within 10 minutes of step seal, by 2024-11-26 12:10 UTC";
        assert!(late.stderr.contains(why), "{}", late.stderr);
    }
    let told = command("status", &[], "12:11").stdout;
    assert!(
        told.contains("\nNext: wipe it off and do step seal again"),
        "{told}"
    );
    tick(&["step:seal"], "12:20");
    tick(
        &["torque:cover-bolt", "torque:damper-bolt", "step:cover"],
        "12:30",
    );
    // Nor is the engine handed over before it has cured.
    let wet = command("tick", &by(&["step:sign-off"]), "12:59");
    assert!(
        wet.stderr.contains("cover must be left alone until"),
        "{}",
        wet.stderr
    );
    tick(&["step:sign-off"], "13:00");
    let status = command(
        "status",
        &["--format".to_owned(), "json".to_owned()],
        "13:01",
    );
    assert_eq!(status.status, Some(0), "{}", status.stdout);
    let status = status.json();
    assert_eq!(
        (&status["signed_off"], &status["proven"]),
        (&true.into(), &true.into())
    );
}

/// Text, JSON, record and job say the same order.
#[test]
fn every_door_says_the_same_order() {
    let seen = looked_at("2 behind");
    let told = order_in(&check("siskin-v6", &seen, "text").stdout);
    let json = check("siskin-v6", &seen, "json").json();
    let moves = &json["safe_moves"];
    for line in moves["text"].as_array().unwrap().iter().skip(2) {
        assert!(told.contains(line.as_str().unwrap()), "{line}\n{told}");
    }
    assert_eq!(json["remedies"][0]["safe_order"], "known");
    let steps: Vec<&str> = moves["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["move"].as_str().unwrap())
        .collect();
    assert_eq!(steps, ["crankshaft", "remedy", "crankshaft"]);
    // The crankshaft's dot was not looked at, and that is the first thing that is said.
    assert!(
        told.starts_with("  First look at the crankshaft's dot"),
        "{told}"
    );
    let mut with_dot = seen;
    with_dot.extend(["--dot".to_owned(), "crank=on".to_owned()]);
    let told = order_in(&check("siskin-v6", &with_dot, "text").stdout);
    assert!(!told.contains("First look"), "{told}");
}

/// Two teeth ahead the piston of cylinder 5 is under the open valve.
#[test]
fn a_position_in_which_they_may_meet_is_told_before_anything_is_to_be_moved() {
    for (seen, mm) in [("2 ahead", "0.3 mm"), ("4 ahead", "-3.6 mm")] {
        let text = check("siskin-v6", &looked_at(seen), "text").stdout;
        let warned = text
            .find(&format!(
                "AS IT STANDS VALVES AND PISTON MAY ALREADY MEET: {mm}"
            ))
            .unwrap_or_else(|| panic!("{text}"));
        assert!(warned < text.find("What to move").unwrap(), "{text}");
        assert!(
            !text.contains(HEADING) && text.contains("maker's order"),
            "{text}"
        );
        let json = check("siskin-v6", &looked_at(seen), "json").json();
        assert_eq!(json["safe_moves"]["may_meet_already"], true);
        assert_eq!(json["safe_moves"]["order"], "may meet already");
        assert_eq!(json["safe_moves"]["steps"], Value::Array(Vec::new()));
    }
}

/// Over all engines, each camshaft a tooth behind: an order where the spec gives valves, and the maker's where
/// it gives none. A margin is promised only where there is one.
#[test]
fn without_a_valve_part_the_order_is_not_known() {
    let (mut known, mut unknown) = (0, 0);
    for (name, text) in engines() {
        let source = Source::new(&name, text.into_bytes()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        let mut seen = Vec::new();
        let mut moved = false;
        for (at, sprocket) in drive.engagements() {
            let by_links = drive
                .engagements()
                .any(|(_, sprocket)| sprocket.mark().is_some());
            if by_links != sprocket.mark().is_some() {
                continue;
            }
            let shaft = drive.shaft(sprocket.shaft());
            let camshaft = shaft.kind() == tautmark::spec::ShaftKind::Camshaft;
            let what = if camshaft && !moved { "1 behind" } else { "on" };
            moved |= camshaft;
            let name = tautmark::timing::name_of(&drive, at);
            let flag = if by_links { "--link" } else { "--dot" };
            seen.extend([flag.to_owned(), format!("{name}={what}")]);
        }
        let stem = name.trim_end_matches(".yaml");
        let json = check(stem, &seen, "json").json();
        let text = check(stem, &seen, "text").stdout;
        let moves = &json["safe_moves"];
        if drive.valves().is_empty() {
            unknown += 1;
            assert_eq!(moves["order"], "not known", "{name}");
            assert_eq!(moves["may_meet_already"], Value::Null, "{name}");
            assert_eq!(moves["closest"], Value::Null, "{name}");
            let line = "A safe order is not known for this engine: follow the maker's order (the spec has no 'valves:').";
            assert!(text.contains(line), "{name}: {text}");
            assert!(!text.contains(HEADING), "{name}: {text}");
        } else {
            // A camshaft that opens both kinds of valves has little room a tooth from where it belongs.
            if moves["closest_now"]["mm_estimate"].as_f64().unwrap() < 1.0 {
                assert_eq!(moves["order"], "may meet already", "{name}: {moves}");
                continue;
            }
            known += 1;
            assert_eq!(moves["order"], "known", "{name}: {moves}");
            assert!(
                moves["closest"]["mm_estimate"].as_f64().unwrap() >= 1.0,
                "{name}"
            );
            assert!(!order_in(&text).is_empty());
        }
    }
    assert!(known >= 3 && unknown >= 3, "{known} {unknown}");
    assert!(ENGINES.len() > 3);
}

/// A camshaft half a turn out goes round with every piston down its bore, whichever way.
#[test]
fn a_camshaft_half_a_turn_out_is_turned_with_the_pistons_down() {
    let words = [
        "--dot",
        "crank=on",
        "--dot",
        "intake=180 deg",
        "--dot",
        "exhaust=on",
    ];
    let seen: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
    let json = check("kestrel-four", &seen, "json").json();
    let moves = &json["safe_moves"];
    assert_eq!(moves["order"], "known", "{moves}");
    let steps = moves["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 3, "{moves}");
    assert_eq!(
        (&steps[1]["anywhere"], &steps[1]["move"]),
        (&true.into(), &"remedy".into())
    );
    let degrees: f64 = steps[0]["crank_degrees"].as_str().unwrap().parse().unwrap();
    assert!((-90.0..=-20.0).contains(&degrees), "{moves}");
}

/// In time there is nothing to move, and no order is told.
#[test]
fn in_time_nothing_is_said_of_moves() {
    let spec = engine("siskin-v6");
    let mut words = vec![
        "check".to_owned(),
        spec,
        "--format".to_owned(),
        "json".to_owned(),
    ];
    words.extend(looked_at("on"));
    let json = tautmark(&words).json();
    assert_eq!(
        (&json["verdict"], &json["safe_moves"]),
        (&"in time".into(), &Value::Null)
    );
}

fn explained(name: &str, seen: &[&str]) -> (Vec<String>, String) {
    let spec = engine(name);
    let words = |format: &'static str| [&["explain", &spec, "--format", format], seen].concat();
    let json = tautmark(&words("json")).json();
    let text = tautmark(&words("text")).stdout;
    let found: Vec<String> = json["not_ruled_out"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            assert_eq!(one["basis"], "common practice");
            for key in ["text", "settled_by"] {
                assert!(text.contains(one[key].as_str().unwrap()), "{one}\n{text}");
            }
            match one["shaft"].as_str() {
                Some(shaft) => format!("{} {shaft}", one["kind"].as_str().unwrap()),
                None => one["kind"].as_str().unwrap().to_owned(),
            }
        })
        .collect();
    assert_eq!(
        text.contains("(common practice, in no order)"),
        !found.is_empty(),
        "{text}"
    );
    (found, text)
}

/// What else can be wrong is told only where it fits what was measured, and never as likely.
#[test]
fn what_was_measured_rules_out_what_it_can() {
    let at_crank = ["crankshaft-sensor", "damper-slipped", "crankshaft-key"];
    let of = |shaft: &str| {
        [
            format!("camshaft-sensor {shaft}"),
            format!("shaft-key {shaft}"),
        ]
    };
    let expect = |seen: &[&str], shafts: &[&str], crank: &[&str]| {
        let mut right: Vec<String> = shafts.iter().flat_map(|shaft| of(shaft)).collect();
        right.extend(crank.iter().map(|kind| (*kind).to_owned()));
        assert_eq!(explained("kestrel-four", seen).0, right, "{seen:?}");
    };
    // One camshaft by an instrument: nothing rules the crankshaft's end out.
    expect(&["intake=20 crank deg behind"], &["intake"], &at_crank);
    // Another one that the same instrument shows in time does.
    expect(
        &["intake=20 crank deg behind", "exhaust=0 crank deg"],
        &["intake"],
        &[],
    );
    // Marks on the sprockets say nothing of it.
    expect(
        &["intake=20 crank deg behind", "exhaust=on"],
        &["intake"],
        &at_crank,
    );
    // Both alike, within what was measured.
    expect(
        &[
            "intake=20 crank deg behind",
            "exhaust=17 +- 4 crank deg behind",
        ],
        &["intake", "exhaust"],
        &at_crank,
    );
    expect(
        &["intake=20 crank deg behind", "exhaust=20 crank deg ahead"],
        &["intake", "exhaust"],
        &[],
    );
    // Marks alone: no sensor has to do with it. All alike, the mark on the damper may.
    expect(&["intake=1 behind"], &[], &["damper-slipped"]);
    expect(
        &["intake=1 behind", "exhaust=1 behind"],
        &[],
        &["damper-slipped"],
    );
    expect(&["intake=1 behind", "exhaust=on"], &[], &[]);
    // Nothing is off for certain, or nothing can be told.
    expect(&["intake=2 +- 3 crank deg behind"], &[], &[]);
    expect(&["intake=on", "exhaust=on"], &[], &[]);
    expect(&["intake=18.5 +- 30 crank deg behind"], &[], &[]);
    let (_, text) = explained("kestrel-four", &["intake=20 crank deg behind"]);
    for word in ["likely", "probabl", "per cent"] {
        let (_, list) = text.split_once("What else can look like this").unwrap();
        let list = list.split("\n\n").next().unwrap();
        assert!(!list.contains(word), "{word}: {list}");
    }
}
