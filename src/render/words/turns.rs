//! Where marks are after so many crank turns.

use super::band::Band;
use super::numbers;
use crate::drive::model::Drive;
use crate::timing::roll::Roll;
use crate::units::quantity::{Exact, Turns};

pub(crate) fn turns(value: Turns) -> String {
    let unit = if value.get() == Exact::ONE {
        "crank turn"
    } else {
        "crank turns"
    };
    format!("{} {unit}", numbers::exact(value.get()))
}

pub(crate) fn has_links(drive: &Drive) -> bool {
    drive
        .engagements()
        .any(|(_, sprocket)| sprocket.mark().is_some())
}

/// When the dots are next in their places, and when the coloured links are next on them.
pub(crate) fn next_words(drive: &Drive, roll: &Roll) -> [String; 2] {
    let (mark, marks) = (Band::all(drive).mark, Band::all(drive).marks);
    let dots = match (roll.next_dots, roll.returns.dots) {
        (Some(next), _) if next == roll.turned => "Every dot is in its timed place now.".to_owned(),
        (Some(next), Some(every)) => format!(
            "Every dot is in its timed place next at {} (every {every}).",
            turns(next)
        ),
        _ => "The dots do not all come back within a thousand million million turns.".to_owned(),
    };
    let links = match (roll.next_links, roll.returns.links) {
        (Some(next), _) if next == roll.turned => {
            format!("Every {mark} is on its dot now.")
        }
        (Some(next), Some(every)) => format!(
            "Every {mark} is on its dot next at {} (every {every}).",
            turns(next)
        ),
        _ if has_links(drive) => {
            format!("The {marks} do not all come back within a thousand million million turns.")
        }
        _ => format!("This drive has no {marks}; the dots are all there is to look at."),
    };
    [dots, links]
}
