//! A whole job: what is on the bench, what was seen, tightened and done, as a history that is only
//! added to. What is open, blocked or proven is worked out from it anew each time.

use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::entry::{Authorship, Correction, Entry, Event, Photo};
use crate::job::error::JobError;
use crate::job::fingerprint::fingerprint;
use crate::job::gates;
use crate::job::history;
use crate::job::look::Look;
use crate::job::name::check_name;
use crate::job::record::Record;
use crate::job::status::JobStatus;
use crate::job::write::{entry_body, quote};
use crate::proof::check::CheckError;
use crate::spec::format::{CORRECTIONS, JOB_VERSION, MAX_ENTRIES, MAX_LOOKS, MAX_TEXT};
use crate::spec::source::Source;
use crate::spec::stage::Stage;
use crate::spec::yaml;
use crate::units::timestamp::Timestamp;

/// Most bytes of a correction: two texts, each of their characters four bytes, and what stands around them.
const MAX_CORRECTION: usize = 2 * 4 * MAX_TEXT + 200;
/// How many values one has: its mapping and two for each key.
const VALUES_OF_CORRECTION: usize = 13;

/// The record of a job.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Job {
    pub(super) record: Record,
    pub(super) entries: Vec<Entry>,
    /// The file up to its last line: what stands there is never written anew.
    pub(super) text: String,
    pub(super) sum: String,
    /// The checksum of the first entry.
    pub(super) id: Option<String>,
    /// How many values the file has, as the reader counts them.
    pub(super) values: usize,
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
        Self::begin_on(drive, spec, Car::default(), at, by)
    }

    /// The same, on a car. Where the car can be told from others, every entry needs a name from then on, and
    /// only records of this car are taken.
    ///
    /// # Errors
    /// [`JobError::BadText`] for a name that cannot be kept, [`JobError::NeedsName`] without one.
    pub fn begin_on(
        drive: &Drive,
        spec: &str,
        car: Car,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<Self, JobError> {
        for text in car.texts() {
            check_name(text)?;
        }
        let mut job = Self::empty(drive, Record::new(drive, spec));
        job.push(drive, Entry::new(Some(at), by, Event::Begun { car }))?;
        Ok(job)
    }

    /// The car that it is about; `None` where nothing is known by which it could be told from others.
    pub fn car(&self) -> Option<&Car> {
        match &self.entries.first()?.event {
            Event::Begun { car } if car.is_known() => Some(car),
            _ => None,
        }
    }

    /// Attaches a photo: what tells its file from any other is kept, and not the photo itself.
    ///
    /// # Errors
    /// [`JobError`] if it cannot be kept, or its name stands for a photo already.
    pub fn attach(
        &mut self,
        drive: &Drive,
        photo: Photo,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<(), JobError> {
        self.refuse_earlier(at)?;
        for text in [&photo.file].into_iter().chain(&photo.about) {
            check_name(text)?;
        }
        for (entry, number) in self.entries.iter().zip(1..) {
            if let Event::Photo(own) = &entry.event
                && own.file == photo.file
                && !entry.is_void()
            {
                return Err(JobError::PhotoTwice {
                    same: (own.size, &own.checksum) == (photo.size, &photo.checksum),
                    file: photo.file,
                    entry: number,
                });
            }
        }
        self.push(drive, Entry::new(Some(at), by, Event::Photo(photo)))
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
        let values = values_of(&format!("{text}{}", history::last_line(&sum)));
        Self {
            record,
            entries: Vec::new(),
            text,
            sum,
            id: None,
            values,
        }
    }

    /// The job as a file.
    pub fn to_yaml(&self) -> String {
        format!("{}{}", self.text, history::last_line(&self.sum))
    }

    /// The number of this job: the checksum of its first entry. Empty before there is one.
    pub fn id(&self) -> &str {
        self.id.as_deref().unwrap_or_default()
    }

    /// What was seen.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// The history, the earliest entry first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Adds a look that was made just now.
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
        let look = Look {
            at: Some(at),
            by: by.map(str::to_owned),
            ..look
        };
        self.push_look(drive, look, Some(at), by, None)
    }

    /// Adds the looks of a record that are not in it yet. What they prove here is another matter:
    /// [`Job::status`] tells.
    ///
    /// # Errors
    /// [`JobError`] if the record is another job's, or says that it was made later than now, or if nothing in
    /// it is new. Nothing has changed then.
    pub fn take(
        &mut self,
        drive: &Drive,
        record: &Record,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<(), JobError> {
        self.refuse_earlier(at)?;
        if record.job.as_deref().is_some_and(|job| job != self.id()) {
            return Err(JobError::OfAnotherJob);
        }
        if let Some(used) = &record.used_by
            && used.job != self.id()
        {
            return Err(JobError::Used { by: used.clone() });
        }
        if let Some(car) = self.car()
            && record.job.is_none()
            && record.used_by.is_none()
        {
            match &record.car {
                Some(other) if car.is(other) => {}
                Some(_) => return Err(JobError::OfAnotherCar),
                None => return Err(JobError::OfNoCar),
            }
        }
        let mut next = self.clone();
        for look in &record.looks {
            if let Some(made) = look.at
                && made > at
            {
                return Err(JobError::FromTheFuture { made });
            }
            let there = next.entries.iter().any(|entry| match &entry.event {
                Event::Look {
                    look: place,
                    record: from,
                } => {
                    // What was gone on with is the look as it is now, and counts anew.
                    next.record.looks.get(*place).is_some_and(|own| {
                        (from.is_some() && *from == record.id && own == look) || own.is_same(look)
                    })
                }
                _ => false,
            });
            if !there {
                next.push_look(drive, look.clone(), Some(at), by, record.id.as_deref())?;
            }
        }
        if next.entries.len() == self.entries.len() {
            return Err(JobError::NothingNew);
        }
        *self = next;
        Ok(())
    }

    /// The looks of this job that count now, so that an interview can go on from them.
    ///
    /// # Errors
    /// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
    pub fn looks_that_count(&self, drive: &Drive, now: Timestamp) -> Result<Record, CheckError> {
        let status = self.status(drive, now)?;
        let mut record = Record {
            looks: Vec::new(),
            ..self.record.clone()
        };
        for seen in status
            .check
            .stages
            .iter()
            .filter(|seen| seen.unfit.is_none())
        {
            record.at = record.at.max(seen.look.at);
            record.looks.push(seen.look.clone());
        }
        Ok(record)
    }

    /// Says of an earlier entry when it was, or that it is void. The entry stays as it is; what is worked out
    /// goes by the correction.
    ///
    /// # Errors
    /// [`JobError`] if it cannot be corrected so.
    pub fn correct(
        &mut self,
        drive: &Drive,
        entry: usize,
        to: Option<Timestamp>,
        why: &str,
        author: Authorship<'_>,
    ) -> Result<(), JobError> {
        let Some(by) = author.by else {
            return Err(JobError::NeedsName);
        };
        let place = entry.wrapping_sub(1);
        let correctable = self.entries.get(place).is_some_and(Entry::is_correctable);
        if !correctable {
            return Err(JobError::NotCorrectable {
                entry,
                entries: self.entries.len(),
            });
        }
        if let Some(to) = to {
            // It keeps its place between the entries around it, those that are void and corrections left out.
            let bound = |entries: &[Entry]| -> Vec<Timestamp> {
                entries
                    .iter()
                    .filter(|entry| !entry.is_void())
                    .filter(|entry| !matches!(entry.event, Event::Corrected { .. }))
                    .filter_map(Entry::when)
                    .collect()
            };
            let after = bound(&self.entries[..place]).into_iter().max();
            let before = bound(&self.entries[place + 1..])
                .into_iter()
                .chain([author.at])
                .min();
            let fits =
                after.is_none_or(|after| after <= to) && before.is_none_or(|before| to <= before);
            if !fits {
                return Err(JobError::OutOfOrder { after, before });
            }
        }
        let event = Event::Corrected {
            entry,
            to,
            why: why.to_owned(),
        };
        self.push(drive, Entry::new(Some(author.at), Some(by), event))?;
        self.entries[place].corrected = Some(Correction {
            to,
            by: Some(by.to_owned()),
            why: why.to_owned(),
        });
        Ok(())
    }

    pub(super) fn refuse_earlier(&self, at: Timestamp) -> Result<(), JobError> {
        let times = self.entries.iter().enumerate();
        let latest = times
            .filter(|(_, entry)| !entry.is_void())
            .filter_map(|(i, entry)| Some((entry.when()?, i + 1)))
            .max();
        match latest {
            Some((last, entry)) if at < last => Err(JobError::TimeGoesBack { last, entry }),
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
        record: Option<&str>,
    ) -> Result<(), JobError> {
        if self.record.looks.len() >= MAX_LOOKS {
            return Err(JobError::Full);
        }
        self.record.looks.push(look);
        let event = Event::Look {
            look: self.record.looks.len() - 1,
            record: record.map(str::to_owned),
        };
        let pushed = self.push(drive, Entry::new(at, by, event));
        if pushed.is_err() {
            self.record.looks.pop();
        }
        pushed
    }

    pub(super) fn push(&mut self, drive: &Drive, entry: Entry) -> Result<(), JobError> {
        let why = entry.overriding.as_ref().map(|overriding| &overriding.why);
        let corrected = match &entry.event {
            Event::Corrected { why, .. } => Some(why),
            _ => None,
        };
        for text in entry.by.iter().chain(why).chain(corrected) {
            check_name(text)?;
        }
        let begins_on_car = matches!(&entry.event, Event::Begun { car } if car.is_known());
        if entry.by.is_none() && (begins_on_car || self.car().is_some()) {
            return Err(JobError::NeedsName);
        }
        let body = entry_body(drive, &self.record, &entry);
        let sum = history::next(&self.sum, &body);
        let line = history::line(&body, &sum);
        let size = self.text.len() + line.len() + history::last_line(&sum).len();
        // What the reader would not read back must not be written.
        // The line is a list of its own here.
        let values = self.values + values_of(&line) - 1;
        // What is wrong in a full history must still be said to be.
        let kept = match &entry.event {
            Event::Corrected { .. } => 0,
            _ => CORRECTIONS,
        };
        if self.entries.len() >= MAX_ENTRIES - kept
            || size > Source::MAX_BYTES - kept * MAX_CORRECTION
            || values > yaml::MAX_NODES - kept * VALUES_OF_CORRECTION
        {
            return Err(JobError::Full);
        }
        self.text.push_str(&line);
        self.values = values;
        self.id.get_or_insert_with(|| sum.clone());
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

/// How many values a text has, as the reader counts them; more than it takes where it takes no more.
fn values_of(text: &str) -> usize {
    let source = Source::new("", text.to_owned().into());
    let root = source.ok().and_then(|source| yaml::read(&source).ok());
    root.map_or(yaml::MAX_NODES + 1, |root| root.values())
}
