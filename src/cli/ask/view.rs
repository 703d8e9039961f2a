//! From where the marks are seen, and whether something resisted: asked on the screen.

use super::dialogue::Dialogue;
use super::screen::Key;
use crate::cli::colour_wanted;
use anyhow::Result;
use tautmark::{
    job::{Interview, Reply, View},
    render::{felt_text, view_text, view_turning_text, wrong_view_text},
    spec::{Rotation, Viewpoint},
    units::{Exact, Turns},
};

impl Dialogue<'_> {
    /// Asks from where the marks are seen, until the way the crankshaft turns there fits; false: stop.
    pub(super) fn ask_view(&mut self, interview: &mut Interview<'_>) -> Result<bool> {
        let (drive, colour) = (interview.drive(), colour_wanted());
        loop {
            let text = format!("{}q = stop\n", view_text(drive, colour));
            let from = match self.screen.choose(&text, &["1", "2", "3", "4"])? {
                Key::One("1") => Viewpoint::Facing,
                Key::One("2") => Viewpoint::Mirror,
                Key::One("3") => Viewpoint::Photo,
                Key::One(_) => Viewpoint::Above,
                Key::Stop => return Ok(false),
            };
            let text = format!("{}0 = back   q = stop\n", view_turning_text(from, colour));
            let crank = match self.screen.choose(&text, &["1", "2", "0"])? {
                Key::One("1") => Rotation::Clockwise,
                Key::One("2") => Rotation::CounterClockwise,
                Key::One(_) => continue,
                Key::Stop => return Ok(false),
            };
            match View::new(drive, from, crank) {
                Ok(view) => {
                    interview.see_from(view);
                    return Ok(true);
                }
                Err(_) => self.screen.notice = wrong_view_text(drive, from, crank),
            }
        }
    }

    /// Something resisted: where in the turn? `None`: stop.
    pub(super) fn ask_felt(&mut self, interview: &Interview<'_>) -> Result<Option<Reply>> {
        let text = format!(
            "{}1 = half a turn at most   2 = one turn   3 = one and a half   4 = two   5 = more, or I do not know   0 = back   q = stop\n",
            felt_text(interview, colour_wanted())
        );
        let halves = match self.screen.choose(&text, &["1", "2", "3", "4", "5", "0"])? {
            Key::One("1") => 1,
            Key::One("2") => 2,
            Key::One("3") => 3,
            Key::One("4") => 4,
            Key::One("5") => return Ok(Some(Reply::Felt(None))),
            Key::One(_) => return Ok(Some(Reply::Back)),
            Key::Stop => return Ok(None),
        };
        let turns = Exact::whole(halves).checked_div(Exact::whole(2))?;
        Ok(Some(Reply::Felt(Some(Turns::new(turns)))))
    }
}
