//! What must not change when the whole drive is moved, turned, mirrored or enlarged, and what must change when it is reversed.
#![allow(
    clippy::float_arithmetic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use proptest::prelude::*;
use tautmark::plane::geometry::{
    Dot, Limits, Path, Point, Round, SeatedPins, Side, Tension, Tensioner, Travel, Vec2, Wheel,
    pitch_diameter, solve_travel,
};

/// A drive like an engine's: crank, tensioner shoe on the left from without, exhaust, intake, guide on the right from without.
fn drive() -> impl Strategy<Value = (Vec<Wheel>, f64)> {
    (
        15u32..26,
        5.0f64..12.0,
        1.1f64..2.0,
        2.6f64..4.0,
        -20.0f64..20.0,
        0.15f64..0.7,
        any::<bool>(),
    )
        .prop_map(|(teeth, pitch, apart, high, aside, press, guided)| {
            let cam = pitch_diameter(pitch, 2 * teeth) / 2.0;
            let sprocket = |x: f64, y: f64, teeth| Wheel {
                centre: Point::new(x, y),
                round: Round::Sprocket { teeth },
                side: Side::Inside,
            };
            let shoe = |x: f64, y: f64| Wheel {
                centre: Point::new(x, y),
                round: Round::Shoe { radius: cam * 0.7 },
                side: Side::Outside,
            };
            let (x, y) = (cam * apart, cam * high * 1.3);
            let reach = cam * (1.75 - press);
            let mut wheels = vec![
                sprocket(aside, 0.0, teeth),
                shoe(-x * 0.5 - reach, y * 0.45),
                sprocket(-x, y, 2 * teeth),
                sprocket(x, y, 2 * teeth),
            ];
            if guided {
                wheels.push(shoe(x * 0.5 + reach, y * 0.45));
            }
            (wheels, pitch)
        })
}

fn each(wheels: &[Wheel], change: impl Fn(Wheel) -> Wheel) -> Vec<Wheel> {
    wheels.iter().copied().map(change).collect()
}

/// Everything of a path that has no place in it.
fn measures(path: &Path) -> Vec<f64> {
    let mut numbers = vec![path.links(), path.length()];
    for wheel in 0..path.wheels().len() {
        let contact = path.contact(wheel);
        numbers.extend([
            contact.map_or(-1.0, |c| c.wrap),
            contact.map_or(-1.0, |c| c.links),
            contact.map_or(-1.0, |c| c.start),
        ]);
    }
    numbers.extend(
        path.strands()
            .iter()
            .flat_map(|strand| [strand.length, strand.links, strand.start]),
    );
    numbers
}

fn same(one: &[f64], other: &[f64]) -> Result<(), TestCaseError> {
    prop_assert_eq!(one.len(), other.len());
    for (a, b) in one.iter().zip(other) {
        prop_assert!(
            (a - b).abs() <= 1e-8 * a.abs().max(1.0),
            "{} against {}",
            a,
            b
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(crate::support::cases(200))]

    #[test]
    fn moving_and_turning_change_nothing((wheels, pitch) in drive(), x in -500.0..500.0, y in -500.0..500.0, by in -180.0..180.0) {
        let path = Path::new(&wheels, pitch, Travel::Clockwise).unwrap();
        let (right, up) = (Vec2::from_clock(90.0 + by), Vec2::from_clock(by));
        let moved = each(&wheels, |wheel| Wheel {
            centre: Point::new(x, y) + right * wheel.centre.x + up * wheel.centre.y,
            ..wheel
        });
        let other = Path::new(&moved, pitch, Travel::Clockwise).unwrap();
        same(&measures(&path), &measures(&other))?;
        prop_assert_eq!(path.findings(&Limits::default()).len(), other.findings(&Limits::default()).len());
        let here = path.links_between(2, 3.0, 0, 170.0).unwrap().links;
        let there = other.links_between(2, 3.0 + by, 0, 170.0 + by).unwrap().links;
        prop_assert!((here - there).abs() < 1e-8);
    }

    #[test]
    fn mirroring_with_the_travel_reversed_changes_nothing((wheels, pitch) in drive()) {
        let path = Path::new(&wheels, pitch, Travel::Clockwise).unwrap();
        let mirrored = each(&wheels, |wheel| Wheel { centre: Point::new(-wheel.centre.x, wheel.centre.y), ..wheel });
        let other = Path::new(&mirrored, pitch, Travel::CounterClockwise).unwrap();
        same(&measures(&path), &measures(&other))?;
        prop_assert_eq!(path.tensions(0, &[1]).unwrap(), other.tensions(0, &[1]).unwrap());
        let here = path.links_between(2, 3.0, 0, 170.0).unwrap().links;
        let there = other.links_between(2, -3.0, 0, -170.0).unwrap().links;
        prop_assert!((here - there).abs() < 1e-8);
    }

    #[test]
    fn scaling_scales_lengths_and_leaves_links((wheels, pitch) in drive(), by in 0.2f64..5.0) {
        let path = Path::new(&wheels, pitch, Travel::Clockwise).unwrap();
        let scaled = each(&wheels, |wheel| Wheel {
            centre: Point::new(wheel.centre.x * by, wheel.centre.y * by),
            round: match wheel.round { Round::Shoe { radius } => Round::Shoe { radius: radius * by }, sprocket @ (Round::Sprocket { .. } | Round::Pulley { .. }) => sprocket },
            ..wheel
        });
        let other = Path::new(&scaled, pitch * by, Travel::Clockwise).unwrap();
        prop_assert!((path.links() - other.links()).abs() < 1e-8);
        prop_assert!((path.length() * by - other.length()).abs() < 1e-8 * other.length());
        for (one, two) in path.strands().iter().zip(other.strands()) {
            prop_assert!((one.length * by - two.length).abs() < 1e-8 * two.length.max(1.0));
        }
    }

    #[test]
    fn reversing_swaps_tight_and_slack((wheels, pitch) in drive()) {
        // Without the shoes: the strand that leaves the crank now arrives at it.
        let plain = [wheels[0], wheels[2], wheels[3]];
        let back = [wheels[0], wheels[3], wheels[2]];
        let path = Path::new(&plain, pitch, Travel::Clockwise).unwrap();
        let other = Path::new(&back, pitch, Travel::CounterClockwise).unwrap();
        prop_assert!((path.links() - other.links()).abs() < 1e-8);
        let slack = |path: &Path| -> Vec<(usize, f64)> {
            path.tensions(0, &[]).unwrap().iter().zip(path.strands()).enumerate()
                .filter(|(_, (tension, _))| **tension == Tension::Slack)
                .map(|(_, (_, strand))| (strand.to, strand.length)).collect()
        };
        let (one, two) = (slack(&path), slack(&other));
        prop_assert_eq!(one.len(), 1);
        prop_assert_eq!(two.len(), 1);
        // The slack strand of the one run is the strand that the other run pulls by.
        prop_assert!((one[0].1 - other.strands()[2].length).abs() < 1e-8);
        prop_assert!((two[0].1 - path.strands()[2].length).abs() < 1e-8);
    }

    #[test]
    fn the_order_may_begin_at_any_wheel((wheels, pitch) in drive(), by in 0usize..5) {
        let path = Path::new(&wheels, pitch, Travel::Clockwise).unwrap();
        let mut turned = wheels.clone();
        let by = by % wheels.len();
        turned.rotate_left(by);
        let other = Path::new(&turned, pitch, Travel::Clockwise).unwrap();
        let at = |wheel: usize| (wheel + wheels.len() - by) % wheels.len();
        prop_assert!((path.links() - other.links()).abs() < 1e-8);
        let here = path.links_between(3, 3.0, 0, 170.0).unwrap().links;
        let there = other.links_between(at(3), 3.0, at(0), 170.0).unwrap().links;
        prop_assert!((here - there).abs() < 1e-8);
        // And the pins of a chain do not care either.
        let dots = |cam: usize, crank: usize| {
            let mut dots = vec![None; wheels.len()];
            dots[crank] = Some(Dot { clock: 170.0, link: 0.0 });
            dots[cam] = Some(Dot { clock: 3.0, link: -here.round() });
            dots
        };
        let one = SeatedPins::new(&path, 0, &[1], &dots(3, 0), 200).unwrap().ripples(90).unwrap();
        let two = SeatedPins::new(&other, at(0), &[at(1)], &dots(at(3), at(0)), 200).unwrap().ripples(90).unwrap();
        prop_assert_eq!(one.len(), 2);
        for (a, b) in one.iter().zip(&two) {
            prop_assert!((a.timed - b.timed).abs() < 1e-7 && (a.span() - b.span()).abs() < 1e-7);
            prop_assert!((a.turn - 180.0).abs() < 1e-7);
        }
    }

    #[test]
    fn a_solved_tensioner_holds_its_links((wheels, pitch) in drive(), more in 0.05f64..1.5) {
        let plain = Path::new(&wheels, pitch, Travel::Clockwise).unwrap();
        let tensioner = Tensioner { wheel: 1, pushes: 90.0, stroke: 60.0 };
        if let Ok(fit) = solve_travel(&wheels, pitch, Travel::Clockwise, &tensioner, plain.links() + more) {
            prop_assert!((fit.path.links() - plain.links() - more).abs() < 1e-8);
            prop_assert!(fit.travel > 0.0, "more links want more push");
        }
    }

    #[test]
    fn nothing_panics(
        numbers in prop::collection::vec((any::<f64>(), any::<f64>(), any::<f64>(), any::<u32>(), any::<bool>(), any::<bool>()), 0..6),
        pitch in any::<f64>(), clock in any::<f64>(), links in any::<f64>(), tame in any::<bool>(),
    ) {
        let tamed = |number: f64| if tame { number.sin() * 400.0 } else { number };
        let wheels: Vec<_> = numbers.iter().map(|&(x, y, radius, teeth, toothed, inside)| Wheel {
            centre: Point::new(tamed(x), tamed(y)),
            round: if toothed { Round::Sprocket { teeth: if tame { teeth % 40 } else { teeth } } } else { Round::Shoe { radius: tamed(radius) } },
            side: if inside { Side::Inside } else { Side::Outside },
        }).collect();
        let pitch = if tame { 8.0 } else { pitch };
        if let Ok(path) = Path::new(&wheels, pitch, Travel::CounterClockwise) {
            prop_assert!(path.links().is_finite() && path.links() > 0.0);
            let _ = path.findings(&Limits::default());
            let _ = path.place_from(0, clock, links);
            let _ = path.links_between(0, clock, 1, links);
            let _ = path.tensions(0, &[1]);
            let mut dots = vec![None; wheels.len()];
            for (dot, wheel) in dots.iter_mut().zip(&wheels) {
                *dot = wheel.teeth().map(|_| Dot { clock: clock % 360.0, link: tamed(links) });
            }
            if let Ok(pins) = SeatedPins::new(&path, 0, &[], &dots, 100) {
                let _ = pins.ripples(10);
            }
        }
        let tensioner = Tensioner { wheel: 0, pushes: clock, stroke: tamed(links) };
        let _ = solve_travel(&wheels, pitch, Travel::Clockwise, &tensioner, 100.0);
    }
}
