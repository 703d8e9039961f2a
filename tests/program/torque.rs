//! Torques in three units, exactly, against the definitions of the units.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{engine, tautmark};
use proptest::prelude::*;
use tautmark::units::{Exact, Tightening, Torque, TorqueError, TorqueUnit};

fn torque(text: &str) -> Torque {
    text.parse().unwrap()
}

/// One inch is 25.4 mm, one pound 0.453 592 37 kg (international yard and pound agreement, 1959);
/// standard gravity is 9.806 65 m/s2 (3rd CGPM, 1901; ISO 80000-3).
fn pound_force_foot() -> Exact {
    let part = |text: &str| Exact::parse(text).unwrap();
    let foot = part("12").checked_mul(part("25.4")).unwrap();
    let foot = foot.checked_div(part("1000")).unwrap();
    // Nine decimals and more at once are no number of a spec, so the pound is put together.
    let pound = Exact::fraction(45_359_237, 100_000_000).unwrap();
    let gravity = part("9.80665");
    foot.checked_mul(pound)
        .unwrap()
        .checked_mul(gravity)
        .unwrap()
}

#[test]
fn the_units_are_what_their_definitions_make_them() {
    let foot = torque("1 lbf ft").in_unit(TorqueUnit::NewtonMetre).unwrap();
    assert_eq!(foot, pound_force_foot());
    // 1.3558179483314004 N m exactly, as tables print it (NIST SP 811, appendix B.8: 1.355 818).
    let printed = Exact::fraction(13_558_179_483_314_004, 10_000_000_000_000_000).unwrap();
    assert_eq!(foot, printed);
    let inch = torque("1 lbf in").in_unit(TorqueUnit::NewtonMetre).unwrap();
    assert_eq!(inch.checked_mul(Exact::whole(12)).unwrap(), foot);
    // NIST SP 811, appendix B.8: 1 lbf in = 1.129 848 E-01 N m.
    let rounded = inch.checked_mul(Exact::whole(10_000_000)).unwrap();
    assert_eq!(
        rounded
            .checked_add(Exact::fraction(1, 2).unwrap())
            .unwrap()
            .floor(),
        1_129_848
    );
    let twelve = torque("1 lbf ft").in_unit(TorqueUnit::PoundForceInch);
    assert_eq!(twelve, Ok(Exact::whole(12)));
}

#[test]
fn what_is_no_torque_is_refused() {
    for (text, error) in [
        ("", TorqueError::Form),
        ("30", TorqueError::NoUnit),
        ("30 ft lb", TorqueError::Form),
        ("30 n m", TorqueError::Form),
        ("30 N m N m", TorqueError::Form),
        ("0 N m", TorqueError::OutOfRange),
        ("-1 N m", TorqueError::OutOfRange),
        ("2000.001 N m", TorqueError::OutOfRange),
        ("1476 lbf ft", TorqueError::OutOfRange),
        ("1000001 lbf in", TorqueError::OutOfRange),
        ("720.001 deg", TorqueError::OutOfRange),
        ("1/3 N m", TorqueError::TooFine),
        ("1.0001 N m", TorqueError::TooFine),
    ] {
        assert_eq!(text.parse::<Tightening>(), Err(error), "{text}");
    }
    assert!(matches!(
        "x N m".parse::<Tightening>(),
        Err(TorqueError::Number(_))
    ));
    for text in [
        "2000 N m",
        "1475 lbf ft",
        "0.001 lbf in",
        "720 deg",
        "90.5 deg",
    ] {
        let read: Tightening = text.parse().unwrap();
        assert_eq!(read.to_string(), text);
    }
    assert_eq!("90 deg".parse::<Torque>(), Err(TorqueError::Form));
    assert_eq!(
        torque("30Nm ".replace("Nm", " Nm").as_str()).to_string(),
        "30 N m"
    );
}

proptest! {
    #![proptest_config(crate::support::cases(300))]

    /// There and back by any way is where it began: nothing is rounded.
    #[test]
    fn converting_loses_nothing(thousandths in 1_i64..=1_400_000, from in 0..3_usize, to in 0..3_usize) {
        let (from, to) = (TorqueUnit::ALL[from], TorqueUnit::ALL[to]);
        let text = format!("{}.{:03} {}", thousandths / 1000, thousandths % 1000, from.word());
        let torque: Torque = text.parse().unwrap();
        let there = torque.in_unit(to).unwrap();
        let one: Torque = format!("1 {}", to.word()).parse().unwrap();
        let back = there.checked_mul(one.in_unit(from).unwrap()).unwrap();
        prop_assert_eq!(back, torque.value());
        prop_assert_eq!(torque.to_string().parse::<Torque>(), Ok(torque));
    }
}

#[test]
fn the_sheet_groups_by_component_and_rounds_in_words_only() {
    let sheet = tautmark(&["job", "sheet", &engine("kestrel-four")]);
    assert_eq!((sheet.status, sheet.stderr.as_str()), (Some(0), ""));
    for line in [
        "timing cover\n  12 x cover-bolt: M8 x 1.25, 30 mm\n    1. 18 lbf ft (about 24.4 N m, 216 lbf in)\n",
        "  1 x phaser-bolt: M12 x 1.5, 58 mm; always new\n    1. 30 N m (about 22.1 lbf ft, 265.5 lbf in)\n    2. further by 90 degrees\n",
        "18 in all. Lengths and torques are those of the spec file. The maker's figures rule.\n",
    ] {
        assert!(sheet.stdout.contains(line), "{line}{}", sheet.stdout);
    }
    let json = tautmark(&["job", "sheet", &engine("kestrel-four"), "--format", "json"]).json();
    let cover = &json["fasteners"][3]["torque"][0];
    // 18 * 1.3558179483314004 = 24.4047230699652072.
    let exact = Exact::fraction(244_047_230_699_652_072, 10_000_000_000_000_000).unwrap();
    assert_eq!(cover["newton_metres"], exact.to_string());
    assert_eq!(cover["pound_force_inches"], "216");
    let none = tautmark(&["job", "sheet", &engine("wren-single")]);
    assert!(none.stdout.contains("The spec gives none"));
}
