//! The job that the answers are for: taken into it, ticked in it, and kept closed by it.

use super::super::{clock, colour_wanted, files, job};
use super::dialogue::{Dialogue, YES_NO};
use super::screen::{HowMany, Key};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use tautmark::{
    Drive, Seen,
    job::{Answer, Authorship, Block, Closed, Interview, Item, Job, JobError, Passed, Step},
    render::{closed_text, closed_words, printable, still_closed_text},
    spec::Stage,
    units::Timestamp,
};

/// The job of a run.
pub(super) struct Bench<'a> {
    /// Its file, by the one name that its lock has.
    path: PathBuf,
    /// As it was typed.
    name: &'a Path,
    id: String,
    by: Option<&'a str>,
}

/// What is done where the job keeps the next stage closed.
pub(super) enum Gate {
    Open,
    Back,
    /// Every mark again.
    Again,
    Stop,
}

impl<'a> Bench<'a> {
    pub(super) fn new(name: &'a Path, job: &Job, by: Option<&'a str>) -> Result<Self> {
        Ok(Self {
            path: std::fs::canonicalize(name)
                .with_context(|| format!("'{}' could not be opened", name.display()))?,
            name,
            id: job.id().to_owned(),
            by,
        })
    }

    pub(super) fn name(&self) -> String {
        printable(&self.name.to_string_lossy())
    }

    /// The job as it stands in its file.
    pub(super) fn read(&self, drive: &Drive) -> Result<Job> {
        match job::read(&self.path, drive)? {
            Some(job) if job.id() == self.id => Ok(job),
            Some(_) => bail!("'{}' holds another job now", self.name()),
            None => bail!("'{}' can no longer be used", self.name()),
        }
    }

    /// Changes the job in its file, with no other program in between.
    fn change<T>(
        &self,
        drive: &Drive,
        change: impl FnOnce(&mut Job, Timestamp) -> Result<T, JobError>,
    ) -> Result<T> {
        let _lock = files::lock(&self.path)?;
        let mut job = self.read(drive)?;
        let before = job.entries().len();
        let told = change(&mut job, clock::now()?)?;
        if job.entries().len() > before {
            files::replace(&self.path, &job.to_yaml())?;
        }
        Ok(told)
    }

    fn bring(&self, interview: &Interview<'_>, passed: Passed) -> Result<Option<Closed>> {
        let drive = interview.drive();
        self.change(drive, |job, at| {
            job.bring(drive, &interview.record(), passed, at, self.by)
        })
    }

    /// Ticks something in the job; what is to be told if it was not taken.
    fn ticked(&self, drive: &Drive, item: &Item, by: Option<&str>) -> String {
        let ticked = self.change(drive, |job, at| {
            let author = Authorship {
                at,
                by: self.by.or(by),
                overriding: None,
            };
            job.tick(drive, item, author)
        });
        ticked.map_or_else(
            |error| format!("NOT IN THE JOB: {}", printable(&format!("{error:#}"))),
            |()| String::new(),
        )
    }

    /// Takes what was seen into the job where it speaks against something: what is off or resisted must not be
    /// known to this run alone. Marks that were only begun with stay in the draft.
    pub(super) fn warn(&self, interview: &Interview<'_>) -> Result<()> {
        let drive = interview.drive();
        let off = |answer| match answer {
            Answer::Seen(Seen::Teeth(teeth)) => !teeth.is_zero(),
            Answer::Seen(_) => true,
            Answer::NotSeen => false,
        };
        let halted = matches!(interview.step(), Step::Halt(_) | Step::Felt | Step::Done);
        let mut answers = Stage::ALL
            .into_iter()
            .flat_map(|stage| interview.answers(stage));
        if !halted && !interview.repeated() && !answers.any(|(_, answer)| off(answer)) {
            return Ok(());
        }
        self.change(drive, |job, at| {
            match job.take(drive, &interview.record(), at, self.by) {
                Ok(()) | Err(JobError::NothingNew) => Ok(()),
                Err(error) => Err(error),
            }
        })
    }
}

/// Is it what hands the engine over?
fn is_sign_off(drive: &Drive, item: &Item) -> bool {
    let Item::Step(name) = item else { return false };
    let mut steps = drive.plan().steps().iter();
    steps.any(|step| step.name == *name && step.gate == Some(tautmark::spec::Gate::SignOff))
}

impl Dialogue<'_> {
    /// Brings the job along, and asks for what it keeps the next stage closed for, until it is open.
    pub(super) fn gate(&mut self, interview: &Interview<'_>, passed: Passed) -> Result<Gate> {
        let Some(bench) = &self.bench else {
            return Ok(Gate::Open);
        };
        let drive = interview.drive();
        loop {
            let closed = match bench.bring(interview, passed) {
                Ok(None) => return Ok(Gate::Open),
                Ok(Some(closed)) => closed,
                Err(error) => {
                    let text = format!(
                        "NOT IN THE JOB: {}.\n\n1 = try again   0 = back   q = stop\n",
                        printable(&format!("{error:#}"))
                    );
                    match self.screen.choose(&text, &["1", "0"])? {
                        Key::One("1") => continue,
                        Key::One(_) => return Ok(Gate::Back),
                        Key::Stop => return Ok(Gate::Stop),
                    }
                }
            };
            let job = bench.read(drive)?;
            let status = job.status(drive, clock::now()?)?;
            let text = format!(
                "{}\n{}{}",
                drive.engine(),
                self.car_line(),
                closed_text(drive, &status, &closed, colour_wanted())
            );
            if let Some(Item::Old { part, .. }) = &closed.item {
                // As a number: a yes would only say after the program how many there should be.
                let item = |count| Item::Old {
                    part: part.clone(),
                    count: Some(count),
                };
                match self.screen.how_many(&text)? {
                    HowMany::Back => return Ok(Gate::Back),
                    HowMany::Stop => return Ok(Gate::Stop),
                    HowMany::Number(count) => {
                        self.screen.notice = bench.ticked(drive, &item(count), None);
                    }
                }
                continue;
            }
            let Some((item, words)) = closed.item.as_ref().zip(closed_words(&closed)) else {
                // No look at any mark shortens a wait.
                let (again, keys): (_, &[&str]) = match closed.block {
                    Block::Waiting { .. } => ("", &["1", "0"]),
                    _ => ("   2 = look at every mark again", &["1", "2", "0"]),
                };
                let text =
                    format!("{text}1 = look whether it is open now{again}   0 = back   q = stop\n");
                match self.screen.choose(&text, keys)? {
                    Key::One("1") => continue,
                    Key::One("2") => return Ok(Gate::Again),
                    Key::One(_) => return Ok(Gate::Back),
                    Key::Stop => return Ok(Gate::Stop),
                }
            };
            if bench.by.is_none() && is_sign_off(drive, item) {
                // Nobody signs without a name, and whoever has come this far is not sent back for one.
                self.screen.show(&text)?;
                let prompt = "If so, your name, then Enter\nEnter alone = not yet   q = stop\n> ";
                match self.screen.prompt(prompt)? {
                    Some(line) if line.eq_ignore_ascii_case("q") => return Ok(Gate::Stop),
                    None => return Ok(Gate::Stop),
                    Some(line) if line.is_empty() => {
                        self.screen.notice = still_closed_text(drive, &closed);
                    }
                    Some(name) => self.screen.notice = bench.ticked(drive, item, Some(&name)),
                }
                continue;
            }
            let (good, keys) = match item {
                Item::Step(_) => ("y", format!("y = {words}   n = not yet")),
                _ => ("n", format!("y = yes, so it is   n = {words}")),
            };
            let text = format!("{text}{keys}   0 = back   q = stop\n");
            match self.screen.choose_or(&text, &["y", "n", "0"], YES_NO)? {
                Key::One("0") => return Ok(Gate::Back),
                Key::One(key) if key != good => {
                    self.screen.notice = still_closed_text(drive, &closed);
                }
                Key::One(_) => self.screen.notice = bench.ticked(drive, item, None),
                Key::Stop => return Ok(Gate::Stop),
            }
        }
    }
}
