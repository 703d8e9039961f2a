//! A whole job: what is on the bench, what was seen, tightened and done, as a history that is only
//! added to. What is open, blocked or proven is worked out from it anew each time.

use crate::drive::model::Drive;
use crate::job::entry::{Entry, Event};
use crate::job::error::JobError;
use crate::job::fingerprint::fingerprint;
use crate::job::gates;
use crate::job::history;
use crate::job::look::Look;
use crate::job::record::Record;
use crate::job::status::JobStatus;
use crate::job::write::{entry_body, quote};
use crate::proof::check::CheckError;
use crate::spec::conform::is_unprintable;
use crate::spec::format::{JOB_VERSION, MAX_ENTRIES, MAX_LOOKS, MAX_TEXT};
use crate::spec::source::Source;
use crate::spec::stage::Stage;
use crate::units::timestamp::Timestamp;

/// The record of a job.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Job {
    pub(super) record: Record,
    pub(super) entries: Vec<Entry>,
    /// The file up to its last line: what stands there is never written anew.
    pub(super) text: String,
    pub(super) sum: String,
}

impl Job {
    /// A new one, of `drive`. `spec` is what its file was called.
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
        job.push(drive, Entry::new(Some(at), by, Event::Begun))?;
        Ok(job)
    }

    pub(super) fn empty(drive: &Drive, record: Record) -> Self {
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
        self.push_look(drive, look, Some(at), by)
    }

    pub(super) fn refuse_earlier(&self, at: Timestamp) -> Result<(), JobError> {
        match self.entries.iter().rev().find_map(|entry| entry.at) {
            Some(last) if at < last => Err(JobError::TimeGoesBack { last }),
            _ => Ok(()),
        }
    }

    /// Adds a look whose time and stage are known to be right.
    pub(super) fn push_look(
        &mut self,
        drive: &Drive,
        look: Look,
        at: Option<Timestamp>,
        by: Option<&str>,
    ) -> Result<(), JobError> {
        self.record.looks.push(look);
        let event = Event::Look(self.record.looks.len() - 1);
        let pushed = self.push(drive, Entry::new(at, by, event));
        if pushed.is_err() {
            self.record.looks.pop();
        }
        pushed
    }

    pub(super) fn push(&mut self, drive: &Drive, entry: Entry) -> Result<(), JobError> {
        let why = entry.overriding.as_ref().map(|overriding| &overriding.why);
        for text in entry.by.iter().chain(why) {
            let length = text.chars().count();
            if length == 0 || length > MAX_TEXT || text.chars().any(is_unprintable) {
                return Err(JobError::BadText);
            }
        }
        let body = entry_body(drive, &self.record, &entry);
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

    /// How the job stands at a time; every verdict is worked out again.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn status<'j>(
        &'j self,
        drive: &'j Drive,
        now: Timestamp,
    ) -> Result<JobStatus<'j>, CheckError> {
        gates::status(drive, &self.record, &self.entries, now)
    }
}
