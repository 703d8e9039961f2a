//! Marks of one's own as people paint and count them, and as they get them wrong.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{Outcome, engine, scratch, tautmark, tautmark_fed};
use crate::support::written::Written;
use std::path::Path;

/// The Wagtail is invented: no spec, no coloured link, no dot. This is what was counted at it.
const WAGTAIL: &[&str] = &[
    "--engine",
    "Wagtail 1.3 inline-four",
    "--position",
    "cylinder 1 at TDC, locking bolt in the crankshaft",
    "--turns",
    "clockwise",
    "--links",
    "122",
    "--points",
    "crank=6",
    "--points",
    "exhaust=11",
    "--points",
    "intake=1",
];
const WALK: &[&str] = &[
    "crank=19/outer",
    "53",
    "exhaust=38/inner",
    "18",
    "intake=38/inner",
    "51",
];

fn count(flags: &[&str], walk: &[&str]) -> Outcome {
    // Every shaft that is gone around is a camshaft, but those that are named as something else.
    let kinds = ["--crank", "--idler", "--pump", "--balance"];
    let other: Vec<&str> = flags
        .windows(2)
        .filter(|pair| kinds.contains(&pair[0]))
        .map(|pair| pair[1])
        .chain(["crank"])
        .collect();
    let names = walk.iter().filter_map(|word| word.split_once('='));
    let cams: std::collections::BTreeSet<&str> = names
        .map(|(name, _)| name)
        .filter(|name| !other.contains(name))
        .collect();
    let cams = cams.len().max(1).to_string();
    let mut words = vec!["paint", "count"];
    if !flags.contains(&"--camshafts") {
        words.extend(["--camshafts", &cams]);
    }
    words.extend(flags);
    words.extend(walk);
    tautmark(&words)
}

fn two_sprockets(flags: &[&str], walk: &[&str]) -> Outcome {
    let mut all = vec!["--turns", "clockwise"];
    all.extend(flags);
    count(&all, walk)
}

/// Refused with status 2, one message that has all of these in it, and nothing on standard output.
fn refused(outcome: &Outcome, words: &[&str]) {
    assert_eq!(outcome.status, Some(2), "{outcome:?}");
    assert_eq!(outcome.stdout, "");
    outcome.assert_printable();
    for word in words {
        assert!(outcome.stderr.contains(word), "{word}: {}", outcome.stderr);
    }
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A used chain, painted, and no spec to begin with: from the paint to the signature. Once the exhaust camshaft is hung a tooth out.
#[test]
fn a_used_chain_with_painted_marks_and_no_spec() {
    let folder = scratch("wagtail");
    let (spec, job) = (folder.join("wagtail.yaml"), folder.join("job.yaml"));
    let mut flags = WAGTAIL.to_vec();
    flags.extend(["-o", text(&spec)]);
    let outcome = count(&flags, WALK);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.stdout.contains("PAINT 3 MARKS"));
    let written = std::fs::read_to_string(&spec).unwrap();
    assert_eq!(written, include_str!("../fixtures/paint/wagtail.yaml"));
    // Another reader of YAML sees the same counts.
    let main = &Written::read(&written).chains()[0].1;
    let links: Vec<Option<usize>> = main.sprockets().iter().map(|one| one.link).collect();
    assert_eq!(links, [Some(0), Some(53), Some(71)]);
    let run = |words: &[&str], status: i32| {
        let outcome = tautmark(words);
        assert_eq!(
            outcome.status,
            Some(status),
            "{words:?} {}{}",
            outcome.stdout,
            outcome.stderr
        );
        outcome.stdout
    };
    let (spec, job) = (text(&spec), text(&job));
    assert_eq!(run(&["lint", spec], 0), format!("{spec}: clean\n"));
    run(&["draw", spec], 0);
    // Never over another.
    let again = count(&flags, WALK);
    refused(&again, &["already exists"]);
    assert_eq!(std::fs::read_to_string(spec).unwrap(), written);

    // Before teardown: all on at once, or something moved while it was painted.
    run(
        &[
            "check",
            spec,
            "--link",
            "crank=on",
            "--link",
            "exhaust=on",
            "--link",
            "intake=on",
        ],
        0,
    );

    let at = |minute: &str| format!("2024-11-25T10:{minute}:00Z");
    run(
        &[
            "job",
            "new",
            spec,
            "-o",
            job,
            "--by",
            "Robin",
            "--at",
            &at("00"),
        ],
        0,
    );
    let look = |minute: &str, stage: &str, more: &[&str], status| {
        let time = at(minute);
        let mut words = vec![
            "job", "look", spec, job, "--stage", stage, "--by", "Robin", "--at", &time,
        ];
        words.extend(more);
        run(&words, status)
    };
    let tick = |minute: &str, item: &str, status| {
        run(
            &[
                "job",
                "tick",
                spec,
                job,
                item,
                "--by",
                "Robin",
                "--at",
                &at(minute),
            ],
            status,
        )
    };
    let out = look(
        "10",
        "hung",
        &[
            "--link",
            "crank=on",
            "--link",
            "exhaust=1 behind",
            "--link",
            "intake=on",
        ],
        1,
    );
    assert!(out.contains("OUT OF TIME"), "{out}");
    tick("11", "step:hang", 1);
    let links = [
        "--link",
        "crank=on",
        "--link",
        "exhaust=on",
        "--link",
        "intake=on",
    ];
    let said = [
        &links[..],
        &[
            "--said",
            "pin-in",
            "--said",
            "slack-side",
            "--said",
            "pins-out",
        ],
    ]
    .concat();
    look("20", "hung", &said, 0);
    for (minute, step) in [("21", "step:hang"), ("22", "step:release")] {
        tick(minute, step, 0);
    }
    look("23", "released", &said, 0);
    tick("24", "step:look", 0);
    // The painted links have gone; the painted teeth against the lines on the engine are left.
    look(
        "30",
        "turned",
        &[
            "--said",
            "turned-free",
            "--turned",
            "2",
            "--dot",
            "crank=on",
            "--dot",
            "exhaust=on",
            "--dot",
            "intake=on",
        ],
        0,
    );
    for (minute, step) in [
        ("31", "step:turn"),
        ("40", "step:cover"),
        ("50", "step:sign-off"),
    ] {
        tick(minute, step, 0);
    }
    let report = run(&["job", "report", spec, job, "--at", &at("55")], 0);
    assert!(report.contains("SIGNED OFF, on proof"), "{report}");
}

/// The same chain as questions, its paint gone on the way: counted from dot to dot instead.
#[test]
fn paint_that_has_come_off_is_counted() {
    let spec = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/paint/wagtail.yaml"
    );
    let folder = scratch("counted");
    let record = folder.join("looks.yaml");
    let ask = |typed: &[&str]| {
        let lines: String = typed.iter().map(|line| format!("{line}\n")).collect();
        tautmark_fed(&["ask", spec, "--record", text(&record)], lines.as_bytes())
    };
    // Numbered from the crankshaft's dot; the kinds first, then the count.
    let outcome = ask(&[
        "y", "1", "1", "5", "5", "n", "53", "5", "y", "18", "y", "n", "q",
    ]);
    for said in [
        "5 = no colour left: count the links",
        "Are both outer, or both inner?",
        "53 when right.",
        "52 a tooth behind, or miscounted",
        "54 a tooth ahead, or miscounted",
        "Noted: exhaust: dot on link 53, by count.",
        "Noted: intake: dot on link 71, by count.",
    ] {
        assert!(outcome.stdout.contains(said), "{said}: {}", outcome.stdout);
    }
    std::fs::remove_file(record.with_extension("yaml.draft")).unwrap();

    // Stopped and gone on with, counted at both stages, and after turning the lines on the engine: proven.
    let hung = ["y", "1", "1", "5", "5", "n", "53", "q"];
    ask(&hung);
    let on = ["n", "1", "1", "5", "y", "18", "y", "y", "y"];
    let released = ["y", "5", "5", "n", "53", "5", "y", "18", "n", "y"];
    let turned = ["n", "1", "1", "1"];
    let outcome = ask(&[&on[..], &released, &turned].concat());
    assert_eq!(outcome.status, Some(0), "{}", outcome.stdout);
    let again = tautmark(&["check", spec, "--record", text(&record)]);
    assert_eq!(again.status, Some(0), "{}", again.stdout);
    std::fs::remove_file(&record).unwrap();

    // A tooth off and counted one out: 52 is 53, and the links say that it is not.
    let outcome = ask(&["y", "1", "1", "5", "5", "y", "53", "0", "q"]);
    assert!(
        outcome
            .stdout
            .contains("two links of one kind are never 53 apart"),
        "{}",
        outcome.stdout
    );
    assert!(
        !outcome.stdout.contains("exhaust: dot on link"),
        "{}",
        outcome.stdout
    );
    std::fs::remove_file(record.with_extension("yaml.draft")).unwrap();

    // A colour that turns up after all is not set against the numbers.
    let outcome = ask(&["y", "1", "1", "5", "1", "q"]);
    assert!(
        outcome
            .stdout
            .contains("counted from dot to dot. Count here, too"),
        "{}",
        outcome.stdout
    );
    std::fs::remove_file(record.with_extension("yaml.draft")).unwrap();

    // Counted on from a dot that is then answered otherwise: asked again.
    let outcome = ask(&["y", "1", "1", "1", "5", "n", "53", "0", "0", "2", "1", "q"]);
    let draft = std::fs::read_to_string(record.with_extension("yaml.draft")).unwrap();
    assert!(
        draft.contains("crank: \"1 ahead\"") && !draft.contains("link 53"),
        "{draft}{}",
        outcome.stdout
    );
}

/// The doors agree: what `ask` counts and what `check --count` is told.
#[test]
fn check_takes_the_same_counts() {
    let spec = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/paint/wagtail.yaml"
    );
    let check = |counts: &[&str]| {
        let mut words = vec!["check", spec];
        for count in counts {
            words.extend(["--count", count]);
        }
        tautmark(&words)
    };
    let right = check(&[
        "crank..exhaust=53 outer inner",
        "exhaust..intake=18 inner inner",
    ]);
    assert_eq!(right.status, Some(0), "{}{}", right.stdout, right.stderr);
    let links = tautmark(&[
        "check",
        spec,
        "--link",
        "crank=link 0",
        "--link",
        "exhaust=link 53",
        "--link",
        "intake=link 71",
    ]);
    assert_eq!(right.stdout, links.stdout);
    assert_eq!(
        check(&[
            "crank..exhaust=53",
            "exhaust..intake=18",
            "intake..crank=51"
        ])
        .status,
        Some(0)
    );
    let off = check(&[
        "crank..exhaust=52 outer outer",
        "exhaust..intake=19 outer inner",
    ]);
    assert_eq!(off.status, Some(1));
    assert!(
        off.stdout.contains("exhaust  1 tooth behind"),
        "{}",
        off.stdout
    );
    // Half a proof is none.
    assert_eq!(check(&["crank..exhaust=53 outer inner"]).status, Some(1));
    for (counts, words) in [
        (&["crank..exhaust=53"][..], &["may be one out"][..]),
        (
            &[
                "crank..exhaust=54",
                "exhaust..intake=19",
                "intake..crank=52",
            ],
            &["come to 125 links", "it has 122"],
        ),
        (&["crank..exhaust=53 inner inner"], &["never 53 apart"]),
        (&["exhaust..crank=53 outer inner"], &["say crank..exhaust"]),
        (&["crank..exhaust=53 outer"], &["expected SHAFT..SHAFT=N"]),
        (&["crank=53"], &["expected SHAFT..SHAFT=N"]),
        (&["crank..exhuast=53"], &["did you mean 'exhaust'?"]),
        (
            &[
                "crank..exhaust=53 outer inner",
                "crank..exhaust=53 outer inner",
            ],
            &["counted twice"],
        ),
    ] {
        refused(&check(counts), words);
    }
    let mixed = tautmark(&[
        "check",
        spec,
        "--link",
        "crank=on",
        "--count",
        "crank..exhaust=53 outer inner",
    ]);
    refused(&mixed, &["counts or coloured links, not both"]);
}

#[test]
fn a_miscount_is_refused_with_what_to_do() {
    let walk = |words: &[&str]| two_sprockets(&["--links", "122"], words);
    // One out, and every count one out: links taken for the gaps between them.
    refused(
        &walk(&["crank=19", "54", "exhaust=38", "18", "intake=38", "51"]),
        &["come to 123 links", "you counted 122"],
    );
    for around in [["54", "19", "52"], ["52", "17", "50"]] {
        let fence = walk(&[
            "crank=19",
            around[0],
            "exhaust=38",
            around[1],
            "intake=38",
            around[2],
        ]);
        refused(&fence, &["each count is one out"]);
    }
    // Two mistakes that make up for each other: only the kinds of link show them.
    refused(
        &walk(&[
            "crank=19/outer",
            "54",
            "exhaust=38/inner",
            "17",
            "intake=38/inner",
            "51",
        ]),
        &["from 'crank' to 'exhaust' you counted 54", "the same kind"],
    );
    // All links miscounted as well.
    refused(
        &two_sprockets(
            &["--links", "121"],
            &["crank=19", "53", "exhaust=38", "17", "intake=38", "51"],
        ),
        &["odd number", "--cranked"],
    );
    assert_eq!(
        two_sprockets(
            &["--links", "121", "--cranked"],
            &["crank=19", "53", "exhaust=38", "17", "intake=38", "51"]
        )
        .status,
        Some(0)
    );
    // Teeth that cannot be: a camshaft makes half the turns.
    let teeth = walk(&["crank=19", "53", "exhaust=37", "18", "intake=38", "51"]);
    refused(
        &teeth,
        &[
            "camshaft-not-half-speed",
            "38 teeth would make it half speed",
        ],
    );
    // Said twice, or not at all.
    refused(
        &walk(&["crank=19", "53", "cam=38", "18", "cam=38", "51"]),
        &["met twice"],
    );
    refused(
        &walk(&["crank=19", "53", "18", "cam=38", "51"]),
        &["two counts after 'crank'"],
    );
    refused(
        &walk(&["53", "crank=19"]),
        &["after the sprocket it starts from"],
    );
    refused(
        &walk(&["crank=19", "0", "cam=38", "122"]),
        &["is another link"],
    );
    refused(
        &walk(&["crank=19", "53", "cam", "69"]),
        &["'cam': expected NAME=TEETH"],
    );
    refused(
        &walk(&["crank=19", "61", "cam=38", "61", "--pump", "oil"]),
        &["--pump 'oil'", "there are: crank, cam"],
    );
    refused(
        &walk(&["kurbel=19", "61", "cam=38", "61"]),
        &["--crank 'crank'", "kurbel"],
    );
    refused(
        &walk(&["crank=19", "61", "cam=38", "61", "--points", "cam=13"]),
        &["expected a clock"],
    );
    refused(
        &two_sprockets(&[], &["crank=19", "61", "cam=38", "61"]),
        &["--links"],
    );
    refused(
        &count(
            &["--links", "122", "--turns", "right"],
            &["crank=19", "61", "cam=38", "61"],
        ),
        &["clockwise or counter-clockwise"],
    );
    // Not enough painted to prove anything.
    refused(
        &walk(&["crank=19", "exhaust=38", "71", "intake=38", "51"]),
        &["'crank'", "neither a coloured link nor a dot"],
    );
    for flag in ["--engine", "--position"] {
        for text in ["a\nb: c", "\u{1b}[31m"] {
            let flags = ["--links", "122", flag, text];
            refused(
                &two_sprockets(&flags, &["crank=19", "61", "cam=38", "61"]),
                &[flag, "one line"],
            );
        }
    }
    // Nobody's name, and nothing that a terminal would act on.
    refused(&walk(&["crank=19", "61", "a b=38", "61"]), &["bad-name"]);
    refused(
        &walk(&["crank=19", "61", "a\u{1b}[31mb=38", "61"]),
        &["not-yaml"],
    );
}

/// Two marks and 48 links one way, 42 the other: inside out or from the other side it looks the same.
#[test]
fn inside_out_is_ruled_out_before_anything_is_written() {
    let folder = scratch("inside-out");
    let spec = folder.join("wren.yaml");
    let walk = ["crank=20", "48", "cam=40", "42"];
    let flags = ["--links", "90", "-o", text(&spec)];
    let outcome = two_sprockets(&flags, &walk);
    refused(
        &outcome,
        &[
            "would look the same hung inside out",
            "--points crank=6 --points cam=12",
        ],
    );
    assert!(!spec.exists());
    let told = [
        &flags[..],
        &["--points", "crank=6", "--points", "cam=12:30"],
    ]
    .concat();
    let outcome = two_sprockets(&told, &walk);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    assert!(outcome.stdout.contains("The links alone look the same if"));
    let spec = text(&spec);
    assert_eq!(tautmark(&["lint", spec]).status, Some(0));
    assert!(
        std::fs::read_to_string(spec)
            .unwrap()
            .contains("dot: 15, link: 48")
    );
    let links = ["check", spec, "--link", "crank=on", "--link", "cam=on"];
    assert_eq!(
        tautmark(&links).status,
        Some(1),
        "the links alone let it go"
    );
    let dots = [&links[..], &["--dot", "crank=on", "--dot", "cam=on"]].concat();
    assert_eq!(tautmark(&dots).status, Some(0));
    // Counted it is the same: the other strand would make the same number with the camshaft elsewhere.
    let count = ["check", spec, "--count", "crank..cam=48 outer outer"];
    assert_eq!(tautmark(&count).status, Some(1));
    let settled = [&count[..], &["--dot", "crank=on", "--dot", "cam=on"]].concat();
    assert_eq!(tautmark(&settled).status, Some(0));
    // A third mark does it as well: its order tells.
    let third = ["crank=20", "48", "cam=40", "20", "oil=20", "22"];
    let outcome = two_sprockets(&["--links", "90", "--pump", "oil"], &third);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
}

/// Several chains, an idler and a balance shaft that turns backwards.
#[test]
fn more_than_one_chain_is_gone_around_one_by_one() {
    let folder = scratch("chains");
    let spec = folder.join("two.yaml");
    let words = [
        "--links",
        "first=80",
        "--links",
        "second=70",
        "--idler",
        "idler",
        "--balance",
        "balance",
        "--outside",
        "balance",
        "-o",
        text(&spec),
    ];
    let walk = [
        "first:",
        "crank=20",
        "30",
        "idler=40",
        "30",
        "balance=20",
        "20",
        "second:",
        "idler=20",
        "35",
        "cam=20",
        "35",
    ];
    let outcome = two_sprockets(&words, &walk);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let json = tautmark(&["paint", "plan", text(&spec), "--format", "json"]).json();
    let pairs: Vec<String> = json["pairs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|pair| {
            format!("{}/{} {}", pair["chain"], pair["shaft"], pair["paint"]).replace('"', "")
        })
        .collect();
    assert_eq!(
        pairs,
        [
            "first/crank white one-stroke",
            "first/idler white two-stroke",
            "first/balance white three-stroke",
            "second/idler yellow one-stroke",
            "second/cam yellow two-stroke"
        ]
    );
    refused(
        &two_sprockets(&["--links", "80"], &walk),
        &["of which one?"],
    );
    refused(
        &two_sprockets(&["--links", "first=80"], &walk),
        &["--links second=N"],
    );
    refused(
        &two_sprockets(&["--links", "first=80", "--links", "third=80"], &walk),
        &["nothing of that name"],
    );
}

/// A new chain beside the old one.
#[test]
fn a_new_chain_takes_the_marks_by_count_or_not_at_all() {
    let kestrel = engine("kestrel-four");
    let carry = |flags: &[&str]| {
        let mut words = vec!["paint", "new-chain", &kestrel];
        words.extend(flags);
        tautmark(&words)
    };
    let plan = carry(&["--links", "118"]);
    assert_eq!(plan.status, Some(0));
    assert!(
        plan.stdout.contains("2. 51 links on: yellow, for exhaust"),
        "{}",
        plan.stdout
    );
    refused(
        &carry(&["--links", "120"]),
        &["has 120 links or teeth, the old one 118"],
    );
    for (counts, status, says) in [
        ("51,17,50", 0, "THE SAME"),
        ("50,17,51", 1, "THE OTHER WAY AROUND"),
        ("52,18,51", 1, "MISCOUNTED"),
        (
            "51,18,49",
            1,
            "from exhaust to intake: 18 on the new one, 17 on the old one",
        ),
    ] {
        let outcome = carry(&["--links", "118", "--count", counts]);
        assert_eq!(outcome.status, Some(status), "{counts}");
        assert!(outcome.stdout.contains(says), "{}", outcome.stdout);
    }
    refused(
        &carry(&["--links", "118", "--count", "51,17"]),
        &["3 counts", "2 were given"],
    );
    refused(
        &carry(&["--links", "118", "--count", "51,x,50"]),
        &["--count 'x'"],
    );
    refused(
        &carry(&["--links", "118", "--chain", "left"]),
        &["no chain is called 'left'", "main"],
    );
    let json = carry(&["--links", "118", "--count", "50,17,51", "--format", "json"]).json();
    assert_eq!(json["recount"], "other way around");
    // No marks on the links, nothing to carry over.
    refused(
        &tautmark(&[
            "paint",
            "new-chain",
            &engine("dunnock-facing"),
            "--links",
            "54",
        ]),
        &["no marks to carry over"],
    );
    refused(
        &tautmark(&["paint", "new-chain", &engine("heron-v6"), "--links", "86"]),
        &["which chain?", "left"],
    );
}

/// A spec with nothing on it to see is planned on all the same, and one that contradicts itself is not.
#[test]
fn a_plan_needs_no_marks_but_a_spec_that_holds_together() {
    let folder = scratch("plan");
    let bare = folder.join("bare.yaml");
    let wren = std::fs::read_to_string(engine("wren-single")).unwrap();
    let without = wren
        .replace(", dot: 180, link: 0, colour: blue", "")
        .replace(", dot: 22.5, link: 48, colour: yellow", "");
    std::fs::write(&bare, without).unwrap();
    let plan = tautmark(&["paint", "plan", text(&bare)]);
    assert_eq!(plan.status, Some(0), "{}", plan.stderr);
    assert!(
        plan.stdout
            .contains("a tooth, and the link that lies on it"),
        "{}",
        plan.stdout
    );
    assert!(
        plan.stdout
            .contains("Until the links between the marks are counted")
    );
    let written = folder.join("painted.yaml");
    refused(
        &tautmark(&["paint", "plan", text(&bare), "-o", text(&written)]),
        &["how many links"],
    );
    assert!(!written.exists());
    let disagree = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/geometry/links-disagree.yaml"
    );
    refused(&tautmark(&["paint", "plan", disagree]), &["links-disagree"]);
    let backwards = folder.join("backwards.yaml");
    let kestrel = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    std::fs::write(
        &backwards,
        kestrel
            .replace("link: 51", "link: 67")
            .replace("link: 68", "link: 50"),
    )
    .unwrap();
    refused(
        &tautmark(&["paint", "plan", text(&backwards)]),
        &["links-out-of-order", "reverse"],
    );

    // The maker's colours make way for the paint, and the rest stays.
    let outcome = tautmark(&[
        "paint",
        "plan",
        &engine("kestrel-four"),
        "-o",
        text(&written),
    ]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let painted = std::fs::read_to_string(&written).unwrap();
    assert_eq!(
        painted,
        kestrel
            .replace("link: 0, colour: blue", "link: 0, colour: white one-stroke")
            .replace(
                "link: 51, colour: yellow",
                "link: 51, colour: white two-stroke"
            )
            .replace(
                "link: 68, colour: yellow",
                "link: 68, colour: white three-stroke"
            )
    );
    let check = [
        "check",
        text(&written),
        "--link",
        "crank=on",
        "--link",
        "exhaust=on",
        "--link",
        "intake=on",
    ];
    assert_eq!(
        tautmark(&check).status,
        Some(0),
        "three paints tell inside out"
    );
}
