//! What was seen at an engine, stage by stage, as a file that can be verified again. A record keeps
//! what was seen and nothing that was concluded from it: verdicts are worked out anew each time.

use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::look::Look;
use crate::job::said::Said;
use crate::job::unfit::{Unfit, after_turning};
use crate::proof::check::{Check, CheckError, check};
use crate::spec::conform;
use crate::spec::format::MAX_TEXT;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::lookalike::Fit;
use crate::units::timestamp::Timestamp;

/// Why what was seen says nothing now.
pub(super) const RESISTED: &str = "something resisted while the engine was turned";

/// What was seen at one engine, in the order in which it was seen.
///
/// ```
/// use tautmark::{Drive, Observations, Source, Verdict, link_named, job::{Look, Record}, spec::Stage};
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
/// let mut seen = Observations::at_timed_position();
/// for shaft in ["crank", "cam"] {
///     seen.see_link(&drive, link_named(&drive, shaft)?, "on".parse()?)?;
/// }
/// let mut record = Record::new(&drive, source.name());
/// record.looks.push(Look::new(Stage::Hung, seen, Vec::new()));
///
/// let file = Source::new("job.yaml", record.to_yaml(&drive).into())?;
/// let again = Record::read(&file, &drive).record.ok_or("not readable")?;
/// assert_eq!(again, record);
/// // Proven before the tensioner was released; nothing is known of what came after.
/// assert!(again.check(&drive)?.release_tensioner());
/// assert_eq!(again.check(&drive)?.verdict(), Verdict::NotProven);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Record {
    pub(super) engine: String,
    pub(super) spec: String,
    /// What tells it from every other record, handed in from outside; `None` in an older one.
    pub id: Option<String>,
    /// The number of the job whose looks these are ([`Job::id`](crate::job::Job::id)), if any.
    pub job: Option<String>,
    /// The car that was looked at, as far as it is known.
    pub car: Option<Car>,
    /// When it was last added to.
    pub at: Option<Timestamp>,
    /// The job that has taken it, if any.
    pub used_by: Option<Use>,
    /// Every look, the earliest first.
    pub looks: Vec<Look>,
}

/// What has taken a record.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Use {
    /// The number of the job ([`Job::id`](crate::job::Job::id)).
    pub job: String,
    /// What its file was called.
    pub file: String,
    /// When.
    pub at: Timestamp,
}

/// The verdict on one look.
#[derive(Clone, PartialEq, Debug)]
pub struct LookChecked<'r> {
    /// The look.
    pub look: &'r Look,
    /// Its place among the looks of the record.
    pub place: usize,
    /// What it proves.
    pub check: Check,
    /// The look-alikes that fit it too (see [`Check::fits`]); those that only a look at the dots rules
    /// out are left out where that look was taken, at the first stage or after turning, and is in time.
    pub fits: Vec<Fit>,
    /// Why it proves nothing all the same; of a look that is not in time it does not matter.
    pub unfit: Option<Unfit>,
    /// What keeps the next stage closed, whatever it shows: what was denied or not said.
    pub unsaid: Vec<(Said, Option<bool>)>,
}

/// The verdicts on a whole record.
#[derive(Clone, PartialEq, Debug)]
pub struct RecordCheck<'r> {
    /// The looks that count, one a stage at most, in the order of the stages.
    pub stages: Vec<LookChecked<'r>>,
    /// The looks that were superseded by later ones, and those that prove nothing.
    pub earlier: Vec<LookChecked<'r>>,
}

impl LookChecked<'_> {
    /// Is it in time, with no look-alike that would show the same?
    pub fn is_settled(&self) -> bool {
        self.check.verdict() == Verdict::InTime && self.fits.is_empty() && self.unfit.is_none()
    }
}

impl RecordCheck<'_> {
    /// In time only if all three stages were seen to be; out of time if any stage that counts is.
    pub fn verdict(&self) -> Verdict {
        if self.any_out_of_time() {
            Verdict::OutOfTime
        } else if self.any_denied() {
            Verdict::NotProven
        } else if self.stages.len() == Stage::ALL.len()
            && self.stages.iter().all(LookChecked::is_settled)
        {
            Verdict::InTime
        } else {
            Verdict::NotProven
        }
    }

    /// May the tensioner be released? Only if the chain as hung is proven, and nothing later
    /// speaks against it.
    pub fn release_tensioner(&self) -> bool {
        !self.any_out_of_time()
            && self.stages.iter().any(|stage| {
                stage.look.stage == Stage::Hung && stage.is_settled() && stage.unsaid.is_empty()
            })
    }

    /// Why the last look at a stage, of which none counts, proves nothing.
    pub fn unfit(&self, stage: Stage) -> Option<&Unfit> {
        if self.stages.iter().any(|seen| seen.look.stage == stage) {
            return None;
        }
        let mut last = self.earlier.iter().rev();
        last.find(|seen| seen.look.stage == stage)?.unfit.as_ref()
    }

    /// The stages of which there is no look that counts.
    pub fn missing(&self) -> impl Iterator<Item = Stage> + '_ {
        Stage::ALL
            .into_iter()
            .filter(|stage| !self.stages.iter().any(|seen| seen.look.stage == *stage))
    }

    /// Was something denied at a stage that counts, that nothing can measure?
    fn any_denied(&self) -> bool {
        let mut unsaid = self.stages.iter().flat_map(|stage| &stage.unsaid);
        unsaid.any(|(_, answer)| answer.is_some())
    }

    fn any_out_of_time(&self) -> bool {
        self.stages
            .iter()
            .any(|stage| stage.check.verdict() == Verdict::OutOfTime)
    }
}

impl Record {
    /// An empty record of `drive`. `spec` is what its file was called; a name that could not be
    /// read back is written in escapes, and of one that is too long the end is kept.
    pub fn new(drive: &Drive, spec: &str) -> Self {
        let shown: Vec<char> = spec
            .chars()
            .flat_map(|c| {
                let hidden = conform::is_unprintable(c);
                let escaped = hidden.then(|| c.escape_unicode());
                escaped.into_iter().flatten().chain((!hidden).then_some(c))
            })
            .collect();
        Self {
            engine: drive.engine().to_owned(),
            spec: shown[shown.len().saturating_sub(MAX_TEXT)..]
                .iter()
                .collect(),
            id: None,
            job: None,
            car: None,
            at: None,
            used_by: None,
            looks: Vec::new(),
        }
    }

    /// What the engine is called.
    pub fn engine(&self) -> &str {
        &self.engine
    }

    /// What the spec file was called.
    pub fn spec(&self) -> &str {
        &self.spec
    }

    /// How many marks were looked at, those that could not be seen included.
    pub fn answers(&self) -> usize {
        self.looks
            .iter()
            .map(|look| look.seen.links().len() + look.seen.dots().len() + look.not_seen.len())
            .sum()
    }

    /// The looks that count, of those that may: the last one before the release, the last one of each later
    /// stage that came after it. What was seen before the chain was hung again proves nothing now.
    fn counting(&self, may: impl Fn(usize) -> bool) -> Vec<usize> {
        let mut counting = Vec::new();
        let mut from = 0;
        for stage in Stage::ALL {
            let last = (from..self.looks.len())
                .rev()
                .find(|i| self.looks[*i].stage == stage && may(*i));
            if let Some(last) = last {
                counting.push(last);
                // That one is of another stage than those to come.
                from = last;
            }
        }
        counting
    }

    /// The looks that count, and those that later ones have superseded.
    pub(super) fn split(self) -> (Vec<Look>, Vec<Look>) {
        let counting = self.counting(|i| self.looks[i].stale.is_none());
        let (mut now, mut earlier) = (Vec::new(), Vec::new());
        for (i, look) in self.looks.into_iter().enumerate() {
            if counting.contains(&i) {
                now.push(look);
            } else {
                earlier.push(look);
            }
        }
        (now, earlier)
    }

    /// Works out every verdict again.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn check(&self, drive: &Drive) -> Result<RecordCheck<'_>, CheckError> {
        self.check_with(drive, &[])
    }

    /// The same, where some looks prove nothing for a reason that the record does not know: `unfit`, by the
    /// place of the look. Such a look never makes anything in time; what it says against it counts.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn check_with(
        &self,
        drive: &Drive,
        unfit: &[Option<Unfit>],
    ) -> Result<RecordCheck<'_>, CheckError> {
        let mut all = Vec::with_capacity(self.looks.len());
        // What was seen before something resisted says nothing now, whatever was felt since: it begins anew.
        let mut looks = self.looks.iter();
        let resisted = looks.rposition(|look| look.stale.is_none() && look.resisted());
        for (i, look) in self.looks.iter().enumerate() {
            let check = check(drive, &look.seen)?;
            let unfit = match (&look.stale, unfit.get(i)) {
                (Some(since), _) => Some(Unfit::Stale {
                    since: since.clone(),
                }),
                (None, Some(Some(unfit))) => Some(unfit.clone()),
                (None, _) if resisted.is_some_and(|place| i < place) => Some(Unfit::Stale {
                    since: RESISTED.to_owned(),
                }),
                (None, _) if resisted == Some(i) => Some(Unfit::Resisted),
                (None, _) if check.verdict() == Verdict::InTime => after_turning(drive, look)?,
                (None, _) => None,
            };
            all.push(LookChecked {
                look,
                place: i,
                fits: check.fits().to_vec(),
                unfit,
                unsaid: look.unsaid(drive),
                check,
            });
        }
        let counting = self.counting(|i| {
            let seen = &all[i];
            // What speaks against it counts whenever it was seen, until it was looked at again.
            let against = || {
                (seen.check.verdict() != Verdict::InTime || seen.look.resisted())
                    && !all[i + 1..]
                        .iter()
                        .any(|later| later.look.stage == seen.look.stage)
            };
            seen.look.stale.is_none() && (seen.unfit.is_none() || against())
        });
        let (mut stages, mut earlier) = (Vec::new(), Vec::new());
        for (i, checked) in all.into_iter().enumerate() {
            if counting.contains(&i) {
                stages.push(checked);
            } else {
                earlier.push(checked);
            }
        }
        let dots_in_time = stages.iter().any(|seen: &LookChecked<'_>| {
            seen.look.stage == Stage::Turned
                && seen.check.verdict() == Verdict::InTime
                && !seen.look.seen.dots().is_empty()
        });
        if dots_in_time {
            for seen in &mut stages {
                seen.fits.retain(|fit| fit.explains);
            }
        }
        // What the dots have ruled out of the chain as it was hung, its release does not bring back.
        let hung_settled = stages
            .iter()
            .any(|seen| seen.look.stage == Stage::Hung && seen.is_settled());
        if hung_settled {
            for seen in &mut stages {
                seen.fits.retain(|fit| fit.explains);
            }
        }
        Ok(RecordCheck { stages, earlier })
    }
}
