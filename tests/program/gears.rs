//! Gears at every door: a drive of gears alone, and gears with a chain between them.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{engine, scratch, tautmark};

/// A crankshaft that drives one camshaft by gears.
const ALONE: &str = "tautmark: 1
engine: Gears alone
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 0] }
  cam: { kind: camshaft, at: [0, 60] }
chains:
  timing:
    kind: gears
    pitch: 6.283185
    links: 40
    path:
      - { sprocket: crank, teeth: 20, dot: 0, link: 0 }
      - { sprocket: cam, teeth: 40, dot: 180, link: 0, outside: true }
";

#[test]
fn nothing_that_is_said_of_gears_alone_speaks_of_chains_and_belts() {
    let folder = scratch("gears-alone");
    let path = folder.join("alone.yaml");
    std::fs::write(&path, ALONE).unwrap();
    let spec = path.to_str().unwrap();
    for command in [
        vec!["check", spec, "--link=crank=on", "--link=cam=on"],
        vec!["check", spec, "--link=crank=on", "--link=cam=1 behind"],
        vec!["check", spec, "--link=crank=1 ahead", "--link=cam=on"],
        vec!["check", spec, "--link=cam=on"],
        vec!["check", spec, "--link=crank=on", "--link=cam=on", "--turned=2"],
        vec!["roll", spec, "--turned=2"],
        vec!["roll", spec, "--turned=1/2"],
        vec!["explain", spec, "cam=18 crank deg behind", "--tolerance=1"],
        vec!["draw", spec],
        vec!["draw", spec, "--link=crank=on", "--link=cam=2 ahead"],
        vec!["wear", spec, "--elongation=1/100"],
        vec!["lint", spec],
    ] {
        let outcome = tautmark(&command);
        let said = format!("{}{}", outcome.stdout, outcome.stderr);
        let no_markup = said
            .split('<')
            .map(|piece| piece.split_once('>').map_or(piece, |(_, rest)| rest));
        for line in no_markup.flat_map(str::lines) {
            let wrong = line
                .replace("--link", "")
                .split(|c: char| !c.is_alphanumeric() && c != '-' && c != '_')
                .any(|word| {
                    let word = word.to_lowercase();
                    ["chain", "chains", "link", "links", "belt", "belts"].contains(&word.as_str())
                });
            assert!(!wrong, "{command:?}: {line}");
        }
    }
}

#[test]
fn gears_are_told_by_their_dots_and_the_line_of_centres() {
    let spec = engine("pipit-gears");
    let on = [
        "--link=crank=on",
        "--link=primary/idler=on",
        "--link=main/idler=on",
        "--link=main/intake=on",
        "--link=heads/intake=on",
        "--link=exhaust=on",
    ];
    let look = |change: &[(&str, &str)]| {
        let mut all: Vec<String> = on.iter().map(|look| (*look).to_owned()).collect();
        for (from, to) in change {
            let at = all.iter().position(|look| look == from).unwrap();
            (*to).clone_into(&mut all[at]);
        }
        let mut command = vec!["check", &spec];
        command.extend(all.iter().map(String::as_str));
        command.push("--dot=crank=on");
        command.push("--dot=intake=on");
        command.push("--dot=exhaust=on");
        command.retain(|word| change.is_empty() || !word.starts_with("--dot"));
        tautmark(&command)
    };
    let right = look(&[]);
    assert_eq!(right.status, Some(0), "{}{}", right.stdout, right.stderr);
    // One tooth at the gears of the head: 360 / 22 crank degrees, 16.4, and only the exhaust.
    let wrong = look(&[("--link=exhaust=on", "--link=exhaust=1 behind")]);
    assert_eq!(wrong.status, Some(1), "{}", wrong.stdout);
    assert!(wrong.stdout.contains("OUT OF TIME"), "{}", wrong.stdout);
    assert!(wrong.stdout.contains("16.4"), "{}", wrong.stdout);
    assert!(wrong.stdout.contains("out of mesh"), "{}", wrong.stdout);
    // Both gears rolled on a tooth is nothing; one ahead and the other behind is two teeth.
    let rolled = look(&[
        ("--link=heads/intake=on", "--link=heads/intake=1 ahead"),
        ("--link=exhaust=on", "--link=exhaust=1 ahead"),
    ]);
    assert!(!rolled.stdout.contains("OUT OF TIME"), "{}", rolled.stdout);
    let two = look(&[
        ("--link=heads/intake=on", "--link=heads/intake=1 ahead"),
        ("--link=exhaust=on", "--link=exhaust=1 behind"),
    ]);
    assert!(two.stdout.contains("32.7"), "{}", two.stdout);
    // The shaft that carries two gears is not guessed at, and no tooth has a number.
    for looks in [["--link=idler=on"], ["--link=exhaust=link 3"]] {
        let outcome = tautmark(&["check", &spec, looks[0]]);
        assert_eq!(outcome.status, Some(2), "{}", outcome.stdout);
    }
}
