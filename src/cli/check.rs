use super::hints::{self, Flags};
use super::view::ViewArgument;
use super::{
    CLEAN, FINDINGS, Format, SpecArgument, UNUSABLE, colour_wanted, records, specfile, stream,
};
use anyhow::{Context as _, Result, anyhow, bail};
use std::path::{Path, PathBuf};
use tautmark::{
    Drive, Observations, Seen, Verdict, check, dot_named,
    job::{Record, View},
    link_named,
    render::{check_json, check_text_seen, json_text, record_json, record_text},
    stream::Fields,
    timing::{CountError, DotCount},
    units::{Exact, Turns},
};

/// Is every coloured link on its dot? Which cam is off, how far, and what to move?
///
/// SEEN is where the dot stands: on, '2 ahead', '1 behind', +2, -1, '18.5 deg', '18.5 crank deg behind',
/// or 'link 44' for the link that lies on it. Ahead is further in the direction of rotation.
/// SHAFT may be CHAIN/SHAFT where a shaft carries several sprockets.
/// What is not given was not looked at and is never taken to be right.
#[derive(clap::Args)]
pub(crate) struct CheckArguments {
    #[command(flatten)]
    spec: SpecArgument,
    #[command(flatten)]
    pub(crate) seen: SeenArguments,
    #[command(flatten)]
    view: ViewArgument,
    /// Check again what `tautmark ask` saved, stage by stage
    #[arg(long, value_name = "FILE", conflicts_with_all = ["links", "dots", "counts", "turned", "view"])]
    record: Option<PathBuf>,
    /// Check a stream: one JSON document a line in, one verdict a line out
    ///
    /// FILE, a folder of .jsonl files, or - for standard input; packed by gzip or zstd too. A line is such as {"id": "a1",
    /// "turned": "2", "links": {"intake": "2 behind"}, "dots": {}}, and "counts" as --count has them; all keys may be left out. SPEC
    /// may be a folder of specs then: a line chooses one by "spec": "NAME", its file's name without
    /// the ending. A line that cannot be used is answered with its number and an "error"; the rest
    /// goes on. Exit status: 0 every line lets the tensioner go; 1 some do not, or there are none; 2 bad lines.
    #[arg(long, value_name = "FILE|DIR|-", conflicts_with_all = ["links", "dots", "counts", "turned", "view", "record", "format"])]
    records: Option<PathBuf>,
    /// How many cores --records uses; all if left out
    #[arg(long, value_name = "N", requires = "records")]
    jobs: Option<usize>,
    /// What an answer of --records says: all, or the verdict and the release alone, which is faster
    #[arg(
        long,
        value_enum,
        value_name = "WHAT",
        default_value = "all",
        requires = "records"
    )]
    fields: FieldsWanted,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// What an answer of `--records` says.
#[derive(Clone, Copy, PartialEq, Eq, Debug, clap::ValueEnum)]
pub(crate) enum FieldsWanted {
    All,
    Verdict,
}

impl From<FieldsWanted> for Fields {
    fn from(wanted: FieldsWanted) -> Self {
        match wanted {
            FieldsWanted::All => Self::All,
            FieldsWanted::Verdict => Self::Verdict,
        }
    }
}

#[derive(clap::Args)]
pub(crate) struct SeenArguments {
    /// Where a dot stands against its coloured link
    #[arg(long = "link", value_name = "SHAFT=SEEN")]
    links: Vec<String>,
    /// Where a dot stands against its reference mark on the engine
    #[arg(long = "dot", value_name = "SHAFT=SEEN")]
    dots: Vec<String>,
    /// Links counted from dot to dot where no colour is left, with the kinds of the links on both dots
    ///
    /// Such as 'crank..exhaust=51 outer inner': along the strand that runs from the first dot to the second the
    /// way the chain travels, the link on the first dot being 0. Without the kinds only all the way around the chain.
    #[arg(long = "count", value_name = "SHAFT..SHAFT=N")]
    counts: Vec<String>,
    /// Crank turns since the drive was timed, such as 2 or 3/2
    #[arg(
        long,
        value_name = "N",
        default_value = "0",
        allow_hyphen_values = true
    )]
    turned: String,
}

impl SeenArguments {
    /// Ties what was seen to `drive`.
    pub(crate) fn observations(&self, drive: &Drive) -> Result<Observations> {
        let turned =
            Exact::parse(&self.turned).with_context(|| format!("--turned '{}'", self.turned))?;
        let mut seen = Observations::after(Turns::new(turned))?;
        for text in &self.links {
            let (name, what) = split("--link", text)?;
            let at = link_named(drive, name)
                .map_err(hints::observation)
                .with_context(|| format!("--link '{text}'"))?;
            seen.see_link(drive, at, what)
                .map_err(hints::observation)
                .with_context(|| format!("--link '{text}'"))?;
        }
        let mut counts = Vec::new();
        for text in &self.counts {
            counts.push(count(drive, text)?);
        }
        seen.see_counts(drive, &counts).context("--count")?;
        for text in &self.dots {
            let (name, what) = split("--dot", text)?;
            let at = dot_named(drive, name, what)
                .map_err(hints::observation)
                .with_context(|| format!("--dot '{text}'"))?;
            seen.see_dot(drive, at, what)
                .map_err(hints::observation)
                .with_context(|| format!("--dot '{text}'"))?;
        }
        Ok(seen)
    }
}

/// `crank..exhaust=51 outer inner`.
fn count(drive: &Drive, text: &str) -> Result<DotCount> {
    let form = || {
        format!(
            "--count '{text}': expected SHAFT..SHAFT=N, such as --count 'crank..exhaust=51 outer inner'"
        )
    };
    let (names, what) = text.split_once('=').with_context(form)?;
    DotCount::named(drive, names, what).map_err(|error| match error {
        CountError::Form => anyhow!(form()),
        CountError::Observation(error) => {
            hints::observation(error).context(format!("--count '{text}'"))
        }
        other => other.into(),
    })
}

fn split<'a>(flag: &str, text: &'a str) -> Result<(&'a str, Seen)> {
    let Some((name, what)) = text.split_once('=') else {
        bail!("{flag} '{text}': expected SHAFT=SEEN, such as {flag} 'intake=2 behind'");
    };
    let seen = what.parse().with_context(|| format!("{flag} '{text}'"))?;
    Ok((name.trim(), seen))
}

/// Every verdict of a record worked out again.
fn record(drive: &Drive, path: &Path, format: Format) -> Result<u8> {
    let source = specfile::source_of(path, "a record")?;
    let reading = Record::read(&source, drive);
    specfile::report(&source, reading.findings.iter());
    let Some(record) = reading.record else {
        return Ok(UNUSABLE);
    };
    let outcome = record.check(drive)?;
    stream::output(&match format {
        Format::Text => record_text(drive, &outcome, &Flags, colour_wanted()),
        Format::Json => json_text(&record_json(drive, &outcome, &Flags)),
    })?;
    Ok(if outcome.verdict() == Verdict::InTime {
        CLEAN
    } else {
        FINDINGS
    })
}

pub(crate) fn run(arguments: &CheckArguments) -> Result<u8> {
    if let Some(path) = &arguments.records {
        return records::run(
            &arguments.spec.path,
            path,
            arguments.jobs,
            arguments.fields.into(),
        );
    }
    if let Some(path) = &arguments.record {
        return match specfile::provable_drive(&arguments.spec.path)? {
            Some((_, drive)) => record(&drive, path, arguments.format),
            None => Ok(UNUSABLE),
        };
    }
    let Some((_, drive)) = specfile::drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let seen = arguments.seen.observations(&drive)?;
    let view = arguments.view.view(&drive)?;
    if view.is_some() && arguments.format == Format::Json {
        bail!("--view is for text: JSON says every direction facing the timing end (leave it out)");
    }
    let outcome = check(&drive, &seen)?;
    let fits = outcome.fits();
    match arguments.format {
        Format::Text => stream::tell(&check_text_seen(
            &drive,
            &seen,
            &outcome,
            fits,
            view.unwrap_or_else(View::facing),
            &Flags,
            colour_wanted(),
        )),
        Format::Json => stream::output(&json_text(&check_json(&drive, &outcome, fits, &Flags))),
    }?;
    Ok(if outcome.release_tensioner() {
        CLEAN
    } else {
        FINDINGS
    })
}
