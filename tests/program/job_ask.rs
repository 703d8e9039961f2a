//! `ask --job`: the job goes along with the questions, and keeps closed what is not to be done yet.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::ask::{Outcome, converse, in_place};
use crate::support::program::{engine, scratch, tautmark};
use serde_json::Value;
use std::path::PathBuf;

pub(crate) struct Bench {
    folder: PathBuf,
    spec: String,
    job: String,
}

impl Bench {
    pub(crate) fn new(spec: &str, car: &[&str]) -> Self {
        let folder = scratch("job-ask");
        let job = folder.join("job.yaml").to_str().unwrap().to_owned();
        let bench = Self {
            spec: spec.to_owned(),
            folder,
            job,
        };
        let new = ["job", "new", spec, "-o", &bench.job, "--by", "Robin"];
        let made = tautmark(&[&new, car].concat());
        assert_eq!((made.status, made.stderr.as_str()), (Some(0), ""));
        bench
    }

    /// Asked by `by`, with a draft of its own where `record` names one.
    pub(crate) fn ask(
        &self,
        by: &str,
        record: Option<&str>,
        answer: impl Fn(&str) -> Option<String>,
    ) -> Outcome {
        let mut arguments = vec!["ask", &self.spec, "--job", &self.job, "--by", by];
        let record = record.map(|name| self.folder.join(name).to_str().unwrap().to_owned());
        if let Some(record) = &record {
            arguments.extend(["--record", record]);
        }
        converse(&self.folder, &arguments, answer)
    }

    pub(crate) fn job(&self, what: &str, more: &[&str]) -> crate::support::program::Outcome {
        tautmark(&[&["job", what, &self.spec, &self.job], more].concat())
    }

    pub(crate) fn status(&self) -> Value {
        self.job("status", &["--format", "json"]).json()
    }

    /// How each step stands, in order.
    pub(crate) fn steps(&self) -> Vec<String> {
        let status = self.status();
        let steps = status["steps"].as_array().unwrap().iter();
        steps
            .map(|step| {
                let word = |key: &str| step[key].as_str().unwrap().to_owned();
                format!("{} {}", word("step"), word("standing"))
            })
            .collect()
    }

    pub(crate) fn stands(&self, step: &str, standing: &str) {
        let steps = self.steps();
        assert!(steps.contains(&format!("{step} {standing}")), "{steps:?}");
    }
}

/// Everything as it should be, until a screen shows `until`.
pub(crate) fn good_until<'a>(until: &'a str) -> impl Fn(&str) -> Option<String> + 'a {
    move |screen| {
        if screen.contains("n = no, nothing has moved") {
            return Some("n".to_owned());
        }
        if screen.contains(until) {
            return Some("q".to_owned());
        }
        in_place(screen)
    }
}

const CAR: [&str; 4] = ["--order", "2411-07", "--plate", "K 417"];

/// One run from the empty bench to the cover, whose sealant has to cure: all is asked, ticked and in the job, by name.
#[test]
fn a_job_is_asked_from_the_bench_to_the_cover() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let asked = bench.ask("Kim", None, in_place);
    assert_eq!(
        (asked.err.as_str(), asked.status),
        ("", Some(0)),
        "{}",
        asked.out
    );
    let steps = bench.steps();
    let done: Vec<&String> = steps
        .iter()
        .filter(|step| step.ends_with(" done"))
        .collect();
    assert_eq!(
        done,
        [
            "teardown done",
            "fit done",
            "hang done",
            "release done",
            "look done",
            "turn done",
            "cover done"
        ]
    );
    // Whose car it is stands on every screen before somebody does something.
    for screen in ["y = ready", "y = it is released", "y = it is turned"] {
        let (before, _) = asked.out.split_once(screen).unwrap();
        let shown = before.rsplit("\n> ").next().unwrap();
        assert!(
            shown.contains("Car: order 2411-07, plate K 417\n"),
            "{shown}"
        );
    }
    let last: Vec<&str> = asked.out.lines().rev().take(3).collect();
    assert_eq!(last[1], "IN TIME at all three stages.");
    assert!(last[0].starts_with("Next: wait until "), "{last:?}");
    assert!(last[0].contains("then step sign-off"), "{last:?}");
    // A wait is not shortened by looking again, and the next run goes on where this one ended.
    let waiting = asked.out.rsplit("NOT YET.").next().unwrap();
    assert!(!waiting.contains("look at every mark again"), "{waiting}");
    let next = bench.ask("Kim", None, good_until("there is none such"));
    assert!(next.out.contains("cover must be left alone until "));
    bench.stands("sign-off", "blocked");
    assert!(last[2].ends_with("job.yaml."), "{last:?}");
    let report = bench.job("report", &[]).stdout;
    assert_eq!(report.matches("Looked at by Kim, ").count(), 3, "{report}");
    assert!(report.contains(", facing the timing end\n"), "{report}");
}

/// Where nothing has to cure, one run ends with the sign-off, and says that nothing is left.
#[test]
fn a_job_is_asked_to_its_sign_off() {
    let bench = Bench::new(&engine("wren-single"), &CAR);
    let asked = bench.ask("Kim", None, in_place);
    assert_eq!((asked.err.as_str(), asked.status), ("", Some(0)));
    bench.stands("sign-off", "done");
    let last: Vec<&str> = asked.out.lines().rev().take(2).collect();
    assert_eq!(
        last,
        [
            "Next: nothing, all steps are done.",
            "IN TIME at all three stages."
        ]
    );
    assert_eq!(bench.job("status", &[]).status, Some(0));
}

/// Nobody gave a name at the start: the sign-off asks for it, and is not made without.
#[test]
fn the_sign_off_asks_for_a_name_where_none_was_given() {
    let folder = scratch("no-name");
    let (spec, job) = (engine("wren-single"), folder.join("job.yaml"));
    let job = job.to_str().unwrap();
    assert_eq!(tautmark(&["job", "new", &spec, "-o", job]).status, Some(0));
    let asked = std::cell::Cell::new(0);
    let outcome = converse(&folder, &["ask", &spec, "--job", job], |screen| {
        if screen.contains("your name, then Enter") {
            asked.set(asked.get() + 1);
            return Some(["", "\u{7}", "Kim"][asked.get() - 1].to_owned());
        }
        in_place(screen)
    });
    assert_eq!(
        (outcome.status, asked.get()),
        (Some(0), 3),
        "{}",
        outcome.out
    );
    assert!(
        outcome.out.contains("! It stays closed: "),
        "{}",
        outcome.out
    );
    let status = tautmark(&["job", "status", &spec, job]);
    assert_eq!(status.status, Some(0));
    assert!(
        status.stdout.contains("SIGNED OFF, on proof, "),
        "{}",
        status.stdout
    );
    assert!(status.stdout.contains(", by Kim."), "{}", status.stdout);
}

/// Whoever says "not yet" is not carried on, and "the cover is on" is not taken before the old seals are counted: a
/// number of them, for a yes would only say after the program how many there should be.
#[test]
fn old_parts_are_counted_before_the_cover_in_one_run() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let counts = std::cell::Cell::new(0);
    let asked = bench.ask("Kim", None, |screen| {
        if screen.contains("came off, all counted?") {
            assert!(!screen.contains("y = "), "{screen}");
            counts.set(counts.get() + 1);
            return Some(["x", "2", "0", "1"][counts.get() - 1].to_owned());
        }
        if screen.contains("Step cover: ") {
            return Some(if screen.contains('!') { "q" } else { "n" }.to_owned());
        }
        in_place(screen)
    });
    assert_eq!(asked.status, Some(0), "{}", asked.err);
    for told in [
        "! 'x' is not a number",
        "2 old front-seal came off, 1 go on: one may be left out.",
        "0 old front-seal came off, 1 go on: one may still sit in its seat.",
        "! It stays closed: ",
    ] {
        assert!(asked.out.contains(told), "{told}:\n{}", asked.out);
    }
    assert_eq!(counts.get(), 4);
    bench.stands("cover", "open");
}

/// The sealant has skinned over while a call came in between: `ask` has it done again, and does not end in a loop.
#[test]
fn what_came_too_late_is_done_again_in_one_run() {
    let bench = Bench::new(&engine("siskin-v6"), &[]);
    let sealed = format!(
        "{}/tests/fixtures/job/v6-sealed.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    std::fs::copy(sealed, &bench.job).unwrap();
    let asked = bench.ask("Kim", None, good_until("there is none such"));
    assert_eq!(asked.status, Some(0), "{}\n{}", asked.out, asked.err);
    assert_eq!(
        asked.out.matches("Is it done once more, just now?").count(),
        1,
        "{}",
        asked.out
    );
    assert!(asked.out.contains("sealant has skinned over by now."));
    bench.stands("cover", "done");
    assert!(asked.out.contains("cover must be left alone until "));
}

/// Nobody is told to release a tensioner while a bolt of it is still loose in the job.
#[test]
fn what_the_job_keeps_closed_is_asked_before_it_is_done() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let loose = |screen: &str| {
        if screen.contains("Is any tensioner-bolt still loose") {
            // Still loose, twice; then given up.
            return Some(
                if screen.contains("It stays closed") {
                    "q"
                } else {
                    "y"
                }
                .to_owned(),
            );
        }
        in_place(screen)
    };
    let asked = bench.ask("Kim", None, loose);
    assert_eq!(asked.status, Some(1));
    assert!(
        asked
            .out
            .contains("! It stays closed: tighten tensioner-bolt and tick torque:tensioner-bolt."),
        "{}",
        asked.out
    );
    assert!(
        !asked.out.contains("Release the tensioner now"),
        "{}",
        asked.out
    );
    bench.stands("hang", "open");
    bench.stands("release", "blocked");
    // Tightened, it goes on where it was, and the release is ticked by what is answered.
    let asked = bench.ask("Kim", None, good_until("y = it is turned"));
    assert!(
        asked.out.contains("Release the tensioner now"),
        "{}",
        asked.out
    );
    bench.stands("release", "done");
    bench.stands("look", "done");
    bench.stands("turn", "open");
}

/// What resisted is in the job at once, and not only in a draft that nobody reads.
#[test]
fn what_resisted_is_told_to_the_job_although_it_is_left_there() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let resisted = |screen: &str| {
        if screen.contains("Did anything resist") {
            return Some("y".to_owned());
        }
        if screen.contains("How far had the crankshaft turned?") {
            return Some("3".to_owned());
        }
        if screen.contains("RESISTED. What now?") {
            return Some("q".to_owned());
        }
        in_place(screen)
    };
    let asked = bench.ask("Kim", None, resisted);
    assert_eq!(asked.status, Some(1), "{}", asked.err);
    let last: Vec<&str> = asked.out.lines().rev().take(2).collect();
    assert_eq!(
        last[1],
        "STOP. It RESISTED. Do not turn the engine, and do not start it."
    );
    for step in ["hang", "release", "look", "turn", "cover", "sign-off"] {
        assert!(!bench.steps().contains(&format!("{step} done")), "{step}");
    }
    let report = bench.job("report", &[]).stdout;
    assert!(
        report.contains("RESISTED while the engine was turned by hand"),
        "{report}"
    );
}

/// Two with two telephones at one job: what the one sees off keeps the other from turning the engine.
#[test]
fn of_two_at_one_job_each_is_stopped_by_what_the_other_saw() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let first = bench.ask("Kim", Some("kim.yaml"), good_until("y = it is turned"));
    assert_eq!(first.status, Some(1), "{}", first.err);
    bench.stands("look", "done");
    // The other looks at the same marks, and sees the intake one tooth behind.
    let other = bench.ask("Robin", Some("robin.yaml"), |screen| {
        if screen.contains("How many teeth BEHIND?") {
            return Some("1".to_owned());
        }
        if screen.contains("What now?") {
            return Some("q".to_owned());
        }
        if screen.contains("y = yes, look at everything again") {
            return Some("y".to_owned());
        }
        if screen.contains("INTAKE (camshaft)") {
            return Some("3".to_owned());
        }
        in_place(screen)
    });
    assert_eq!(other.status, Some(1), "{}", other.err);
    assert!(
        other.out.contains("OUT OF TIME. What now?"),
        "{}",
        other.out
    );
    bench.stands("release", "blocked");
    let back = bench.ask(
        "Kim",
        Some("kim.yaml"),
        good_until("2 = look at every mark again"),
    );
    assert_eq!(back.status, Some(1));
    assert!(
        !back.out.contains("Turn the crankshaft 2 turns"),
        "{}",
        back.out
    );
    assert!(back.out.contains("NOT YET. First:"), "{}", back.out);
    // Every mark again, by either of them, opens it.
    let again = bench.ask("Kim", Some("kim.yaml"), |screen| {
        if screen.contains("2 = look at every mark again") {
            return Some("2".to_owned());
        }
        good_until("there is none such")(screen)
    });
    assert_eq!(again.status, Some(0), "{}\n{}", again.out, again.err);
    bench.stands("turn", "done");
}

/// A job that is voided under the hands of somebody who is asked does not go on by the old entry.
#[test]
fn an_entry_voided_meanwhile_is_asked_again_before_the_engine_is_turned() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    bench.ask("Robin", None, good_until("y = it is turned"));
    let history = bench.job("report", &[]).stdout;
    let entry = history
        .lines()
        .find(|line| line.contains("phaser-bolt tightened to"))
        .and_then(|line| line.trim().split_once('.'))
        .unwrap()
        .0
        .to_owned();
    let void = bench.job(
        "correct",
        &[
            "--entry",
            &entry,
            "--void",
            "--why",
            "the angle was never turned",
            "--by",
            "Kim",
        ],
    );
    assert_eq!((void.stderr.as_str(), void.status), ("", Some(0)));
    let asked = bench.ask("Kim", None, good_until("Is any phaser-bolt still loose"));
    assert!(
        asked
            .out
            .contains("Is any phaser-bolt still loose, or not tightened just so?"),
        "{}",
        asked.out
    );
    assert!(
        !asked.out.contains("Turn the crankshaft 2 turns"),
        "{}",
        asked.out
    );
}

/// Robin has looked twice and gone home; nothing was left on this telephone. Kim goes on from the job.
fn left_at_night() -> Bench {
    let spec = engine("kestrel-four");
    let bench = Bench::new(&spec, &CAR);
    let night = format!(
        "{}/tests/fixtures/job/night-stopped.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    std::fs::copy(night, &bench.job).unwrap();
    bench
}

#[test]
fn what_somebody_else_has_seen_is_gone_on_from() {
    let bench = left_at_night();
    let asked = bench.ask("Kim", None, good_until("there is none such"));
    assert_eq!(
        (asked.err.as_str(), asked.status),
        ("", Some(0)),
        "{}",
        asked.out
    );
    assert!(
        asked
            .out
            .contains("What was seen stands in this job, with 8 answers"),
        "{}",
        asked.out
    );
    assert!(asked.out.contains(", by Robin.\n"), "{}", asked.out);
    // Nothing is looked at twice, and nothing that was done is undone.
    assert!(
        !asked
            .out
            .contains("Stage 1 of 3, before the tensioner is released. Mark")
    );
    for step in ["hang", "release", "look", "turn"] {
        bench.stands(step, "done");
    }
    let report = bench.job("report", &[]).stdout;
    assert_eq!(report.matches(": marks looked at ").count(), 3, "{report}");
    assert!(report.contains("Looked at by Kim, "), "{report}");
}

/// Whoever typed the looks has named other dots than are asked for, and turned the engine four times: the job is gone on
/// with all the same, and nobody is told to hang the chain once more.
#[test]
fn looks_that_were_typed_are_gone_on_from_by_questions() {
    let bench = Bench::new(&engine("wren-single"), &CAR);
    let by = ["--by", "Jo"];
    for (stage, seen) in [
        (
            "hung",
            &[
                "--dot",
                "crank=on",
                "--dot",
                "cam=on",
                "--said",
                "pin-in",
                "--said",
                "slack-side",
            ][..],
        ),
        (
            "released",
            &["--dot", "crank=on", "--dot", "cam=on", "--said", "pins-out"],
        ),
        (
            "turned",
            &[
                "--turned",
                "4",
                "--dot",
                "crank=on",
                "--dot",
                "cam=on",
                "--said",
                "turned-free",
            ],
        ),
    ] {
        let looked = bench.job("look", &[&["--stage", stage], seen, &by].concat());
        assert_eq!(
            (looked.stderr.as_str(), looked.status),
            ("", Some(0)),
            "{stage}"
        );
        let steps: &[&str] = match stage {
            "hung" => &["step:hang", "step:release"],
            "released" => &["step:look"],
            _ => &[],
        };
        if !steps.is_empty() {
            assert_eq!(bench.job("tick", &[steps, &by].concat()).status, Some(0));
        }
    }
    // Left before the cover, and gone on with twice, the second time from the draft.
    let cover = bench.ask("Kim", None, good_until("Step cover: "));
    assert!(!cover.out.contains("hang the chain"), "{}", cover.out);
    assert!(cover.out.contains("Step cover: "), "{}", cover.out);
    let asked = bench.ask("Kim", None, good_until("there is none such"));
    assert_eq!((asked.err.as_str(), asked.status), ("", Some(0)));
    bench.stands("sign-off", "done");
    let report = bench.job("report", &[]).stdout;
    assert_eq!(report.matches(": marks looked at ").count(), 3, "{report}");
}

#[test]
fn what_was_moved_overnight_is_told_to_the_job() {
    let bench = left_at_night();
    let asked = bench.ask("Kim", None, |screen| {
        if screen.contains("y = yes, look at everything again") {
            return Some("y".to_owned());
        }
        good_until("y = ready")(screen)
    });
    assert_eq!(asked.status, Some(1), "{}", asked.err);
    bench.stands("fit", "done");
    for step in ["hang", "release", "look"] {
        assert!(
            !bench.steps().contains(&format!("{step} done")),
            "{:?}",
            bench.steps()
        );
    }
    let report = bench.job("report", &[]).stdout;
    assert!(
        report.contains("PROVES NOTHING: something was moved since"),
        "{report}"
    );
}

/// The job is another car's or another engine's: nothing is asked.
#[test]
fn a_job_of_another_engine_is_refused() {
    let bench = Bench::new(&engine("kestrel-four"), &CAR);
    let other = engine("siskin-v6");
    for what in ["ask", "status"] {
        let words = match what {
            "ask" => vec!["ask", &other, "--job", &bench.job, "--by", "Kim"],
            _ => vec!["job", "status", &other, &bench.job],
        };
        let outcome = tautmark(&words);
        assert_eq!((outcome.stdout.as_str(), outcome.status), ("", Some(2)));
        assert!(
            outcome.stderr.contains("Kestrel 2.0 inline-four"),
            "{}",
            outcome.stderr
        );
    }
}
