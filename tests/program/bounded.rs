//! No accepted spec and no question about it runs away: each of these would take minutes, or megabytes
//! of output, if what it grows with were not bounded. The program runs under the limits of `limited`.

use crate::support::program::{Outcome, limited, run, scratch, tautmark_fed};
use std::fmt::Write as _;
use std::process::Stdio;

/// One crankshaft and 15 camshafts, each with 16 dowel holes: 2^256 sets of faults.
fn many_holes() -> String {
    let mut shafts = String::new();
    let mut path = String::new();
    for cam in 1..16 {
        let holes: Vec<String> = (0..16)
            .map(|hole| format!("{}.5", 7 * hole + cam + 1))
            .collect();
        let _ = writeln!(shafts, "  c{cam}: {{ kind: camshaft }}");
        let _ = writeln!(
            path,
            "      - {{ sprocket: c{cam}, teeth: 40, link: {}, dowel_holes: [{}] }}",
            100 * cam,
            holes.join(", ")
        );
    }
    format!(
        "tautmark: 1\nengine: Many holes\ncrank_turns: clockwise\nshafts:\n  crank: {{ kind: crankshaft }}\n{shafts}\
         chains:\n  main:\n    links: 2000\n    path:\n      - {{ sprocket: crank, teeth: 20, link: 0 }}\n{path}"
    )
}

fn explain(cams: usize) -> Outcome {
    let spec = scratch("bounded").join("holes.yaml");
    std::fs::write(&spec, many_holes()).unwrap();
    let mut command = limited();
    command.arg("explain").arg(&spec);
    for cam in 1..=cams {
        command.arg(format!("c{cam}={cam}.37 crank deg behind"));
    }
    command.args(["--tolerance", "0", "--format", "json"]);
    command.stdin(Stdio::piped());
    run(command, b"")
}

#[test]
fn a_search_for_causes_ends_with_its_budget_and_says_so() {
    for cams in [1, 2, 6, 15] {
        let outcome = explain(cams);
        assert_eq!(outcome.status, Some(1), "{cams}: {}", outcome.stderr);
        // With all of them off by amounts that nothing makes up, no number of sets would be enough.
        if cams == 15 {
            let cut = outcome.json()["more"].as_bool();
            assert_eq!(cut, Some(true), "{}", outcome.stdout);
        }
    }
}

#[test]
fn a_patch_of_a_spec_full_of_mistakes_names_a_hundred_and_counts_the_rest() {
    let spec = "teth: 1\n".repeat(24_000);
    let outcome = tautmark_fed(&["lint", "--fit", "-"], spec.as_bytes());
    assert_eq!(outcome.status, Some(2));
    assert!(outcome.stderr.len() < 100_000, "{}", outcome.stderr.len());
    assert!(outcome.stderr.contains("more"), "{}", outcome.stderr);
}
