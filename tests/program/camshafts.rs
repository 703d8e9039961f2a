//! A camshaft that nobody named: in haste only one bank was painted, or the second camshaft forgotten.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::ask::in_place;
use crate::job_ask::Bench;
use crate::support::program::{Outcome, engine, scratch, tautmark, tautmark_fed};

const ALL_ON: [&str; 8] = [
    "--link",
    "crank=on",
    "--link",
    "exhaust=on",
    "--dot",
    "crank=on",
    "--dot",
    "exhaust=on",
];

/// The intake camshaft was not painted. How many camshafts there are was told.
fn painted(camshafts: &str) -> (String, Outcome) {
    let spec = scratch("camshafts").join("engine.yaml");
    let spec = spec.to_str().unwrap().to_owned();
    let made = tautmark(&[
        "paint",
        "count",
        "--camshafts",
        camshafts,
        "--turns",
        "clockwise",
        "--links",
        "122",
        "--points",
        "crank=6",
        "--points",
        "exhaust=11",
        "crank=19/outer",
        "53",
        "exhaust=38/inner",
        "69",
        "-o",
        &spec,
    ]);
    assert_eq!((made.stderr.as_str(), made.status), ("", Some(0)));
    (spec, made)
}

/// No door lets the marks that are there read as the engine in time, and no gate opens on them.
#[test]
fn a_camshaft_that_was_not_painted_keeps_every_door_shut() {
    let (spec, made) = painted("2");
    let left_out = "The engine has 2 camshafts, and 1 is named here. Whatever is in time here, the engine is NOT PROVEN in time: 1 is left out.";
    assert!(made.stdout.contains(left_out), "{}", made.stdout);
    let lint = tautmark(&["lint", &spec]);
    assert_eq!(lint.status, Some(1));
    assert!(
        lint.stdout.contains("camshafts-not-named"),
        "{}",
        lint.stdout
    );

    let checked = tautmark(&[&["check", &spec][..], &ALL_ON].concat());
    assert_eq!(checked.status, Some(1));
    assert!(checked.stdout.contains(left_out), "{}", checked.stdout);
    assert!(!checked.stdout.contains("IN TIME"), "{}", checked.stdout);
    assert!(
        !checked.stdout.contains("may be released"),
        "{}",
        checked.stdout
    );
    let last: Vec<&str> = checked.stdout.trim_end().lines().rev().take(2).collect();
    assert_eq!(
        last,
        [
            "Next: add the camshafts that are left out to the spec, with their marks; until then nothing proves this engine.",
            "NOT PROVEN. Do not release the tensioner."
        ]
    );
    let json = tautmark(&[&["check", &spec, "--format", "json"][..], &ALL_ON].concat()).json();
    assert_eq!(json["verdict"], "not proven");
    assert_eq!(json["release_tensioner"], false);
    assert_eq!(json["findings"][0]["code"], "camshafts-not-named");
    let turned = tautmark(&[
        "check",
        &spec,
        "--turned",
        "2",
        "--dot",
        "crank=on",
        "--dot",
        "exhaust=on",
    ]);
    assert_eq!(turned.status, Some(1));
    assert!(!turned.stdout.contains("IN TIME"), "{}", turned.stdout);

    let line = "{\"links\":{\"crank\":\"on\",\"exhaust\":\"on\"},\"dots\":{\"crank\":\"on\",\"exhaust\":\"on\"}}\n";
    let stream = tautmark_fed(&["check", &spec, "--records", "-"], line.as_bytes());
    assert!(
        stream.stdout.contains("\"verdict\":\"not proven\""),
        "{}{}",
        stream.stdout,
        stream.stderr
    );
    let drawn = tautmark(&[&["draw", &spec, "--format", "text"][..], &ALL_ON].concat());
    assert!(!drawn.stdout.contains("IN TIME"), "{}", drawn.stdout);

    // The job: no gate opens, and what is missing is said before anybody has looked at anything.
    let bench = Bench::new(&spec, &[]);
    let status = bench.job("status", &[]);
    let next = "Next: add the camshafts that are left out to the spec, with their marks; until then nothing proves this engine, then step hang";
    assert!(status.stdout.contains(next), "{}", status.stdout);
    let said = [
        "--said",
        "pin-in",
        "--said",
        "slack-side",
        "--stage",
        "hung",
    ];
    let looked = bench.job("look", &[&said[..], &ALL_ON].concat());
    assert_eq!(looked.status, Some(1), "{}", looked.stdout);
    let ticked = bench.job("tick", &["step:hang", "step:release"]);
    assert_eq!(ticked.status, Some(1), "{}{}", ticked.stdout, ticked.stderr);
    bench.stands("release", "blocked");

    let asked = Bench::new(&spec, &[]).ask("Kim", None, |screen| {
        if screen.contains("What now?") {
            return Some("q".to_owned());
        }
        in_place(screen)
    });
    assert_eq!(asked.status, Some(1));
    let (first, _) = asked.out.split_once("y = ready").unwrap();
    assert!(first.contains(left_out), "{first}");
    assert!(
        !asked.out.contains("Release the tensioner now"),
        "{}",
        asked.out
    );
    assert!(!asked.out.contains("IN TIME"), "{}", asked.out);
}

/// Somebody who says that there is one camshaft has said it: the spec keeps it, and the marks prove it.
#[test]
fn all_camshafts_named_are_proven() {
    let (spec, made) = painted("1");
    assert!(
        made.stdout.contains("the timing is proven"),
        "{}",
        made.stdout
    );
    let text = std::fs::read_to_string(&spec).unwrap();
    assert!(text.contains("\ncamshafts: 1 #"), "{text}");
    let checked = tautmark(&[&["check", &spec][..], &ALL_ON].concat());
    assert_eq!(checked.status, Some(0), "{}", checked.stdout);
    assert!(!checked.stdout.contains("camshafts named here"));
}

/// How many there are is never guessed, and a pump that was taken for a camshaft is told.
#[test]
fn the_number_of_camshafts_is_asked_for() {
    let walk = [
        "--turns",
        "clockwise",
        "--links",
        "90",
        "--points",
        "crank=6",
        "--points",
        "cam=12:30",
    ];
    let around = ["crank=20", "48", "cam=40", "42"];
    let none = tautmark(&[&["paint", "count"][..], &walk, &around].concat());
    assert_eq!((none.status, none.stdout.as_str()), (Some(2), ""));
    assert!(none.stderr.contains("--camshafts <N>"), "{}", none.stderr);
    for camshafts in ["0", "x", "-1", "101"] {
        let given = ["paint", "count", "--camshafts", camshafts];
        let refused = tautmark(&[&given[..], &walk, &around].concat());
        assert_eq!(
            (refused.status, refused.stdout.as_str()),
            (Some(2), ""),
            "{camshafts}"
        );
    }
    let pump = tautmark(&[
        "paint",
        "count",
        "--camshafts",
        "1",
        "--turns",
        "clockwise",
        "--links",
        "118",
        "crank=18",
        "51",
        "cam=36",
        "17",
        "oil-pump=36",
        "50",
    ]);
    assert_eq!((pump.status, pump.stdout.as_str()), (Some(2), ""));
    assert!(
        pump.stderr.contains("--camshafts 1: you went around 2 (cam, oil-pump). Count the camshafts again, or name what is none (--idler, --pump, --balance)"),
        "{}",
        pump.stderr
    );
}

/// A spec that does not say how many camshafts its engine has: what is in time is in time, and what that leaves out is
/// said beside it. A plan of marks is not written from it before it was counted.
#[test]
fn a_spec_that_does_not_say_how_many_is_about_those_it_names() {
    let folder = scratch("camshafts");
    let text = std::fs::read_to_string(engine("wren-single")).unwrap();
    let path = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    let (bare, planned) = (path("bare.yaml"), path("planned.yaml"));
    std::fs::write(&bare, text.replace("camshafts: 1\n", "")).unwrap();
    let seen = [
        "--link", "crank=on", "--link", "cam=on", "--dot", "crank=on", "--dot", "cam=on",
    ];
    let checked = tautmark(&[&["check", &bare][..], &seen].concat());
    assert_eq!(checked.status, Some(0));
    let about = "This is about the camshafts named here (cam). The spec does not say how many the engine has; one that is not named is not proven.";
    assert!(checked.stdout.contains(about), "{}", checked.stdout);
    let plan = tautmark(&["paint", "plan", &bare]);
    assert!(plan.stdout.contains(about), "{}", plan.stdout);
    assert!(
        !plan.stdout.contains("the timing is proven"),
        "{}",
        plan.stdout
    );

    let refused = tautmark(&["paint", "plan", &bare, "-o", &planned]);
    assert_eq!((refused.status, refused.stdout.as_str()), (Some(2), ""));
    assert!(
        refused.stderr.contains("(--camshafts N)"),
        "{}",
        refused.stderr
    );
    assert!(!std::path::Path::new(&planned).exists());
    let two = tautmark(&["paint", "plan", &bare, "--camshafts", "2", "-o", &planned]);
    assert_eq!(two.status, Some(0), "{}", two.stderr);
    let checked = tautmark(&[&["check", &planned][..], &seen].concat());
    assert_eq!(checked.status, Some(1), "{}", checked.stdout);
    assert!(!checked.stdout.contains("IN TIME"));
    // And it is not talked over what the spec says.
    let other = tautmark(&["paint", "plan", &planned, "--camshafts", "1"]);
    assert_eq!(other.status, Some(2));
    assert!(
        other
            .stderr
            .contains("the spec says that the engine has 2 camshafts, not 1"),
        "{}",
        other.stderr
    );
}

/// Only after the signature does somebody see that there is a second camshaft, and puts the number right: the signature
/// stands on no proof any more, and what is missing is said.
#[test]
fn a_camshaft_that_is_found_later_opens_a_signed_job_again() {
    let spec = scratch("camshafts").join("wren.yaml");
    let text = std::fs::read_to_string(engine("wren-single")).unwrap();
    std::fs::write(&spec, &text).unwrap();
    let bench = Bench::new(spec.to_str().unwrap(), &[]);
    assert_eq!(bench.ask("Kim", None, in_place).status, Some(0));
    assert_eq!(bench.job("status", &[]).status, Some(0));
    std::fs::write(&spec, text.replace("camshafts: 1\n", "camshafts: 2\n")).unwrap();
    let status = bench.job("status", &[]);
    assert_eq!(status.status, Some(1));
    assert!(!status.stdout.contains("IN TIME"), "{}", status.stdout);
    assert!(!status.stdout.contains("\nSIGNED OFF"), "{}", status.stdout);
    bench.stands("sign-off", "blocked");
    assert!(
        status
            .stdout
            .contains("Next: add the camshafts that are left out to the spec"),
        "{}",
        status.stdout
    );
}
