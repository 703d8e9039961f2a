//! `check --records`: every line answered, in order, as `check` answers it; bad lines by their
//! number; memory that does not grow.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{PATIENCE, engine, run, scratch, tautmark};
use serde_json::{Value, json};
use std::io::{Read as _, Write as _};
use std::process::{Command, Stdio};
use tautmark::stream::LineChecker;

fn streamed(
    specs: &str,
    records: &str,
    more: &[&str],
    input: &[u8],
) -> (Vec<Value>, String, Option<i32>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tautmark"));
    command
        .args(["check", specs, "--records", records])
        .args(more);
    command.stdin(Stdio::piped());
    let outcome = run(command, input);
    outcome.assert_printable();
    let lines = outcome.stdout.lines();
    let lines = lines.map(|line| serde_json::from_str(line).unwrap());
    (lines.collect(), outcome.stderr, outcome.status)
}

fn kestrel(input: &[u8]) -> (Vec<Value>, String, Option<i32>) {
    streamed(&engine("kestrel-four"), "-", &[], input)
}

#[test]
fn every_line_is_answered_as_check_answers_it() {
    let seen: [(&[&str], Value); 5] = [
        (
            &[
                "--link",
                "crank=on",
                "--link",
                "exhaust=on",
                "--link",
                "intake=on",
            ],
            json!({"links": {"crank": "on", "exhaust": "on", "intake": "on"}}),
        ),
        (
            &[
                "--link",
                "crank=on",
                "--link",
                "exhaust=on",
                "--link",
                "intake=2 behind",
            ],
            json!({"links": {"crank": "on", "exhaust": "on", "intake": "2 behind"}}),
        ),
        (
            &[
                "--link",
                "crank=1/2 ahead",
                "--dot",
                "intake=18.5 crank deg",
            ],
            json!({"links": {"crank": "1/2 ahead"}, "dots": {"intake": "18.5 crank deg"}}),
        ),
        (
            &["--turned", "3/2", "--dot", "crank=on"],
            json!({"turned": "3/2", "dots": {"crank": "on"}}),
        ),
        (&[], json!({})),
    ];
    let mut input = String::new();
    // Twice, so that what is remembered is answered too.
    for _ in 0..2 {
        for (_, line) in &seen {
            input += &format!("{line}\n");
        }
    }
    let (lines, _, status) = kestrel(input.as_bytes());
    assert_eq!((lines.len(), status), (10, Some(1)));
    for (i, line) in lines.iter().enumerate() {
        let path = engine("kestrel-four");
        let arguments = [&["check", &path, "--format", "json"], seen[i % 5].0].concat();
        let check = tautmark(&arguments).json();
        assert_eq!(line["line"], i + 1);
        assert_eq!(line["verdict"], check["verdict"]);
        assert_eq!(line["release_tensioner"], check["release_tensioner"]);
        for shaft in check["shafts"].as_array().unwrap() {
            let own = &line["shafts"][shaft["shaft"].as_str().unwrap()];
            assert_eq!(own["off_teeth"], shaft["off_teeth"]);
            assert_eq!(own["off_crank_degrees"], shaft["off_crank_degrees"]);
        }
        let not_seen = line["not_seen"].as_array().unwrap();
        assert_eq!(not_seen.len(), check["not_seen"].as_array().unwrap().len());
    }
}

#[test]
fn a_bad_line_is_told_by_its_number_and_the_rest_carried_on() {
    let long = format!("{{\"id\":\"{}\"}}", "x".repeat(LineChecker::LONGEST));
    let hostile = "{\"id\":\"a\u{202e}b\u{7f}\",\"links\":{\"cr\u{202e}nk\":\"on\"}}";
    let cases: Vec<(&str, &str)> = vec![
        ("nonsense", "expected"),
        ("{\"links\":{\"crnk\":\"on\"}}", "did you mean 'crank'?"),
        (
            "{\"links\":{\"crank\":\"on\",\"crank\":\"on\"}}",
            "given twice",
        ),
        ("{\"links\":{\"crank\":2}}", "invalid type"),
        ("{\"links\":[]}", "expected a mapping from sprockets"),
        ("{\"link\":{}}", "unknown field `link`"),
        ("{\"links\":{},\"links\":{}}", "duplicate field"),
        ("{\"turned\":\"-1\"}", "turns"),
        ("{\"turned\":1e3}", "turned '1e3'"),
        ("{\"turned\":true}", "turned 'true'"),
        ("{\"id\":[]}", "\"id\" must be"),
        ("{\"spec\":\"heron-v6\"}", "no spec is called 'heron-v6'"),
        ("{} {}", "trailing characters"),
        (&long, "longer than"),
        (hostile, "no shaft is called"),
        ("[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", "EOF"),
    ];
    let mut input = Vec::new();
    for (line, _) in &cases {
        input.extend_from_slice(line.as_bytes());
        input.extend_from_slice(b"\r\n\n");
    }
    input.extend_from_slice(b"{\"id\":\"\xff\"}\n");
    // The last one without an end of line.
    input.extend_from_slice(b"{\"id\":\"last\",\"turned\":2,\"dots\":{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"on\"}}");
    for jobs in ["1", "2"] {
        let (lines, says, status) =
            streamed(&engine("kestrel-four"), "-", &["--jobs", jobs], &input);
        assert_eq!(lines.len(), cases.len() + 2);
        for (i, (line, reason)) in cases.iter().enumerate() {
            assert_eq!(lines[i]["line"], 2 * i + 1);
            let error = lines[i]["error"].as_str().unwrap_or_default();
            let line = &line[..line.len().min(60)];
            assert!(error.contains(reason), "{line}: {error}");
        }
        assert!(
            lines[cases.len()]["error"]
                .as_str()
                .unwrap()
                .contains("UTF-8")
        );
        let last = &lines[cases.len() + 1];
        assert_eq!(
            (&last["id"], &last["verdict"]),
            (&"last".into(), &"in time".into())
        );
        assert_eq!(lines[14]["id"], "a\u{202e}b\u{7f}");
        assert_eq!(
            says,
            "18 lines: 1 in time, 0 out of time, 0 not proven, 17 bad\n"
        );
        assert_eq!(status, Some(2));
    }
}

#[test]
fn a_line_chooses_its_spec_from_a_folder_and_files_are_taken_in_order() {
    let specs = format!("{}/engines", env!("CARGO_MANIFEST_DIR"));
    let folder = scratch("stream-folder");
    let wren = "{\"spec\":\"wren-single\",\"links\":{\"crank\":\"on\",\"cam\":\"on\"}}\n";
    std::fs::write(folder.join("b.jsonl"), wren).unwrap();
    let late = "{\"spec\":\"kestrel-four\",\"links\":{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"2 behind\"}}\n";
    std::fs::write(folder.join("a.jsonl"), late).unwrap();
    std::fs::write(folder.join("c.txt"), "nonsense\n").unwrap();
    let records = folder.to_string_lossy().into_owned();
    let (lines, says, status) = streamed(&specs, &records, &[], b"");
    let verdicts: Vec<&str> = lines
        .iter()
        .map(|line| line["verdict"].as_str().unwrap())
        .collect();
    assert_eq!(verdicts, ["out of time", "in time"]);
    assert_eq!(
        says,
        "2 lines: 1 in time, 1 out of time, 0 not proven, 0 bad\n"
    );
    assert_eq!(status, Some(1));
    let (lines, _, status) = streamed(&specs, "-", &[], b"{}\n");
    assert_eq!(status, Some(2));
    assert!(lines[0]["error"].as_str().unwrap().contains("which spec?"));
    let both = tautmark(&["check", "-", "--records", "-"]);
    assert_eq!(both.status, Some(2));
    assert!(both.stderr.contains("the spec cannot"));
    // Nothing to answer proves nothing.
    assert_eq!(kestrel(b"").2, Some(1));
    let empty = scratch("stream-empty");
    let none = tautmark(&[
        "check",
        &engine("kestrel-four"),
        "--records",
        &empty.to_string_lossy(),
    ]);
    assert_eq!(none.status, Some(2));
    assert!(none.stderr.contains("has no records in it"));
}

/// Lines that all differ, so that nothing is remembered for long.
fn lines(from: usize, count: usize) -> Vec<u8> {
    let mut out = String::new();
    for n in from..from + count {
        out += &format!(
            "{{\"id\":{n},\"turned\":2,\"dots\":{{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"{}.{:03} crank deg ahead\"}}}}\n",
            n / 1000 % 360,
            n % 1000
        );
    }
    out.into_bytes()
}

#[test]
fn answers_come_in_order_on_all_cores_and_are_the_same_on_one() {
    // From a file: the helper writes all input before it reads any answer.
    let file = scratch("stream-order").join("lines.jsonl");
    std::fs::write(&file, lines(0, 20_000)).unwrap();
    let file = file.to_string_lossy();
    let (one, _, _) = streamed(&engine("kestrel-four"), &file, &["--jobs", "1"], b"");
    let (many, _, _) = streamed(&engine("kestrel-four"), &file, &["--jobs", "5"], b"");
    assert_eq!(one.len(), 20_000);
    for (n, line) in one.iter().enumerate() {
        assert_eq!((&line["line"], &line["id"]), (&(n + 1).into(), &n.into()));
    }
    assert!(one == many);
}

/// The most memory that a run over so many lines touched, in KiB.
#[cfg(target_os = "linux")]
fn peak(count: usize, jobs: &str) -> u64 {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .args([
            "check",
            &engine("kestrel-four"),
            "--records",
            "-",
            "--jobs",
            jobs,
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let mut stdout = child.stdout.take().unwrap();
    // The last answer has come before memory is looked at; the input stays open until then.
    let reader = std::thread::spawn(move || {
        let mut buffer = vec![0; 1 << 16];
        let mut ends = 0;
        while ends < count {
            let read = stdout.read(&mut buffer).unwrap();
            assert!(read > 0);
            ends += buffer[..read].iter().filter(|byte| **byte == b'\n').count();
        }
        stdout
    });
    for from in (0..count).step_by(1000) {
        stdin.write_all(&lines(from, 1000)).unwrap();
    }
    stdin.flush().unwrap();
    let rest = reader.join().unwrap();
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
    let line = status
        .lines()
        .find(|line| line.starts_with("VmHWM:"))
        .unwrap();
    let peak = line.split_whitespace().nth(1).unwrap().parse().unwrap();
    drop((stdin, rest));
    child.wait().unwrap();
    peak
}

/// Many times the lines, no more memory. On one core a leak of nine bytes a line would show; with
/// several threads the allocator's own pools come on top, and it takes some thirty. The first runs
/// have enough lines that what is remembered is full.
#[cfg(target_os = "linux")]
#[test]
fn memory_stays_what_it_is() {
    for (jobs, few, many, most) in [("1", 10_000, 120_000, 1024), ("2", 20_000, 140_000, 4096)] {
        let (first, second) = (peak(few, jobs), peak(many, jobs));
        assert!(second < first + most, "{jobs}: {first} KiB, {second} KiB");
    }
}

/// An answer comes as soon as its line is there: a program on the other end can wait for it.
#[test]
fn an_answer_does_not_wait_for_more_lines() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .args([
            "check",
            &engine("kestrel-four"),
            "--records",
            "-",
            "--jobs",
            "2",
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let mut stdout = child.stdout.take().unwrap();
    let (told, answers) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut buffer = [0; 4096];
        while let Ok(read @ 1..) = stdout.read(&mut buffer) {
            let _ = told.send(buffer[..read].to_vec());
        }
    });
    for _ in 0..3 {
        stdin.write_all(b"{}\n").unwrap();
        let answer = answers.recv_timeout(PATIENCE).unwrap();
        assert!(answer.ends_with(b"\n"));
    }
    drop(stdin);
    assert_eq!(child.wait().unwrap().code(), Some(1));
}
