//! A second representation of exact numbers: plain `i128` arithmetic, reduced after every step.
//! The numbers of the tests are small; should one not fit, the build with overflow checks stops.

use std::ops::{Add, Div, Mul, Neg, Sub};
use tautmark::units::Exact;

/// In lowest terms, the lower part above zero.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Fraction {
    above: i128,
    below: i128,
}

impl Fraction {
    pub(crate) const ZERO: Self = Self::whole(0);

    pub(crate) const fn whole(n: i128) -> Self {
        Self { above: n, below: 1 }
    }

    pub(crate) fn new(above: i128, below: i128) -> Self {
        assert_ne!(below, 0);
        let (mut a, mut b) = (above.abs(), below.abs());
        while b != 0 {
            (a, b) = (b, a % b);
        }
        let sign = if below < 0 { -1 } else { 1 };
        Self {
            above: sign * above / a,
            below: sign * below / a,
        }
    }

    pub(crate) fn above(self) -> i128 {
        self.above
    }

    pub(crate) fn below(self) -> i128 {
        self.below
    }

    pub(crate) fn is_whole(self) -> bool {
        self.below == 1
    }

    pub(crate) fn is_zero(self) -> bool {
        self.above == 0
    }

    pub(crate) fn abs(self) -> Self {
        Self::new(self.above.abs(), self.below)
    }

    pub(crate) fn at_least_one(self) -> bool {
        self.above >= self.below
    }

    /// In `-modulus/2 < x <= modulus/2`.
    pub(crate) fn nearest(self, modulus: Self) -> Self {
        let whole = self / modulus;
        let rest = self - Self::whole(whole.above.div_euclid(whole.below)) * modulus;
        if (rest + rest - modulus).above > 0 {
            rest - modulus
        } else {
            rest
        }
    }

    pub(crate) fn exact(self) -> Exact {
        let part = |n: i128| i64::try_from(n).unwrap();
        Exact::fraction(part(self.above), part(self.below)).unwrap()
    }

    pub(crate) fn of(exact: Exact) -> Self {
        Self::new(exact.numerator(), exact.denominator())
    }
}

impl Add for Fraction {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(
            self.above * other.below + other.above * self.below,
            self.below * other.below,
        )
    }
}

impl Sub for Fraction {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Fraction {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self::new(self.above * other.above, self.below * other.below)
    }
}

impl Div for Fraction {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        Self::new(self.above * other.below, self.below * other.above)
    }
}

impl Neg for Fraction {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.above, self.below)
    }
}
