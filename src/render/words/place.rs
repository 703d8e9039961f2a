//! Where a dot belongs and where it points, for somebody who stands before it.

use super::band::Band;
use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::{Drive, Mark};
use crate::units::quantity::{ClockAngle, Exact, OutOfRange};

/// Where a dot belongs among the coloured links: `on the first yellow link after the blue one, the
/// way the chain travels`. Link numbers stand on no chain, so the links are told apart by their order.
pub(crate) fn link_words(drive: &Drive, at: Engagement, mark: &Mark) -> String {
    let whole = mark.link.get().is_whole();
    let one = Band::of(drive.chain(at.chain)).coloured(mark.colour.as_deref());
    let plain = if whole {
        format!("on the {one}")
    } else {
        format!("between the two {one}s")
    };
    which_link(drive, at, mark, &one).unwrap_or(plain)
}

/// The same where a colour alone does not tell it; `None` where it does.
fn which_link(drive: &Drive, at: Engagement, mark: &Mark, coloured: &str) -> Option<String> {
    const ORDINALS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];
    let whole = mark.link.get().is_whole();
    let chain = drive.chain(at.chain);
    let name = Band::of(chain).name;
    let around = chain.links().to_exact();
    // Every coloured place of the chain once, the driver's first.
    let mut marks: Vec<&Mark> = Vec::new();
    let mut sprockets: Vec<_> = chain.sprockets().iter().collect();
    sprockets.rotate_left(usize::from(chain.driver()));
    for other in sprockets.iter().filter_map(|sprocket| sprocket.mark()) {
        if marks.iter().all(|known| known.link != other.link) {
            marks.push(other);
        }
    }
    // A colour that is not given may be any.
    let told = marks.iter().all(|other| other.colour.is_some());
    let alike = |a: &Mark, b: &Mark| !told || a.colour == b.colour;
    let same: Vec<&Mark> = marks.iter().copied().filter(|m| alike(m, mark)).collect();
    if same.len() < 2 {
        return None;
    }
    // Links are numbered the way the chain travels: so far a link is after another.
    let after =
        |link: &Mark, from: &Mark| link.link.since(from.link).ok()?.get().modulo(around).ok();
    let single = |m: &&&Mark| marks.iter().filter(|other| alike(m, other)).count() == 1;
    let mixed = same.iter().any(|m| m.link.get().is_whole() != whole);
    match marks.iter().find(single) {
        Some(from) if !mixed => {
            let own = after(mark, from)?;
            let before = same
                .iter()
                .filter(|m| after(m, from).is_some_and(|other| other < own))
                .count();
            let nth = ORDINALS
                .get(before)
                .map_or_else(|| format!("{}th", before + 1), |word| (*word).to_owned());
            let landmark = from.colour.as_deref().unwrap_or("other");
            let one = if from.link.get().is_whole() {
                "one"
            } else {
                "two"
            };
            Some(if whole {
                format!(
                    "on the {nth} {coloured} after the {landmark} {one}, the way the {name} travels"
                )
            } else {
                format!(
                    "between two {coloured}s, the {nth} such pair after the {landmark} {one}, the way the {name} travels"
                )
            })
        }
        // Only how far it is to the next one tells them apart.
        _ => {
            let gap = marks
                .iter()
                .filter_map(|other| after(other, mark).filter(|gap| !gap.is_zero()))
                .min()?;
            let gap = numbers::links(crate::units::quantity::Teeth::new(gap), chain);
            let what = if whole {
                format!("on the {coloured}")
            } else {
                format!("between the two {coloured}s")
            };
            Some(format!(
                "{what} from which it is {gap} to the next coloured place, the way the {name} travels"
            ))
        }
    }
}

/// `to 6 o'clock`; `just left of 12 o'clock` where it is a little beside an hour; `between 11 and
/// 12 o'clock`.
pub(crate) fn clock_words(dot: ClockAngle) -> String {
    let angle = || {
        let degrees = dot.get().modulo(Exact::whole(360))?;
        let hours = degrees.checked_div(Exact::whole(30))?;
        let half = Exact::ONE.checked_div(Exact::whole(2))?;
        let nearest = hours.checked_add(half)?.floor();
        let off = degrees.checked_sub(Exact::whole(30).checked_mul(Exact::whole(
            i64::try_from(nearest).map_err(|_| OutOfRange)?,
        ))?)?;
        Ok::<_, OutOfRange>((nearest, off))
    };
    let Ok((nearest, off)) = angle() else {
        return "where the spec says".to_owned();
    };
    let name = |hour: i128| match hour.rem_euclid(12) {
        0 => 12,
        hour => hour,
    };
    let hour = name(nearest);
    if off.is_zero() {
        return format!("to {hour} o'clock");
    }
    let past = off.signum() > 0;
    if off.abs() > Exact::whole(10) {
        let first = if past { nearest } else { nearest - 1 };
        return format!("between {} and {} o'clock", name(first), name(first + 1));
    }
    let side = match (hour, past) {
        (12, false) | (6, true) => "left of",
        (12, true) | (6, false) => "right of",
        (3, false) | (9, true) => "above",
        (3, true) | (9, false) => "below",
        (_, false) => "before",
        (_, true) => "past",
    };
    format!("just {side} {hour} o'clock")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dot_points_to_the_nearest_hour() {
        for (degrees, words) in [
            (0, "to 12 o'clock"),
            (180, "to 6 o'clock"),
            (350, "just left of 12 o'clock"),
            (10, "just right of 12 o'clock"),
            (344, "between 11 and 12 o'clock"),
            (345, "between 11 and 12 o'clock"),
            (14, "between 12 and 1 o'clock"),
            (190, "just left of 6 o'clock"),
            (80, "just above 3 o'clock"),
            (280, "just above 9 o'clock"),
            (325, "just before 11 o'clock"),
            (335, "just past 11 o'clock"),
            (-30, "to 11 o'clock"),
        ] {
            assert_eq!(clock_words(ClockAngle::whole(degrees)), words);
        }
    }
}
