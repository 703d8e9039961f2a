//! Points in time, handed in from outside: the library asks no clock.

use std::fmt;

/// A second, in universal time (UTC).
///
/// ```
/// use tautmark::units::Timestamp;
///
/// let at: Timestamp = "2026-11-25T09:30:00Z".parse()?;
/// assert_eq!(at.to_string(), "2026-11-25T09:30:00Z");
/// assert!("2026-02-29T09:30:00Z".parse::<Timestamp>().is_err()); // no leap year
/// # Ok::<(), tautmark::units::TimestampError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Timestamp(i64);

/// A text that is no point in time, or a time that is out of range.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TimestampError;

impl fmt::Display for TimestampError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("expected a time in UTC such as 2026-11-25T09:30:00Z, from 1970 to 9999")
    }
}

impl std::error::Error for TimestampError {}

impl Timestamp {
    /// The last second of the year 9999.
    const MAX: i64 = 253_402_300_799;

    /// So many seconds after the beginning of 1970.
    ///
    /// # Errors
    /// [`TimestampError`] before 1970 or after 9999.
    pub fn from_unix_seconds(seconds: i64) -> Result<Self, TimestampError> {
        if (0..=Self::MAX).contains(&seconds) {
            Ok(Self(seconds))
        } else {
            Err(TimestampError)
        }
    }

    /// So many minutes later, the last second there is at most.
    #[must_use]
    pub fn plus_minutes(self, minutes: u32) -> Self {
        Self((self.0 + i64::from(minutes) * 60).min(Self::MAX))
    }

    /// Whole minutes from `earlier` to this, rounded up; 0 if it is later.
    pub fn minutes_since(self, earlier: Self) -> i64 {
        ((self.0 - earlier.0).max(0) + 59) / 60
    }

    /// For a person: `2026-11-25 09:30 UTC`.
    pub fn in_words(self) -> String {
        let [year, month, day, hour, minute, _] = self.parts();
        format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02} UTC")
    }

    /// Year, month, day, hour, minute, second.
    fn parts(self) -> [i64; 6] {
        let (days, second) = (self.0 / 86_400, self.0 % 86_400);
        let mut year = 1970 + days / 366;
        while day_number(year + 1, 1, 1) <= days {
            year += 1;
        }
        let mut month = 1;
        while month < 12 && day_number(year, month + 1, 1) <= days {
            month += 1;
        }
        let day = days - day_number(year, month, 1) + 1;
        [
            year,
            month,
            day,
            second / 3600,
            second / 60 % 60,
            second % 60,
        ]
    }
}

fn leap(year: i64) -> bool {
    (year % 4 == 0 && year % 100 != 0) || year % 400 == 0
}

fn days_in(year: i64, month: i64) -> i64 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

/// Days since the beginning of 1970.
fn day_number(year: i64, month: i64, day: i64) -> i64 {
    let before = year - 1;
    // Leap days before 1970: 477.
    let leaps = before / 4 - before / 100 + before / 400 - 477;
    let months: i64 = (1..month).map(|month| days_in(year, month)).sum();
    (year - 1970) * 365 + leaps + months + day - 1
}

impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [year, month, day, hour, minute, second] = self.parts();
        write!(
            f,
            "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}Z"
        )
    }
}

impl std::str::FromStr for Timestamp {
    type Err = TimestampError;

    fn from_str(text: &str) -> Result<Self, TimestampError> {
        let form = b"0000-00-00T00:00:00Z";
        let fits = text.len() == form.len()
            && text.bytes().zip(form).all(|(byte, wanted)| match wanted {
                b'0' => byte.is_ascii_digit(),
                other => byte == *other,
            });
        if !fits {
            return Err(TimestampError);
        }
        let number = |range: std::ops::Range<usize>| -> Result<i64, TimestampError> {
            text[range].parse().map_err(|_| TimestampError)
        };
        let (year, month, day) = (number(0..4)?, number(5..7)?, number(8..10)?);
        let (hour, minute, second) = (number(11..13)?, number(14..16)?, number(17..19)?);
        let exists = year >= 1970
            && (1..=12).contains(&month)
            && (1..=days_in(year, month)).contains(&day)
            && hour < 24
            && minute < 60
            && second < 60;
        if !exists {
            return Err(TimestampError);
        }
        let days = day_number(year, month, day);
        Self::from_unix_seconds(days * 86_400 + hour * 3600 + minute * 60 + second)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// POSIX "Seconds Since the Epoch"; the pairs are those that `date -u -d @N` of GNU coreutils
    /// gives.
    #[test]
    fn seconds_and_dates_agree() {
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (951_868_800, "2000-03-01T00:00:00Z"),
            (1_767_225_599, "2025-12-31T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
            (253_402_300_799, "9999-12-31T23:59:59Z"),
        ] {
            let at = Timestamp::from_unix_seconds(seconds).unwrap();
            assert_eq!(at.to_string(), text);
            assert_eq!(text.parse(), Ok(at));
        }
        for wrong in [
            "2100-02-29T00:00:00Z",
            "2026-11-25 09:30:00Z",
            "2026-11-25T24:00:00Z",
            "2026-11-25T09:60:00Z",
            "1969-12-31T23:59:59Z",
            "2026-00-25T09:30:00Z",
            "2026-11-25T09:30:00",
            "+026-11-25T09:30:00Z",
        ] {
            assert_eq!(wrong.parse::<Timestamp>(), Err(TimestampError), "{wrong}");
        }
        assert_eq!(Timestamp::from_unix_seconds(-1), Err(TimestampError));
    }

    #[test]
    fn every_day_of_four_centuries_comes_back() {
        let mut last = String::new();
        for day in 0..146_097 {
            let at = Timestamp::from_unix_seconds(day * 86_400).unwrap();
            let text = at.to_string();
            assert!(text > last);
            assert_eq!(text.parse(), Ok(at));
            last = text;
        }
    }
}
