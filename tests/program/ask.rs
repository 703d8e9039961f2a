//! `tautmark ask`, the real binary: through a pipe, and through a pseudo-terminal as at an engine.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{PATIENCE, program};
use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

const ON: &str = "1";
const YES: &str = "y";
const NO: &str = "n";

/// What is typed at the Kestrel up to the release: ready, every mark, what has to be said, and that it is so.
const HUNG: [&str; 10] = [YES, ON, ON, ON, ON, ON, YES, YES, YES, YES];
/// From there to the end.
const TO_THE_END: [&str; 11] = [YES, ON, ON, ON, NO, YES, YES, NO, ON, ON, ON];

fn all_in_place() -> Vec<&'static str> {
    [&HUNG[..], &TO_THE_END].concat()
}

fn engine(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("engines")
        .join(name)
}

fn kestrel() -> PathBuf {
    engine("kestrel-four.yaml")
}

fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = program();
    command.current_dir(folder).env_remove("NO_COLOR");
    command.args(arguments);
    command
}

pub(crate) struct Outcome {
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) status: Option<i32>,
}

/// From where it is seen, asked once in each run: facing the timing end, where the crankshaft turns as the spec
/// has it.
fn view(screen: &str, arguments: &[&str]) -> Option<&'static str> {
    if screen.contains("How do you see the timing end?") {
        return Some("1");
    }
    let counter = arguments.iter().any(|each| each.contains("tern-between"));
    let asked = screen.contains("Which way must the crankshaft turn");
    asked.then_some(if counter { "2" } else { "1" })
}

/// Runs it in `folder` with `lines` on a pipe; of `ask`, those from where it is seen are typed besides.
fn run(folder: &Path, arguments: &[&str], lines: &[&str]) -> Outcome {
    if arguments[0] == "ask" {
        let left = std::cell::RefCell::new(lines.iter());
        return converse(folder, arguments, |_| {
            left.borrow_mut().next().map(|line| (*line).to_owned())
        });
    }
    piped(folder, arguments, lines)
}

fn piped(folder: &Path, arguments: &[&str], lines: &[&str]) -> Outcome {
    let mut child = command(folder, arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let typed: String = lines.iter().map(|line| format!("{line}\n")).collect();
    // It may end before it has read everything.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let outcome = child.wait_with_output().unwrap();
    Outcome {
        out: String::from_utf8(outcome.stdout).unwrap(),
        err: String::from_utf8(outcome.stderr).unwrap(),
        status: outcome.status.code(),
    }
}

/// Runs it in `folder` and answers each screen by what stands on it, until `answer` gives nothing.
pub(crate) fn converse(
    folder: &Path,
    arguments: &[&str],
    answer: impl Fn(&str) -> Option<String>,
) -> Outcome {
    let mut child = command(folder, arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut typed = child.stdin.take();
    let mut shown = child.stdout.take().unwrap();
    let (mut out, mut screen) = (Vec::new(), Vec::new());
    let mut byte = [0];
    while shown.read(&mut byte).unwrap() == 1 {
        out.push(byte[0]);
        screen.push(byte[0]);
        if screen.ends_with(b"\n> ") || screen.ends_with(b"? ") && screen.contains(&b'=') {
            let text = String::from_utf8(std::mem::take(&mut screen)).unwrap();
            let line = match view(&text, arguments) {
                Some(line) => Some(line.to_owned()),
                None => answer(&text),
            };
            match (line, &mut typed) {
                (Some(line), Some(typed)) => {
                    // It may have ended by itself.
                    let _ = writeln!(typed, "{line}");
                }
                _ => typed = None,
            }
        }
    }
    drop(typed);
    let mut err = String::new();
    let mut errors = child.stderr.take().unwrap();
    errors.read_to_string(&mut err).unwrap();
    Outcome {
        out: String::from_utf8(out).unwrap(),
        err,
        status: child.wait().unwrap().code(),
    }
}

/// Everything in place, and everything so that is asked with y and n.
pub(crate) fn in_place(screen: &str) -> Option<String> {
    // Nothing to be done but to wait: leave.
    if screen.contains(" must be left alone until ") {
        return Some("q".to_owned());
    }
    if screen.contains("came off, all counted?") {
        return Some("1".to_owned());
    }
    let the_other_way = [
        "still in the engine?",
        "Did anything resist",
        "tight already?",
        "not on the bench?",
        "not tightened just so?",
    ];
    let key = if the_other_way.iter().any(|asked| screen.contains(asked)) {
        NO
    } else if screen.contains("\ny = ") {
        YES
    } else {
        ON
    };
    Some(key.to_owned())
}

fn ask(folder: &Path, arguments: &[&str], lines: &[&str]) -> Outcome {
    let spec = kestrel();
    let mut all = vec!["ask", spec.to_str().unwrap()];
    all.extend(arguments);
    run(folder, &all, lines)
}

fn check(folder: &Path, spec: &Path, record: &str) -> Outcome {
    run(
        folder,
        &["check", spec.to_str().unwrap(), "--record", record],
        &[],
    )
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

#[test]
fn every_engine_is_in_time_when_every_mark_is_in_place() {
    for (name, marks) in [
        ("buzzard-v8.yaml", 9 + 6 + 5),
        ("dipper-belt.yaml", 6 + 3 + 3),
        ("dunnock-facing.yaml", 2 + 2 + 2),
        ("heron-v6.yaml", 12 + 9 + 5),
        ("kestrel-four.yaml", 5 + 3 + 3),
        ("linnet-idler.yaml", 5 + 3 + 3),
        ("pipit-gears.yaml", 6 + 4 + 4),
        ("plover-three.yaml", 4 + 4 + 4),
        ("siskin-v6.yaml", 9 + 6 + 5),
        ("tern-between.yaml", 5 + 3 + 3),
        ("wren-single.yaml", 4 + 2 + 2),
    ] {
        let folder = folder();
        let spec = engine(name);
        let ask = ["ask", spec.to_str().unwrap(), "--record", "job.yaml"];
        let outcome = converse(folder.path(), &ask, in_place);
        assert_eq!(outcome.status, Some(0), "{name}: {}", outcome.out);
        assert_eq!(outcome.out.matches(". Mark ").count(), marks, "{name}");
        assert!(outcome.out.contains("IN TIME at all three stages."));
        // No terminal, no colours and no control of the screen.
        assert!(!outcome.out.contains('\u{1b}'));
        assert_eq!(files(folder.path()), ["job.yaml"], "the draft is gone");
        assert_eq!(check(folder.path(), &spec, "job.yaml").status, Some(0));

        // One answer fewer and nothing is proven.
        let last = format!(
            "Mark {0} of {0}",
            outcome
                .out
                .matches("Stage 3 of 3, after 2 turns by hand. Mark")
                .count()
        );
        let short = converse(folder.path(), &ask[..2], |screen| {
            let end = screen.contains("Stage 3 of 3") && screen.contains(&last);
            in_place(screen).filter(|_| !end)
        });
        assert_eq!(short.status, Some(1), "{name}");
        assert!(short.out.contains("NOT PROVEN."));
    }
    let all = std::fs::read_dir(engine("")).unwrap().count();
    assert_eq!(all, 10, "a new engine belongs into this list");
}

#[test]
fn the_end_of_input_proves_nothing_and_loses_nothing() {
    let folder = folder();
    let outcome = ask(folder.path(), &[], &[YES, ON]);
    assert_eq!(outcome.status, Some(1));
    assert!(outcome.out.contains("NOT PROVEN."));
    assert!(
        outcome
            .out
            .contains("Stopped. The answers are in kestrel-four.ask-draft.yaml")
    );
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);

    let nothing = tempfile::tempdir().unwrap();
    assert_eq!(ask(nothing.path(), &[], &[]).status, Some(1));
    assert!(files(nothing.path()).is_empty());
}

#[test]
fn a_last_line_without_its_end_is_an_answer() {
    let folder = folder();
    let spec = kestrel();
    let mut child = command(folder.path(), &["ask", spec.to_str().unwrap()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(b"y\n1\n1\n1")
        .unwrap();
    child.wait_with_output().unwrap();
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("crank: \"on\""), "{draft}");
}

#[test]
fn wrong_keys_get_one_line_and_the_question_again() {
    let folder = folder();
    let long = "9".repeat(5000);
    let wrong = ["7", "", "one", "\u{1b}[31m", "1 1", long.as_str()];
    let mut lines = vec![YES];
    lines.extend(wrong);
    lines.push("q");
    let outcome = ask(folder.path(), &[], &lines);
    assert_eq!(outcome.out.matches("Mark 1 of 3").count(), wrong.len() + 1);
    assert_eq!(
        outcome
            .out
            .matches("is not one of the keys 1, 2, 3, 4, 5, 0, q.")
            .count(),
        wrong.len()
    );
    assert!(outcome.out.contains("! Enter alone is not one of the keys"));
    assert!(
        outcome.out.contains("! '\\u{1b}[31m' is not one"),
        "{}",
        outcome.out
    );
    assert!(!outcome.out.contains('\u{1b}'));
    assert!(!outcome.out.contains(&"9".repeat(100)));
    assert!(files(folder.path()).is_empty(), "nothing was answered");
}

#[test]
fn a_number_of_teeth_is_asked_until_it_is_one() {
    let folder = folder();
    let lines = [
        YES, ON, "2", "many", "-1", "", "36", "3", "0", "3", "1/2", "q",
    ];
    let outcome = ask(folder.path(), &[], &lines);
    for bad in ["'many'", "'-1'", "''"] {
        let line = format!("! {bad} is not a number of teeth");
        assert!(outcome.out.contains(&line), "{bad}: {}", outcome.out);
    }
    // A whole turn of the sprocket puts the question again; 0 does too.
    assert!(
        outcome
            .out
            .contains("! The sprocket has 36 teeth; that is more than half of them.")
    );
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("exhaust: \"1/2 behind\""), "{draft}");
}

#[test]
fn exactly_half_a_turn_is_asked_back() {
    for (answer, kept) in [(YES, true), ("0", false)] {
        let folder = self::folder();
        let outcome = ask(folder.path(), &[], &[YES, ON, "2", "18", answer, "q"]);
        assert!(
            outcome.out.contains("exactly half a turn"),
            "{}",
            outcome.out
        );
        let draft = folder.path().join("kestrel-four.ask-draft.yaml");
        let draft = std::fs::read_to_string(draft).unwrap();
        assert_eq!(draft.contains("18 ahead"), kept, "{draft}");
    }
}

#[test]
fn back_shows_the_earlier_answer_and_enter_keeps_it() {
    let folder = folder();
    // Crank on, exhaust 2 ahead; back twice, Enter twice; then stop.
    let outcome = ask(
        folder.path(),
        &[],
        &[YES, ON, "2", "2", "0", "0", "", "", "q"],
    );
    assert!(
        outcome
            .out
            .contains("Your answer before: 2 teeth ahead (Enter keeps it)")
    );
    assert!(
        outcome
            .out
            .contains("Your answer before: where it belongs (Enter keeps it)")
    );
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("exhaust: \"2 ahead\""), "{draft}");
}

#[test]
fn back_leads_across_stages_and_a_changed_answer_counts() {
    let folder = folder();
    let mut lines = HUNG.to_vec();
    // Released; back to that, to the list, to what was said, to the last mark before it.
    lines.extend([YES, "0", "0", "0", "0", "0", "0"]);
    lines.extend(["0", "0"]); // and to the intake's
    lines.extend(["2", "1"]); // which is one tooth ahead after all
    lines.push("q");
    let outcome = ask(folder.path(), &[], &lines);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .out
            .contains("OUT OF TIME. Do not release the tensioner.")
    );
    // At the very first screen there is no way back.
    let first = ask(tempfile::tempdir().unwrap().path(), &[], &["0", "q"]);
    assert!(first.out.contains("! '0' is not one of the keys y, q."));
}

#[test]
fn a_mark_that_was_not_seen_is_asked_again_and_stays_unproven_until_then() {
    let folder = folder();
    let lines = [YES, ON, "4", ON];
    let outcome = ask(folder.path(), &[], &lines);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .out
            .contains("NOT PROVEN. Do not release the tensioner.")
    );
    assert!(!outcome.out.contains("y = it is released"), "never goes on");
    assert!(
        outcome
            .out
            .contains("the dot of exhaust against link 51 (yellow)")
    );
    assert!(
        !outcome.out.contains("--link"),
        "no arguments for a person who answers questions"
    );

    // Go on with the draft: look again, now at the one mark only.
    let again = ask(
        folder.path(),
        &[],
        &["n", ON, ON, ON, ON, YES, YES, YES, YES, YES, ON],
    );
    assert!(again.out.contains("with 3 answers from an earlier run"));
    assert!(again.out.contains("1 = look again at what was not seen"));
    // It, and the two dots that rule out a chain hung inside out; then the first of stage 2.
    assert_eq!(
        again
            .out
            .matches("Stage 1 of 3, before the tensioner is released. Mark ")
            .count(),
        3
    );
    assert!(
        again
            .out
            .contains("IN TIME. The tensioner may be released.")
    );
}

#[test]
fn a_cam_two_teeth_out_is_put_right_and_the_stage_repeated() {
    let folder = folder();
    let mut lines = vec![YES, ON, "3", "2", ON]; // exhaust 2 behind
    lines.push(ON); // put right
    lines.extend(all_in_place()); // all stages from the start
    let outcome = ask(folder.path(), &["--record", "job.yaml"], &lines);
    assert_eq!(outcome.status, Some(0), "{}", outcome.out);
    assert!(
        outcome
            .out
            .contains("turn the sprocket 2 teeth clockwise against the chain")
    );
    assert!(
        !outcome.out.contains("Enter keeps it"),
        "what was seen before says nothing now"
    );

    let checked = check(folder.path(), &kestrel(), "job.yaml");
    assert_eq!(checked.status, Some(0));
    assert!(checked.out.contains(
        "Looked at, but of no account now\n  - before the tensioner is released: out of time, but PROVES NOTHING: the chain was hung again since"
    ));
}

#[test]
fn a_reading_that_cannot_be_is_read_again_with_nothing_moved() {
    let folder = folder();
    let mut lines = vec![YES, ON, "3", "1/2", ON]; // half a tooth behind
    lines.push(ON); // look at every mark again
    lines.extend(["", ON, ""]); // it was on its link
    lines.extend([ON, ON, YES, YES, YES, YES]);
    lines.extend(TO_THE_END);
    let outcome = ask(folder.path(), &["--record", "job.yaml"], &lines);
    assert_eq!(outcome.status, Some(0), "{}", outcome.out);
    assert!(
        outcome
            .out
            .contains("NOT PROVEN. What now?\n1 = look at every mark again")
    );
    assert!(outcome.out.contains("Your answer before: 0.5 teeth behind"));
}

#[test]
fn a_slip_at_the_release_begins_again_before_it() {
    let folder = folder();
    let mut lines = HUNG.to_vec();
    lines.extend([YES, ON, "3", "1", ON]); // released; the exhaust has slipped
    lines.push(ON); // hung again
    lines.extend(all_in_place());
    let outcome = ask(folder.path(), &["--record", "job.yaml"], &lines);
    assert_eq!(outcome.status, Some(0), "{}", outcome.out);
    assert!(outcome.out.contains("OUT OF TIME. Do not turn the engine."));
    assert!(outcome.out.contains(
        "\nWhat to move\n  1. Push the tensioner back and lock it, before anything else is moved.\n"
    ));
    assert!(!outcome.out.contains("Keep the tensioner held back"));
    assert_eq!(
        outcome
            .out
            .matches("Stage 1 of 3, before the tensioner is released. Mark 1")
            .count(),
        2
    );
}

#[test]
fn out_of_time_can_be_saved_as_it_is() {
    let folder = folder();
    let lines = [YES, ON, ON, "3", "1", "2"];
    let outcome = ask(folder.path(), &["--record", "job.yaml"], &lines);
    assert_eq!(outcome.status, Some(1));
    assert_eq!(files(folder.path()), ["job.yaml"]);
    let checked = check(folder.path(), &kestrel(), "job.yaml");
    assert_eq!(checked.status, Some(1));
    assert!(checked.out.contains("OUT OF TIME."));
}

#[test]
fn a_record_never_goes_over_a_file() {
    let folder = folder();
    std::fs::write(folder.path().join("job.yaml"), "mine").unwrap();
    let outcome = ask(folder.path(), &["--record", "job.yaml"], &[ON; 13]);
    assert_eq!(outcome.status, Some(2));
    assert_eq!(outcome.out, "", "refused before anything is asked");
    assert!(outcome.err.contains("'job.yaml' already exists"));
    assert_eq!(
        std::fs::read_to_string(folder.path().join("job.yaml")).unwrap(),
        "mine"
    );

    let nowhere = ask(folder.path(), &["--record", "no/such/job.yaml"], &[ON; 13]);
    assert_eq!((nowhere.status, nowhere.out.as_str()), (Some(2), ""));

    let spec = run(folder.path(), &["ask", "-"], &[ON]);
    assert_eq!(spec.status, Some(2));
}

#[test]
fn a_draft_is_declined_only_by_asking() {
    let folder = folder();
    ask(folder.path(), &[], &[YES, ON]);
    // Neither a wrong key nor the end of input touches it.
    let outcome = ask(folder.path(), &[], &["5"]);
    assert!(outcome.out.contains("with 1 answer from an earlier run"));
    assert_eq!(outcome.status, Some(1));
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);
    let draft =
        || std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    let kept = draft();
    // That something was moved is kept at once: what was seen before says nothing in any later run.
    let outcome = ask(folder.path(), &[], &["y", "q"]);
    assert!(outcome.out.contains("y = ready"));
    assert_ne!(draft(), kept);
    assert!(
        draft().contains("stale: something was moved"),
        "{}",
        draft()
    );
    ask(folder.path(), &[], &["n", YES, "4", "q"]);
    assert!(draft().contains("- link crank"), "{}", draft());
}

#[test]
fn a_draft_that_cannot_be_used_is_reported_and_set_aside_only_by_asking() {
    let kept = {
        let folder = folder();
        ask(folder.path(), &[], &[YES, ON]);
        std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap()
    };
    let other_drive = kept.replace("drive: ", "drive: \"0\" # ");
    let other_engine = kept.replace("Kestrel 2.0", "Kestrel 2.2");
    let unasked = kept.replace(
        "crank: \"on\"",
        "crank: \"on\"\n    dots:\n      intake: \"on\"",
    );
    for (draft, said) in [
        ("stages: [", "this is not valid YAML"),
        ("", "there is no record in this file"),
        (&kept[..kept.len() - 20], ""),
        (&other_drive, "[other-drive]"),
        (&other_engine, "[other-engine]"),
        (&unasked, "holds answers that this spec does not ask for"),
    ] {
        let folder = folder();
        let path = folder.path().join("kestrel-four.ask-draft.yaml");
        std::fs::write(&path, draft).unwrap();
        let outcome = ask(folder.path(), &[], &["q"]);
        assert_eq!(outcome.status, Some(1), "{draft}");
        assert!(outcome.err.contains(said), "{draft}: {}", outcome.err);
        assert!(outcome.out.contains("cannot be used here"), "{draft}");
        assert_eq!(std::fs::read_to_string(&path).unwrap(), draft);

        let outcome = ask(folder.path(), &[], &["1", YES, ON, "q"]);
        assert!(
            outcome
                .out
                .contains("The draft is now called kestrel-four.ask-draft.yaml.1.")
        );
        let aside = folder.path().join("kestrel-four.ask-draft.yaml.1");
        assert_eq!(std::fs::read_to_string(aside).unwrap(), draft);
        assert!(
            std::fs::read_to_string(&path)
                .unwrap()
                .contains("crank: \"on\"")
        );
    }
}

#[test]
fn a_draft_belongs_beside_its_record() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("jobs")).unwrap();
    ask(folder.path(), &["--record", "jobs/a.yaml"], &[YES, ON]);
    assert_eq!(files(&folder.path().join("jobs")), ["a.yaml.draft"]);
}

#[test]
fn a_new_spec_is_written_whole_or_not_at_all() {
    let folder = folder();
    let new = ["new", "-o", "spec.yaml"];
    let printed = run(folder.path(), &["new"], &[]).out;
    assert_eq!(run(folder.path(), &new, &[]).status, Some(0));
    let read = || std::fs::read_to_string(folder.path().join("spec.yaml")).unwrap();
    assert_eq!(read(), printed);
    std::fs::write(folder.path().join("spec.yaml"), "mine").unwrap();
    let again = run(folder.path(), &new, &[]);
    assert_eq!(again.status, Some(2));
    assert!(again.err.contains("'spec.yaml' already exists"));
    assert_eq!(read(), "mine");
    assert_eq!(
        files(folder.path()),
        ["spec.yaml"],
        "nothing is left beside it"
    );
}

#[cfg(unix)]
#[test]
fn a_record_that_is_there_by_the_end_is_kept_and_so_are_the_answers() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = folder();
    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "dumb");
    begin(&mut session);
    all_but_the_last(&mut session);
    session.exp_string("> ").unwrap();
    std::fs::write(folder.path().join("job.yaml"), "another's").unwrap();
    session.send_line(ON).unwrap();
    let mut shown = session
        .exp_string("(the answers are still in 'job.yaml.draft')")
        .unwrap();
    shown += &session.exp_string("(q = give up)? ").unwrap();
    assert!(
        shown.contains("IN TIME at all three stages.") && shown.contains("NOT KEPT"),
        "{shown}"
    );
    session.send_line("q").unwrap();
    session.exp_eof().unwrap();
    assert_eq!(status(&session), 2);
    let read = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    assert_eq!(read("job.yaml"), "another's");
    let checked = check(folder.path(), &kestrel(), "job.yaml.draft");
    assert_eq!(checked.status, Some(0), "nothing of it is lost");
    // As readable as any other file that is made.
    let mode = |name: &str| {
        let about = std::fs::metadata(folder.path().join(name)).unwrap();
        about.permissions().mode()
    };
    assert_eq!(mode("job.yaml.draft"), mode("job.yaml"));
}

/// Stage 1 with every coloured link in place, up to the dots that rule out a look-alike.
const LINKS_ON: [&str; 4] = [YES, ON, ON, ON];

#[test]
fn links_in_place_do_not_prove_that_the_chain_is_not_inside_out() {
    let folder = folder();
    let outcome = ask(folder.path(), &[], &LINKS_ON);
    assert!(outcome.out.contains(
        "Mark 4 of 5\n\nThe links alone would look the same if the chain were inside out."
    ));
    assert!(!outcome.out.contains("may be released"), "{}", outcome.out);

    // Neither dot could be seen: said plainly, and nobody's word goes on from there.
    let skipped = tempfile::tempdir().unwrap();
    let mut lines = LINKS_ON.to_vec();
    lines.extend(["4", "4", YES, YES, YES, YES, YES]);
    let outcome = ask(skipped.path(), &[], &lines);
    assert!(
        outcome
            .out
            .contains("NOT RULED OUT: the chain hung inside out.")
    );
    assert!(
        outcome
            .out
            .contains("! 'y' is not one of the keys 2, 0, q."),
        "{}",
        outcome.out
    );
    assert!(!outcome.out.contains("may be released"));
    let draft =
        std::fs::read_to_string(skipped.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("not-inside-out: \"yes\""), "{draft}");
    // The next run is asked the same before it may go on.
    let again = ask(skipped.path(), &[], &["n"]);
    assert!(again.out.contains("2 = look again") && !again.out.contains("may be released"));
    let again = ask(skipped.path(), &[], &["n", "2", ON, ON, YES]);
    assert!(again.out.contains("y = yes, that is what I saw"));
    assert!(again.out.contains("may be released"));
}

#[test]
fn a_dot_that_is_off_under_links_in_place_stops_before_the_release() {
    let mut lines = LINKS_ON.to_vec();
    lines.extend([ON, "3", "1"]);
    let outcome = ask(folder().path(), &[], &lines);
    assert!(outcome.out.contains("Do not release the tensioner."));
    assert!(!outcome.out.contains("may be released"));
    assert!(
        outcome
            .out
            .contains("If those dots are as you saw them, hang the chain again.")
    );
}

#[test]
fn an_old_draft_is_asked_about_before_any_verdict() {
    let folder = folder();
    ask(folder.path(), &[], &HUNG[..9]);
    let outcome = ask(folder.path(), &[], &[]);
    assert!(outcome.out.contains("Has anything been moved since?"));
    assert!(outcome.out.contains("  exhaust  dot on its link\n"));
    assert!(!outcome.out.contains("released."), "{}", outcome.out);
    // Nothing moved: the answers are read back first.
    let outcome = ask(folder.path(), &[], &["n"]);
    assert!(outcome.out.contains("This is what you answered"));
    assert!(!outcome.out.contains("may be released"));
}

#[test]
fn ahead_and_behind_are_typed_as_words_and_read_back() {
    let outcome = ask(
        folder().path(),
        &[],
        &[YES, "on", "B", "2", "ahead", "1", "q"],
    );
    assert!(outcome.out.contains(
        "1 = on it   2 = ahead   3 = behind   4 = could not see it   0 = back   q = stop"
    ));
    for said in [
        "How many teeth BEHIND?",
        "How many teeth AHEAD?",
        "Noted: crank: dot on its link.",
        "Noted: exhaust: dot 2 teeth behind its link.",
        "Noted: intake: dot 1 tooth ahead of its link.",
    ] {
        assert!(outcome.out.contains(said), "{said}");
    }
}

#[test]
fn links_of_one_colour_are_told_apart_by_their_order() {
    let folder = folder();
    let shown = |name: &str, marks: usize| {
        let spec = engine(name);
        let ask = ["ask", spec.to_str().unwrap()];
        run(
            folder.path(),
            &ask,
            &[&[YES][..], &vec![ON; marks - 1]].concat(),
        )
        .out
    };
    let kestrel = shown("kestrel-four.yaml", 4);
    for said in [
        "on the first yellow link after the blue one, the way the chain travels (link 51).\n  When right, it points just left of 12 o'clock.",
        "on the second yellow link after the blue one, the way the chain travels (link 68).\n  When right, it points just right of 12 o'clock.",
    ] {
        assert!(kestrel.contains(said), "{said}");
    }
    let tern = shown("tern-between.yaml", 4);
    assert!(tern.contains("the second such pair after the blue one"));
    // One of its colour needs no order.
    assert!(shown("wren-single.yaml", 3).contains("on the yellow link (link 48)."));
    // Where no colour stands alone, the links between tell them apart.
    let text = std::fs::read_to_string(engine("kestrel-four.yaml")).unwrap();
    let path = folder.path().join("yellow.yaml");
    std::fs::write(&path, text.replace("blue", "yellow")).unwrap();
    let yellow = run(folder.path(), &["ask", "yellow.yaml"], &[YES, ON, ON, ON]).out;
    for gap in [51, 17, 50] {
        let said = format!("from which it is {gap} links to the next coloured place");
        assert!(yellow.contains(&said), "{said}: {yellow}");
    }
}

#[test]
fn a_drive_without_a_tensioner_is_tightened_and_not_released() {
    let folder = folder();
    let spec = engine("dunnock-facing.yaml");
    let ask = ["ask", spec.to_str().unwrap()];
    let outcome = converse(folder.path(), &ask, in_place);
    assert_eq!(outcome.status, Some(0), "{}", outcome.out);
    // The general caution is all that is said of one.
    let rest = outcome.out.replace(
        "A tensioner stores energy: no fingers in the drive when it is released.",
        "",
    );
    assert!(!rest.contains("tensioner"), "{rest}");
    assert!(!rest.contains("release"), "{rest}");
    assert!(rest.contains("Stage 2 of 3, after everything is tightened"));
    assert!(rest.contains("at its reference mark (or the other dot that it faces)."));
    let off = tempfile::tempdir().unwrap();
    let outcome = run(off.path(), &ask, &[YES, ON, "3", "1"]);
    assert!(
        outcome
            .out
            .contains("OUT OF TIME. Do not tighten anything.")
    );
    assert!(outcome.out.contains("\nWhat to move\n  1. Lift the chain"));
}

#[test]
fn a_crankshaft_that_was_not_seen_stays_to_be_looked_at() {
    let outcome = ask(folder().path(), &[], &[YES, "4", ON, ON]);
    assert!(outcome.out.contains("NOT PROVEN. Do not release"));
    assert!(
        outcome
            .out
            .contains("  - the dot of crank against link 0 (blue)")
    );
}

#[test]
fn links_that_are_all_off_alike_are_not_passed_over() {
    let mut lines = vec![YES];
    lines.extend(["2", "2"].repeat(3));
    lines.extend([ON, ON, YES, YES, YES, YES]);
    let outcome = ask(folder().path(), &[], &lines);
    let remark = "every dot that was looked at is 2 links ahead of its coloured link.";
    // With the answers, and with the verdict on the stage.
    assert_eq!(outcome.out.matches(remark).count(), 2, "{}", outcome.out);
    assert!(outcome.out.contains("may be released"));
}

// What a tired, hurried or interrupted person does.

/// The same key forty times, whichever it is, opens nothing: neither anew nor from where a draft stands.
#[test]
fn one_key_pressed_again_and_again_opens_nothing() {
    let drafts: Vec<Option<Vec<&str>>> = vec![
        None,
        Some(HUNG[..6].to_vec()),
        Some(HUNG.to_vec()),
        Some([&HUNG[..], &TO_THE_END[..2]].concat()),
        Some([&HUNG[..], &TO_THE_END[..6]].concat()),
    ];
    for name in ["kestrel-four.yaml", "dunnock-facing.yaml", "heron-v6.yaml"] {
        for typed in &drafts {
            if typed.is_some() && name != "kestrel-four.yaml" {
                continue;
            }
            for key in ["1", "2", "3", "4", "0", "y", "n", "", "on", "yes", "no"] {
                let folder = folder();
                let spec = engine(name);
                let arguments = ["ask", spec.to_str().unwrap()];
                if let Some(typed) = typed {
                    run(folder.path(), &arguments, typed);
                }
                let outcome = run(folder.path(), &arguments, &[key; 40]);
                assert_eq!(outcome.status, Some(1), "{name} {key}: {}", outcome.out);
                assert!(!outcome.out.contains("IN TIME at all"), "{name} {key}");
                // Of a draft the gate may have been open already; nothing new is opened.
                if typed.as_ref().is_none_or(|typed| typed.len() < 8) {
                    assert!(!outcome.out.contains("may be released"), "{name} {key}");
                    assert!(!outcome.out.contains("may be tightened"), "{name} {key}");
                }
            }
        }
    }
}

#[test]
fn what_was_moved_between_two_runs_stays_moved_however_often_it_breaks_off() {
    let folder = folder();
    ask(folder.path(), &[], &HUNG);
    // Broken off right after saying so, and once more after that.
    ask(folder.path(), &[], &["y"]);
    for _ in 0..2 {
        let outcome = ask(folder.path(), &[], &["n"]);
        assert!(!outcome.out.contains("may be released"), "{}", outcome.out);
        assert!(outcome.out.contains("y = ready"), "{}", outcome.out);
    }
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert_eq!(
        draft.matches("stale: something was moved").count(),
        1,
        "{draft}"
    );
    let checked = check(folder.path(), &kestrel(), "kestrel-four.ask-draft.yaml");
    assert!(
        checked
            .out
            .contains("PROVES NOTHING: something was moved since")
    );
    assert!(checked.out.contains("NOT PROVEN."), "{}", checked.out);
}

#[test]
fn a_chain_said_to_be_hung_again_stays_so_if_it_breaks_off_there() {
    let folder = folder();
    ask(folder.path(), &[], &[YES, ON, "3", "1", ON, ON]);
    let outcome = ask(folder.path(), &[], &["n"]);
    assert!(outcome.out.contains("y = ready"), "{}", outcome.out);
}

#[test]
fn a_number_mistyped_by_one_digit_stops_before_the_release() {
    for teeth in ["12", "11", "21", "17"] {
        let outcome = ask(folder().path(), &[], &[YES, ON, "2", teeth, ON]);
        assert!(!outcome.out.contains("may be released"), "{teeth}");
        assert!(!outcome.out.contains(YES_KEY), "{teeth}");
    }
}

const YES_KEY: &str = "y = yes, that is what I saw";

#[test]
fn an_answer_changed_at_an_earlier_stage_makes_the_later_ones_stale() {
    let folder = folder();
    let mut lines = all_in_place();
    lines.truncate(HUNG.len() + 4);
    // At "turned": back over stage 2 and its ready, over what was said, to the last mark of stage 1.
    lines.extend(["0"; 4]);
    lines.extend(["0", "0", "0", "0", "0", ON, "q"]);
    ask(folder.path(), &[], &lines);
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(
        draft.contains("stale: an earlier stage was looked at again"),
        "{draft}"
    );
}

#[test]
fn what_was_denied_keeps_the_tensioner_held() {
    for (answers, said) in [
        (
            &[YES, "n", YES][..],
            "a phaser is NOT locked in its parked position",
        ),
        (
            &[YES, YES, "n"],
            "NOT all slack lies on the tensioner's side",
        ),
        (
            &["n", YES, YES],
            "the tensioner is NOT held back by its pin or lock",
        ),
    ] {
        let folder = folder();
        let lines = [&HUNG[..6], answers].concat();
        let outcome = ask(folder.path(), &[], &lines);
        assert!(outcome.out.contains("STOP. Do not release the tensioner."));
        assert!(outcome.out.contains(said), "{}", outcome.out);
        assert!(!outcome.out.contains("may be released"));
        let checked = run(
            folder.path(),
            &[
                "check",
                kestrel().to_str().unwrap(),
                "--record",
                "kestrel-four.ask-draft.yaml",
                "--format",
                "json",
            ],
            &[],
        );
        assert!(
            checked.out.contains("\"release_tensioner\": false"),
            "{}",
            checked.out
        );
        // Put right: every mark again.
        let again = ask(folder.path(), &[], &["n", "1", YES, ON]);
        assert!(again.out.contains("Mark 2 of 3"), "{}", again.out);
    }
}

#[test]
fn after_a_failed_third_stage_the_dots_are_asked_for() {
    let folder = folder();
    let mut lines = all_in_place();
    lines.truncate(lines.len() - 2);
    lines.extend(["3", "1", ON]); // the exhaust is one behind after turning
    lines.extend([ON, YES]); // hung again
    let outcome = ask(folder.path(), &[], &lines);
    let rest = outcome
        .out
        .rsplit("Once more from the start")
        .next()
        .unwrap();
    assert!(
        rest.contains("the coloured links have moved off their dots"),
        "{rest}"
    );
    assert!(
        rest.contains("Its dot belongs at its reference mark on the engine."),
        "{rest}"
    );
    assert!(!rest.contains("yellow"), "{rest}");
    // And by dots it can be brought to its end, after a break too.
    let outcome = converse(
        folder.path(),
        &["ask", kestrel().to_str().unwrap()],
        |screen| {
            if screen.contains("n = no, nothing") {
                Some(NO.to_owned())
            } else {
                in_place(screen)
            }
        },
    );
    assert_eq!(outcome.status, Some(0), "{}", outcome.out);
}

#[test]
fn a_correction_that_makes_it_worse_by_itself_is_asked_about() {
    let folder = folder();
    let worse = [YES, ON, "3", "1", ON, ON, YES, ON, "3", "2", ON];
    let asks = "Do you stand facing the timing end, and look at it directly, not in a mirror?";
    let outcome = ask(
        folder.path(),
        &[],
        &[&worse[..], &["n", "1", YES, "q"]].concat(),
    );
    assert!(outcome.out.contains(asks), "{}", outcome.out);
    assert!(
        outcome
            .out
            .contains("1 = say from where, and look at every mark again")
    );
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(
        draft.contains("it was seen from the other side or in a mirror"),
        "{draft}"
    );
    // Worse by something else, or better: not asked.
    for teeth in ["1", "3"] {
        let mut other = worse;
        other[9] = teeth;
        let outcome = ask(tempfile::tempdir().unwrap().path(), &[], &other);
        assert!(!outcome.out.contains(asks), "{teeth}");
    }
}

#[test]
fn of_two_at_one_draft_the_second_is_told() {
    let folder = folder();
    let mut session = terminal(folder.path(), &[], "dumb");
    begin(&mut session);
    session.exp_string("Mark 1 of 3").unwrap();
    let second = ask(folder.path(), &[], &[YES, ON]);
    assert_eq!((second.status, second.out.as_str()), (Some(2), ""));
    assert!(
        second.err.contains("another program is at it already"),
        "{}",
        second.err
    );
    session.exp_string("> ").unwrap();
    session.send_line("q").unwrap();
    session.exp_eof().unwrap();
    status(&session);
    assert_eq!(ask(folder.path(), &[], &[YES, ON]).status, Some(1));
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);
}

#[test]
fn a_draft_of_a_job_is_offered_for_that_job_alone() {
    let folder = folder();
    let spec = kestrel();
    for job in ["a.yaml", "b.yaml"] {
        let new = ["job", "new", spec.to_str().unwrap(), "-o", job, "--by", job];
        assert_eq!(run(folder.path(), &new, &[]).status, Some(0));
    }
    let of = |job: &'static str, lines: &[&str]| {
        ask(
            folder.path(),
            &["--job", job, "--record", "looks.yaml"],
            lines,
        )
    };
    // Nothing is missing, the teardown is done, both bolts are tight, the fitting is done.
    let mut lines = vec![NO; 8];
    lines.extend([YES, NO, NO, YES, YES, ON]);
    of("a.yaml", &lines);
    let other = of("b.yaml", &["q"]);
    assert!(
        other.err.contains("holds the answers of another job"),
        "{}",
        other.err
    );
    assert!(other.out.contains("cannot be used here"));
    let none = ask(folder.path(), &["--record", "looks.yaml"], &["q"]);
    assert!(
        none.err
            .contains("holds the answers of a job (name it with --job)")
    );
    let own = of("a.yaml", &["q"]);
    assert!(
        own.out
            .contains("There is a draft of this job, looks.yaml.draft, with 1 answer")
    );
    assert!(own.out.contains("Last answer: "));
    // The other car's job does not take it either.
    let look = |job| {
        run(
            folder.path(),
            &[
                "job",
                "look",
                spec.to_str().unwrap(),
                job,
                "--record",
                "looks.yaml.draft",
            ],
            &[],
        )
    };
    let refused = look("b.yaml");
    assert_eq!(refused.status, Some(1));
    assert!(
        refused.err.contains("this record was made for another job"),
        "{}",
        refused.err
    );
    // A draft of tomorrow is none.
    let path = folder.path().join("looks.yaml.draft");
    let text = std::fs::read_to_string(&path).unwrap();
    let at = text
        .lines()
        .find(|line| line.starts_with("at: "))
        .unwrap()
        .to_owned();
    std::fs::write(&path, text.replace(&at, "at: 9999-01-01T00:00:00Z")).unwrap();
    let future = of("a.yaml", &["q"]);
    assert!(future.err.contains("later than now"), "{}", future.err);
}

/// Where nothing can be written, every screen says so, the verdict is shown all the same, and it ends with 2.
#[cfg(target_os = "linux")]
#[test]
fn what_cannot_be_kept_is_said_not_to_be() {
    let folder = folder();
    let spec = kestrel();
    // No file may grow beyond nothing, as on a full disk.
    let full = |arguments: &[&str], lines: &[&str]| {
        let mut command = Command::new("bash");
        command
            .current_dir(folder.path())
            .args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""])
            .arg(env!("CARGO_BIN_EXE_tautmark"))
            .args(["ask", spec.to_str().unwrap()])
            .args(arguments);
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let typed: String = lines.iter().map(|line| format!("{line}\n")).collect();
        let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
        let outcome = child.wait_with_output().unwrap();
        (
            String::from_utf8(outcome.stdout).unwrap(),
            String::from_utf8(outcome.stderr).unwrap(),
            outcome.status.code(),
        )
    };
    for arguments in [&[][..], &["--record", "looks.yaml"]] {
        let lines = [
            &[YES, "1", "1"],
            &all_in_place()[1..],
            &["", "elsewhere.yaml", "no/such/folder.yaml", "q"],
        ]
        .concat();
        let (out, err, status) = full(arguments, &lines);
        assert_eq!(status, Some(2), "{out}");
        assert!(out.contains("! NOT KEPT: "), "{out}");
        assert!(out.contains("IN TIME at all three stages."), "{out}");
        assert_eq!(
            out.matches("Another file to save the answers to").count(),
            4
        );
        assert!(err.contains("NOT KEPT"), "{err}");
        assert!(
            !out.contains("Saved as") && !out.contains("The answers are in"),
            "{out}"
        );
        // The end of input gives up too.
        let (out, _, status) = full(arguments, &[YES, "1", "1", ON, "q"]);
        assert_eq!(status, Some(2), "{out}");
        assert!(!out.contains("offers to continue"), "{out}");
    }
    assert!(
        files(folder.path()).is_empty(),
        "{:?}",
        files(folder.path())
    );
    // With something to be voided that cannot be: the old draft is out of the way all the same.
    ask(folder.path(), &[], &HUNG);
    let (out, _, _) = full(&[], &["y", "q"]);
    assert!(
        out.contains("The old draft is now called kestrel-four.ask-draft.yaml.1."),
        "{out}"
    );
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml.1"]);
}

#[test]
fn where_the_folder_is_gone_another_file_can_be_named() {
    let folder = folder();
    let elsewhere = tempfile::tempdir().unwrap();
    let saved = elsewhere.path().join("looks.yaml");
    std::fs::create_dir(folder.path().join("jobs")).unwrap();
    let mut session = terminal(folder.path(), &["--record", "jobs/looks.yaml"], "dumb");
    begin(&mut session);
    std::fs::remove_dir_all(folder.path().join("jobs")).unwrap();
    all_on(&mut session);
    session.exp_string("NOT KEPT").unwrap();
    session.exp_string("(q = give up)? ").unwrap();
    session.send_line(saved.to_str().unwrap()).unwrap();
    session.exp_string("Saved as").unwrap();
    session.exp_eof().unwrap();
    assert_eq!(status(&session), 0);
    assert_eq!(
        check(folder.path(), &kestrel(), saved.to_str().unwrap()).status,
        Some(0)
    );
}

// Through a pseudo-terminal.

fn patience() -> Option<u64> {
    Some(PATIENCE.as_millis().try_into().unwrap())
}

fn terminal(folder: &Path, arguments: &[&str], term: &str) -> PtySession {
    let spec = kestrel();
    let mut all = vec!["ask", spec.to_str().unwrap()];
    all.extend(arguments);
    let mut command = command(folder, &all);
    command.env("TERM", term);
    spawn_command(command, patience()).unwrap()
}

/// Waits for `what`, then for the prompt, and types `line`. Gives what stood before the prompt.
fn reply(session: &mut PtySession, what: &str, line: &str) -> String {
    let mut shown = session.exp_string(what).unwrap();
    shown += &session.exp_string("> ").unwrap();
    session.send_line(line).unwrap();
    shown
}

/// What has to be said at the Kestrel.
fn said_so(session: &mut PtySession) {
    reply(session, "pin or lock in", YES);
    reply(session, "every phaser", YES);
    reply(session, "all slack lie", YES);
}

/// What has to be said before the Kestrel is turned.
fn before_turning(session: &mut PtySession) {
    reply(session, "still in the engine?", NO);
    reply(session, "every phaser bolt", YES);
}

/// Ready, and from where it is seen.
fn begin(session: &mut PtySession) -> String {
    let shown = reply(session, "y = ready", YES);
    seen_from(session);
    shown
}

fn seen_from(session: &mut PtySession) {
    reply(session, "How do you see", "1");
    reply(session, "Which way must", "1");
}

fn status(session: &PtySession) -> i32 {
    match session.process().wait().unwrap() {
        WaitStatus::Exited(_, status) => status,
        other => panic!("{other:?}"),
    }
}

/// All stages to the end, every mark in place, from the first question on.
fn all_on(session: &mut PtySession) {
    all_but_the_last(session);
    session.exp_string("> ").unwrap();
    session.send_line(ON).unwrap();
}

/// The same, up to the last question, which is shown.
fn all_but_the_last(session: &mut PtySession) {
    for (stage, ready) in [(1, "y = it is released"), (2, "y = it is turned"), (3, "")] {
        for mark in 1..=3 {
            session.exp_string(&format!("Stage {stage} of 3")).unwrap();
            if (stage, mark) == (3, 3) {
                session.exp_string("Mark 3 of 3").unwrap();
                return;
            }
            reply(session, &format!("Mark {mark} of 3"), ON);
        }
        if stage == 1 {
            reply(session, "Mark 4 of 5", ON);
            reply(session, "Mark 5 of 5", ON);
            said_so(session);
            reply(session, "y = yes, that is what I saw", YES);
        }
        if stage == 2 {
            before_turning(session);
        }
        if !ready.is_empty() {
            reply(session, ready, YES);
        }
        if stage == 2 {
            reply(session, "Did anything resist", NO);
        }
    }
}

#[test]
fn at_a_terminal_good_answers_lead_to_in_time() {
    let folder = folder();
    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm-256color");
    let first = session.exp_string("y = ready").unwrap();
    assert!(
        !first.contains("\u{1b}[2J"),
        "what stood on the screen stays for the first one"
    );
    reply(&mut session, "q = stop", YES);
    seen_from(&mut session);
    all_on(&mut session);
    let rest = session.exp_eof().unwrap();
    assert!(rest.contains("\u{1b}[2J"), "one screen at a time");
    assert!(rest.contains("IN TIME at all three stages."));
    assert_eq!(status(&session), 0);
    assert_eq!(files(folder.path()), ["job.yaml"]);
}

#[test]
fn a_dumb_terminal_gets_plain_lines() {
    let folder = folder();
    let mut session = terminal(folder.path(), &[], "dumb");
    let mut shown = begin(&mut session);
    shown += &reply(&mut session, "Mark 1 of 3", "x");
    shown += &reply(&mut session, "! 'x' is not one of the keys", ON);
    shown += &reply(&mut session, "Mark 2 of 3", "q");
    shown += &session.exp_eof().unwrap();
    assert!(!shown.contains('\u{1b}'), "{shown:?}");
    assert_eq!(status(&session), 1);
}

#[test]
fn no_color_takes_the_colours_and_leaves_the_words() {
    let folder = folder();
    let spec = kestrel();
    let mut command = command(folder.path(), &["ask", spec.to_str().unwrap()]);
    command.env("TERM", "xterm-256color").env("NO_COLOR", "1");
    let mut session = spawn_command(command, patience()).unwrap();
    let shown = reply(&mut session, "y = ready", "q") + &session.exp_eof().unwrap();
    assert!(shown.contains("NOT PROVEN."));
    assert!(!shown.contains("\u{1b}[1"), "{shown:?}");
}

#[test]
fn ctrl_c_ends_and_the_next_run_goes_on() {
    let folder = folder();
    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm");
    begin(&mut session);
    reply(&mut session, "Mark 1 of 3", ON);
    reply(&mut session, "Mark 2 of 3", "4");
    session.exp_string("Mark 3 of 3").unwrap();
    session.exp_string("> ").unwrap();
    session.send_control('c').unwrap();
    session.exp_eof().unwrap();
    assert!(matches!(
        session.process().wait().unwrap(),
        WaitStatus::Signaled(..)
    ));
    // The lock file that a broken-off run leaves blocks nobody.
    assert_eq!(
        files(folder.path()),
        ["job.yaml.draft", "job.yaml.draft.lock"]
    );

    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm");
    session
        .exp_string("with 2 answers from an earlier run")
        .unwrap();
    reply(&mut session, "n = no, nothing has moved", "n");
    seen_from(&mut session);
    // The last mark, then the one that could not be seen.
    reply(&mut session, "Mark 3 of 3", ON);
    reply(&mut session, "1 = look again at what was not seen", ON);
    reply(&mut session, "Mark 2 of 3", ON);
    reply(&mut session, "Mark 4 of 5", ON);
    reply(&mut session, "Mark 5 of 5", ON);
    said_so(&mut session);
    reply(&mut session, "y = yes, that is what I saw", YES);
    reply(&mut session, "y = it is released", "0");
    // Back across the stage, to the last mark before it.
    reply(&mut session, "y = yes, that is what I saw", "0");
    reply(&mut session, "all slack lie", "0");
    reply(&mut session, "every phaser", "0");
    reply(&mut session, "pin or lock in", "0");
    reply(&mut session, "Mark 5 of 5", "");
    reply(&mut session, "y = yes, that is what I saw", YES);
    reply(&mut session, "y = it is released", YES);
    for mark in 1..=3 {
        reply(&mut session, &format!("Mark {mark} of 3"), ON);
    }
    before_turning(&mut session);
    reply(&mut session, "y = it is turned", YES);
    reply(&mut session, "Did anything resist", NO);
    for mark in 1..=3 {
        reply(&mut session, &format!("Mark {mark} of 3"), ON);
    }
    assert!(
        session
            .exp_eof()
            .unwrap()
            .contains("IN TIME at all three stages.")
    );
    assert_eq!(status(&session), 0);
    assert_eq!(files(folder.path()), ["job.yaml"]);
}

#[test]
fn ctrl_d_stops_with_what_is_known() {
    let folder = folder();
    let mut session = terminal(folder.path(), &[], "xterm");
    begin(&mut session);
    reply(&mut session, "Mark 1 of 3", ON);
    session.exp_string("Mark 2 of 3").unwrap();
    session.exp_string("> ").unwrap();
    session.send_control('d').unwrap();
    assert!(session.exp_eof().unwrap().contains("NOT PROVEN."));
    assert_eq!(status(&session), 1);
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);
}
