//! Directions in the words of whoever looks.

use crate::job::View;
use crate::spec::choice::{Rotation, Viewpoint};

/// `clockwise as seen facing the timing end`, `to the left on top, seen from above`.
pub(crate) fn turning_words(view: View, turning: Rotation) -> String {
    format!("{} {}", way_word(view, turning), from_words(view))
}

/// `clockwise`; from above, where the sprocket's upper side goes.
pub(crate) fn way_word(view: View, turning: Rotation) -> &'static str {
    match (view.from(), view.seen(turning)) {
        (Viewpoint::Above, Rotation::Clockwise) => "to the right on top",
        (Viewpoint::Above, Rotation::CounterClockwise) => "to the left on top",
        (_, way) => way.word(),
    }
}

/// `as seen facing the timing end`.
pub(crate) fn from_words(view: View) -> &'static str {
    match view.from() {
        Viewpoint::Facing => "as seen facing the timing end",
        Viewpoint::Mirror => "as seen in the mirror",
        Viewpoint::Photo => "as seen on the photo",
        Viewpoint::Above => "as seen from above",
    }
}

/// The short form, at the end of a line.
pub(crate) fn from_here(view: View) -> &'static str {
    match view.from() {
        Viewpoint::Facing => "facing the timing end",
        Viewpoint::Mirror => "in the mirror",
        Viewpoint::Photo => "on the photo",
        Viewpoint::Above => "from above",
    }
}

/// How a picture that was made facing the timing end is drawn for that view, where it is not simply that.
pub(crate) fn drawn_words(view: View) -> Option<&'static str> {
    match (view.from(), view.is_mirrored()) {
        (Viewpoint::Facing, _) | (Viewpoint::Photo, false) => None,
        (Viewpoint::Mirror, _) => Some("Drawn as the mirror shows it."),
        (Viewpoint::Photo, true) => Some("Drawn mirrored, like the photo."),
        (Viewpoint::Above, _) => Some("Left and right are drawn as you see them from above."),
    }
}
