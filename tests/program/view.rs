//! `--view`: every direction in the words of whoever looks, and a view that cannot be is refused.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{engine, scratch, tautmark};

const BEHIND: [&str; 6] = [
    "--link",
    "crank=on",
    "--link",
    "exhaust=on",
    "--link",
    "intake=2 behind",
];

/// The Kestrel turns clockwise. In a mirror left and right are exchanged, and what turns is seen to turn the other way
/// (a mirror image is congruent but for its handedness: any textbook of geometry).
#[test]
fn directions_are_those_of_the_view() {
    let spec = engine("kestrel-four");
    for (view, way, from) in [
        (
            "facing clockwise",
            "clockwise",
            "as seen facing the timing end",
        ),
        (
            "mirror counter-clockwise",
            "counter-clockwise",
            "as seen in the mirror",
        ),
        ("photo clockwise", "clockwise", "as seen on the photo"),
        (
            "photo counter-clockwise",
            "counter-clockwise",
            "as seen on the photo",
        ),
        ("above right", "to the right on top", "as seen from above"),
        (
            "above to the left",
            "to the left on top",
            "as seen from above",
        ),
    ] {
        let check = [&["check", &spec][..], &BEHIND, &["--view", view]].concat();
        let text = tautmark(&check);
        assert_eq!((text.stderr.as_str(), text.status), ("", Some(1)), "{view}");
        let told = format!("turn the sprocket 2 teeth {way} against the chain, {from}");
        assert!(text.stdout.contains(&told), "{view}: {}", text.stdout);
        // Nor does any other line say it the other way round without saying from where.
        let other = match way {
            "clockwise" => "counter-clockwise",
            "counter-clockwise" => " clockwise",
            "to the right on top" => "to the left",
            _ => "to the right",
        };
        assert!(!text.stdout.contains(other), "{view}: {}", text.stdout);
        if !view.starts_with("facing") {
            for line in text.stdout.lines().filter(|line| line.contains("2 teeth ")) {
                let names_it = line.contains(from) || !line.contains("turn the sprocket");
                assert!(names_it, "{view}: {line}");
            }
        }
    }
}

#[test]
fn a_view_that_cannot_be_or_is_not_settled_is_refused() {
    let spec = engine("kestrel-four");
    for (view, reason) in [
        ("mirror", "say too which way the crankshaft must turn"),
        ("facing", "say too which way the crankshaft must turn"),
        ("above clockwise", "'above right' or 'above left'"),
        (
            "mirror clockwise",
            "one mirror shows that the other way round",
        ),
        (
            "facing counter-clockwise",
            "Are you on the other side, or is the spec wrong?",
        ),
        (
            "behind clockwise",
            "expected facing, mirror, photo or above",
        ),
        ("", "expected facing, mirror, photo or above"),
        ("photo left", "say too which way"),
    ] {
        let check = [&["check", &spec][..], &BEHIND, &["--view", view]].concat();
        let outcome = tautmark(&check);
        assert_eq!(
            (outcome.stdout.as_str(), outcome.status),
            ("", Some(2)),
            "{view}"
        );
        assert!(
            outcome.stderr.contains(reason),
            "{view}: {}",
            outcome.stderr
        );
    }
    let json = [
        &["check", &spec][..],
        &BEHIND,
        &["--view", "photo clockwise", "--format", "json"],
    ]
    .concat();
    assert!(tautmark(&json).stderr.contains("--view is for text"));
}

/// A look in a mirror is told in the mirror's words, and so it stands in the job.
#[test]
fn a_look_of_a_job_keeps_its_view() {
    let spec = engine("kestrel-four");
    let job = scratch("view").join("job.yaml");
    let job = job.to_str().unwrap();
    assert_eq!(tautmark(&["job", "new", &spec, "-o", job]).status, Some(0));
    let look = [
        &["job", "look", &spec, job, "--stage", "hung"][..],
        &BEHIND,
        &["--view", "mirror counter-clockwise"],
    ]
    .concat();
    let looked = tautmark(&look);
    assert_eq!((looked.stderr.as_str(), looked.status), ("", Some(1)));
    let report = tautmark(&["job", "report", &spec, job]).stdout;
    for text in [&looked.stdout, &report] {
        assert!(
            text.contains("2 teeth counter-clockwise against the chain, as seen in the mirror"),
            "{text}"
        );
    }
    assert!(report.contains(", in the mirror\n"), "{report}");
    let kept = std::fs::read_to_string(job).unwrap();
    assert!(
        kept.contains("view: mirror, crank_seen: counter-clockwise"),
        "{kept}"
    );
}

/// Where a dot points is said as it is seen, and from where: ten past twelve in the mirror is ten to.
#[test]
fn where_dots_point_is_said_as_it_is_seen() {
    let spec = engine("kestrel-four");
    let rolled = |more: &[&str]| {
        let all = [&["roll", &spec, "--turned", "2"][..], more].concat();
        let outcome = tautmark(&all);
        assert_eq!((outcome.stderr.as_str(), outcome.status), ("", Some(0)));
        outcome.stdout
    };
    let facing = rolled(&[]);
    assert!(
        facing.contains("2 crank turns after it was timed, as seen facing the timing end\n"),
        "{facing}"
    );
    for (view, exhaust, intake, from) in [
        (
            "facing clockwise",
            "350",
            "10",
            "as seen facing the timing end",
        ),
        (
            "mirror counter-clockwise",
            "10",
            "350",
            "as seen in the mirror",
        ),
        (
            "photo counter-clockwise",
            "10",
            "350",
            "as seen on the photo",
        ),
        ("photo clockwise", "350", "10", "as seen on the photo"),
    ] {
        let text = rolled(&["--view", view]);
        assert!(text.contains(from), "{view}: {text}");
        for (shaft, points) in [
            ("crank  ", "180"),
            ("exhaust", exhaust),
            ("intake ", intake),
        ] {
            let line = format!("  {shaft}  dot in its timed place, pointing to {points} degrees");
            assert!(text.contains(&line), "{view}: {line}\n{text}");
        }
    }
    assert!(!rolled(&["--view", "above right"]).contains("pointing"));
    let json = tautmark(&[
        "roll",
        &spec,
        "--turned",
        "2",
        "--view",
        "above right",
        "--format",
        "json",
    ]);
    assert_eq!((json.status, json.stdout.as_str()), (Some(2), ""));
    let wrong = tautmark(&["roll", &spec, "--turned", "2", "--view", "mirror clockwise"]);
    assert_eq!((wrong.status, wrong.stdout.as_str()), (Some(2), ""));
}
