//! An interview gone on with where its record ends.

use crate::drive::model::Drive;
use crate::job::interview::{Interview, Round};
use crate::job::look::Sight;
use crate::job::question::Answer;
use crate::job::record::Record;
use crate::proof::check::CheckError;
use crate::spec::stage::Stage;

impl<'d> Interview<'d> {
    /// Goes on where `record` ends: at the first mark that was not looked at. `None` if the record
    /// holds anything that this conversation would not have asked, and so would lose.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn resume(
        drive: &'d Drive,
        spec: &str,
        record: Record,
    ) -> Result<Option<Self>, CheckError> {
        Self::from_looks(drive, spec, record, false)
    }

    /// Goes on from looks that were made by anybody and in any way: other marks than this conversation would have
    /// asked for are taken, and a stage that is in time by them is not asked for more. `None` if a look cannot be
    /// gone on from, as one after other turns that is not in time.
    ///
    /// # Errors
    /// As [`Interview::resume`].
    pub fn resume_any(
        drive: &'d Drive,
        spec: &str,
        record: Record,
    ) -> Result<Option<Self>, CheckError> {
        Self::from_looks(drive, spec, record, true)
    }

    fn from_looks(
        drive: &'d Drive,
        spec: &str,
        record: Record,
        any: bool,
    ) -> Result<Option<Self>, CheckError> {
        let mut interview = Self::new(drive, spec)?;
        interview.head = Record {
            looks: Vec::new(),
            ..record.clone()
        };
        interview.now = record.at;
        let (now, earlier) = record.split();
        interview.earlier = earlier;
        interview.after_turning_go_by_dots()?;
        for look in now {
            let round = &mut interview.rounds[look.stage.index()];
            let turned = look.seen.turned();
            if turned != round.turned && !(any && look.stage == Stage::Turned) {
                return Ok(None);
            }
            let as_asked = turned == round.turned;
            round.turned = turned;
            round.at = look.at;
            round.said.clone_from(&look.said);
            (round.by, round.view, round.felt) = (look.by.clone(), look.view, look.felt);
            let links = look.seen.links().iter();
            let dots = look.seen.dots().iter();
            let answers = links
                .map(|(at, seen)| (Sight::Link(*at), Answer::Seen(*seen)))
                .chain(dots.map(|(at, seen)| (Sight::Dot(*at), Answer::Seen(*seen))))
                .chain(look.not_seen.iter().map(|sight| (*sight, Answer::NotSeen)));
            for (sight, answer) in answers {
                match round.sights.iter().position(|asked| *asked == sight) {
                    Some(i) => round.answers[i] = Some(answer),
                    None if any => {
                        round.sights.push(sight);
                        round.answers.push(Some(answer));
                    }
                    None => return Ok(None),
                }
            }
            if !any {
                continue;
            }
            if interview.settles(look.stage)? {
                interview.rounds[look.stage.index()].ask_no_more();
            } else if !as_asked {
                return Ok(None);
            }
        }
        interview.place = interview.first_open()?;
        Ok(Some(interview))
    }

    /// Is a stage in time by all that was answered there, with nothing left that looks the same?
    fn settles(&self, stage: Stage) -> Result<bool, CheckError> {
        let check = self.check(stage)?;
        Ok(check.is_some_and(|(_, check)| check.release_tensioner()))
    }
}

impl Round {
    /// Drops every question that was not answered.
    fn ask_no_more(&mut self) {
        let answers = std::mem::take(&mut self.answers).into_iter();
        let sights = std::mem::take(&mut self.sights).into_iter();
        (self.sights, self.answers) = sights
            .zip(answers)
            .filter(|(_, answer)| answer.is_some())
            .unzip();
        self.always = self.sights.len();
    }
}
