//! Numbers as a person reads them. The exact value is never lost: where the decimals are rounded,
//! the fraction stands beside them.

use super::band::Band;
use crate::drive::model::Chain;
pub(crate) use crate::units::decimal::{decimal, exact};
use crate::units::quantity::{CrankDegrees, Exact, LinkPosition, Teeth};

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

/// `2 links` of a chain, without a sign.
pub(crate) fn links(value: Teeth, chain: &Chain) -> String {
    let band = Band::of(chain);
    counted(value.get(), band.link, band.links)
}

/// `40 crank degrees`, without a sign.
pub(crate) fn crank_degrees(value: CrankDegrees) -> String {
    counted(value.get(), "crank degree", "crank degrees")
}

/// `link 44`, or `between links 44 and 45`.
pub(crate) fn link(position: LinkPosition, chain: &Chain) -> String {
    numbered(position, chain.links().get(), Band::of(chain))
}

fn numbered(position: LinkPosition, links: u16, band: &Band) -> String {
    let value = position.get();
    if value.denominator() == 2 {
        let first = value.floor();
        format!(
            "between {} {first} and {}",
            band.links,
            (first + 1) % i128::from(links)
        )
    } else {
        format!("{} {}", band.link, exact(value))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_places_read_well() {
        assert_eq!(teeth(Teeth::whole(-1)), "1 tooth");
        let half = LinkPosition::new(Exact::parse("15/2").unwrap());
        assert_eq!(
            numbered(half, 8, &super::super::band::CHAIN),
            "between links 7 and 0"
        );
    }
}
