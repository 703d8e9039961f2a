//! Numbers as a person reads them. The exact value is never lost: where the decimals are rounded,
//! the fraction stands beside them.

use crate::units::quantity::{CrankDegrees, Exact, LinkPosition, Teeth};

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

/// Rounded to `places` decimals, for what a person looks at and never calculates with.
pub(crate) fn rounded(value: Exact, places: u32) -> String {
    let scale = 10_i128.pow(places);
    // Half up: floor(x * scale + 1/2).
    let scaled = (2 * value.abs().numerator() * scale + value.denominator())
        .div_euclid(2 * value.denominator());
    let sign = if value.signum() < 0 && scaled != 0 {
        "-"
    } else {
        ""
    };
    let (whole, rest) = (scaled / scale, scaled % scale);
    let decimals = format!("{rest:0width$}", width = places as usize);
    let decimals = decimals.trim_end_matches('0');
    if decimals.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{decimals}")
    }
}

/// A direction as the hour hand of a clock shows it: `about 3 o'clock`.
pub(crate) fn clock_time(degrees: Exact) -> String {
    let twelfths = (degrees.numerator() + 15 * degrees.denominator())
        .div_euclid(30 * degrees.denominator())
        .rem_euclid(12);
    let hour = if twelfths == 0 { 12 } else { twelfths };
    format!("about {hour} o'clock")
}

fn counted(value: Exact, one: &str, many: &str) -> String {
    let size = value.abs();
    let unit = if size == Exact::ONE { one } else { many };
    format!("{} {unit}", exact(size))
}

/// `2 teeth`, without a sign.
pub(crate) fn teeth(value: Teeth) -> String {
    counted(value.get(), "tooth", "teeth")
}

/// `2 links`, without a sign.
pub(crate) fn links(value: Teeth) -> String {
    counted(value.get(), "link", "links")
}

/// `40 crank degrees`, without a sign.
pub(crate) fn crank_degrees(value: CrankDegrees) -> String {
    counted(value.get(), "crank degree", "crank degrees")
}

/// `link 44`, or `between links 44 and 45`.
pub(crate) fn link(position: LinkPosition, links: u16) -> String {
    let value = position.get();
    if value.denominator() == 2 {
        let first = value.floor();
        format!(
            "between links {first} and {}",
            (first + 1) % i128::from(links)
        )
    } else {
        format!("link {}", exact(value))
    }
}

/// `ahead` or `behind`.
pub(crate) fn side(value: Exact) -> &'static str {
    if value.signum() < 0 {
        "behind"
    } else {
        "ahead"
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
        assert_eq!(teeth(Teeth::whole(-1)), "1 tooth");
        let half = LinkPosition::new(Exact::parse("15/2").unwrap());
        assert_eq!(link(half, 8), "between links 7 and 0");
    }
}
