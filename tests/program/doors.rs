//! One proof, one door: whichever way the same look is asked about, the verdict and whether the
//! tensioner may be released are the same.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::job::{BEFORE_HANGING, KIT};
use crate::safe_moves::{V6_BEFORE_HANGING, V6_KIT};
use crate::support::dice::Dice;
use crate::support::program::{ENGINES, engine, scratch, tautmark, tautmark_fed};
use serde_json::{Value, json};
use tautmark::{
    Check, Drive, Observations, Seen, Source, Verdict, check, dot_named,
    job::{Answer, Interview, Look, Record, Reply, Sight, Step},
    link_named,
    spec::{Rotation, Stage},
    timing::name_of,
    units::Turns,
};

/// What was typed for one look.
#[derive(Clone, Debug, Default)]
struct Typed {
    links: Vec<(String, String)>,
    dots: Vec<(String, String)>,
    turned: u8,
}

impl Typed {
    fn seen(&self, drive: &Drive) -> Option<Observations> {
        let mut seen = Observations::after(Turns::whole(self.turned.into())).unwrap();
        for (name, what) in &self.links {
            seen.see_link(drive, link_named(drive, name).ok()?, what.parse().ok()?)
                .ok()?;
        }
        for (name, what) in &self.dots {
            let what: Seen = what.parse().ok()?;
            seen.see_dot(drive, dot_named(drive, name, what).ok()?, what)
                .ok()?;
        }
        Some(seen)
    }

    fn arguments(&self) -> Vec<String> {
        let mut found = vec![format!("--turned={}", self.turned)];
        found.extend(
            self.links
                .iter()
                .map(|(n, what)| format!("--link={n}={what}")),
        );
        found.extend(
            self.dots
                .iter()
                .map(|(n, what)| format!("--dot={n}={what}")),
        );
        found
    }

    fn line(&self) -> Value {
        let map = |pairs: &[(String, String)]| -> Value {
            pairs
                .iter()
                .map(|(n, what)| (n.clone(), json!(what)))
                .collect()
        };
        json!({ "turned": self.turned, "links": map(&self.links), "dots": map(&self.dots) })
    }
}

/// Looks of every kind: whole, partial, contradicting, half turns, far off, after turning.
fn looks(drive: &Drive, dice: &mut Dice, count: usize) -> Vec<Typed> {
    let links: Vec<String> = drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.mark().is_some())
        .map(|(at, _)| name_of(drive, at))
        .collect();
    let dots: Vec<String> = drive
        .shafts()
        .filter(|(id, _)| drive.is_marked(*id))
        .map(|(_, shaft)| shaft.name().to_owned())
        .collect();
    let mut found = Vec::new();
    let all = |names: &[String]| -> Vec<(String, String)> {
        names
            .iter()
            .map(|name| (name.clone(), "on".into()))
            .collect()
    };
    for turned in [0, 2] {
        found.push(Typed {
            links: all(&links),
            turned,
            ..Typed::default()
        });
        found.push(Typed {
            dots: all(&dots),
            turned,
            ..Typed::default()
        });
        found.push(Typed {
            links: all(&links),
            dots: all(&dots),
            turned,
        });
    }
    while found.len() < count {
        // Most marks are as they should be; the rest is anything.
        let (seldom, turned) = (dice.roll(4), [0, 0, 0, 1, 2][dice.place(5)]);
        let say = |dice: &mut Dice| match dice.roll(9) {
            n if n > seldom => "on".to_owned(),
            0 => "1/2 behind".into(),
            1 => format!("link {}", dice.roll(90)),
            2 => "180 deg".into(),
            _ => {
                let teeth = i64::try_from(dice.roll(7)).unwrap() - 3;
                format!("{teeth:+}")
            }
        };
        let mut typed = Typed {
            turned,
            ..Typed::default()
        };
        let (skip_links, skip_dots) = (dice.roll(6), dice.roll(3));
        for name in &links {
            if dice.roll(6) >= skip_links {
                typed.links.push((name.clone(), say(dice)));
            }
        }
        for name in &dots {
            if skip_dots > 0 && dice.roll(3) < skip_dots {
                typed.dots.push((name.clone(), say(dice)));
            }
        }
        found.push(typed);
    }
    found
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InTime => "in time",
        Verdict::OutOfTime => "out of time",
        Verdict::NotProven => "not proven",
    }
}

/// Where nothing holds the chain back, the release is the tightening.
fn lets_go(text: &str) -> bool {
    text.contains("may be released.") || text.contains("may be tightened.")
}

/// Does a headline say the verdict, and let the tensioner go only where it may?
fn says(text: &str, verdict: Verdict, release: bool) -> bool {
    let headline = match verdict {
        Verdict::InTime if release => "IN TIME.",
        Verdict::InTime => "IN TIME by the links.",
        Verdict::OutOfTime => "OUT OF TIME.",
        Verdict::NotProven => "NOT PROVEN.",
    };
    // On a belt they are the belt's.
    let belt = headline.replace("by the links", "by the belt");
    (text.contains(headline) || text.contains(&belt)) && lets_go(text) == release
}

#[test]
fn every_door_gives_the_same_verdict_and_the_same_release() {
    let dir = scratch("doors");
    let (mut dice, mut compared) = (Dice(7), 0);
    let mut met = [0_usize; 4];
    for name in ENGINES.iter() {
        let path = engine(name);
        let source = Source::new(path.clone(), std::fs::read(&path).unwrap()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        let looks = looks(&drive, &mut dice, 260);
        let lines: String = looks
            .iter()
            .map(|typed| format!("{}\n", typed.line()))
            .collect();
        let stream = tautmark_fed(&["check", &path, "--records", "-"], lines.as_bytes());
        let answers: Vec<Value> = stream
            .stdout
            .lines()
            .filter(|line| line.starts_with('{'))
            .map(|line| serde_json::from_str(line).unwrap())
            .collect();
        assert_eq!(answers.len(), looks.len(), "{name}");
        for (i, (typed, answer)) in looks.iter().zip(&answers).enumerate() {
            let Some(seen) = typed.seen(&drive) else {
                assert!(answer["error"].is_string(), "{name} {typed:?}: {answer}");
                continue;
            };
            let proof = check(&drive, &seen).unwrap();
            let (verdict, release) = (proof.verdict(), proof.release_tensioner());
            met[verdict as usize] += 1;
            met[3] += usize::from(release);
            assert!(!release || verdict == Verdict::InTime);
            let expected = (json!(word(verdict)), json!(release));
            let of = |value: &Value| (value["verdict"].clone(), value["release_tensioner"].clone());
            assert_eq!(of(answer), expected, "{name} {typed:?}");
            compared += 1;
            // The doors that need a program each: every eighth look, and the whole ones.
            if i > 6 && i % 8 != 0 {
                continue;
            }
            let typed_arguments = typed.arguments();
            let run = |command: &str, more: &[&str]| {
                let mut arguments = vec![command, &path];
                arguments.extend(typed_arguments.iter().map(String::as_str));
                arguments.extend(more);
                tautmark(&arguments)
            };
            let text = run("check", &[]);
            let json = run("check", &["--format", "json"]);
            assert_eq!(of(&json.json()), expected, "{name} {typed:?}");
            assert!(
                says(&text.stdout, verdict, release),
                "{name} {typed:?}\n{}",
                text.stdout
            );
            assert_eq!(text.status, Some(i32::from(!release)), "{name} {typed:?}");
            assert_eq!(json.status, text.status);
            let drawn = run("draw", &["--format", "text"]);
            // With nothing looked at it is drawn as it should be.
            let looked = !typed.links.is_empty() || !typed.dots.is_empty();
            if drawn.status == Some(0) && looked {
                assert!(
                    says(&drawn.stdout, verdict, release),
                    "{name} {typed:?}\n{}",
                    drawn.stdout
                );
            }
            if typed.turned == 0 {
                let mut record = Record::new(&drive, "spec");
                record.looks.push(Look::new(Stage::Hung, seen, Vec::new()));
                let file = dir.join("record.yaml");
                std::fs::write(&file, record.to_yaml(&drive)).unwrap();
                let file = file.to_str().unwrap();
                let told = tautmark(&["check", &path, "--record", file, "--format", "json"]).json();
                assert_eq!(
                    told["release_tensioner"],
                    json!(release),
                    "{name} {typed:?}"
                );
                assert_eq!(of(&told["stages"][0]), expected, "{name} {typed:?}");
            }
        }
    }
    assert!(compared > 1_500, "{compared}");
    assert!(met.iter().all(|count| *count > 20), "{met:?}");
}

/// One conversation up to the first stage's verdict: the keys that were typed, and what they said.
struct Talk {
    keys: String,
    said: Observations,
    /// Everything that was asked to be said was affirmed.
    affirmed: bool,
}

/// Answers whatever is asked at the first stage by the dice; the interview tells what is asked next, as
/// it does to `ask`, and the keys are what somebody types for those answers.
fn talk(drive: &Drive, dice: &mut Dice, right: u64) -> Talk {
    let mut interview = Interview::new(drive, "spec").unwrap();
    let mut talk = Talk {
        keys: String::new(),
        said: Observations::at_timed_position(),
        affirmed: true,
    };
    loop {
        let (keys, reply) = match interview.step() {
            Step::Ready(Stage::Hung) => {
                // Facing it, where the crankshaft turns as the spec has it.
                let way = match drive.crank_turns() {
                    Rotation::Clockwise => "1",
                    Rotation::CounterClockwise => "2",
                };
                (format!("y\n1\n{way}"), Reply::Ready)
            }
            // The crankshaft is asked for first; where it is off, everything is.
            Step::Ask(question) => {
                let off = dice.roll(10) >= right;
                let (keys, answer) = match dice.roll(8) {
                    _ if !off => ("1".to_owned(), Answer::Seen("on".parse().unwrap())),
                    0 | 1 => ("4".to_owned(), Answer::NotSeen),
                    n => {
                        let (key, word) = [("2", "ahead"), ("3", "behind")][dice.place(2)];
                        let teeth = ["1", "2", "1/2", "3"][usize::try_from(n).unwrap() % 4];
                        let seen = format!("{teeth} {word}").parse().unwrap();
                        (format!("{key}\n{teeth}"), Answer::Seen(seen))
                    }
                };
                if let Answer::Seen(seen) = answer {
                    match question.sight {
                        Sight::Link(at) => talk.said.see_link(drive, at, seen),
                        Sight::Dot(at) => talk.said.see_dot(drive, at, seen),
                    }
                    .unwrap();
                }
                (keys, Reply::Answer(answer))
            }
            Step::Say(_, what) => {
                let so = dice.roll(12) > 0;
                talk.affirmed &= so;
                let yes = so != what.is_asked_the_other_way();
                (if yes { "y" } else { "n" }.to_owned(), Reply::Said(so))
            }
            Step::Confirm(Stage::Hung) => ("y".to_owned(), Reply::Ready),
            // Out of time, not proven, or released next: that verdict stands on the last screen.
            _ => return talk,
        };
        talk.keys.push_str(&keys);
        talk.keys.push('\n');
        if interview.reply(reply).is_err() {
            // Asked again in the program, which then finds no more lines.
            return talk;
        }
    }
}

/// `ask` through a pipe; its draft through `check --record`, through `job look --record` and the gate
/// of the release; and the library: one verdict and one release for what was answered.
#[test]
fn asking_and_the_job_say_what_the_check_says() {
    let (mut dice, mut met) = (Dice(23), [0_usize; 5]);
    for name in ENGINES.iter() {
        let path = engine(name);
        let source = Source::new(path.clone(), std::fs::read(&path).unwrap()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        // What has to be there and done before the chain is hung, in a job of this engine's own.
        let before = match name.as_str() {
            "kestrel-four" => [&KIT[..], &BEFORE_HANGING].concat(),
            "siskin-v6" => [&V6_KIT[..], &V6_BEFORE_HANGING].concat(),
            _ => Vec::new(),
        };
        for i in 0..32 {
            let dir = scratch("asked");
            let file = |name: &str| dir.join(name).to_str().unwrap().to_owned();
            let (record, job) = (file("r.yaml"), file("job.yaml"));
            let talk = talk(&drive, &mut dice, [10, 8, 9, 6][i % 4]);
            let proof: Check = check(&drive, &talk.said).unwrap();
            let (verdict, release) = (proof.verdict(), proof.release_tensioner());
            met[verdict as usize] += 1;
            met[3] += usize::from(release && talk.affirmed);
            met[4] += usize::from(!talk.affirmed);
            let yesterday = ["--at", "2024-11-25T08:00:00Z"];
            let new = [&["job", "new", &path, "-o", &job][..], &yesterday].concat();
            let made = tautmark(&new);
            assert_eq!(made.status, Some(0), "{}", made.stderr);
            if !before.is_empty() {
                let tick = [
                    &["job", "tick", &path, &job, "--by", "Robin"][..],
                    &before,
                    &yesterday,
                ];
                let made = tautmark(&tick.concat());
                assert_eq!(made.status, Some(0), "{}", made.stderr);
            }

            let asked = tautmark_fed(&["ask", &path, "--record", &record], talk.keys.as_bytes());
            let told = || format!("{name} {:?}\n{}{}", talk.keys, asked.stdout, asked.stderr);
            assert_eq!(
                lets_go(&asked.stdout),
                release && talk.affirmed,
                "{}",
                told()
            );
            assert_eq!(
                asked.stdout.contains("OUT OF TIME. Do not "),
                verdict == Verdict::OutOfTime,
                "{}",
                told()
            );
            let end = format!(": {}", word(verdict));
            let first = |line: &str| line.starts_with("  1. before ") && line.contains(&end);
            assert!(asked.stdout.lines().any(first), "{end}: {}", told());

            let draft = format!("{record}.draft");
            let kept = tautmark(&["check", &path, "--record", &draft, "--format", "json"]).json();
            let expected = (json!(word(verdict)), json!(release));
            let of = |value: &Value| (value["verdict"].clone(), value["release_tensioner"].clone());
            assert_eq!(of(&kept["stages"][0]), expected, "{}", told());

            let looked = tautmark(&[
                "job", "look", &path, &job, "--record", &draft, "--by", "Robin",
            ]);
            // Where something was denied the marks are in time, and nothing is let go.
            let denied = release && !talk.affirmed;
            let so = if denied {
                looked.stdout.contains("IN TIME by the marks.") && !lets_go(&looked.stdout)
            } else {
                says(&looked.stdout, verdict, release)
            };
            assert!(so, "{}{}{}", told(), looked.stdout, looked.stderr);
            let status = tautmark(&["job", "status", &path, &job, "--format", "json"]).json();
            assert_eq!(of(&status["timing"]["stages"][0]), expected, "{}", told());
            let gate = [
                "job",
                "tick",
                &path,
                &job,
                "step:hang",
                "step:release",
                "--by",
                "Robin",
            ];
            let ticked = tautmark(&gate).status == Some(0);
            assert_eq!(ticked, release && talk.affirmed, "{}", told());
        }
    }
    assert!(met.iter().all(|count| *count > 8), "{met:?}");
}

/// A sentence that lets something go never stands under a verdict that holds it back, nor does
/// "the timing is right" under anything but "in time".
#[test]
fn no_sentence_contradicts_the_verdict_above_it() {
    let (mut dice, mut read) = (Dice(11), 0);
    for name in ENGINES.iter() {
        let path = engine(name);
        let source = Source::new(path.clone(), std::fs::read(&path).unwrap()).unwrap();
        let drive = Drive::read(&source).drive.unwrap();
        for typed in looks(&drive, &mut dice, 400) {
            let Some(seen) = typed.seen(&drive) else {
                continue;
            };
            let proof = check(&drive, &seen).unwrap();
            let text = tautmark::render::check_text(
                &drive,
                &seen,
                &proof,
                proof.fits(),
                &tautmark::render::PlainWords,
                false,
            );
            read += 1;
            let body = text.split("Cautions").next().unwrap();
            if proof.verdict() != Verdict::InTime {
                for word in ["timing is right", "is right.", "IN TIME"] {
                    assert!(
                        !body.contains(word),
                        "{name} {typed:?}: '{word}' in\n{body}"
                    );
                }
            }
            if proof.verdict() != Verdict::OutOfTime {
                assert!(!body.contains("What to move"), "{name} {typed:?}\n{body}");
            }
            for remedy in proof.remedies() {
                let around = drive.sprocket(remedy.at).teeth().to_exact();
                let twice = remedy.teeth.checked_add(remedy.teeth).unwrap().abs().get();
                assert!(remedy.teeth.get().is_whole() && !remedy.teeth.is_zero());
                assert!(twice <= around, "{name} {typed:?} {remedy:?}");
            }
        }
    }
    assert!(read > 2_000, "{read}");
}

/// All marks are where the spec says, and the spec says two things: no door lets the tensioner go.
#[test]
fn a_spec_that_contradicts_itself_lets_go_at_no_door() {
    let spec = format!(
        "{}/tests/fixtures/geometry/links-disagree.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    let dir = scratch("contradicting");
    let file = |name: &str| dir.join(name).to_str().unwrap().to_owned();
    let on = ["crank", "exhaust", "intake"].map(|name| format!("--link={name}=on"));
    let on: Vec<&str> = on.iter().map(String::as_str).collect();
    for format in ["text", "json"] {
        let told = tautmark(&[&["check", &spec, "--format", format][..], &on].concat());
        assert_eq!(told.status, Some(1), "{told:?}");
        assert!(!lets_go(&told.stdout), "{told:?}");
    }
    let told = tautmark(&[&["check", &spec, "--format", "json"][..], &on].concat()).json();
    assert_eq!(told["verdict"], "not proven");
    assert_eq!(told["release_tensioner"], false);

    let source = Source::new(spec.clone(), std::fs::read(&spec).unwrap()).unwrap();
    let drive = Drive::read(&source).drive.unwrap();
    let mut seen = Observations::at_timed_position();
    for (at, _) in drive.engagements() {
        seen.see_link(&drive, at, "on".parse().unwrap()).unwrap();
    }
    let mut record = Record::new(&drive, "spec");
    record.looks.push(Look::new(Stage::Hung, seen, Vec::new()));
    let kept = file("record.yaml");
    std::fs::write(&kept, record.to_yaml(&drive)).unwrap();
    let line = br#"{"links":{"crank":"on","exhaust":"on","intake":"on"}}"#;
    let (picture, job) = (file("p.svg"), file("j.yaml"));
    for told in [
        tautmark(&["check", &spec, "--record", &kept]),
        tautmark_fed(&["check", &spec, "--records", "-"], line),
        tautmark_fed(&["ask", &spec], b"y\n1\n1\n1\n1\n1\ny\ny\ny\ny\n"),
        tautmark(&["job", "new", &spec, "-o", &job]),
        tautmark(&[&["draw", &spec, "-o", &picture][..], &on].concat()),
        tautmark(&[&["draw", &spec, "--format", "text"][..], &on].concat()),
    ] {
        assert!(
            !lets_go(&told.stdout) && !told.stdout.contains("IN TIME"),
            "{told:?}"
        );
        let about =
            told.stderr.contains("contradicts itself") || told.stdout.contains("NOT PROVEN");
        assert!(about, "{told:?}");
    }
    let drawn = std::fs::read_to_string(&picture).unwrap_or_default();
    assert!(!lets_go(&drawn) && !drawn.contains("IN TIME"));
}
