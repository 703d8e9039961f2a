//! Outside checks: numbers that were not made with this program, the source beside each.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::{drive, engines};
use tautmark::{
    Drive, Observations, Seen, Verdict, check,
    drive::Engagement,
    spec::ShaftKind,
    timing::link_due,
    units::{Exact, Teeth, Turns},
};

/// One camshaft straight off the crankshaft.
fn direct(crank: u32, links: u32) -> Drive {
    let cam = 2 * crank;
    drive(&format!(
        "
tautmark: 1
engine: Two sprockets
crank_turns: clockwise
shafts:
  crank: {{ kind: crankshaft }}
  cam: {{ kind: camshaft }}
chains:
  main:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 0 }}
      - {{ sprocket: cam, teeth: {cam}, link: {} }}
",
        links / 2
    ))
}

/// Links enough for any sprocket of the tables.
const LONG: u32 = 200;

fn engagement_of(drive: &Drive, shaft: &str) -> Engagement {
    let id = drive.shaft_named(shaft).unwrap();
    drive.shaft(id).engagements()[0]
}

/// Crank degrees by which `check` finds the camshaft off when its dot is a tooth from its link.
fn one_tooth(drive: &Drive, teeth: i64) -> Exact {
    let mut seen = Observations::at_timed_position();
    for (shaft, teeth) in [("crank", 0), ("cam", teeth)] {
        let what = Seen::Teeth(Teeth::whole(teeth));
        seen.see_link(drive, engagement_of(drive, shaft), what)
            .unwrap();
    }
    check(drive, &seen).unwrap().shafts()[1]
        .off
        .unwrap()
        .angle
        .get()
}

fn degrees(above: i64, below: i64) -> Exact {
    Exact::fraction(above, below).unwrap()
}

/// Source: common practice (a camshaft turns at half crank speed, so that a tooth of Z is 720/Z
/// crank degrees); 36, 40, 42 and 48 teeth as given in the trade, the fractions reckoned by hand.
#[test]
fn one_tooth_of_z_is_720_over_z_crank_degrees() {
    for (cam, above, below) in [
        (34, 360, 17),
        (36, 20, 1),
        (40, 18, 1),
        (42, 120, 7),
        (44, 180, 11),
        (46, 360, 23),
        (48, 15, 1),
        (50, 72, 5),
    ] {
        let drive = direct(cam / 2, LONG);
        let (_, chain) = drive.chains().next().unwrap();
        assert_eq!(chain.tooth().get(), degrees(above, below), "{cam}");
        assert_eq!(one_tooth(&drive, 1), degrees(above, below), "{cam}");
        assert_eq!(one_tooth(&drive, -1), degrees(-above, below), "{cam}");
    }
}

/// The same as decimals. Source: 720/Z reckoned to eight decimals by a pocket calculator.
#[test]
fn one_tooth_in_decimals() {
    for (cam, hundred_millionths) in [
        (34, 2_117_647_059),
        (42, 1_714_285_714),
        (44, 1_636_363_636),
        (46, 1_565_217_391),
        (50, 1_440_000_000),
    ] {
        let tooth = Fraction::of(one_tooth(&direct(cam / 2, LONG), 1));
        let off = tooth * Fraction::whole(100_000_000) - Fraction::whole(hundred_millionths);
        assert!((off + off).abs().above() <= off.below(), "{cam}");
    }
}

/// Source: common practice (24 teeth on the crankshaft, 48 on the camshaft: one tooth is 15 crank
/// degrees, 7.5 of the camshaft).
#[test]
fn one_tooth_of_48_is_15_crank_degrees_and_half_that_of_the_camshaft() {
    let drive = direct(24, LONG);
    let crank_degrees = one_tooth(&drive, 1);
    assert_eq!(crank_degrees, Exact::whole(15));
    let cam = drive.shaft(drive.shaft_named("cam").unwrap());
    assert_eq!(crank_degrees.checked_mul(cam.speed()), Ok(degrees(15, 2)));
}

/// Source: common practice (both camshafts one tooth of 36 late are 20 crank degrees late).
#[test]
fn one_tooth_late_of_36_is_20_crank_degrees_late() {
    assert_eq!(one_tooth(&direct(18, LONG), -1), Exact::whole(-20));
}

/// Source: common practice (four-stroke: the camshaft turns once while the crankshaft turns twice;
/// a cycle is 720 crank degrees).
#[test]
fn every_camshaft_turns_at_half_crank_speed() {
    for (name, text) in engines() {
        let drive = drive(&text);
        let cams = || {
            drive
                .shafts()
                .filter(|(_, shaft)| shaft.kind() == ShaftKind::Camshaft)
        };
        assert!(cams().count() > 0, "{name}");
        for (_, cam) in cams() {
            assert_eq!(cam.speed(), degrees(1, 2), "{name}");
            let cycle = cam.period().checked_mul(Exact::whole(360));
            assert_eq!(cycle, Ok(Exact::whole(720)), "{name}");
        }
    }
}

/// The first whole turn of the crankshaft after which every link due on a dot is the coloured one,
/// found by going from turn to turn.
fn turns_until_links_return(drive: &Drive) -> i64 {
    (1..=2000)
        .find(|turns| {
            drive.engagements().all(|(at, sprocket)| {
                let due = link_due(drive, at, Turns::whole(*turns)).unwrap();
                due == Some(sprocket.mark().unwrap().link)
            })
        })
        .unwrap()
}

/// The first whole turn after which every dot is where it belongs, whatever link is on it.
fn turns_until_dots_return(drive: &Drive) -> i64 {
    (1..=2000)
        .find(|turns| {
            drive
                .engagements()
                .all(|(at, _)| link_due(drive, at, Turns::whole(*turns)).unwrap().is_some())
        })
        .unwrap()
}

/// Source: a simulator of another make that steps one crank tooth at a time, run apart from this
/// program, with the camshaft at twice the teeth.
#[test]
fn links_return_after_as_many_turns_as_were_counted() {
    for (links, crank, turns) in [
        (128, 18, 64),
        (130, 21, 130),
        (116, 18, 58),
        (94, 17, 94),
        (150, 23, 150),
    ] {
        let drive = direct(crank, links);
        assert_eq!(turns_until_links_return(&drive), turns, "{links} {crank}");
        assert_eq!(turns_until_dots_return(&drive), 2, "{links} {crank}");
    }
}

/// Source: common practice (after two turns by hand the coloured links are gone from the dots, and
/// the dots are back at their marks).
#[test]
fn after_two_turns_the_dots_are_back_and_the_links_are_not() {
    for (links, crank) in [(128, 18), (130, 21), (116, 18), (94, 17), (150, 23)] {
        let drive = direct(crank, links);
        let mut by_dots = Observations::after(Turns::whole(2)).unwrap();
        let mut by_links = by_dots.clone();
        for (at, _) in drive.engagements() {
            by_dots
                .see_dot(&drive, at, Seen::Teeth(Teeth::ZERO))
                .unwrap();
            by_links
                .see_link(&drive, at, Seen::Teeth(Teeth::ZERO))
                .unwrap();
        }
        let verdict = |seen: &Observations| check(&drive, seen).unwrap().verdict();
        assert_eq!(verdict(&by_dots), Verdict::InTime, "{links} {crank}");
        assert_ne!(verdict(&by_links), Verdict::InTime, "{links} {crank}");
    }
}

/// Sprocket turns until the same tooth meets the same link, going from turn to turn.
fn hunting_period(links: i64, teeth: i64) -> i64 {
    let crank = u32::try_from(teeth).unwrap();
    let drive = direct(crank, u32::try_from(links).unwrap());
    let at = engagement_of(&drive, "crank");
    let mark = drive.sprocket(at).mark().unwrap().link;
    (1..=2000)
        .find(|turns| link_due(&drive, at, Turns::whole(*turns)) == Ok(Some(mark)))
        .unwrap()
}

/// Source: published examples of the hunting tooth (sprocket turns, and the chain's in that time):
/// Foiles, Gear Frequencies Using the Euclidean Algorithm; recalled, not read again.
#[test]
fn a_tooth_meets_its_link_again_after_the_published_number_of_turns() {
    for (links, teeth, sprocket_turns, chain_turns) in [
        (96, 15, 32, 5),
        (96, 14, 48, 7),
        (126, 14, 9, 1),
        (116, 21, 116, 21),
    ] {
        assert_eq!(
            hunting_period(links, teeth),
            sprocket_turns,
            "{links} {teeth}"
        );
        assert_eq!(
            sprocket_turns * teeth,
            chain_turns * links,
            "{links} {teeth}"
        );
    }
}
