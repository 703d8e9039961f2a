//! What an interview asks next, and what comes before it.

use crate::job::interview::{Interview, Place};
use crate::job::look::Sight;
use crate::job::question::Answer;
use crate::job::said::Said;
use crate::proof::check::{CheckError, check};
use crate::spec::stage::Stage;
use crate::timing::check::{Verdict, link_due};
use crate::timing::lookalike::LookalikeKind;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::Teeth;

/// Why what was seen before says nothing, where a chain was put right by what was seen.
pub(super) const REHUNG: &str = "the chain was hung again";

impl Interview<'_> {
    /// Do dots count at the first two stages too, since the coloured links have moved off them?
    pub fn goes_by_dots(&self) -> bool {
        let round = &self.rounds[Stage::Hung.index()];
        self.any_turned()
            && round
                .sights
                .iter()
                .all(|sight| matches!(sight, Sight::Dot(_)))
    }

    pub(super) fn any_turned(&self) -> bool {
        let mut earlier = self.earlier.iter();
        earlier.any(|look| look.stage == Stage::Turned)
    }

    /// Once the engine was turned, the coloured links have moved off their dots, and there is nothing to be seen
    /// of them: where the dots alone prove it, they are asked for at the first two stages as well.
    pub(super) fn after_turning_go_by_dots(&mut self) -> Result<(), CheckError> {
        if !self.any_turned() {
            return Ok(());
        }
        let turned = self.turns();
        let mut moved_off = false;
        for (at, sprocket) in self.drive.engagements() {
            if let Some(mark) = sprocket.mark() {
                moved_off |= link_due(self.drive, at, turned)? != Some(mark.link);
            }
        }
        let dots = self.rounds[Stage::Turned.index()].sights.clone();
        let mut all_on = Observations::at_timed_position();
        for sight in &dots {
            let (Sight::Link(at) | Sight::Dot(at)) = sight;
            // Refused only if it was seen before, and a shaft is on the list once.
            let _ = all_on.see_dot(self.drive, *at, Seen::Teeth(Teeth::ZERO));
        }
        if moved_off && check(self.drive, &all_on)?.release_tensioner() {
            for stage in [Stage::Hung, Stage::Released] {
                let round = &mut self.rounds[stage.index()];
                if round.sights != dots {
                    round.always = dots.len();
                    round.answers = vec![None; dots.len()];
                    round.sights.clone_from(&dots);
                }
            }
        }
        Ok(())
    }

    /// The question `i` of a stage, or what follows its last one.
    pub(super) fn ask(&self, stage: Stage, i: usize) -> Result<Place, CheckError> {
        let round = &self.rounds[stage.index()];
        if i < round.always || (i < round.sights.len() && self.looks_in_time(stage)?) {
            return Ok(Place::Ask(stage, i));
        }
        self.after(stage)
    }

    /// Is a stage in time by what is always looked at? Only then look-alikes are worth a look.
    pub(super) fn looks_in_time(&self, stage: Stage) -> Result<bool, CheckError> {
        let Some(look) = self.look_at(stage, self.rounds[stage.index()].always) else {
            return Ok(false);
        };
        Ok(check(self.drive, &look.seen)?.verdict() == Verdict::InTime)
    }

    /// What follows a stage that was gone through.
    pub(super) fn after(&self, stage: Stage) -> Result<Place, CheckError> {
        if self.said(stage, Said::TurnedFree) == Some(false) {
            return Ok(Place::Halt(stage));
        }
        Ok(if self.verdict(stage)? == Verdict::InTime {
            let to_say = self.to_say(stage)?;
            let mut unsaid = to_say
                .iter()
                .filter(|what| self.said(stage, **what).is_none());
            if let Some(what) = unsaid.next() {
                return Ok(Place::Say(stage, *what));
            }
            if to_say
                .iter()
                .any(|what| self.said(stage, *what) == Some(false))
            {
                return Ok(Place::Halt(stage));
            }
            match stage {
                Stage::Hung => Place::Confirm(Stage::Hung),
                Stage::Released => Place::Ready(Stage::Turned),
                Stage::Turned => Place::Done,
            }
        } else if self.is_worse_by_what_was_corrected(stage)
            && self.said(stage, Said::FacingEnd).is_none()
        {
            Place::Say(stage, Said::FacingEnd)
        } else {
            Place::Halt(stage)
        })
    }

    /// The first step that was not gone through.
    pub(super) fn first_open(&self) -> Result<Place, CheckError> {
        for stage in Stage::ALL {
            let answers = &self.rounds[stage.index()].answers;
            if self.said(stage, Said::TurnedFree) == Some(false) {
                return Ok(Place::Halt(stage));
            }
            match answers.iter().position(Option::is_none) {
                Some(_) if answers.iter().all(Option::is_none) => return Ok(Place::Ready(stage)),
                Some(i) => return self.ask(stage, i),
                None => {
                    let place = self.after(stage)?;
                    // Whoever went on to the next stage has said that it is so.
                    let later = &self.rounds[stage.index() + 1..];
                    let went_on = later
                        .iter()
                        .any(|round| round.answers.iter().any(Option::is_some));
                    if matches!(place, Place::Halt(_) | Place::Say(..))
                        || (place == Place::Confirm(stage) && !went_on)
                    {
                        return Ok(place);
                    }
                }
            }
        }
        Ok(Place::Done)
    }

    pub(super) fn before(&self, place: Place) -> Option<Place> {
        let last = |stage: Stage| {
            let answers = &self.rounds[stage.index()].answers;
            let last = answers.iter().rposition(Option::is_some);
            last.map(|i| Place::Ask(stage, i))
        };
        match place {
            Place::Ready(Stage::Hung) => None,
            Place::Ready(Stage::Released) => Some(Place::Confirm(Stage::Hung)),
            Place::Ready(Stage::Turned) => match self.rounds[Stage::Released.index()].said.last() {
                Some((said, _)) => Some(Place::Say(Stage::Released, *said)),
                None => last(Stage::Released),
            },
            Place::Ask(Stage::Turned, 0) => Some(Place::Say(Stage::Turned, Said::TurnedFree)),
            Place::Ask(stage, 0) => Some(Place::Ready(stage)),
            Place::Ask(stage, i) => Some(Place::Ask(stage, i - 1)),
            Place::Say(Stage::Turned, Said::TurnedFree) => Some(Place::Ready(Stage::Turned)),
            Place::Felt => Some(Place::Say(Stage::Turned, Said::TurnedFree)),
            Place::Say(stage, what) => {
                let said = &self.rounds[stage.index()].said;
                let own = said.iter().position(|(said, _)| *said == what);
                match said[..own.unwrap_or(said.len())].last() {
                    Some((before, _)) => Some(Place::Say(stage, *before)),
                    None => last(stage),
                }
            }
            Place::Confirm(stage) | Place::Halt(stage) => {
                match self.rounds[stage.index()].said.last() {
                    Some((said, _)) => Some(Place::Say(stage, *said)),
                    None => last(stage),
                }
            }
            Place::Done => last(Stage::Turned),
        }
    }

    /// What has to be said at a stage that is in time.
    pub(super) fn to_say(&self, stage: Stage) -> Result<Vec<Said>, CheckError> {
        let mut to_say = Said::needed(self.drive, stage);
        if stage == Stage::Hung {
            let open = self.not_ruled_out(stage)?;
            let mut kinds = open.iter().map(|fit| &fit.lookalike.kind);
            if kinds.any(|kind| matches!(kind, LookalikeKind::InsideOut { .. })) {
                to_say.push(Said::NotInsideOut);
            }
        }
        Ok(to_say)
    }

    /// Is a mark, after it was corrected, worse by just what was corrected? Then ahead and behind may have been
    /// taken for each other.
    pub(super) fn is_worse_by_what_was_corrected(&self, stage: Stage) -> bool {
        let mut before = self.earlier.iter().rev();
        let before =
            before.find(|look| look.stage == Stage::Hung && look.stale.as_deref() == Some(REHUNG));
        let (Some(before), Stage::Hung) = (before, stage) else {
            return false;
        };
        self.answers(stage).any(|(sight, answer)| {
            let was = match sight {
                Sight::Link(at) => before.seen.link(at),
                Sight::Dot(at) => {
                    let shaft = self.drive.sprocket(at).shaft();
                    before.seen.dot(self.drive, shaft).map(|(_, seen)| seen)
                }
            };
            match (was, answer) {
                (Some(Seen::Teeth(was)), Answer::Seen(Seen::Teeth(is))) if !was.is_zero() => {
                    is.get().checked_sub(was.get()) == Ok(was.get())
                }
                _ => false,
            }
        })
    }
}
