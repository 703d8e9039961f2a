//! `job`: the job around the chain, kept in a record.

mod change;
mod photo;
mod show;

use super::check::SeenArguments;
use super::view::ViewArgument;
use super::{Format, SpecArgument, clock, specfile};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use tautmark::{Drive, job::Job, units::Timestamp};

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
    Correct(CorrectArguments),
    Photo(PhotoArguments),
    Report(ReportArguments),
    Sheet(SheetArguments),
}

/// Start the record of a job
///
/// With --order, --plate or --engine-number the job knows its car: every entry needs --by NAME then, and
/// only looks made for this car are taken (`ask --job JOB --by NAME`).
#[derive(clap::Args)]
struct NewArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// The record, which must not exist yet
    #[arg(short, long, value_name = "JOB")]
    output: PathBuf,
    /// The order number of the car
    #[arg(long, value_name = "TEXT")]
    order: Option<String>,
    /// The car's number plate
    #[arg(long, value_name = "TEXT")]
    plate: Option<String>,
    /// The number on the engine
    #[arg(long, value_name = "TEXT")]
    engine_number: Option<String>,
    /// The car's mileage, with its unit
    #[arg(long, value_name = "TEXT")]
    mileage: Option<String>,
    #[command(flatten)]
    said: SaidArguments,
}

/// Show what is missing, what is open, what is blocked and by what
#[derive(clap::Args)]
struct StatusArguments {
    #[command(flatten)]
    job: JobFile,
    #[command(flatten)]
    time: TimeArgument,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// Tick off what is there or done
///
/// ITEM is part:NAME (on the bench, as many as needed), part:NAME=COUNT (that many are there),
/// part:NAME=COUNTxLENGTH (that many, LENGTH in mm as measured), ordered:NAME, torque:NAME (tightened
/// as the spec says), old:NAME=COUNT (that many old ones came off) or step:NAME. Either all items are taken or none.
#[derive(clap::Args)]
struct TickArguments {
    #[command(flatten)]
    job: JobFile,
    /// What is there or done
    #[arg(value_name = "ITEM", required = true)]
    items: Vec<String>,
    #[command(flatten)]
    said: SaidArguments,
    /// Do it despite what blocks it, for this reason; needs --by and stays in the record for good
    #[arg(long = "override", value_name = "WHY")]
    overriding: Option<String>,
}

/// Add what was seen at a stage, or everything `tautmark ask` saved
#[derive(clap::Args)]
struct LookArguments {
    #[command(flatten)]
    job: JobFile,
    /// The stage: hung, released or turned
    #[arg(long, value_name = "STAGE", required_unless_present = "record")]
    stage: Option<String>,
    #[command(flatten)]
    seen: SeenArguments,
    #[command(flatten)]
    view: ViewArgument,
    /// What could not be seen: 'link SHAFT' or 'dot SHAFT'
    #[arg(long, value_name = "MARK")]
    not_seen: Vec<String>,
    /// What was said at this stage, where nothing can be measured, with =no if it is not so
    ///
    /// Before the release: pin-in, slack-side, and where the engine has them phaser-parked, tools-in,
    /// bolts-loose. After it: pins-out, bolts-tight. After turning: turned-free.
    #[arg(long = "said", value_name = "WHAT")]
    sayings: Vec<String>,
    /// By how many crank turns something resisted (with --said turned-free=no)
    #[arg(long, value_name = "N")]
    felt: Option<String>,
    /// Every stage of a record that `ask --record FILE` saved, or of its draft
    #[arg(long, value_name = "FILE", conflicts_with_all = ["stage", "links", "dots", "turned", "not_seen", "sayings", "felt", "counts", "view"])]
    record: Option<PathBuf>,
    #[command(flatten)]
    said: SaidArguments,
}

/// Correct the time of an earlier entry, or void it
///
/// The entry stays as it is, and the correction stands beside it in every report for good.
#[derive(clap::Args)]
struct CorrectArguments {
    #[command(flatten)]
    job: JobFile,
    /// The entry's number in the history of `job report`
    #[arg(long, value_name = "N")]
    entry: usize,
    /// When it really was
    #[arg(long, value_name = "TIME", required_unless_present = "void")]
    to: Option<String>,
    /// It was not so at all
    #[arg(long, conflicts_with = "to")]
    void: bool,
    /// The reason
    #[arg(long, value_name = "WHY")]
    why: String,
    #[command(flatten)]
    said: SaidArguments,
}

/// Attach photos by file name and checksum
///
/// The record keeps what tells a photo from any other, not the photo: keep the file beside the job. Status
/// and report tell if it was changed since.
#[derive(clap::Args)]
struct PhotoArguments {
    #[command(flatten)]
    job: JobFile,
    /// The photos
    #[arg(value_name = "FILE", required = true)]
    photos: Vec<PathBuf>,
    /// What they show
    #[arg(long, value_name = "TEXT")]
    about: Option<String>,
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
    /// Put the photos that are as they were attached into the page, whole, with all that their files hold
    #[arg(long)]
    photos: bool,
    #[command(flatten)]
    time: TimeArgument,
}

/// The fasteners by component, with count, length and torque in three units
#[derive(clap::Args)]
struct SheetArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Output format
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
    /// The time, such as 2026-11-25T09:30:00Z; the clock's if left out
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

/// How far ahead of the clock an entry may be: clocks of one shop differ by that.
const TOLERANCE: u32 = 5;

impl TimeArgument {
    fn time(&self) -> Result<Timestamp> {
        match &self.at {
            Some(text) => text.parse().with_context(|| format!("--at '{text}'")),
            None => clock::now().context("no --at TIME is given"),
        }
    }

    /// The same for what is written: a time that has not come would block all that comes after it.
    fn time_to_write(&self) -> Result<Timestamp> {
        let at = self.time()?;
        let now = clock::now()?;
        if self.at.is_some() && at > now.plus_minutes(TOLERANCE) {
            bail!(
                "--at {at} has not come yet: the clock says {now} (nothing was written; give the time at which it was done)"
            );
        }
        Ok(at)
    }
}

pub(crate) fn run(arguments: &JobArguments) -> Result<u8> {
    match &arguments.command {
        JobCommand::New(arguments) => change::new(arguments),
        JobCommand::Status(arguments) => show::status(arguments),
        JobCommand::Tick(arguments) => change::tick(arguments),
        JobCommand::Look(arguments) => change::look(arguments),
        JobCommand::Correct(arguments) => change::correct(arguments),
        JobCommand::Photo(arguments) => photo::attach(arguments),
        JobCommand::Report(arguments) => show::report(arguments),
        JobCommand::Sheet(arguments) => show::sheet(arguments),
    }
}

/// The job in a file; its errors go to standard error, and it is `None` then.
pub(super) fn read(path: &Path, drive: &Drive) -> Result<Option<Job>> {
    let source = specfile::source_of(path, "the record of a job")?;
    if specfile::is_spec(&source) {
        bail!(
            "'{}' is a spec, not a job (the engine's spec comes first, and then the job)",
            source.name()
        );
    }
    let reading = Job::read(&source, drive);
    specfile::report(&source, reading.findings.iter());
    Ok(reading.job)
}
