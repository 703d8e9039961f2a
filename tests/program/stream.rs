//! `check --records`: every line answered, in order, as `check` answers it; bad lines by their
//! number; memory that does not grow.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::drive;
use crate::support::program::{PATIENCE, engine, run, scratch, tautmark, tautmark_fed};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{Read as _, Write as _};
use std::process::{Command, Stdio};
use tautmark::{
    Drive, Verdict,
    stream::{LineChecker, LineOutcome},
};

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
        ("nonsense", "expected an object"),
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
        ("[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", "expected an object"),
        ("{\"dots\":[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", "EOF"),
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
            "19 lines: 1 in time, 0 out of time, 0 not proven, 18 bad\n"
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

/// One line against the engine alone, by the library.
fn one(drives: &BTreeMap<String, Drive>, line: &str) -> (LineOutcome, Value) {
    let mut out = String::new();
    let outcome = LineChecker::new(drives).answer(1, line.as_bytes(), &mut out);
    (outcome, serde_json::from_str(&out).unwrap())
}

/// That verdict, with the dots to back it.
fn told(verdict: Verdict) -> LineOutcome {
    let release = verdict == Verdict::InTime;
    LineOutcome::Verdict { verdict, release }
}

fn drives(names: &[&str]) -> BTreeMap<String, Drive> {
    let read = |name: &&str| {
        let text = std::fs::read_to_string(engine(name)).unwrap();
        ((*name).to_owned(), drive(&text))
    };
    names.iter().map(read).collect()
}

const ALL_ON: &str = "{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"on\"}";

/// What another program might write by mistake is an error of that line and never a verdict.
#[test]
fn lines_that_could_be_taken_for_something_else_are_refused() {
    let drives = drives(&["kestrel-four"]);
    let sure = format!("{{\"turned\":2,\"dots\":{ALL_ON}}}");
    assert_eq!(one(&drives, &sure).0, told(Verdict::InTime), "{sure}");
    for (line, reason) in [
        // Read by position this was: id, spec, turned, links, dots.
        (
            format!("[7,\"kestrel-four\",2,{{}},{ALL_ON}]"),
            "expected an object",
        ),
        (
            format!(" \t[1,\"kestrel-four\",2,{{}},{ALL_ON}]"),
            "expected an object",
        ),
        ("\"on\"".to_owned(), "expected an object"),
        ("2".to_owned(), "expected an object"),
        ("null".to_owned(), "expected an object"),
        (format!("\u{feff}{sure}"), "byte order mark"),
        // Who does not know the turns has not turned it never.
        (
            format!("{{\"turned\":null,\"dots\":{ALL_ON}}}"),
            "turned 'null'",
        ),
        (
            format!("{{\"id\":null,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "\"id\" must be",
        ),
        (
            format!("{{\"id\":true,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "\"id\" must be",
        ),
        (
            format!("{{\"id\":false,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "\"id\" must be",
        ),
        (
            format!("{{\"id\":{{}},\"turned\":2,\"dots\":{ALL_ON}}}"),
            "\"id\" must be",
        ),
        (
            format!("{{\"spec\":null,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "invalid type: null",
        ),
        (
            format!("{{\"spec\":1,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "invalid type",
        ),
        (
            format!("{{\"turned\":2,\"links\":null,\"dots\":{ALL_ON}}}"),
            "invalid type: null",
        ),
        ("{\"dots\":null}".to_owned(), "invalid type: null"),
        (
            "{\"dots\":{\"crank\":null}}".to_owned(),
            "invalid type: null",
        ),
        ("{\"dots\":{\"crank\":0}}".to_owned(), "invalid type"),
        ("{\"dots\":{\"crank\":[\"on\"]}}".to_owned(), "invalid type"),
        // A number without a direction, as a text.
        (
            "{\"dots\":{\"intake\":\"2\"}}".to_owned(),
            "ahead or behind?",
        ),
        // The last of two would win elsewhere.
        (
            format!("{{\"turned\":1,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "duplicate field",
        ),
        (
            format!("{{\"id\":1,\"id\":2,\"turned\":2,\"dots\":{ALL_ON}}}"),
            "duplicate field",
        ),
        (
            format!("{{\"turned\":2,\"dots\":{{}},\"dots\":{ALL_ON}}}"),
            "duplicate field",
        ),
        (
            "{\"turned\":2,\"dots\":{\"crank\":\"on\",\"intake\":\"1 behind\",\"intake\":\"on\"}}"
                .to_owned(),
            "given twice",
        ),
        (
            format!("{{\"turned\":\"\",\"dots\":{ALL_ON}}}"),
            "turned ''",
        ),
        (
            format!("{{\"turned\":\"2 \",\"dots\":{ALL_ON}}}"),
            "turned '2 '",
        ),
        (
            format!("{{\"turned\":[2],\"dots\":{ALL_ON}}}"),
            "turned '[2]'",
        ),
        (
            format!("{{\"Turned\":2,\"dots\":{ALL_ON}}}"),
            "unknown field `Turned`",
        ),
    ] {
        let (outcome, answer) = one(&drives, &line);
        assert_eq!(outcome, LineOutcome::Bad, "{line}");
        let told = answer["error"].as_str().unwrap();
        assert!(told.contains(reason), "{line}: {told}");
        assert_eq!(answer["verdict"], Value::Null);
    }
    // Numbers and texts are ids, and come back as they were.
    for id in [
        "0",
        "-7",
        "1.5",
        "\"7\"",
        "\"\"",
        "123456789012345678901234567890",
    ] {
        let (outcome, answer) = one(&drives, &format!("{{\"id\":{id}}}"));
        assert_eq!(outcome, told(Verdict::NotProven), "{id}");
        let right: Value = serde_json::from_str(id).unwrap();
        assert_eq!(answer["id"], right);
    }
    // Turns are taken as they are written, as a number or as a text.
    for turned in ["2", "\"2\"", "2.0", "\"4/2\"", "\"+2\""] {
        let (outcome, _) = one(
            &drives,
            &format!("{{\"turned\":{turned},\"dots\":{ALL_ON}}}"),
        );
        assert_eq!(outcome, told(Verdict::InTime), "{turned}");
    }
}

/// A line's own name comes back in its answer, up to a thousand bytes with its quotation marks.
#[test]
fn a_name_has_a_thousand_bytes_at_most() {
    let drives = drives(&["kestrel-four"]);
    for (letters, taken) in [(998, true), (999, false)] {
        let id = "a".repeat(letters);
        let line = format!("{{\"id\":\"{id}\",\"links\":{{\"crank\":\"on\"}}}}");
        let (outcome, answer) = one(&drives, &line);
        assert_eq!(outcome != LineOutcome::Bad, taken, "{letters}");
        assert_eq!(answer["id"] == id.as_str(), taken, "{letters}");
    }
}

/// As long as is read, and a byte more.
#[test]
fn the_longest_line_is_read_and_a_longer_one_is_not() {
    let drives = drives(&["kestrel-four"]);
    let sure = format!("{{\"turned\":2,\"dots\":{ALL_ON}}}");
    let padded = |length: usize| format!("{}{sure}", " ".repeat(length - sure.len()));
    let longest = padded(LineChecker::LONGEST);
    assert_eq!(one(&drives, &longest).0, told(Verdict::InTime));
    let (outcome, answer) = one(&drives, &padded(LineChecker::LONGEST + 1));
    assert_eq!(outcome, LineOutcome::Bad);
    assert!(answer["error"].as_str().unwrap().contains("longer than"));
    // As a file, with a line after it that must keep its own number.
    let input = format!("{longest}\n {longest}\n{sure}\n");
    for jobs in ["1", "3"] {
        let (lines, _, status) = streamed(
            &engine("kestrel-four"),
            "-",
            &["--jobs", jobs],
            input.as_bytes(),
        );
        assert_eq!(status, Some(2));
        assert_eq!(lines.len(), 3);
        assert_eq!(lines[0]["verdict"], "in time");
        assert!(lines[1]["error"].as_str().unwrap().contains("longer than"));
        assert_eq!(
            (&lines[2]["line"], &lines[2]["verdict"]),
            (&3.into(), &"in time".into())
        );
    }
}

/// What was answered before is answered again only to the same question: same engine, same turns,
/// the same seen at links and at dots.
#[test]
fn remembered_answers_are_those_of_the_same_question() {
    let mut two = drives(&["kestrel-four"]);
    // The same names, another drive: one tooth less at the crankshaft's link.
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let other = text.replace("Kestrel 2.0", "Other 2.0");
    let yellow = "link: 68";
    assert!(other.contains(yellow));
    two.insert(
        "other".to_owned(),
        drive(&other.replace(yellow, "link: 69")),
    );
    let links = "{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"link 68\"}";
    let mut lines = Vec::new();
    for spec in ["kestrel-four", "other"] {
        for turned in ["0", "1", "2", "\"2\"", "3", "\"1/2\""] {
            lines.push(format!(
                "{{\"spec\":\"{spec}\",\"turned\":{turned},\"dots\":{ALL_ON}}}"
            ));
            lines.push(format!(
                "{{\"spec\":\"{spec}\",\"turned\":{turned},\"links\":{ALL_ON}}}"
            ));
        }
        lines.push(format!("{{\"spec\":\"{spec}\",\"links\":{links}}}"));
        lines.push(format!("{{\"spec\":\"{spec}\",\"links\":{ALL_ON}}}"));
        lines.push(format!("{{\"spec\":\"{spec}\",\"dots\":{ALL_ON}}}"));
        lines.push(format!("{{\"spec\":\"{spec}\"}}"));
    }
    let alone: Vec<Value> = lines.iter().map(|line| one(&two, line).1).collect();
    // They do not all come to the same, or nothing would be shown by it.
    assert_ne!(alone[0]["verdict"], alone[2]["verdict"], "turned");
    assert_ne!(alone[4]["verdict"], alone[5]["verdict"], "links and dots");
    assert_ne!(alone[12]["verdict"], alone[28]["verdict"], "spec");
    // Each after each other, so that whatever the memory confuses comes to light.
    for first in &lines {
        for (second, right) in lines.iter().zip(&alone) {
            let mut checker = LineChecker::new(&two);
            let mut out = String::new();
            let _ = checker.answer(1, first.as_bytes(), &mut out);
            for _ in 0..2 {
                out.clear();
                let _ = checker.answer(1, second.as_bytes(), &mut out);
                let answer: Value = serde_json::from_str(&out).unwrap();
                assert_eq!(&answer, right, "{first}\n{second}");
            }
        }
    }
}

/// Two files that a line would choose by one name.
#[test]
fn two_specs_of_one_name_are_refused_by_both_their_names() {
    let folder = scratch("stream-stems");
    let kestrel = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let wren = std::fs::read_to_string(engine("wren-single")).unwrap();
    std::fs::write(folder.join("one.yaml"), kestrel).unwrap();
    std::fs::write(folder.join("one.yml"), &wren).unwrap();
    std::fs::write(folder.join("two.yml"), &wren).unwrap();
    let specs = folder.to_string_lossy().into_owned();
    let line = "{\"spec\":\"one\"}\n";
    let refused = streamed(&specs, "-", &[], line.as_bytes());
    assert_eq!((refused.0.len(), refused.2), (0, Some(2)));
    for part in [
        "one.yaml' and '",
        "one.yml' are both called 'one'",
        "rename",
    ] {
        assert!(refused.1.contains(part), "{}", refused.1);
    }
    // Renamed, both are there.
    std::fs::rename(folder.join("one.yml"), folder.join("three.yml")).unwrap();
    let (lines, _, status) = streamed(&specs, "-", &[], line.as_bytes());
    assert_eq!((lines.len(), status), (1, Some(1)));
    assert_eq!(lines[0]["verdict"], "not proven");
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

/// An answer comes as soon as its line is there: a program on the other end can wait for it. `sent` makes of
/// a line what is written.
fn an_answer_comes_before_more_lines(jobs: &str, mut sent: impl FnMut(&[u8]) -> Vec<u8>) {
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
    let (told, answers) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut buffer = [0; 4096];
        while let Ok(read @ 1..) = stdout.read(&mut buffer) {
            let _ = told.send(buffer[..read].to_vec());
        }
    });
    // One as short as can be, then longer ones.
    for line in ["{}\n", "{}\n", "{\"id\":1}\n", "{\"id\":2}\n"] {
        stdin.write_all(&sent(line.as_bytes())).unwrap();
        let answer = answers.recv_timeout(PATIENCE).unwrap();
        assert!(answer.ends_with(b"\n"));
    }
    drop(stdin);
    child.wait().unwrap();
}

#[test]
fn an_answer_does_not_wait_for_more_lines() {
    for jobs in ["1", "2"] {
        an_answer_comes_before_more_lines(jobs, <[u8]>::to_vec);
    }
}

/// Whoever packs has to end a part of it before anybody can read that: by gzip one that is flushed, by zstd a frame.
#[test]
fn an_answer_to_a_packed_line_does_not_wait_for_more_lines() {
    for jobs in ["1", "2"] {
        let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        let mut taken = 0;
        an_answer_comes_before_more_lines(jobs, |line| {
            gzip.write_all(line).unwrap();
            gzip.flush().unwrap();
            let part = gzip.get_ref()[taken..].to_vec();
            taken += part.len();
            part
        });
        // A frame with a window of 1 KiB and one block, the last, as it is (RFC 8878, sections 3.1.1.1 and 3.1.1.2).
        an_answer_comes_before_more_lines(jobs, |line| {
            let header = u32::try_from(line.len()).unwrap() << 3 | 1;
            let mut frame = vec![0x28, 0xb5, 0x2f, 0xfd, 0, 0];
            frame.extend_from_slice(&header.to_le_bytes()[..3]);
            frame.extend_from_slice(line);
            frame
        });
    }
}

/// The same lines as they are, and packed by the commands `gzip` 1.13 and `zstd` 1.5: in two parts each, those of zstd with a
/// checksum and with a part between them that is to be skipped (RFC 1952, section 2.2; RFC 8878, section 3.1).
fn packed(ending: &str) -> (String, Vec<u8>) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/packed");
    let path = format!("{folder}/looks.jsonl{ending}");
    let bytes = std::fs::read(&path).unwrap();
    (path, bytes)
}

#[test]
fn packed_lines_are_answered_as_lines_are() {
    let (path, bytes) = packed("");
    let plain = streamed(&engine("kestrel-four"), &path, &[], b"");
    assert_eq!((plain.0.len(), plain.2), (40, Some(1)));
    assert_eq!(kestrel(&bytes), plain);
    let folder = scratch("packed");
    for ending in [".gz", ".zst"] {
        let (path, bytes) = packed(ending);
        for jobs in ["1", "2"] {
            assert_eq!(
                streamed(&engine("kestrel-four"), &path, &["--jobs", jobs], b""),
                plain
            );
        }
        // By what they begin with, not by what they are called.
        assert_eq!(kestrel(&bytes), plain);
        std::fs::write(folder.join(format!("a.jsonl{ending}")), bytes).unwrap();
        std::fs::write(folder.join(format!("b.txt{ending}")), "").unwrap();
    }
    let both = streamed(&engine("kestrel-four"), folder.to_str().unwrap(), &[], b"");
    assert_eq!(both.0.len(), 80);
}

/// Lines that got lost must not pass for all there were.
#[test]
fn a_damaged_or_cut_file_is_refused_wherever_it_is_hurt() {
    // The end of a part is the end of a file, as far as anybody can tell.
    for (ending, ends) in [(".gz", vec![199]), (".zst", vec![194, 206])] {
        let (_, whole) = packed(ending);
        let tried = (5..whole.len())
            .step_by(7)
            .chain(ends.iter().flat_map(|end| [end - 1, end + 1]));
        for keep in tried.filter(|keep| !ends.contains(keep)) {
            let (_, stderr, status) = kestrel(&whole[..keep]);
            assert_eq!(status, Some(2), "{ending} {keep} {stderr}");
        }
        let plain = kestrel(&whole).0;
        for hurt in (0..whole.len()).step_by(5) {
            let mut bytes = whole.clone();
            bytes[hurt] ^= 0x10;
            let (lines, stderr, status) = kestrel(&bytes);
            // Some bytes say nothing: a time, a name, what is to be skipped.
            assert!(
                status == Some(2) || lines == plain,
                "{ending} {hurt} {stderr}"
            );
        }
    }
    let (_, stderr, _) = kestrel(&packed(".zst").1[..60]);
    assert!(stderr.contains("the records could not be read"), "{stderr}");
}

#[test]
fn an_answer_can_be_the_verdict_alone() {
    let (path, _) = packed("");
    let spec = engine("kestrel-four");
    let (all, summary, status) = streamed(&spec, &path, &["--fields", "all"], b"");
    let brief = streamed(&spec, &path, &["--fields", "verdict"], b"");
    assert_eq!((&brief.1, brief.2), (&summary, status));
    for (brief, all) in brief.0.iter().zip(&all) {
        let keys: Vec<&String> = brief.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["id", "line", "release_tensioner", "verdict"]);
        for key in keys {
            assert_eq!(brief[key], all[key]);
        }
    }
}

/// By the links alone a look-alike would show the same: the line is no pass, nor is the file.
#[test]
fn the_status_is_that_of_the_release() {
    let spec = engine("kestrel-four");
    for (key, status) in [("links", 1), ("dots", 0)] {
        let line = format!("{{\"{key}\":{ALL_ON}}}\n");
        let arguments = ["check", &spec, "--records", "-"];
        let outcome = tautmark_fed(&arguments, line.as_bytes());
        assert!(outcome.stdout.contains("\"verdict\":\"in time\""), "{key}");
        assert_eq!(outcome.status, Some(status), "{key}");
    }
}

/// Counts from dot to dot say in a line what they say to `check`, and are refused for the same reasons.
#[test]
fn counts_are_taken_as_check_takes_them() {
    for counts in [
        &[
            ("crank..exhaust", "51 outer inner"),
            ("exhaust..intake", "17 inner outer"),
        ][..],
        &[
            ("crank..exhaust", "51"),
            ("exhaust..intake", "17"),
            ("intake..crank", "50"),
        ],
        &[
            ("crank..exhaust", "52"),
            ("exhaust..intake", "16"),
            ("intake..crank", "50"),
        ],
        &[("crank..exhaust", "51")],
        &[("crank..exhaust", "51 outer outer")],
        &[("crank..intake", "68")],
        &[("crank-exhaust", "51")],
        &[("crank..exhaust", "51 outer")],
        &[("crank..exhaust", "51,5")],
        &[("crank..no-such", "51")],
    ] {
        let mut words = vec!["check".to_owned(), engine("kestrel-four")];
        let mut typed = serde_json::Map::new();
        for (names, what) in counts {
            words.extend(["--count".to_owned(), format!("{names}={what}")]);
            typed.insert((*names).to_owned(), json!(what));
        }
        words.extend(["--format".to_owned(), "json".to_owned()]);
        let by_check = tautmark(&words);
        let line = json!({ "counts": typed }).to_string() + "\n";
        let (answers, _, status) = kestrel(line.as_bytes());
        assert_eq!(
            by_check.status, status,
            "{counts:?}: {}{answers:?}",
            by_check.stderr
        );
        if status == Some(2) {
            assert!(
                answers[0]["error"].as_str().unwrap().len() > 20,
                "{answers:?}"
            );
        } else {
            let by_check = by_check.json();
            assert_eq!(answers[0]["verdict"], by_check["verdict"], "{counts:?}");
            assert_eq!(
                answers[0]["release_tensioner"], by_check["release_tensioner"],
                "{counts:?}"
            );
        }
    }
    // Numbers of links and counts of the same chain say the same thing twice.
    let mixed = br#"{"links": {"crank": "on"}, "counts": {"crank..exhaust": "51 outer inner"}}"#;
    let (answers, _, status) = kestrel(mixed);
    assert_eq!(status, Some(2), "{answers:?}");
    // A count given twice is refused, and not lost.
    let twice =
        br#"{"counts": {"crank..exhaust": "51 outer inner", "crank..exhaust": "50 outer outer"}}"#;
    let (answers, _, status) = kestrel(twice);
    assert_eq!(status, Some(2), "{answers:?}");
}
