//! The check as questions, one mark at a time, at three stages. A state machine: it is told what was
//! answered and says what comes next; who asks, and how, is not its business.

use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::look::{Look, Sight};
use crate::job::question::{Answer, Question, Step};
use crate::job::record::Record;
use crate::job::said::Said;
use crate::job::sights::{self, sights_when_hung, sights_when_turned, turns_to_make};
use crate::job::view::View;
use crate::proof::check::CheckError;
use crate::spec::format::MAX_TEXT;
use crate::spec::stage::Stage;
use crate::units::quantity::Turns;
use crate::units::timestamp::Timestamp;

/// The questions of one stage with their answers.
#[derive(Clone, Debug)]
pub(super) struct Round {
    /// What is always looked at, then what rules out look-alikes.
    pub(super) sights: Vec<Sight>,
    /// How many are always looked at.
    pub(super) always: usize,
    pub(super) answers: Vec<Option<Answer>>,
    pub(super) turned: Turns,
    /// When the first of them was answered.
    pub(super) at: Option<Timestamp>,
    pub(super) said: Vec<(Said, bool)>,
    /// Who has answered.
    pub(super) by: Option<String>,
    pub(super) view: Option<View>,
    /// By how many crank turns something resisted.
    pub(super) felt: Option<Turns>,
}

impl Round {
    /// Adds the name of who answers, once each.
    pub(super) fn sign(&mut self, by: Option<&str>) {
        let Some(by) = by else { return };
        let name = match &self.by {
            None => by.to_owned(),
            Some(own) if own.split(", ").any(|name| name == by) => return,
            Some(own) => format!("{own}, {by}"),
        };
        // More names than a record holds are not needed to ask somebody.
        if name.chars().count() <= MAX_TEXT {
            self.by = Some(name);
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Place {
    Ready(Stage),
    Ask(Stage, usize),
    Say(Stage, Said),
    Felt,
    Confirm(Stage),
    Halt(Stage),
    Done,
}

/// A conversation about one drive.
///
/// ```
/// use tautmark::{Drive, Source, job::{Answer, Interview, Reply, Step}};
///
/// # let text = "
/// # tautmark: 1
/// # engine: Example single
/// # crank_turns: clockwise
/// # shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// # chains: { main: { links: 90, path: [
/// #   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 45 } ] } }
/// # ";
/// let source = Source::new("example.yaml", text.into())?;
/// let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let mut interview = Interview::new(&drive, source.name())?;
/// loop {
///     let reply = match interview.step() {
///         Step::Ready(_) | Step::Confirm(_) => Reply::Ready,
///         Step::Ask(_) => Reply::Answer(Answer::Seen("on".parse()?)),
///         Step::Say(..) => Reply::Said(true),
///         Step::Felt => Reply::Felt(None),
///         Step::Halt(_) => Reply::Again,
///         Step::Done => break,
///     };
///     interview.reply(reply).map_err(|refusal| format!("{refusal:?}"))?;
/// }
/// assert_eq!(interview.record().answers(), 6); // two marks at three stages
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Interview<'d> {
    pub(super) drive: &'d Drive,
    /// What stands at the head of its record.
    pub(super) head: Record,
    pub(super) now: Option<Timestamp>,
    /// Who answers.
    pub(super) by: Option<String>,
    /// From where they look, if it was asked.
    pub(super) view: Option<View>,
    pub(super) earlier: Vec<Look>,
    pub(super) rounds: [Round; 3],
    pub(super) place: Place,
}
impl<'d> Interview<'d> {
    /// Most crank turns that somebody is asked to make by hand before the third stage.
    pub const MAX_TURNS: i64 = sights::MAX_TURNS;

    /// A new one. `spec` is what the spec's file is called.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn new(drive: &'d Drive, spec: &str) -> Result<Self, CheckError> {
        let (hung, extra) = sights_when_hung(drive)?;
        let turns = turns_to_make(drive);
        let turned = sights_when_turned(drive, turns)?;
        let round = |mut sights: Vec<Sight>, extra: Vec<Sight>, turned| {
            let always = sights.len();
            sights.extend(extra);
            Round {
                always,
                answers: vec![None; sights.len()],
                sights,
                turned: Turns::whole(turned),
                at: None,
                said: Vec::new(),
                by: None,
                view: None,
                felt: None,
            }
        };
        let mut interview = Self {
            drive,
            head: Record::new(drive, spec),
            now: None,
            by: None,
            view: None,
            earlier: Vec::new(),
            rounds: [
                round(hung.clone(), extra, 0),
                round(hung, Vec::new(), 0),
                round(turned, Vec::new(), turns),
            ],
            place: Place::Ready(Stage::Hung),
        };
        // A drive with nothing to ask still gets a verdict: not proven.
        if interview.rounds[0].sights.is_empty() {
            interview.place = Place::Halt(Stage::Hung);
        }
        Ok(interview)
    }

    /// The drive that it is about.
    pub fn drive(&self) -> &'d Drive {
        self.drive
    }

    /// How many crank turns are made by hand before the third stage.
    pub fn turns(&self) -> Turns {
        self.rounds[Stage::Turned.index()].turned
    }

    /// Was the drive looked at before, and the chain hung again since?
    pub fn repeated(&self) -> bool {
        !self.earlier.is_empty()
    }

    /// What comes next.
    pub fn step(&self) -> Step {
        match self.place {
            Place::Ready(stage) => Step::Ready(stage),
            Place::Say(stage, what) => Step::Say(stage, what),
            Place::Felt => Step::Felt,
            Place::Confirm(stage) => Step::Confirm(stage),
            Place::Halt(stage) => Step::Halt(stage),
            Place::Done => Step::Done,
            Place::Ask(stage, i) => {
                let round = &self.rounds[stage.index()];
                Step::Ask(Question {
                    stage,
                    sight: round.sights[i],
                    number: i + 1,
                    of: if i < round.always {
                        round.always
                    } else {
                        round.sights.len()
                    },
                    extra: i >= round.always,
                    earlier: round.answers[i],
                })
            }
        }
    }

    /// Names the record: what tells it from every other one, and the job whose looks these are, if any.
    #[must_use]
    pub fn named(mut self, id: &str, job: Option<&str>) -> Self {
        self.head.id = Some(id.to_owned());
        self.head.job = job.map(str::to_owned);
        self
    }

    /// Names the car that is looked at, and who looks.
    #[must_use]
    pub fn on(mut self, car: Option<&Car>, by: Option<&str>) -> Self {
        if car.is_some() {
            self.head.car = car.cloned();
        }
        self.by = by.map(str::to_owned);
        self
    }

    /// From where the marks are seen; `None` until it was said, and once it was said to have been wrong.
    pub fn view(&self) -> Option<View> {
        self.view
    }

    /// By how many crank turns something resisted, if it did and it is known.
    pub fn felt(&self) -> Option<Turns> {
        self.rounds[Stage::Turned.index()].felt
    }

    /// Says from where the marks are seen from now on.
    pub fn see_from(&mut self, view: View) {
        self.view = Some(view);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::question::{Refusal, Reply};
    use crate::spec::source::Source;
    use crate::timing::observe::Seen;
    use crate::units::quantity::Teeth;

    fn drive(text: &str) -> Drive {
        let source = Source::new("test", text.into()).unwrap();
        Drive::read(&source).drive.unwrap()
    }

    fn asked(sights: &[Sight], drive: &Drive) -> Vec<String> {
        sights
            .iter()
            .map(|sight| match sight {
                Sight::Link(at) => format!("link {}", crate::timing::observe::name_of(drive, *at)),
                Sight::Dot(at) => format!("dot {}", crate::timing::observe::name_of(drive, *at)),
            })
            .collect()
    }

    #[test]
    fn the_crankshaft_is_asked_first_and_chains_follow_what_drives_them() {
        let drive = drive(include_str!("../../engines/heron-v6.yaml"));
        let interview = Interview::new(&drive, "test").unwrap();
        assert_eq!(
            asked(&interview.rounds[0].sights, &drive),
            [
                "link crank",
                "link primary/left-idler",
                "link primary/right-idler",
                "link left/left-idler",
                "link left-exhaust",
                "link left-intake",
                "link right/right-idler",
                "link right-intake",
                "link right-exhaust",
                // These rule out each chain inside out, and the other bank's.
                "dot crank",
                "dot left-exhaust",
                "dot right-intake",
            ]
        );
        assert_eq!(interview.rounds[0].always, 9);
        assert_eq!(interview.rounds[1].sights.len(), 9);
        // The idlers turn 4/5 as fast as the crankshaft and are not back after two turns.
        assert_eq!(interview.turns(), Turns::whole(2));
        assert_eq!(interview.rounds[2].sights.len(), 5);
    }

    #[test]
    fn a_drive_without_coloured_links_is_asked_for_its_dots() {
        let drive = drive(include_str!("../../engines/dunnock-facing.yaml"));
        let interview = Interview::new(&drive, "test").unwrap();
        assert_eq!(
            asked(&interview.rounds[0].sights, &drive),
            ["dot crank", "dot cam"]
        );
    }

    const CRANK_LAST: &str = "
tautmark: 1
engine: Example
crank_turns: clockwise
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft }, idler: { kind: idler } }
chains:
  second: { links: 80, path: [
    { sprocket: cam, teeth: 40, link: 10 }, { sprocket: idler, teeth: 20, link: 30 } ] }
  first: { links: 80, path: [
    { sprocket: idler, teeth: 20, link: 10 }, { sprocket: crank, teeth: 20, link: 30 } ] }
";

    #[test]
    fn the_order_of_asking_is_not_the_order_of_the_file() {
        let drive = drive(CRANK_LAST);
        let interview = Interview::new(&drive, "test").unwrap();
        assert_eq!(
            asked(&interview.rounds[0].sights, &drive),
            [
                "link crank",
                "link first/idler",
                "link second/idler",
                "link cam"
            ]
        );
    }

    fn on(interview: &mut Interview<'_>) {
        let reply = match interview.step() {
            Step::Ready(_) | Step::Confirm(_) => Reply::Ready,
            Step::Say(..) => Reply::Said(true),
            _ => Reply::Answer(Answer::Seen(Seen::Teeth(Teeth::ZERO))),
        };
        interview.reply(reply).unwrap();
    }

    #[test]
    fn whatever_was_answered_is_gone_on_with_at_the_same_step() {
        let drive = drive(CRANK_LAST);
        let mut interview = Interview::new(&drive, "test").unwrap();
        while interview.step() != Step::Done {
            on(&mut interview);
            let record = interview.record();
            let again = Interview::resume(&drive, "test", record.clone());
            let again = again.unwrap().unwrap();
            assert_eq!(again.record(), record);
            // That the tensioner is released, or the engine turned, is asked again: it is no
            // observation, and none is made of it.
            let said_only = matches!(interview.step(), Step::Ask(question) if question.number == 1)
                || interview.step() == Step::Ready(Stage::Released)
                || matches!(interview.step(), Step::Say(Stage::Turned, _));
            assert!(said_only || again.step() == interview.step());
        }
    }

    #[test]
    fn a_record_of_other_turns_is_not_gone_on_with() {
        let drive = drive(CRANK_LAST);
        let mut interview = Interview::new(&drive, "test").unwrap();
        while interview.step() != Step::Done {
            on(&mut interview);
        }
        let source = |turned: &str| {
            let text = interview
                .record()
                .to_yaml(&drive)
                .replace("turned: 2", turned);
            Source::new("test", text.into()).unwrap()
        };
        for (turned, fits) in [("turned: 2", true), ("turned: 4", false)] {
            let record = Record::read(&source(turned), &drive).record.unwrap();
            let again = Interview::resume(&drive, "test", record).unwrap();
            assert_eq!(again.is_some(), fits);
        }
    }

    #[test]
    fn a_reply_that_does_not_fit_changes_nothing() {
        let drive = drive(CRANK_LAST);
        let mut interview = Interview::new(&drive, "test").unwrap();
        let refused = |interview: &mut Interview<'_>, reply| {
            let before = (interview.step(), interview.record());
            let refusal = interview.reply(reply).unwrap_err();
            assert_eq!((interview.step(), interview.record()), before);
            refusal
        };
        let teeth = |n| Reply::Answer(Answer::Seen(Seen::Teeth(Teeth::whole(n))));
        assert_eq!(refused(&mut interview, Reply::Back), Refusal::NothingBefore);
        assert_eq!(refused(&mut interview, teeth(0)), Refusal::NotHere);
        on(&mut interview);
        assert_eq!(refused(&mut interview, Reply::Keep), Refusal::NothingToKeep);
        assert_eq!(refused(&mut interview, Reply::Again), Refusal::NotHere);
        assert_eq!(
            refused(&mut interview, teeth(-11)),
            Refusal::PastHalf { teeth: 20 }
        );
        assert_eq!(interview.reply(teeth(10)), Ok(()));
    }

    #[test]
    fn a_timed_pump_takes_as_many_turns_as_it_needs_up_to_what_hands_make() {
        let with = |teeth: u32| {
            drive(&format!(
                "
tautmark: 1
engine: Example
crank_turns: clockwise
shafts:
  crank: {{ kind: crankshaft }}
  cam: {{ kind: camshaft }}
  pump: {{ kind: pump }}
chains:
  main:
    links: 400
    path:
      - {{ sprocket: crank, teeth: 20, link: 0 }}
      - {{ sprocket: cam, teeth: 40, link: 45 }}
      - {{ sprocket: pump, teeth: {teeth}, link: 90 }}
"
            ))
        };
        for (teeth, turns, dots) in [(20, 2, 3), (30, 6, 3), (100, 10, 3), (101, 2, 2)] {
            let drive = with(teeth);
            let interview = Interview::new(&drive, "test").unwrap();
            assert_eq!(interview.turns(), Turns::whole(turns), "{teeth}");
            assert_eq!(interview.rounds[2].sights.len(), dots, "{teeth}");
        }
    }
}
