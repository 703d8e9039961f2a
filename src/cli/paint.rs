//! `paint`: marks of one's own, before the chain comes off.

mod walk;

use super::answer::Answer;
use super::hints::Flags;
use super::{CLEAN, FINDINGS, Format, SpecArgument, UNUSABLE, files, specfile, stream};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use tautmark::{
    Drive, Source,
    drive::ChainId,
    proof::{
        CountedError, OwnMarks, PaintError, Recount, carried, own_marks, painted, recount,
        with_camshafts,
    },
    render::{carried_json, carried_text, own_marks_json, own_marks_text, printable, recount_text},
    timing::name_of,
    units::Exact,
};

/// Marks of one's own: what to paint before the chain comes off, and a spec of it.
///
/// For an engine or a chain without coloured links or dots, for a chain that is used again, and for a new chain
/// beside the old one. Paint keeps what is there: it proves that the chain hangs as it hung.
///
/// Exit status: 0 done as asked; 1 the counts on a new chain are not those of the old one; 2 unusable
/// input or usage. A refused command writes nothing.
#[derive(clap::Args)]
pub(crate) struct PaintArguments {
    #[command(subcommand)]
    command: PaintCommand,
}

#[derive(clap::Subcommand)]
enum PaintCommand {
    Plan(PlanArguments),
    Count(Box<walk::CountArguments>),
    NewChain(NewChainArguments),
}

/// Say which links and teeth to paint on the engine of a spec, and how few prove it
///
/// The spec may be without any mark. With -o the painted marks take the place of the maker's colours.
#[derive(clap::Args)]
struct PlanArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// How many camshafts the engine has, all banks together, where the spec does not say
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=100))]
    camshafts: Option<u16>,
    /// Write the spec with these marks to this file, which must not exist yet
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// Carry the marks over to a new chain that lies beside the old one
///
/// Without --count it says where to paint; with it whether what was painted is right.
#[derive(clap::Args)]
struct NewChainArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Which chain; may be left out where there is one
    #[arg(long, value_name = "CHAIN")]
    chain: Option<String>,
    /// All links of the new chain, counted by themselves
    #[arg(long, value_name = "N")]
    links: u32,
    /// Links from mark to mark on the new chain, all the way around, such as 51,17,50
    #[arg(long, value_name = "N,N,...", value_delimiter = ',')]
    count: Vec<String>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(crate) fn run(arguments: &PaintArguments) -> Result<u8> {
    match &arguments.command {
        PaintCommand::Plan(arguments) => plan(arguments),
        PaintCommand::Count(arguments) => count(arguments),
        PaintCommand::NewChain(arguments) => new_chain(arguments),
    }
}

fn plan(arguments: &PlanArguments) -> Result<u8> {
    let mut source = specfile::source(&arguments.spec.path)?;
    if let Some(camshafts) = arguments.camshafts {
        let text = with_camshafts(&source, camshafts)
            .with_context(|| format!("--camshafts {camshafts}, '{}'", source.name()))?;
        source = Source::new(source.name(), text.into_bytes())?;
    }
    let (drive, marks) = match own_marks(&source) {
        Ok(planned) => planned,
        Err(PaintError::Spec(findings)) => {
            specfile::report(&source, findings.iter());
            return Ok(UNUSABLE);
        }
        Err(error) => bail!("'{}': {error}", source.name()),
    };
    let text = match &arguments.output {
        Some(_) if drive.camshafts().is_none() => bail!(
            "'{}' does not say how many camshafts the engine has. Count those of all banks (--camshafts N): one that is not painted is not proven",
            source.name()
        ),
        Some(_) => Some(painted(&source).with_context(|| format!("'{}'", source.name()))?),
        None => None,
    };
    let output = arguments.output.as_deref();
    tell(&drive, &marks, text.as_deref(), output, arguments.format)
}

fn count(arguments: &walk::CountArguments) -> Result<u8> {
    let counted = arguments.counted()?;
    let text = match counted.spec() {
        Ok(text) => text,
        Err(error) => {
            if let CountedError::Spec(source, findings) = &error {
                specfile::report(source, findings.iter());
            }
            let flag = match &error {
                CountedError::LooksAlike { shafts, crank, .. } => {
                    let cam = shafts.first().map_or("", String::as_str);
                    format!(" (--points {crank}=6 --points {cam}=12 for six and twelve o'clock)")
                }
                CountedError::Odd { .. } => " (--cranked, --belt)".to_owned(),
                _ => String::new(),
            };
            bail!("{error}{flag}");
        }
    };
    if arguments.output.is_none() && arguments.format == Format::Text {
        stream::output(&text)?;
        return Ok(CLEAN);
    }
    let source = Source::new("what was counted", text.clone().into())?;
    let (drive, marks) = own_marks(&source)?;
    let output = arguments.output.as_deref();
    tell(&drive, &marks, Some(&text), output, arguments.format)
}

/// Writes the spec, if it is to be written, and only then says what to paint.
fn tell(
    drive: &Drive,
    marks: &OwnMarks,
    spec: Option<&str>,
    output: Option<&Path>,
    format: Format,
) -> Result<u8> {
    if let (Some(path), Some(spec)) = (output, spec) {
        files::create(path, spec)?;
    }
    stream::output(&match format {
        Format::Json => stream::answer(
            Answer::PaintMarks,
            own_marks_json(drive, marks, spec, &Flags),
        ),
        Format::Text => {
            let mut text = own_marks_text(drive, marks, &Flags);
            if let Some(path) = output {
                let path = printable(&path.to_string_lossy());
                let looks: Vec<String> = marks
                    .pairs
                    .iter()
                    .map(|pair| format!(" --link {}=on", name_of(drive, pair.at)))
                    .collect();
                text.push_str(&format!(
                    "\nWritten to {path}. Before anything comes off, look at all marks at once. With every one on:\n  \
                     tautmark check {path}{}\n",
                    looks.concat()
                ));
            }
            text
        }
    })?;
    Ok(CLEAN)
}

fn new_chain(arguments: &NewChainArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let id = chain_of(&drive, arguments.chain.as_deref())?;
    let marks = carried(&drive, id, arguments.links)?;
    let mut counts = Vec::new();
    for text in &arguments.count {
        let count = Exact::parse(text.trim()).with_context(|| format!("--count '{text}'"))?;
        counts.push(count);
    }
    let outcome = match &counts[..] {
        [] => None,
        counts => Some(recount(&drive, id, arguments.links, counts)?),
    };
    stream::output(&match (arguments.format, &outcome) {
        (Format::Json, outcome) => stream::answer(
            Answer::PaintNewChain,
            carried_json(&drive, id, &marks, outcome.as_ref()),
        ),
        (Format::Text, None) => carried_text(&drive, id, &marks),
        (Format::Text, Some(outcome)) => recount_text(&drive, id, outcome),
    })?;
    Ok(match outcome {
        None | Some(Recount::Same) => CLEAN,
        Some(_) => FINDINGS,
    })
}

fn chain_of(drive: &Drive, name: Option<&str>) -> Result<ChainId> {
    let known = || {
        let names: Vec<&str> = drive.chains().map(|(_, chain)| chain.name()).collect();
        names.join(", ")
    };
    let mut all = drive.chains().map(|(id, _)| id);
    match (name, all.next(), all.next()) {
        (None, Some(only), None) => Ok(only),
        (None, ..) => bail!("which chain? (--chain, one of: {})", known()),
        (Some(name), ..) => drive
            .chain_named(name)
            .with_context(|| format!("no chain is called '{name}' (the spec has: {})", known())),
    }
}
