//! No accepted spec and no question about it runs away: each of these would take minutes, or megabytes
//! of output, if what it grows with were not bounded. The program runs under the limits of `limited`.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use crate::support::largest::{self, Large};
use crate::support::program::{Outcome, limited, run, scratch, tautmark, tautmark_fed};
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

fn explain(cams: usize, tolerance: &str, format: &str) -> Outcome {
    let spec = scratch("bounded").join("holes.yaml");
    std::fs::write(&spec, many_holes()).unwrap();
    let mut command = limited();
    command.arg("explain").arg(&spec);
    for cam in 1..=cams {
        command.arg(format!("c{cam}={cam}.37 crank deg behind"));
    }
    command.args(["--tolerance", tolerance, "--format", format]);
    command.stdin(Stdio::piped());
    run(command, b"")
}

#[test]
fn a_search_for_causes_ends_with_its_budget_and_says_so() {
    let spec = tautmark_fed(&["lint", "-"], many_holes().as_bytes());
    assert_eq!(spec.status, Some(0), "{}", spec.stderr);
    // With all of them off by amounts that nothing makes up, no number of sets would be enough.
    for tolerance in ["0", "0.2", "3"] {
        let outcome = explain(15, tolerance, "text");
        assert_eq!(outcome.status, Some(1), "{tolerance}: {}", outcome.stderr);
        assert!(
            outcome.stdout.contains("there are too many to try"),
            "{tolerance}: {}",
            outcome.stdout
        );
        let outcome = explain(15, tolerance, "json");
        assert_eq!(outcome.json()["cut_short"].as_bool(), Some(true));
        assert_eq!(outcome.json()["more"].as_bool(), Some(false));
        assert_eq!(outcome.json()["causes"].as_array().map(Vec::len), Some(0));
    }
}

#[test]
fn a_search_that_comes_to_its_end_does_not_say_that_it_was_cut() {
    for cams in [1, 2] {
        let outcome = explain(cams, "0", "text");
        assert_eq!(outcome.status, Some(1), "{cams}: {}", outcome.stderr);
        assert!(!outcome.stdout.contains("too many"), "{}", outcome.stdout);
        let outcome = explain(cams, "0", "json");
        assert_eq!(outcome.json()["cut_short"].as_bool(), Some(false));
    }
}

#[test]
fn a_patch_of_a_spec_full_of_mistakes_names_a_hundred_and_counts_the_rest() {
    let spec = "teth: 1\n".repeat(24_000);
    let outcome = tautmark_fed(&["lint", "--fit", "-"], spec.as_bytes());
    assert_eq!(outcome.status, Some(2));
    assert!(outcome.stderr.len() < 100_000, "{}", outcome.stderr.len());
    let named = outcome.stderr.matches("error[").count();
    assert!(named <= 101, "{named}");
    assert!(
        outcome.stderr.contains("more findings"),
        "{}",
        outcome.stderr
    );
}

#[test]
fn every_command_ends_on_the_largest_specs() {
    let folder = scratch("largest");
    for large in Large::ALL {
        let spec = folder.join(format!("{large:?}.yaml"));
        std::fs::write(&spec, largest::spec(large)).unwrap();
        let into = folder.join("page.html");
        let commands = largest::commands(spec.to_str().unwrap(), large, into.to_str().unwrap());
        for (words, status) in commands {
            let outcome = tautmark(&words);
            let said: String = outcome.stderr.chars().take(500).collect();
            assert_eq!(outcome.status, Some(status), "{large:?} {words:?}: {said}");
            // The longest of all are drawings of 16,000 links, and sweeps told in every detail.
            assert!(outcome.stdout.len() < 16 << 20, "{words:?}");
        }
    }
}

/// A job of the largest plan, all of it ticked part by part, and the report of that.
#[test]
fn a_job_of_the_largest_plan_ends_too() {
    let folder = scratch("largest-job");
    let path = |name: &str| folder.join(name).to_string_lossy().into_owned();
    let (spec, job, page) = (path("spec.yaml"), path("job.yaml"), path("report.html"));
    std::fs::write(&spec, largest::spec(Large::Alike)).unwrap();
    let at = "--at=2024-11-25T08:00:00Z";
    let new = tautmark(&["job", "new", &spec, "-o", &job, at]);
    assert_eq!(new.status, Some(0), "{}", new.stderr);
    let parts: Vec<String> = (0..200).map(|n| format!("part:part-{n:03}")).collect();
    let mut tick = vec!["job", "tick", &spec, &job, at, "--by=A. Fitter"];
    tick.extend(parts.iter().map(String::as_str));
    let ticked = tautmark(&tick);
    assert_eq!(ticked.status, Some(0), "{}", ticked.stderr);
    for format in ["text", "json"] {
        let status = tautmark(&["job", "status", &spec, &job, at, "--format", format]);
        assert_eq!(status.status, Some(1), "{}", status.stderr);
    }
    let report = tautmark(&["job", "report", &spec, &job, at]);
    assert_eq!(report.status, Some(1), "{}", report.stderr);
    let report = tautmark(&["job", "report", &spec, &job, at, "-o", &page]);
    assert_eq!(report.status, Some(1), "{}", report.stderr);
}
