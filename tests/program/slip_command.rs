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
        ["opens", "18 ATDC of overlap", "38 ATDC of overlap *"]
    );
    assert_eq!(
        row(&out, "intake, ", "closes"),
        ["closes", "72 ABDC of intake", "92 ABDC of intake *"]
    );
    assert_eq!(
        row(&out, "intake, ", "duration"),
        ["duration", "234", "234"]
    );
    assert_eq!(
        row(&out, "exhaust, ", "opens"),
        ["opens", "38 BBDC of power", "38 BBDC of power"]
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
    assert_eq!(after("intake=-1"), after("intake=10 cam deg behind"));
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
        (&[KESTREL, "intake=10 deg behind"], "whose degrees"),
        (&[KESTREL, "intake=18.5 degrees late"], "whose degrees"),
        (
            &[KESTREL, "crank=10 cam deg behind"],
            "'crank' is no camshaft",
        ),
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

fn signs(out: &Value) -> Vec<String> {
    out["symptoms"]
        .as_array()
        .unwrap()
        .iter()
        .map(|symptom| symptom["code"].as_str().unwrap().to_owned())
        .collect()
}

/// 18 teeth of 36 are a whole turn of the crankshaft: the valves work on the wrong strokes, which is
/// neither early nor late, and nothing is compressed.
#[test]
fn a_whole_crank_turn_is_told_as_that() {
    for slip in [
        "intake=-18",
        "intake=+18",
        "intake=180 cam deg ahead",
        "intake=54 behind",
    ] {
        let out = text(&[KESTREL, slip]);
        assert!(
            out.contains("No compression at TDC of compression (intake, cylinders 1, 2, 3, 4): intake a whole crank turn out.\n"),
            "{out}"
        );
        assert!(
            out.contains(
                "intake   360 crank degrees out, half a turn of its own: neither ahead nor behind"
            ),
            "{out}"
        );
        for word in [
            "early",
            "Intake late",
            "(late)",
            "More overlap",
            "Less overlap",
        ] {
            assert!(!out.contains(word), "{slip}: {word}\n{out}");
        }
        assert_eq!(
            row(&out, "intake, ", "opens"),
            ["opens", "18 ATDC of overlap", "18 ATDC of compression *"]
        );
        assert_eq!(
            row(&out, "intake, ", "closes"),
            ["closes", "72 ABDC of intake", "72 ABDC of power *"]
        );
        assert_eq!(
            row(&out, "intake, ", "trapped")[2],
            "none: intake a whole crank turn out *"
        );
        // 142 to 358 and 18 to 252 after TDC of compression: open together from 142 to 252.
        assert_eq!(
            row(&out, "intake with exhaust", "overlap"),
            ["overlap", "-20", "110 *"]
        );
        let out = json(&[KESTREL, slip]);
        let valves = &out["after"]["valves"][0];
        assert_eq!(valves["crank_turn_out"], true);
        assert_eq!(valves["no_compression"], "intake-crank-turn-out");
        assert_eq!(valves["trapped_compression_ratio_estimate"], Value::Null);
        assert_eq!(valves["opens_dead_centre"], "TDC of compression");
        assert_eq!(
            out["before"]["valves"][0]["opens_dead_centre"],
            "TDC of overlap"
        );
        assert_eq!(
            out["after"]["valves"][1]["closes_dead_centre"],
            "TDC of overlap"
        );
        assert_eq!(
            out["after"]["valves"][1]["opens_dead_centre"],
            "BDC of power"
        );
        assert_eq!(signs(&out), ["no-compression", "correlation-code"]);
        let picture = text(&[KESTREL, slip, "--plot", "circle"]);
        assert!(
            picture.contains("intake a whole crank turn out"),
            "{picture}"
        );
        assert!(
            picture.contains(">of TDC of compression<") || picture.contains(">of compression<")
        );
    }
    // The exhaust alone: shut only as the piston comes up to TDC of compression.
    let out = json(&[KESTREL, "exhaust=-18"]);
    assert_eq!(
        out["after"]["valves"][0]["no_compression"],
        "exhaust-crank-turn-out"
    );
    assert_eq!(
        out["after"]["valves"][0]["trapped_compression_ratio_estimate"],
        Value::Null
    );
    assert_eq!(signs(&out)[0], "no-compression");
    // All together keep to each other: compression is at the other TDC.
    let out = json(&[KESTREL, "crank=18 ahead"]);
    assert_eq!(
        out["after"]["valves"][0]["no_compression"],
        "other-dead-centre"
    );
    assert_eq!(out["after"]["pairs"][0], out["before"]["pairs"][0]);
    assert_eq!(signs(&out), ["other-dead-centre", "correlation-code"]);
    // A whole turn of the camshaft is nothing at all.
    let out = text(&[KESTREL, "intake=36 ahead"]);
    assert!(out.contains("intake   in time"), "{out}");
    assert!(!out.contains("Likely signs"), "{out}");
}

/// Valves that are still open at TDC of compression compress nothing, and no figure says otherwise.
#[test]
fn open_at_tdc_of_compression_is_told_and_has_no_figure() {
    for (slip, why) in [
        // Closes at 612: 7 teeth of 20 crank degrees later is 32 after TDC of compression.
        ("intake=7 behind", "intake-open"),
        // Closes at 332 and opens at 98: shut all through the intake stroke.
        ("intake=14 ahead", "nothing-drawn-in"),
        // Opens at 142: 8 teeth earlier is 18 before TDC of compression.
        ("exhaust=8 ahead", "exhaust-open"),
    ] {
        let out = json(&[KESTREL, slip]);
        let valves = &out["after"]["valves"][0];
        assert_eq!(valves["no_compression"], why, "{slip}");
        assert_eq!(valves["trapped_compression_ratio_estimate"], Value::Null);
        let found = signs(&out);
        assert!(
            found.contains(&"no-compression".to_owned()),
            "{slip}: {found:?}"
        );
        for code in ["early", "late", "overlap", "trapped"] {
            assert!(
                !found.iter().any(|sign| sign.contains(code)),
                "{slip}: {found:?}"
            );
        }
        assert!(text(&[KESTREL, slip]).contains("No compression at TDC of compression"));
    }
    let out = json(&[KESTREL, "intake=6 behind"]);
    assert_eq!(out["after"]["valves"][0]["no_compression"], "intake-open");
    let out = json(&[KESTREL, "intake=5 behind"]);
    assert_eq!(out["after"]["valves"][0]["no_compression"], Value::Null);
    // An exhaust that shuts after the intake is what traps the charge: 13 teeth are 260 degrees, so
    // from 358 to 618 where the intake shuts at 612.
    let ratio = |slip: &str| {
        json(&[KESTREL, slip])["after"]["valves"][0]["trapped_compression_ratio_estimate"]
            .as_f64()
            .unwrap()
    };
    assert!(ratio("exhaust=13 behind") < ratio("exhaust=12 behind"));
    assert!((ratio("exhaust=12 behind") - ratio("exhaust=0")).abs() < 1e-12);
    let sweep = text(&[KESTREL, "intake", "--sweep", "-7..-5"]);
    assert_eq!(sweep.matches("  none  ").count(), 2, "{sweep}");
}

/// A phaser is moved on purpose: no trouble code, no sign of a fault. A slip beside it still has its.
#[test]
fn a_phaser_that_was_moved_is_no_fault() {
    for phaser in ["intake=20", "intake=50", "intake=0"] {
        let out = json(&[KESTREL, "--phaser", phaser]);
        let found = signs(&out);
        assert!(
            found.is_empty() || found == ["valves-meet-piston"],
            "{phaser}: {found:?}"
        );
        assert!(!text(&[KESTREL, "--phaser", phaser]).contains("P0016"));
    }
    let slipped = signs(&json(&[KESTREL, "exhaust=1 behind"]));
    let both = signs(&json(&[
        KESTREL,
        "exhaust=1 behind",
        "--phaser",
        "intake=20",
    ]));
    assert_eq!(slipped, both);
    // Moved one way and slipped the other, the camshaft stands where it should by its valves alone.
    let hidden = signs(&json(&[
        KESTREL,
        "intake=1 behind",
        "--phaser",
        "intake=20",
    ]));
    assert!(
        hidden.contains(&"correlation-code".to_owned()),
        "{hidden:?}"
    );
    assert!(hidden.contains(&"intake-late".to_owned()), "{hidden:?}");
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
