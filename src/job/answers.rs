//! What was answered in an interview, and what it proves.

use crate::drive::ids::Engagement;
use crate::job::interview::Interview;
use crate::job::look::{Look, Sight};
use crate::job::numbered::seen_of;
use crate::job::question::Answer;
use crate::job::record::Record;
use crate::job::said::Said;
use crate::proof::check::{Check, CheckError, check};
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::lookalike::Fit;
use crate::timing::observe::{Observations, Seen};

impl Interview<'_> {
    /// What was seen at a stage proves this; `None` if nothing was looked at.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn check(&self, stage: Stage) -> Result<Option<(Look, Check)>, CheckError> {
        let Some(look) = self.look(stage) else {
            return Ok(None);
        };
        let checked = check(self.drive, &look.seen)?;
        Ok(Some((look, checked)))
    }

    /// The ways of hanging a chain wrong that would look just like what was seen at a stage (see
    /// [`Check::fits`]); none unless it is in time.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn not_ruled_out(&self, stage: Stage) -> Result<Vec<Fit>, CheckError> {
        let Some((_, check)) = self.check(stage)? else {
            return Ok(Vec::new());
        };
        let mut open = check.fits().to_vec();
        open.retain(|fit| !fit.explains);
        Ok(open)
    }

    /// The ways of hanging a chain wrong that look just like what is always looked at at a stage,
    /// whatever the looks say that were asked to rule them out.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn alike(&self, stage: Stage) -> Result<Vec<Fit>, CheckError> {
        let Some(look) = self.look_at(stage, self.rounds[stage.index()].always) else {
            return Ok(Vec::new());
        };
        let mut alike = check(self.drive, &look.seen)?.fits().to_vec();
        alike.retain(|fit| !fit.explains);
        Ok(alike)
    }

    /// What was answered at a stage, in the order of asking.
    pub fn answers(&self, stage: Stage) -> impl Iterator<Item = (Sight, Answer)> + '_ {
        let round = &self.rounds[stage.index()];
        let pairs = round.sights.iter().zip(&round.answers);
        pairs.filter_map(|(sight, answer)| Some((*sight, (*answer)?)))
    }

    /// The verdict on a stage, as far as it was looked at.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn verdict(&self, stage: Stage) -> Result<Verdict, CheckError> {
        Ok(self
            .check(stage)?
            .map_or(Verdict::NotProven, |(_, check)| check.verdict()))
    }

    /// Everything answered so far.
    pub fn record(&self) -> Record {
        let mut record = self.head.clone();
        record.at = self.now;
        record.looks.clone_from(&self.earlier);
        record
            .looks
            .extend(Stage::ALL.into_iter().filter_map(|stage| self.look(stage)));
        record
    }

    /// What was answered at a stage; `None` if nothing.
    pub(super) fn look(&self, stage: Stage) -> Option<Look> {
        self.look_at(stage, usize::MAX)
    }

    /// What was answered to the first `count` questions of a stage; `None` if nothing.
    pub(super) fn look_at(&self, stage: Stage, count: usize) -> Option<Look> {
        let round = &self.rounds[stage.index()];
        // The bounds of the model keep the turns in range, and every sight was checked when it was
        // put on the list, so nothing is refused here.
        let mut seen = Observations::after(round.turned).ok()?;
        let mut not_seen = Vec::new();
        for (sight, answer) in round.sights.iter().zip(&round.answers).take(count) {
            match (sight, answer) {
                (_, None) => {}
                (_, Some(Answer::NotSeen)) => not_seen.push(*sight),
                (Sight::Link(at), Some(Answer::Seen(what))) => {
                    seen.see_link(self.drive, *at, *what).ok()?;
                }
                (Sight::Dot(at), Some(Answer::Seen(what))) => {
                    seen.see_dot(self.drive, *at, *what).ok()?;
                }
            }
        }
        let nothing = seen.links().is_empty() && seen.dots().is_empty() && not_seen.is_empty();
        let resisted = round.said.contains(&(Said::TurnedFree, false));
        (resisted || !nothing).then(|| Look {
            at: round.at,
            said: round.said.clone(),
            by: round.by.clone(),
            view: round.view,
            felt: round.felt,
            ..Look::new(stage, seen, not_seen)
        })
    }

    /// What was said at a stage; `None` if it was not asked.
    pub(super) fn said(&self, stage: Stage, what: Said) -> Option<bool> {
        let mut said = self.rounds[stage.index()].said.iter();
        said.find(|(said, _)| *said == what).map(|(_, so)| *so)
    }

    /// What was said at a stage, in the order of saying.
    pub fn sayings(&self, stage: Stage) -> &[(Said, bool)] {
        &self.rounds[stage.index()].said
    }

    /// What was seen of a chain's links by the questions before this one: only from those is counted on.
    pub(super) fn seen_before(
        &self,
        stage: Stage,
        i: usize,
        at: Engagement,
    ) -> Vec<(Engagement, Seen)> {
        let round = &self.rounds[stage.index()];
        seen_of(&round.sights, &round.answers, at)
            .take_while(|(other, ..)| *other < i)
            .map(|(_, other, seen)| (other, seen))
            .collect()
    }
}
