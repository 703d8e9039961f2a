//! Exact quantities: one newtype for each, so that teeth never get added to degrees.
//!
//! This is the only file that touches `num_integer`, `num_rational` and `num_traits`; the width of the integers is decided here.
//! Every operation is checked. The bounds that [`crate::Drive`] is held to when it is read make an
//! overflow impossible (the reckoning stands in DEVELOPERS.md, "Why can nothing overflow?"); should
//! one happen all the same it comes out as [`OutOfRange`], never as a wrapped number.

use num_integer::Integer as _;
use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedMul};
use serde::{Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

/// An exact fraction, always in lowest terms with a positive denominator.
///
/// It has no unit; the quantities of this module ([`Teeth`], [`Turns`], ...) wrap it.
///
/// ```
/// use tautmark::units::Exact;
///
/// let half = Exact::parse("0.5")?;
/// assert_eq!(half, Exact::parse("3/6")?);
/// assert_eq!(half.to_string(), "1/2");
/// assert!(Exact::parse("1e400").is_err());
/// # Ok::<(), tautmark::units::NumberError>(())
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Exact(Ratio<i128>);

// `Ratio` compares by continued fractions, since it may hold fractions that are not in lowest terms.
// These always are, so two are equal only if both parts are.
impl PartialEq for Exact {
    fn eq(&self, other: &Self) -> bool {
        self.0.numer() == other.0.numer() && self.0.denom() == other.0.denom()
    }
}

impl Eq for Exact {}

impl Hash for Exact {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.numer().hash(state);
        self.0.denom().hash(state);
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.0.denom() == other.0.denom() {
            return self.0.numer().cmp(other.0.numer());
        }
        match (self.narrowed(), other.narrowed()) {
            // Products of 64 bits fit into 128.
            (Some((a, b)), Some((c, d))) => (a * d).cmp(&(c * b)),
            _ => self.0.cmp(&other.0),
        }
    }
}

/// Why a text is not a number that can be taken exactly.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum NumberError {
    /// It is not written as `3`, `-3.25` or `3/2`.
    Form,
    /// A comma that may part thousands or decimals.
    Comma,
    /// The fraction's lower number is zero.
    ZeroDenominator,
    /// More than [`Exact::MAX_DIGITS`] digits in one of its parts.
    TooLong,
}

impl fmt::Display for NumberError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Form => "expected a number such as 3, -3.25 or 3/2",
            Self::Comma => "a comma before three digits may mean two things: write 1.250 or 1250",
            Self::ZeroDenominator => "a fraction over zero is no number",
            Self::TooLong => "the number has too many digits (12 at most)",
        })
    }
}

impl std::error::Error for NumberError {}

/// An exact result left the range that can be held.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OutOfRange;

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the exact result is too large to hold")
    }
}

impl std::error::Error for OutOfRange {}

impl Exact {
    /// Most digits that one part of a written number may have.
    pub const MAX_DIGITS: usize = 12;
    /// Nothing.
    pub const ZERO: Self = Self(Ratio::new_raw(0, 1));
    /// One.
    pub const ONE: Self = Self(Ratio::new_raw(1, 1));

    /// A whole number.
    pub const fn whole(n: i64) -> Self {
        Self(Ratio::new_raw(n as i128, 1))
    }

    /// A whole number of any size that can be held.
    pub(crate) fn integer(n: i128) -> Result<Self, OutOfRange> {
        Self::held(Ratio::from_integer(n)).ok_or(OutOfRange)
    }

    /// `numerator / denominator` in lowest terms; `None` if the denominator is zero.
    pub fn fraction(numerator: i64, denominator: i64) -> Option<Self> {
        if denominator == 0 {
            return None;
        }
        // The least number of all has no opposite, and reducing may ask for it.
        Some(Self(if numerator > i64::MIN && denominator > i64::MIN {
            widened(Ratio::new(numerator, denominator))
        } else {
            Ratio::new(i128::from(numerator), i128::from(denominator))
        }))
    }

    /// Reads `3`, `+3`, `-3.25`, `3,25` or `3/2`. The text never passes through a floating-point number.
    ///
    /// # Errors
    /// [`NumberError`], when the text has another form (exponents, spaces, `inf`, `nan`), too many
    /// digits, or a zero below the line.
    pub fn parse(text: &str) -> Result<Self, NumberError> {
        let (negative, body) = match text.as_bytes().first() {
            Some(b'-') => (true, &text[1..]),
            Some(b'+') => (false, &text[1..]),
            _ => (false, text),
        };
        let has = |mark: u8| body.bytes().any(|byte| byte == mark);
        let (fraction, decimals) = (has(b'/'), has(b'.') || has(b','));
        let (numerator, denominator) = if let Some((above, below)) =
            fraction.then(|| body.split_once('/')).flatten()
        {
            (digits(above)?, digits(below)?)
        } else if let Some((whole, decimals)) = if decimals {
            split_decimals(body)?
        } else {
            None
        } {
            let scale = 10_i128.pow(u32::try_from(decimals.len().min(40)).unwrap_or(40).min(12));
            let (whole, decimals) = (digits(whole)?, digits(decimals)?);
            (whole * scale + decimals, scale)
        } else {
            (digits(body)?, 1)
        };
        if denominator == 0 {
            return Err(NumberError::ZeroDenominator);
        }
        let numerator = if negative { -numerator } else { numerator };
        let narrow = (i64::try_from(numerator), i64::try_from(denominator));
        Ok(match narrow {
            _ if denominator == 1 => Self(Ratio::new_raw(numerator, 1)),
            // Several times faster to bring to lowest terms.
            (Ok(above), Ok(below)) if fraction => Self(widened(Ratio::new(above, below))),
            (Ok(mut above), Ok(mut below)) => {
                // A power of ten has no other primes.
                for prime in [2, 5] {
                    while below % prime == 0 && above % prime == 0 {
                        (above, below) = (above / prime, below / prime);
                    }
                }
                Self(widened(Ratio::new_raw(above, below)))
            }
            _ => Self(Ratio::new(numerator, denominator)),
        })
    }

    /// The number above the line.
    pub fn numerator(self) -> i128 {
        *self.0.numer()
    }

    /// The number below the line: at least 1.
    pub fn denominator(self) -> i128 {
        *self.0.denom()
    }

    /// Is there nothing below the line?
    pub fn is_whole(self) -> bool {
        *self.0.denom() == 1
    }

    /// Is it exactly zero?
    pub fn is_zero(self) -> bool {
        *self.0.numer() == 0
    }

    /// -1, 0 or 1.
    pub fn signum(self) -> i32 {
        match self.0.numer() {
            0 => 0,
            n if *n < 0 => -1,
            _ => 1,
        }
    }

    /// The size without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        if self.signum() < 0 {
            self.negated()
        } else {
            self
        }
    }

    /// The same size the other way. (The numerator never reaches `i128::MIN`: every operation that
    /// could make it so is checked.)
    #[must_use]
    pub fn negated(self) -> Self {
        Self(Ratio::new_raw(-*self.0.numer(), *self.0.denom()))
    }

    /// The whole number at or below.
    pub fn floor(self) -> i128 {
        self.0.numer().div_euclid(*self.0.denom())
    }

    /// Sum.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn checked_add(self, other: Self) -> Result<Self, OutOfRange> {
        // Whole numbers are by far the most frequent; they need no common denominator.
        let sum = if self.is_whole() && other.is_whole() {
            let sum = i128::checked_add(self.numerator(), other.numerator());
            sum.map(Ratio::from_integer)
        } else {
            self.narrow(other, |a, b| a.checked_add(b))
                .or_else(|| self.0.checked_add(&other.0))
        };
        sum.and_then(Self::held).ok_or(OutOfRange)
    }

    /// Difference.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn checked_sub(self, other: Self) -> Result<Self, OutOfRange> {
        self.checked_add(other.negated())
    }

    /// Product.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn checked_mul(self, other: Self) -> Result<Self, OutOfRange> {
        let product = if self.is_whole() && other.is_whole() {
            let product = i128::checked_mul(self.numerator(), other.numerator());
            product.map(Ratio::from_integer)
        } else {
            self.narrow(other, |a, b| a.checked_mul(b))
                .or_else(|| self.0.checked_mul(&other.0))
        };
        product.and_then(Self::held).ok_or(OutOfRange)
    }

    /// Both parts, if they fit into 64 bits.
    fn narrowed(self) -> Option<(i128, i128)> {
        let narrow = |part: i128| i64::try_from(part).is_ok();
        let (above, below) = (self.numerator(), self.denominator());
        (narrow(above) && narrow(below)).then_some((above, below))
    }

    /// Is it no further from zero than half of `times` this?
    pub(crate) fn is_within_half(self, times: u16, of: Self) -> bool {
        match (self.narrowed(), of.narrowed()) {
            // Below 2^127 on one side, below 2^119 on the other.
            (Some((a, b)), Some((c @ 0..0x100_0000_0000, d))) => {
                2 * a.abs() * d <= i128::from(times) * c * b
            }
            _ => {
                let most = of.checked_mul(Self::whole(times.into()));
                let twice = self.abs().checked_add(self.abs());
                matches!((twice, most), (Ok(twice), Ok(most)) if twice <= most)
            }
        }
    }

    /// The operation on 64-bit parts, several times faster; `None` where one does not fit.
    fn narrow(
        self,
        other: Self,
        operation: impl FnOnce(&Ratio<i64>, &Ratio<i64>) -> Option<Ratio<i64>>,
    ) -> Option<Ratio<i128>> {
        // `i64::MIN` has no opposite, and reducing may ask for it.
        let part = |n: i128| i64::try_from(n).ok().filter(|n| *n != i64::MIN);
        let narrowed = |x: Self| Some(Ratio::new_raw(part(x.numerator())?, part(x.denominator())?));
        let result = operation(&narrowed(self)?, &narrowed(other)?)?;
        Some(widened(result))
    }

    /// Quotient.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held, or if `other` is zero.
    pub fn checked_div(self, other: Self) -> Result<Self, OutOfRange> {
        if other.is_zero() {
            return Err(OutOfRange);
        }
        if self.is_zero() {
            return Ok(Self::ZERO);
        }
        self.checked_mul(Self(other.0.recip()))
    }

    /// What is left above the greatest whole multiple of `modulus` at or below: in `0..modulus`.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held, or if `modulus` is not above zero.
    pub fn modulo(self, modulus: Self) -> Result<Self, OutOfRange> {
        if modulus.signum() <= 0 {
            return Err(OutOfRange);
        }
        if self.signum() >= 0 && self < modulus {
            return Ok(self);
        }
        if let (true, true, Ok(n), Ok(m)) = (
            self.is_whole(),
            modulus.is_whole(),
            i64::try_from(self.numerator()),
            i64::try_from(modulus.numerator()),
        ) {
            return Ok(Self::whole(n.rem_euclid(m)));
        }
        let times = self.checked_div(modulus)?.floor();
        self.checked_sub(Self(Ratio::from_integer(times)).checked_mul(modulus)?)
    }

    /// The representative of smallest size modulo `modulus`: in `-modulus/2 < x <= modulus/2`.
    /// Exactly half way is given as the positive half; ask [`Exact::is_half_of`].
    ///
    /// # Errors
    /// As [`Exact::modulo`].
    pub fn nearest_modulo(self, modulus: Self) -> Result<Self, OutOfRange> {
        let rest = self.modulo(modulus)?;
        if rest.checked_add(rest)? > modulus {
            rest.checked_sub(modulus)
        } else {
            Ok(rest)
        }
    }

    /// Is it exactly half of `modulus`, so that "ahead" and "behind" mean the same?
    pub fn is_half_of(self, modulus: Self) -> bool {
        self.checked_add(self).is_ok_and(|twice| twice == modulus)
    }

    /// For pictures, plots and rounded words only: the nearest floating-point number.
    #[allow(
        clippy::float_arithmetic,
        reason = "the one way out of the exact model"
    )]
    pub fn to_f64(self) -> f64 {
        // Both parts are far below 2^127; the quotient is rounded twice, which a picture never shows.
        *self.0.numer() as f64 / *self.0.denom() as f64
    }

    /// The smallest value that is refused: one part at or above it counts as out of range. It
    /// leaves room for one more addition of two such numbers over a common denominator.
    const LIMIT: i128 = 1 << 120;

    fn held(ratio: Ratio<i128>) -> Option<Self> {
        (ratio.numer().unsigned_abs() < Self::LIMIT.unsigned_abs() && *ratio.denom() < Self::LIMIT)
            .then_some(Self(ratio))
    }
}

/// What stands before and after a decimal point, or a decimal comma where it can be nothing else: `1,250` may be
/// twelve hundred and fifty.
fn split_decimals(text: &str) -> Result<Option<(&str, &str)>, NumberError> {
    let Some((whole, decimals)) = text.split_once(',') else {
        return Ok(text.split_once('.'));
    };
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if decimals.len() == 3 && digits(decimals) && !whole.starts_with('0') {
        return Err(NumberError::Comma);
    }
    Ok(Some((whole, decimals)))
}

fn widened(ratio: Ratio<i64>) -> Ratio<i128> {
    Ratio::new_raw(i128::from(*ratio.numer()), i128::from(*ratio.denom()))
}

/// `text` as a whole number without a sign; digits only.
fn digits(text: &str) -> Result<i128, NumberError> {
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(NumberError::Form);
    }
    if text.len() > Exact::MAX_DIGITS {
        return Err(NumberError::TooLong);
    }
    let number = text
        .bytes()
        .fold(0_i64, |sum, byte| 10 * sum + i64::from(byte - b'0'));
    Ok(i128::from(number))
}

/// Written as `p/q`, or `p` where nothing is below the line.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

/// The text `"p/q"`, or `"p"` where nothing is below the line.
impl Serialize for Exact {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl std::str::FromStr for Exact {
    type Err = NumberError;

    fn from_str(text: &str) -> Result<Self, NumberError> {
        Self::parse(text)
    }
}

/// The largest whole number that divides both, never below zero; of 0 and 0 it is 0.
pub(crate) fn greatest_common_divisor(a: i128, b: i128) -> i128 {
    a.gcd(&b)
}

/// The smallest whole number that both divide; `None` if it cannot be held or if both are zero.
pub(crate) fn least_common_multiple(a: u64, b: u64) -> Option<u64> {
    a.checked_div(a.gcd(&b))?.checked_mul(b)
}

/// Declares a quantity over [`Exact`].
macro_rules! quantity {
    ($(#[$about:meta])* $name:ident, $unit:literal) => {
        $(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(Exact);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(Exact::ZERO);

            #[doc = concat!("This many ", $unit, ".")]
            pub const fn new(value: Exact) -> Self {
                Self(value)
            }

            #[doc = concat!("A whole number of ", $unit, ".")]
            pub const fn whole(n: i64) -> Self {
                Self(Exact::whole(n))
            }

            #[doc = concat!("The bare number of ", $unit, ".")]
            pub const fn get(self) -> Exact {
                self.0
            }

            /// Is it exactly zero?
            pub fn is_zero(self) -> bool {
                self.0.is_zero()
            }

            /// The same size the other way.
            #[must_use]
            pub fn negated(self) -> Self {
                Self(self.0.negated())
            }

            /// The size without its sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// Sum.
            ///
            /// # Errors
            /// [`OutOfRange`] if it cannot be held.
            pub fn checked_add(self, other: Self) -> Result<Self, OutOfRange> {
                self.0.checked_add(other.0).map(Self)
            }

            /// Difference.
            ///
            /// # Errors
            /// [`OutOfRange`] if it cannot be held.
            pub fn checked_sub(self, other: Self) -> Result<Self, OutOfRange> {
                self.0.checked_sub(other.0).map(Self)
            }

            /// This much, `factor` times.
            ///
            /// # Errors
            /// [`OutOfRange`] if it cannot be held.
            pub fn scaled(self, factor: Exact) -> Result<Self, OutOfRange> {
                self.0.checked_mul(factor).map(Self)
            }
        }

        #[doc = concat!("The number of ", $unit, " as `p/q`, without the unit.")]
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                self.0.serialize(serializer)
            }
        }
    };
}

quantity! {
    /// A displacement along a chain, or around a sprocket, in teeth (one tooth carries one link).
    /// Positive: further in the direction in which the chain travels, which is ahead (advanced).
    ///
    /// ```
    /// use tautmark::units::Teeth;
    /// assert_eq!(Teeth::whole(2).checked_add(Teeth::whole(-2))?, Teeth::ZERO);
    /// # Ok::<(), tautmark::OutOfRange>(())
    /// ```
    ///
    /// Teeth and degrees are different things, and adding them is refused by the compiler:
    ///
    /// ```compile_fail
    /// use tautmark::{units::{CrankDegrees, Teeth}};
    /// let _ = Teeth::whole(2).checked_add(CrankDegrees::whole(40));
    /// ```
    Teeth, "teeth"
}

quantity! {
    /// A rotation in whole turns of the shaft in question. Positive: in the shaft's own normal
    /// direction, unless the signed ratio of a shaft says otherwise.
    Turns, "turns"
}

quantity! {
    /// An angle measured as crankshaft rotation, in degrees (720 to a four-stroke cycle).
    /// Positive: ahead (advanced).
    CrankDegrees, "crank degrees"
}

quantity! {
    /// A place on a chain: the number of a link, counted from 0 in the direction of travel. A half
    /// lies between two links. Positions are taken modulo the links of the chain; the difference
    /// of two positions is a number of [`Teeth`].
    LinkPosition, "links"
}

quantity! {
    /// A direction seen facing the timing end, in degrees clockwise from twelve o'clock.
    ClockAngle, "degrees"
}

quantity! {
    /// A place in one cylinder's four-stroke cycle, in crank degrees after its TDC of compression,
    /// modulo 720: power from 0, exhaust from 180, intake from 360, compression from 540.
    CyclePlace, "crank degrees after TDC of compression"
}

impl CyclePlace {
    /// The place `angle` later in the cycle.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn later(self, angle: CrankDegrees) -> Result<Self, OutOfRange> {
        self.0
            .checked_add(angle.0)?
            .modulo(Exact::whole(720))
            .map(Self)
    }

    /// From `other` to here the nearer way: in `-360 < x <= 360`.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn since(self, other: Self) -> Result<CrankDegrees, OutOfRange> {
        self.0
            .checked_sub(other.0)?
            .nearest_modulo(Exact::whole(720))
            .map(CrankDegrees)
    }

    /// From `other` on to here: in `0 <= x < 720`.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn on_from(self, other: Self) -> Result<CrankDegrees, OutOfRange> {
        self.0
            .checked_sub(other.0)?
            .modulo(Exact::whole(720))
            .map(CrankDegrees)
    }
}

impl Turns {
    /// As crankshaft rotation; for turns of the crankshaft only.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn to_crank_degrees(self) -> Result<CrankDegrees, OutOfRange> {
        self.0.checked_mul(Exact::whole(360)).map(CrankDegrees)
    }
}

impl LinkPosition {
    /// From `other` to here, in the direction of travel.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn since(self, other: Self) -> Result<Teeth, OutOfRange> {
        self.0.checked_sub(other.0).map(Teeth)
    }

    /// The place `teeth` further in the direction of travel on a chain of `links`, counted from 0.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn moved(self, teeth: Teeth, links: LinkCount) -> Result<Self, OutOfRange> {
        self.0
            .checked_add(teeth.0)?
            .modulo(links.to_exact())
            .map(Self)
    }
}

/// Declares a count with its bounds; they are stated here once and serve the check, the message,
/// the schema and the generators of the tests.
macro_rules! count {
    ($(#[$about:meta])* $name:ident, $min:literal..=$max:literal, $unit:literal) => {
        $(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(u16);

        impl $name {
            /// The least.
            pub const MIN: u16 = $min;
            /// The least of them.
            pub(crate) const LEAST: Self = Self(Self::MIN);
            /// The most.
            pub const MAX: u16 = $max;

            #[doc = concat!("This many ", $unit, "; `None` outside of the bounds.")]
            pub fn new(n: u16) -> Option<Self> {
                (Self::MIN..=Self::MAX).contains(&n).then_some(Self(n))
            }

            /// The number.
            pub const fn get(self) -> u16 {
                self.0
            }

            /// The number, to reckon with.
            pub const fn to_exact(self) -> Exact {
                Exact::whole(self.0 as i64)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)
            }
        }
    };
}

count! {
    /// The teeth of a sprocket.
    ///
    /// ```
    /// use tautmark::units::ToothCount;
    /// assert!(ToothCount::new(36).is_some());
    /// assert!(ToothCount::new(4).is_none());
    /// ```
    ToothCount, 5..=400, "teeth"
}

count! {
    /// The links of a chain, inner and outer ones alike.
    LinkCount, 8..=2000, "links"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_a_multiple_and_order_are_those_of_long_reckoning() {
        let parts = [0, 1, 2, 7, 359, 360, 999, 1 << 39, 1 << 41, i64::MAX];
        let mut all = Vec::new();
        for above in parts {
            for below in [1, 2, 7, 1000, i64::MAX] {
                for above in [above, -above] {
                    all.push(Exact::fraction(above, below).unwrap());
                }
            }
        }
        for a in &all {
            for b in &all {
                assert_eq!(a.cmp(b), a.0.cmp(&b.0), "{a} {b}");
                for times in [1, 38, 360, u16::MAX] {
                    let twice = a.abs().checked_mul(Exact::whole(2)).unwrap();
                    let most = b.checked_mul(Exact::whole(times.into())).unwrap();
                    assert_eq!(
                        a.is_within_half(times, *b),
                        twice <= most,
                        "{a} {b} {times}"
                    );
                }
            }
        }
    }

    #[test]
    fn numbers_are_read_exactly_or_refused() {
        for (text, numerator, denominator) in [
            ("0", 0, 1),
            ("+7", 7, 1),
            ("-3.25", -13, 4),
            ("0.1", 1, 10),
            ("1,5", 3, 2),
            ("-3,25", -13, 4),
            ("0,005", 1, 200),
            ("1,2500", 5, 4),
            ("3/6", 1, 2),
            ("999999999999", 999_999_999_999, 1),
            ("1/999999999999", 1, 999_999_999_999),
        ] {
            assert_eq!(
                Exact::parse(text),
                Ok(Exact::fraction(numerator, denominator).unwrap()),
                "{text}"
            );
        }
        for text in [
            "", "-", "+", ".", "1.", ".5", "1e3", "1e400", "nan", ".inf", "0x10", "1 000", "1_000",
            "--1", "+-1", "3/", "/3", "3/-2", "1/2/3", "1.5/2", "٣", ",5", "1,", "1,2,3", "1,5.2",
            "1.5,2", "1,5/2",
        ] {
            assert_eq!(Exact::parse(text), Err(NumberError::Form), "{text}");
        }
        // Three digits after it may be thousands.
        for text in ["1,250", "-9,525", "1,000"] {
            assert_eq!(Exact::parse(text), Err(NumberError::Comma), "{text}");
        }
        assert_eq!(Exact::parse("3/0"), Err(NumberError::ZeroDenominator));
        assert_eq!(
            Exact::parse("-9223372036854775808/-1"),
            Err(NumberError::TooLong)
        );
        assert_eq!(Exact::parse("1.0000000000000"), Err(NumberError::TooLong));
    }

    #[test]
    fn the_nearest_representative_is_the_smallest() {
        let modulus = Exact::whole(8);
        for (from, to) in [
            (0, 0),
            (3, 3),
            (4, 4),
            (5, -3),
            (-3, -3),
            (-4, 4),
            (-5, 3),
            (17, 1),
            (-9, -1),
        ] {
            assert_eq!(
                Exact::whole(from).nearest_modulo(modulus),
                Ok(Exact::whole(to)),
                "{from}"
            );
        }
        assert!(Exact::whole(4).is_half_of(modulus));
        assert_eq!(Exact::ONE.modulo(Exact::ZERO), Err(OutOfRange));
        assert_eq!(Exact::ONE.checked_div(Exact::ZERO), Err(OutOfRange));
    }

    #[test]
    fn common_divisors_and_multiples() {
        for (a, b, divisor) in [(12, 18, 6), (-12, 18, 6), (0, -5, 5), (7, 0, 7), (0, 0, 0)] {
            assert_eq!(greatest_common_divisor(a, b), divisor, "{a} {b}");
        }
        for (a, b, multiple) in [
            (4, 6, Some(12)),
            (1, 7, Some(7)),
            (0, 7, Some(0)),
            (0, 0, None),
            (u64::MAX, u64::MAX, Some(u64::MAX)),
            (u64::MAX, 2, None),
        ] {
            assert_eq!(least_common_multiple(a, b), multiple, "{a} {b}");
        }
    }

    #[test]
    fn what_cannot_be_held_is_an_error_and_never_wraps() {
        let mut x = Exact::parse("999999999999").unwrap();
        let mut small = Exact::parse("1/999999999999").unwrap();
        let mut refused = (false, false);
        for _ in 0..12 {
            match x.checked_mul(x) {
                Ok(next) => x = next,
                Err(OutOfRange) => refused.0 = true,
            }
            match small.checked_mul(small) {
                Ok(next) => small = next,
                Err(OutOfRange) => refused.1 = true,
            }
        }
        assert_eq!(refused, (true, true));
    }
}
