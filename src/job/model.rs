//! A whole job: what is on the bench, what was seen, tightened and done, as a history that is only
//! added to. What is open, blocked or proven is worked out from it anew each time.

use crate::drive::model::Drive;
use crate::drive::plan::{JobStep, Plan};
use crate::job::history;
use crate::job::record::{self, Look, Record, RecordCheck, fingerprint, look_line, quote};
use crate::spec::conform::{is_unprintable, nearest};
use crate::spec::finding::{self, Finding, RecordProblem, Severity};
use crate::spec::format::{self, JOB_VERSION, MAX_ENTRIES, MAX_LOOKS, MAX_TEXT};
use crate::spec::source::Source;
use crate::spec::stage::{Gate, Stage};
use crate::spec::values::{exact, text, written};
use crate::spec::yaml::{Node, Value};
use crate::timing::check::Verdict;
use crate::units::quantity::{Exact, OutOfRange};
use crate::units::timestamp::Timestamp;
use std::fmt;

/// What one entry of a history says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Event {
    /// The record was begun.
    Begun,
    /// So many of a part, or of a single-use fastener, are on the bench.
    OnHand {
        /// Its name in the spec.
        kit: String,
        /// How many.
        count: u32,
    },
    /// It is ordered.
    Ordered {
        /// Its name in the spec.
        kit: String,
    },
    /// A kind of fastener was tightened.
    Torque {
        /// Its name in the spec.
        fastener: String,
        /// Every stage, as the spec had it then.
        to: String,
    },
    /// A step was done.
    Step {
        /// Its name in the spec.
        step: String,
    },
    /// The drive was looked at: the place among the looks of the record.
    Look(usize),
}

/// One entry of a history.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// When; `None` where it was taken over from a record without times.
    pub at: Option<Timestamp>,
    /// By whom, if it was said.
    pub by: Option<String>,
    /// What.
    pub event: Event,
    /// What stood against it, if it was done all the same.
    pub overriding: Option<Overriding>,
}

/// Something done against what stood in its way.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Overriding {
    /// The reason that was given.
    pub why: String,
    /// What stood against it, in words.
    pub against: Vec<String>,
}

/// The record of a job.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Job {
    record: Record,
    entries: Vec<Entry>,
    /// The file up to its last line: what stands there is never written anew.
    text: String,
    sum: String,
}

/// What reading a job came to.
#[derive(Clone, Debug)]
pub struct JobReading {
    /// The job; `None` if a finding is an error.
    pub job: Option<Job>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
}

/// What somebody says is done.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Item {
    /// `part:NAME`, `part:NAME=COUNT` or `part:NAME=COUNTxLENGTH`.
    OnHand {
        /// Its name in the spec.
        kit: String,
        /// How many are there; as many as are needed where it is not said.
        count: Option<u32>,
        /// How long they are in mm, as measured.
        length: Option<Exact>,
    },
    /// `ordered:NAME`.
    Ordered(String),
    /// `torque:NAME`.
    Torque(String),
    /// `step:NAME`.
    Step(String),
}

impl std::str::FromStr for Item {
    type Err = JobError;

    fn from_str(text: &str) -> Result<Self, JobError> {
        let form = || JobError::Form {
            text: text.to_owned(),
        };
        let (kind, name) = text.split_once(':').ok_or_else(form)?;
        match kind {
            "ordered" => Ok(Self::Ordered(name.to_owned())),
            "torque" => Ok(Self::Torque(name.to_owned())),
            "step" => Ok(Self::Step(name.to_owned())),
            "part" => {
                let Some((kit, amount)) = name.split_once('=') else {
                    return Ok(Self::OnHand {
                        kit: name.to_owned(),
                        count: None,
                        length: None,
                    });
                };
                let (count, length) = match amount.split_once('x') {
                    Some((count, length)) => (
                        count,
                        Some(Exact::parse(length.trim()).map_err(|_| form())?),
                    ),
                    None => (amount, None),
                };
                let count: u32 = count.trim().parse().map_err(|_| form())?;
                if count > 1_000_000 {
                    return Err(form());
                }
                Ok(Self::OnHand {
                    kit: kit.to_owned(),
                    count: Some(count),
                    length,
                })
            }
            _ => Err(form()),
        }
    }
}

/// Who does something, when, and for what reason against what stands in its way.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Entering<'t> {
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: Option<&'t str>,
    /// The reason, if what stands against it is to be overridden.
    pub overriding: Option<&'t str>,
}

/// Why something cannot be taken into a job. Nothing has changed then.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum JobError {
    /// Not one of the forms.
    Form {
        /// As given.
        text: String,
    },
    /// The spec has no such thing.
    Unknown {
        /// What it should be.
        what: &'static str,
        /// As given.
        name: String,
        /// The nearest there is.
        nearest: Option<String>,
    },
    /// Fasteners of another length than the spec says.
    WrongLength {
        /// Their name.
        name: String,
        /// As measured, in mm.
        found: Exact,
        /// As the spec has it, in mm.
        expected: Exact,
    },
    /// It is done already.
    AlreadyDone {
        /// What.
        item: String,
    },
    /// Something stands against it.
    Blocked {
        /// What was to be done.
        item: String,
        /// What stands against it.
        blocks: Vec<Block>,
    },
    /// Crank turns that do not belong to the stage.
    StageTurns {
        /// The stage.
        stage: Stage,
    },
    /// An override, or a sign-off, of nobody.
    NeedsName,
    /// Before the last entry.
    TimeGoesBack {
        /// When that was.
        last: Timestamp,
    },
    /// A name or a reason that cannot be kept.
    BadText,
    /// The record takes no more.
    Full,
    /// A number that cannot be held; the bounds of [`Drive`] prevent it.
    OutOfRange,
}

impl JobError {
    /// Is it a matter of what was done before, rather than of how it was said?
    pub fn is_refusal(&self) -> bool {
        matches!(
            self,
            Self::Blocked { .. } | Self::AlreadyDone { .. } | Self::WrongLength { .. }
        )
    }
}

impl From<OutOfRange> for JobError {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form { text } => write!(
                f,
                "'{text}' is none of part:NAME, part:NAME=COUNT, part:NAME=COUNTxLENGTH, ordered:NAME, torque:NAME, step:NAME"
            ),
            Self::Unknown {
                what,
                name,
                nearest,
            } => {
                write!(f, "the spec has no {what} '{name}'")?;
                match nearest {
                    Some(nearest) => write!(f, " (did you mean '{nearest}'?)"),
                    None => Ok(()),
                }
            }
            Self::WrongLength {
                name,
                found,
                expected,
            } => write!(
                f,
                "'{name}' must be {expected} mm long, these are {found} mm (get the right ones before anything is taken apart)"
            ),
            Self::AlreadyDone { item } => write!(f, "{item} is done already"),
            Self::Blocked { item, blocks } => {
                let blocks: Vec<String> = blocks.iter().map(Block::to_string).collect();
                write!(f, "{item} is blocked: {}", blocks.join("; "))
            }
            Self::StageTurns {
                stage: Stage::Turned,
            } => {
                f.write_str("at stage turned the crankshaft was turned (say how often: --turned 2)")
            }
            Self::StageTurns { stage } => write!(
                f,
                "at stage {} the crankshaft was not turned yet (leave --turned out, or is it stage turned?)",
                stage.word()
            ),
            Self::NeedsName => {
                f.write_str("an override or a sign-off needs a name that stands for it (--by NAME)")
            }
            Self::TimeGoesBack { last } => write!(
                f,
                "this would be before the last entry, {last} (is the clock right?)"
            ),
            Self::BadText => write!(
                f,
                "a name or reason must be of printable characters, 1 to {MAX_TEXT}"
            ),
            Self::Full => write!(
                f,
                "this record takes no more: at most {MAX_ENTRIES} entries and {} KiB",
                Source::MAX_BYTES / 1024
            ),
            Self::OutOfRange => f.write_str("a number cannot be held"),
        }
    }
}

impl std::error::Error for JobError {}

/// What stands against a step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Block {
    /// An earlier step is not done.
    NotDone {
        /// Its name.
        step: String,
    },
    /// Parts are not on the bench.
    Missing {
        /// The part or single-use fastener.
        kit: String,
        /// How many are lacking.
        lacking: u32,
    },
    /// A kind of fastener is not confirmed to be tightened.
    Torque {
        /// Its name.
        fastener: String,
    },
    /// The marks are not proven in time.
    Marks {
        /// At this stage.
        stage: Stage,
        /// The verdict; `None` if they were not looked at.
        verdict: Option<Verdict>,
    },
    /// An earlier step makes it wait.
    Waiting {
        /// That step.
        step: String,
        /// Until then.
        until: Timestamp,
    },
}

impl fmt::Display for Block {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotDone { step } => write!(f, "step {step} is not done"),
            Self::Missing { kit, lacking } => {
                write!(f, "{kit} is not on the bench ({lacking} missing)")
            }
            Self::Torque { fastener } => write!(f, "torque of {fastener} is not confirmed"),
            Self::Marks { stage, verdict } => {
                let known = match verdict {
                    None => "not looked at",
                    Some(Verdict::InTime) => "in time",
                    Some(Verdict::OutOfTime) => "out of time",
                    Some(Verdict::NotProven) => "not proven",
                };
                write!(f, "the marks at stage {} are {known}", stage.word())
            }
            Self::Waiting { step, until } => {
                write!(f, "{step} must be left alone until {}", until.in_words())
            }
        }
    }
}

/// How a step stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Standing {
    /// Done, and still proven; or done by an override.
    Done,
    /// Can be done now; what still stands against it is its own work.
    Open,
    /// Something stands against it.
    Blocked,
}

/// How a step of the plan stands.
#[derive(Clone, PartialEq, Debug)]
pub struct StepStatus<'j> {
    /// The step.
    pub step: &'j JobStep,
    /// How it stands.
    pub standing: Standing,
    /// Its entry, if it was said to be done and nothing has opened it again since.
    pub entry: Option<&'j Entry>,
    /// What stands against it; against one that is done by an override, what still does.
    pub blocks: Vec<Block>,
}

/// What has to be on the bench.
#[derive(Clone, PartialEq, Debug)]
pub struct KitStatus<'j> {
    /// Its name in the spec.
    pub name: &'j str,
    /// What it is.
    pub about: String,
    /// Must it not be fitted twice?
    pub single_use: bool,
    /// How many the job takes.
    pub needed: u32,
    /// How many are there.
    pub here: u32,
    /// Its order, if it was ordered.
    pub ordered: Option<&'j Entry>,
}

impl KitStatus<'_> {
    /// How many are lacking.
    pub fn lacking(&self) -> u32 {
        self.needed.saturating_sub(self.here)
    }
}

/// How a whole job stands.
#[derive(Clone, PartialEq, Debug)]
pub struct JobStatus<'j> {
    /// The time for which it was worked out.
    pub now: Timestamp,
    /// The verdicts on what was seen.
    pub check: RecordCheck<'j>,
    /// Everything that has to be on the bench, in the order of the spec.
    pub kit: Vec<KitStatus<'j>>,
    /// For each kind of fastener of the plan, the entry that confirms it.
    pub torques: Vec<Option<&'j Entry>>,
    /// The steps, in order.
    pub steps: Vec<StepStatus<'j>>,
    /// Every entry that overrode something, for ever.
    pub overrides: Vec<&'j Entry>,
    /// Entries about what the spec no longer has.
    pub unknown: Vec<&'j Entry>,
}

impl JobStatus<'_> {
    /// Is the last step done, every stage proven in time, and nothing ever overridden?
    pub fn is_proven(&self) -> bool {
        self.is_signed_off() && self.overrides.is_empty() && self.check.verdict() == Verdict::InTime
    }

    /// Is every step done, the sign-off too?
    pub fn is_signed_off(&self) -> bool {
        self.steps
            .iter()
            .all(|step| step.standing == Standing::Done)
    }

    /// Was nothing taken apart yet?
    pub fn is_before_start(&self) -> bool {
        self.steps.iter().all(|step| step.entry.is_none())
    }
}

impl Job {
    /// A new one, of `drive`. `spec` is what its file was called.
    ///
    /// ```
    /// # use tautmark::{Drive, Source};
    /// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
    /// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
    /// use tautmark::job::Job;
    ///
    /// let job = Job::begin(&drive, source.name(), "2026-11-25T08:00:00Z".parse()?, Some("Robin"))?;
    /// let status = job.status(&drive, "2026-11-25T08:05:00Z".parse()?)?;
    /// assert!(status.is_before_start() && !status.is_proven());
    /// // What is written reads back equal.
    /// let file = Source::new("job.yaml", job.to_yaml().into())?;
    /// assert_eq!(Job::read(&file, &drive).job.as_ref(), Some(&job));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`JobError::BadText`] for a name that cannot be kept.
    pub fn begin(
        drive: &Drive,
        spec: &str,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<Self, JobError> {
        let mut job = Self::empty(drive, Record::new(drive, spec));
        job.push(drive, Some(at), by, Event::Begun, None)?;
        Ok(job)
    }

    fn empty(drive: &Drive, record: Record) -> Self {
        let (engine, spec, print) = (record.engine(), record.spec(), fingerprint(drive));
        let text = format!(
            "# A job, kept by tautmark: only ever added to, by `tautmark job`. Each entry has a checksum over\n\
             # itself and the one before, which shows accidents and clumsy edits but no forgery. No verdict\n\
             # stands here: each is worked out again from what was seen.\n\
             tautmark_record: {JOB_VERSION}\n\
             engine: {}\n\
             spec: {}\n\
             drive: {} # fingerprint of the teeth, links and marks\n\
             history:\n",
            quote(engine),
            quote(spec),
            quote(&print)
        );
        let sum = history::seed(engine, spec, &print);
        Self {
            record,
            entries: Vec::new(),
            text,
            sum,
        }
    }

    /// Reads a job. A record without a history, as `ask` keeps it, is taken over, its looks without
    /// times.
    pub fn read(source: &Source, drive: &Drive) -> JobReading {
        let mut findings = Vec::new();
        let job = read(source, drive, &mut findings);
        finding::in_order(&mut findings, Drive::MAX_FINDINGS);
        let broken = findings
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        JobReading {
            job: job.filter(|_| !broken),
            findings,
        }
    }

    /// The job as a file.
    pub fn to_yaml(&self) -> String {
        format!("{}{}", self.text, history::last_line(&self.sum))
    }

    /// What was seen.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// The history, the earliest entry first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Adds a look.
    ///
    /// # Errors
    /// [`JobError`] if it cannot be added.
    pub fn look(
        &mut self,
        drive: &Drive,
        look: Look,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<(), JobError> {
        self.refuse_earlier(at)?;
        if (look.stage == Stage::Turned) == look.seen.turned().is_zero() {
            return Err(JobError::StageTurns { stage: look.stage });
        }
        if self.record.looks.len() >= MAX_LOOKS {
            return Err(JobError::Full);
        }
        self.record.looks.push(look);
        let event = Event::Look(self.record.looks.len() - 1);
        let pushed = self.push(drive, Some(at), by, event, None);
        if pushed.is_err() {
            self.record.looks.pop();
        }
        pushed
    }

    /// Adds that something is done, if nothing stands against it, or that is overridden.
    ///
    /// # Errors
    /// [`JobError`] if it cannot be added.
    pub fn tick(
        &mut self,
        drive: &Drive,
        item: &Item,
        doing: Entering<'_>,
    ) -> Result<(), JobError> {
        self.refuse_earlier(doing.at)?;
        let status = self.status(drive, doing.at)?;
        let (event, blocks) = deed_of(drive.plan(), &status, item)?;
        if matches!(&event, Event::Step { step } if is_sign_off(drive.plan(), step))
            && doing.by.is_none()
        {
            return Err(JobError::NeedsName);
        }
        let overriding = match doing.overriding {
            _ if blocks.is_empty() => None,
            Some(_) if doing.by.is_none() => return Err(JobError::NeedsName),
            Some(why) => Some(Overriding {
                why: why.to_owned(),
                against: blocks.iter().map(Block::to_string).collect(),
            }),
            None => {
                return Err(JobError::Blocked {
                    item: item_words(item),
                    blocks,
                });
            }
        };
        self.push(drive, Some(doing.at), doing.by, event, overriding)
    }

    fn refuse_earlier(&self, at: Timestamp) -> Result<(), JobError> {
        match self.entries.iter().rev().find_map(|entry| entry.at) {
            Some(last) if at < last => Err(JobError::TimeGoesBack { last }),
            _ => Ok(()),
        }
    }

    fn push(
        &mut self,
        drive: &Drive,
        at: Option<Timestamp>,
        by: Option<&str>,
        event: Event,
        overriding: Option<Overriding>,
    ) -> Result<(), JobError> {
        let why = overriding
            .as_ref()
            .map(|overriding| overriding.why.as_str());
        for text in by.into_iter().chain(why) {
            let length = text.chars().count();
            if length == 0 || length > MAX_TEXT || text.chars().any(is_unprintable) {
                return Err(JobError::BadText);
            }
        }
        let entry = Entry {
            at,
            by: by.map(str::to_owned),
            event,
            overriding,
        };
        let body = self.body(drive, &entry);
        let sum = history::next(&self.sum, &body);
        let line = history::line(&body, &sum);
        let size = self.text.len() + line.len() + history::last_line(&sum).len();
        if self.entries.len() >= MAX_ENTRIES || size > Source::MAX_BYTES {
            return Err(JobError::Full);
        }
        self.text.push_str(&line);
        self.sum = sum;
        self.entries.push(entry);
        Ok(())
    }

    /// An entry as it is written, up to its checksum.
    fn body(&self, drive: &Drive, entry: &Entry) -> String {
        let mut out = match &entry.event {
            Event::Begun => "{ job: begun, ".to_owned(),
            Event::OnHand { kit, count } => {
                format!("{{ part: {}, count: {count}, ", quote(kit))
            }
            Event::Ordered { kit } => format!("{{ ordered: {}, ", quote(kit)),
            Event::Torque { fastener, to } => {
                format!("{{ torque: {}, to: {}, ", quote(fastener), quote(to))
            }
            Event::Step { step } => format!("{{ step: {}, ", quote(step)),
            Event::Look(i) => match self.record.looks.get(*i) {
                Some(look) => format!("{{ look: {}, ", look_line(drive, look)),
                None => "{ ".to_owned(),
            },
        };
        if let Some(at) = entry.at {
            out.push_str(&format!("at: {}, ", quote(&at.to_string())));
        }
        if let Some(by) = &entry.by {
            out.push_str(&format!("by: {}, ", quote(by)));
        }
        if let Some(Overriding { why, against }) = &entry.overriding {
            let against: Vec<String> = against.iter().map(|text| quote(text)).collect();
            out.push_str(&format!(
                "override: {{ why: {}, against: [{}] }}, ",
                quote(why),
                against.join(", ")
            ));
        }
        out
    }

    /// How the job stands at a time; every verdict is worked out again.
    ///
    /// # Errors
    /// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
    pub fn status<'j>(
        &'j self,
        drive: &'j Drive,
        now: Timestamp,
    ) -> Result<JobStatus<'j>, OutOfRange> {
        let check = self.record.check(drive)?;
        let plan = drive.plan();
        let mut replay = Replay::of(plan);
        for entry in &self.entries {
            replay.take(entry, &self.record);
        }
        let mut steps: Vec<StepStatus<'j>> = Vec::with_capacity(plan.steps().len());
        for (i, step) in plan.steps().iter().enumerate() {
            let entry = replay.ticked[i];
            let own = own_blocks(plan, i, &replay, &check);
            let overridden = entry.is_some_and(|entry| entry.overriding.is_some());
            let mut blocks = Vec::new();
            let standing = if entry.is_some() && (own.is_empty() || overridden) {
                blocks = own;
                Standing::Done
            } else {
                if let Some(open) = steps.iter().find(|step| step.standing != Standing::Done) {
                    blocks.push(Block::NotDone {
                        step: open.step.name.clone(),
                    });
                }
                for before in &steps {
                    if let (Some(minutes), Some(at)) =
                        (before.step.wait, before.entry.and_then(|entry| entry.at))
                        && now < at.plus_minutes(minutes)
                    {
                        blocks.push(Block::Waiting {
                            step: before.step.name.clone(),
                            until: at.plus_minutes(minutes),
                        });
                    }
                }
                blocks.extend(kit_blocks(plan, i, &replay));
                blocks.extend(own);
                // What is left of the step's own work does not keep anybody from it.
                let own_work = |block: &Block| match block {
                    Block::Torque { .. } => true,
                    Block::Marks { .. } => step.gate.is_none(),
                    _ => false,
                };
                if blocks.iter().all(own_work) {
                    Standing::Open
                } else {
                    Standing::Blocked
                }
            };
            steps.push(StepStatus {
                step,
                standing,
                entry,
                blocks,
            });
        }
        let overrides = self.entries.iter();
        Ok(JobStatus {
            now,
            check,
            kit: replay.kit,
            torques: replay.torques,
            steps,
            overrides: overrides
                .filter(|entry| entry.overriding.is_some())
                .collect(),
            unknown: replay.unknown,
        })
    }
}

/// The history gone through, entry by entry.
struct Replay<'j> {
    plan: &'j Plan,
    kit: Vec<KitStatus<'j>>,
    torques: Vec<Option<&'j Entry>>,
    ticked: Vec<Option<&'j Entry>>,
    unknown: Vec<&'j Entry>,
}

impl<'j> Replay<'j> {
    fn of(plan: &'j Plan) -> Self {
        let parts = plan.parts().iter().map(|part| KitStatus {
            name: &part.name,
            about: part.about.clone(),
            single_use: part.single_use,
            needed: part.quantity,
            here: 0,
            ordered: None,
        });
        let bolts = plan.fasteners().iter().filter(|kind| kind.single_use);
        let bolts = bolts.map(|kind| KitStatus {
            name: &kind.name,
            about: format!(
                "{}, {} x {} mm",
                kind.component,
                kind.thread,
                crate::units::torque::decimal(kind.length)
            ),
            single_use: true,
            needed: kind.count,
            here: 0,
            ordered: None,
        });
        Self {
            plan,
            kit: parts.chain(bolts).collect(),
            torques: vec![None; plan.fasteners().len()],
            ticked: vec![None; plan.steps().len()],
            unknown: Vec::new(),
        }
    }

    fn take(&mut self, entry: &'j Entry, record: &Record) {
        let known = match &entry.event {
            Event::Begun => true,
            Event::OnHand { kit, count } => self.kit(kit).map(|kit| kit.here = *count).is_some(),
            Event::Ordered { kit } => self.kit(kit).map(|kit| kit.ordered = Some(entry)).is_some(),
            // Tightened to other figures than the spec has now is not tightened.
            Event::Torque { fastener, to } => {
                let kinds = self.plan.fasteners();
                let found = kinds.iter().position(|kind| kind.name == *fastener);
                if let Some(i) = found {
                    self.torques[i] = (kinds[i].torque_text() == *to).then_some(entry);
                }
                found.is_some()
            }
            Event::Step { step } => {
                let found = self.plan.steps().iter().position(|own| own.name == *step);
                if let Some(i) = found {
                    self.ticked[i] = Some(entry);
                }
                found.is_some()
            }
            Event::Look(i) => {
                if let Some(look) = record.looks.get(*i) {
                    self.open_after(look.stage);
                }
                true
            }
        };
        if !known {
            self.unknown.push(entry);
        }
    }

    /// A look at a stage opens its step and every one after it again: what was done then was done on
    /// what may no longer be so. What was fitted after it and must not be fitted twice is used up.
    fn open_after(&mut self, stage: Stage) {
        let steps = self.plan.steps();
        let own = steps.iter().position(|step| step.stage == Some(stage));
        if let Some(own) = own {
            self.ticked[own] = None;
        }
        let after = own.map_or(steps.len(), |own| own + 1);
        for (i, step) in steps.iter().enumerate().skip(after) {
            let done = self.ticked[i].take().is_some();
            for part in &step.parts {
                let part = &self.plan.parts()[*part];
                if done && part.single_use {
                    self.use_up(&part.name);
                }
            }
            for kind in &step.fasteners {
                let tightened = self.torques[*kind].take().is_some();
                let kind = &self.plan.fasteners()[*kind];
                if (done || tightened) && kind.single_use {
                    self.use_up(&kind.name);
                }
            }
        }
    }

    fn use_up(&mut self, name: &str) {
        if let Some(kit) = self.kit(name) {
            kit.here = kit.here.saturating_sub(kit.needed);
            kit.ordered = None;
        }
    }

    fn kit(&mut self, name: &str) -> Option<&mut KitStatus<'j>> {
        self.kit.iter_mut().find(|kit| kit.name == name)
    }
}

/// What has to be on the bench for a step: before the first one, everything.
fn kit_blocks(plan: &Plan, step: usize, replay: &Replay<'_>) -> Vec<Block> {
    let own = &plan.steps()[step];
    let takes = |name: &str| {
        own.parts.iter().any(|i| plan.parts()[*i].name == name)
            || own
                .fasteners
                .iter()
                .any(|i| plan.fasteners()[*i].name == name)
    };
    replay
        .kit
        .iter()
        .filter(|kit| kit.lacking() > 0 && (step == 0 || takes(kit.name)))
        .map(|kit| Block::Missing {
            kit: kit.name.to_owned(),
            lacking: kit.lacking(),
        })
        .collect()
}

/// What a step itself has to show, so that it is done and stays so.
fn own_blocks(
    plan: &Plan,
    step: usize,
    replay: &Replay<'_>,
    check: &RecordCheck<'_>,
) -> Vec<Block> {
    let step = &plan.steps()[step];
    let mut blocks = Vec::new();
    let all: Vec<usize> = match step.gate {
        Some(Gate::SignOff) => (0..plan.fasteners().len()).collect(),
        _ => step.fasteners.clone(),
    };
    for i in all {
        if replay.torques[i].is_none() {
            blocks.push(Block::Torque {
                fastener: plan.fasteners()[i].name.clone(),
            });
        }
    }
    let verdict = |stage: Stage| {
        let seen = check.stages.iter().find(|seen| seen.look.stage == stage);
        seen.map(|seen| seen.check.verdict)
    };
    for stage in Stage::ALL {
        let verdict = verdict(stage);
        let needed = step.stage == Some(stage)
            || match step.gate {
                None => false,
                // A later stage need not be looked at yet, but nothing seen there may speak
                // against it.
                Some(Gate::Release) => stage == Stage::Hung || verdict == Some(Verdict::OutOfTime),
                Some(Gate::Cover | Gate::SignOff) => true,
            };
        if needed && verdict != Some(Verdict::InTime) {
            blocks.push(Block::Marks { stage, verdict });
        }
    }
    blocks
}

fn is_sign_off(plan: &Plan, name: &str) -> bool {
    plan.steps()
        .iter()
        .any(|step| step.name == name && step.gate == Some(Gate::SignOff))
}

fn item_words(item: &Item) -> String {
    match item {
        Item::OnHand { kit, .. } => format!("part {kit}"),
        Item::Ordered(kit) => format!("the order of {kit}"),
        Item::Torque(name) => format!("torque {name}"),
        Item::Step(name) => format!("step {name}"),
    }
}

/// What an item means in this job, and what stands against it.
fn deed_of(
    plan: &Plan,
    status: &JobStatus<'_>,
    item: &Item,
) -> Result<(Event, Vec<Block>), JobError> {
    let unknown = |what: &'static str, name: &str, known: Vec<&str>| JobError::Unknown {
        what,
        name: name.to_owned(),
        nearest: nearest(name, known.into_iter()).map(str::to_owned),
    };
    let kit = |name: &str| {
        status
            .kit
            .iter()
            .find(|kit| kit.name == name)
            .ok_or_else(|| {
                let known = status.kit.iter().map(|kit| kit.name).collect();
                unknown("part or single-use fastener", name, known)
            })
    };
    match item {
        Item::OnHand {
            kit: name,
            count,
            length,
        } => {
            let found = kit(name)?;
            let kind = plan.fasteners().iter().find(|kind| kind.name == *name);
            match (length, kind) {
                (Some(length), Some(kind)) if *length != kind.length => {
                    return Err(JobError::WrongLength {
                        name: name.clone(),
                        found: *length,
                        expected: kind.length,
                    });
                }
                (Some(_), None) => {
                    return Err(JobError::Form {
                        text: format!("part:{name} with a length"),
                    });
                }
                _ => {}
            }
            let event = Event::OnHand {
                kit: name.clone(),
                count: count.unwrap_or(found.needed),
            };
            Ok((event, Vec::new()))
        }
        Item::Ordered(name) => {
            kit(name)?;
            Ok((Event::Ordered { kit: name.clone() }, Vec::new()))
        }
        Item::Torque(name) => {
            let kinds = plan.fasteners();
            let i = kinds
                .iter()
                .position(|kind| kind.name == *name)
                .ok_or_else(|| {
                    let known = kinds.iter().map(|kind| kind.name.as_str()).collect();
                    unknown("fastener", name, known)
                })?;
            if status.torques[i].is_some() {
                return Err(JobError::AlreadyDone {
                    item: item_words(item),
                });
            }
            let step = status
                .steps
                .iter()
                .find(|step| step.step.fasteners.contains(&i));
            // Tightening comes before the marks of its own step are looked at, and after a gate.
            let blocks = step.map_or_else(Vec::new, |step| {
                let gate = step.step.gate.is_some();
                let against = step.blocks.iter().filter(|block| match block {
                    Block::Torque { .. } => false,
                    Block::Marks { .. } => gate,
                    _ => true,
                });
                against.cloned().collect()
            });
            let event = Event::Torque {
                fastener: name.clone(),
                to: kinds[i].torque_text(),
            };
            Ok((event, blocks))
        }
        Item::Step(name) => {
            let step = status
                .steps
                .iter()
                .find(|step| step.step.name == *name)
                .ok_or_else(|| {
                    let known = plan.steps().iter().map(|step| step.name.as_str());
                    unknown("step", name, known.collect())
                })?;
            if step.standing == Standing::Done {
                return Err(JobError::AlreadyDone {
                    item: item_words(item),
                });
            }
            Ok((Event::Step { step: name.clone() }, step.blocks.clone()))
        }
    }
}

fn read(source: &Source, drive: &Drive, findings: &mut Vec<Finding>) -> Option<Job> {
    let (record, root) = record::read(source, drive, findings)?;
    if !record::is_job(&root) {
        let looks = record.looks.clone();
        let mut job = Job::empty(drive, Record::new(drive, record.spec()));
        for look in looks {
            job.record.looks.push(look);
            let event = Event::Look(job.record.looks.len() - 1);
            // A record holds no more looks than a history takes.
            job.push(drive, None, None, event, None).ok()?;
        }
        return Some(job);
    }
    let mut looks = 0;
    let mut entries = Vec::new();
    if let Some(Value::List(items)) = root.get("history").map(|node| &node.value) {
        for item in items.iter() {
            entries.extend(entry(item, &mut looks, findings));
        }
    }
    Some(Job {
        record,
        entries,
        text: history::without_last_line(source, &root)?.to_owned(),
        sum: text(&root, "last")?.value,
    })
}

fn entry(node: &Node, looks: &mut usize, findings: &mut Vec<Finding>) -> Option<Entry> {
    let found = crate::spec::conform::variant(node, format::ENTRIES)?;
    let get = |key: &str| text(node, key).map(|text| text.value);
    let event = match found.fields[0].key {
        "job" => Event::Begun,
        "part" => Event::OnHand {
            kit: get("part")?,
            count: u32::try_from(exact(node, "count")?.value.floor()).ok()?,
        },
        "ordered" => Event::Ordered {
            kit: get("ordered")?,
        },
        "torque" => Event::Torque {
            fastener: get("torque")?,
            to: get("to")?,
        },
        "step" => Event::Step { step: get("step")? },
        _ => {
            *looks += 1;
            Event::Look(*looks - 1)
        }
    };
    let at = match text(node, "at") {
        None => None,
        Some(at) => match at.value.parse() {
            Ok(time) => Some(time),
            Err(error) => {
                let error: crate::units::timestamp::TimestampError = error;
                findings.push(Finding::new(
                    RecordProblem::EntryUnreadable {
                        reason: error.to_string(),
                    },
                    at.span,
                ));
                None
            }
        },
    };
    let overriding = node.get("override").map(|node| Overriding {
        why: text(node, "why").map_or_else(String::new, |why| why.value),
        against: match node.get("against").map(|node| &node.value) {
            Some(Value::List(items)) => items
                .iter()
                .filter_map(|item| written(item).map(str::to_owned))
                .collect(),
            _ => Vec::new(),
        },
    });
    Some(Entry {
        at,
        by: get("by"),
        event,
        overriding,
    })
}
