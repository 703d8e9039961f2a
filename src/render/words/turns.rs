//! Where marks are after so many crank turns.

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
            "Every coloured link is on its dot now.".to_owned()
        }
        (Some(next), Some(every)) => format!(
            "Every coloured link is on its dot next at {} (every {every}).",
            turns(next)
        ),
        _ if has_links(drive) => {
            "The coloured links do not all come back within a thousand million million turns."
                .to_owned()
        }
        _ => "This drive has no coloured links; the dots are all there is to look at.".to_owned(),
    };
    [dots, links]
}
