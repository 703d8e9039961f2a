//! How each cylinder stands at one place of the crankshaft, against published relations and the certified least clearance.
#![allow(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

use tautmark::units::{CrankDegrees, Exact, Stroke, Teeth, Turns};
use tautmark::valves::{NoClearance, Slips, cylinder_poses, timing};
use tautmark::{Drive, Source};

fn read(text: String) -> Drive {
    let source = Source::new("engine.yaml", text.into_bytes()).unwrap();
    Drive::read(&source).drive.unwrap()
}

fn engine(name: &str) -> String {
    let path = format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

fn engines() -> Vec<String> {
    let folder = format!("{}/engines", env!("CARGO_MANIFEST_DIR"));
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter_map(|name| Some(name.strip_suffix(".yaml")?.to_owned()))
        .collect();
    names.sort();
    names
}

fn turned(text: &str) -> Turns {
    Turns::new(Exact::parse(text).unwrap())
}

/// Heywood, Internal Combustion Engine Fundamentals, chapter 2 (value from memory): with throw a and rod l the piston is
/// `x = a + l - (a cos t + sqrt(l^2 - a^2 sin^2 t))` below TDC, t the crank angle after it. An inline four fires 1-3-4-2,
/// each 180 degrees after the one before (common practice).
#[test]
fn pistons_are_where_the_slider_crank_puts_them() {
    let drive = read(engine("kestrel-four"));
    let (throw, rod) = (43.0_f64, 143.5_f64);
    for degrees in 0_u16..=1440 {
        let at = turned(&format!("{degrees}/360"));
        let poses = cylinder_poses(&drive, at, &[]).unwrap();
        let order: Vec<u8> = poses.iter().map(|pose| pose.cylinder).collect();
        assert_eq!(order, [1, 3, 4, 2]);
        for (later, pose) in (0_u16..).zip(&poses) {
            let after = (f64::from(degrees) - 180.0 * f64::from(later)).to_radians();
            let down = throw + rod
                - (throw * after.cos() + (rod * rod - (throw * after.sin()).powi(2)).sqrt());
            assert!(
                (pose.travel_mm - down).abs() < 1e-9,
                "{degrees}: {pose:?} against {down}"
            );
        }
    }
    // A quarter turn after TDC the rod has pulled it below the middle of its stroke: 43 + 143.5 - sqrt(143.5^2 - 43^2).
    let poses = cylinder_poses(&drive, turned("1/4"), &[]).unwrap();
    assert!((poses[0].travel_mm - 49.594_1).abs() < 1e-3, "{poses:?}");
    // Cylinder 3, a quarter turn before it, is as far down (the formula is even in t).
    assert!((poses[1].travel_mm - poses[0].travel_mm).abs() < 1e-9);
}

/// The four strokes in their order (common practice): two turns of the crankshaft, each stroke half a turn.
#[test]
fn strokes_follow_each_other_and_come_back_after_two_turns() {
    for name in ["kestrel-four", "buzzard-v8", "siskin-v6", "wren-single"] {
        let drive = read(engine(name));
        let all = [
            Stroke::Power,
            Stroke::Exhaust,
            Stroke::Intake,
            Stroke::Compression,
        ];
        for eighths in 0_u16..32 {
            let at = |more: u16| turned(&format!("{}/8", eighths + more));
            let (now, next) = (
                cylinder_poses(&drive, at(0), &[]).unwrap(),
                cylinder_poses(&drive, at(4), &[]).unwrap(),
            );
            for (now, next) in now.iter().zip(&next) {
                let stands = all.iter().position(|stroke| *stroke == now.stroke).unwrap();
                assert_eq!(next.stroke, all[(stands + 1) % 4], "{name}");
            }
            assert_eq!(now, cylinder_poses(&drive, at(16), &[]).unwrap(), "{name}");
        }
        // In the timed position cylinder 1 is at TDC of compression where the spec says nothing else.
        let timed = cylinder_poses(&drive, Turns::ZERO, &[]).unwrap();
        let first = timed.iter().find(|pose| pose.cylinder == 1).unwrap();
        assert!(
            first.place.get().is_zero() && first.travel_mm == 0.0,
            "{name}"
        );
    }
}

/// The distance between valve and piston along the valve's axis, as docs/mathematics.md has it, and worked out by hand at
/// TDC with the valve closed: recess + relief + (gasket - deck) cos(inclination).
#[test]
fn the_gap_is_what_the_spec_says_at_tdc() {
    let drive = read(engine("kestrel-four"));
    let poses = cylinder_poses(&drive, Turns::ZERO, &[]).unwrap();
    let cylinders = drive.cylinders().unwrap();
    let clamped = (
        cylinders.gasket.to_f64() - cylinders.deck.to_f64(),
        poses[0].valves.len(),
    );
    assert_eq!(clamped.1, 2);
    for valve in &poses[0].valves {
        let spec = &drive.valves()[valve.valve];
        let by_hand = spec.recess.unwrap().to_f64()
            + spec.relief.to_f64()
            + clamped.0 * spec.inclination.to_f64().to_radians().cos();
        assert_eq!(valve.lift_mm, Some(0.0));
        assert!((valve.gap_mm.unwrap() - by_hand).abs() < 1e-9, "{valve:?}");
    }
}

/// No gap at any place is less than the certified least, and where that is reached the gap is that.
#[test]
fn no_gap_is_less_than_the_certified_least() {
    let mut compared = 0;
    for name in engines() {
        let drive = read(engine(&name));
        for (i, (at, _)) in drive.engagements().enumerate() {
            for teeth in [-4_i64, 0, 3, 4] {
                if teeth == 0 && i > 0 {
                    continue;
                }
                let slips = Slips::none().with(at, Teeth::whole(teeth));
                let Ok(errors) = slips.errors(&drive) else {
                    continue;
                };
                let certified = timing(&drive, &errors).unwrap();
                let mut least = vec![f64::INFINITY; drive.valves().len()];
                for degrees in 0_u16..720 {
                    let place = turned(&format!("{degrees}/360"));
                    for pose in cylinder_poses(&drive, place, &errors).unwrap() {
                        for valve in pose.valves {
                            let gap = valve.gap_mm.unwrap();
                            least[valve.valve] = least[valve.valve].min(gap);
                        }
                    }
                }
                for (least, valve) in least.iter().zip(&certified.valves) {
                    let certified = valve.clearance.as_ref().unwrap().mm;
                    // A degree to either side of the least nothing moves by more than a tenth of a millimetre.
                    assert!(
                        *least >= certified - 1e-9 && *least < certified + 0.1,
                        "{name}, {teeth} teeth: {least} against {certified}"
                    );
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 100, "{compared}");
}

/// What the spec does not give is said to be missing, and nothing is made up for it.
#[test]
fn what_the_spec_lacks_is_named() {
    let text = engine("kestrel-four");
    let without = |from: &str| {
        assert!(text.contains(from), "{from}");
        read(text.replace(from, ""))
    };
    let poses = |drive: &Drive| cylinder_poses(drive, turned("5/4"), &[]).unwrap();
    for pose in poses(&without(", recess: 1.2")) {
        for valve in pose.valves {
            assert_eq!(valve.gap_mm, Err(NoClearance::Recess));
            assert!(valve.lift_mm.is_some());
        }
    }
    for pose in poses(&without(", lift: 9.5")) {
        let intake = pose.valves.iter().find(|valve| valve.valve == 0).unwrap();
        assert_eq!(
            (intake.lift_mm, intake.gap_mm),
            (None, Err(NoClearance::Lift))
        );
    }
    // A whole turn out is 360 degrees in its own cycle, and 720 is none.
    let drive = read(text.clone());
    let off = |degrees: i64| {
        let errors = vec![CrankDegrees::whole(degrees); drive.shafts().count()];
        cylinder_poses(&drive, turned("7/5"), &errors).unwrap()
    };
    assert_eq!(off(720), off(0));
    assert_ne!(off(360), off(0));
}
