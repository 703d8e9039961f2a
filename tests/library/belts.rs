//! Toothed belts: the exact model of a chain, without its links' kinds, its polygon and its wear.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::{drive, engines};
use tautmark::{
    Drive, Observations, Seen, Source, Verdict, check, link_named,
    plane::{
        Elongation, Layout, WearError, can_wear,
        geometry::{Path, Point, Round, Side, Travel, Wheel, belt_pitch_diameter},
        wear, wearing,
    },
    timing::{CountError, DotCount, Plates},
    units::{Exact, Teeth},
};

const DIPPER: &str = include_str!("../../engines/dipper-belt.yaml");

/// Pitch diameters of pulleys of 3/8 in pitch, in mm, as in tables of pulleys after ISO 5294 (values from memory).
#[test]
fn pitch_diameters_of_published_pulleys() {
    for (teeth, published) in [
        (10, 30.32),
        (12, 36.38),
        (20, 60.64),
        (24, 72.77),
        (30, 90.96),
        (48, 145.53),
    ] {
        let found = belt_pitch_diameter(9.525, teeth);
        assert!((found - published).abs() < 0.006, "{teeth}: {found}");
    }
}

/// Common practice: an open belt over two like pulleys is as long as twice their distance and once around one of them.
#[test]
fn a_belt_over_two_like_pulleys_is_twice_their_distance_and_once_around() {
    for (teeth, pitch, distance) in [(20, 9.525, 200.0), (24, 8.0, 320.0), (44, 9.525, 457.2)] {
        let wheel = |y| Wheel {
            centre: Point::new(0.0, y),
            round: Round::Pulley { teeth },
            side: Side::Inside,
        };
        let path = Path::new(&[wheel(0.0), wheel(distance)], pitch, Travel::Clockwise).unwrap();
        let expected = f64::from(teeth) + 2.0 * distance / pitch;
        assert!((path.links() - expected).abs() < 1e-9);
    }
}

/// A chain and a belt with the same numbers: whatever is seen proves the same of both, and is off by the same.
#[test]
fn a_belt_is_proven_as_a_chain_is() {
    let mut looks = 0;
    for (file, text) in engines() {
        let as_kind = |kind: &str| -> Option<Drive> {
            let mut belts = text.replace("    kind: belt\n", "");
            belts = belts
                .lines()
                // Without a pitch there is no geometry, in which the two do differ.
                .filter(|line| {
                    let line = line.trim_start();
                    !line.starts_with("elongation_limit:") && !line.starts_with("pitch:")
                })
                .map(|line| {
                    if line.starts_with("    links:") {
                        format!("    kind: {kind}\n{line}\n")
                    } else {
                        format!("{line}\n")
                    }
                })
                .collect();
            let source = Source::new("engine", belts.into()).unwrap();
            Drive::read(&source).drive
        };
        let (Some(chain), Some(belt)) = (as_kind("roller"), as_kind("belt")) else {
            panic!("{file}");
        };
        assert!(belt.chains().all(|(_, chain)| chain.is_belt()), "{file}");
        let marks: Vec<String> = chain
            .engagements()
            .filter(|(_, sprocket)| sprocket.mark().is_some())
            .map(|(at, _)| tautmark::timing::name_of(&chain, at))
            .collect();
        // All on their links, and each in turn a tooth or two either way.
        for off in 0..=marks.len() {
            for teeth in [-2, -1, 1, 2] {
                let verdict = |drive: &Drive| {
                    let mut seen = Observations::at_timed_position();
                    for (i, name) in marks.iter().enumerate() {
                        let by = if i + 1 == off { teeth } else { 0 };
                        let what = Seen::Teeth(Teeth::new(Exact::whole(by)));
                        seen.see_link(drive, link_named(drive, name).unwrap(), what)
                            .unwrap();
                    }
                    let check = check(drive, &seen).unwrap();
                    let off: Vec<_> = check.shafts().iter().map(|shaft| shaft.off).collect();
                    let moves = check.remedies().len();
                    (check.verdict(), check.release_tensioner(), off, moves)
                };
                let (a, b) = (verdict(&chain), verdict(&belt));
                assert_eq!(a, b, "{file} {off} {teeth}");
                looks += 1;
            }
        }
    }
    assert!(looks > 100, "{looks}");
}

fn dipper() -> Drive {
    drive(DIPPER)
}

fn count(
    drive: &Drive,
    from: &str,
    to: &str,
    links: i64,
    plates: Option<(Plates, Plates)>,
) -> DotCount {
    DotCount {
        from: link_named(drive, from).unwrap(),
        to: link_named(drive, to).unwrap(),
        links: Exact::whole(links),
        plates,
    }
}

/// Nothing on a belt tells whether a count is even, so no count by itself is taken; all of them around are.
#[test]
fn only_counts_all_the_way_around_prove_a_belt() {
    let drive = dipper();
    let see = |counts: &[DotCount]| {
        let mut seen = Observations::at_timed_position();
        seen.see_counts(&drive, counts).map(|()| seen)
    };
    for plates in [None, Some((Plates::Outer, Plates::Outer))] {
        let alone = [count(&drive, "crank", "exhaust", 50, plates)];
        assert!(matches!(see(&alone), Err(CountError::NoPlates { .. })));
    }
    let around = |a, b, c| {
        [
            count(&drive, "crank", "exhaust", a, None),
            count(&drive, "exhaust", "intake", b, None),
            count(&drive, "intake", "crank", c, None),
        ]
    };
    let seen = see(&around(50, 15, 50)).unwrap();
    assert_eq!(check(&drive, &seen).unwrap().verdict(), Verdict::InTime);
    let seen = see(&around(51, 14, 50)).unwrap();
    assert_eq!(check(&drive, &seen).unwrap().verdict(), Verdict::OutOfTime);
    // One count one out shows in the sum.
    assert!(matches!(
        see(&around(51, 15, 50)),
        Err(CountError::AddsUp { .. })
    ));
}

#[test]
fn a_belt_does_not_wear_at_pins() {
    let drive = dipper();
    let belt = drive.chain_named("timing").unwrap();
    let refused = |error: WearError| assert!(matches!(error, WearError::Belt { .. }), "{error}");
    refused(can_wear(&drive, belt).unwrap_err());
    refused(wearing(&drive).unwrap_err());
    refused(Elongation::measured(&drive, belt, Exact::whole(1000), 100).unwrap_err());
    refused(Elongation::from_extension(&drive, belt, Exact::whole(20)).unwrap_err());
    // Said of it all the same, nothing follows.
    let said = Elongation::given(Exact::parse("1/1000").unwrap()).unwrap();
    let worn = wear(&drive, &[(belt, said)]);
    assert_eq!(worn.verdict(), tautmark::plane::WearVerdict::NotProven);
    assert!(worn.shafts.iter().all(|shaft| shaft.retard.is_none()));
    // A chain beside it wears.
    let kestrel = drive_of_chain();
    assert_eq!(wearing(&kestrel).unwrap().len(), 1);
}

fn drive_of_chain() -> Drive {
    drive(include_str!("../../engines/kestrel-four.yaml"))
}

/// The engine's own marks agree with its centres only along the pitch line of a belt.
#[test]
fn a_belt_and_a_chain_of_one_pitch_are_not_the_same_loop() {
    let chain = drive(&DIPPER.replace("    kind: belt\n", "    cranked_link: true\n"));
    let belt = dipper();
    let links = |drive: &Drive| {
        let id = drive.chain_named("timing").unwrap();
        Layout::new(drive, id).unwrap().fit().unwrap().travel
    };
    // The pins of a chain stand a little further out than the pitch line of a belt.
    let apart = (links(&belt) - links(&chain)).abs();
    assert!((1e-5..0.1).contains(&apart), "{apart}");
}
