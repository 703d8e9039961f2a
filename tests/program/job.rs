//! A whole invented job, from an incomplete kit over a cam two teeth out to the sign-off; the gates,
//! what overrides them, and every refusal.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{Outcome, run, scratch};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;
use tautmark::{
    Drive, Source,
    job::{Item, Job, Record},
    units::Timestamp,
};

const SPEC: &str = "engines/kestrel-four.yaml";

/// A job in a folder of its own. Commands are run from the project's folder, as the README has it.
struct Bench {
    folder: PathBuf,
    job: String,
    spec: String,
}

impl Bench {
    fn new(name: &str) -> Self {
        let bench = Self::without_job(name);
        let made = bench.job("new", &["-o", &bench.job], "08:00");
        assert_eq!((made.status, made.stderr.as_str()), (Some(0), ""));
        bench
    }

    fn without_job(name: &str) -> Self {
        let folder = scratch(&format!("job-{name}"));
        Self {
            job: folder.join("job.yaml").to_string_lossy().into_owned(),
            folder,
            spec: SPEC.to_owned(),
        }
    }

    fn command(&self, arguments: &[&str]) -> Outcome {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tautmark"));
        command
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(arguments);
        let outcome = run(command, b"");
        outcome.assert_printable();
        outcome
    }

    fn job(&self, what: &str, more: &[&str], time: &str) -> Outcome {
        let at = format!("2024-11-25T{time}:00Z");
        let mut arguments = vec!["job", what, &self.spec];
        if what != "new" {
            arguments.push(&self.job);
        }
        arguments.extend(more);
        arguments.extend(["--at", &at]);
        self.command(&arguments)
    }

    /// Ticks what nothing stands against.
    fn tick(&self, items: &[&str], time: &str) {
        let outcome = self.job("tick", &[items, &["--by", "Robin"]].concat(), time);
        assert_eq!((outcome.stderr.as_str(), outcome.status), ("", Some(0)));
    }

    /// Ticks what something stands against; nothing is written then.
    fn refused(&self, items: &[&str], time: &str) -> String {
        let before = self.text();
        let outcome = self.job("tick", &[items, &["--by", "Robin"]].concat(), time);
        assert_eq!(outcome.status, Some(1), "{}", outcome.stderr);
        assert_eq!(outcome.stdout, "");
        assert_eq!(self.text(), before);
        outcome.stderr
    }

    fn look(&self, stage: &str, intake: &str, time: &str) -> Option<i32> {
        let intake = format!("intake={intake}");
        let turned: &[&str] = match stage {
            "turned" => &[
                "--said",
                "turned-free",
                "--turned",
                "2",
                "--dot",
                "crank=on",
                "--dot",
                "exhaust=on",
                "--dot",
            ],
            _ => &[
                "--said",
                "pin-in",
                "--said",
                "phaser-parked",
                "--said",
                "slack-side",
                "--said",
                "pins-out",
                "--said",
                "bolts-tight",
                "--link",
                "crank=on",
                "--link",
                "exhaust=on",
                "--dot",
                "crank=on",
                "--dot",
                "exhaust=on",
                "--link",
            ],
        };
        let more = [&["--stage", stage, "--by", "Robin"], turned, &[&intake]].concat();
        let outcome = self.job("look", &more, time);
        assert_eq!(outcome.stderr, "");
        outcome.status
    }

    fn text(&self) -> String {
        std::fs::read_to_string(&self.job).unwrap()
    }

    fn status(&self, time: &str) -> Value {
        let outcome = self.job("status", &["--format", "json"], time);
        let json = outcome.json();
        let expected = i32::from(json["proven"] != true);
        assert_eq!(outcome.status, Some(expected));
        json
    }

    /// What is missing on the bench.
    fn missing(&self, time: &str) -> Vec<String> {
        let status = self.status(time);
        let kit = status["kit"].as_array().unwrap().iter();
        let missing = kit.filter(|kit| kit["missing"] != 0);
        let names = missing.map(|kit| kit["name"].as_str().unwrap().to_owned());
        names.collect()
    }

    /// `NAME standing` of every step.
    fn steps(&self, time: &str) -> Vec<String> {
        let json = self.status(time);
        let steps = json["steps"].as_array().unwrap().iter();
        steps
            .map(|step| {
                let word = |key: &str| step[key].as_str().unwrap().to_owned();
                format!("{} {}", word("step"), word("standing"))
            })
            .collect()
    }

    fn is(&self, step: &str, standing: &str, time: &str) {
        let steps = self.steps(time);
        assert!(
            steps.contains(&format!("{step} {standing}")),
            "{step} {standing}: {steps:?}"
        );
    }

    /// Everything up to the marks of the hung chain.
    fn begin(&self) {
        self.tick(&KIT, "08:10");
        self.tick(&BEFORE_HANGING, "10:00");
    }

    /// From there to the cover.
    fn go_on(&self) {
        assert_eq!(self.look("hung", "on", "10:40"), Some(0));
        self.release();
        self.close();
    }

    /// From a hung chain that is proven to the look before turning.
    fn release(&self) {
        self.tick(&["step:hang", "step:release"], "10:41");
        assert_eq!(self.look("released", "on", "10:45"), Some(0));
        self.tick(&["step:look"], "10:46");
    }

    /// From there to the cover.
    fn close(&self) {
        assert_eq!(self.look("turned", "on", "10:50"), Some(0));
        self.tick(
            &[
                "step:turn",
                "torque:cover-bolt",
                "torque:damper-bolt",
                "old:front-seal",
                "step:cover",
            ],
            "11:20",
        );
    }
}

/// What the Kestrel's job needs to be there before anything is taken off.
pub(crate) const KIT: [&str; 7] = [
    "part:chain",
    "part:guide",
    "part:tensioner",
    "part:cover-gasket",
    "part:sealant",
    "part:phaser-bolt=1x58",
    "part:damper-bolt",
];

/// What is done there before the chain is hung.
pub(crate) const BEFORE_HANGING: [&str; 6] = [
    "part:front-seal",
    "step:teardown",
    "torque:guide-bolt",
    "torque:phaser-bolt",
    "step:fit",
    "torque:tensioner-bolt",
];

/// The job as it stood then, as the README shows it. `UPDATE_SNAPSHOTS=1` keeps what it is now.
pub(crate) fn assert_kept(name: &str, text: &str) {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/fixtures/job/{name}.yaml"));
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), text, "{name}");
}

#[test]
fn from_an_incomplete_kit_over_a_cam_two_teeth_out_to_the_sign_off() {
    let bench = Bench::new("whole");
    bench.tick(&KIT, "08:10");
    // One seal is missing, and is missed before anything is taken apart.
    let refused = bench.refused(&["step:teardown"], "08:11");
    assert_eq!(
        refused,
        "refused: step teardown is blocked: front-seal is not on the bench (1 missing)\n\
         Next: get 1 x front-seal, then step teardown (crankshaft at the timed position, cover off, tensioner pinned back, old chain off).\n"
    );
    bench.tick(&["ordered:front-seal"], "08:12");
    let status = bench.job("status", &[], "08:13").stdout;
    assert!(status.contains(
        "MISSING: to be here before anything is taken apart\n  - front-seal: crankshaft front seal, single use; 1 of 1 missing, ordered, 2024-11-25 08:12 UTC, by Robin\n"
    ), "{status}");
    assert_kept("kit-incomplete", &bench.text());
    bench.tick(
        &[
            "part:front-seal",
            "step:teardown",
            "torque:guide-bolt",
            "torque:phaser-bolt",
            "step:fit",
            "torque:tensioner-bolt",
        ],
        "10:00",
    );
    // Two teeth out: neither the step nor the gate after it can be passed.
    assert_eq!(bench.look("hung", "2 behind", "10:30"), Some(1));
    assert!(
        bench
            .refused(&["step:hang"], "10:31")
            .contains("the marks at stage hung are out of time")
    );
    let refused = bench.refused(&["step:release"], "10:31");
    assert!(
        refused.contains("step hang is not done; the marks at stage hung are out of time"),
        "{refused}"
    );
    assert_eq!(bench.status("10:31")["timing"]["verdict"], "out of time");
    assert_kept("two-teeth-out", &bench.text());
    bench.go_on();
    // The sealant has to cure.
    let refused = bench.refused(&["step:sign-off"], "12:19");
    assert!(
        refused.contains("cover must be left alone until 2024-11-25 12:20 UTC"),
        "{refused}"
    );
    bench.tick(&["step:sign-off"], "12:20");
    let status = bench.status("12:20");
    assert_eq!(
        (&status["signed_off"], &status["proven"]),
        (&true.into(), &true.into())
    );
    assert_eq!(status["timing"]["verdict"], "in time");
    assert_kept("signed-off", &bench.text());
    let report = bench.job("report", &[], "12:30");
    assert_eq!(report.status, Some(0));
    for line in [
        "SIGNED OFF, on proof, 2024-11-25 12:20 UTC, by Robin.",
        "Looked at earlier, and again since\n  - before the tensioner is released: out of time",
        "phaser-bolt tightened to 30 N m + 90 deg",
        "verdicts calculated again 2024-11-25 12:30 UTC",
        "The maker's service information and torque figures rule over this tool.",
    ] {
        assert!(report.stdout.contains(line), "{line} in {}", report.stdout);
    }
    // The looks of a job are those of a record.
    let check = bench.command(&["check", SPEC, "--record", &bench.job]);
    assert_eq!(check.status, Some(0));
    assert!(check.stdout.contains("IN TIME at all three stages."));
}

#[test]
fn no_gate_opens_without_proof() {
    let bench = Bench::new("gates");
    bench.begin();
    // Not looked at, and looked at but not at every mark: not proven.
    assert!(
        bench
            .refused(&["step:hang"], "10:10")
            .contains("stage hung are not yet looked at")
    );
    let more = [
        "--stage",
        "hung",
        "--link",
        "crank=on",
        "--link",
        "exhaust=on",
        "--not-seen",
        "link intake",
    ];
    assert_eq!(bench.job("look", &more, "10:20").status, Some(1));
    assert!(
        bench
            .refused(&["step:hang"], "10:21")
            .contains("stage hung are not proven")
    );
    assert_eq!(bench.look("hung", "on", "10:30"), Some(0));
    bench.tick(&["step:hang", "step:release"], "10:31");
    // After the release a tooth is off: no further, and the release itself no longer stands.
    assert_eq!(bench.look("released", "1 behind", "10:32"), Some(1));
    assert!(
        bench
            .refused(&["step:look"], "10:33")
            .contains("stage released are out of time")
    );
    bench.is("release", "blocked", "10:33");
    bench.is("look", "blocked", "10:33");
    // Hung again, and all of it looked at again.
    bench.go_on();
    bench.is("cover", "done", "11:21");
    // At the last look a cam is off: what was done after it is open again.
    assert_eq!(bench.look("turned", "1 ahead", "11:30"), Some(1));
    for step in ["turn", "cover", "sign-off"] {
        bench.is(step, "blocked", "13:00");
    }
    assert!(
        bench
            .refused(&["torque:cover-bolt"], "13:00")
            .contains("stage turned are out of time")
    );
}

#[test]
fn what_was_fitted_once_and_must_not_be_fitted_twice_is_missing_again() {
    let bench = Bench::new("used-up");
    bench.begin();
    bench.go_on();
    assert_eq!(bench.look("hung", "on", "11:30"), Some(0));
    let status = bench.status("11:30");
    let missing: Vec<&str> = status["kit"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|kit| kit["missing"] != 0)
        .map(|kit| kit["name"].as_str().unwrap())
        .collect();
    // Of the steps after the look; the phaser's bolt was fitted before it and stays.
    assert_eq!(
        missing,
        ["front-seal", "cover-gasket", "sealant", "damper-bolt"]
    );
    let unconfirmed = status["torques"].as_array().unwrap().iter();
    let unconfirmed = unconfirmed.filter(|torque| torque["confirmed"].is_null());
    assert_eq!(unconfirmed.count(), 2);
    bench.is("fit", "done", "11:30");
    bench.is("hang", "open", "11:30");
    bench.is("release", "blocked", "11:30");
    // It keeps nobody from the steps that do not need it, and from the one that does.
    bench.tick(&["step:hang", "step:release"], "11:31");
    assert_eq!(bench.look("released", "on", "11:35"), Some(0));
    bench.tick(&["step:look"], "11:36");
    assert_eq!(bench.look("turned", "on", "11:40"), Some(0));
    bench.tick(&["step:turn"], "11:41");
    let refused = bench.refused(&["step:cover"], "11:42");
    for kit in missing {
        let words = format!("{kit} is not on the bench (1 missing)");
        assert!(refused.contains(&words), "{kit}: {refused}");
    }
}

/// One gasket is used up, the one beside it on the bench is not: two were there and one is needed.
#[test]
fn of_more_than_are_needed_the_rest_is_still_there() {
    let bench = Bench::new("surplus");
    bench.begin();
    bench.tick(&["part:cover-gasket=2", "part:damper-bolt=3"], "10:05");
    bench.go_on();
    assert_eq!(bench.look("hung", "on", "11:30"), Some(0));
    let status = bench.status("11:30");
    let mut kit = status["kit"].as_array().unwrap().iter();
    let mut of = |name: &str| {
        let kit = kit.find(|kit| kit["name"] == name).unwrap();
        (kit["here"].clone(), kit["missing"].clone())
    };
    assert_eq!(of("cover-gasket"), (1.into(), 0.into()));
    assert_eq!(of("damper-bolt"), (2.into(), 0.into()));
}

#[test]
fn a_gate_can_be_overridden_by_name_and_it_is_told_for_ever() {
    let bench = Bench::new("override");
    bench.begin();
    assert_eq!(bench.look("hung", "2 behind", "10:30"), Some(1));
    let over =
        |items: &[&str], more: &[&str], time| bench.job("tick", &[items, more].concat(), time);
    let nameless = over(&["step:hang"], &["--override", "in a hurry"], "10:31");
    assert_eq!(nameless.status, Some(2));
    assert!(
        nameless.stderr.contains("needs a name"),
        "{}",
        nameless.stderr
    );
    let why = [
        "--by",
        "Robin <b>",
        "--override",
        "owner <script>alert(1)</script> & told to",
    ];
    assert_eq!(
        over(&["step:hang", "step:release"], &why, "10:32").status,
        Some(0)
    );
    bench.is("release", "done", "10:33");
    // It opens that gate alone; the timing stays what it is.
    assert_eq!(bench.status("10:33")["timing"]["verdict"], "out of time");
    assert!(
        bench
            .refused(&["step:look"], "10:33")
            .contains("stage released are not yet looked at")
    );
    let told = "OVERRIDDEN, against what stood in the way\n  - step hang, 2024-11-25 10:32 UTC, by Robin <b>\n      reason given: owner <script>alert(1)</script> & told to\n      against: the marks at stage hung are out of time\n";
    for what in ["status", "report"] {
        let text = bench.job(what, &[], "10:34").stdout;
        assert!(text.contains(told), "{text}");
        assert!(text.contains("OVERRIDDEN release: "), "{text}");
    }
    // Put right after all, and finished by the book: the override is still told, and is no proof.
    bench.go_on();
    bench.tick(&["step:sign-off"], "12:20");
    let status = bench.status("12:20");
    assert_eq!(
        (&status["signed_off"], &status["proven"]),
        (&true.into(), &false.into())
    );
    assert_eq!(status["overrides"].as_array().unwrap().len(), 2);
    let text = bench.job("status", &[], "12:21").stdout;
    assert!(text.contains("but something was OVERRIDDEN on the way") && text.contains(told));

    let page = bench
        .folder
        .join("report.html")
        .to_string_lossy()
        .into_owned();
    assert_eq!(bench.job("report", &["-o", &page], "12:30").status, Some(1));
    let html = std::fs::read_to_string(&page).unwrap();
    // Hostile words stay words.
    assert!(html.contains("owner &lt;script&gt;alert(1)&lt;/script&gt; &amp; told to"));
    assert!(!html.contains("<script") && !html.contains("Robin <b>"));
    // One page that fetches nothing.
    for word in ["http://", "https://", "src=", "href=", "@import"] {
        assert!(!html.contains(word), "{word}");
    }
    // The pictures' patterns stand in the page itself.
    assert_eq!(html.matches("url(").count(), html.matches("url(#").count());
    assert!(html.contains("<svg"));
    let again = bench.job("report", &["-o", &page], "12:30");
    assert_eq!(again.status, Some(2));
    assert!(again.stderr.contains("already exists"));
}

#[test]
fn whatever_cannot_be_taken_is_refused_with_its_reason() {
    let bench = Bench::new("refusals");
    let says = |items: &[&str], time: &str, status: i32, reason: &str| {
        let before = bench.text();
        let outcome = bench.job("tick", items, time);
        assert_eq!(outcome.status, Some(status), "{items:?} {}", outcome.stderr);
        assert!(
            outcome.stderr.contains(reason),
            "{items:?} {}",
            outcome.stderr
        );
        assert_eq!(bench.text(), before, "{items:?}");
    };
    says(
        &["chain"],
        "08:10",
        2,
        "'chain' is not an item (expected part:NAME",
    );
    says(
        &["screw:x"],
        "08:10",
        2,
        "is not an item (expected part:NAME",
    );
    says(
        &["part:chain=x"],
        "08:10",
        2,
        "is not an item (expected part:NAME",
    );
    says(
        &["part:chain=-1"],
        "08:10",
        2,
        "is not an item (expected part:NAME",
    );
    says(
        &["part:chain=4294967296"],
        "08:10",
        2,
        "is not an item (expected part:NAME",
    );
    says(
        &["part:chain=1x20"],
        "08:10",
        2,
        "'chain' is not a fastener",
    );
    says(&["part:chian"], "08:10", 2, "(did you mean 'chain'?)");
    says(
        &["ordered:nothing"],
        "08:10",
        2,
        "no part or single-use fastener 'nothing'",
    );
    says(&["torque:nothing"], "08:10", 2, "no fastener 'nothing'");
    says(
        &["step:tear-down"],
        "08:10",
        2,
        "(did you mean 'teardown'?)",
    );
    says(
        &["part:phaser-bolt=1x55"],
        "08:10",
        1,
        "must be 58 mm long; these are 55 mm",
    );
    // All or none.
    says(
        &["part:chain", "step:hang"],
        "08:10",
        1,
        "step hang is blocked",
    );
    says(
        &["torque:cover-bolt"],
        "08:10",
        1,
        "torque cover-bolt is blocked: step teardown is not done",
    );
    says(
        &["part:chain"],
        "07:59",
        2,
        "earlier than entry 1 of 2024-11-25T08:00:00Z",
    );
    says(
        &["part:chain", "--by", ""],
        "08:10",
        2,
        "must be 1 to 200 printable characters",
    );
    says(
        &["part:chain", "--by", "a\u{1b}[31m"],
        "08:10",
        2,
        "printable characters",
    );
    bench.begin();
    says(&["step:fit"], "10:10", 1, "step fit is already done");
    says(
        &["torque:guide-bolt"],
        "10:10",
        1,
        "torque guide-bolt is already done",
    );
    assert_eq!(bench.look("hung", "on", "10:20"), Some(0));
    let look = |more: &[&str]| bench.job("look", more, "10:30");
    for (more, reason) in [
        (
            &["--stage", "hang", "--link", "crank=on"][..],
            "expected hung, released or turned",
        ),
        (&["--stage", "hung"], "nothing was looked at"),
        (
            &["--stage", "turned", "--dot", "crank=on"],
            "give the number of turns (--turned 2)",
        ),
        (
            &["--stage", "hung", "--turned", "2", "--dot", "crank=on"],
            "give no turns (leave out --turned",
        ),
        (
            &["--stage", "hung", "--link", "crnk=on"],
            "did you mean 'crank'?",
        ),
        (
            &[
                "--stage",
                "hung",
                "--link",
                "crank=on",
                "--not-seen",
                "link crank",
            ],
            "already given",
        ),
        (
            &["--stage", "hung", "--not-seen", "crank"],
            "expected 'link SHAFT' or 'dot SHAFT'",
        ),
        (&["--record", "nowhere.yaml"], "could not be opened"),
        (&["--link", "crank=on"], "--stage"),
    ] {
        let before = bench.text();
        let outcome = look(more);
        assert_eq!(outcome.status, Some(2), "{more:?}");
        assert!(
            outcome.stderr.contains(reason),
            "{more:?} {}",
            outcome.stderr
        );
        assert_eq!(bench.text(), before);
    }
    let nobody = Bench::new("nobody");
    nobody.begin();
    nobody.go_on();
    let outcome = nobody.job("tick", &["step:sign-off"], "13:00");
    assert_eq!(outcome.status, Some(2));
    assert!(outcome.stderr.contains("a sign-off needs a name"));
    let there = bench.job("new", &["-o", &bench.job], "08:00");
    assert_eq!(there.status, Some(2));
    assert!(there.stderr.contains("already exists"));
    let mut wrong = Bench::new("wrong-time");
    let time = wrong.command(&["job", "status", SPEC, &wrong.job, "--at", "yesterday"]);
    assert_eq!(time.status, Some(2));
    wrong.spec = "engines/wren-single.yaml".to_owned();
    let other = wrong.job("status", &[], "08:00");
    assert_eq!(other.status, Some(2));
    assert!(other.stderr.contains("[other-engine]"));
}

#[test]
fn a_torque_confirmed_at_other_figures_is_not_confirmed() {
    let mut bench = Bench::new("figures");
    bench.begin();
    bench.is("fit", "done", "10:01");
    let changed = bench.folder.join("changed.yaml");
    let spec = std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    std::fs::write(&changed, spec.replace("[10 N m]", "[12 N m]")).unwrap();
    bench.spec = changed.to_string_lossy().into_owned();
    bench.is("fit", "open", "10:02");
}

/// The spec was edited while the job went on: what the history says of things that it no longer has is told, and no more.
#[test]
fn what_the_spec_no_longer_has_is_told() {
    const HEAD: &str = "\nIn the history, but not in the spec as it is now\n";
    let mut bench = Bench::new("no-longer");
    bench.begin();
    let status = bench.job("status", &[], "10:01").stdout;
    assert!(!status.contains(HEAD), "{status}");
    let changed = bench.folder.join("changed.yaml");
    let mut spec =
        std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    for (from, to) in [
        ("sealant", "paste"),
        ("step: teardown", "step: strip"),
        ("guide-bolt", "rail-bolt"),
    ] {
        assert!(spec.contains(from), "{from}");
        spec = spec.replace(from, to);
    }
    std::fs::write(&changed, spec).unwrap();
    bench.spec = changed.to_string_lossy().into_owned();
    let status = bench.job("status", &[], "10:02").stdout;
    let (_, told) = status.split_once(HEAD).unwrap();
    let told: Vec<&str> = told.split("\n\n").next().unwrap().lines().collect();
    assert_eq!(told.len(), 3, "{told:?}");
    for (line, words) in told.iter().zip([
        "1 x sealant on the bench",
        "step teardown done",
        "guide-bolt tightened",
    ]) {
        assert!(line.contains(words), "{words}: {line}");
    }
}

#[test]
fn an_engine_without_steps_has_its_checks_and_gates_all_the_same() {
    let mut bench = Bench::without_job("no-steps");
    bench.spec = "engines/wren-single.yaml".to_owned();
    assert_eq!(
        bench.job("new", &["-o", &bench.job], "08:00").status,
        Some(0)
    );
    assert_eq!(
        bench.steps("08:00"),
        [
            "hang open",
            "release blocked",
            "look blocked",
            "turn blocked",
            "cover blocked",
            "sign-off blocked"
        ]
    );
    assert!(
        bench
            .refused(&["step:release"], "08:01")
            .contains("step hang is not done")
    );
}

/// What `ask` would keep of looks at those times, all in time; a time that is left out is not known.
fn record(id: &str, looks: &[(&str, Option<&str>)]) -> String {
    let mut text = format!(
        "tautmark_record: 5\nengine: Kestrel 2.0 inline-four\nspec: kestrel-four.yaml\nid: {id}\nstages:\n"
    );
    for (stage, at) in looks {
        let at = at.map_or_else(String::new, |at| format!("at: \"2024-11-25T{at}:00Z\", "));
        let seen = match *stage {
            "turned" => {
                "turned: 2, dots: { crank: on, exhaust: on, intake: on }, said: { turned-free: yes }"
            }
            "hung" => {
                "links: { crank: on, exhaust: on, intake: on }, dots: { crank: on, exhaust: on }, said: { pin-in: yes, phaser-parked: yes, slack-side: yes }"
            }
            _ => {
                "links: { crank: on, exhaust: on, intake: on }, said: { pins-out: yes, bolts-tight: yes }"
            }
        };
        text.push_str(&format!("  - {{ stage: {stage}, {at}{seen} }}\n"));
    }
    text
}

impl Bench {
    /// Takes a record into the job.
    fn take(&self, text: &str, time: &str) -> Outcome {
        let path = self.folder.join("looks.yaml");
        std::fs::write(&path, text).unwrap();
        self.job("look", &["--record", &path.to_string_lossy()], time)
    }
}

/// Of a record that was taken, somebody says later that what was seen has been moved since: the steps that were done on it
/// are open again. Nothing else of the job is touched, and what is said to be stale twice is so once.
#[test]
fn what_a_record_says_later_is_stale_opens_what_was_done_on_it_and_no_more() {
    const HUNG: &str = "links: { crank: on, exhaust: on, intake: on }, dots: { crank: on, exhaust: on }, said: { pin-in: yes, phaser-parked: yes, slack-side: yes }";
    const RELEASED: &str =
        "links: { crank: on, exhaust: on, intake: on }, said: { pins-out: yes, bolts-tight: yes }";
    let record = |id: &str, looks: &[(&str, &str, &str)]| {
        let head = "tautmark_record: 5\nengine: Kestrel 2.0 inline-four\nspec: kestrel-four.yaml\n";
        let mut text = format!("{head}id: {id}\nstages:\n");
        for (stage, at, more) in looks {
            let seen = if *stage == "hung" { HUNG } else { RELEASED };
            text.push_str(&format!(
                "  - {{ stage: {stage}, at: \"2024-11-25T{at}:00Z\", {seen}{more} }}\n"
            ));
        }
        text
    };
    const STALE: &str = ", stale: the chain was moved";
    let first = [("hung", "10:30", ""), ("released", "10:42", "")];
    let standing = |bench: &Bench, time| {
        let steps = bench.steps(time);
        let of = |step: &str| steps.iter().find(|one| one.starts_with(step)).unwrap();
        ["hang ", "release ", "look "].map(|step| of(step).ends_with(" done"))
    };
    // What is told later, and which of the steps hang, release and look are still done then.
    for (i, (id, told, done)) in [
        ("one", vec![("hung", "10:30", STALE)], [false; 3]),
        // Of the same record whatever the time, from that stage on.
        ("one", vec![("hung", "10:29", STALE)], [false; 3]),
        (
            "one",
            vec![("released", "10:42", STALE)],
            [true, true, false],
        ),
        // Of another record the same look, which is told by its stage and its time.
        ("two", vec![("hung", "10:30", STALE)], [false; 3]),
        ("two", vec![("hung", "10:29", STALE)], [true; 3]),
        ("two", vec![("released", "10:30", STALE)], [true; 3]),
        // What was seen too early to prove anything undoes nothing while it is good.
        ("two", vec![("hung", "09:00", "")], [true; 3]),
    ]
    .into_iter()
    .enumerate()
    {
        let bench = Bench::new(&format!("stale-{i}"));
        bench.begin();
        assert_eq!(
            bench.take(&record("one", &first[..1]), "10:35").status,
            Some(0)
        );
        bench.tick(&["step:hang", "step:release"], "10:41");
        bench.take(&record("one", &first), "10:43");
        bench.tick(&["step:look"], "10:44");
        assert_eq!(standing(&bench, "10:44"), [true; 3]);
        bench.take(&record(id, &told), "10:50");
        assert_eq!(standing(&bench, "10:50"), done, "{id} {told:?}");
        if i == 0 {
            // Looked at again, and done again; that the old look was stale is told once more, by somebody else.
            assert_eq!(bench.look("hung", "on", "11:00"), Some(0));
            bench.tick(&["step:hang", "step:release"], "11:01");
            bench.take(
                &record(
                    "two",
                    &[("hung", "10:30", ", by: Kim, stale: the chain was moved")],
                ),
                "11:05",
            );
            assert_eq!(standing(&bench, "11:05"), [true, true, false]);
        }
    }
    // What speaks against it does, however early it was seen; unless it is stale. Of the same record that alone is enough.
    for (id, at, more, done) in [
        ("two", "09:00", "", [false; 3]),
        ("two", "09:00", STALE, [true, true, false]),
        ("one", "10:29", STALE, [false; 3]),
    ] {
        let bench = Bench::new(&format!("early-{id}-{}", more.len()));
        bench.begin();
        bench.take(&record("one", &first[..1]), "10:35");
        bench.tick(&["step:hang", "step:release"], "10:41");
        let told = record(id, &[("hung", at, more)]);
        let off = told.replace("intake: on }, dots", "intake: 2 behind }, dots");
        bench.take(&off, "10:50");
        assert_eq!(standing(&bench, "10:50"), done, "{id}{more}");
    }
}

/// What was fitted on a look that is told later to say nothing was fitted for nothing, and so it was where a look that was
/// made too early to prove anything shows it out of time: it comes off, and is used up.
#[test]
fn what_was_fitted_on_a_stale_look_is_used_up() {
    let looked = record("one", &[("hung", Some("10:30"))]);
    let stale = looked.replace("slack-side: yes }", "slack-side: yes }, stale: hung again");
    let early = record("two", &[("hung", Some("09:00"))]);
    let off = early.replacen("intake: on", "intake: 2 behind", 1);
    let used_up = ["front-seal", "cover-gasket", "sealant", "damper-bolt"];
    for (name, later, expected) in [
        ("stale", stale, &used_up[..]),
        ("early", early, &[]),
        ("early-off", off, &used_up),
    ] {
        let bench = Bench::new(&format!("used-up-{name}"));
        bench.begin();
        assert_eq!(bench.take(&looked, "10:35").status, Some(0));
        bench.release();
        bench.close();
        bench.take(&later, "11:30");
        assert_eq!(bench.missing("11:30"), expected, "{name}");
    }
}

/// A look is known again by all that is in it, in whatever order it is told. Whatever differs makes it another one: what
/// speaks against being in time is not dropped because something else was seen at the same minute.
#[test]
fn a_look_that_is_told_otherwise_is_another_one() {
    let look = "links: { crank: on, exhaust: on, intake: on }, dots: { crank: on, exhaust: on }, not_seen: [dot intake], said: { pin-in: yes, phaser-parked: yes, slack-side: yes }";
    let record = |look: &str| {
        let head = "tautmark_record: 5\nengine: Kestrel 2.0 inline-four\nspec: kestrel-four.yaml\n";
        format!(
            "{head}id: one\nstages:\n  - {{ stage: hung, at: \"2024-11-25T10:30:00Z\", {look} }}\n"
        )
    };
    let looks = |bench: &Bench| bench.text().matches("look:").count();
    let bench = Bench::new("told-otherwise");
    bench.begin();
    assert_eq!(bench.take(&record(look), "10:35").status, Some(0));
    assert_eq!(looks(&bench), 1);
    let first = bench.text();
    for (from, to, another) in [
        (
            "crank: on, exhaust: on, intake",
            "exhaust: on, crank: on, intake",
            false,
        ),
        (
            "pin-in: yes, phaser-parked: yes",
            "phaser-parked: yes, pin-in: yes",
            false,
        ),
        ("intake: on", "intake: 2 behind", true),
        (
            "exhaust: on }, not_seen",
            "exhaust: 1 behind }, not_seen",
            true,
        ),
        (
            "dots: { crank: on, exhaust: on }",
            "dots: { crank: on }",
            true,
        ),
        (
            "dots: { crank: on, exhaust: on }, not_seen: [dot intake]",
            "dots: { crank: on, intake: on }, not_seen: [dot exhaust]",
            true,
        ),
        (
            "exhaust: on }, not_seen: [dot intake]",
            "exhaust: on }",
            true,
        ),
        ("pin-in: yes", "pin-in: no", true),
        (", slack-side: yes", "", true),
    ] {
        std::fs::write(&bench.job, &first).unwrap();
        assert!(look.contains(from), "{from}");
        let outcome = bench.take(&record(&look.replacen(from, to, 1)), "10:50");
        let new = if another { 2 } else { 1 };
        assert_eq!(looks(&bench), new, "{to}");
        let refused = outcome.stderr.contains("already in this job");
        assert_eq!(refused, !another, "{to}: {}", outcome.stderr);
        if to == "intake: 2 behind" {
            assert_eq!(bench.status("10:50")["timing"]["verdict"], "out of time");
        }
    }
    // Another mark that could not be seen makes it another look.
    let bench = Bench::new("unseen-otherwise");
    bench.begin();
    let fewer = look.replace("dots: { crank: on, exhaust: on }", "dots: { crank: on }");
    bench.take(&record(&fewer), "10:35");
    bench.take(
        &record(&fewer.replace("dot intake", "dot exhaust")),
        "10:50",
    );
    assert_eq!(looks(&bench), 2);
}

/// In time by the links alone, and hung inside out it would look the same: no step is done on that.
#[test]
fn no_step_is_done_on_links_that_a_look_alike_shows_too() {
    let bench = Bench::new("alike");
    bench.begin();
    let dots = "dots: { crank: on, exhaust: on }, ";
    let looked = record("one", &[("hung", Some("10:30"))]);
    assert!(looked.contains(dots));
    bench.take(&looked.replace(dots, ""), "10:35");
    let refused = bench.refused(&["step:hang"], "10:41");
    assert!(refused.contains("in time by the links alone"), "{refused}");
    // With the dots of the crankshaft and a camshaft it is.
    bench.take(&looked, "10:42");
    bench.tick(&["step:hang", "step:release"], "10:43");
}

/// What was seen too early to prove anything leaves what was seen since as it is: the next stage goes on from that.
#[test]
fn a_look_of_too_early_does_not_stand_before_a_later_stage() {
    let bench = Bench::new("too-early");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    bench.release();
    bench.take(&record("two", &[("hung", Some("09:00"))]), "10:47");
    assert_eq!(bench.look("turned", "on", "10:50"), Some(0));
    bench.tick(&["step:turn"], "10:51");
}

/// The clock was an hour ahead for a while, and all that was written down then is corrected: a look that was written down
/// at once was made when its corrected entry says, so that a record made after that is not before it.
#[test]
fn a_look_by_a_wrong_clock_was_made_when_it_is_corrected_to() {
    let bench = Bench::new("hour-ahead");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "11:40"), Some(0));
    bench.tick(&["step:hang", "step:release"], "11:41");
    let entries = bench
        .text()
        .lines()
        .filter(|line| line.starts_with("  - "))
        .count();
    for (entry, to) in [
        (entries - 2, "10:40"),
        (entries - 1, "10:41"),
        (entries, "10:41"),
    ] {
        let (entry, to) = (entry.to_string(), format!("2024-11-25T{to}:00Z"));
        let more = [
            "--entry",
            &entry,
            "--to",
            &to,
            "--by",
            "Kim",
            "--why",
            "clock an hour ahead",
        ];
        let outcome = bench.job("correct", &more, "11:45");
        assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(0), ""));
    }
    let looked = record(
        "one",
        &[("hung", Some("10:40")), ("released", Some("11:00"))],
    );
    let released = looked.replacen(looked.lines().nth(5).unwrap(), "", 1);
    let told = bench.take(&released, "11:50").stdout;
    assert!(!told.contains("PROVES NOTHING"), "{told}");
    bench.tick(&["step:look"], "11:51");
}

/// Where a step was gone over without a look, a look at the next stage has nothing to stand on.
#[test]
fn a_look_at_a_stage_needs_one_at_the_stage_before() {
    let bench = Bench::new("no-stage-before");
    bench.begin();
    let over = ["--by", "Robin", "--override", "no mirror at hand"];
    let outcome = bench.job(
        "tick",
        &[&["step:hang", "step:release"], &over[..]].concat(),
        "10:30",
    );
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert_eq!(bench.look("released", "on", "10:40"), Some(1));
    let refused = bench.refused(&["step:look"], "10:41");
    assert!(
        refused.contains("it was made before the look at stage hung"),
        "{refused}"
    );
}

/// A bolt that was tightened and must not be tightened twice is used up by what opens its step again, whether or not the
/// step was ticked; one that was not yet touched is still there.
#[test]
fn a_bolt_is_used_up_by_being_tightened() {
    let bench = Bench::new("tightened");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    assert_eq!(bench.look("hung", "on", "10:41"), Some(0));
    assert!(bench.missing("10:41").is_empty());
    bench.tick(&["step:hang", "step:release"], "10:42");
    assert_eq!(bench.look("released", "on", "10:45"), Some(0));
    bench.tick(&["step:look"], "10:46");
    assert_eq!(bench.look("turned", "on", "10:50"), Some(0));
    bench.tick(&["step:turn", "torque:damper-bolt"], "10:51");
    assert_eq!(bench.look("hung", "on", "10:55"), Some(0));
    assert_eq!(bench.missing("10:55"), ["damper-bolt"]);
    // Nobody confirmed that it was tightened, but the step was gone over as done: it was fitted.
    let bench = Bench::new("gone-over");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    let over = ["--by", "Robin", "--override", "owner waits"];
    let steps = [
        "step:hang",
        "step:release",
        "step:look",
        "step:turn",
        "step:cover",
    ];
    let outcome = bench.job("tick", &[&steps[..], &over].concat(), "10:50");
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert_eq!(bench.look("hung", "on", "10:55"), Some(0));
    assert!(bench.missing("10:55").contains(&"damper-bolt".to_owned()));
}

/// A bolt that no step names is asked for before the engine is handed over. An old part is counted before the gate at which
/// its place is closed: one that comes off after the cover is on does not hold up the cover.
#[test]
fn what_no_step_before_the_cover_touches_is_asked_for_at_the_sign_off() {
    let mut bench = Bench::without_job("at-the-end");
    let mut text =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(SPEC)).unwrap();
    for (from, to) in [
        (
            "[front-seal, cover-gasket, sealant]",
            "[cover-gasket, sealant]",
        ),
        ("[cover-bolt, damper-bolt]", "[damper-bolt]"),
        (
            "  - { step: sign-off",
            "  - { step: seal, about: press in the seal, parts: [front-seal] }\n  - { step: sign-off",
        ),
    ] {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text = text.replace(from, to);
    }
    let spec = bench.folder.join("kestrel-four.yaml");
    std::fs::write(&spec, text).unwrap();
    bench.spec = spec.to_string_lossy().into_owned();
    assert_eq!(
        bench.job("new", &["-o", &bench.job], "08:00").status,
        Some(0)
    );
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    bench.release();
    assert_eq!(bench.look("turned", "on", "10:50"), Some(0));
    bench.tick(&["step:turn", "torque:damper-bolt", "step:cover"], "10:55");
    bench.tick(&["step:seal"], "12:00");
    let refused = bench.refused(&["step:sign-off"], "12:01");
    assert!(refused.contains("cover-bolt"), "{refused}");
    assert!(refused.contains("front-seal"), "{refused}");
    bench.tick(&["old:front-seal"], "12:02");
    assert!(
        !bench
            .refused(&["step:sign-off"], "12:03")
            .contains("front-seal")
    );
    bench.tick(&["torque:cover-bolt", "step:sign-off"], "12:04");
}

/// What is not for one use only stays on the bench when its step is opened again.
#[test]
fn what_can_be_used_again_is_still_there_when_its_step_is_opened() {
    let mut bench = Bench::without_job("used-again");
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(SPEC)).unwrap();
    let corners = "corners of the cover, quantity: 1, single_use: true }";
    assert!(text.contains(corners));
    let text = text.replace(corners, "corners of the cover, quantity: 1 }");
    let spec = bench.folder.join("kestrel-four.yaml");
    std::fs::write(&spec, text).unwrap();
    bench.spec = spec.to_string_lossy().into_owned();
    assert_eq!(
        bench.job("new", &["-o", &bench.job], "08:00").status,
        Some(0)
    );
    bench.begin();
    bench.go_on();
    assert_eq!(bench.look("hung", "on", "11:30"), Some(0));
    let status = bench.status("11:30");
    let kit = status["kit"].as_array().unwrap().iter();
    let missing: Vec<_> = kit
        .filter(|kit| kit["missing"] != 0)
        .map(|kit| &kit["name"])
        .collect();
    assert_eq!(missing, ["front-seal", "cover-gasket", "damper-bolt"]);
}

/// Records as older programs saved them: read, told, and of no account where nothing says when it was.
#[test]
fn a_record_without_times_is_told_and_proves_nothing() {
    let bench = Bench::new("old-record");
    bench.begin();
    let text = "tautmark_record: 1
engine: Kestrel 2.0 inline-four
spec: kestrel-four.yaml
stages:
  - { stage: hung, links: { crank: on, exhaust: on, intake: 1 behind } }
  - { stage: hung, links: { crank: on, exhaust: on, intake: on } }
  - { stage: released, links: { crank: on, exhaust: on, intake: on } }
  - { stage: turned, turned: 2, dots: { crank: on, exhaust: on, intake: on } }
";
    let outcome = bench.take(text, "10:10");
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    assert!(
        outcome
            .stdout
            .contains("before the tensioner is released: in time, but PROVES NOTHING: nothing says when it was made"),
        "{}",
        outcome.stdout
    );
    assert_eq!(bench.status("10:10")["timing"]["verdict"], "not proven");
    bench.refused(&["step:hang"], "10:11");
    // What speaks against it counts whenever it was seen, until it was looked at again.
    let off = text.replacen(
        "  - { stage: released",
        "  - { stage: hung, links: { intake: 1 behind, crank: on } }\n  - { stage: released",
        1,
    );
    bench.take(&off, "10:12");
    assert_eq!(bench.status("10:12")["timing"]["verdict"], "out of time");

    // By itself it is a job of which nothing else is known; the first tick gives it a history.
    let old = Bench::without_job("old");
    std::fs::write(&old.job, text.replace("1 behind", "on")).unwrap();
    assert_eq!(old.status("10:00")["timing"]["verdict"], "not proven");
    old.tick(&["part:chain"], "10:00");
    assert!(old.text().contains("tautmark_record: 6\n"));
    assert_eq!(old.status("10:00")["timing"]["verdict"], "not proven");
    assert!(
        old.job("report", &[], "10:01")
            .stdout
            .contains("time not known: marks looked at")
    );
}

#[test]
fn a_job_of_the_format_before_is_read_and_gone_on_with_and_its_looks_have_no_time_of_their_own() {
    let bench = Bench::without_job("format-2");
    let path = format!(
        "{}/tests/fixtures/job/signed-off-format-2.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    let old = std::fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    std::fs::write(&bench.job, &old).unwrap();
    let status = bench.command(&[
        "job",
        "status",
        SPEC,
        &bench.job,
        "--at",
        "2026-11-26T00:00:00Z",
    ]);
    assert_eq!(status.status, Some(1));
    assert!(status.stdout.contains("NOT PROVEN."), "{}", status.stdout);
    assert!(
        status.stdout.contains("nothing says when it was made"),
        "{}",
        status.stdout
    );
    // What stands there stays, under its checksums; only the number of the format goes up. The library is asked,
    // since those entries may be of a time that has not come yet.
    let (job, findings) = read(&old);
    assert_eq!(findings, [""; 0]);
    let mut job = job.unwrap();
    let author = tautmark::job::Authorship {
        at: "2026-11-26T00:00:00Z".parse().unwrap(),
        by: None,
        overriding: None,
    };
    job.tick(&drive(), &"ordered:guide".parse().unwrap(), author)
        .unwrap();
    let text = job.to_yaml();
    let before = old.replace("tautmark_record: 2", "tautmark_record: 6");
    let kept = before.lines().filter(|line| line.starts_with("  - "));
    for line in kept {
        assert!(text.contains(line), "{line}");
    }
    assert!(text.contains("tautmark_record: 6\n"));
    assert_eq!(read(&text).0.unwrap(), job);
}

#[test]
fn a_record_made_before_its_time_proves_nothing() {
    let name = |text: &str| text.replace(' ', "-");
    for (what, looks, reason) in [
        (
            "before the job",
            &[("hung", Some("07:00"))][..],
            "it was made before the job was begun (2024-11-25 08:00 UTC)",
        ),
        (
            "before teardown",
            &[("hung", Some("09:59"))],
            "it was made before step teardown (2024-11-25 10:00 UTC)",
        ),
        (
            "no time",
            &[("hung", None)],
            "nothing says when it was made",
        ),
    ] {
        let bench = Bench::new(&name(what));
        bench.begin();
        let outcome = bench.take(&record("r1", looks), "10:10");
        assert_eq!(outcome.status, Some(1), "{what}");
        assert!(
            outcome.stdout.contains(reason),
            "{what}: {}",
            outcome.stdout
        );
        assert!(!outcome.stdout.contains("may be released"), "{what}");
        for step in ["step:hang", "step:release"] {
            let refused = bench.refused(&[step], "10:11");
            assert!(
                refused.contains(&format!("the look at stage hung proves nothing: {reason}")),
                "{what}: {refused}"
            );
        }
        let json = bench.status("10:11");
        assert_eq!(json["timing"]["release_tensioner"], false, "{what}");
        assert_eq!(
            json["timing"]["earlier"][0]["proves_nothing"], reason,
            "{what}"
        );
    }
    // In time to the second it was torn down is not before.
    let bench = Bench::new("just-after");
    bench.begin();
    let outcome = bench.take(&record("r1", &[("hung", Some("10:00"))]), "10:10");
    assert_eq!(outcome.status, Some(0), "{}", outcome.stdout);
    bench.tick(&["step:hang", "step:release"], "10:11");
}

#[test]
fn all_looks_made_before_hanging_prove_the_first_stage_at_most() {
    let bench = Bench::new("all-at-once");
    bench.begin();
    let all = [
        ("hung", Some("10:01")),
        ("released", Some("10:02")),
        ("turned", Some("10:03")),
    ];
    let outcome = bench.take(&record("r1", &all), "10:10");
    assert_eq!(outcome.status, Some(1));
    assert_eq!(
        outcome.stdout.lines().nth(2),
        Some("NOT PROVEN."),
        "the verdict stands first: {}",
        outcome.stdout
    );
    assert!(
        outcome
            .stdout
            .contains("it was made before step hang was done")
    );
    bench.tick(&["step:hang", "step:release"], "10:11");
    assert!(bench.refused(&["step:look"], "10:12").contains(
        "the look at stage released proves nothing: it was made before step hang was done"
    ));
    assert!(
        bench
            .refused(&["step:sign-off"], "10:12")
            .contains("is blocked")
    );
    // Gone on with at the right times, the same record takes it further.
    let more = [("hung", Some("10:01")), ("released", Some("10:12"))];
    let outcome = bench.take(&record("r1", &more), "10:13");
    assert_eq!(outcome.status, Some(0), "{}", outcome.stdout);
    bench.tick(&["step:look"], "10:14");
}

/// What was seen in the very minute that something else was done is
/// not before it, neither before the job was begun nor before a step nor before the look at another stage.
#[test]
fn a_whole_job_within_one_minute_is_proven() {
    let mut bench = Bench::without_job("one-minute");
    bench.spec = "engines/wren-single.yaml".to_owned();
    let made = bench.job("new", &["-o", &bench.job], "08:00");
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    let dots = ["--dot", "crank=on", "--dot", "cam=on"];
    let links = ["--link", "crank=on", "--link", "cam=on"];
    let look = |stage: &str, said: &[&str], marks: &[&str]| {
        let said: Vec<&str> = said.iter().flat_map(|said| ["--said", said]).collect();
        let outcome = bench.job(
            "look",
            &[&["--stage", stage], &said[..], marks, &dots].concat(),
            "08:00",
        );
        assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(0), ""));
    };
    look("hung", &["pin-in", "slack-side"], &links);
    bench.tick(&["step:hang", "step:release"], "08:00");
    look("released", &["pins-out"], &links);
    bench.tick(&["step:look"], "08:00");
    look("turned", &["turned-free"], &["--turned", "2"]);
    bench.tick(&["step:turn", "step:cover", "step:sign-off"], "08:00");
    let status = bench.status("08:00");
    assert_eq!(
        (&status["signed_off"], &status["proven"]),
        (&true.into(), &true.into())
    );
}

#[test]
fn one_record_is_for_one_job() {
    let (bench, other) = (Bench::new("first-car"), Bench::without_job("second-car"));
    assert_eq!(
        other
            .job("new", &["-o", &other.job, "--by", "Kim"], "08:00")
            .status,
        Some(0)
    );
    bench.begin();
    other.begin();
    let taken = bench.take(&record("r1", &[("hung", Some("10:05"))]), "10:10");
    assert_eq!(taken.status, Some(0), "{}", taken.stdout);
    let path = bench
        .folder
        .join("looks.yaml")
        .to_string_lossy()
        .into_owned();
    assert!(
        std::fs::read_to_string(&path)
            .unwrap()
            .contains("used_by: { job: ")
    );
    let before = other.text();
    let refused = other.job("look", &["--record", &path], "10:11");
    assert_eq!((refused.status, refused.stdout.as_str()), (Some(1), ""));
    assert!(
        refused
            .stderr
            .contains("another job (job.yaml) took this record at 2024-11-25T10:10:00Z"),
        "{}",
        refused.stderr
    );
    assert_eq!(other.text(), before);
    // Nor twice into the same one.
    let twice = bench.job("look", &["--record", &path], "10:12");
    assert_eq!(twice.status, Some(1));
    assert!(
        twice
            .stderr
            .contains("every look of this record is already in this job")
    );
    // From the future it is not taken at all.
    let future = bench.take(&record("r2", &[("hung", Some("23:00"))]), "10:13");
    assert_eq!(future.status, Some(2));
    assert!(
        future.stderr.contains("later than this entry"),
        "{}",
        future.stderr
    );
}

#[test]
fn after_turning_only_dots_of_shafts_that_are_back_count() {
    let bench = Bench::new("turned");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    bench.release();
    let look = |more: &[&str], time: &str| {
        bench.job("look", &[&["--stage", "turned"], more].concat(), time)
    };
    // Numbers as `roll` prints them can be typed without a look at the engine.
    let copied = [
        "--turned",
        "2",
        "--link",
        "crank=link 82",
        "--link",
        "exhaust=link 15",
        "--link",
        "intake=link 32",
    ];
    let outcome = look(&copied, "10:47");
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome.stdout.starts_with(
            "PROVES NOTHING in this job (after 2 turns by hand): after turning, only dots count"
        ),
        "{}",
        outcome.stdout
    );
    assert!(
        bench
            .refused(&["step:turn"], "10:48")
            .contains("only dots count")
    );
    // A turn forgotten, or a digit too many.
    for turned in ["1", "21", "3/2"] {
        let dots = [
            "--turned",
            turned,
            "--dot",
            "crank=on",
            "--dot",
            "exhaust=on",
            "--dot",
            "intake=on",
        ];
        assert_eq!(look(&dots, "10:49").status, Some(1), "{turned}");
        bench.refused(&["step:turn"], "10:49");
    }
    let links = [
        "--turned",
        "1",
        "--link",
        "crank=link 100",
        "--link",
        "exhaust=link 33",
        "--link",
        "intake=link 50",
    ];
    look(&links, "10:50");
    bench.refused(&["step:turn"], "10:50");
    assert_eq!(bench.look("turned", "on", "10:51"), Some(0));
    bench.tick(&["step:turn"], "10:52");
}

#[test]
fn what_was_denied_or_not_said_keeps_the_release_closed() {
    let bench = Bench::new("said");
    bench.begin();
    let look = |said: &[&str], time: &str, open: bool| {
        let seen = [
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
        let outcome = bench.job("look", &[&seen, said].concat(), time);
        // Neither the headline, said twice, nor the exit status opens what the job keeps closed.
        let (headline, status) = match open {
            true => ("IN TIME. The tensioner may be released.", Some(0)),
            false => (
                "IN TIME by the marks. Do not release the tensioner yet.",
                Some(1),
            ),
        };
        assert_eq!(outcome.status, status, "{}", outcome.stderr);
        assert_eq!(
            outcome.stdout.matches(headline).count(),
            2,
            "{}",
            outcome.stdout
        );
        assert_eq!(outcome.stdout.contains("may be released"), open);
        outcome.stdout
    };
    assert!(look(&[], "10:30", false).contains("NOT SAID: every phaser is locked"));
    bench.tick(&["step:hang"], "10:31");
    assert!(
        bench
            .refused(&["step:release"], "10:31")
            .contains("pin-in was not said; phaser-parked was not said; slack-side was not said")
    );
    look(
        &[
            "--said",
            "pin-in",
            "--said",
            "phaser-parked",
            "--said",
            "slack-side=no",
        ],
        "10:32",
        false,
    );
    bench.tick(&["step:hang"], "10:33");
    assert!(
        bench
            .refused(&["step:release"], "10:33")
            .contains("slack-side was said not to be so")
    );
    look(
        &[
            "--said",
            "pin-in",
            "--said",
            "phaser-parked",
            "--said",
            "slack-side",
        ],
        "10:34",
        true,
    );
    bench.tick(&["step:hang", "step:release"], "10:35");
    for (said, reason) in [
        ("slack", "expected phaser-parked"),
        ("slack-side=perhaps", "expected phaser-parked"),
    ] {
        let wrong = bench.job(
            "look",
            &["--stage", "hung", "--link", "crank=on", "--said", said],
            "10:36",
        );
        assert_eq!(wrong.status, Some(2));
        assert!(wrong.stderr.contains(reason), "{}", wrong.stderr);
    }
}

/// Of what was said after turning, a denial keeps that step open; what was not said does not, and is asked before the cover.
#[test]
fn what_was_denied_after_turning_keeps_the_step_open() {
    let bench = Bench::new("denied-turned");
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    bench.release();
    let marks = [
        "--stage",
        "turned",
        "--turned",
        "2",
        "--dot",
        "crank=on",
        "--dot",
        "exhaust=on",
        "--dot",
        "intake=on",
    ];
    let look = |said: &[&str], time: &str| {
        let outcome = bench.job("look", &[&marks[..], said].concat(), time);
        assert_eq!(outcome.stderr, "");
    };
    look(
        &["--said", "turned-free", "--said", "facing-end=no"],
        "10:50",
    );
    let refused = bench.refused(&["step:turn"], "10:51");
    assert!(
        refused.contains("facing-end was said not to be so"),
        "{refused}"
    );
    bench.is("hang", "done", "10:51");
    look(&[], "10:52");
    bench.tick(&["step:turn"], "10:53");
    let refused = bench.refused(&["step:cover"], "10:54");
    assert!(refused.contains("turned-free was not said"), "{refused}");
}

/// A clock that was wrong for a moment must not block a job for good, and nobody corrects without a name.
#[test]
fn a_wrong_time_is_refused_and_one_that_got_in_is_corrected_by_name() {
    let bench = Bench::new("correct");
    let early = bench.text();
    let future = bench.command(&[
        "job",
        "tick",
        SPEC,
        &bench.job,
        "part:chain",
        "--at",
        "9998-01-01T00:00:00Z",
    ]);
    assert_eq!(future.status, Some(2));
    assert!(
        future.stderr.contains("has not come yet"),
        "{}",
        future.stderr
    );
    assert_eq!(bench.text(), early);
    // Written by a program whose clock was wrong, with good checksums.
    let (job, _) = read(&early);
    let mut job = job.unwrap();
    let wrong = tautmark::job::Authorship {
        at: "9998-01-01T00:00:00Z".parse().unwrap(),
        by: Some("Robin"),
        overriding: None,
    };
    for part in ["part:chain", "part:guide"] {
        job.tick(&drive(), &part.parse().unwrap(), wrong).unwrap();
    }
    std::fs::write(&bench.job, job.to_yaml()).unwrap();
    let stuck = bench.job("tick", &["part:tensioner"], "08:02");
    assert_eq!(stuck.status, Some(2));
    assert!(
        stuck
            .stderr
            .contains("earlier than entry 3 of 9998-01-01T00:00:00Z")
            && stuck.stderr.contains("job correct SPEC JOB --entry 3"),
        "{}",
        stuck.stderr
    );
    let correct = |more: &[&str], time: &str| bench.job("correct", more, time);
    let why = ["--why", "the clock was wrong"];
    for (more, reason) in [
        (
            &["--entry", "2", "--to", "2024-11-25T08:01:00Z"][..],
            "needs a name",
        ),
        (
            &[
                "--entry",
                "1",
                "--to",
                "2024-11-25T07:00:00Z",
                "--by",
                "Kim",
            ],
            "cannot be corrected",
        ),
        (
            &["--entry", "9", "--void", "--by", "Kim"],
            "there is no entry 9",
        ),
        (
            &[
                "--entry",
                "2",
                "--to",
                "2024-11-25T07:00:00Z",
                "--by",
                "Kim",
            ],
            "at or after 2024-11-25T08:00:00Z",
        ),
        (
            &[
                "--entry",
                "2",
                "--to",
                "2024-11-25T08:30:00Z",
                "--by",
                "Kim",
            ],
            "not after 2024-11-25T08:02:00Z",
        ),
        (
            &["--entry", "2", "--to", "soon", "--by", "Kim"],
            "expected a time",
        ),
        (&["--entry", "2", "--by", "Kim"], "--to"),
    ] {
        let before = bench.text();
        let outcome = correct(&[more, &why].concat(), "08:02");
        assert_eq!(outcome.status, Some(2), "{more:?}");
        assert!(
            outcome.stderr.contains(reason),
            "{more:?}: {}",
            outcome.stderr
        );
        assert_eq!(bench.text(), before);
    }
    let right = [
        "--entry",
        "2",
        "--to",
        "2024-11-25T08:01:00Z",
        "--by",
        "Kim",
    ];
    assert_eq!(
        correct(&[&right[..], &why].concat(), "08:02").status,
        Some(0)
    );
    let right = ["--entry", "3", "--void", "--by", "Kim"];
    assert_eq!(
        correct(&[&right[..], &why].concat(), "08:03").status,
        Some(0)
    );
    // It goes on, and what was said and who corrected it is told for good.
    bench.tick(&["part:tensioner"], "08:04");
    let json = bench.status("08:05");
    let here = |name: &str| {
        let kit = json["kit"].as_array().unwrap().iter();
        kit.clone().find(|kit| kit["name"] == name).unwrap()["here"].clone()
    };
    assert_eq!(
        (here("chain"), here("guide"), here("tensioner")),
        (1.into(), 0.into(), 1.into())
    );
    assert_eq!(json["corrected"].as_array().unwrap().len(), 2);
    let report = bench.job("report", &[], "08:06").stdout;
    for line in [
        "9998-01-01 00:00 UTC: 1 x chain on the bench, by Robin; CORRECTED to 2024-11-25 08:01 UTC by Kim: the clock was wrong",
        "; VOIDED by Kim: the clock was wrong",
        "4. 2024-11-25 08:02 UTC: entry 2 corrected to 2024-11-25 08:01 UTC: the clock was wrong, by Kim",
    ] {
        assert!(report.contains(line), "{line} in {report}");
    }
    // A look that is voided proves nothing, and what was seen against it stays.
    bench.begin();
    assert_eq!(bench.look("hung", "on", "10:40"), Some(0));
    let entry = bench
        .text()
        .lines()
        .filter(|line| line.starts_with("  - "))
        .count()
        .to_string();
    let void = [
        "--entry",
        &entry,
        "--void",
        "--by",
        "Kim",
        "--why",
        "that was the other car",
    ];
    assert_eq!(correct(&void, "10:41").status, Some(0));
    assert!(
        bench
            .refused(&["step:hang"], "10:42")
            .contains("its entry was voided")
    );
    assert_eq!(bench.look("hung", "2 behind", "10:43"), Some(1));
    let entry = bench
        .text()
        .lines()
        .filter(|line| line.starts_with("  - "))
        .count()
        .to_string();
    let void = [
        "--entry",
        &entry,
        "--void",
        "--by",
        "Kim",
        "--why",
        "that was the other car",
    ];
    assert_eq!(correct(&void, "10:44").status, Some(0));
    assert_eq!(bench.status("10:45")["timing"]["verdict"], "out of time");
}

/// The most chains and sprockets there can be.
fn largest() -> String {
    let mut chains = String::new();
    let mut shafts = "  s0: { kind: crankshaft }\n".to_owned();
    for i in 1..16 {
        shafts.push_str(&format!("  s{i}: {{ kind: camshaft }}\n"));
    }
    for c in 0..8 {
        chains.push_str(&format!("  c{c}:\n    links: 400\n    path:\n"));
        for i in 0..16 {
            let teeth = if i == 0 { 10 } else { 20 };
            chains.push_str(&format!(
                "      - {{ sprocket: s{i}, teeth: {teeth}, dot: {i}, link: {} }}\n",
                i * 20 + c
            ));
        }
    }
    format!(
        "tautmark: 1\nengine: Large\ncrank_turns: clockwise\nshafts:\n{shafts}chains:\n{chains}"
    )
}

/// A job of the largest drive with as many looks as it takes.
fn full(drive: &Drive) -> Job {
    let at: Timestamp = "2024-11-25T08:00:00Z".parse().unwrap();
    let mut seen = tautmark::Observations::at_timed_position();
    for (place, _) in drive.engagements() {
        seen.see_link(drive, place, "on".parse().unwrap()).unwrap();
    }
    let look = tautmark::job::Look::new(tautmark::spec::Stage::Hung, seen, Vec::new());
    let mut job = Job::begin(drive, "large", at, None).unwrap();
    let mut looks = 0;
    let error = loop {
        match job.look(drive, look.clone(), at, None) {
            Ok(()) => looks += 1,
            Err(error) => break error,
        }
        assert!(looks < 1000);
    };
    assert!(error.to_string().contains("the record is full"), "{error}");
    assert!(looks > 100, "{looks}");
    job
}

/// An entry that would make the record unreadable is not written: on the largest drive a look is hundreds of
/// values, and the reader takes 50,000.
#[test]
fn a_record_takes_no_look_that_it_could_not_read_back() {
    let reading = Drive::read(&Source::new("large", largest().into()).unwrap());
    let drive = reading
        .drive
        .unwrap_or_else(|| panic!("{:?}", reading.findings));
    let job = full(&drive);
    let source = Source::new("job.yaml", job.to_yaml().into()).unwrap();
    let again = Job::read(&source, &drive);
    assert!(again.findings.is_empty(), "{:?}", again.findings);
    assert_eq!(again.job.unwrap(), job);
}

/// Whatever command would write into it: the record is as it was, or one entry longer and readable; and what is
/// wrong in it can still be said to be.
#[test]
fn no_command_makes_a_full_record_unreadable() {
    let mut bench = Bench::without_job("full");
    bench.spec = bench.folder.join("large.yaml").to_string_lossy().into();
    std::fs::write(&bench.spec, largest()).unwrap();
    let drive = Drive::read(&Source::new("large", largest().into()).unwrap())
        .drive
        .unwrap();
    std::fs::write(&bench.job, full(&drive).to_yaml()).unwrap();

    let links: Vec<String> = drive
        .engagements()
        .map(|(at, _)| format!("--link={}=on", tautmark::timing::name_of(&drive, at)))
        .collect();
    let look: Vec<&str> = ["--stage", "hung", "--by", "Robin"]
        .into_iter()
        .chain(links.iter().map(String::as_str))
        .collect();
    let before = bench.text();
    let refused = bench.job("look", &look, "09:00");
    assert_eq!(refused.status, Some(2), "{refused:?}");
    assert!(refused.stderr.contains("the record is full"), "{refused:?}");
    assert_eq!(bench.text(), before);

    // Smaller ones go in as long as there is room; then each is refused, too.
    let mut taken = 0;
    loop {
        let before = bench.text();
        let small = &look[..look.len().min(5 + 2 * (taken % 3))];
        let outcome = bench.job("look", small, "09:01");
        assert_eq!(
            outcome.stdout.is_empty(),
            outcome.status == Some(2),
            "{outcome:?}"
        );
        if outcome.status == Some(2) {
            assert!(outcome.stderr.contains("the record is full"), "{outcome:?}");
            assert_eq!(bench.text(), before);
            break;
        }
        taken += 1;
        let status = bench.job("status", &[], "09:02");
        assert_ne!(status.status, Some(2), "{status:?}");
        assert!(taken < 200);
    }
    let tick = bench.job("tick", &["step:hang", "--by", "Robin"], "09:03");
    assert_ne!(tick.status, Some(0), "{tick:?}");
    let void = [
        "--entry",
        "2",
        "--void",
        "--by",
        "Robin",
        "--why",
        "the other bay",
    ];
    let corrected = bench.job("correct", &void, "09:03");
    assert_eq!(corrected.status, Some(0), "{corrected:?}");
    let told = bench.command(&["check", &bench.spec, "--record", &bench.job]);
    assert!(told.stdout.contains("NOT PROVEN"), "{told:?}");
}

fn drive() -> Drive {
    let spec = std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    Drive::read(&Source::new(SPEC, spec.into()).unwrap())
        .drive
        .unwrap()
}

fn read(text: &str) -> (Option<Job>, Vec<&'static str>) {
    let spec = std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let drive = Drive::read(&Source::new(SPEC, spec.into()).unwrap())
        .drive
        .unwrap();
    let source = Source::new("job.yaml", text.into()).unwrap();
    let reading = Job::read(&source, &drive);
    // As a record it must not pass either.
    assert_eq!(
        reading.job.is_some(),
        Record::read(&source, &drive).record.is_some()
    );
    (
        reading.job,
        reading
            .findings
            .iter()
            .map(tautmark::Finding::code)
            .collect(),
    )
}

/// Every line of a job taken out, doubled, moved or changed by one character is noticed.
#[test]
fn an_edit_is_noticed_and_nothing_is_trusted_then() {
    let path = format!(
        "{}/tests/fixtures/job/signed-off.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = std::fs::read_to_string(path).unwrap();
    let (job, findings) = read(&text);
    assert_eq!(findings, [""; 0]);
    assert_eq!(job.unwrap().to_yaml(), text);
    let lines: Vec<&str> = text.lines().collect();
    let first = lines
        .iter()
        .position(|line| line.starts_with("  - "))
        .unwrap();
    let broken = |lines: &[&str], what: &str| {
        let (job, findings) = read(&format!("{}\n", lines.join("\n")));
        assert!(job.is_none(), "{what}");
        assert!(
            findings.iter().any(|code| [
                "history-broken",
                "history-cut",
                "missing-key",
                "not-yaml",
                "other-engine",
                "other-drive"
            ]
            .contains(code)),
            "{what}: {findings:?}"
        );
    };
    for i in first..lines.len() {
        let mut less = lines.clone();
        less.remove(i);
        broken(&less, "a line taken out");
        if i + 1 < lines.len() {
            let mut moved = lines.clone();
            moved.swap(i, i + 1);
            broken(&moved, "two lines swapped");
            let mut twice = lines.clone();
            twice.insert(i, lines[i]);
            broken(&twice, "a line doubled");
            let mut cut = lines[..=i].to_vec();
            if i + 2 < lines.len() {
                cut.push(lines[lines.len() - 1]);
                broken(&cut, "the end cut off");
            }
        }
    }
    for (from, to) in [
        ("2 behind", "1 behind"),
        ("count: 1", "count: 2"),
        ("by: Robin", "by: Raven"),
        ("10:30:00Z", "10:31:00Z"),
        ("spec: engines", "spec: Engines"),
        ("  - { part: chain", "  - {  part: chain"),
    ] {
        assert!(text.contains(from), "{from}");
        let changed = text.replacen(from, to, 1);
        let (job, findings) = read(&changed);
        assert!(job.is_none(), "{to}");
        assert_eq!(findings, ["history-broken"], "{to}");
    }
    // The history ends with its last line, so nothing can be put behind that.
    let (job, findings) = read(&format!("{text}# note\n"));
    assert!(job.is_none());
    assert_eq!(findings, ["history-cut"]);
    // A comment and an editor's line ends are no edit of the history.
    for same in [format!("# note\n{text}"), text.replace('\n', "\r\n")] {
        assert!(read(&same).0.is_some());
    }
    let newer = text.replace("tautmark_record: 6", "tautmark_record: 7");
    assert!(read(&newer).1.contains(&"out-of-range"));
}

#[test]
fn a_history_of_any_deeds_reads_back_as_it_was_written() {
    let spec = std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let drive = Drive::read(&Source::new(SPEC, spec.into()).unwrap())
        .drive
        .unwrap();
    let at: Timestamp = "2024-11-25T08:00:00Z".parse().unwrap();
    let mut job = Job::begin(
        &drive,
        "a \"b\" \\ c: #.yaml",
        at,
        Some("\"'{}[]: #&*!|>%@`,-?é"),
    )
    .unwrap();
    for text in [
        "part:chain=0",
        "part:sealant=999999",
        "ordered:guide",
        "torque:guide-bolt",
        "step:sign-off",
    ] {
        let item: Item = text.parse().unwrap();
        let author = tautmark::job::Authorship {
            at,
            by: Some("- a: {b}"),
            overriding: Some("because: \"#1\", it's ] } so"),
        };
        job.tick(&drive, &item, author).unwrap();
        let source = Source::new("job.yaml", job.to_yaml().into()).unwrap();
        let again = Job::read(&source, &drive);
        assert!(again.findings.is_empty(), "{:?}", again.findings);
        assert_eq!(again.job.unwrap(), job);
        // Another reader of YAML sees the same number of entries.
        let other: serde_yaml::Value = serde_yaml::from_str(&job.to_yaml()).unwrap();
        assert_eq!(
            other["history"].as_sequence().unwrap().len(),
            job.entries().len()
        );
    }
}

#[test]
fn a_record_takes_so_much_and_no_more() {
    let spec = std::fs::read_to_string(format!("{}/{SPEC}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let drive = Drive::read(&Source::new(SPEC, spec.into()).unwrap())
        .drive
        .unwrap();
    let at: Timestamp = "2024-11-25T08:00:00Z".parse().unwrap();
    let mut job = Job::begin(&drive, "x", at, None).unwrap();
    let author = tautmark::job::Authorship {
        at,
        by: None,
        overriding: None,
    };
    let item: Item = "ordered:guide".parse().unwrap();
    for _ in 1..1900 {
        job.tick(&drive, &item, author).unwrap();
    }
    let full = job.tick(&drive, &item, author).unwrap_err();
    assert!(full.to_string().contains("record is full"), "{full}");
    let source = Source::new("job.yaml", job.to_yaml().into()).unwrap();
    assert!(Job::read(&source, &drive).job.is_some());
    // What is wrong in it can still be put right, a hundred times, with the longest reason there is.
    let named = tautmark::job::Authorship {
        by: Some("Kim"),
        ..author
    };
    let why = "é".repeat(200);
    for entry in 2..102 {
        job.correct(&drive, entry, None, &why, named).unwrap();
    }
    let full = job.correct(&drive, 102, None, &why, named).unwrap_err();
    assert!(full.to_string().contains("record is full"), "{full}");
    let source = Source::new("job.yaml", job.to_yaml().into()).unwrap();
    let again = Job::read(&source, &drive);
    assert!(again.findings.is_empty(), "{:?}", again.findings);
    assert_eq!(again.job.unwrap(), job);
}
