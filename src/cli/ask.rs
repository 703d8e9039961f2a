//! `ask`: the check as questions, for a person at the engine.

mod bench;
mod dialogue;
mod draft;
mod screen;
mod view;

use super::{FINDINGS, UNUSABLE, files, specfile};
use anyhow::{Context as _, Result, bail};
use bench::Bench;
use dialogue::Dialogue;
use draft::Draft;
use screen::Screen;
use std::path::PathBuf;
use tautmark::job::{Job, check_name};

/// The check as questions, one mark at a time, for a person at the engine.
///
/// Answer with a number or a single key, then Enter. What nothing can measure is asked with y and n. Every mark is looked at three times: before the
/// tensioner is released, after it, and after turning the engine by hand. A mark that was not seen is
/// never taken to be right.
///
/// Every answer is saved at once in a draft: FILE.draft with --record FILE, else SPEC.ask-draft.yaml
/// in the current folder (SPEC without its folder and ending). Ctrl-C simply quits; the next run
/// offers to continue. An answer that could not be saved is told as NOT KEPT.
///
/// Exit status: 0 in time at all three stages; 1 out of time or not proven; 2 unusable input or usage, or the
/// answers could not be kept.
#[derive(clap::Args)]
pub(crate) struct AskArguments {
    /// The engine's spec file
    #[arg(value_name = "SPEC")]
    spec: PathBuf,
    /// Save the answers to this file, which must not exist yet (`check --record` checks it again)
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// The job that these looks are for: they go into it stage by stage, and no other one can take them
    ///
    /// What keeps a stage closed in the job (a step, a part, a torque) is asked before that stage, and ticked. Each
    /// stage that is in time, and the release, are ticked too. After the last stage the rest of the job is asked, to its
    /// sign-off.
    #[arg(long, value_name = "JOB")]
    job: Option<PathBuf>,
    /// Who looks; needed for a job that knows its car
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

pub(crate) fn run(arguments: &AskArguments) -> Result<u8> {
    let path = &arguments.spec;
    if path.as_os_str() == "-" {
        bail!(
            "the answers come from standard input, so the spec cannot come from there too (name its file)"
        );
    }
    if let Some(record) = &arguments.record {
        files::refuse_existing(record)?;
        files::refuse_unwritable(record)?;
    }
    let Some((source, drive)) = specfile::provable_drive(path)? else {
        return Ok(UNUSABLE);
    };
    let job = match &arguments.job {
        None => None,
        Some(path) => match super::job::read(path, &drive)? {
            Some(job) => Some(job),
            None => return Ok(UNUSABLE),
        },
    };
    let by = arguments.by.as_deref();
    if let Some(by) = by {
        check_name(by).with_context(|| "--by")?;
    }
    let car = job.as_ref().and_then(Job::car);
    if car.is_some() && by.is_none() {
        bail!("this job knows its car, so every look in it needs a name (--by NAME)");
    }
    let bench = match (&arguments.job, &job) {
        (Some(path), Some(job)) => Some(Bench::new(path, job, by)?),
        _ => None,
    };
    let draft = Draft::new(path, arguments.record.as_deref(), arguments.job.as_deref());
    // Two at one draft would each write over what the other has kept.
    let _lock = files::lock_while(&draft.path)
        .with_context(|| format!("'{}' could not be taken for this run", draft.name()))?;
    let mut dialogue = Dialogue {
        screen: Screen::new(),
        draft,
        record: arguments.record.as_deref(),
        spec: source.name(),
        job: job.as_ref().map(Job::id),
        bench,
        car,
        by,
    };
    let Some(mut interview) = dialogue.begin(&drive)? else {
        return Ok(FINDINGS);
    };
    let finished = dialogue.ask(&mut interview)?;
    dialogue.close(&interview, finished)
}
