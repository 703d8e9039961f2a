//! What the model reckons in: exact fractions, or whole numbers of steps where all that is reckoned with
//! is a whole number of them. Both say the same; steps are many times faster.

use crate::units::quantity::{Exact, OutOfRange};
use std::fmt;

/// A number of the model, with the few operations that it needs. Each says so where its result cannot be held.
pub(crate) trait Number: Copy + Ord + fmt::Debug {
    /// Nothing.
    const ZERO: Self;

    /// This many units.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held: for steps, also where it is no whole number of them.
    fn times(unit: Self, value: Exact) -> Result<Self, OutOfRange>;

    /// How many `unit`s that is.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    fn over(self, unit: Self) -> Result<Exact, OutOfRange>;

    fn plus(self, other: Self) -> Result<Self, OutOfRange>;

    fn minus(self, other: Self) -> Result<Self, OutOfRange>;

    fn negated(self) -> Self;

    fn is_zero(self) -> bool;

    /// What is left above the greatest whole multiple of `modulus` at or below: in `0..modulus`.
    fn modulo(self, modulus: Self) -> Result<Self, OutOfRange>;

    fn abs(self) -> Self {
        if self < Self::ZERO {
            self.negated()
        } else {
            self
        }
    }

    /// Is it a whole number of `unit`?
    fn is_multiple_of(self, unit: Self) -> Result<bool, OutOfRange> {
        Ok(self.is_zero() || self.modulo(unit)?.is_zero())
    }

    /// The representative of smallest size modulo `modulus`: in `-modulus/2 < x <= modulus/2`.
    fn nearest(self, modulus: Self) -> Result<Self, OutOfRange> {
        let rest = self.modulo(modulus)?;
        if rest.plus(rest)? > modulus {
            rest.minus(modulus)
        } else {
            Ok(rest)
        }
    }

    /// Is it exactly half of `modulus`, so that "ahead" and "behind" mean the same?
    fn is_half_of(self, modulus: Self) -> bool {
        self.plus(self).is_ok_and(|twice| twice == modulus)
    }

    /// The greatest number of which both are whole multiples.
    fn common(self, other: Self) -> Result<Self, OutOfRange> {
        let (mut a, mut b) = (self, other);
        while !b.is_zero() {
            (a, b) = (b, a.modulo(b)?);
        }
        Ok(a)
    }
}

impl Number for Exact {
    const ZERO: Self = Self::ZERO;

    fn times(unit: Self, value: Exact) -> Result<Self, OutOfRange> {
        unit.checked_mul(value)
    }

    fn over(self, unit: Self) -> Result<Exact, OutOfRange> {
        self.checked_div(unit)
    }

    fn plus(self, other: Self) -> Result<Self, OutOfRange> {
        self.checked_add(other)
    }

    fn minus(self, other: Self) -> Result<Self, OutOfRange> {
        self.checked_sub(other)
    }

    fn negated(self) -> Self {
        Self::negated(self)
    }

    fn is_zero(self) -> bool {
        Self::is_zero(self)
    }

    fn modulo(self, modulus: Self) -> Result<Self, OutOfRange> {
        Self::modulo(self, modulus)
    }
}

/// Whole steps of some lattice.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Steps(i64);

impl Steps {
    pub(crate) const fn new(steps: i64) -> Self {
        Self(steps)
    }
}

impl Number for Steps {
    const ZERO: Self = Self(0);

    fn times(unit: Self, value: Exact) -> Result<Self, OutOfRange> {
        let part = |n: i128| i64::try_from(n).map_err(|_| OutOfRange);
        let (above, below) = (part(value.numerator())?, part(value.denominator())?);
        let unit = match below {
            1 => unit.0,
            // In lowest terms, so nothing of what is above the line helps.
            _ if unit.0 % below == 0 => unit.0 / below,
            _ => return Err(OutOfRange),
        };
        above.checked_mul(unit).map(Self).ok_or(OutOfRange)
    }

    fn over(self, unit: Self) -> Result<Exact, OutOfRange> {
        match (self.0.checked_rem(unit.0), self.0.checked_div(unit.0)) {
            (Some(0), Some(whole)) => Ok(Exact::whole(whole)),
            _ => Exact::fraction(self.0, unit.0).ok_or(OutOfRange),
        }
    }

    fn plus(self, other: Self) -> Result<Self, OutOfRange> {
        self.0.checked_add(other.0).map(Self).ok_or(OutOfRange)
    }

    fn minus(self, other: Self) -> Result<Self, OutOfRange> {
        self.0.checked_sub(other.0).map(Self).ok_or(OutOfRange)
    }

    /// (The smallest number never comes up: a lattice leaves room for a thousand times of all that can be seen.)
    fn negated(self) -> Self {
        Self(self.0.wrapping_neg())
    }

    fn is_zero(self) -> bool {
        self.0 == 0
    }

    fn modulo(self, modulus: Self) -> Result<Self, OutOfRange> {
        let (n, m) = (self.0, modulus.0);
        if m <= 0 {
            return Err(OutOfRange);
        }
        // Most are less than one modulus away, where no division is needed.
        Ok(Self(match n {
            _ if (0..m).contains(&n) => n,
            _ if (-m..0).contains(&n) => n + m,
            _ if (m..m.saturating_mul(2)).contains(&n) => n - m,
            _ => n.rem_euclid(m),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fraction(above: i64, below: i64) -> Exact {
        Exact::fraction(above, below).unwrap()
    }

    #[test]
    fn steps_say_what_fractions_say() {
        // Steps of a twelfth.
        let steps = |value: Exact| Steps::times(Steps::new(12), value);
        for n in -60..=60 {
            let value = fraction(n, 12);
            let here = steps(value).unwrap();
            assert_eq!(here, Steps::new(n));
            assert_eq!(here.over(Steps::new(12)), Ok(value));
            assert_eq!(steps(Number::abs(value)), Ok(here.abs()));
            for m in 1..=30 {
                let (by, modulus) = (Steps::new(m), fraction(m, 12));
                assert_eq!(steps(value.modulo(modulus).unwrap()), here.modulo(by));
                assert_eq!(
                    steps(Number::nearest(value, modulus).unwrap()),
                    here.nearest(by)
                );
                assert_eq!(
                    value.nearest_modulo(modulus),
                    Number::nearest(value, modulus)
                );
                assert_eq!(value.is_half_of(modulus), here.is_half_of(by));
                let whole = value.checked_div(modulus).unwrap().is_whole();
                assert_eq!(here.is_multiple_of(by), Ok(whole));
                assert_eq!(value.is_multiple_of(modulus), Ok(whole));
                assert_eq!(
                    steps(Number::abs(value).common(modulus).unwrap()),
                    here.abs().common(by)
                );
            }
        }
    }

    #[test]
    fn what_is_no_whole_number_of_steps_or_too_many_is_refused() {
        let unit = Steps::new(12);
        for (value, taken) in [
            (fraction(1, 12), true),
            (fraction(5, 6), true),
            (fraction(1, 5), false),
            (fraction(1, 24), false),
            (Exact::whole(i64::MAX / 12), true),
            (Exact::whole(i64::MAX / 12 + 1), false),
        ] {
            assert_eq!(Steps::times(unit, value).is_ok(), taken, "{value}");
        }
        assert_eq!(Steps::new(i64::MAX).plus(Steps::new(1)), Err(OutOfRange));
        assert_eq!(Steps::new(i64::MIN).minus(Steps::new(1)), Err(OutOfRange));
        assert_eq!(Steps::new(1).modulo(Steps::ZERO), Err(OutOfRange));
        assert_eq!(
            Steps::new(i64::MAX).modulo(Steps::new(i64::MAX)),
            Ok(Steps::ZERO)
        );
    }
}
