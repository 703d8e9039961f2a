//! `ask` on a telephone: 40 columns, 20 rows, one key and Enter for each question.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]
#![cfg(unix)]

use crate::support::program::PATIENCE;
use rexpect::session::{PtySession, spawn_command};
use std::path::Path;
use std::process::Command;

const COLUMNS: usize = 40;
const ROWS: usize = 20;

/// What such a screen shows of what was written to it since it was wiped.
fn screen(written: &str) -> Vec<String> {
    let mut rows = vec![String::new()];
    let last = written.rsplit("\u{1b}[2J\u{1b}[H").next().unwrap();
    let mut chars = last.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            // A style: up to its letter.
            '\u{1b}' => while chars.next().is_some_and(|c| !c.is_ascii_alphabetic()) {},
            '\r' => {}
            '\n' => rows.push(String::new()),
            _ => {
                if rows.last().unwrap().chars().count() == COLUMNS {
                    rows.push(String::new());
                }
                rows.last_mut().unwrap().push(c);
            }
        }
    }
    let from = rows.len().saturating_sub(ROWS);
    rows.split_off(from)
}

fn session(folder: &Path, words: &str) -> PtySession {
    let mut command = Command::new("bash");
    // Called by its bare name, so that the screens are the same on every machine.
    let engine = Path::new(env!("CARGO_MANIFEST_DIR")).join("engines/kestrel-four.yaml");
    let spec = "kestrel-four.yaml";
    std::fs::copy(engine, folder.join(spec)).unwrap();
    // Every Unix has it in one of these, whatever the PATH of whoever runs the tests.
    let script =
        format!("PATH=\"$PATH:/bin:/usr/bin\" stty rows {ROWS} cols {COLUMNS} -echo; {words}");
    command
        .current_dir(folder)
        .args(["-c", &script, env!("CARGO_BIN_EXE_tautmark"), spec])
        .env("TERM", "xterm")
        .env_remove("NO_COLOR");
    spawn_command(command, Some(PATIENCE.as_millis().try_into().unwrap())).unwrap()
}

/// Types the keys, one a screen, and gives every screen.
fn screens(keys: &[&str]) -> Vec<String> {
    screens_of("exec \"$0\" ask \"$1\"", keys)
}

/// The same of other commands, in words of the shell; `$0` is the program, `$1` the spec.
fn screens_of(words: &str, keys: &[&str]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let mut session = session(folder.path(), words);
    let mut all = Vec::new();
    for key in keys {
        let (before, prompt) = session
            .exp_regex("(\n> |TEETH|BEHIND\\? |AHEAD\\? )$")
            .unwrap();
        all.push(screen(&(before + &prompt)).join("\n"));
        session.send_line(key).unwrap();
    }
    let rest = session.exp_eof().unwrap();
    all.push(screen(&rest).join("\n"));
    all
}

/// The screens as they were; `UPDATE_SNAPSHOTS=1` keeps what they are now.
fn assert_kept(name: &str, screens: &[String]) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/snapshots/{name}.txt"));
    let line = "=".repeat(COLUMNS);
    let text: String = screens
        .iter()
        .map(|screen| format!("{screen}\n{line}\n"))
        .collect();
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        std::fs::write(&path, &text).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), text);
}

#[test]
fn a_job_in_time_fits_a_telephone() {
    let all = screens(&[
        "y", "1", "1", "1", "1", "1", "1", "1", "y", "y", "y", "y", "y", "1", "1", "1", "n", "y",
        "y", "n", "1", "1", "1",
    ]);
    // The verdict and what to do next stand on one screen.
    let release = all
        .iter()
        .find(|screen| screen.contains("y = it is released"));
    let release = release.unwrap();
    assert!(release.contains("IN TIME. The tensioner may be released."));
    assert!(release.contains("Release the tensioner now."));
    let turn = all
        .iter()
        .find(|screen| screen.contains("y = it is turned"))
        .unwrap();
    assert!(turn.contains("IN TIME."), "{turn}");
    assert!(
        turn.contains("Turn the crankshaft 2 turns by hand"),
        "{turn}"
    );
    assert!(all.last().unwrap().contains("IN TIME at all three stages."));
    // Every question shows its keys, each of one letter or digit.
    for screen in &all[..all.len() - 1] {
        assert!(screen.contains("q = stop"), "{screen}");
    }
    assert_kept("ask-40x20-in-time", &all);
}

#[test]
fn what_is_out_of_time_or_resists_fits_a_telephone() {
    let off = screens(&["y", "2", "2", "1", "3", "2", "1", "q"]);
    let verdict = &off[off.len() - 2];
    assert!(verdict.contains("OUT OF TIME. What now?"), "{verdict}");
    assert!(verdict.contains("\nNext"), "{verdict}");
    // In a mirror it is the other way round.
    assert!(verdict.contains("counter-clockwise"), "{verdict}");
    assert_kept("ask-40x20-mirror", &off);

    let resisted = screens(&[
        "y", "1", "1", "1", "1", "1", "1", "1", "y", "y", "y", "y", "y", "1", "1", "1", "n", "y",
        "y", "y", "3", "q",
    ]);
    let stop = &resisted[resisted.len() - 2];
    assert!(stop.contains("RESISTED. What now?"), "{stop}");
    assert!(resisted.last().unwrap().contains("NOT PROVEN."));
    assert_kept("ask-40x20-resisted", &resisted[resisted.len() - 5..]);
}

/// Whoever says the view wrongly is stopped by the way the crankshaft turns there.
#[test]
fn a_view_that_cannot_be_is_asked_again() {
    let wrong = screens(&["y", "2", "1", "1", "2", "4", "2", "q"]);
    assert!(
        wrong[3].contains("one mirror shows that the other way"),
        "{}",
        wrong[3]
    );
    assert!(wrong[5].contains("Are you on the other"), "{}", wrong[5]);
    // From above, seen from the other end, ahead is to the left.
    assert!(
        wrong[7].contains("Ahead is to the left on top"),
        "{}",
        wrong[7]
    );
    assert!(!wrong[7].contains("o'clock"), "{}", wrong[7]);
}

/// A job goes along: its parts, torques and steps are asked, one screen and one key each, the car above them.
#[test]
fn a_job_is_asked_on_a_telephone() {
    let mut keys = vec!["y"];
    keys.extend(["n"; 8]);
    keys.extend([
        "y", "n", "n", "y", "y", "1", "1", "1", "1", "1", "1", "1", "y", "y", "y", "y", "y", "n",
        "y", "q",
    ]);
    let all = screens_of(
        "\"$0\" job new \"$1\" -o job.yaml --order 2411-07 --by Kim && exec \"$0\" ask \"$1\" --job job.yaml --by Kim",
        &keys,
    );
    for screen in &all[..all.len() - 1] {
        assert!(screen.contains("q = stop"), "{screen}");
    }
    // Whoever presses on is told once more what it stays closed for.
    assert!(
        all[1].contains("! It stays closed: get 1 x chain."),
        "{}",
        all[1]
    );
    let loose = all
        .iter()
        .position(|screen| screen.contains("Is any tensioner-bolt still"))
        .unwrap();
    assert!(
        all[loose + 1].contains("! It stays closed: tighten"),
        "{}",
        all[loose + 1]
    );
    let last: Vec<&str> = all
        .last()
        .unwrap()
        .trim_end()
        .lines()
        .rev()
        .take(4)
        .collect();
    assert!(
        last.iter()
            .any(|line| line.starts_with("Next: look at the dot of crank")),
        "{last:?}"
    );
    assert_kept("ask-40x20-job", &all);
}

/// What is only read: the verdict and the one next action are on the last screen.
#[test]
fn verdict_and_next_action_are_on_the_last_screen() {
    let off = "--link crank=on --link exhaust=on --link intake='2 behind'";
    for (words, verdict, next) in [
        (
            format!("\"$0\" check \"$1\" {off}"),
            "OUT OF TIME. Do not release the",
            "Next, in the order told:",
        ),
        (
            "\"$0\" check \"$1\" --link crank=on".to_owned(),
            "NOT PROVEN. Do not release the",
            "Next: look at",
        ),
        (
            "\"$0\" check \"$1\" --turned 2 --dot crank=on --dot exhaust=on --dot intake=on"
                .to_owned(),
            "IN TIME. If the tensioner is still held",
            "Next: nothing is left to look at",
        ),
        (
            "\"$0\" job new \"$1\" -o j && \"$0\" job status \"$1\" j".to_owned(),
            "NOT PROVEN. NOT SIGNED OFF.",
            "Next: get 1 x chain, then step teardown",
        ),
        (
            format!("\"$0\" job new \"$1\" -o j && \"$0\" job look \"$1\" j --stage hung {off}"),
            "PROVES NOTHING in this job.",
            "Next: look again once what comes before",
        ),
        (
            "\"$0\" job new \"$1\" -o j && \"$0\" job report \"$1\" j".to_owned(),
            "NOT PROVEN. NOT SIGNED OFF.",
            "Next: get 1 x chain, then step teardown",
        ),
        (
            "\"$0\" job new \"$1\" -o j && \"$0\" job tick \"$1\" j ordered:guide".to_owned(),
            "guide ordered",
            "Next: get 1 x chain, then step teardown",
        ),
    ] {
        let all = screens_of(&words, &[]);
        let last = all.last().unwrap();
        assert!(
            last.contains(verdict) && last.contains(next),
            "{words}:\n{last}"
        );
        // Broken between words, not by the terminal within one.
        assert!(!last.contains("resis\ntance"), "{last}");
        if last.contains("may be meeting") {
            assert!(
                last.contains("stop at any\n    resistance: valves may be meeting"),
                "{last}"
            );
        }
    }
}
