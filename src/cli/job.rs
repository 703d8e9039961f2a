//! The job around the chain, kept in a record.

use super::check::SeenArguments;
use super::hints::Flags;
use super::{
    CLEAN, FINDINGS, Format, SpecArgument, UNUSABLE, colour_wanted, files, specfile, stream,
};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use std::time::SystemTime;
use tautmark::{
    Drive, Verdict, check,
    job::{Entering, Item, Job, Look, LookChecked, Record, Sight},
    render::{
        draw_svg, job_html, job_json, job_report_text, job_status_text, json_text, look_text,
        sheet_json, sheet_text,
    },
    spec::Stage,
    timing::{Pose, fits},
    units::Timestamp,
};

/// The job around the chain: parts, steps, torques and gates, in one record.
///
/// The tensioner release, the cover and the sign-off open only when the marks are proven in time.
/// Every verdict is worked out again each time; the record holds what was seen, never a verdict.
///
/// Exit status: 0 done as asked (`status`, `report`: signed off on proof, nothing overridden); 1 not
/// yet, refused, or not in time; 2 unusable input or usage. A refused command writes nothing.
#[derive(clap::Args)]
pub(crate) struct JobArguments {
    #[command(subcommand)]
    command: JobCommand,
}

#[derive(clap::Subcommand)]
enum JobCommand {
    New(NewArguments),
    Status(StatusArguments),
    Tick(TickArguments),
    Look(LookArguments),
    Report(ReportArguments),
    Sheet(SheetArguments),
}

/// Begin the record of a job
#[derive(clap::Args)]
struct NewArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// The record, which must not exist yet
    #[arg(short, long, value_name = "JOB")]
    output: PathBuf,
    #[command(flatten)]
    said: SaidArguments,
}

/// What is missing, what is open, what is blocked and by what
#[derive(clap::Args)]
struct StatusArguments {
    #[command(flatten)]
    job: JobFile,
    #[command(flatten)]
    time: TimeArgument,
    /// How it is written
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// Say that something is there or done
///
/// ITEM is part:NAME (on the bench, as many as are needed), part:NAME=COUNT (so many are there),
/// part:NAME=COUNTxLENGTH (so many, as long as that in mm), ordered:NAME, torque:NAME (tightened as
/// the spec says) or step:NAME. All items are taken, or none.
#[derive(clap::Args)]
struct TickArguments {
    #[command(flatten)]
    job: JobFile,
    /// What is there or done
    #[arg(value_name = "ITEM", required = true)]
    items: Vec<String>,
    #[command(flatten)]
    said: SaidArguments,
    /// Do it against what stands in its way, for this reason; needs --by, and is kept for ever
    #[arg(long = "override", value_name = "WHY")]
    overriding: Option<String>,
}

/// Add what was seen at a stage, or all that `tautmark ask` kept
#[derive(clap::Args)]
struct LookArguments {
    #[command(flatten)]
    job: JobFile,
    /// The stage: hung, released or turned
    #[arg(long, value_name = "STAGE", required_unless_present = "record")]
    stage: Option<String>,
    #[command(flatten)]
    seen: SeenArguments,
    /// What could not be seen: 'link SHAFT' or 'dot SHAFT'
    #[arg(long, value_name = "MARK")]
    not_seen: Vec<String>,
    /// Every stage of a record that `ask --record FILE` saved
    #[arg(long, value_name = "FILE", conflicts_with_all = ["stage", "links", "dots", "turned", "not_seen"])]
    record: Option<PathBuf>,
    #[command(flatten)]
    said: SaidArguments,
}

/// The report to hand over: text, or one self-contained page with -o
#[derive(clap::Args)]
struct ReportArguments {
    #[command(flatten)]
    job: JobFile,
    /// Write it as HTML to this file, which must not exist yet
    #[arg(short, long, value_name = "FILE.html")]
    output: Option<PathBuf>,
    #[command(flatten)]
    time: TimeArgument,
}

/// The fasteners by component, with count, length and torque in three units
#[derive(clap::Args)]
struct SheetArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// How it is written
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

#[derive(clap::Args)]
struct JobFile {
    #[command(flatten)]
    spec: SpecArgument,
    /// The record of the job
    #[arg(value_name = "JOB")]
    job: PathBuf,
}

#[derive(clap::Args)]
struct TimeArgument {
    /// The time, such as 2026-11-25T09:30:00Z, instead of the clock's
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
}

#[derive(clap::Args)]
struct SaidArguments {
    /// Who says so
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    #[command(flatten)]
    time: TimeArgument,
}

impl TimeArgument {
    fn time(&self) -> Result<Timestamp> {
        if let Some(text) = &self.at {
            return text.parse().with_context(|| format!("--at '{text}'"));
        }
        let since = SystemTime::now()
            .duration_since(SystemTime::UNIX_EPOCH)
            .context("the clock stands before 1970 (set it, or give --at TIME)")?;
        let seconds = i64::try_from(since.as_secs()).unwrap_or(i64::MAX);
        Timestamp::from_unix_seconds(seconds)
            .context("the clock's time cannot be kept (set it, or give --at TIME)")
    }
}

pub(crate) fn run(arguments: &JobArguments) -> Result<u8> {
    match &arguments.command {
        JobCommand::New(arguments) => new(arguments),
        JobCommand::Status(arguments) => status(arguments),
        JobCommand::Tick(arguments) => tick(arguments),
        JobCommand::Look(arguments) => look(arguments),
        JobCommand::Report(arguments) => report(arguments),
        JobCommand::Sheet(arguments) => sheet(arguments),
    }
}

fn new(arguments: &NewArguments) -> Result<u8> {
    files::refuse_existing(&arguments.output)?;
    let Some((source, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let at = arguments.said.time.time()?;
    let job = Job::begin(&drive, source.name(), at, arguments.said.by.as_deref())?;
    files::create(&arguments.output, &job.to_yaml())?;
    Ok(CLEAN)
}

/// The job in a file; its errors go to standard error, and it is `None` then.
fn read(path: &Path, drive: &Drive) -> Result<Option<Job>> {
    let source = specfile::source_of(path, "the record of a job")?;
    let reading = Job::read(&source, drive);
    specfile::report(&source, reading.findings.iter());
    Ok(reading.job)
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

fn status(arguments: &StatusArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&arguments.job.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let Some(job) = read(&arguments.job.job, &drive)? else {
        return Ok(UNUSABLE);
    };
    let status = job.status(&drive, arguments.time.time()?)?;
    stream::output(&match arguments.format {
        Format::Text => job_status_text(&drive, &job, &status, colour_wanted()),
        Format::Json => json_text(&job_json(&drive, &status, &Flags)),
    })?;
    Ok(if status.is_proven() { CLEAN } else { FINDINGS })
}

fn tick(arguments: &TickArguments) -> Result<u8> {
    let items: Vec<Item> = arguments
        .items
        .iter()
        .map(|text| text.parse())
        .collect::<Result<_, _>>()?;
    let doing = Entering {
        at: arguments.said.time.time()?,
        by: arguments.said.by.as_deref(),
        overriding: arguments.overriding.as_deref(),
    };
    changed(&arguments.job, |drive, job| {
        let mut ticked = job.clone();
        for item in &items {
            match ticked.tick(drive, item, doing) {
                Ok(()) => {}
                Err(error) if error.is_refusal() => {
                    stream::error(&format!("refused: {error}\n"));
                    return Ok(FINDINGS);
                }
                Err(error) => return Err(error.into()),
            }
        }
        *job = ticked;
        Ok(CLEAN)
    })
}

fn look(arguments: &LookArguments) -> Result<u8> {
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
            in_time &= checked.verdict == Verdict::InTime;
            let fits = fits(drive, &look.seen, &checked)?;
            let text = look_text(drive, &look, &checked, &fits, &Flags, colour_wanted());
            shown = text;
            job.look(drive, look, at, by)?;
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
            bail!("--not-seen '{text}': something else is said of it already");
        }
        not_seen.push(sight);
    }
    if seen.links().is_empty() && seen.dots().is_empty() && not_seen.is_empty() {
        bail!("nothing was looked at (say what was seen: --link SHAFT=SEEN, --dot SHAFT=SEEN)");
    }
    Ok(Look {
        stage,
        seen,
        not_seen,
    })
}

/// The drive as it was seen at a stage, as SVG, for the report; nothing where it cannot be drawn.
fn picture(drive: &Drive, seen: &LookChecked<'_>) -> Option<String> {
    let pose = Pose::seen(drive, &seen.look.seen).ok()?;
    let svg = draw_svg(drive, &pose, Some(&seen.check)).ok()?;
    // Within a page a picture begins at its own element and needs no name space; without it the page
    // holds no address at all.
    svg.find("<svg")
        .map(|start| svg[start..].replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))
}

fn report(arguments: &ReportArguments) -> Result<u8> {
    if let Some(path) = &arguments.output {
        files::refuse_existing(path)?;
    }
    let Some((_, drive)) = specfile::provable_drive(&arguments.job.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let Some(job) = read(&arguments.job.job, &drive)? else {
        return Ok(UNUSABLE);
    };
    let status = job.status(&drive, arguments.time.time()?)?;
    match &arguments.output {
        None => stream::output(&job_report_text(
            &drive,
            &job,
            &status,
            &Flags,
            colour_wanted(),
        ))?,
        Some(path) => {
            let page = job_html(&drive, &job, &status, &|seen| picture(&drive, seen), &Flags);
            files::create(path, &page)?;
        }
    }
    Ok(if status.is_proven() { CLEAN } else { FINDINGS })
}

fn sheet(arguments: &SheetArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    stream::output(&match arguments.format {
        Format::Text => sheet_text(&drive),
        Format::Json => json_text(&sheet_json(&drive)),
    })?;
    Ok(CLEAN)
}
