//! A job that knows its car, gone on with by somebody else: names, photos, what is forgotten, what is told.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::job::{KIT, assert_kept};
use crate::support::program::{Outcome, run, scratch};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

const SPEC: &str = "engines/kestrel-four.yaml";
const HUNG: &str = "--stage hung --link crank=on --link exhaust=on --link intake=on --dot crank=on --dot exhaust=on --said pin-in --said phaser-parked --said slack-side";
const RELEASED: &str = "--stage released --link crank=on --link exhaust=on --link intake=on --said pins-out --said bolts-tight";
const TURNED: &str =
    "--stage turned --turned 2 --dot crank=on --dot exhaust=on --dot intake=on --said turned-free";

struct Bench {
    folder: PathBuf,
    job: String,
}

impl Bench {
    fn new(name: &str, car: &str) -> Self {
        let folder = scratch(name);
        let bench = Self {
            job: folder.join("job.yaml").to_str().unwrap().to_owned(),
            folder,
        };
        let made = bench.typed(&format!(
            "job new {SPEC} -o {} {car} --by Robin --at 2024-11-25T16:00:00Z",
            bench.job
        ));
        assert_eq!((made.status, made.stderr.as_str()), (Some(0), ""));
        bench
    }

    /// A command as it is typed, in words without blanks.
    fn typed(&self, words: &str) -> Outcome {
        self.words(&words.split_whitespace().collect::<Vec<_>>())
    }

    fn words(&self, words: &[&str]) -> Outcome {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tautmark"));
        command.current_dir(env!("CARGO_MANIFEST_DIR")).args(words);
        let outcome = run(command, b"");
        outcome.assert_printable();
        outcome
    }

    /// `WHAT SPEC JOB MORE --by NAME --at DAY TIME`.
    fn job(&self, what: &str, more: &str, by: &str, at: &str) -> Outcome {
        let job = &self.job;
        self.typed(&format!(
            "job {what} {SPEC} {job} {more} --by {by} --at 2024-11-{at}:00Z"
        ))
    }

    fn good(&self, what: &str, more: &str, by: &str, at: &str) -> String {
        let outcome = self.job(what, more, by, at);
        assert_eq!(
            (outcome.stderr.as_str(), outcome.status),
            ("", Some(0)),
            "{}",
            outcome.stdout
        );
        outcome.stdout
    }

    fn refused(&self, what: &str, more: &str, at: &str) -> String {
        let before = self.text();
        let outcome = self.job(what, more, "Kim", at);
        assert_ne!(outcome.status, Some(0), "{}", outcome.stdout);
        assert_eq!(self.text(), before);
        outcome.stderr
    }

    fn text(&self) -> String {
        std::fs::read_to_string(&self.job).unwrap()
    }

    fn status(&self, at: &str) -> Value {
        self.typed(&format!(
            "job status {SPEC} {} --format json --at 2024-11-{at}:00Z",
            self.job
        ))
        .json()
    }

    /// Everything up to the released tensioner.
    fn begin(&self) {
        self.good("tick", &KIT.join(" "), "Robin", "25T16:05");
        self.good("tick", "part:front-seal step:teardown old:front-seal torque:guide-bolt torque:phaser-bolt step:fit torque:tensioner-bolt", "Robin", "25T16:50");
        self.good("look", HUNG, "Robin", "25T17:20");
        self.good("tick", "step:hang step:release", "Robin", "25T17:25");
    }
}

const CAR: &str = "--order 2411-07 --plate K-417 --engine-number 900311 --mileage 91000-km";

/// Stopped at night, gone on with in the morning by somebody else, who finds an entry that is not so.
#[test]
fn a_job_stopped_at_night_is_gone_on_with_by_somebody_else() {
    let bench = Bench::new("night", CAR);
    bench.begin();
    bench.good("look", RELEASED, "Robin", "25T17:40");
    let said = bench.good("tick", "step:look", "Robin", "25T17:45");
    assert_eq!(
        said,
        "20. 2024-11-25 17:45 UTC: step look done, by Robin\nNext: look at the dots after turning by hand, then step turn (turn the engine twice by hand and look at the dots).\n"
    );
    assert_kept("night-stopped", &bench.text());
    // In the morning Kim reads where it stands, and puts a wrench on what was said to be tight.
    let status = bench.typed(&format!(
        "job status {SPEC} {} --at 2024-11-26T07:00:00Z",
        bench.job
    ));
    assert_eq!(status.status, Some(1));
    assert!(
        status
            .stdout
            .contains("\nCar: order 2411-07, plate K-417, engine number 900311, 91000-km\n")
    );
    let entry = 1 + bench
        .text()
        .lines()
        .filter(|line| line.starts_with("  - "))
        .position(|line| line.contains("torque: phaser-bolt"))
        .unwrap();
    let entry = entry.to_string();
    let void = bench.words(&[
        "job",
        "correct",
        SPEC,
        &bench.job,
        "--entry",
        &entry,
        "--void",
        "--why",
        "the angle was never turned: the bolt still moved",
        "--by",
        "Kim",
        "--at",
        "2024-11-26T07:10:00Z",
    ]);
    assert_eq!((void.status, void.stderr.as_str()), (Some(0), ""));
    assert!(
        void.stdout.contains("Next: tighten phaser-bolt and tick torque:phaser-bolt, then step fit (fit guide and phaser)."),
        "{}",
        void.stdout
    );
    // What was done on it no longer stands, and the engine is not turned on it.
    assert!(
        bench
            .refused("tick", "step:turn", "26T07:11")
            .contains("step fit is not done")
    );
    bench.good("tick", "torque:phaser-bolt", "Kim", "26T07:20");
    // Tightening can carry a sprocket along: every mark again, by whoever did it.
    bench.good("look", RELEASED, "Kim", "26T07:25");
    bench.good("tick", "step:look", "Kim", "26T07:26");
    bench.good("look", TURNED, "Kim", "26T07:40");
    bench.good(
        "tick",
        "step:turn torque:cover-bolt torque:damper-bolt step:cover",
        "Kim",
        "26T08:30",
    );
    let last = bench.good("tick", "step:sign-off", "Kim", "26T09:30");
    assert!(
        last.ends_with("Next: nothing, all steps are done.\n"),
        "{last}"
    );
    assert_kept("night", &bench.text());
    let report = bench.typed(&format!(
        "job report {SPEC} {} --at 2024-11-26T09:40:00Z",
        bench.job
    ));
    assert_eq!(report.status, Some(0), "{}", report.stdout);
    for told in [
        "SIGNED OFF, on proof, 2024-11-26 09:30 UTC, by Kim.",
        "VOIDED by Kim: the angle was never turned: the bolt still moved",
        "Looked at by Robin, 2024-11-25 17:20 UTC",
        "Looked at by Kim, 2024-11-26 07:25 UTC",
        "front-seal: 1 to go on, 1 came off",
    ] {
        assert!(report.stdout.contains(told), "{told} in {}", report.stdout);
    }
    let json = bench.status("26T09:40");
    assert_eq!(json["car"]["order"], "2411-07");
    assert_eq!(
        (&json["proven"], &json["next"]),
        (&true.into(), &Value::Null)
    );
}

/// Two cars of one engine in one shop: the looks at one never serve the other.
#[test]
fn a_record_of_one_car_never_serves_another() {
    let (one, two) = (
        Bench::new("one", "--order A-1"),
        Bench::new("two", "--order A-2"),
    );
    for bench in [&one, &two] {
        bench.good("tick", &KIT.join(" "), "Robin", "25T16:05");
        bench.good("tick", "part:front-seal step:teardown torque:guide-bolt torque:phaser-bolt step:fit torque:tensioner-bolt", "Robin", "25T16:50");
    }
    let record = |car: &str| {
        let path = one.folder.join("looks.yaml");
        std::fs::write(&path, format!("tautmark_record: 5\nengine: Kestrel 2.0 inline-four\nspec: x\nid: r1\n{car}stages:\n  - {{ stage: hung, at: \"2024-11-25T17:00:00Z\", by: Robin, links: {{ crank: on, exhaust: on, intake: on }}, dots: {{ crank: on, exhaust: on }}, said: {{ pin-in: yes, phaser-parked: yes, slack-side: yes }} }}\n")).unwrap();
        format!("--record {}", path.display())
    };
    for (car, reason) in [
        ("", "nothing says of which car this record is"),
        ("car: { order: A-2 }\n", "this record is of another car"),
        ("car: { plate: K-1 }\n", "this record is of another car"),
        ("job: \"0123\"\n", "made for another job"),
    ] {
        let refused = one.refused("look", &record(car), "25T17:10");
        assert!(refused.contains(reason), "{car}: {refused}");
    }
    let own = record("car: { order: a 1 }\n");
    one.good("look", &own, "Robin", "25T17:10");
    // Taken once, it is marked, and of no use for the other.
    assert!(
        two.refused("look", &own, "25T17:11")
            .contains("another job")
    );
    // Nor without a name, nor with one that is none.
    for (name, reason) in [
        (&[][..], "every entry of a job that knows its car"),
        (&["--by", " "], "not blank"),
        (&["--by", "Kim\nRobin"], "printable"),
        (&["--by", "Kim\u{202e}"], "printable"),
    ] {
        let tick = [
            "job",
            "tick",
            SPEC,
            &one.job,
            "ordered:guide",
            "--at",
            "2024-11-25T17:20:00Z",
        ];
        let outcome = one.words(&[&tick, name].concat());
        assert_eq!(outcome.status, Some(2), "{name:?}");
        assert!(
            outcome.stderr.contains(reason),
            "{name:?}: {}",
            outcome.stderr
        );
    }
    let asked = one.typed(&format!("ask {SPEC} --job {}", one.job));
    assert_eq!(asked.status, Some(2));
    assert!(
        asked.stderr.contains("needs a name (--by NAME)"),
        "{}",
        asked.stderr
    );
    // A clock that is set back is told.
    assert!(
        one.refused("tick", "ordered:guide", "25T16:00")
            .contains("is the clock right?")
    );
    let nameless = one.words(&["job", "new", SPEC, "-o", "x.yaml", "--order", "A-3"]);
    assert_eq!(nameless.status, Some(2));
    assert!(!Path::new("x.yaml").exists());
}

/// Valves may have met pistons: nothing seen before counts, and no later "nothing resisted" makes it good.
#[test]
fn what_resisted_closes_every_gate_until_all_is_looked_at_again() {
    let bench = Bench::new("resisted", CAR);
    bench.begin();
    bench.good("look", RELEASED, "Robin", "25T17:40");
    bench.good("tick", "step:look", "Robin", "25T17:45");
    let felt = "--stage turned --turned 2 --said turned-free=no --felt 1,5";
    let told = bench.job("look", felt, "Robin", "25T17:50");
    assert_eq!(told.status, Some(1), "{}", told.stderr);
    assert!(
        told.stdout
            .contains("something RESISTED while the engine was turned by hand, by 1.5 crank turns"),
        "{}",
        told.stdout
    );
    for step in [
        "step:hang",
        "step:release",
        "step:look",
        "step:turn",
        "step:cover",
    ] {
        let refused = bench.refused("tick", step, "25T17:51");
        assert!(refused.contains("is blocked"), "{step}: {refused}");
    }
    // What was ticked on what may no longer be so is not told as done, nor by whom.
    for step in bench.status("25T17:51")["steps"].as_array().unwrap() {
        let before = ["teardown", "fit"].contains(&step["step"].as_str().unwrap());
        assert_eq!(step["done"].is_null(), !before, "{step}");
    }
    // Turned once more, and it went: that proves nothing now.
    bench.job("look", TURNED, "Robin", "25T17:55");
    assert!(
        bench
            .refused("tick", "step:turn", "25T17:56")
            .contains("is blocked")
    );
    assert_ne!(bench.status("25T17:56")["timing"]["verdict"], "in time");
    // From the start, all of it.
    bench.good("look", HUNG, "Robin", "25T18:10");
    bench.good("tick", "step:hang step:release", "Robin", "25T18:11");
    bench.good("look", RELEASED, "Robin", "25T18:15");
    bench.good("tick", "step:look", "Robin", "25T18:16");
    bench.good("look", TURNED, "Robin", "25T18:20");
    bench.good(
        "tick",
        "step:turn torque:cover-bolt torque:damper-bolt step:cover",
        "Robin",
        "25T18:40",
    );
    // Said after the cover is on, too, it opens everything again.
    bench.job("look", felt, "Robin", "25T18:50");
    for step in bench.status("25T18:51")["steps"].as_array().unwrap() {
        let before = ["teardown", "fit"].contains(&step["step"].as_str().unwrap());
        assert_eq!(step["standing"] == "done", before, "{step}");
    }
}

#[test]
fn old_parts_and_what_is_still_in_keep_the_engine_from_being_turned_and_covered() {
    let bench = Bench::new("forgotten", CAR);
    bench.begin();
    let left = RELEASED.replace("pins-out", "pins-out=no");
    let looked = bench.job("look", &left, "Robin", "25T17:40");
    assert_eq!(looked.status, Some(1));
    assert!(
        looked.stdout.contains("Do not turn the engine yet."),
        "{}",
        looked.stdout
    );
    assert!(
        !looked.stdout.contains("may be turned"),
        "{}",
        looked.stdout
    );
    bench.good("tick", "step:look", "Robin", "25T17:45");
    bench.good("look", TURNED, "Robin", "25T17:50");
    assert!(
        bench
            .refused("tick", "step:turn", "25T17:51")
            .contains("pins-out was said not to be so")
    );
    bench.good("look", RELEASED, "Robin", "25T17:52");
    bench.good("tick", "step:look", "Robin", "25T17:53");
    bench.good("look", TURNED, "Robin", "25T17:54");
    bench.good("tick", "step:turn", "Robin", "25T17:55");
    bench.good(
        "tick",
        "torque:cover-bolt torque:damper-bolt",
        "Robin",
        "25T17:56",
    );
    for (count, reason) in [
        ("0", "one may still sit in its seat"),
        ("2", "one may be left out"),
    ] {
        let old = format!("old:front-seal={count}");
        bench.good("tick", &old, "Robin", "25T17:56");
        let refused = bench.refused("tick", "step:cover", "25T17:57");
        assert!(refused.contains(reason), "{refused}");
    }
    assert!(
        bench
            .refused("tick", "old:guide", "25T17:58")
            .contains("no part whose old ones are counted 'guide'")
    );
    bench.good("tick", "old:front-seal=1 step:cover", "Robin", "25T17:59");
}

/// Each blocker once, and the verdict and the next action on the last lines.
#[test]
fn status_tells_each_blocker_once() {
    let bench = Bench::new("once", CAR);
    bench.begin();
    let status = bench
        .typed(&format!(
            "job status {SPEC} {} --at 2024-11-25T17:30:00Z",
            bench.job
        ))
        .stdout;
    let blockers: Vec<&str> = status
        .lines()
        .filter(|line| line.starts_with("             - "))
        .collect();
    let mut once = blockers.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), blockers.len(), "{status}");
    assert!(status.contains("- the marks at stage released are not yet looked at"));
    let last: Vec<&str> = status.lines().rev().take(2).collect();
    assert_eq!(last[1], "NOT PROVEN. NOT SIGNED OFF.");
    assert!(
        last[0].starts_with("Next: look at the marks after the tensioner is released"),
        "{status}"
    );
}

#[test]
fn a_photo_is_told_by_name_and_checksum_and_a_changed_one_by_that() {
    let bench = Bench::new("photos", CAR);
    let photo = bench.folder.join("marks.png");
    // The first bytes of a PNG file (W3C Portable Network Graphics, 5.2).
    let bytes = b"\x89PNG\r\n\x1a\n and more";
    std::fs::write(&photo, bytes).unwrap();
    let path = photo.to_str().unwrap();
    let said = bench.words(&[
        "job",
        "photo",
        SPEC,
        &bench.job,
        path,
        "--about",
        "all dots",
        "--by",
        "Robin",
        "--at",
        "2024-11-25T17:00:00Z",
    ]);
    assert_eq!((said.status, said.stderr.as_str()), (Some(0), ""));
    assert!(
        said.stdout.starts_with("Attached: marks.png, checksum "),
        "{}",
        said.stdout
    );
    assert!(!bench.text().contains("and more"), "not in the record");
    let report =
        |more: &[&str]| bench.words(&[&["job", "report", SPEC, &bench.job], more].concat());
    assert!(
        report(&[])
            .stdout
            .contains("- marks.png (all dots), 2024-11-25 17:00 UTC, by Robin, checksum ")
    );
    assert_eq!(bench.status("25T17:10")["photos"][0]["found"], "same");
    let page = |name: &str, more: &[&str]| {
        let file = bench.folder.join(name);
        report(&[&["-o", file.to_str().unwrap()], more].concat());
        std::fs::read_to_string(file).unwrap()
    };
    assert!(
        !page("plain.html", &[]).contains("<img"),
        "not unless it is asked for"
    );
    assert!(
        page("photos.html", &["--photos"])
            .contains("<img src=\"data:image/png;base64,iVBORw0KGgog")
    );
    std::fs::write(&photo, b"\x89PNG\r\n\x1a\n and mure").unwrap();
    assert_eq!(bench.status("25T17:10")["photos"][0]["found"], "changed");
    assert!(report(&[]).stdout.contains("CHANGED since it was attached"));
    assert!(!page("changed.html", &["--photos"]).contains("<img"));
    std::fs::remove_file(&photo).unwrap();
    assert_eq!(bench.status("25T17:10")["photos"][0]["found"], "gone");
    for file in ["nowhere.png", bench.folder.to_str().unwrap()] {
        assert!(!bench.refused("photo", file, "25T17:20").is_empty());
    }
}

/// A camera numbers its photos anew, or one copy was cut off: one name never stands for two photos, and an empty file for
/// none. Of several nothing is attached when one is refused.
#[test]
fn one_name_stands_for_one_photo() {
    let bench = Bench::new("photos", CAR);
    let path = |name: &str| bench.folder.join(name).to_str().unwrap().to_owned();
    std::fs::create_dir(bench.folder.join("old")).unwrap();
    for (name, bytes) in [
        ("marks.jpg", &b"first"[..]),
        ("old/marks.jpg", b"second"),
        ("empty.jpg", b""),
        ("other.jpg", b"third"),
    ] {
        std::fs::write(path(name), bytes).unwrap();
    }
    let attach = |names: &[&str], minute: &str| {
        let paths: Vec<String> = names.iter().map(|name| path(name)).collect();
        let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
        let at = format!("2024-11-25T17:{minute}:00Z");
        let by = ["--by", "Robin", "--at", &at];
        bench.words(&[&["job", "photo", SPEC, &bench.job][..], &paths, &by].concat())
    };
    // In another folder it is another file, and both are told apart by it.
    let both = attach(&["marks.jpg", "old/marks.jpg"], "00");
    assert_eq!((both.status, both.stderr.as_str()), (Some(0), ""));
    let before = bench.text();
    let refused = |names: &[&str], words: &str| {
        let outcome = attach(names, "10");
        assert_eq!((outcome.status, outcome.stdout.as_str()), (Some(2), ""));
        assert!(outcome.stderr.contains(words), "{}", outcome.stderr);
        assert_eq!(bench.text(), before);
    };
    refused(
        &["marks.jpg"],
        "'marks.jpg' is attached already, as entry 2 (once is enough)",
    );
    refused(&["other.jpg", "marks.jpg"], "is attached already");
    refused(&["empty.jpg"], "is empty (copy it from the camera again)");
    std::fs::write(path("marks.jpg"), b"written over").unwrap();
    refused(
        &["marks.jpg"],
        "another photo called 'marks.jpg' is attached, as entry 2: one name cannot stand for both (rename the new one)",
    );
    let status = bench.status("25T17:20");
    assert_eq!(status["photos"][0]["found"], "changed");
    assert_eq!(status["photos"][1]["found"], "same");
}
