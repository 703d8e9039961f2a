//! What every command writes, on which stream, and how it ends.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

use crate::support::program::{ENGINES, Outcome, engine, limited, scratch, tautmark, tautmark_fed};
use serde_json::{Value, json};
use std::process::Stdio;
use tautmark::{Drive, Source, render::STARTER, timing::name_of};

/// `check` on an engine, with the observations in one line: `--link` where nothing else is said.
fn check(name: &str, seen: &[&str]) -> Outcome {
    let path = engine(name);
    let mut arguments = vec!["check", &path];
    for word in seen {
        if !word.starts_with("--") && arguments.last().is_none_or(|last| !last.starts_with("--")) {
            arguments.push("--link");
        }
        arguments.push(word);
    }
    let outcome = tautmark(&arguments);
    outcome.assert_printable();
    outcome
}

fn check_json(name: &str, seen: &[&str]) -> (Option<i32>, Value) {
    let mut seen = seen.to_vec();
    seen.extend(["--format", "json"]);
    let outcome = check(name, &seen);
    assert_eq!(outcome.stderr, "");
    (outcome.status, outcome.json())
}

/// One line on standard error, status 2, nothing on standard output.
fn assert_error(outcome: &Outcome, says: &str) {
    assert_eq!(outcome.stderr, format!("error: {says}\n"));
    assert_eq!(outcome.status, Some(2));
    assert_eq!(outcome.stdout, "");
}

fn drive(name: &str) -> Drive {
    let bytes = std::fs::read(engine(name)).unwrap();
    Drive::read(&Source::new(name, bytes).unwrap())
        .drive
        .unwrap()
}

/// Everything that can be looked at, as arguments: the links, or the dots where there are none.
fn all_on(name: &str) -> Vec<[String; 2]> {
    let drive = drive(name);
    drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.is_marked())
        .map(|(at, sprocket)| {
            let flag = if sprocket.mark().is_some() {
                "--link"
            } else {
                "--dot"
            };
            [flag.to_owned(), format!("{}=on", name_of(&drive, at))]
        })
        .collect()
}

fn words(seen: &[[String; 2]]) -> Vec<&str> {
    seen.iter().flatten().map(String::as_str).collect()
}

#[test]
fn out_of_time_names_the_cam_and_what_to_move() {
    let outcome = check(
        "kestrel-four",
        &["crank=on", "exhaust=on", "intake=2 behind"],
    );
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    for line in [
        "OUT OF TIME. Do not release the tensioner.",
        "  intake   2 teeth behind (retarded): 40 crank degrees  [dot 2 teeth behind link 68 (yellow)]",
        "  1. intake: turn the sprocket 2 teeth clockwise against the chain, as seen facing the timing end (ahead, the way it normally turns). Lay link 68 (yellow) on its dot.",
        "  exhaust  in time  [dot on link 51 (yellow)]",
    ] {
        assert!(
            outcome.stdout.lines().any(|written| written == line),
            "{line}\n{}",
            outcome.stdout
        );
    }
    assert!(
        !outcome.stdout.contains("may be released"),
        "{}",
        outcome.stdout
    );
}

#[test]
fn in_time_lets_the_tensioner_go_once_no_lookalike_fits() {
    let links = ["crank=on", "exhaust=on", "intake=on"];
    let outcome = check("kestrel-four", &links);
    // In time, and not yet to be released: what goes by the exit status must not release it either.
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    assert!(outcome.stdout.contains(
        "\nIN TIME by the links. Take one more look (below) before the tensioner is released.\n"
    ));
    assert!(!outcome.stdout.contains("What to move"));
    assert!(!outcome.stdout.contains("may be released."));
    let settled = [&links[..], &["--dot", "crank=on", "--dot", "exhaust=on"]].concat();
    let outcome = check("kestrel-four", &settled);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(0), ""));
    assert!(
        outcome
            .stdout
            .contains("\nIN TIME. The tensioner may be released.\n")
    );
}

#[test]
fn one_mark_left_out_is_not_proven() {
    let outcome = check("kestrel-four", &["crank=on", "exhaust=on"]);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    assert!(
        outcome
            .stdout
            .contains("\nNOT PROVEN. Do not release the tensioner.\n")
    );
    assert!(
        outcome
            .stdout
            .contains("  - the dot of intake against link 68 (yellow) (--link intake=...)\n")
    );
}

#[test]
fn a_bad_spec_is_told_with_its_place() {
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let path = scratch("bad-spec").join("bad.yaml");
    std::fs::write(&path, text.replacen("teeth: 36", "teeth: 35", 1)).unwrap();
    let path = path.to_str().unwrap();
    let outcome = tautmark(&["check", path, "--link", "crank=on"]);
    assert_eq!((outcome.status, outcome.stdout.as_str()), (Some(2), ""));
    assert!(
        outcome
            .stderr
            .starts_with("error[camshaft-not-half-speed]: camshaft 'exhaust' makes 18/35 turns"),
        "{}",
        outcome.stderr
    );
    assert!(
        outcome.stderr.contains(&format!("--> {path}:20:37\n")),
        "{}",
        outcome.stderr
    );
    let lint = tautmark(&["lint", path]);
    assert_eq!((lint.status, lint.stderr.as_str()), (Some(1), ""));
    assert!(
        lint.stdout.contains(&format!("--> {path}:20:37\n")),
        "{}",
        lint.stdout
    );
    assert!(
        lint.stdout.ends_with(&format!("{path}: 1 finding\n")),
        "{}",
        lint.stdout
    );
}

#[test]
fn every_engine_is_in_time_when_all_is_seen_and_not_proven_when_one_is_not() {
    for name in ENGINES.iter() {
        let all = all_on(name);
        let (status, report) = check_json(name, &words(&all));
        assert_eq!(
            (&report["verdict"], status == Some(0)),
            (&json!("in time"), report["release_tensioner"] == true),
            "{name}: {report}"
        );
        let settled = report["false_friends"].as_array().unwrap().is_empty();
        assert_eq!(report["release_tensioner"], settled);
        assert_eq!(report["not_seen"], json!([]));
        for shaft in report["shafts"].as_array().unwrap() {
            assert_eq!(
                (&shaft["off_teeth"], &shaft["off_crank_degrees"]),
                (&json!("0"), &json!("0")),
                "{name}"
            );
        }
        for left_out in 0..all.len() {
            let mut seen = all.clone();
            let [flag, missing] = seen.remove(left_out);
            let (status, report) = check_json(name, &words(&seen));
            assert_eq!(
                (status, &report["verdict"]),
                (Some(1), &json!("not proven")),
                "{name} {missing}"
            );
            assert_eq!(report["release_tensioner"], false);
            let (shaft, _) = missing.rsplit('/').next().unwrap().split_once('=').unwrap();
            assert!(
                report["not_seen"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|unseen| unseen["shaft"] == shaft),
                "{name} {flag} {missing}: {}",
                report["not_seen"]
            );
        }
    }
}

#[test]
fn every_engine_is_out_of_time_when_one_mark_is_a_tooth_off() {
    for name in ENGINES.iter() {
        let all = all_on(name);
        for off in 0..all.len() {
            let mut seen = all.clone();
            seen[off][1] = seen[off][1].replace("=on", "=1 ahead");
            let (status, report) = check_json(name, &words(&seen));
            assert_eq!(
                (status, &report["verdict"]),
                (Some(1), &json!("out of time")),
                "{name} {:?}",
                seen[off]
            );
            assert_eq!(report["release_tensioner"], false);
        }
    }
}

#[test]
fn json_has_the_documented_fields() {
    let (status, report) = check_json(
        "kestrel-four",
        &["crank=on", "exhaust=1/2 ahead", "intake=2 behind"],
    );
    assert_eq!(status, Some(1));
    let keys = |value: &Value| {
        value
            .as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect::<Vec<_>>()
    };
    assert_eq!(
        keys(&report),
        [
            "cautions",
            "false_friends",
            "findings",
            "not_seen",
            "release_tensioner",
            "remedies",
            "safe_moves",
            "shafts",
            "verdict"
        ]
    );
    for shaft in report["shafts"].as_array().unwrap() {
        assert_eq!(
            keys(shaft),
            [
                "chain",
                "contradicted",
                "either_way",
                "moves",
                "off_crank_degrees",
                "off_teeth",
                "shaft"
            ]
        );
    }
    let pick = |n: usize| {
        let shaft = &report["shafts"][n];
        json!([
            shaft["shaft"],
            shaft["chain"],
            shaft["off_teeth"],
            shaft["off_crank_degrees"]
        ])
    };
    assert_eq!(pick(0), json!(["crank", null, "0", "0"]));
    assert_eq!(pick(1), json!(["exhaust", "main", "1/2", "10"]));
    assert_eq!(pick(2), json!(["intake", "main", "-2", "-40"]));
    assert_eq!(report["shafts"][0]["moves"], Value::Null);
    assert!(
        report["shafts"][2]["moves"]
            .as_str()
            .unwrap()
            .starts_with("intake: turn the sprocket 2 teeth clockwise")
    );
    assert_eq!(
        report["remedies"],
        json!([{
            "chain": "main", "shaft": "intake", "move": "sprocket", "teeth": "2",
            "turn": "clockwise", "lay_link": "68", "safe_order": "known"
        }])
    );
    assert_eq!(report["findings"][0]["code"], "not-whole-teeth");
    assert_eq!(report["cautions"].as_array().unwrap().len(), 5);

    let (_, report) = check_json("kestrel-four", &["crank=on", "exhaust=on"]);
    assert_eq!(
        report["not_seen"],
        json!([{ "look_at": "link", "chain": "main", "shaft": "intake" }])
    );
    assert_eq!(report["shafts"][2]["off_teeth"], Value::Null);
    assert_eq!(report["shafts"][2]["off_crank_degrees"], Value::Null);
}

#[test]
fn a_shaft_with_several_sprockets_is_named_with_its_chain() {
    for (name, seen, says) in [
        (
            "heron-v6",
            "left-idler=on",
            "'left-idler' carries several sprockets: which one? (say primary/left-idler or left/left-idler)",
        ),
        (
            "heron-v6",
            "right/left-idler=on",
            "shaft 'left-idler' has no sprocket on chain 'right'",
        ),
        (
            "heron-v6",
            "primry/left-idler=on",
            "no chain is called 'primry' (did you mean 'primary'?)",
        ),
        (
            "heron-v6",
            "x/left-idler=on",
            "no chain is called 'x' (the spec has: primary, left, right)",
        ),
        (
            "heron-v6",
            "primary/left-idle=on",
            "no shaft is called 'left-idle' (did you mean 'left-idler'?)",
        ),
        (
            "kestrel-four",
            "cam=on",
            "no shaft is called 'cam' (the spec has: crank, exhaust, intake)",
        ),
        (
            "kestrel-four",
            "=on",
            "no shaft is called '' (the spec has: crank, exhaust, intake)",
        ),
        (
            "kestrel-four",
            "intake=link 118",
            "'intake': link 118 is not on this chain (its links are 0 to 117)",
        ),
        (
            "dunnock-facing",
            "cam=on",
            "the spec gives no coloured link for 'cam': look at its dot instead (--dot)",
        ),
        (
            "linnet-idler",
            "oil-pump=on",
            "the spec gives neither a coloured link nor a dot for 'oil-pump' (it need not be looked at)",
        ),
    ] {
        assert_error(&check(name, &[seen]), &format!("--link '{seen}': {says}"));
    }
    assert_error(
        &check("kestrel-four", &["crank"]),
        "--link 'crank': expected SHAFT=SEEN, such as --link 'intake=2 behind'",
    );
    assert_error(
        &check("kestrel-four", &["crank=on", "main/crank=on"]),
        "--link 'main/crank=on': 'crank' is given twice (once is enough)",
    );
    assert_error(
        &check("kestrel-four", &["--dot", "crank=link 3"]),
        "--dot 'crank=link 3': 'crank': a link number says which link lies on a dot; say how far the dot is from its reference mark instead (--link takes link numbers)",
    );
    assert_error(
        &check("linnet-idler", &["--dot", "oil-pump=on"]),
        "--dot 'oil-pump=on': the spec gives no dot for shaft 'oil-pump'",
    );
    // With and without the chain it is the same sprocket, and blanks around the name are nothing.
    let plain = check("kestrel-four", &["crank=on", "exhaust=on", "intake=on"]);
    let named = check(
        "kestrel-four",
        &["main/crank=on", " exhaust =on", "main/intake=on"],
    );
    assert_eq!((plain.status, &plain.stdout), (named.status, &named.stdout));
}

#[test]
fn every_way_to_say_where_a_dot_stands() {
    let off = |seen: &str| {
        let (status, report) = check_json(
            "kestrel-four",
            &["crank=on", "exhaust=on", &format!("intake={seen}")],
        );
        // The links alone leave a look-alike open.
        assert_eq!(status, Some(1), "{seen}");
        report["shafts"][2]["off_teeth"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    for (seen, teeth) in [
        ("on", "0"),
        ("ON", "0"),
        (" on ", "0"),
        ("0", "0"),
        ("2 ahead", "2"),
        ("2 advanced", "2"),
        ("2 teeth ahead", "2"),
        ("1 tooth behind", "-1"),
        ("1 behind", "-1"),
        ("1 retarded", "-1"),
        ("+2", "2"),
        ("-1", "-1"),
        ("1/2 behind", "-1/2"),
        ("0.5 ahead", "1/2"),
        // The cam sprocket has 36 teeth: 10 of its degrees, 20 of the crankshaft's, to a tooth.
        ("10 deg", "1"),
        ("18.5 deg", "37/20"),
        ("10 degrees behind", "-1"),
        ("-10 deg", "-1"),
        ("10 cam deg ahead", "1"),
        ("20 crank deg", "1"),
        ("30 crank degrees behind", "-3/2"),
        ("link 68", "0"),
        ("link 70", "2"),
        ("link 67", "-1"),
        ("link 67.5", "-1/2"),
    ] {
        assert_eq!(off(seen), teeth, "{seen}");
    }
}

#[test]
fn what_cannot_be_said_of_a_dot() {
    let form = "expected on, '2 ahead', '1 behind', +2, -1, '18.5 deg', '18.5 crank deg behind' or 'link 44'";
    let far = "further than can be seen (at most 400 teeth, 720 degrees or link 1999.5)";
    let fine = "finer than can be seen (give at most three decimals, or a fraction such as 1/16)";
    for (seen, says) in [
        ("2", "ahead or behind? (say '2 ahead' or '2 behind')"),
        ("1/2", "ahead or behind? (say '2 ahead' or '2 behind')"),
        ("", form),
        (" ", form),
        ("ahead", form),
        ("maybe", form),
        ("off", form),
        ("+2 ahead", form),
        ("-2 behind", form),
        ("two ahead", form),
        ("2 teeths ahead", form),
        ("1e3 ahead", form),
        ("inf ahead", form),
        ("link", form),
        ("link 1 2", form),
        ("links 4", form),
        ("2 ahead behind", form),
        ("401 ahead", far),
        ("721 deg", far),
        ("-721 crank deg", far),
        ("link 2000", far),
        ("link -1", far),
        ("1/17 ahead", fine),
        ("0.0001 deg", fine),
        ("3/0 ahead", "a fraction over zero is no number"),
        (
            "1234567890123 ahead",
            "the number has too many digits (12 at most)",
        ),
    ] {
        assert_error(
            &check("kestrel-four", &[&format!("intake={seen}")]),
            &format!("--link 'intake={seen}': {says}"),
        );
    }
}

#[test]
fn turns_since_it_was_timed() {
    let turned = |n: &str, links: [u16; 3]| {
        let [crank, exhaust, intake] = links;
        check_json(
            "kestrel-four",
            &[
                "--turned",
                n,
                &format!("crank=link {crank}"),
                &format!("exhaust=link {exhaust}"),
                &format!("intake=link {intake}"),
            ],
        )
    };
    // 118 links: two crank turns carry 36 of them past the 18 teeth of the crankshaft.
    for (n, links) in [
        ("0", [0, 51, 68]),
        ("2", [82, 15, 32]),
        ("2.0", [82, 15, 32]),
        ("4/2", [82, 15, 32]),
        ("118", [0, 51, 68]),
    ] {
        let (status, report) = turned(n, links);
        assert_eq!(
            (status, &report["verdict"]),
            (Some(1), &json!("in time")),
            "{n}: {report}"
        );
    }
    // The links of the timed position cannot be on the dots after two turns.
    let (status, report) = turned("2", [0, 51, 68]);
    assert_eq!(
        (status, &report["verdict"]),
        (Some(1), &json!("not proven"))
    );
    assert_eq!(report["findings"][0]["code"], "links-contradict-turns");
    assert!(
        report["findings"][0]["text"]
            .as_str()
            .unwrap()
            .contains("36 links before those that were given")
    );
    // Between the turns no dot is in its place, so no link on it proves anything.
    for n in ["3/2", "1.5", "0.001"] {
        let (status, report) = turned(n, [0, 51, 68]);
        assert_eq!(
            (status, &report["verdict"]),
            (Some(1), &json!("not proven")),
            "{n}"
        );
        assert_eq!(report["findings"][0]["code"], "link-not-readable", "{n}");
        assert_eq!(report["release_tensioner"], false);
    }
    let range = "is not in the required range of 0..=1000000 crank turns (an engine is turned by hand in its normal direction only)";
    let fine = "crank turns is finer than can be seen (give at most three decimals, or a fraction such as 1/1000)";
    let number = "expected a number such as 3, -3.25 or 3/2";
    for (n, says) in [
        ("-1", format!("'-1' {range}")),
        ("1000001", format!("'1000001' {range}")),
        ("1/1001", format!("'1/1001' {fine}")),
        ("0.0001", format!("'1/10000' {fine}")),
        ("1e9", format!("--turned '1e9': {number}")),
        ("two", format!("--turned 'two': {number}")),
        ("", format!("--turned '': {number}")),
        ("inf", format!("--turned 'inf': {number}")),
        (
            "1/0",
            "--turned '1/0': a fraction over zero is no number".into(),
        ),
        (
            "99999999999999999999",
            "--turned '99999999999999999999': the number has too many digits (12 at most)".into(),
        ),
    ] {
        assert_error(&check("kestrel-four", &["--turned", n]), &says);
    }
}

#[test]
fn dots_after_turns() {
    let dots = [
        "--dot",
        "crank=on",
        "--dot",
        "exhaust=on",
        "--dot",
        "intake=on",
    ];
    for (n, status, verdict) in [
        ("0", 0, "in time"),
        ("2", 0, "in time"),
        ("1", 1, "not proven"),
    ] {
        let mut seen = vec!["--turned", n];
        seen.extend(dots);
        let (ended, report) = check_json("kestrel-four", &seen);
        assert_eq!(
            (ended, &report["verdict"]),
            (Some(status), &json!(verdict)),
            "{n}: {report}"
        );
    }
}

#[test]
fn links_and_dots_that_contradict_each_other() {
    let (status, report) = check_json(
        "kestrel-four",
        &[
            "crank=on",
            "exhaust=on",
            "intake=on",
            "--dot",
            "crank=on",
            "--dot",
            "exhaust=on",
            "--dot",
            "intake=2 behind",
        ],
    );
    assert_eq!(
        (status, &report["verdict"]),
        (Some(1), &json!("not proven"))
    );
    assert_eq!(report["release_tensioner"], false);
    assert_eq!(report["shafts"][2]["contradicted"], true);
    assert_eq!(report["shafts"][2]["off_teeth"], Value::Null);
    let finding = &report["findings"][0];
    assert_eq!(finding["code"], "links-contradict-dots");
    let text = finding["text"].as_str().unwrap();
    assert!(text.starts_with("intake: its links say in time, its dot says 40 crank degrees behind. Both can be true if "), "{text}");
    // Where they agree they prove the more.
    let (status, report) = check_json(
        "kestrel-four",
        &[
            "crank=on",
            "exhaust=on",
            "intake=2 behind",
            "--dot",
            "crank=on",
            "--dot",
            "exhaust=on",
            "--dot",
            "intake=2 behind",
        ],
    );
    assert_eq!(
        (status, &report["verdict"]),
        (Some(1), &json!("out of time"))
    );
    assert_eq!(report["findings"], json!([]));
}

#[test]
fn lint_judges_every_file_and_ends_with_the_worst() {
    let fixture = |code: &str| format!("{}/tests/fixtures/{code}.yaml", env!("CARGO_MANIFEST_DIR"));
    let engines: Vec<String> = ENGINES.iter().map(|name| engine(name)).collect();
    let mut arguments = vec!["lint".to_owned()];
    arguments.extend(engines.clone());
    let outcome = tautmark(&arguments);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(0), ""));
    assert!(
        outcome
            .stdout
            .ends_with(&format!("\n{0} of {0} files clean\n", engines.len())),
        "{}",
        outcome.stdout
    );

    // A note leaves a file clean, a warning does not.
    assert_eq!(
        tautmark(&["lint", &fixture("links-cannot-prove")]).status,
        Some(0)
    );
    assert_eq!(tautmark(&["lint", &fixture("dot-angle")]).status, Some(1));
    assert_eq!(
        tautmark(&["check", &fixture("dot-angle"), "--link", "crank=on"]).stderr,
        ""
    );

    let outcome = tautmark(&["lint", &engines[0], &fixture("bad-name"), "missing.yaml"]);
    assert_eq!(outcome.status, Some(2));
    assert_eq!(outcome.stderr.lines().count(), 1);
    assert!(
        outcome.stdout.contains("bad-name.yaml: 1 finding\n"),
        "{}",
        outcome.stdout
    );
    assert!(
        outcome.stdout.ends_with("\n1 of 3 files clean\n"),
        "{}",
        outcome.stdout
    );

    let outcome = tautmark(&[
        "lint",
        "--format",
        "json",
        &engines[0],
        &fixture("bad-name"),
    ]);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (Some(1), ""));
    let report = outcome.json();
    assert_eq!(report["clean"], false);
    assert_eq!(
        (&report["files"][0]["clean"], &report["files"][1]["clean"]),
        (&json!(true), &json!(false))
    );
    assert_eq!(
        report["files"][1]["findings"][0],
        json!({
            "file": fixture("bad-name"), "code": "bad-name", "severity": "error",
            "message": "'in/take' cannot be a name",
            "help": "use letters, digits, '-' and '_'; start with a letter or digit; 32 characters at most",
            "at": { "line": 6, "column": 3, "text": "in/take" }, "remedies": [],
            "see_also": null,
        })
    );

    let text = std::fs::read(engine("wren-single")).unwrap();
    let outcome = tautmark_fed(&["lint", "-"], &text);
    assert_eq!(
        (outcome.status, outcome.stdout.as_str()),
        (Some(0), "-: clean\n")
    );
    assert_eq!(
        tautmark_fed(
            &["check", "-", "--link", "crank=on", "--link", "cam=on"],
            &text
        )
        .status,
        Some(1)
    );
}

#[test]
fn new_writes_a_spec_that_is_clean_and_overwrites_nothing() {
    let dir = scratch("new");
    let path = dir.join("mine.yaml");
    let path = path.to_str().unwrap();
    let outcome = tautmark(&["new", "-o", path]);
    assert_eq!(
        (
            outcome.status,
            outcome.stdout.as_str(),
            outcome.stderr.as_str()
        ),
        (Some(0), "", "")
    );
    assert_eq!(std::fs::read_to_string(path).unwrap(), STARTER);
    assert_eq!(tautmark(&["lint", path]).status, Some(0));

    std::fs::write(path, "mine").unwrap();
    assert_error(
        &tautmark(&["new", "--output", path]),
        &format!("'{path}' already exists (nothing was written; choose another name)"),
    );
    assert_eq!(std::fs::read_to_string(path).unwrap(), "mine");
    assert_eq!(
        tautmark(&["new", "-o", dir.to_str().unwrap()]).status,
        Some(2)
    );
    #[cfg(unix)]
    {
        // A link that leads nowhere is not written through.
        let link = dir.join("link.yaml");
        std::os::unix::fs::symlink(dir.join("nowhere"), &link).unwrap();
        assert_eq!(
            tautmark(&["new", "-o", link.to_str().unwrap()]).status,
            Some(2)
        );
        assert!(!dir.join("nowhere").exists());
    }
    let outcome = tautmark(&["new", "-o", dir.join("no/where.yaml").to_str().unwrap()]);
    assert_eq!(outcome.status, Some(2));
    assert!(
        outcome
            .stderr
            .contains("could not be written: No such file"),
        "{}",
        outcome.stderr
    );
    let outcome = tautmark(&["new"]);
    assert_eq!(
        (outcome.status, outcome.stdout.as_str()),
        (Some(0), STARTER)
    );
}

#[test]
fn a_reader_that_goes_away_is_no_failure_to_talk_about() {
    let kestrel = engine("kestrel-four");
    for arguments in [
        &["new"][..],
        &["schema"],
        &["lint", &kestrel],
        &["check", &kestrel],
        &["check", &kestrel, "--format", "json"],
        &["roll", &kestrel, "--turned", "2"],
        &["explain", &kestrel, "intake=2 behind"],
        &["--help"],
        &["--version"],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut command = limited();
        let child = command
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(writer)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn colours_only_where_they_are_wanted() {
    let kestrel = engine("kestrel-four");
    let fixture = format!(
        "{}/tests/fixtures/bad-name.yaml",
        env!("CARGO_MANIFEST_DIR")
    );
    for arguments in [
        &["check", &kestrel][..],
        &["lint", &fixture],
        &["check", &fixture],
        &["--help"],
    ] {
        let with = |variables: &[(&str, &str)]| {
            let mut command = limited();
            command.args(arguments).stdin(Stdio::null());
            let outcome = run_with(command, variables);
            outcome.contains('\u{1b}')
        };
        assert!(!with(&[]), "{arguments:?}: no terminal, no colours");
        assert!(
            with(&[("CLICOLOR_FORCE", "1")]),
            "{arguments:?}: there are colours to leave out"
        );
        assert!(
            !with(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]),
            "{arguments:?}: NO_COLOR"
        );
    }
}

/// Both streams, with these variables only of those that decide about colours.
fn run_with(mut command: std::process::Command, variables: &[(&str, &str)]) -> String {
    command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    let output = command.envs(variables.iter().copied()).output().unwrap();
    String::from_utf8([output.stdout, output.stderr].concat()).unwrap()
}

#[test]
fn wrong_usage_ends_with_two() {
    let kestrel = engine("kestrel-four");
    for arguments in [
        &[][..],
        &["frobnicate"],
        &["check"],
        &["lint"],
        &["new", "extra"],
        &["schema", "extra"],
        &["check", &kestrel, &kestrel],
        &["check", &kestrel, "--format", "xml"],
        &["check", &kestrel, "--lnik", "crank=on"],
        &["check", &kestrel, "--turned"],
        &["check", &kestrel, "--turned", "1", "--turned", "2"],
    ] {
        let outcome = tautmark(arguments);
        assert_eq!(
            (outcome.status, outcome.stdout.as_str()),
            (Some(2), ""),
            "{arguments:?}"
        );
        assert!(!outcome.stderr.is_empty(), "{arguments:?}");
        outcome.assert_printable();
    }
    let version = tautmark(&["--version"]);
    assert_eq!(
        (version.status, version.stdout),
        (Some(0), format!("tautmark {}\n", env!("CARGO_PKG_VERSION")))
    );
}

/// The help of every command as it was last looked at. After a change that is meant:
/// `UPDATE_SNAPSHOTS=1 cargo test --test command_line`, and read what became of it.
#[test]
fn help_is_what_was_last_looked_at() {
    let help = tautmark(&["--help"]).stdout;
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .map(|line| line.split_whitespace().next().unwrap())
        .filter(|command| *command != "help")
        .collect();
    assert!(commands.len() >= 4, "{commands:?}");
    let directory = format!("{}/tests/snapshots", env!("CARGO_MANIFEST_DIR"));
    let mut files = vec!["help-tautmark.txt".to_owned()];
    for command in std::iter::once("tautmark").chain(commands) {
        let outcome = match command {
            "tautmark" => tautmark(&["--help"]),
            command => tautmark(&[command, "--help"]),
        };
        assert_eq!(
            (outcome.status, outcome.stderr.as_str()),
            (Some(0), ""),
            "{command}"
        );
        let path = format!("{directory}/help-{command}.txt");
        files.push(format!("help-{command}.txt"));
        // Blanks at the ends of lines say nothing.
        let now = outcome
            .stdout
            .lines()
            .map(|line| format!("{}\n", line.trim_end()))
            .collect::<String>();
        if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
            std::fs::write(&path, &now).unwrap();
        }
        let then = std::fs::read_to_string(&path).unwrap_or_default();
        assert_eq!(now, then, "{path} (UPDATE_SNAPSHOTS=1 takes the new one)");
    }
    for file in std::fs::read_dir(directory).unwrap() {
        let name = file.unwrap().file_name().into_string().unwrap();
        assert!(
            !name.starts_with("help-") || files.contains(&name),
            "{name} belongs to no command"
        );
    }
}

#[test]
fn help_of_check_tells_every_form() {
    let help = tautmark(&["check", "--help"]).stdout;
    for form in [
        "2 ahead",
        "1 behind",
        "+2",
        "-1",
        "18.5 deg",
        "18.5 crank deg",
        "link 44",
        "CHAIN/SHAFT",
    ] {
        assert!(help.contains(form), "{form} in {help}");
    }
    let help = tautmark(&["lint", "--help"]).stdout;
    assert!(
        help.contains("Exit status: 0 if every file is clean"),
        "{help}"
    );
}

/// What was seen and speaks against the links is never passed over, whatever is missing to measure it.
#[test]
fn a_dot_off_its_mark_forbids_the_release() {
    let links = ["--link=crank=on", "--link=exhaust=on", "--link=intake=on"];
    for dots in [
        &["--dot=exhaust=1 behind"][..],
        &["--dot=exhaust=9 behind"],
        &["--dot=intake=2 behind"],
        &["--dot=exhaust=1 behind", "--dot=intake=1 behind"],
        &["--dot=crank=1 ahead"],
        &["--dot=crank=on", "--dot=exhaust=1 behind"],
    ] {
        let mut arguments = vec!["check", "engines/kestrel-four.yaml", "--format", "json"];
        arguments.extend(links);
        arguments.extend(dots);
        let outcome = tautmark(&arguments);
        let report = outcome.json();
        assert_eq!(outcome.status, Some(1), "{dots:?}");
        assert_eq!(report["verdict"], "not proven", "{dots:?}");
        assert_eq!(report["release_tensioner"], false, "{dots:?}");
    }
}

/// The idlers' dots come back after 10 turns; after 2 they cannot be at their marks.
#[test]
fn an_idler_taken_to_be_at_its_mark_moves_no_camshaft() {
    let mut arguments = vec!["check", "engines/heron-v6.yaml", "--turned", "2"];
    arguments.extend(["--format", "json"]);
    for dot in [
        "--dot=crank=on",
        "--dot=left-idler=on",
        "--dot=right-idler=on",
        "--dot=left-exhaust=on",
        "--dot=left-intake=on",
        "--dot=right-exhaust=on",
        "--dot=right-intake=on",
    ] {
        arguments.push(dot);
    }
    let report = tautmark(&arguments).json();
    assert_eq!(report["verdict"], "not proven");
    assert_eq!(report["remedies"], serde_json::json!([]));
    assert_eq!(report["findings"][0]["code"], "idler-dot");
}

#[test]
fn turns_and_dots_that_cannot_both_be_prove_nothing() {
    let dots = ["--dot=crank=on", "--dot=exhaust=on", "--dot=intake=on"];
    for (turned, status) in [("2", 0), ("2.1", 1), ("1.9", 1), ("1", 1)] {
        let mut arguments = vec!["check", "engines/kestrel-four.yaml", "--turned", turned];
        arguments.extend(dots);
        assert_eq!(tautmark(&arguments).status, Some(status), "{turned}");
    }
}

#[test]
fn a_spec_that_contradicts_itself_proves_nothing() {
    let outcome = tautmark(&[
        "check",
        "tests/fixtures/geometry/links-disagree.yaml",
        "--link=crank=on",
        "--link=exhaust=on",
        "--link=intake=on",
    ]);
    assert_eq!(outcome.status, Some(1));
    assert!(outcome.stdout.contains("NOT PROVEN"), "{}", outcome.stdout);
    assert!(
        outcome
            .stdout
            .contains("The spec contradicts itself in 1 place")
    );
}

#[test]
fn where_something_is_to_be_proven_such_a_spec_is_refused() {
    let spec = "tests/fixtures/geometry/links-disagree.yaml";
    let record = "tests/fixtures/record/wren-done.yaml";
    for arguments in [
        &["ask", spec][..],
        &["check", spec, "--record", record],
        &["check", spec, "--records", "-"],
        &["job", "sheet", spec],
    ] {
        let outcome = tautmark(arguments);
        assert_eq!(outcome.status, Some(2), "{arguments:?}");
        assert!(
            outcome.stderr.contains("contradicts itself"),
            "{}",
            outcome.stderr
        );
    }
}

#[test]
fn forgotten_quotes_are_named() {
    let outcome = tautmark(&[
        "check",
        "engines/kestrel-four.yaml",
        "--link",
        "intake=2",
        "behind",
    ]);
    assert_eq!(outcome.status, Some(2));
    assert!(
        outcome.stderr.contains("needs quotes around it"),
        "{}",
        outcome.stderr
    );
}

#[test]
fn the_trades_words_and_capitals_are_taken() {
    let arguments = |crank, cam| {
        let links = [format!("--link={crank}"), format!("--link={cam}")];
        let all = ["check", "engines/wren-single.yaml", &links[0], &links[1]];
        tautmark(&all).status
    };
    assert_eq!(
        arguments("Crank=ON", "CAM=ok"),
        arguments("crank=on", "cam=on")
    );
    for cam in ["cam=1 late", "cam=1 early", "cam=1 retarded"] {
        assert_eq!(arguments("crank=on", cam), Some(1), "{cam}");
    }
}

#[test]
fn a_folder_is_linted_file_by_file_in_the_order_of_names() {
    let folder = scratch("lint-folder");
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let mut expected = Vec::new();
    // More than one core takes at once, with something else to say of each third.
    for n in 0..300 {
        let name = folder.join(format!("{n:03}.yaml"));
        let (text, says) = match n % 3 {
            0 => (text.replace("teeth: 18", "teeth: 17"), "1 finding"),
            1 => (text.clone(), "clean"),
            _ => ("[".to_owned(), "1 finding"),
        };
        std::fs::write(&name, text).unwrap();
        expected.push((name.to_str().unwrap().to_owned(), says));
    }
    std::fs::write(folder.join("notes.txt"), "no spec").unwrap();
    let outcome = tautmark(&["lint", folder.to_str().unwrap()]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    let told: Vec<&str> = outcome
        .stdout
        .lines()
        .filter(|line| line.starts_with(folder.to_str().unwrap()))
        .collect();
    assert_eq!(told.len(), expected.len());
    for (told, (name, says)) in told.iter().zip(&expected) {
        assert!(told.starts_with(&format!("{name}: ")), "{told} {name}");
        assert!(told.ends_with(says), "{told}");
    }
    assert!(outcome.stdout.ends_with("100 of 300 files clean\n"));
    // One after the other it is the same.
    let names: Vec<&str> = expected.iter().map(|(name, _)| name.as_str()).collect();
    let one_by_one = tautmark(&[&["lint"][..], &names[..40]].concat());
    assert!(
        outcome
            .stdout
            .starts_with(one_by_one.stdout.rsplit_once("\n\n").unwrap().0)
    );
    let empty = scratch("lint-empty");
    let outcome = tautmark(&["lint", empty.to_str().unwrap()]);
    assert_eq!(outcome.status, Some(2));
    assert!(
        outcome
            .stderr
            .contains("is a directory without a spec in it"),
        "{}",
        outcome.stderr
    );
}
