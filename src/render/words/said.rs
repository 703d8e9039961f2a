//! What somebody said, in words.

use crate::job::Said;

/// What was said, as it is read back: `said: every phaser is parked`.
pub(crate) fn said_words(what: Said, so: bool) -> &'static str {
    match (what, so) {
        (Said::PhaserParked, true) => "every phaser is locked in its parked position",
        (Said::PhaserParked, false) => "a phaser is NOT locked in its parked position",
        (Said::SlackSide, true) => "all slack lies on the tensioner's side",
        (Said::SlackSide, false) => "NOT all slack lies on the tensioner's side",
        (Said::NotInsideOut, true) => "no chain is hung inside out",
        (Said::NotInsideOut, false) => "nobody has made sure that no chain is hung INSIDE OUT",
        (Said::FacingEnd, true) => "seen facing the timing end, not in a mirror",
        (Said::FacingEnd, false) => "seen from the OTHER SIDE or in a MIRROR",
    }
}
