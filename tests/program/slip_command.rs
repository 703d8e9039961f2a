//! The `slip` command as somebody runs it.
#![allow(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg("slip")
        .args(arguments)
        .output()
        .unwrap()
}

fn text(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert!(output.stderr.is_empty(), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    let arguments = [arguments, &["--format", "json"]].concat();
    serde_json::from_str(&text(&arguments)).unwrap()
}

/// What it says on standard error when it cannot go on.
fn refused(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    assert!(output.stdout.is_empty(), "{output:?}");
    String::from_utf8(output.stderr).unwrap()
}

const KESTREL: &str = "engines/kestrel-four.yaml";
const BUZZARD: &str = "engines/buzzard-v8.yaml";

/// The row of the block `title` that begins with `what`, its columns apart.
fn row(text: &str, title: &str, what: &str) -> Vec<String> {
    let block = text.split(&format!("\n  {title}")).nth(1).unwrap();
    let line = block
        .lines()
        .find(|line| line.trim().starts_with(what))
        .unwrap();
    line.trim()
        .split("  ")
        .map(str::trim)
        .filter(|cell| !cell.is_empty())
        .map(str::to_owned)
        .collect()
}

#[test]
fn one_tooth_late_in_the_trades_words() {
    let out = text(&[KESTREL, "intake=1 behind"]);
    assert!(out.contains("intake sprocket  1 tooth behind"), "{out}");
    assert!(
        out.contains("intake   20 crank degrees behind (late)"),
        "{out}"
    );
    assert_eq!(
        row(&out, "intake, ", "opens"),
        ["opens", "18 ATDC", "38 ATDC *"]
    );
    assert_eq!(
        row(&out, "intake, ", "closes"),
        ["closes", "72 ABDC", "92 ABDC *"]
    );
    assert_eq!(
        row(&out, "intake, ", "duration"),
        ["duration", "234", "234"]
    );
    assert_eq!(
        row(&out, "exhaust, ", "opens"),
        ["opens", "38 BBDC", "38 BBDC"]
    );
    assert_eq!(
        row(&out, "intake with exhaust", "overlap"),
        ["overlap", "-20", "-40 *"]
    );
    assert!(
        out.contains("Likely signs (common practice, not proof)"),
        "{out}"
    );
    assert!(out.contains("Intake late"), "{out}");
    assert!(
        out.contains("An estimate for teaching and judgement"),
        "{out}"
    );
    assert!(out.contains("3-4-5 polynomial"), "{out}");
    assert!(out.contains("The chains are taken as new"), "{out}");
    for caution in tautmark::render::CAUTIONS {
        assert!(out.contains(caution), "{caution}");
    }
}

#[test]
fn teeth_degrees_and_the_crankshaft_say_the_same() {
    let after = |slip: &str| json(&[KESTREL, slip])["after"].clone();
    assert_eq!(after("intake=-1"), after("intake=20 crank deg behind"));
    assert_eq!(after("intake=-1"), after("intake=10 deg behind"));
    assert_eq!(after("intake=-1"), after("main/intake=1 tooth behind"));
    assert_ne!(after("intake=-1"), after("intake=+1"));
    let both = json(&[KESTREL, "intake=-2", "exhaust=-2"])["after"].clone();
    assert_eq!(both, after("crank=2 ahead"));
    // A phaser moves the valves as its sprocket would.
    let phased = json(&[KESTREL, "--phaser", "intake=20"])["after"].clone();
    assert_eq!(phased, after("intake=+1"));
}

#[test]
fn exact_values_are_strings_and_estimates_say_so() {
    let out = json(&[BUZZARD, "left-intake=-1"]);
    let valves = &out["after"]["valves"][0];
    assert_eq!(valves["shift_crank_degrees"], "-120/7");
    assert_eq!(valves["opens"], "232/7 ATDC");
    assert_eq!(valves["opens_after_tdc_compression"], "2752/7");
    assert_eq!(valves["duration_crank_degrees"], "232");
    assert_eq!(valves["meets_piston"], false);
    assert!(valves["trapped_compression_ratio_estimate"].is_f64());
    assert!(valves["least_clearance_mm_estimate"].is_f64());
    assert_eq!(valves["least_clearance_accuracy_mm"], 1e-6);
    assert_eq!(out["shafts"][1]["off_teeth"], "-1");
    // The other bank stays as it was, and the cylinders are unlike for that.
    assert_eq!(out["before"]["valves"][2], out["after"]["valves"][2]);
    let codes: Vec<&str> = out["symptoms"]
        .as_array()
        .unwrap()
        .iter()
        .map(|symptom| symptom["code"].as_str().unwrap())
        .collect();
    assert!(codes.contains(&"cylinders-unlike"), "{codes:?}");
    // Cylinder 5 fires 90 crank degrees after cylinder 1 and is on the other bank.
    let place = |valve: usize, cylinder: usize| {
        out["after"]["valves"][valve]["least_clearance_places"][cylinder]
            ["after_timed_position_crank_degrees_estimate"]
            .as_f64()
            .unwrap()
    };
    let difference = (place(3, 0) - place(1, 0)).rem_euclid(720.0);
    assert!((difference - 90.0).abs() < 1e-9, "{difference}");
}

#[test]
fn valves_that_meet_are_said_to_and_the_status_stays_0() {
    let out = text(&[KESTREL, "intake=4 ahead"]);
    assert!(
        out.contains("VALVES AND PISTON MEET (intake). Do not turn the engine."),
        "{out}"
    );
    assert!(out.contains("cylinder 3, intake: "), "{out}");
    assert_eq!(
        json(&[KESTREL, "intake=+4"])["verdict"],
        "valves and piston meet"
    );
    assert_eq!(json(&[KESTREL, "intake=+1"])["verdict"], "clear");
}

#[test]
fn a_sweep_says_from_which_tooth_on_they_meet() {
    let out = text(&[KESTREL, "intake", "--sweep", "-4..4"]);
    assert!(
        out.contains(
            "Up to 4 teeth behind they stay clear; valves and piston meet from 4 teeth ahead."
        ),
        "{out}"
    );
    let out = json(&[KESTREL, "crank", "--sweep", "-4..4"]);
    let sweep = &out["sweep"];
    assert_eq!(sweep["first_meeting_teeth_behind"], 4);
    assert_eq!(sweep["first_meeting_teeth_ahead"], 2);
    let rows = sweep["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 9);
    for row in rows {
        let teeth = row["teeth"].as_i64().unwrap();
        let slip = format!("crank={teeth:+}");
        let alone = json(&[KESTREL, &slip]);
        assert_eq!(row["valves"], alone["after"]["valves"], "{slip}");
        assert_eq!(row["verdict"], alone["verdict"], "{slip}");
    }
    // Another sprocket may have slipped besides, and a phaser moved: 2 teeth of it are 40 degrees.
    let besides = json(&[
        KESTREL,
        "intake",
        "exhaust=-1",
        "--phaser",
        "intake=40",
        "--sweep",
        "0..2",
    ]);
    assert_eq!(besides["sweep"]["first_meeting_teeth_ahead"], 2);
    assert_eq!(
        besides["sweep"]["rows"][0]["valves"][1]["shift_crank_degrees"],
        "-20"
    );
}

#[test]
fn what_cannot_be_reckoned_is_refused_with_a_remedy() {
    for (arguments, says) in [
        (
            &["engines/heron-v6.yaml"] as &[&str],
            "no 'valves:' section",
        ),
        (&[BUZZARD, "crank=-1"], "left/crank or right/crank"),
        (&[KESTREL, "intakes=-1"], "did you mean 'intake'?"),
        (&[KESTREL, "intake=1"], "ahead or behind?"),
        (&[KESTREL, "intake=link 4"], "expected '1 behind'"),
        (&[KESTREL, "intake=-401"], "at most 400 teeth"),
        (&[KESTREL, "intake=-1", "intake=+1"], "given twice"),
        (&[KESTREL, "intake"], "slipped by how much?"),
        (&[KESTREL, "--phaser", "exhaust=5"], "has no phaser"),
        (&[KESTREL, "--phaser", "intake=51"], "range of 0..=50"),
        (
            &[KESTREL, "--phaser", "intake"],
            "such as --phaser intake=20",
        ),
        (
            &[KESTREL, "intake", "exhaust", "--sweep", "-1..1"],
            "only one sprocket",
        ),
        (&[KESTREL, "--sweep", "-1..1"], "which sprocket"),
        (&[KESTREL, "intake", "--sweep", "-21..1"], "such as -4..4"),
        (&[KESTREL, "intake", "--sweep", "3..1"], "such as -4..4"),
        (&[KESTREL, "intake=-1", "--plot", "square"], "circle"),
        (&["no-such-file.yaml", "intake=-1"], "could not be opened"),
    ] {
        let error = refused(arguments);
        assert!(error.contains(says), "{arguments:?}: {error}");
    }
}

/// A place for a test's files.
fn place(name: &str) -> PathBuf {
    let place = std::env::temp_dir().join(format!("tautmark-slip-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&place).unwrap();
    place
}

#[test]
fn a_picture_never_replaces_a_file_unless_told_to() {
    let place = place("file");
    let file = place.join("picture.svg");
    let path = file.to_str().unwrap();
    let draw = [KESTREL, "intake=-1", "--plot", "lift", "-o", path];
    assert_eq!(text(&draw), "");
    let first = std::fs::read_to_string(&file).unwrap();
    assert!(first.starts_with("<svg "), "{first}");
    let other = [KESTREL, "intake=+1", "--plot", "lift", "-o", path];
    assert!(refused(&other).contains("already exists"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), first);
    text(&[&other[..], &["--force"]].concat());
    assert_ne!(std::fs::read_to_string(&file).unwrap(), first);
    std::fs::remove_dir_all(place).unwrap();
}

/// Names in a spec are text in a picture, never markup, and every picture is one closed document.
#[test]
fn pictures_escape_names_and_name_what_they_show() {
    let place = place("names");
    let spec = std::fs::read_to_string(KESTREL).unwrap();
    let spec = spec.replace(
        "Kestrel 2.0 inline-four",
        "'<script>alert(\"1\")</script> & Co'",
    );
    let file = place.join("hostile.yaml");
    std::fs::write(&file, spec).unwrap();
    for picture in ["lift", "circle", "clearance"] {
        let svg = text(&[file.to_str().unwrap(), "intake=+4", "--plot", picture]);
        assert!(!svg.contains("<script"), "{picture}");
        assert!(
            svg.contains("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; Co"),
            "{picture}"
        );
        assert!(
            svg.starts_with("<svg ") && svg.ends_with("</svg>\n"),
            "{picture}"
        );
        assert_eq!(svg.matches("<text").count(), svg.matches("</text>").count());
        assert!(svg.contains("<title id=\"title\">") && svg.contains("role=\"img\""));
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{picture}");
    }
    std::fs::remove_dir_all(place).unwrap();
}

#[test]
fn pictures_show_what_the_numbers_say() {
    let circle = text(&[KESTREL, "intake=-1", "--plot", "circle"]);
    for words in [
        "In time",
        "After: exhaust in time, intake 20 late",
        "18 ATDC",
        "38 ATDC",
        "72 ABDC",
        "92 ABDC",
        "overlap -40",
    ] {
        assert!(circle.contains(words), "{words}");
    }
    let lift = text(&[KESTREL, "intake=+4", "--plot", "lift"]);
    assert!(lift.contains("meet piston") && lift.contains("after the slip"));
    assert!(!text(&[KESTREL, "intake=+1", "--plot", "lift"]).contains("meet piston"));
    let clearance = text(&[KESTREL, "intake=+4", "--plot", "clearance"]);
    assert!(
        clearance.contains("valves and piston meet from 4 teeth ahead."),
        "{clearance}"
    );
    assert!(clearance.contains("this slip"));
}

/// A spec with valves and no cylinders still gives every exact figure, and says what it lacks.
#[test]
fn without_cylinders_the_events_are_there_and_the_rest_says_what_it_needs() {
    let place = place("bare");
    let spec = std::fs::read_to_string(KESTREL).unwrap();
    let from = spec.find("cylinders:").unwrap();
    let to = spec.find("valves:").unwrap();
    let file = place.join("bare.yaml");
    std::fs::write(&file, [&spec[..from], &spec[to..]].concat()).unwrap();
    let path = file.to_str().unwrap();
    let out = json(&[path, "intake=-1"]);
    assert_eq!(out["verdict"], "not known");
    assert_eq!(out["after"]["valves"][0]["opens"], "38 ATDC");
    assert_eq!(out["after"]["valves"][0]["clearance_needs"], "'cylinders:'");
    assert_eq!(
        out["after"]["valves"][0]["trapped_compression_ratio_estimate"],
        Value::Null
    );
    assert_eq!(out["after"]["pairs"][0]["overlap_crank_degrees"], "-40");
    assert!(text(&[path, "intake=-1"]).contains("needs 'cylinders:'"));
    assert!(refused(&[path, "intake", "--plot", "clearance"]).contains("'cylinders:'"));
    text(&[path, "intake=-1", "--plot", "circle"]);
    text(&[path, "intake=-1", "--plot", "lift"]);
    std::fs::remove_dir_all(place).unwrap();
}

#[test]
fn a_worn_chain_makes_both_camshafts_late_as_wear_says() {
    let out = json(&["engines/kestrel-four.yaml", "--elongation", "1/100"]);
    assert_eq!(out["elongation"], "1/100");
    // 1 % over free tight strands of 36.346 and 51.346 links of 20 crank degrees each.
    let off = |name: &str| {
        let shafts = out["shafts"].as_array().unwrap().clone();
        let shaft = shafts.into_iter().find(|shaft| shaft["shaft"] == name);
        shaft.unwrap()["off_crank_degrees"].clone()
    };
    assert_eq!(off("intake"), "-7269/1000");
    assert_eq!(off("exhaust"), "-10269/1000");
}

#[test]
fn wear_that_cannot_be_reckoned_is_refused() {
    for (elongation, why) in [
        ("-1/100", "range"),
        ("x", "expected a number"),
        ("2", "range"),
    ] {
        let told = refused(&[KESTREL, "--elongation", elongation]);
        assert!(told.contains(why), "{told}");
    }
}

/// What lash and wear could use up is not called clear.
#[test]
fn less_than_a_millimetre_is_too_close_to_call() {
    assert!(text(&[KESTREL, "intake=3 ahead"]).contains("TOO CLOSE TO CALL: 0.17 mm"));
    assert!(text(&[KESTREL, "intake=2 ahead"]).contains("stay clear: 2.42 mm"));
    let sweep = text(&[KESTREL, "intake", "--sweep", "2..4"]);
    let row = |teeth: &str| {
        sweep
            .lines()
            .find(|line| line.starts_with(teeth))
            .unwrap()
            .to_owned()
    };
    assert!(row("  3 ahead").ends_with("too close to call"));
    assert!(row("  4 ahead").ends_with("MEET"));
    assert!(!row("  2 ahead").contains("close"));
}
