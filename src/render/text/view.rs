//! From where the marks are seen: the question, and the one that settles it.

use crate::drive::model::Drive;
use crate::job::{Interview, View};
use crate::render::words::style::{bold, printable_but_styled};
use crate::spec::choice::{Rotation, Viewpoint};

/// From where the marks are seen; before it was asked, as the spec says it.
pub(crate) fn view_of(interview: &Interview<'_>) -> View {
    interview.view().unwrap_or_else(View::facing)
}

/// From where are the marks seen? `colour` adds terminal colours, which never carry the meaning alone.
pub fn view_text(drive: &Drive, colour: bool) -> String {
    printable_but_styled(&format!(
        "{}\n\n{}\n1 = facing it   2 = in a mirror   3 = on a photo   4 = from above, engine in the car\n",
        bold(drive.engine(), colour),
        bold("How do you see the timing end?", colour)
    ))
}

/// Which way must the crankshaft turn there? It is not said, so that somebody has to look.
pub fn view_turning_text(from: Viewpoint, colour: bool) -> String {
    let (where_from, question, [one, two]) = match from {
        Viewpoint::Facing => (
            "You stand before the timing end and look straight at it.",
            "Which way must the crankshaft turn, as you see it?",
            ["clockwise", "counter-clockwise"],
        ),
        Viewpoint::Mirror => (
            "Hold the mirror as you will hold it for the marks.",
            "Which way must the crankshaft turn, as the mirror shows it?",
            ["clockwise", "counter-clockwise"],
        ),
        Viewpoint::Photo => (
            "Hold the photo upright. Some cameras mirror what they take: read some writing on the engine.",
            "Which way must the crankshaft turn on this photo?",
            ["clockwise", "counter-clockwise"],
        ),
        Viewpoint::Above => (
            "You look down on the timing end. Stay on this side of it for all marks.",
            "Which way must the upper side of the crankshaft's sprocket go, as you see it?",
            ["to the right", "to the left"],
        ),
    };
    printable_but_styled(&format!(
        "{where_from}\n\n{}\n1 = {one}   2 = {two}\n",
        bold(question, colour)
    ))
}

/// Why that view cannot be, in one line.
pub fn wrong_view_text(drive: &Drive, from: Viewpoint, crank: Rotation) -> String {
    let turns = drive.crank_turns().word();
    match from {
        Viewpoint::Mirror => format!(
            "By the spec it turns {turns}, facing it; one mirror shows that the other way round, and not {}. Look again.",
            crank.word()
        ),
        _ => format!(
            "By the spec it turns {turns}, facing the timing end, and not {}. Are you on the other side, or is the spec wrong?",
            crank.word()
        ),
    }
}
