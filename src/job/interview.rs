//! The check as questions, one mark at a time, at three stages. A state machine: it is told what was
//! answered and says what comes next; who asks, and how, is not its business.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::look::{Look, Sight};
use crate::job::numbered::{forget, is_colour_among_counts, seen_of};
use crate::job::question::{Answer, Question, Refusal, Repeat, Reply, Step};
use crate::job::record::{RESISTED, Record};
use crate::job::said::Said;
use crate::job::sights::{self, sights_when_hung, sights_when_turned, turns_to_make};
use crate::job::view::View;
use crate::proof::check::{Check, CheckError, check};
use crate::spec::format::MAX_TEXT;
use crate::spec::stage::Stage;
use crate::timing::check::{Verdict, link_due};
use crate::timing::lookalike::{Fit, LookalikeKind};
use crate::timing::observe::{Observations, Seen, within_half_a_turn};
use crate::units::quantity::{Teeth, Turns};
use crate::units::timestamp::Timestamp;

/// The questions of one stage with their answers.
#[derive(Clone, Debug)]
struct Round {
    /// What is always looked at, then what rules out look-alikes.
    sights: Vec<Sight>,
    /// How many are always looked at.
    always: usize,
    answers: Vec<Option<Answer>>,
    turned: Turns,
    /// When the first of them was answered.
    at: Option<Timestamp>,
    said: Vec<(Said, bool)>,
    /// Who has answered.
    by: Option<String>,
    view: Option<View>,
    /// By how many crank turns something resisted.
    felt: Option<Turns>,
}

/// What cannot be put right without moving something.
const MOVING: [Said; 5] = [
    Said::PhaserParked,
    Said::SlackSide,
    Said::PinIn,
    Said::ToolsIn,
    Said::BoltsLoose,
];

impl Round {
    /// Adds the name of who answers, once each.
    fn sign(&mut self, by: Option<&str>) {
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

/// Why what was seen says nothing now.
const MOVED: &str = "something was moved";
const REHUNG: &str = "the chain was hung again";
const LOOKED_AGAIN: &str = "an earlier stage was looked at again";
const OTHER_SIDE: &str = "it was seen from the other side or in a mirror, and looked at again";

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Place {
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
    drive: &'d Drive,
    /// What stands at the head of its record.
    head: Record,
    now: Option<Timestamp>,
    /// Who answers.
    by: Option<String>,
    /// From where they look, if it was asked.
    view: Option<View>,
    earlier: Vec<Look>,
    rounds: [Round; 3],
    place: Place,
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

    /// Takes a reply to [`Interview::step`], given at that time. Looks without times prove nothing in a job.
    ///
    /// # Errors
    /// [`Refusal`]; nothing has changed then.
    pub fn reply_at(&mut self, reply: Reply, at: Timestamp) -> Result<(), Refusal> {
        self.now = Some(at);
        self.reply(reply)
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

    /// Do dots count at the first two stages too, since the coloured links have moved off them?
    pub fn goes_by_dots(&self) -> bool {
        let round = &self.rounds[Stage::Hung.index()];
        self.any_turned()
            && round
                .sights
                .iter()
                .all(|sight| matches!(sight, Sight::Dot(_)))
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
    fn look(&self, stage: Stage) -> Option<Look> {
        self.look_at(stage, usize::MAX)
    }

    /// What was answered to the first `count` questions of a stage; `None` if nothing.
    fn look_at(&self, stage: Stage, count: usize) -> Option<Look> {
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
    fn said(&self, stage: Stage, what: Said) -> Option<bool> {
        let mut said = self.rounds[stage.index()].said.iter();
        said.find(|(said, _)| *said == what).map(|(_, so)| *so)
    }

    /// What was said at a stage, in the order of saying.
    pub fn sayings(&self, stage: Stage) -> &[(Said, bool)] {
        &self.rounds[stage.index()].said
    }

    /// What has to be said at a stage that is in time.
    fn to_say(&self, stage: Stage) -> Result<Vec<Said>, CheckError> {
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
    fn is_worse_by_what_was_corrected(&self, stage: Stage) -> bool {
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

    /// Keeps what was seen from a stage on as what it was, and begins those stages anew.
    fn retire(&mut self, from: Stage, since: &str) {
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

    fn any_turned(&self) -> bool {
        let mut earlier = self.earlier.iter();
        earlier.any(|look| look.stage == Stage::Turned)
    }

    /// Once the engine was turned, the coloured links have moved off their dots, and there is nothing to be seen
    /// of them: where the dots alone prove it, they are asked for at the first two stages as well.
    fn after_turning_go_by_dots(&mut self) -> Result<(), CheckError> {
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
    fn ask(&self, stage: Stage, i: usize) -> Result<Place, CheckError> {
        let round = &self.rounds[stage.index()];
        if i < round.always || (i < round.sights.len() && self.looks_in_time(stage)?) {
            return Ok(Place::Ask(stage, i));
        }
        self.after(stage)
    }

    /// Is a stage in time by what is always looked at? Only then look-alikes are worth a look.
    fn looks_in_time(&self, stage: Stage) -> Result<bool, CheckError> {
        let Some(look) = self.look_at(stage, self.rounds[stage.index()].always) else {
            return Ok(false);
        };
        Ok(check(self.drive, &look.seen)?.verdict() == Verdict::InTime)
    }

    /// What follows a stage that was gone through.
    fn after(&self, stage: Stage) -> Result<Place, CheckError> {
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
    fn first_open(&self) -> Result<Place, CheckError> {
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

    fn before(&self, place: Place) -> Option<Place> {
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

    fn again(&mut self, stage: Stage) -> Result<(), Refusal> {
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

    fn refuse_past_half(&self, sight: Sight, answer: Answer) -> Result<(), Refusal> {
        let (Sight::Link(at) | Sight::Dot(at)) = sight;
        let Answer::Seen(seen) = answer else {
            return Ok(());
        };
        let teeth = self.drive.sprocket(at).teeth().get();
        within_half_a_turn(self.drive, at, seen).map_err(|_| Refusal::PastHalf { teeth })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::source::Source;
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
                "dot primary/left-idler",
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
