//! JSON, written straight into its place.

use crate::spec::conform::is_unprintable;
use crate::units::quantity::Exact;
use std::fmt::Write as _;

/// A text in quotation marks.
pub(super) fn text(out: &mut String, of: &str) {
    escaped(out, &serde_json::Value::from(of).to_string());
}

/// JSON with everything that a terminal would act on escaped. Such characters can only stand
/// within strings here.
pub(super) fn escaped(out: &mut String, json: &str) {
    if json.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
        out.push_str(json);
        return;
    }
    for c in json.chars() {
        if is_unprintable(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
}

/// An exact number in quotation marks, or `null`.
pub(super) fn number(out: &mut String, value: Option<Exact>) {
    let Some(value) = value else {
        out.push_str("null");
        return;
    };
    out.push('"');
    let parts = (
        u64::try_from(value.numerator().unsigned_abs()),
        u64::try_from(value.denominator()),
    );
    if let (Ok(above), Ok(below)) = parts {
        if value.signum() < 0 {
            out.push('-');
        }
        whole(out, above);
        if below != 1 {
            out.push('/');
            whole(out, below);
        }
    } else {
        // Writing to a String cannot fail.
        let _ = write!(out, "{value}");
    }
    out.push('"');
}

/// A whole number.
pub(super) fn whole(out: &mut String, mut n: u64) {
    /// Digits of the largest.
    const MOST: usize = 20;
    if let Ok(digit @ 0..10) = u8::try_from(n) {
        out.push(char::from(b'0' + digit));
        return;
    }
    let mut digits = [b'0'; MOST];
    let mut first = MOST;
    loop {
        first -= 1;
        // The remainder is one digit.
        digits[first] = b"0123456789"[(n % 10) as usize];
        n /= 10;
        if n == 0 {
            break;
        }
    }
    // Digits are text.
    out.push_str(std::str::from_utf8(&digits[first..]).unwrap_or_default());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_they_are_shown() {
        let parts = [0, 1, 9, 10, 18, 99, 100, 12_345, 999_999_999_999, i64::MAX];
        for above in parts {
            for below in parts.iter().copied().filter(|n| *n > 0) {
                for above in [above, -above] {
                    let value = Exact::fraction(above, below).unwrap();
                    let mut out = String::from("x");
                    number(&mut out, Some(value));
                    assert_eq!(out, format!("x\"{value}\""));
                }
            }
        }
        let mut out = String::new();
        whole(&mut out, u64::MAX);
        assert_eq!(out, u64::MAX.to_string());
        let beyond = Exact::integer(i128::from(i64::MAX) * -100).unwrap();
        out.clear();
        number(&mut out, Some(beyond));
        assert_eq!(out, format!("\"{beyond}\""));
    }
}
