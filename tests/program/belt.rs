//! A belt is called a belt at every door.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{engine, scratch, tautmark, tautmark_fed};

/// Words that nobody says of a belt. Flags (`--link`) and names in a picture's markup are no words.
fn chain_words(text: &str) -> Vec<String> {
    let no_markup = text
        .split('<')
        .map(|piece| piece.split_once('>').map_or(piece, |(_, rest)| rest));
    no_markup
        .flat_map(str::lines)
        .filter(|line| {
            line.replace("--link", "")
                .split(|c: char| !c.is_alphanumeric() && c != '-' && c != '_')
                .any(|word| {
                    let word = word.to_lowercase();
                    ["chain", "chains", "link", "links"].contains(&word.as_str())
                })
        })
        .map(str::to_owned)
        .collect()
}

#[test]
fn nothing_that_is_said_of_a_belt_speaks_of_chains_and_links() {
    let spec = engine("dipper-belt");
    let spec = spec.as_str();
    let on = ["--link=crank=on", "--link=exhaust=on", "--link=intake=on"];
    let dots = ["--dot=crank=on", "--dot=exhaust=on"];
    let mut commands: Vec<Vec<&str>> = vec![
        [&["check", spec][..], &on].concat(),
        [&["check", spec][..], &on[..2], &["--link=intake=1 behind"]].concat(),
        [&["check", spec][..], &on[..2], &["--link=intake=1 ahead"]].concat(),
        [&["check", spec][..], &on, &dots].concat(),
        [
            &["check", spec][..],
            &on,
            &dots,
            &["--dot=intake=5 deg behind"],
        ]
        .concat(),
        [&["check", spec][..], &["--link=crank=1 ahead"], &on[1..]].concat(),
        [&["check", spec][..], &on, &["--turned=2"]].concat(),
        vec!["check", spec, "--link=intake=20 ahead", "--link=crank=on"],
        vec![
            "check",
            spec,
            "--link=crank=link 50",
            "--link=intake=on",
            "--link=exhaust=on",
        ],
        vec!["roll", spec, "--turned=2"],
        vec!["roll", spec, "--turned=3/2"],
        vec!["roll", spec, "--turned=230", "--table"],
        vec!["slip", spec, "intake=1 behind"],
        vec!["slip", spec, "--sweep=-2..2", "intake"],
        vec![
            "explain",
            spec,
            "intake=9 crank deg behind",
            "--tolerance=1",
        ],
        vec![
            "explain",
            spec,
            "intake=16.4 crank deg behind",
            "exhaust=16.4 crank deg behind",
            "--tolerance=1",
        ],
        vec!["draw", spec],
        vec!["draw", spec, "--slip=intake=1"],
        vec!["draw", spec, "--format=text"],
        vec!["paint", "plan", spec],
        vec!["wear", spec, "--elongation=1/100"],
        vec!["lint", "--report", spec],
    ];
    commands.push([&["draw", spec][..], &on[..2], &["--link=intake=1 behind"]].concat());
    let (mut spoken, mut run) = (0, 0);
    for command in commands {
        let outcome = tautmark(&command);
        let said = format!("{}{}", outcome.stdout, outcome.stderr);
        spoken += usize::from(said.contains("elt"));
        assert_eq!(chain_words(&said), [""; 0], "{command:?}");
        run += 1;
    }
    // Where there is nothing to be explained nothing is said of it.
    assert!(spoken + 2 >= run, "{spoken} of {run}");
}

#[test]
fn the_interview_speaks_of_the_belt_and_holds_the_tensioner_back() {
    let folder = scratch("belt-ask");
    let record = folder.join("looks.yaml");
    let record = record.to_str().unwrap();
    // All marks on; the dots that would tell a belt laid on back to front are asked for as well.
    for answers in [
        "y\nf\ny\ny\ny\n1\n1\n1\n1\n1\n1\ny\ny\ny\n",
        "y\nf\n1\n2\n1\n1\n1\n1\n1\n",
    ] {
        let outcome = tautmark_fed(
            &["ask", &engine("dipper-belt"), "--record", record],
            answers.as_bytes(),
        );
        let said = format!("{}{}", outcome.stdout, outcome.stderr);
        assert!(said.contains("belt mark"), "{said}");
        assert_eq!(chain_words(&said), [""; 0], "{said}");
        std::fs::remove_dir_all(&folder).unwrap();
        std::fs::create_dir_all(&folder).unwrap();
    }
    // The marks alone do not release it: three white lines look the same back to front.
    let outcome = tautmark(&[
        "check",
        &engine("dipper-belt"),
        "--link=crank=on",
        "--link=exhaust=on",
        "--link=intake=on",
    ]);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome.stdout.contains("back to front"),
        "{}",
        outcome.stdout
    );
}
