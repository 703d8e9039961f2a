//! The commands that write the record of a job.

use super::{JobFile, LookArguments, NewArguments, TickArguments, read};
use crate::cli::hints::Flags;
use crate::cli::{CLEAN, FINDINGS, UNUSABLE, colour_wanted, files, specfile, stream};
use anyhow::{Context as _, Result, anyhow, bail};
use tautmark::{
    Drive, Verdict, check,
    job::{Authorship, Item, Job, JobError, Look, Record, Sight},
    render::look_text,
    spec::Stage,
};

pub(super) fn new(arguments: &NewArguments) -> Result<u8> {
    files::refuse_existing(&arguments.output)?;
    let Some((source, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let at = arguments.said.time.time()?;
    let job = Job::begin(&drive, source.name(), at, arguments.said.by.as_deref())?;
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
        at: arguments.said.time.time()?,
        by: arguments.said.by.as_deref(),
        overriding: arguments.overriding.as_deref(),
    };
    changed(&arguments.job, |drive, job| {
        let mut ticked = job.clone();
        for item in &items {
            match ticked.tick(drive, item, author) {
                Ok(()) => {}
                Err(error) if error.is_refusal() => {
                    stream::error(&format!("refused: {error}\n"));
                    return Ok(FINDINGS);
                }
                Err(error) => return Err(with_flag(error)),
            }
        }
        *job = ticked;
        Ok(CLEAN)
    })
}

pub(super) fn look(arguments: &LookArguments) -> Result<u8> {
    let at = arguments.said.time.time()?;
    let by = arguments.said.by.as_deref();
    let mut shown = String::new();
    let status = changed(&arguments.job, |drive, job| {
        let looks = match &arguments.record {
            Some(path) => {
                let source = specfile::source_of(path, "a record")?;
                let reading = Record::read(&source, drive);
                specfile::report(&source, reading.findings.iter());
                match reading.record {
                    Some(record) => record.looks,
                    None => return Ok(UNUSABLE),
                }
            }
            None => vec![seen(arguments, drive)?],
        };
        let mut in_time = true;
        for look in looks {
            let checked = check(drive, &look.seen)?;
            in_time &= checked.verdict() == Verdict::InTime;
            let fits = checked.fits();
            shown = look_text(drive, &look, &checked, fits, &Flags, colour_wanted());
            job.look(drive, look, at, by).map_err(with_flag)?;
        }
        Ok(if in_time { CLEAN } else { FINDINGS })
    })?;
    // Only once it is kept.
    stream::output(&shown)?;
    Ok(status)
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
    if seen.links().is_empty() && seen.dots().is_empty() && not_seen.is_empty() {
        bail!("nothing was looked at (give what was seen: --link SHAFT=SEEN, --dot SHAFT=SEEN)");
    }
    Ok(Look {
        stage,
        seen,
        not_seen,
    })
}

/// Reads a job, lets `change` change it, and writes it, with no other program in between. Where
/// `change` fails nothing is written.
fn changed(file: &JobFile, change: impl FnOnce(&Drive, &mut Job) -> Result<u8>) -> Result<u8> {
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
    let status = change(&drive, &mut job)?;
    if job.entries().len() > before {
        files::replace(&path, &job.to_yaml())?;
    }
    Ok(status)
}

/// The error with the flag that remedies it: the library knows no flags.
fn with_flag(error: JobError) -> anyhow::Error {
    let remedy = match &error {
        JobError::NeedsName => "--by NAME",
        JobError::StageTurns {
            stage: Stage::Turned,
        } => "--turned 2",
        JobError::StageTurns { .. } => "leave out --turned, or is it --stage turned?",
        _ => return error.into(),
    };
    anyhow!("{error} ({remedy})")
}
