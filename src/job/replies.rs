//! What a reply does to an interview.

use crate::job::course::REHUNG;
use crate::job::interview::{Interview, Place};
use crate::job::look::{Look, Sight};
use crate::job::numbered::{forget, is_colour_among_counts};
use crate::job::question::{Answer, Refusal, Repeat, Reply};
use crate::job::record::RESISTED;
use crate::job::said::Said;
use crate::proof::check::CheckError;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::observe::within_half_a_turn;
use crate::units::timestamp::Timestamp;

/// What cannot be put right without moving something.
const MOVING: [Said; 5] = [
    Said::PhaserParked,
    Said::SlackSide,
    Said::PinIn,
    Said::ToolsIn,
    Said::BoltsLoose,
];

/// Why what was seen says nothing now.
const MOVED: &str = "something was moved";
const LOOKED_AGAIN: &str = "an earlier stage was looked at again";
const OTHER_SIDE: &str = "it was seen from the other side or in a mirror, and looked at again";

impl Interview<'_> {
    /// Takes a reply to [`Interview::step`], given at that time. Looks without times prove nothing in a job.
    ///
    /// # Errors
    /// [`Refusal`]; nothing has changed then.
    pub fn reply_at(&mut self, reply: Reply, at: Timestamp) -> Result<(), Refusal> {
        self.now = Some(at);
        self.reply(reply)
    }

    /// Takes a reply to [`Interview::step`].
    ///
    /// # Errors
    /// [`Refusal`]; nothing has changed then.
    pub fn reply(&mut self, reply: Reply) -> Result<(), Refusal> {
        match (reply, self.place) {
            (Reply::Back, place) => {
                self.place = self.before(place).ok_or(Refusal::NothingBefore)?;
            }
            (Reply::Ready, Place::Ready(Stage::Turned)) => {
                // Before any mark is looked at: whatever they show, it ends here if something resisted.
                self.place = Place::Say(Stage::Turned, Said::TurnedFree);
            }
            (Reply::Ready, Place::Ready(stage)) => self.place = self.ask(stage, 0)?,
            (Reply::Ready, Place::Confirm(stage)) => {
                if !self.not_ruled_out(stage)?.is_empty() {
                    return Err(Refusal::NotRuledOut);
                }
                self.place = match stage {
                    Stage::Hung => Place::Ready(Stage::Released),
                    Stage::Released => Place::Ready(Stage::Turned),
                    Stage::Turned => Place::Done,
                };
            }
            (Reply::Again, Place::Confirm(stage)) => {
                let round = &mut self.rounds[stage.index()];
                let from = if round.always < round.sights.len() {
                    round.always
                } else {
                    0
                };
                for answer in &mut round.answers[from..] {
                    if *answer == Some(Answer::NotSeen) {
                        *answer = None;
                    }
                }
                self.place = self.ask(stage, from)?;
            }
            (Reply::Answer(answer), Place::Ask(stage, i)) => {
                self.refuse_past_half(self.rounds[stage.index()].sights[i], answer)?;
                let round = &self.rounds[stage.index()];
                if is_colour_among_counts(&round.sights, &round.answers, i, answer) {
                    return Err(Refusal::Counted);
                }
                let mut next = self.clone();
                // What was seen after the release was seen before this.
                if let Some(later) = Stage::ALL.get(stage.index() + 1) {
                    next.retire(*later, LOOKED_AGAIN);
                }
                let (now, by, view) = (next.now, next.by.clone(), next.view);
                let round = &mut next.rounds[stage.index()];
                if round.answers.iter().all(Option::is_none) {
                    round.at = now;
                }
                round.sign(by.as_deref());
                round.view = view.or(round.view);
                let answers = &mut round.answers;
                let earlier = answers[i].replace(answer);
                if earlier != Some(answer) {
                    forget(&round.sights, answers, i, answer);
                }
                // Somebody who has gone back passes every later mark once more; somebody who looks
                // again at what could not be seen does not pass what was seen in between.
                let to = match earlier {
                    Some(_) => i + 1,
                    None => (i + 1..answers.len())
                        .find(|later| answers[*later].is_none())
                        .unwrap_or(answers.len()),
                };
                next.place = next.ask(stage, to)?;
                *self = next;
            }
            (Reply::Said(so), Place::Say(stage, what)) => {
                let (now, by) = (self.now, self.by.clone());
                let round = &mut self.rounds[stage.index()];
                round.said.retain(|(other, _)| *other != what);
                round.said.push((what, so));
                round.sign(by.as_deref());
                if round.at.is_none() {
                    round.at = now;
                }
                if what == Said::TurnedFree {
                    round.felt = None;
                }
                let open = round.answers.iter().position(Option::is_none);
                self.place = match (what, so, open) {
                    (Said::TurnedFree, false, _) => Place::Felt,
                    (Said::TurnedFree, true, Some(i)) => self.ask(stage, i)?,
                    _ => self.after(stage)?,
                };
            }
            (Reply::Felt(turns), Place::Felt) => {
                self.rounds[Stage::Turned.index()].felt = turns;
                self.place = Place::Halt(Stage::Turned);
            }
            (Reply::Keep, Place::Ask(stage, i)) => {
                if self.rounds[stage.index()].answers[i].is_none() {
                    return Err(Refusal::NothingToKeep);
                }
                self.place = self.ask(stage, i + 1)?;
            }
            (Reply::Again, Place::Halt(stage)) => self.again(stage)?,
            _ => return Err(Refusal::NotHere),
        }
        Ok(())
    }

    /// Something was moved: everything seen so far says nothing now, and the first stage is next.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn moved(&mut self) -> Result<(), CheckError> {
        self.retire(Stage::Hung, MOVED);
        self.after_turning_go_by_dots()?;
        self.place = Place::Ready(Stage::Hung);
        Ok(())
    }

    /// Every mark is looked at again, from the first stage on.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn begin_again(&mut self) -> Result<(), CheckError> {
        self.retire(Stage::Hung, LOOKED_AGAIN);
        self.after_turning_go_by_dots()?;
        self.place = Place::Ready(Stage::Hung);
        Ok(())
    }

    /// What [`Reply::Again`] will ask after this stage.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn repeats(&self, stage: Stage) -> Result<Repeat, CheckError> {
        let answers = &self.rounds[stage.index()].answers;
        let denied = |what| self.said(stage, what) == Some(false);
        Ok(if denied(Said::FacingEnd) {
            Repeat::FromTheOtherSide
        } else if denied(Said::TurnedFree) {
            Repeat::Everything
        } else if MOVING.into_iter().any(denied) {
            // Putting it right moves something.
            Repeat::Everything
        } else if self.verdict(stage)? == Verdict::InTime {
            Repeat::Said
        } else if self.verdict(stage)? != Verdict::NotProven {
            Repeat::Everything
        } else if answers.contains(&Some(Answer::NotSeen)) {
            Repeat::Unseen
        } else {
            Repeat::Stage
        })
    }

    pub(super) fn again(&mut self, stage: Stage) -> Result<(), Refusal> {
        let repeat = self.repeats(stage)?;
        if repeat == Repeat::Stage {
            self.place = self.ask(stage, 0)?;
            return Ok(());
        }
        if repeat == Repeat::Unseen {
            for answer in &mut self.rounds[stage.index()].answers {
                if *answer == Some(Answer::NotSeen) {
                    *answer = None;
                }
            }
            self.place = self.first_open()?;
            return Ok(());
        }
        if repeat == Repeat::Said {
            self.rounds[stage.index()].said.retain(|(_, so)| *so);
            self.place = self.after(stage)?;
            return Ok(());
        }
        let since = match repeat {
            Repeat::FromTheOtherSide => {
                self.view = None;
                OTHER_SIDE
            }
            _ if self.said(stage, Said::TurnedFree) == Some(false) => RESISTED,
            _ => REHUNG,
        };
        self.retire(Stage::Hung, since);
        self.after_turning_go_by_dots()?;
        self.place = Place::Ready(Stage::Hung);
        Ok(())
    }

    /// Keeps what was seen from a stage on as what it was, and begins those stages anew.
    pub(super) fn retire(&mut self, from: Stage, since: &str) {
        for stage in Stage::ALL.into_iter().filter(|stage| *stage >= from) {
            if let Some(look) = self.look(stage) {
                self.earlier.push(Look {
                    stale: Some(since.to_owned()),
                    ..look
                });
            }
            let round = &mut self.rounds[stage.index()];
            round.answers.fill(None);
            round.at = None;
            round.said.clear();
            (round.by, round.view, round.felt) = (None, None, None);
        }
    }

    pub(super) fn refuse_past_half(&self, sight: Sight, answer: Answer) -> Result<(), Refusal> {
        let (Sight::Link(at) | Sight::Dot(at)) = sight;
        let Answer::Seen(seen) = answer else {
            return Ok(());
        };
        let teeth = self.drive.sprocket(at).teeth().get();
        within_half_a_turn(self.drive, at, seen).map_err(|_| Refusal::PastHalf { teeth })
    }
}
