//! Mistakes of somebody tired, hurried or confused, through the whole job: each is stopped before it does harm.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::ask::in_place;
use crate::job_ask::Bench;
use crate::support::program::{Outcome, engine, scratch, tautmark};

/// The Kestrel with locking tools, and a phaser whose bolt stays hand-tight until the tensioner is released.
fn hand_tight() -> String {
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let mut new = text.clone();
    for (old, with) in [
        ("parked: retarded }", "parked: retarded, hand_tight: true }"),
        (
            "fasteners: [guide-bolt, phaser-bolt] }",
            "fasteners: [guide-bolt] }",
        ),
        (
            "about: pull the tensioner's pin, gate: release }",
            "about: pull the tensioner's pin, gate: release }\n  - { step: tighten, about: tools out and phaser bolt tight, fasteners: [phaser-bolt] }",
        ),
        (
            "steps:\n",
            "tools: [crankshaft pin, camshaft bar]\nsteps:\n",
        ),
    ] {
        assert_eq!(new.matches(old).count(), 1, "{old}");
        new = new.replace(old, with);
    }
    let path = scratch("hand-tight").join("kestrel.yaml");
    std::fs::write(&path, new).unwrap();
    assert_eq!(tautmark(&["lint", path.to_str().unwrap()]).status, Some(0));
    path.to_str().unwrap().to_owned()
}

fn refused(outcome: &Outcome, why: &str) {
    assert_eq!((outcome.stdout.as_str(), outcome.status), ("", Some(1)));
    assert!(outcome.stderr.contains(why), "{}", outcome.stderr);
}

const HUNG: [&str; 12] = [
    "--stage",
    "hung",
    "--link",
    "crank=on",
    "--link",
    "exhaust=on",
    "--link",
    "intake=on",
    "--dot",
    "crank=on",
    "--dot",
    "exhaust=on",
];
const RELEASED: [&str; 8] = [
    "--stage",
    "released",
    "--link",
    "crank=on",
    "--link",
    "exhaust=on",
    "--link",
    "intake=on",
];

fn look(bench: &Bench, marks: &[&str], said: &[&str]) -> Outcome {
    let mut words = marks.to_vec();
    for what in said {
        words.extend(["--said", *what]);
    }
    bench.job("look", &words)
}

fn tick(bench: &Bench, items: &[&str]) {
    let outcome = bench.job("tick", items);
    assert_eq!(
        (outcome.stderr.as_str(), outcome.status),
        ("", Some(0)),
        "{items:?}"
    );
}

fn begun(spec: &str, before_hanging: &[&str]) -> Bench {
    let bench = Bench::new(spec, &[]);
    tick(&bench, &crate::job::KIT);
    tick(
        &bench,
        &["part:front-seal", "step:teardown", "torque:guide-bolt"],
    );
    tick(&bench, before_hanging);
    bench
}

/// Tools in and bolts hand-tight before the release; tools out and bolts to the maker's figure before turning: each
/// of them, denied or not said, keeps the next stage closed.
#[test]
fn tools_and_bolts_are_asked_before_and_after_the_release() {
    let bench = begun(&hand_tight(), &["step:fit", "torque:tensioner-bolt"]);
    let before = [
        "pin-in",
        "tools-in",
        "phaser-parked",
        "bolts-loose",
        "slack-side",
    ];
    for left_out in before {
        for denied in [false, true] {
            let no = format!("{left_out}=no");
            let mut said: Vec<&str> = before
                .iter()
                .copied()
                .filter(|what| *what != left_out)
                .collect();
            if denied {
                said.push(&no);
            }
            look(&bench, &HUNG, &said);
            let outcome = bench.job("tick", &["step:hang", "step:release"]);
            refused(&outcome, left_out);
        }
    }
    look(&bench, &HUNG, &before);
    // The bolt is not tightened before the chain is proven and the tensioner released.
    refused(
        &bench.job("tick", &["torque:phaser-bolt"]),
        "step hang is not done",
    );
    refused(
        &bench.job("tick", &["step:tighten"]),
        "step hang is not done",
    );
    tick(&bench, &["step:hang", "step:release"]);
    refused(
        &bench.job("tick", &["step:tighten"]),
        "torque of phaser-bolt is not confirmed",
    );
    tick(&bench, &["torque:phaser-bolt", "step:tighten"]);
    for (said, why) in [
        (
            &["pins-out", "bolts-tight=no"][..],
            "bolts-tight was said not to be so",
        ),
        (
            &["pins-out=no", "bolts-tight"],
            "pins-out was said not to be so",
        ),
        (&["bolts-tight"], "pins-out was not said"),
        (&["pins-out"], "bolts-tight was not said"),
    ] {
        look(&bench, &RELEASED, said);
        tick(&bench, &["step:look"]);
        refused(&bench.job("tick", &["step:turn"]), why);
    }
    look(&bench, &RELEASED, &["pins-out", "bolts-tight"]);
    tick(&bench, &["step:look"]);
    bench.stands("turn", "open");
}

/// The same as questions: every tool is named, before and after, and the wrong answer stops there.
#[test]
fn tools_and_bolts_as_questions() {
    let spec = hand_tight();
    for (asked, wrong, stop) in [
        (
            "Are all locking tools in?",
            "n",
            "Do not release the tensioner.",
        ),
        (
            "Is any of those bolts tight already?",
            "y",
            "Do not release the tensioner.",
        ),
        (
            "Is any of them, or the tensioner's pin, still in the engine?",
            "y",
            "Do not turn the engine.",
        ),
        (
            "Is every phaser bolt tightened to the maker's figure?",
            "n",
            "Do not turn the engine.",
        ),
    ] {
        let bench = Bench::new(&spec, &[]);
        let outcome = bench.ask("Kim", None, |screen| {
            if screen.contains(asked) {
                if asked.contains("tools") || asked.contains("them, or") {
                    assert!(
                        screen.contains("  - crankshaft pin\n  - camshaft bar\n"),
                        "{screen}"
                    );
                }
                return Some(wrong.to_owned());
            }
            if screen.contains("What now?") {
                return Some("q".to_owned());
            }
            in_place(screen)
        });
        assert!(outcome.out.contains(asked), "{asked}: {}", outcome.out);
        assert_eq!(outcome.status, Some(1), "{asked}");
        let last: Vec<&str> = outcome.out.lines().rev().take(2).collect();
        assert_eq!(last[1], format!("NOT PROVEN. {stop}"), "{asked}");
        assert!(last[0].starts_with("Next: see to it that "), "{last:?}");
        for step in bench.steps() {
            assert!(!step.starts_with("turn done"), "{step}");
        }
    }
}

/// The pin is ticked as pulled before anybody has looked at a mark.
#[test]
fn the_release_is_not_ticked_before_its_time() {
    let bench = begun(
        &engine("kestrel-four"),
        &["torque:phaser-bolt", "step:fit", "torque:tensioner-bolt"],
    );
    refused(
        &bench.job("tick", &["step:release"]),
        "step hang is not done",
    );
    refused(
        &bench.job("tick", &["step:hang", "step:release"]),
        "the marks at stage hung are not yet looked at",
    );
    // Nor by a look that is in time while the pin was said to be out.
    look(&bench, &HUNG, &["pin-in=no", "phaser-parked", "slack-side"]);
    refused(
        &bench.job("tick", &["step:hang", "step:release"]),
        "pin-in was said not to be so",
    );
}

/// "Nothing resisted" was pressed too fast: one step back, and it stops all the same.
#[test]
fn a_no_that_was_meant_as_a_yes_is_taken_back() {
    let bench = Bench::new(&engine("kestrel-four"), &[]);
    let asked = std::cell::Cell::new(0);
    let outcome = bench.ask("Kim", None, |screen| {
        if screen.contains("Stage 3 of 3") && screen.contains("Mark 1 of 3") {
            return Some("0".to_owned());
        }
        if screen.contains("Did anything resist") {
            asked.set(asked.get() + 1);
            return Some(if asked.get() == 1 { "n" } else { "y" }.to_owned());
        }
        if screen.contains("How far had") {
            return Some("5".to_owned());
        }
        if screen.contains("What now?") {
            return Some("q".to_owned());
        }
        in_place(screen)
    });
    assert_eq!(asked.get(), 2, "{}", outcome.out);
    assert!(
        outcome
            .out
            .contains("STOP. Do not turn the engine, and do not start it.")
    );
    assert!(!outcome.out.contains("IN TIME at all three stages."));
    bench.stands("hang", "open");
    // Said after everything was found good, it closes everything again.
    let bench = Bench::new(&engine("kestrel-four"), &[]);
    assert_eq!(bench.ask("Kim", None, in_place).status, Some(0));
    bench.stands("turn", "done");
    let felt = bench.job(
        "look",
        &[
            "--stage",
            "turned",
            "--turned",
            "2",
            "--said",
            "turned-free=no",
            "--by",
            "Kim",
        ],
    );
    assert_eq!(felt.status, Some(1), "{}", felt.stderr);
    for step in ["hang", "release", "look", "turn"] {
        assert!(!bench.steps().contains(&format!("{step} done")), "{step}");
    }
}

/// A mark is smeared: it is not known, and the last line says which to look at.
#[test]
fn a_smeared_mark_is_not_taken_to_be_right() {
    let bench = Bench::new(&engine("kestrel-four"), &[]);
    let outcome = bench.ask("Kim", None, |screen| {
        if screen.contains("What now?") {
            return Some("q".to_owned());
        }
        if screen.contains("INTAKE (camshaft)") {
            return Some("4".to_owned());
        }
        in_place(screen)
    });
    assert_eq!(outcome.status, Some(1), "{}", outcome.err);
    let last: Vec<&str> = outcome.out.lines().rev().take(2).collect();
    assert_eq!(last[1], "NOT PROVEN. Do not release the tensioner.");
    assert_eq!(
        last[0],
        "Next: look at the dot of intake against link 68 (yellow)."
    );
    bench.stands("release", "blocked");
}

/// The Wagtail, painted and counted; the walk against the way the chain travels gives the same verdicts and tells
/// the same way to turn.
#[test]
fn painted_marks_counted_from_the_other_side_prove_the_same() {
    let folder = scratch("other-side");
    let along = [
        "--turns",
        "clockwise",
        "--links",
        "122",
        "--points",
        "crank=6",
        "--points",
        "exhaust=11",
        "--points",
        "intake=1",
        "crank=19/outer",
        "53",
        "exhaust=38/inner",
        "18",
        "intake=38/inner",
        "51",
    ];
    let mut against = along;
    against[10..].copy_from_slice(&[
        "crank=19/outer",
        "51",
        "intake=38/inner",
        "18",
        "exhaust=38/inner",
        "53",
    ]);
    let mut told = Vec::new();
    for (name, walk) in [("along.yaml", along), ("against.yaml", against)] {
        let spec = folder.join(name).to_str().unwrap().to_owned();
        let made = tautmark(
            &[
                &["paint", "count", "--camshafts", "2", "-o", &spec][..],
                &walk,
            ]
            .concat(),
        );
        assert_eq!((made.stderr.as_str(), made.status), ("", Some(0)));
        for (exhaust, intake) in [
            ("on", "on"),
            ("1 behind", "on"),
            ("on", "2 ahead"),
            ("1 ahead", "1 ahead"),
        ] {
            let [exhaust, intake] = [format!("exhaust={exhaust}"), format!("intake={intake}")];
            let seen = ["--link", "crank=on", "--link", &exhaust, "--link", &intake];
            let checked = tautmark(&[&["check", &spec, "--dot", "crank=on"][..], &seen].concat());
            let moves: Vec<String> = checked
                .stdout
                .lines()
                .filter(|line| line.starts_with("  ") && line.contains(": turn the sprocket"))
                .filter_map(|line| line.trim().split_once(" against the chain"))
                .map(|(what, _)| {
                    what.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')
                        .trim()
                        .to_owned()
                })
                .collect();
            let moves: std::collections::BTreeSet<String> = moves.into_iter().collect();
            told.push((checked.status, moves));
        }
    }
    let (one, other) = told.split_at(4);
    assert_eq!(one, other);
    assert!(
        one[1..]
            .iter()
            .all(|(status, moves)| *status == Some(1) && !moves.is_empty()),
        "{one:?}"
    );
}

/// A new chain is laid beside the old one inside out, or its marks are painted from the wrong end: told before it is
/// hung.
#[test]
fn a_chain_laid_the_wrong_way_is_told() {
    let spec = format!(
        "{}/tests/fixtures/paint/wagtail.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    for counts in ["51,18,53", "18,53,51", "53,51,18"] {
        let outcome = tautmark(&[
            "paint",
            "new-chain",
            &spec,
            "--links",
            "122",
            "--count",
            counts,
        ]);
        assert_eq!(outcome.status, Some(1), "{counts}: {}", outcome.stdout);
    }
}

/// The job and the spec are taken for each other: told as that, and not as a spec full of unknown keys.
#[test]
fn a_spec_and_a_job_that_are_exchanged_are_told() {
    let folder = scratch("exchanged");
    let (spec, job) = (engine("wren-single"), folder.join("job.yaml"));
    let job = job.to_str().unwrap();
    let made = tautmark(&["job", "new", &spec, "-o", job]);
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    for (words, told) in [
        (
            &["job", "status", job, &spec][..],
            "is a record or a job, not a spec (the engine's spec comes first, and then the job)",
        ),
        (
            &["check", job, "--link", "crank=on"],
            "is a record or a job, not a spec",
        ),
        (
            &["ask", job, "--job", &spec],
            "is a record or a job, not a spec",
        ),
        (
            &["job", "status", &spec, &spec],
            "is a spec, not a job (the engine's spec comes first, and then the job)",
        ),
        (&["ask", &spec, "--job", &spec], "is a spec, not a job"),
    ] {
        let outcome = tautmark(words);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (Some(2), ""));
        assert!(
            outcome.stderr.contains(told),
            "{words:?}: {}",
            outcome.stderr
        );
        assert_eq!(outcome.stderr.lines().count(), 1, "{}", outcome.stderr);
    }
}

/// A tick that is refused says what is next instead, of the job as it stands: nothing of the same command was taken.
#[test]
fn a_tick_that_is_refused_says_what_is_next() {
    let folder = scratch("refused");
    let (spec, job) = (engine("kestrel-four"), folder.join("job.yaml"));
    let job = job.to_str().unwrap();
    assert_eq!(tautmark(&["job", "new", &spec, "-o", job]).status, Some(0));
    let before = std::fs::read_to_string(job).unwrap();
    let outcome = tautmark(&["job", "tick", &spec, job, "part:chain", "step:cover"]);
    assert_eq!((outcome.status, outcome.stdout.as_str()), (Some(1), ""));
    let last = outcome.stderr.lines().last().unwrap();
    assert!(
        last.starts_with("Next: get 1 x chain, then step teardown ("),
        "{}",
        outcome.stderr
    );
    assert_eq!(std::fs::read_to_string(job).unwrap(), before);
}

/// A look that was made before what comes before it: in time as it may be, nothing on it lets anything be done.
#[test]
fn a_look_before_its_time_lets_nothing_be_done() {
    let folder = scratch("early");
    let (spec, job) = (engine("kestrel-four"), folder.join("job.yaml"));
    let job = job.to_str().unwrap();
    assert_eq!(tautmark(&["job", "new", &spec, "-o", job]).status, Some(0));
    let words = "--stage hung --link crank=on --link exhaust=on --link intake=on --dot crank=on --dot exhaust=on \
                 --said pin-in --said phaser-parked --said slack-side";
    let words: Vec<&str> = words.split_whitespace().collect();
    let looked = tautmark(&[&["job", "look", &spec, job][..], &words].concat());
    assert_eq!(looked.status, Some(1));
    assert!(looked.stdout.contains("PROVES NOTHING in this job."));
    for word in [
        "may be released",
        "release the tensioner, then",
        "\nIN TIME",
    ] {
        assert!(!looked.stdout.contains(word), "{word}: {}", looked.stdout);
    }
}
