//! The commands that write the record of a job.

use super::{CorrectArguments, JobFile, LookArguments, NewArguments, TickArguments, read};
use crate::cli::hints::Flags;
use crate::cli::{CLEAN, FINDINGS, UNUSABLE, colour_wanted, files, specfile, stream};
use anyhow::{Context as _, Result, anyhow, bail};
use std::path::Path;
use tautmark::{
    Drive, Verdict,
    job::{
        Authorship, Car, Item, Job, JobError, Look, LookChecked, Record, Said, Sight, Unfit, Use,
    },
    render::{look_text, printable, record_text, ticked_text, unfit_text},
    spec::Stage,
    units::{Exact, Timestamp, Turns},
};

pub(super) fn new(arguments: &NewArguments) -> Result<u8> {
    files::refuse_existing(&arguments.output)?;
    let Some((source, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let at = arguments.said.time.time_to_write()?;
    let car = Car {
        order: arguments.order.clone(),
        plate: arguments.plate.clone(),
        engine_number: arguments.engine_number.clone(),
        mileage: arguments.mileage.clone(),
    };
    let by = arguments.said.by.as_deref();
    let job = Job::begin_on(&drive, source.name(), car, at, by).map_err(with_flag)?;
    files::create(&arguments.output, &job.to_yaml())?;
    Ok(CLEAN)
}

pub(super) fn tick(arguments: &TickArguments) -> Result<u8> {
    let items: Vec<Item> = arguments
        .items
        .iter()
        .map(|text| text.parse())
        .collect::<Result<_, _>>()?;
    let author = Authorship {
        at: arguments.said.time.time_to_write()?,
        by: arguments.said.by.as_deref(),
        overriding: arguments.overriding.as_deref(),
    };
    let mut shown = String::new();
    let status = changed(&arguments.job, |drive, job, _| {
        let mut ticked = job.clone();
        for item in &items {
            match ticked.tick(drive, item, author) {
                Ok(()) => {}
                Err(error) if error.is_refusal() => {
                    stream::error(&format!("refused: {error}\n"));
                    // Of the job as it stands: nothing was written.
                    let entries = job.entries().len();
                    let next = ticked_text(drive, job, entries, author.at, false)?;
                    stream::error(&next);
                    return Ok(FINDINGS);
                }
                Err(error) => return Err(with_flag(error)),
            }
        }
        shown = ticked_text(
            drive,
            &ticked,
            job.entries().len(),
            author.at,
            colour_wanted(),
        )?;
        *job = ticked;
        Ok(CLEAN)
    })?;
    // Only once it is kept.
    stream::tell(&shown)?;
    Ok(status)
}

pub(super) fn correct(arguments: &CorrectArguments) -> Result<u8> {
    let author = Authorship {
        at: arguments.said.time.time_to_write()?,
        by: arguments.said.by.as_deref(),
        overriding: None,
    };
    let to = match &arguments.to {
        Some(text) => Some(text.parse().with_context(|| format!("--to '{text}'"))?),
        None => None,
    };
    let mut shown = String::new();
    let status = changed(&arguments.job, |drive, job, _| {
        let before = job.entries().len();
        job.correct(drive, arguments.entry, to, &arguments.why, author)
            .map_err(with_flag)?;
        shown = ticked_text(drive, job, before, author.at, colour_wanted())?;
        Ok(CLEAN)
    })?;
    stream::tell(&shown)?;
    Ok(status)
}

pub(super) fn look(arguments: &LookArguments) -> Result<u8> {
    let at = arguments.said.time.time_to_write()?;
    let by = arguments.said.by.as_deref();
    let mut shown = String::new();
    let status = changed(&arguments.job, |drive, job, file| match &arguments.record {
        Some(path) => taken(path, drive, job, file, at, by, &mut shown),
        None => {
            let look = seen(arguments, drive)?;
            job.look(drive, look, at, by).map_err(with_flag)?;
            let status = job.status(drive, at)?;
            let added = job.record().looks.len() - 1;
            let all = status.check.stages.iter().chain(&status.check.earlier);
            let Some(checked) = all.into_iter().find(|seen| seen.place == added) else {
                bail!("the look was lost (this is a defect)");
            };
            if let Some(unfit) = &checked.unfit {
                shown.push_str(&unfit_text(drive, checked.look, unfit));
            }
            shown.push_str(&look_text(
                drive,
                checked.look,
                &checked.check,
                &checked.fits,
                checked.unfit.as_ref(),
                &Flags,
                colour_wanted(),
            ));
            // What comes next may be done by it: not where something was denied or not said, either.
            let open = checked.check.verdict() == Verdict::InTime
                && checked.unfit.is_none()
                && checked.is_settled()
                && checked.unsaid.is_empty();
            Ok(if open { CLEAN } else { FINDINGS })
        }
    })?;
    // Only once it is kept.
    stream::tell(&shown)?;
    Ok(status)
}

/// Takes the looks of a record into a job, and marks the record as taken, so that no other job takes it.
fn taken(
    path: &Path,
    drive: &Drive,
    job: &mut Job,
    file: &Path,
    at: Timestamp,
    by: Option<&str>,
    shown: &mut String,
) -> Result<u8> {
    let path = &std::fs::canonicalize(path)
        .with_context(|| format!("'{}' could not be opened", path.display()))?;
    // Nobody goes on with it while it is marked.
    let Some(_lock) = files::lock_while(path)
        .with_context(|| format!("'{}' could not be taken", path.display()))?
    else {
        bail!(
            "'{}' could not be marked as taken (nothing was written)",
            path.display()
        );
    };
    let source = specfile::source_of(path, "a record")?;
    let reading = Record::read(&source, drive);
    specfile::report(&source, reading.findings.iter());
    let Some(mut record) = reading.record else {
        return Ok(UNUSABLE);
    };
    let mut with = job.clone();
    let before = with.record().looks.len();
    match with.take(drive, &record, at, by) {
        Ok(()) => {}
        Err(error) if error.is_refusal() => {
            stream::error(&format!("refused: {error}\n"));
            return Ok(FINDINGS);
        }
        Err(error) => return Err(with_flag(error)),
    }
    let status = with.status(drive, at)?;
    let of_job = [&status.check.stages[..], &status.check.earlier].concat();
    // As the record itself has it, but for what proves nothing in this job.
    let mut unfit = Vec::new();
    for look in &record.looks {
        let place = of_job.iter().rev().find(|seen| seen.look == look);
        unfit.push(place.and_then(|seen| seen.unfit.clone()));
    }
    let outcome = record.check_with(drive, &unfit)?;
    let all_fit = outcome
        .earlier
        .iter()
        .all(|seen| matches!(seen.unfit, None | Some(Unfit::Stale { .. })));
    let good =
        all_fit && !outcome.stages.is_empty() && outcome.stages.iter().all(LookChecked::is_settled);
    shown.push_str(&record_text(drive, &outcome, &Flags, colour_wanted()));
    drop(of_job);
    debug_assert!(with.record().looks.len() > before);
    let file_name = file.file_name().unwrap_or(file.as_os_str());
    if record.id.is_some() && record.used_by.is_none() {
        record.used_by = Some(Use {
            job: with.id().to_owned(),
            file: short(&file_name.to_string_lossy()),
            at,
        });
        // Before the job has it: if this fails, neither has anything.
        files::replace(path, &record.to_yaml(drive))?;
    }
    *job = with;
    Ok(if good { CLEAN } else { FINDINGS })
}

/// A name as a record can hold it.
fn short(name: &str) -> String {
    printable(name).chars().take(100).collect()
}

/// What was seen, as it was typed.
fn seen(arguments: &LookArguments, drive: &Drive) -> Result<Look> {
    let word = arguments.stage.as_deref().unwrap_or_default();
    let Some(stage) = Stage::from_word(word) else {
        bail!("--stage '{word}': expected hung, released or turned");
    };
    let seen = arguments.seen.observations(drive)?;
    let mut not_seen: Vec<Sight> = Vec::new();
    for text in &arguments.not_seen {
        let sight = match Sight::named(drive, text) {
            Ok(sight) => sight,
            Err(reason) => bail!("--not-seen '{text}': {reason}"),
        };
        let links = seen.links().iter().map(|(at, _)| Sight::Link(*at));
        let dots = seen.dots().iter().map(|(at, _)| Sight::Dot(*at));
        let mut taken = links.chain(dots).chain(not_seen.iter().copied());
        if taken.any(|other| other.is_same(drive, sight)) {
            bail!("--not-seen '{text}': this mark is already given (once is enough)");
        }
        not_seen.push(sight);
    }
    let felt = match &arguments.felt {
        None => None,
        Some(text) => Some(Turns::new(
            Exact::parse(text).with_context(|| format!("--felt '{text}'"))?,
        )),
    };
    let said = said(&arguments.sayings)?;
    let resisted = said.contains(&(Said::TurnedFree, false));
    if felt.is_some() && !resisted {
        bail!("--felt says where something resisted (add --said turned-free=no, or leave it out)");
    }
    // Whoever felt something stops, and looks at no mark.
    let nothing = seen.links().is_empty() && seen.dots().is_empty() && not_seen.is_empty();
    if nothing && !resisted {
        bail!("nothing was looked at (give what was seen: --link SHAFT=SEEN, --dot SHAFT=SEEN)");
    }
    Ok(Look {
        said,
        felt,
        view: arguments.view.view(drive)?,
        ..Look::new(stage, seen, not_seen)
    })
}

/// What was said, as it was typed.
fn said(sayings: &[String]) -> Result<Vec<(Said, bool)>> {
    let mut said: Vec<(Said, bool)> = Vec::new();
    for text in sayings {
        let (word, answer) = text.split_once('=').unwrap_or((text, "yes"));
        let what = Said::from_word(word);
        let so = match answer {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        };
        match (what, so) {
            (Some(what), Some(so)) if !said.iter().any(|(other, _)| *other == what) => {
                said.push((what, so));
            }
            (Some(_), Some(_)) => bail!("--said '{text}': this is already given (once is enough)"),
            _ => bail!(
                "--said '{text}': expected {}, with =no if it is not so",
                Said::ALL.map(Said::word).join(", ")
            ),
        }
    }
    Ok(said)
}

/// Reads a job, lets `change` change it, and writes it, with no other program in between. Where
/// `change` fails nothing is written.
pub(super) fn changed(
    file: &JobFile,
    change: impl FnOnce(&Drive, &mut Job, &Path) -> Result<u8>,
) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&file.spec.path)? else {
        return Ok(UNUSABLE);
    };
    // One name for one file, however it was named, so that there is one lock.
    let path = std::fs::canonicalize(&file.job)
        .with_context(|| format!("'{}' could not be opened", file.job.display()))?;
    let _lock = files::lock(&path)?;
    let Some(mut job) = read(&path, &drive)? else {
        return Ok(UNUSABLE);
    };
    let before = job.entries().len();
    let status = change(&drive, &mut job, &path)?;
    if job.entries().len() > before {
        files::replace(&path, &job.to_yaml())?;
    }
    Ok(status)
}

/// The error with the flag that remedies it: the library knows no flags.
pub(super) fn with_flag(error: JobError) -> anyhow::Error {
    let remedy = match &error {
        JobError::NeedsName => "--by NAME",
        JobError::StageTurns {
            stage: Stage::Turned,
        } => "--turned 2",
        JobError::TimeGoesBack { entry, .. } => {
            return anyhow!(
                "{error} (tautmark job correct SPEC JOB --entry {entry} --to TIME --why WHY --by NAME)"
            );
        }
        JobError::StageTurns { .. } => "leave out --turned, or is it --stage turned?",
        _ => return error.into(),
    };
    anyhow!("{error} ({remedy})")
}
