//! `Exact` against a second representation in plain integers.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use proptest::prelude::*;
use tautmark::{OutOfRange, units::Exact};

/// Small enough for the second representation, which does not guard itself.
fn pair() -> impl Strategy<Value = (Exact, Fraction)> {
    let small = -200_i64..=200;
    let large = -1_000_000_000_i64..=1_000_000_000;
    let below = prop_oneof![1_i64..=16, 1_i64..=1_000_000, -1_000_i64..=-1];
    (prop_oneof![small, large], below).prop_map(|(above, below)| {
        let exact = Exact::fraction(above, below).unwrap();
        (exact, Fraction::new(above.into(), below.into()))
    })
}

/// Above zero, to divide by.
fn modulus() -> impl Strategy<Value = (Exact, Fraction)> {
    (1_i64..=1_000_000, 1_i64..=1_000_000).prop_map(|(above, below)| {
        let exact = Exact::fraction(above, below).unwrap();
        (exact, Fraction::new(above.into(), below.into()))
    })
}

fn same(exact: Result<Exact, OutOfRange>, fraction: Fraction) {
    let exact = exact.unwrap();
    assert_eq!(exact.numerator(), fraction.above());
    assert_eq!(exact.denominator(), fraction.below());
}

proptest! {
    #![proptest_config(crate::support::cases(2000))]

    #[test]
    fn the_four_operations_agree((a, x) in pair(), (b, y) in pair()) {
        same(a.checked_add(b), x + y);
        same(a.checked_sub(b), x - y);
        same(a.checked_mul(b), x * y);
        if b.is_zero() {
            prop_assert_eq!(a.checked_div(b), Err(OutOfRange));
        } else {
            same(a.checked_div(b), x / y);
        }
    }

    #[test]
    fn order_and_sign_agree((a, x) in pair(), (b, y) in pair()) {
        let order = (x - y).above().cmp(&0);
        prop_assert_eq!(a.cmp(&b), order);
        prop_assert_eq!(i128::from(a.signum()), x.above().signum());
        same(Ok(a.abs()), x.abs());
        same(Ok(a.negated()), -x);
        prop_assert_eq!(a.floor(), x.above().div_euclid(x.below()));
    }

    #[test]
    fn the_rest_of_a_division_agrees((a, x) in pair(), (m, y) in modulus()) {
        same(a.nearest_modulo(m), x.nearest(y));
        let rest = a.modulo(m).unwrap();
        prop_assert!(Exact::ZERO <= rest && rest < m);
        prop_assert!(((x - Fraction::of(rest)) / y).is_whole());
    }

    #[test]
    fn half_a_modulus_either_way_is_told((m, _) in modulus(), turns in -9_i64..=9) {
        let half = m.checked_mul(Exact::fraction(2 * turns + 1, 2).unwrap()).unwrap();
        let near = half.nearest_modulo(m).unwrap();
        prop_assert!(near.is_half_of(m) && near.signum() > 0);
    }

    #[test]
    fn what_is_written_is_read_back((a, _) in pair()) {
        prop_assert_eq!(a.to_string().parse(), Ok(a));
    }

    #[test]
    fn decimals_are_read_as_they_stand(whole in -999_999_i64..=999_999, thousandths in 0_i64..1000) {
        let text = format!("{whole}.{thousandths:03}");
        let below_zero = text.starts_with('-');
        let size = whole.abs() * 1000 + thousandths;
        let above = if below_zero { -size } else { size };
        prop_assert_eq!(text.parse::<Exact>(), Ok(Exact::fraction(above, 1000).unwrap()));
    }
}
