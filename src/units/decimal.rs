//! Numbers in the decimals that a person reads. An exact value is never lost: where its decimals would
//! not end, the fraction stands there.

use crate::units::quantity::Exact;

/// `20`, `17.5`, or `17 1/7` where decimals would not end.
pub(crate) fn exact(value: Exact) -> String {
    let (sign, value) = (if value.signum() < 0 { "-" } else { "" }, value.abs());
    let (numerator, denominator) = (value.numerator(), value.denominator());
    if denominator == 1 {
        return format!("{sign}{numerator}");
    }
    // Decimals that end within three places: the denominator divides 1000.
    if 1000 % denominator == 0 {
        let thousandths = numerator * (1000 / denominator);
        let (whole, rest) = (thousandths / 1000, thousandths % 1000);
        let decimals = format!("{rest:03}");
        return format!("{sign}{whole}.{}", decimals.trim_end_matches('0'));
    }
    let (whole, rest) = (numerator / denominator, numerator % denominator);
    if whole == 0 {
        format!("{sign}{rest}/{denominator}")
    } else {
        format!("{sign}{whole} {rest}/{denominator}")
    }
}

/// A measured or computed length, angle or count to so many places, without zeros at the end: `341.2`.
pub(crate) fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = match text.split_once('.') {
        Some(_) => text.trim_end_matches('0').trim_end_matches('.'),
        None => &text,
    };
    // Rounding must not leave a minus before nothing.
    if text == "-0" { "0" } else { text }.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_end_where_they_say_nothing() {
        for (value, places, words) in [
            (341.18, 1, "341.2"),
            (46.0, 2, "46"),
            (-0.001, 1, "0"),
            (-2.5, 1, "-2.5"),
            (100.0, 0, "100"),
        ] {
            assert_eq!(decimal(value, places), words);
        }
    }

    #[test]
    fn numbers_read_well_and_stay_exact() {
        for (text, words) in [
            ("20", "20"),
            ("-35/2", "-17.5"),
            ("120/7", "17 1/7"),
            ("1/3", "1/3"),
            ("-1/3", "-1/3"),
            ("0.001", "0.001"),
            ("1/16", "1/16"),
        ] {
            assert_eq!(exact(Exact::parse(text).unwrap()), words);
        }
    }
}
