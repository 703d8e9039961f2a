//! Laws that hold for any slip, any lobe and any crank.
#![allow(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

use proptest::prelude::*;
use tautmark::{
    Drive, Source,
    units::{CrankDegrees, Exact, LiftCurve, Teeth},
    valves::{PistonAndValve, SliderCrank, Slip, Slips, Timing, slip, sprocket_named, timing},
};

fn engine(name: &str) -> Drive {
    let path = format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let source = Source::new(name, std::fs::read(path).unwrap()).unwrap();
    Drive::read(&source).drive.unwrap()
}

fn after(drive: &Drive, slips: &[(&str, i64)]) -> Timing {
    let mut all = Slips::none();
    for (name, teeth) in slips {
        let at = sprocket_named(drive, name).unwrap();
        all.slip(drive, at, Slip::Teeth(Teeth::whole(*teeth)))
            .unwrap();
    }
    slip(drive, &all).unwrap().after
}

/// Whether it is open in each of the 720 degrees.
fn open_degrees(opens: i64, closes: i64) -> Vec<bool> {
    let mut open = vec![false; 720];
    for degree in opens..closes {
        open[usize::try_from(degree.rem_euclid(720)).unwrap()] = true;
    }
    open
}

fn open_any(all: &[&Vec<bool>], degree: usize) -> bool {
    all.iter().any(|open| open[degree])
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    /// Slipped by n and then by -n, every figure is what it was.
    #[test]
    fn there_and_back(n in -60_i64..=60, of in 0_usize..2) {
        let name = ["kestrel-four", "wren-single"][of];
        let shaft = ["intake", "cam"][of];
        let drive = engine(name);
        let at = sprocket_named(&drive, shaft).unwrap();
        let there = Slips::none().with(at, Teeth::whole(n));
        let back = there.with(at, there.of(at).checked_add(Teeth::whole(-n)).unwrap());
        prop_assert_eq!(slip(&drive, &back).unwrap().after, timing(&drive, &[]).unwrap());
        // A whole turn of the camshaft is no slip either: two crank turns, z teeth.
        let z = i64::from(drive.sprocket(at).teeth().get());
        let around = there.with(at, Teeth::whole(n + z));
        prop_assert_eq!(slip(&drive, &around).unwrap().after, slip(&drive, &there).unwrap().after);
    }

    /// Both camshafts slipped alike keep overlap and separation, and one slip of the crankshaft's
    /// sprocket the other way does the same to both.
    #[test]
    fn both_alike(n in -17_i64..=17) {
        let drive = engine("kestrel-four");
        let before = timing(&drive, &[]).unwrap();
        let both = after(&drive, &[("intake", n), ("exhaust", n)]);
        for (was, is) in before.pairs.iter().zip(&both.pairs) {
            prop_assert_eq!(was.overlap, is.overlap);
            prop_assert_eq!(was.separation, is.separation);
        }
        for (was, is) in before.valves.iter().zip(&both.valves) {
            prop_assert_eq!(was.duration, is.duration);
        }
        prop_assert_eq!(&both, &after(&drive, &[("crank", -n)]));
    }

    /// One shaft slipped by n teeth of z moves its own events by 720 n / z and nothing else.
    #[test]
    fn one_alone(n in -40_i64..=40) {
        let drive = engine("kestrel-four");
        let before = timing(&drive, &[]).unwrap();
        let is = after(&drive, &[("intake", n)]);
        let mut shift = (20 * n).rem_euclid(720);
        if shift > 360 {
            shift -= 720;
        }
        prop_assert_eq!(is.valves[0].shift, CrankDegrees::whole(shift));
        prop_assert_eq!(is.valves[0].crank_turn_out(), shift == 360);
        prop_assert_eq!(&is.valves[1], &before.valves[1]);
        let less = before.pairs[0].separation.checked_sub(is.pairs[0].separation).unwrap();
        let off = less.checked_sub(Exact::whole(10 * n)).unwrap();
        prop_assert!(off.modulo(Exact::whole(360)).unwrap().is_zero(), "{less}");
        let separation = is.pairs[0].separation;
        prop_assert!(separation > Exact::whole(-180) && separation <= Exact::whole(180));
    }

    /// Overlap, and what is open at TDC of compression, counted degree by degree.
    #[test]
    fn both_open_is_counted_over_the_720_degrees(n in -40_i64..=40, m in -40_i64..=40) {
        let drive = engine("kestrel-four");
        let is = after(&drive, &[("intake", n), ("exhaust", m)]);
        // As the spec states them, after TDC of compression: all whole degrees, so that no degree is
        // cut by an event.
        let intake: Vec<bool> = open_degrees(378 - 20 * n, 612 - 20 * n);
        let exhaust: Vec<bool> = open_degrees(142 - 20 * m, 358 - 20 * m);
        let both = (0..720).filter(|d| intake[*d] && exhaust[*d]).count();
        let both = i64::try_from(both).unwrap();
        let expected = if both > 0 {
            both
        } else {
            -(378 - 20 * n - (358 - 20 * m)).rem_euclid(720)
        };
        prop_assert_eq!(is.pairs[0].overlap, CrankDegrees::whole(expected));
        for (valve, open) in is.valves.iter().zip([&intake, &exhaust]) {
            prop_assert_eq!(valve.open_at_compression(), open[0] || open[719]);
        }
        // A figure stands only where all are shut from the last closing in the intake or the
        // compression stroke up to TDC, the intake having been open in the intake stroke.
        let drawn = (360..540).any(|d| intake[d]);
        let last = (360..720).rev().find(|d| intake[*d] || exhaust[*d]);
        let shut = !open_any(&[&intake, &exhaust], 0) && !open_any(&[&intake, &exhaust], 719);
        let works = drawn && shut && last.is_some();
        let out = is.valves[0].crank_turn_out() || is.valves[1].crank_turn_out();
        prop_assert_eq!(is.valves[0].trapped_compression.is_some(), works && !out);
        prop_assert_eq!(is.valves[0].no_compression.is_none(), works && !out);
        if let (Some(ratio), Some(last)) = (is.valves[0].trapped_compression, last) {
            let all = drive.cylinders().unwrap();
            let crank = SliderCrank::new(all.stroke.to_f64(), all.rod.to_f64()).unwrap();
            let right = crank.trapped_compression(all.compression.to_f64(), last as f64 + 1.0);
            prop_assert!((ratio - right).abs() < 1e-9, "{ratio} {right}");
        }
    }

    /// The slope against a numeric derivative that knows nothing of the formula, and the travel
    /// against its ends and its symmetry.
    #[test]
    fn slider_crank_and_its_slope(stroke in 20.0..200.0_f64, share in 0.55..4.0_f64, at in 0.0..720.0_f64) {
        let crank = SliderCrank::new(stroke, share * stroke).unwrap();
        let h = 1e-3;
        // Central difference, corrected by one of twice the step (Richardson).
        let difference = |h: f64| (crank.travel(at + h) - crank.travel(at - h)) / (2.0 * h);
        let numeric = (4.0 * difference(h) - difference(2.0 * h)) / 3.0;
        prop_assert!((numeric - crank.slope(at)).abs() < 1e-8 * stroke);
        prop_assert!((crank.travel(at) - crank.travel(720.0 - at)).abs() < 1e-10 * stroke);
        prop_assert!((0.0..=stroke * (1.0 + 1e-14)).contains(&crank.travel(at)));
    }

    /// A lobe after the motion law passes through both stated events and is symmetrical.
    #[test]
    fn stated_events_come_out(duration in 60.0..360.0_f64, share in 0.0..0.5_f64, most in 2.0..20.0_f64) {
        let lobe = LiftCurve::polynomial_345(duration, share * most, most).unwrap();
        let (open, close) = lobe.open_above(share * most);
        // Near the seat the lift is flat, so a crossing is only as sharp as the lift is steep.
        if share > 1e-3 {
            prop_assert!((close - open - duration).abs() < 1e-7, "{open} {close}");
        }
        prop_assert!((lobe.at(duration / 2.0) - share * most).abs() < 1e-12 * most);
        prop_assert!((lobe.at(-duration / 2.0) - share * most).abs() < 1e-12 * most);
        prop_assert!(lobe.end() - lobe.start() <= 720.0 + 1e-9);
    }
}

/// A lobe through random points, among them steps of a thousandth of a degree.
fn lobe() -> impl Strategy<Value = Vec<[f64; 2]>> {
    let step = prop_oneof![Just(0.001), 0.001..0.1_f64, 1.0..20.0_f64];
    let flank = prop::collection::vec((step, 0.0..2.0_f64), 1..8);
    (flank.clone(), flank, -50.0..50.0_f64).prop_map(|(up, down, start)| {
        let mut points = vec![[start, 0.0]];
        let (mut x, mut y) = (start, 0.0);
        for (dx, dy) in up {
            x += dx;
            y += dy;
            points.push([x, y]);
        }
        let top = y + 0.5;
        points.push([x + 1.0, top]);
        x += 1.0;
        let total: f64 = down.iter().map(|(_, dy)| dy).sum::<f64>() + 0.1;
        y = top;
        for (dx, dy) in &down {
            x += dx;
            y -= dy / total * top;
            points.push([x, y]);
        }
        points.push([x + 0.5, 0.0]);
        points
    })
}

proptest! {
    #![proptest_config(crate::support::cases(48))]

    /// Never larger than the least of dense samples, and no further below a value that is reached
    /// than it says.
    #[test]
    fn the_search_is_bounded_on_both_sides(
        points in lobe(),
        zero in 0.0..720.0_f64,
        shift in -360.0..360.0_f64,
        inclination in 0.0..40.0_f64,
        closed in 0.0..8.0_f64,
    ) {
        let crank = SliderCrank::new(86.0, 143.5).unwrap();
        let both = PistonAndValve::new(crank, LiftCurve::table(&points).unwrap(), zero, inclination, closed);
        let least = both.least(shift);
        let sampled = (0..72_000)
            .map(|i| both.clearance(f64::from(i) * 0.01, shift))
            .fold(f64::INFINITY, f64::min);
        prop_assert!(least.mm <= sampled, "{} > {sampled}", least.mm);
        // Nor larger than anything beside the place that it found.
        let beside = (-2000..=2000)
            .map(|i| both.clearance(least.at + f64::from(i) * 1e-5, shift))
            .fold(f64::INFINITY, f64::min);
        prop_assert!(least.mm <= beside, "{} > {beside}", least.mm);
        let reached = both.clearance(least.at, shift);
        // At the steepest a lobe of this test rises 2 mm in a thousandth of a degree; the place is
        // given in one rounded number.
        prop_assert!(least.mm >= reached - least.accuracy_mm - 1e-8, "{} < {reached}", least.mm);
        prop_assert!(least.accuracy_mm <= tautmark::valves::CLEARANCE_ACCURACY_MM, "{}", least.accuracy_mm);
    }
}

/// A contact a hundredth of a degree wide, between two samples that are 0.01 degrees apart: dense
/// sampling steps over it, the search does not.
#[test]
fn a_narrow_contact_is_not_stepped_over() {
    let crank = SliderCrank::new(86.0, 143.5).unwrap();
    for at in [0.004, 123.454, 360.006, 599.996] {
        let spike = [[0.0, 0.0], [0.001, 90.0], [0.002, 0.0]];
        let both = PistonAndValve::new(crank, LiftCurve::table(&spike).unwrap(), at, 10.0, 1.0);
        let sampled = (0..72_000)
            .map(|i| both.clearance(f64::from(i) * 0.01, 0.0))
            .fold(f64::INFINITY, f64::min);
        let least = both.least(0.0);
        assert!(
            sampled > 0.0,
            "the samples were meant to miss it: {sampled}"
        );
        assert!(least.meet(), "{at}: {least:?}");
        let expected = 1.0 + 10.0_f64.to_radians().cos() * crank.travel(at + 0.001) - 90.0;
        assert!((least.mm - expected).abs() < 2e-3, "{least:?} {expected}");
        assert!((least.at - at - 0.001).abs() < 1e-4);
    }
}

/// A closed valve over a piston comes nearest at TDC, by what the spec says.
#[test]
fn closed_valves_are_as_far_as_recess_relief_and_gasket_say() {
    let drive = engine("kestrel-four");
    let both = PistonAndValve::of(&drive, 0).unwrap();
    // recess 1.2 + relief 3.6 + (gasket 0.7 - deck -0.2) cos 16
    let expected = 4.8 + 0.9 * 16.0_f64.to_radians().cos();
    assert!((both.clearance(0.0, 0.0) - expected).abs() < 1e-12);
    assert!(
        (both.clearance(180.0, 0.0) - expected - 86.0 * 16.0_f64.to_radians().cos()).abs() < 1e-9
    );
}

/// In time a valve is lifted by what the spec says just where it says, by law and by table alike.
#[test]
fn lift_at_the_stated_events_is_the_stated_lift() {
    for name in ["kestrel-four", "buzzard-v8", "wren-single"] {
        let drive = engine(name);
        for (i, valves) in drive.valves().iter().enumerate() {
            let both = PistonAndValve::of(&drive, i).unwrap();
            let stated = valves.at_lift.to_f64();
            let lift = both.lift(valves.opens.get().to_f64(), 0.0);
            assert!(
                (lift - stated).abs() < 1e-9,
                "{name} {}: {lift}",
                valves.name
            );
            // A table's closing is its own; the format takes two crank degrees of difference.
            let within = match valves.lift {
                Some(tautmark::drive::Lift::Table(_)) => 0.2,
                _ => 1e-9,
            };
            let lift = both.lift(valves.closes.get().to_f64(), 0.0);
            assert!(
                (lift - stated).abs() < within,
                "{name} {}: {lift}",
                valves.name
            );
        }
    }
}
