//! Files and arguments that mean harm: one clear answer each, soon, in little memory, and nothing
//! of them reaches a terminal raw.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use crate::support::program::{
    ENGINES, Outcome, engine, limited, run, scratch, tautmark, tautmark_fed,
};
use proptest::prelude::*;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Stdio;
use tautmark::{
    Drive, Source,
    render::{finding_json, finding_text},
};

/// The status (a run that computes too long or takes too much memory has none), no panic, printable.
fn assert_answered(what: &str, outcome: &Outcome, status: i32) {
    assert_eq!(
        outcome.status,
        Some(status),
        "{what}: {}",
        outcome.stderr.chars().take(2000).collect::<String>()
    );
    for text in [&outcome.stdout, &outcome.stderr] {
        assert!(!text.contains("panicked"), "{what}: {text}");
        assert!(!text.contains("memory allocation"), "{what}: {text}");
        assert!(text.len() < 200_000, "{what}: {} bytes out", text.len());
    }
    outcome.assert_printable();
}

/// Codes of texts that are no mapping in YAML, of which `lint` has nothing more to say.
const NO_SPEC: &[&str] = &[
    "not-yaml",
    "empty",
    "second-document",
    "too-deep",
    "too-many-values",
    "too-much-repeated",
    "alias-loop",
    "key-not-text",
    // Only used here of a file that is one list.
    "wrong-type",
];

/// A file that can be read as text but holds no usable spec: `check` says why on standard error
/// and ends with 2, `lint` gives findings and ends with 1, or 2 where it is no YAML at all, each
/// with the code.
fn assert_refused(directory: &Path, what: &str, bytes: &[u8], code: &str) {
    let path = directory.join(format!("{}.yaml", what.replace(' ', "-")));
    std::fs::write(&path, bytes).unwrap();
    let path = path.to_str().unwrap();

    let check = tautmark(&["check", path]);
    assert_answered(what, &check, 2);
    assert_eq!(check.stdout, "", "{what}");
    assert!(
        check.stderr.contains(&format!("error[{code}]")),
        "{what}: {}",
        check.stderr
    );

    let lint = tautmark(&["lint", path]);
    let status = if NO_SPEC.contains(&code) { 2 } else { 1 };
    assert_answered(what, &lint, status);
    assert_eq!(lint.stderr, "", "{what}");
    assert!(
        lint.stdout.contains(&format!("error[{code}]")),
        "{what}: {}",
        lint.stdout
    );

    let json = tautmark(&["lint", "--format", "json", path]);
    assert_answered(what, &json, status);
    let report = json.json();
    let codes: Vec<&str> = report["files"][0]["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| finding["code"].as_str().unwrap())
        .collect();
    assert!(codes.contains(&code), "{what}: {codes:?}");
}

/// One file, one finding: the message is not buried.
fn assert_refused_once(directory: &Path, what: &str, bytes: &[u8], code: &str) {
    assert_refused(directory, what, bytes, code);
    let path = directory.join(format!("{}.yaml", what.replace(' ', "-")));
    let lint = tautmark(&["lint", path.to_str().unwrap()]);
    assert_eq!(
        lint.stdout.matches("error[").count(),
        1,
        "{what}: {}",
        lint.stdout
    );
}

const HEAD: &str = "tautmark: 1\nengine: x\ncrank_turns: clockwise\n";

#[test]
fn nesting_without_end() {
    let dir = scratch("nesting");
    let million = 1_000_000;
    assert_refused_once(
        &dir,
        "open brackets",
        "[".repeat(million).as_bytes(),
        "too-deep",
    );
    assert_refused_once(
        &dir,
        "open braces",
        "{a: ".repeat(million / 4).as_bytes(),
        "too-deep",
    );
    assert_refused_once(
        &dir,
        "sequences in a line",
        "- ".repeat(million / 2).as_bytes(),
        "too-deep",
    );
    assert_refused_once(
        &dir,
        "question marks",
        "? ".repeat(million / 2).as_bytes(),
        "too-deep",
    );
    let mut block = String::new();
    for depth in 0..1_400 {
        let _ = writeln!(block, "{}a:", " ".repeat(depth));
    }
    assert_refused_once(&dir, "block", block.as_bytes(), "too-deep");
    assert_refused_once(
        &dir,
        "mixed",
        "[{a: ".repeat(200_000).as_bytes(),
        "too-deep",
    );
}

#[test]
fn aliases_that_grow() {
    let dir = scratch("aliases");
    let mut laughs = String::from("a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol, lol]\n");
    for level in 1..30 {
        let aliases = vec![format!("*a{}", level - 1); 10].join(", ");
        let _ = writeln!(laughs, "a{level}: &a{level} [{aliases}]");
    }
    assert_refused_once(&dir, "billion laughs", laughs.as_bytes(), "too-many-values");

    // Few values, but each a copy of half a megabyte.
    let long = "x".repeat(500_000);
    let many = vec!["*a"; 20_000].join(", ");
    assert_refused_once(
        &dir,
        "one long text many times",
        format!("engine: &a {long}\nchains: [{many}]\n").as_bytes(),
        "too-much-repeated",
    );
    let mut shafts = format!("engine: &a {long}\nshafts:\n");
    for shaft in 0..15_000 {
        let _ = writeln!(shafts, "  s{shaft}: {{ kind: *a }}");
    }
    assert_refused_once(
        &dir,
        "one long word many times",
        shafts.as_bytes(),
        "too-much-repeated",
    );

    // Anchors within anchors: each keeps all that lies below it.
    let mut nested = String::new();
    for anchor in 0..25 {
        let _ = write!(nested, "&a{anchor} [");
    }
    nested.push_str(&vec!["[]"; 48_000].join(","));
    nested.push_str(&"]".repeat(25));
    assert_refused_once(
        &dir,
        "anchors within anchors",
        nested.as_bytes(),
        "wrong-type",
    );

    // One anchor after the other, each over a copy of a large value.
    let mut again = format!("a: &a [{}]\n", vec!["1"; 400].join(","));
    for anchor in 0..20_000 {
        let _ = writeln!(again, "k{anchor}: &a{anchor} [*a]");
    }
    assert_refused_once(
        &dir,
        "large values anchored again",
        again.as_bytes(),
        "too-many-values",
    );

    let anchors: String = (0..49_000).fold("[".into(), |text, n| format!("{text}&a{n} 1,")) + "1]";
    assert_refused_once(&dir, "many anchors", anchors.as_bytes(), "wrong-type");
    assert_refused_once(&dir, "within itself", b"&a [*a]", "alias-loop");
    assert_refused_once(&dir, "of nothing", b"engine: *nobody", "not-yaml");
}

#[test]
fn more_than_any_spec_has() {
    let dir = scratch("more");
    let long = "x".repeat(1_000_000);
    assert_refused(
        &dir,
        "a long text",
        format!("{HEAD}timed_position: {long}\n").as_bytes(),
        "unprintable-text",
    );
    assert_refused(
        &dir,
        "a long quoted text",
        format!("{HEAD}timed_position: \"{long}\"\n").as_bytes(),
        "unprintable-text",
    );
    assert_refused(
        &dir,
        "a long block text",
        format!("{HEAD}timed_position: |\n  {long}\n").as_bytes(),
        "unprintable-text",
    );
    assert_refused(
        &dir,
        "a long key",
        format!("{HEAD}? {long}\n: 1\n").as_bytes(),
        "unknown-key",
    );
    assert_refused(
        &dir,
        "a long name",
        format!("{HEAD}shafts:\n  ? {long}\n  : {{ kind: crankshaft }}\n").as_bytes(),
        "bad-name",
    );
    assert_refused(
        &dir,
        "a long number",
        format!("tautmark: {}\n", "9".repeat(1_000_000)).as_bytes(),
        "out-of-range",
    );
    assert_refused(
        &dir,
        "a long comment",
        format!("#{long}\n").as_bytes(),
        "empty",
    );
    assert_refused(
        &dir,
        "long comments before",
        format!("{HEAD}#{}\nx: 1\n", "é".repeat(500_000)).as_bytes(),
        "unknown-key",
    );
    assert_refused(
        &dir,
        "line breaks only",
        "\n".repeat(1_000_000).as_bytes(),
        "empty",
    );
    assert_refused(
        &dir,
        "line breaks before",
        format!("{}x: 1\n", "\n".repeat(1_000_000)).as_bytes(),
        "unknown-key",
    );
    assert_refused(
        &dir,
        "blanks only",
        " ".repeat(1_000_000).as_bytes(),
        "empty",
    );
    assert_refused(
        &dir,
        "tabs only",
        "\t".repeat(1_000_000).as_bytes(),
        "empty",
    );

    let keys = (0..24_000).fold(String::new(), |mut text, n| {
        let _ = writeln!(text, "some_key_or_other_of_some_length_{n}: 1");
        text
    });
    assert_refused(&dir, "keys by the thousand", keys.as_bytes(), "unknown-key");
    let same = "teth: 1\n".repeat(24_000);
    assert_refused(
        &dir,
        "one key by the thousand",
        same.as_bytes(),
        "duplicate-key",
    );
    let near = (0..24_000).fold(String::new(), |mut text, n| {
        let _ = writeln!(text, "crank_turn{n}: 1");
        text
    });
    assert_refused(
        &dir,
        "near keys by the thousand",
        near.as_bytes(),
        "unknown-key",
    );
    assert_refused_once(
        &dir,
        "more values than are read",
        "- 1\n".repeat(200_000).as_bytes(),
        "too-many-values",
    );
    assert_refused(
        &dir,
        "documents",
        "---\nx\n".repeat(100_000).as_bytes(),
        "second-document",
    );

    let mut shafts = format!("{HEAD}shafts:\n  crank: {{ kind: crankshaft }}\n");
    let mut path = String::new();
    for shaft in 0..9_900 {
        let _ = writeln!(shafts, "  s{shaft}: {{ kind: idler }}");
        if shaft < 2_000 {
            let _ = writeln!(path, "      - {{ sprocket: t{shaft}, teeth: 20 }}");
        }
    }
    let chains = format!(
        "chains:\n  main:\n    links: 100\n    path:\n      - {{ sprocket: crank, teeth: 20, link: 0 }}\n{path}"
    );
    assert_refused(
        &dir,
        "shafts by the thousand",
        format!("{shafts}{chains}").as_bytes(),
        "too-many",
    );
    let mut many = format!("{HEAD}shafts:\n  crank: {{ kind: crankshaft }}\nchains:\n");
    for chain in 0..3_000 {
        let _ = writeln!(
            many,
            "  c{chain}: {{ links: 100, path: [{{ sprocket: crank, teeth: 1 }}, {{ sprocket: crank }}] }}"
        );
    }
    assert_refused(&dir, "chains by the thousand", many.as_bytes(), "too-many");
    let mut names = format!("{HEAD}shafts:\n");
    for shaft in 0..60 {
        let _ = writeln!(
            names,
            "  ? {shaft}{}\n  : {{ kind: idler }}",
            "y".repeat(12_000)
        );
    }
    let _ = write!(names, "chains:\n  main:\n    links: 100\n    path:\n");
    for _ in 0..60 {
        let _ = writeln!(
            names,
            "      - {{ sprocket: {}, teeth: 20 }}",
            "z".repeat(120)
        );
    }
    assert_refused(&dir, "long names to compare", names.as_bytes(), "bad-name");
}

#[test]
fn one_line_that_is_the_whole_file() {
    let dir = scratch("line");
    let keys = |key: &str| {
        let pairs: Vec<String> = (0..20_000)
            .map(|n| key.replace('#', &n.to_string()))
            .collect();
        format!("{{{}}}", pairs.join(", "))
    };
    for (what, key, code) in [
        (
            "keys in a line",
            "some_key_of_some_length_or_other_#: 1",
            "unknown-key",
        ),
        (
            "one key in a line",
            "some_key_of_some_length_or_other: 1",
            "duplicate-key",
        ),
        ("wide keys in a line", "引擎引擎引擎#: 1", "unknown-key"),
        ("quoted keys in a line", "\"\\e\\u202e#\": 1", "unknown-key"),
        (
            "blanks in a line",
            "                         k#: 1",
            "unknown-key",
        ),
        (
            "tabs in a line",
            "\t\t\t\t\t\t\t\t\t\t\t\t\t\tk#: 1",
            "unknown-key",
        ),
    ] {
        assert_refused(&dir, what, keys(key).as_bytes(), code);
    }
    // Two places of one finding as far apart as can be.
    let apart = format!("{HEAD}{}engine: y\n", "# far\n".repeat(160_000));
    assert_refused(&dir, "far apart", apart.as_bytes(), "duplicate-key");
    let apart = format!(
        "{{engine: x, timed_position: '{}', engine: y}}",
        " x".repeat(500_000)
    );
    assert_refused(
        &dir,
        "far apart in a line",
        apart.as_bytes(),
        "duplicate-key",
    );
}

#[test]
fn numbers_that_are_none() {
    let dir = scratch("numbers");
    for (what, number, code) in [
        (
            "huge",
            "999999999999999999999999999999999999999999",
            "out-of-range",
        ),
        (
            "hugely negative",
            "-170141183460469231731687303715884105729",
            "out-of-range",
        ),
        ("exponent", "1e400", "not-a-number"),
        ("tiny exponent", "1e-400", "not-a-number"),
        ("infinite", ".inf", "not-a-number"),
        ("no number", ".nan", "not-a-number"),
        ("over zero", "3/0", "not-a-number"),
        ("hexadecimal", "0xffffffffffffffff", "not-a-number"),
    ] {
        let text = format!(
            "{HEAD}shafts: {{ crank: {{ kind: crankshaft }} }}\nchains: {{ main: {{ links: {number}, path: [] }} }}\n"
        );
        assert_refused(&dir, what, text.as_bytes(), code);
    }
}

#[test]
fn bytes_that_are_no_text() {
    let dir = scratch("bytes");
    assert_refused(
        &dir,
        "nul bytes",
        format!("{HEAD}timed_position: a\0b\n").as_bytes(),
        "not-yaml",
    );
    assert_refused(&dir, "nothing but nul bytes", &[0; 4096], "not-yaml");
    assert_refused_once(&dir, "empty", b"", "empty");
    assert_refused_once(&dir, "only comments", b"# nothing\n# here\n", "empty");
    assert_refused_once(&dir, "only a header", b"---\n", "empty");
    assert_refused_once(
        &dir,
        "only a byte order mark",
        "\u{feff}".as_bytes(),
        "empty",
    );
    assert_refused_once(
        &dir,
        "open quote",
        format!("engine: \"{}", "a\n".repeat(400_000)).as_bytes(),
        "not-yaml",
    );
    assert_refused(
        &dir,
        "carriage returns",
        b"a: 1\r\rb: 2\rc: 3\r",
        "unknown-key",
    );
}

/// A file that cannot even be read: one line on standard error and status 2 from either command.
fn assert_unreadable(what: &str, path: &str, says: &str) {
    for command in ["check", "lint"] {
        let outcome = tautmark(&[command, path]);
        assert_answered(what, &outcome, 2);
        assert!(outcome.stderr.contains(says), "{what}: {}", outcome.stderr);
        assert!(
            outcome.stderr.starts_with("error: "),
            "{what}: {}",
            outcome.stderr
        );
        assert_eq!(
            outcome.stderr.lines().count(),
            1,
            "{what}: {}",
            outcome.stderr
        );
    }
}

#[test]
fn files_that_cannot_be_read() {
    let dir = scratch("unreadable");
    let at = |name: &str| dir.join(name).to_str().unwrap().to_owned();
    assert_unreadable("a directory", dir.to_str().unwrap(), "is a directory");
    assert_unreadable(
        "missing",
        &at("missing.yaml"),
        "could not be opened: No such file",
    );

    std::fs::write(at("latin.yaml"), b"engine: caf\xe9\n").unwrap();
    assert_unreadable(
        "not UTF-8",
        &at("latin.yaml"),
        "not UTF-8 text from byte 11 on",
    );
    std::fs::write(at("sixteen.yaml"), b"\xff\xfee\0n\0").unwrap();
    assert_unreadable(
        "UTF-16",
        &at("sixteen.yaml"),
        "not UTF-8 text from byte 0 on",
    );

    let sparse = std::fs::File::create(at("gigabyte.yaml")).unwrap();
    sparse.set_len(1 << 30).unwrap();
    assert_unreadable("a gigabyte", &at("gigabyte.yaml"), "larger than 1 MiB");
    if Path::new("/dev/zero").exists() {
        assert_unreadable("without an end", "/dev/zero", "larger than 1 MiB");
    }
    std::fs::remove_file(at("gigabyte.yaml")).unwrap();
}

#[cfg(unix)]
#[test]
fn a_file_without_permission() {
    use std::os::unix::fs::PermissionsExt as _;
    let dir = scratch("permission");
    let path = dir.join("locked.yaml");
    std::fs::write(&path, "x").unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    // Nothing is locked to root.
    if std::fs::File::open(&path).is_err() {
        assert_unreadable("no permission", path.to_str().unwrap(), "Permission denied");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_pipe_without_an_end() {
    for command in ["check", "lint"] {
        let mut program = limited();
        program.args([command, "-"]);
        program.stdin(Stdio::from(std::fs::File::open("/dev/zero").unwrap()));
        let outcome = run(program, b"");
        assert_answered("zeros", &outcome, 2);
        assert_eq!(outcome.stderr.lines().count(), 1, "{}", outcome.stderr);

        let outcome = tautmark_fed(&[command, "-"], &b"# no end\n".repeat(1_000_000));
        assert_answered("comments", &outcome, 2);
        assert!(
            outcome
                .stderr
                .contains("'-' cannot be a spec: larger than 1 MiB"),
            "{}",
            outcome.stderr
        );
    }
}

/// What must not reach a terminal, one of every kind.
const EVIL: &[&str] = &[
    "\u{1b}[31m",
    "\u{1b}]0;title\u{7}",
    "\u{8}\u{8}",
    "\r",
    "\u{7f}",
    "\u{9b}31m",
    "\u{85}",
    "\u{202e}",
    "\u{2066}",
    "\u{200b}",
    "\u{200f}",
    "\u{2028}",
    "\u{feff}",
    "\u{0}",
];

#[test]
fn nothing_of_a_file_reaches_the_terminal_raw() {
    let dir = scratch("evil");
    let good = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    for evil in EVIL {
        let escaped: String = evil
            .chars()
            .map(|c| format!("\\U{:08X}", u32::from(c)))
            .collect();
        let put = |word: &str| good.replace(word, &format!("{}{evil}{}", &word[..2], &word[2..]));
        for (what, text) in [
            ("engine", put("Kestrel")),
            ("shaft", put("exhaust")),
            ("chain", put("main")),
            ("key", put("pitch")),
            ("colour", put("yellow")),
            ("number", good.replace("118", &format!("1{evil}18"))),
            ("word", put("camshaft")),
            ("comment", put("# in the order").replace("path", "pth")),
            (
                "escapes",
                [
                    "Kestrel 2.0 inline-four",
                    "pitch",
                    "exhaust",
                    "main",
                    "yellow",
                    "retarded",
                    "118",
                ]
                .iter()
                .fold(good.clone(), |text, word| {
                    text.replace(word, &format!("\"x{escaped}\""))
                }),
            ),
        ] {
            assert_ne!(text, good, "{what}");
            let path = dir.join("evil.yaml");
            std::fs::write(&path, text).unwrap();
            let path = path.to_str().unwrap();
            for arguments in [
                &["check", path, "--link", "crank=on"][..],
                &["check", path, "--link", "crank=on", "--format", "json"],
                &["lint", path],
                &["lint", path, "--format", "json"],
            ] {
                let outcome = tautmark(arguments);
                assert!(outcome.status.is_some(), "{what} {evil:?}");
                outcome.assert_printable();
                assert!(!outcome.stderr.contains("panicked"), "{what} {evil:?}");
            }
        }
    }
}

#[test]
fn nothing_of_the_command_line_reaches_the_terminal_raw() {
    let dir = scratch("evil-arguments");
    let kestrel = engine("kestrel-four");
    for evil in EVIL.iter().filter(|evil| **evil != "\0") {
        let path = dir.join(format!("a{evil}b.yaml"));
        std::fs::copy(&kestrel, &path).unwrap();
        let path = path.to_str().unwrap();
        let broken = dir.join(format!("c{evil}d.yaml"));
        std::fs::write(&broken, "engine: 1\nx: 2\n").unwrap();
        let broken = broken.to_str().unwrap();
        let bad = format!("x{evil}y");
        let seen = format!("{bad}=on");
        let value = format!("crank={bad}");
        for arguments in [
            &["check", path][..],
            &["lint", path],
            &["lint", path, path, "--format", "json"],
            &["check", broken],
            &["lint", broken],
            &["lint", broken, "--format", "json"],
            &["lint", &bad],
            &["check", &bad],
            &["new", "-o", path],
            &["new", "-o", &format!("{}/no/{bad}", dir.display())],
            &["check", path, "--link", &seen],
            &["check", path, "--link", &value],
            &["check", path, "--link", &bad],
            &["check", path, "--dot", &seen],
            &["check", path, "--dot", &value],
            &["check", path, "--link", &format!("{bad}/crank=on")],
            &["check", path, "--turned", &bad],
            &["roll", path, "--turned", "2"],
            &["roll", path, "--turned", "2", "--table", "--format", "json"],
            &["roll", path, "--turned", &bad],
            &["explain", path, "crank=on", &seen],
            &["explain", path, &value],
            &["explain", path, &bad],
            &["explain", path, "--tolerance", &bad],
            &["explain", path, "--code", &bad],
            &[
                "explain",
                path,
                "intake=2 behind",
                "--code",
                &bad,
                "--format",
                "json",
            ],
            &["explain", path, "--most", &bad],
            &["check", path, "--format", &bad],
            &[&bad],
            &[&format!("--{bad}")],
            &["check", &format!("--{bad}")],
        ] {
            let outcome = tautmark(arguments);
            assert!(outcome.status.is_some(), "{arguments:?}");
            outcome.assert_printable();
            assert!(!outcome.stderr.contains("panicked"), "{arguments:?}");
        }
    }
}

#[cfg(unix)]
#[test]
fn names_that_are_no_text() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt as _;
    let bad = OsStr::from_bytes(b"a\xffb\x1b[1m");
    for arguments in [
        &[OsStr::new("lint"), bad][..],
        &[OsStr::new("check"), bad],
        &[
            OsStr::new("check"),
            OsStr::new("x"),
            OsStr::new("--turned"),
            bad,
        ],
        &[bad],
    ] {
        let outcome = tautmark(arguments);
        assert_answered("not UTF-8", &outcome, 2);
        assert_eq!(outcome.stdout, "");
    }
}

/// Whatever is read, reading ends, every place lies in the text, and every finding can be shown.
fn assert_readable(bytes: Vec<u8>) {
    let Ok(source) = Source::new("any.yaml", bytes) else {
        return;
    };
    let reading = Drive::read(&source);
    let text = source.text();
    assert!(reading.drive.is_some() || !reading.findings.is_empty());
    for finding in &reading.findings {
        for span in finding.span.iter().chain(&finding.related) {
            assert!(
                span.start <= span.end && span.end <= text.len(),
                "{finding:?}"
            );
            assert!(
                text.is_char_boundary(span.start) && text.is_char_boundary(span.end),
                "{finding:?}"
            );
        }
        let shown = finding_text(finding, &source, false);
        assert!(shown.contains(finding.code()));
        assert!(!shown.contains(['\u{1b}', '\r', '\u{202e}']), "{shown:?}");
        let place = finding_json(finding, &source)["at"].clone();
        if finding.span.is_some() {
            let (line, column) = (
                place["line"].as_u64().unwrap(),
                place["column"].as_u64().unwrap(),
            );
            let lines = text.split('\n').collect::<Vec<_>>();
            let there = lines[usize::try_from(line).unwrap() - 1];
            assert!(usize::try_from(column).unwrap() <= there.chars().count() + 1);
            assert!(
                shown.contains(&format!("any.yaml:{line}:{column}")),
                "{shown}"
            );
        }
    }
    let starts: Vec<usize> = reading
        .findings
        .iter()
        .map(|f| f.span.map_or(0, |span| span.start))
        .collect();
    assert!(
        starts.is_sorted(),
        "findings stand in the order of the file"
    );
}

/// Bits of YAML and of specs, which random bytes hardly ever come upon.
const BITS: &[&str] = &[
    "&a ",
    "*a",
    "<<: ",
    "!!str ",
    "!x ",
    "---\n",
    "...\n",
    "? ",
    ": ",
    "- ",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "'",
    "|\n",
    ">-\n",
    "\t",
    "\r\n",
    "\r",
    "#",
    "%YAML 1.2\n",
    "\0",
    "\u{feff}",
    "\u{85}",
    "\u{2028}",
    "é",
    "🦆",
    "\u{1b}[2J",
    "\u{202e}",
    "~",
    "1e400",
    "3/0",
    "-0",
    ".nan",
    "link: 0, ",
    "links: [1, 2], ",
    "teeth: 4, ",
    "outside: true, ",
    "kind: camshaft, ",
    "sprocket: crank, ",
    "999999999999999999999",
    "\n",
    "  ",
];

fn mutation() -> impl Strategy<Value = Vec<u8>> {
    let edit = (
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        0..12_usize,
        0..4_u8,
    );
    (
        prop::sample::select(ENGINES.as_slice()),
        prop::collection::vec(edit, 1..6),
    )
        .prop_map(|(name, edits)| {
            let mut text = std::fs::read(engine(&name)).unwrap();
            for (place, bit, length, kind) in edits {
                let at = place.index(text.len() + 1);
                let end = (at + length).min(text.len());
                match kind {
                    0 => drop(text.drain(at..end)),
                    1 => drop(text.splice(at..end, BITS[bit.index(BITS.len())].bytes())),
                    2 => drop(text.splice(at..at, BITS[bit.index(BITS.len())].bytes())),
                    _ => {
                        let piece = text[at..end].to_vec();
                        let to = bit.index(text.len() + 1);
                        drop(text.splice(to..to, piece));
                    }
                }
            }
            text
        })
}

proptest! {
    #![proptest_config(crate::support::cases(if cfg!(debug_assertions) { 128 } else { 1024 }))]

    #[test]
    fn any_bytes_are_read_to_an_end(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        assert_readable(String::from_utf8_lossy(&bytes).into_owned().into_bytes());
        assert_readable(bytes);
    }

    #[test]
    fn any_bits_of_yaml_are_read_to_an_end(bits in prop::collection::vec(prop::sample::select(BITS), 0..40)) {
        assert_readable(bits.concat().into_bytes());
    }

    #[test]
    fn mutated_engines_are_read_to_an_end(bytes in mutation()) {
        assert_readable(bytes);
    }
}
