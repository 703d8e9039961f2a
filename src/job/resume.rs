//! An interview gone on with where its record ends.

use crate::drive::model::Drive;
use crate::job::interview::Interview;
use crate::job::look::Sight;
use crate::job::question::Answer;
use crate::job::record::Record;
use crate::proof::check::CheckError;

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
            if look.seen.turned() != round.turned {
                return Ok(None);
            }
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
                    None => return Ok(None),
                }
            }
        }
        interview.place = interview.first_open()?;
        Ok(Some(interview))
    }
}
