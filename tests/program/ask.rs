//! `tautmark ask`, the real binary: through a pipe, and through a pseudo-terminal as at an engine.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{PATIENCE, program};
use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

const ON: &str = "1";

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

struct Outcome {
    out: String,
    err: String,
    status: Option<i32>,
}

/// Runs it in `folder` with `lines` on a pipe.
fn run(folder: &Path, arguments: &[&str], lines: &[&str]) -> Outcome {
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
        ("dunnock-facing.yaml", 2 + 2 + 2),
        ("heron-v6.yaml", 13 + 9 + 5),
        ("kestrel-four.yaml", 5 + 3 + 3),
        ("linnet-idler.yaml", 5 + 3 + 3),
        ("plover-three.yaml", 4 + 4 + 4),
        ("tern-between.yaml", 5 + 3 + 3),
        ("wren-single.yaml", 4 + 2 + 2),
    ] {
        let folder = folder();
        let spec = engine(name);
        let ask = ["ask", spec.to_str().unwrap(), "--record", "job.yaml"];
        // Three times "ready", every mark, and "that is what I saw".
        let outcome = run(folder.path(), &ask, &vec![ON; marks + 4]);
        assert_eq!(outcome.status, Some(0), "{name}: {}", outcome.out);
        assert_eq!(outcome.out.matches(". Mark ").count(), marks, "{name}");
        assert!(outcome.out.contains("IN TIME at all three stages."));
        // No terminal, no colours and no control of the screen.
        assert!(!outcome.out.contains('\u{1b}'));
        assert_eq!(files(folder.path()), ["job.yaml"], "the draft is gone");
        assert_eq!(check(folder.path(), &spec, "job.yaml").status, Some(0));

        // One answer fewer and nothing is proven.
        let short = run(folder.path(), &ask[..2], &vec![ON; marks + 3]);
        assert_eq!(short.status, Some(1), "{name}");
        assert!(short.out.contains("NOT PROVEN."));
    }
    let all = std::fs::read_dir(engine("")).unwrap().count();
    assert_eq!(all, 8, "a new engine belongs into this list");
}

#[test]
fn the_end_of_input_proves_nothing_and_loses_nothing() {
    let folder = folder();
    let outcome = ask(folder.path(), &[], &[ON, ON]);
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
    child.stdin.take().unwrap().write_all(b"1\n1").unwrap();
    child.wait_with_output().unwrap();
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("crank: \"on\""), "{draft}");
}

#[test]
fn wrong_keys_get_one_line_and_the_question_again() {
    let folder = folder();
    let long = "9".repeat(5000);
    let wrong = ["7", "", "one", "\u{1b}[31m", "1 1", long.as_str()];
    let mut lines = vec![ON];
    lines.extend(wrong);
    lines.push("q");
    let outcome = ask(folder.path(), &[], &lines);
    assert_eq!(outcome.out.matches("Mark 1 of 3").count(), wrong.len() + 1);
    assert_eq!(
        outcome
            .out
            .matches("is not one of the keys 1, 2, 3, 4, 0, q.")
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
        ON, ON, "2", "many", "-1", "", "36", "3", "0", "3", "1/2", "q",
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
            .contains("! The sprocket has 36 teeth; that would be a whole turn or more.")
    );
    let draft = std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    assert!(draft.contains("exhaust: \"1/2 behind\""), "{draft}");
}

#[test]
fn back_shows_the_earlier_answer_and_enter_keeps_it() {
    let folder = folder();
    // Crank on, exhaust 2 ahead; back twice, Enter twice; then stop.
    let outcome = ask(
        folder.path(),
        &[],
        &[ON, ON, "2", "2", "0", "0", "", "", "q"],
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
    let mut lines = vec![ON; 7]; // ready, five marks, all so
    lines.extend([ON, "0", "0", "0"]); // released; back to that, to the list, to the last mark before it
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
    assert!(first.out.contains("! '0' is not one of the keys 1, q."));
}

#[test]
fn a_mark_that_was_not_seen_is_asked_again_and_stays_unproven_until_then() {
    let folder = folder();
    let lines = [ON, ON, "4", ON];
    let outcome = ask(folder.path(), &[], &lines);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .out
            .contains("NOT PROVEN. Do not release the tensioner.")
    );
    assert!(!outcome.out.contains("1 = it is released"), "never goes on");
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
    let again = ask(folder.path(), &[], &[ON; 7]);
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
    let mut lines = vec![ON, ON, "3", "2", ON]; // exhaust 2 behind
    lines.push(ON); // put right
    lines.extend(vec![ON; 7 + 4 + 4]); // all stages from the start
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
        "Looked at earlier, and again since\n  - before the tensioner is released: out of time"
    ));
}

#[test]
fn a_reading_that_cannot_be_is_read_again_with_nothing_moved() {
    let folder = folder();
    let mut lines = vec![ON, ON, "3", "1/2", ON]; // half a tooth behind
    lines.push(ON); // look at every mark again
    lines.extend(["", ON, ""]); // it was on its link
    lines.extend(vec![ON; 3 + 4 + 4]);
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
    let mut lines = vec![ON; 8]; // in time when hung, released
    lines.extend([ON, "3", "1", ON]); // the exhaust has slipped
    lines.push(ON); // hung again
    lines.extend(vec![ON; 7 + 4 + 4]);
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
    let lines = [ON, ON, ON, "3", "1", "2"];
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
    ask(folder.path(), &[], &[ON, ON]);
    // Neither a wrong key nor the end of input touches it.
    let outcome = ask(folder.path(), &[], &["5"]);
    assert!(outcome.out.contains("with 1 answer from an earlier run"));
    assert_eq!(outcome.status, Some(1));
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);
    let draft =
        || std::fs::read_to_string(folder.path().join("kestrel-four.ask-draft.yaml")).unwrap();
    let kept = draft();
    // To look at everything again leaves it until the first new answer goes over it.
    let outcome = ask(folder.path(), &[], &["2", "q"]);
    assert!(outcome.out.contains("1 = ready"));
    assert_eq!(draft(), kept);
    ask(folder.path(), &[], &["2", ON, "4", "q"]);
    assert_eq!(draft().matches("crank").count(), 1);
    assert!(draft().contains("- link crank"), "{}", draft());
}

#[test]
fn a_draft_that_cannot_be_used_is_reported_and_set_aside_only_by_asking() {
    let kept = {
        let folder = folder();
        ask(folder.path(), &[], &[ON, ON]);
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
        assert!(
            outcome.out.contains("cannot be used with this spec"),
            "{draft}"
        );
        assert_eq!(std::fs::read_to_string(&path).unwrap(), draft);

        let outcome = ask(folder.path(), &[], &[ON, ON, ON, "q"]);
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
    ask(folder.path(), &["--record", "jobs/a.yaml"], &[ON, ON]);
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
    reply(&mut session, "1 = ready", ON);
    all_but_the_last(&mut session);
    session.exp_string("> ").unwrap();
    std::fs::write(folder.path().join("job.yaml"), "another's").unwrap();
    session.send_line(ON).unwrap();
    let rest = session.exp_eof().unwrap();
    assert!(
        rest.contains("the answers are only in 'job.yaml.draft'"),
        "{rest}"
    );
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
const LINKS_ON: [&str; 4] = [ON; 4];

#[test]
fn links_in_place_do_not_prove_that_the_chain_is_not_inside_out() {
    let folder = folder();
    let outcome = ask(folder.path(), &[], &LINKS_ON);
    assert!(outcome.out.contains(
        "Mark 4 of 5\n\nThe links alone would look the same if the chain were inside out."
    ));
    assert!(!outcome.out.contains("may be released"), "{}", outcome.out);

    // Neither dot could be seen: said plainly, and gone on from only by saying so.
    let skipped = tempfile::tempdir().unwrap();
    let mut lines = LINKS_ON.to_vec();
    lines.extend(["4", "4"]);
    let outcome = ask(skipped.path(), &[], &lines);
    assert!(
        outcome
            .out
            .contains("NOT RULED OUT: the chain hung inside out.")
    );
    let keys = "1 = I have made sure that it is not inside out   2 = look again";
    assert!(outcome.out.contains(keys), "{}", outcome.out);
    assert!(!outcome.out.contains("may be released"));
    // The next run is asked the same before it may go on.
    let again = ask(skipped.path(), &[], &["1"]);
    assert!(again.out.contains(keys) && !again.out.contains("may be released"));
    let again = ask(skipped.path(), &[], &["1", "2", ON, ON]);
    assert!(again.out.contains("1 = yes, that is what I saw"));
    let sure = ask(skipped.path(), &[], &["1", "1"]);
    assert!(sure.out.contains("may be released"));
}

#[test]
fn whoever_makes_sure_of_it_goes_on_with_the_warning() {
    let mut lines = LINKS_ON.to_vec();
    lines.extend(["4", "4", "1"]);
    let outcome = ask(folder().path(), &[], &lines);
    assert!(
        outcome
            .out
            .contains("Not ruled out by what was seen; you have made sure of it yourself")
    );
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
    ask(folder.path(), &[], &[ON; 7]);
    let outcome = ask(folder.path(), &[], &[]);
    assert!(outcome.out.contains("Has anything been moved since?"));
    assert!(outcome.out.contains("  exhaust  dot on its link\n"));
    assert!(!outcome.out.contains("released."), "{}", outcome.out);
    // Nothing moved: the answers are read back first.
    let outcome = ask(folder.path(), &[], &[ON]);
    assert!(outcome.out.contains("This is what you answered"));
    assert!(!outcome.out.contains("may be released"));
}

#[test]
fn ahead_and_behind_are_typed_as_words_and_read_back() {
    let outcome = ask(
        folder().path(),
        &[],
        &[ON, "on", "B", "2", "ahead", "1", "q"],
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
        run(folder.path(), &ask, &vec![ON; marks]).out
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
    let yellow = run(folder.path(), &["ask", "yellow.yaml"], &[ON; 4]).out;
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
    let outcome = run(folder.path(), &ask, &[ON; 10]);
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
    let outcome = run(off.path(), &ask, &[ON, ON, "3", "1"]);
    assert!(
        outcome
            .out
            .contains("OUT OF TIME. Do not tighten anything.")
    );
    assert!(outcome.out.contains("\nWhat to move\n  1. Lift the chain"));
}

#[test]
fn a_crankshaft_that_was_not_seen_stays_to_be_looked_at() {
    let outcome = ask(folder().path(), &[], &[ON, "4", ON, ON]);
    assert!(outcome.out.contains("NOT PROVEN. Do not release"));
    assert!(
        outcome
            .out
            .contains("  - the dot of crank against link 0 (blue)")
    );
}

#[test]
fn links_that_are_all_off_alike_are_not_passed_over() {
    let mut lines = vec![ON];
    lines.extend(["2", "2"].repeat(3));
    lines.extend([ON, ON, ON]);
    let outcome = ask(folder().path(), &[], &lines);
    let remark = "every dot is 2 links ahead of its coloured link.";
    // With the answers, and with the verdict on the stage.
    assert_eq!(outcome.out.matches(remark).count(), 2, "{}", outcome.out);
    assert!(outcome.out.contains("may be released"));
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
    for (stage, ready) in [(1, "1 = it is released"), (2, "1 = it is turned"), (3, "")] {
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
            reply(session, "1 = yes, that is what I saw", ON);
        }
        if !ready.is_empty() {
            reply(session, ready, ON);
        }
    }
}

#[test]
fn at_a_terminal_good_answers_lead_to_in_time() {
    let folder = folder();
    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm-256color");
    let first = session.exp_string("1 = ready").unwrap();
    assert!(
        !first.contains("\u{1b}[2J"),
        "what stood on the screen stays for the first one"
    );
    reply(&mut session, "q = stop", ON);
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
    let mut shown = reply(&mut session, "1 = ready", ON);
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
    let shown = reply(&mut session, "1 = ready", "q") + &session.exp_eof().unwrap();
    assert!(shown.contains("NOT PROVEN."));
    assert!(!shown.contains("\u{1b}[1"), "{shown:?}");
}

#[test]
fn ctrl_c_ends_and_the_next_run_goes_on() {
    let folder = folder();
    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm");
    reply(&mut session, "1 = ready", ON);
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
    assert_eq!(files(folder.path()), ["job.yaml.draft"]);

    let mut session = terminal(folder.path(), &["--record", "job.yaml"], "xterm");
    session
        .exp_string("with 2 answers from an earlier run")
        .unwrap();
    reply(&mut session, "1 = no, nothing has moved", ON);
    // The last mark, then the one that could not be seen.
    reply(&mut session, "Mark 3 of 3", ON);
    reply(&mut session, "1 = look again at what was not seen", ON);
    reply(&mut session, "Mark 2 of 3", ON);
    reply(&mut session, "Mark 4 of 5", ON);
    reply(&mut session, "Mark 5 of 5", ON);
    reply(&mut session, "1 = yes, that is what I saw", ON);
    reply(&mut session, "1 = it is released", "0");
    // Back across the stage, to the last mark before it.
    reply(&mut session, "1 = yes, that is what I saw", "0");
    reply(&mut session, "Mark 5 of 5", "");
    reply(&mut session, "1 = yes, that is what I saw", ON);
    reply(&mut session, "1 = it is released", ON);
    for mark in 1..=3 {
        reply(&mut session, &format!("Mark {mark} of 3"), ON);
    }
    reply(&mut session, "1 = it is turned", ON);
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
    reply(&mut session, "1 = ready", ON);
    reply(&mut session, "Mark 1 of 3", ON);
    session.exp_string("Mark 2 of 3").unwrap();
    session.exp_string("> ").unwrap();
    session.send_control('d').unwrap();
    assert!(session.exp_eof().unwrap().contains("NOT PROVEN."));
    assert_eq!(status(&session), 1);
    assert_eq!(files(folder.path()), ["kestrel-four.ask-draft.yaml"]);
}
