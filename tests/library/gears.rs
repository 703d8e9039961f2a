//! Pairs of gears: the exact model of a loop that lies on the driven gear.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::drive;
use tautmark::{
    Drive, ObservationError, Observations, Seen, Source, Verdict, check, link_named,
    plane::{WearError, can_wear, lint, wearing},
    spec::Rotation,
    timing::returns,
    units::{Exact, Teeth},
};

/// A crankshaft's gear and a balance shaft's; a chain beside them drives nothing that is timed.
fn pair(driver: u16, driven: u16, internal: bool) -> String {
    let outside = if internal { "" } else { ", outside: true" };
    format!(
        "tautmark: 1\nengine: Pair\ncrank_turns: clockwise\nshafts:\n  crank: {{ kind: crankshaft }}\n  \
         balance: {{ kind: balance }}\nchains:\n  gears:\n    kind: gears\n    links: {driven}\n    path:\n      \
         - {{ sprocket: crank, teeth: {driver}, link: 0 }}\n      \
         - {{ sprocket: balance, teeth: {driven}, link: 0{outside} }}\n"
    )
}

fn seen(drive: &Drive, crank: i64, balance: i64) -> Observations {
    let mut seen = Observations::at_timed_position();
    for (name, teeth) in [("crank", crank), ("balance", balance)] {
        let teeth = Seen::Teeth(Teeth::whole(teeth));
        seen.see_link(drive, link_named(drive, name).unwrap(), teeth)
            .unwrap();
    }
    seen
}

/// Two rings of teeth, turned against each other tooth by tooth until the marked ones meet as at first, the crankshaft's
/// dot on the line of centres each time it is asked.
fn turns_until_marks_meet(driver: usize, driven: usize) -> usize {
    let mut one: Vec<bool> = (0..driver).map(|tooth| tooth == 0).collect();
    let mut other: Vec<bool> = (0..driven).map(|tooth| tooth == 0).collect();
    let mut turns = 0;
    loop {
        one.rotate_right(1);
        other.rotate_right(1);
        if one[0] {
            turns += 1;
            if other[0] {
                return turns;
            }
        }
    }
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Common practice (the hunting-tooth rule of gear handbooks): the same two teeth meet again after as many turns of one gear as
/// the other has teeth, over the greatest common divisor of both; with none but 1 every tooth meets every other first.
#[test]
fn marks_meet_again_by_the_hunting_tooth_rule() {
    let mut hunting = 0;
    for driver in 8..=31_u16 {
        for driven in 8..=45_u16 {
            let drive = drive(&pair(driver, driven, false));
            let found = returns(&drive);
            let (a, b) = (usize::from(driver), usize::from(driven));
            let meet = turns_until_marks_meet(a, b);
            assert_eq!(found.links, Some(meet as u64), "{driver}:{driven}");
            assert_eq!(found.dots, Some(meet as u64), "{driver}:{driven}");
            assert_eq!(meet, b / gcd(a, b), "{driver}:{driven}");
            hunting += usize::from(gcd(a, b) == 1);
        }
    }
    assert!(hunting > 400, "{hunting}");
    // A worked pair of the trade: 11 teeth on 41 hunt, 41 turns; 10 on 40 meet every fourth turn.
    assert_eq!(turns_until_marks_meet(11, 41), 41);
    assert_eq!(turns_until_marks_meet(10, 40), 4);
}

/// Gear ratio, ISO 21771 (value from memory): speeds are inverse to teeth; external gears turn opposite ways, a pinion and
/// its ring the same way.
#[test]
fn speeds_are_inverse_to_teeth_and_only_a_ring_turns_the_same_way() {
    for (driver, driven) in [(20, 40), (24, 60), (31, 17), (18, 18)] {
        for internal in [false, true] {
            let drive = drive(&pair(driver, driven, internal));
            let balance = drive.shaft_named("balance").unwrap();
            let ratio = drive.shaft(balance).ratio();
            let by_teeth = Exact::fraction(i64::from(driver), i64::from(driven)).unwrap();
            assert_eq!(ratio.abs(), by_teeth);
            let same = drive.rotation(balance) == Rotation::Clockwise;
            assert_eq!(same, internal, "{driver}:{driven}");
        }
    }
}

/// Every way in which two small gears can mesh, and every way in which their marks may stand by the line of centres: what is
/// told of them is what two rings of teeth show.
#[test]
fn a_tooth_of_slip_is_a_tooth_whichever_mark_it_is_seen_at() {
    let mut looks = 0;
    for (driver, driven, internal) in [
        (8, 8, false),
        (8, 12, false),
        (9, 13, false),
        (8, 16, true),
        (12, 9, false),
    ] {
        let drive = drive(&pair(driver, driven, internal));
        let balance = drive.shaft_named("balance").unwrap();
        let (a, b) = (i64::from(driver), i64::from(driven));
        for slip in 0..b {
            // The gears are meshed with the driven one `slip` teeth ahead, then both are rolled on.
            for rolled in -(a / 2) + 1..a / 2 {
                let stands = (rolled + slip).rem_euclid(b);
                let balance_seen = if stands > b / 2 { stands - b } else { stands };
                // Half a turn can be told as ahead or behind, and proves nothing for either.
                if 2 * balance_seen.abs() == b || 2 * slip == b {
                    continue;
                }
                let found = check(&drive, &seen(&drive, rolled, balance_seen)).unwrap();
                let off = found.shafts().iter().find(|state| state.shaft == balance);
                let off = off.unwrap().off_teeth.unwrap();
                let expected = if slip > b / 2 { slip - b } else { slip };
                assert_eq!(off, Teeth::whole(expected), "{a}:{b} {slip} {rolled}");
                let verdict = if slip == 0 {
                    Verdict::InTime
                } else {
                    Verdict::OutOfTime
                };
                assert_eq!(found.verdict(), verdict, "{a}:{b} {slip} {rolled}");
                looks += 1;
            }
        }
    }
    assert!(looks > 300, "{looks}");
}

#[test]
fn one_mark_alone_proves_nothing_and_numbers_of_teeth_are_refused() {
    let drive = drive(&pair(20, 40, false));
    for name in ["crank", "balance"] {
        let mut seen = Observations::at_timed_position();
        seen.see_link(
            &drive,
            link_named(&drive, name).unwrap(),
            Seen::Teeth(Teeth::ZERO),
        )
        .unwrap();
        let found = check(&drive, &seen).unwrap();
        assert_eq!(found.verdict(), Verdict::NotProven, "{name}");
        assert!(!found.release_tensioner());
    }
    let mut seen = Observations::at_timed_position();
    let refused = seen.see_link(
        &drive,
        link_named(&drive, "balance").unwrap(),
        "link 3".parse().unwrap(),
    );
    assert!(matches!(refused, Err(ObservationError::GearTooth { .. })));
}

#[test]
fn gears_have_no_pins_to_wear() {
    let drive = drive(&pair(20, 40, false));
    let gears = drive.chain_named("gears").unwrap();
    assert!(matches!(
        can_wear(&drive, gears),
        Err(WearError::Gears { .. })
    ));
    assert!(matches!(wearing(&drive), Err(WearError::Gears { .. })));
}

/// Centre distance of spur gears, ISO 21771 (value from memory): half the module times the sum of the teeth, of a pinion
/// within a ring half the module times their difference.
#[test]
fn centres_are_apart_as_modules_and_teeth_say() {
    let codes = |text: &str| -> Vec<&'static str> {
        let source = Source::new("gears.yaml", text.to_owned().into()).unwrap();
        lint(&source).findings.iter().map(|f| f.code()).collect()
    };
    for (module, driver, driven, internal) in [
        (2.0, 20, 40, false),
        (2.5, 32, 40, false),
        (3.0, 17, 51, false),
        (1.25, 44, 44, false),
        (2.0, 20, 50, true),
        (2.0, 50, 20, true),
    ] {
        let teeth = if internal {
            (f64::from(driver) - f64::from(driven)).abs()
        } else {
            f64::from(driver) + f64::from(driven)
        };
        let apart = module * teeth / 2.0;
        let spec = |distance: f64| {
            pair(driver, driven, internal)
                .replace("{ kind: crankshaft }", "{ kind: crankshaft, at: [0, 0] }")
                .replace(
                    "{ kind: balance }",
                    &format!("{{ kind: balance, at: [0, {distance:.2}] }}"),
                )
                .replace(
                    "    links:",
                    &format!("    pitch: {:.6}\n    links:", module * std::f64::consts::PI),
                )
        };
        assert_eq!(codes(&spec(apart)), [""; 0], "{module} {driver}:{driven}");
        for off in [-module, -0.3, 0.3, module] {
            assert_eq!(codes(&spec(apart + off)), ["gear-centres"], "{off}");
        }
    }
    // The marked teeth are on the line of centres, or they do not meet: up from the crankshaft, down from the other.
    let spec = |crank: &str, balance: &str| {
        pair(20, 40, false)
            .replace("{ kind: crankshaft }", "{ kind: crankshaft, at: [0, 0] }")
            .replace("{ kind: balance }", "{ kind: balance, at: [0, 60] }")
            .replace("    links:", "    pitch: 6.283185\n    links:")
            .replace("teeth: 20,", &format!("teeth: 20, dot: {crank},"))
            .replace("teeth: 40,", &format!("teeth: 40, dot: {balance},"))
    };
    assert_eq!(codes(&spec("0", "180")), [""; 0]);
    assert_eq!(codes(&spec("4", "181")), [""; 0]);
    assert_eq!(codes(&spec("18", "180")), ["gear-dot"]);
    assert_eq!(codes(&spec("0", "171")), ["gear-dot"]);
    // The marks given to each other's gear.
    assert_eq!(codes(&spec("180", "0")), ["gear-dot", "gear-dot"]);
}

/// Gears that do not fit together are no drive, and each mistake is told where it is.
#[test]
fn gears_that_do_not_fit_make_no_drive() {
    let good = pair(20, 40, false);
    for (from, to, code) in [
        ("links: 40", "links: 20", "gear-teeth"),
        ("links: 40", "links: 41", "gear-teeth"),
        ("teeth: 40", "teeth: 39", "gear-teeth"),
        (", outside: true", "", ""),
        ("teeth: 20, link: 0", "teeth: 20, link: 0, outside: true", "gear-outside"),
        ("teeth: 20, link: 0", "teeth: 20, link: 7", "gear-mark"),
        ("teeth: 20, link: 0", "teeth: 20, links: [0, 1]", "gear-mark"),
        (
            "    path:",
            "    elongation_limit: 1/100\n    path:",
            "not-of-gears",
        ),
        ("sprocket: balance", "sprocket: crank", "two-dots-on-one-sprocket"),
    ] {
        assert!(good.contains(from));
        let source = Source::new("gears.yaml", good.replace(from, to).into()).unwrap();
        let reading = lint(&source);
        if code.is_empty() {
            // A ring gear then: it turns the same way.
            assert!(reading.drive.is_some());
            continue;
        }
        assert!(reading.drive.is_none(), "{to}");
        let codes: Vec<_> = reading.findings.iter().map(|f| f.code()).collect();
        assert!(codes.contains(&code), "{to}: {codes:?}");
    }
    let third = format!("{good}      - {{ sprocket: balance, teeth: 40 }}\n");
    let source = Source::new("gears.yaml", third.into()).unwrap();
    assert!(lint(&source).drive.is_none());
}
