//! What somebody said, in words.

use crate::job::Said;

/// What was said, as it is read back: `said: every phaser is parked`.
pub(crate) fn said_words(what: Said, so: bool) -> &'static str {
    match (what, so) {
        (Said::PhaserParked, true) => "every phaser is locked in its parked position",
        (Said::PhaserParked, false) => "a phaser is NOT locked in its parked position",
        (Said::SlackSide, true) => "all slack lies on the tensioner's side",
        (Said::SlackSide, false) => "NOT all slack lies on the tensioner's side",
        (Said::NotInsideOut, true) => "nothing is hung inside out or back to front",
        (Said::NotInsideOut, false) => {
            "nobody has made sure that nothing is hung INSIDE OUT or back to front"
        }
        (Said::FacingEnd, true) => "seen from where it was said to be",
        (Said::FacingEnd, false) => "seen from the OTHER SIDE or in a MIRROR",
        (Said::PinIn, true) => "the tensioner is held back by its pin or lock",
        (Said::PinIn, false) => "the tensioner is NOT held back by its pin or lock",
        (Said::ToolsIn, true) => "every locking tool is in",
        (Said::ToolsIn, false) => "NOT every locking tool is in",
        (Said::BoltsLoose, true) => "the phaser bolts are hand-tight only",
        (Said::BoltsLoose, false) => "a phaser bolt is TIGHT already",
        (Said::PinsOut, true) => "no pin and no locking tool is in any more",
        (Said::PinsOut, false) => "a pin or a locking tool is STILL IN",
        (Said::BoltsTight, true) => "every phaser bolt is tightened to the maker's figure",
        (Said::BoltsTight, false) => "a phaser bolt is NOT tightened to the maker's figure",
        (Said::TurnedFree, true) => "nothing resisted while the engine was turned by hand",
        (Said::TurnedFree, false) => "something RESISTED while the engine was turned by hand",
    }
}
