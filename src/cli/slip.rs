use super::answer::Answer;
use super::hints::{self, Flags};
use super::{CLEAN, Format, SpecArgument, UNUSABLE, files, specfile, stream};
use anyhow::{Context as _, Result, bail};
use std::ops::RangeInclusive;
use std::path::PathBuf;
use tautmark::{
    Drive,
    drive::Engagement,
    render::{Plot, plot, slip_json, slip_text},
    timing::shaft_named,
    units::{CrankDegrees, Exact},
    valves::{Slip, Slips, Sweep, slip, sprocket_named, sweep},
};

/// What does a tooth of slip do to the valves?
///
/// Valve events, overlap, trapped compression, and whether valves and piston meet.
/// SLIP is '1 behind', '2 ahead', -1, +2, '20 crank deg ahead' or '10 cam deg ahead'. SHAFT is the
/// sprocket by which that shaft is driven; say CHAIN/SHAFT where a crankshaft carries several.
/// A crankshaft sprocket that slips ahead leaves the camshafts of its chain behind.
/// Exit status: 0 if it could be calculated, 2 if not.
#[derive(clap::Args)]
pub(crate) struct SlipArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// What has slipped; with --sweep also one SHAFT alone, the one to sweep
    #[arg(value_name = "SHAFT=SLIP")]
    slips: Vec<String>,
    /// Where a phaser stands, in crank degrees ahead of its parked position (-20: behind it)
    #[arg(long = "phaser", value_name = "SHAFT=DEGREES")]
    phasers: Vec<String>,
    /// How much every chain has grown, as a fraction of its length: 1/100 is one per cent (an estimate)
    #[arg(long, value_name = "FRACTION", allow_hyphen_values = true)]
    elongation: Option<String>,
    /// Slip one sprocket tooth by tooth, such as -4..4
    #[arg(long, value_name = "FROM..TO", allow_hyphen_values = true)]
    sweep: Option<String>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// Draw it as SVG instead: to the file given with -o, or to standard output
    #[arg(long, value_enum, value_name = "PICTURE", conflicts_with = "format")]
    plot: Option<Picture>,
    /// Write to this file, which must not exist yet, instead of printing
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Overwrite the file given with -o
    #[arg(long, requires = "output")]
    force: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Picture {
    /// Valve lift and piston travel over 720 crank degrees, before and after
    Lift,
    /// Valve-to-piston clearance against teeth slipped
    Clearance,
    /// Circular valve timing diagram, before and after
    Circle,
}

pub(crate) fn run(arguments: &SlipArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let mut slips = Slips::none();
    let mut alone: Vec<Engagement> = Vec::new();
    for text in &arguments.slips {
        let context = || format!("'{text}'");
        match text.split_once('=') {
            Some((name, what)) => {
                let at = sprocket_named(&drive, name.trim()).with_context(context)?;
                let what: Slip = what.parse().with_context(context)?;
                slips.slip(&drive, at, what).with_context(context)?;
            }
            None => alone.push(sprocket_named(&drive, text.trim()).with_context(context)?),
        }
    }
    for text in &arguments.phasers {
        let context = || format!("--phaser '{text}'");
        let Some((name, what)) = text.split_once('=') else {
            bail!("--phaser '{text}': expected SHAFT=DEGREES, such as --phaser intake=20");
        };
        let shaft = shaft_named(&drive, name.trim()).with_context(context)?;
        let ahead = Exact::parse(what.trim()).with_context(context)?;
        slips
            .phaser(&drive, shaft, CrankDegrees::new(ahead))
            .with_context(context)?;
    }
    if let Some(text) = &arguments.elongation {
        let context = || format!("--elongation '{text}'");
        let elongation = Exact::parse(text.trim()).with_context(context)?;
        slips
            .wear(&drive, elongation)
            .map_err(hints::slip)
            .with_context(context)?;
    }
    let swept = swept(arguments, &drive, &slips, &alone)?;
    let outcome = slip(&drive, &slips).map_err(hints::slip)?;
    let text = match (arguments.plot, arguments.format) {
        (Some(picture), _) => plot(
            &drive,
            &outcome,
            match picture {
                Picture::Lift => Plot::Lift,
                Picture::Circle => Plot::Circle,
                Picture::Clearance => Plot::Clearance(
                    swept
                        .as_ref()
                        .context("which sprocket? (name one SHAFT to sweep)")?,
                    &slips,
                ),
            },
        )?,
        (None, Format::Text) => slip_text(&drive, &slips, &outcome, swept.as_ref(), &Flags),
        (None, Format::Json) => stream::answer(
            Answer::Slip,
            slip_json(&drive, &slips, &outcome, swept.as_ref(), &Flags),
        ),
    };
    files::hand_over(arguments.output.as_deref(), &text, arguments.force)?;
    Ok(CLEAN)
}

/// The sweep that is asked for, if one is.
fn swept(
    arguments: &SlipArguments,
    drive: &Drive,
    slips: &Slips,
    alone: &[Engagement],
) -> Result<Option<Sweep>> {
    let wanted = arguments.sweep.is_some() || arguments.plot == Some(Picture::Clearance);
    if !wanted {
        if let Some(name) = arguments.slips.iter().find(|text| !text.contains('=')) {
            bail!("'{name}': slipped by how much? (give {name}='1 behind', or add --sweep -4..4)");
        }
        return Ok(None);
    }
    let at = match (alone, slips.teeth()) {
        ([at], _) | ([], [(at, _)]) => *at,
        ([], _) => bail!("which sprocket should be swept? (name one SHAFT without a slip)"),
        _ => bail!("only one sprocket can be swept (name one SHAFT without a slip)"),
    };
    let teeth = range(arguments.sweep.as_deref().unwrap_or("-4..4"))?;
    Ok(Some(sweep(drive, slips, at, teeth).map_err(hints::slip)?))
}

fn range(text: &str) -> Result<RangeInclusive<i64>> {
    let most = Sweep::MAX_TEETH;
    text.split_once("..")
        .and_then(|(from, to)| Some(from.trim().parse().ok()?..=to.trim().parse().ok()?))
        .filter(|range| {
            range.start() <= range.end() && *range.start() >= -most && *range.end() <= most
        })
        .with_context(|| {
            format!("--sweep '{text}': expected teeth from and to, such as -4..4, within -{most}..{most}")
        })
}
