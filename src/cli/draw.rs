use super::check::SeenArguments;
use super::view::ViewArgument;
use super::{CLEAN, SpecArgument, UNUSABLE, files, specfile};
use anyhow::{Context as _, Result, bail};
use clap::ValueEnum;
use std::path::PathBuf;
use tautmark::{
    Drive, Seen, check,
    drive::Engagement,
    job::View,
    link_named,
    render::{Look, Paper, draw_svg_seen, draw_text},
    spec::Viewpoint,
    timing::{Pose, name_of},
    units::{Exact, Teeth},
};

/// The drive as a picture: sprockets, dots, every link, and what is off.
///
/// Without --slip, --link or --dot it is drawn hung right. With --slip it is drawn hung wrong; with --link
/// and --dot as it was seen, and the picture carries the verdict that check would give.
/// Where the spec gives no places, each chain is drawn unrolled, its dots above its links.
/// With --view it is drawn as you see it; with --blank it is a worksheet without names, colours and verdict.
/// Exit status: 0 drawn, whatever it shows; 2 unusable input or usage.
#[derive(clap::Args)]
pub(crate) struct DrawArguments {
    #[command(flatten)]
    spec: SpecArgument,
    #[command(flatten)]
    seen: SeenArguments,
    /// Hung wrong: the dot this many teeth ahead of its link (2, +2, '2 ahead') or behind it (-2, '2 behind')
    #[arg(long = "slip", value_name = "SHAFT=N", conflicts_with_all = ["links", "dots", "counts"])]
    slips: Vec<String>,
    #[command(flatten)]
    view: ViewArgument,
    /// Draw it for a sheet of this paper, upright, to be printed at its own size
    #[arg(long, value_enum)]
    paper: Option<PaperChoice>,
    /// Draw a worksheet: no names, colours or verdict, but lines to write them on
    #[arg(long)]
    blank: bool,
    /// Write it to this file, which must not exist yet, instead of printing it
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Overwrite that file if it exists
    #[arg(long, requires = "output")]
    force: bool,
    /// Output format
    #[arg(long, value_enum, default_value = "svg")]
    format: DrawFormat,
    /// Characters on a line of text
    #[arg(long, value_name = "N", default_value_t = 79, value_parser = clap::value_parser!(u16).range(40..=200))]
    width: u16,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperChoice {
    /// 210 by 297 mm
    A4,
    /// 8 1/2 by 11 in
    Letter,
}

impl From<PaperChoice> for Paper {
    fn from(paper: PaperChoice) -> Self {
        match paper {
            PaperChoice::A4 => Self::A4,
            PaperChoice::Letter => Self::Letter,
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum DrawFormat {
    /// A picture for a browser, a printer or a phone
    Svg,
    /// Each chain as a strip of characters
    Text,
}

pub(crate) fn run(arguments: &DrawArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let view = arguments.view.view(&drive)?;
    if view.is_some_and(|view| view.from() == Viewpoint::Above) {
        bail!(
            "--view: from above no sprocket's face is seen, so there is nothing to draw (take facing, mirror or photo)"
        );
    }
    if arguments.format == DrawFormat::Text {
        for (given, flag) in [
            (view.is_some(), "--view"),
            (arguments.paper.is_some(), "--paper"),
            (arguments.blank, "--blank"),
        ] {
            if given {
                bail!("{flag} is for SVG: the text is of chains unrolled (leave it out)");
            }
        }
    }
    let look = Look {
        view: view.unwrap_or_else(View::facing),
        paper: arguments.paper.map(Paper::from),
        blank: arguments.blank,
    };
    let seen = arguments.seen.observations(&drive)?;
    let observed = !seen.links().is_empty() || !seen.dots().is_empty();
    let (pose, outcome) = if observed {
        (Pose::seen(&drive, &seen)?, Some(check(&drive, &seen)?))
    } else {
        let slips = slips(&drive, &arguments.slips)?;
        let pose = Pose::slipped(&drive, seen.turned(), &slips)?;
        for (at, teeth) in &slips {
            // Two chains to one shaft hold it between them: it cannot slip on one alone.
            if pose
                .sprocket(&drive, *at)
                .is_none_or(|stand| stand.seat != *teeth)
            {
                bail!(
                    "--slip '{}': another chain holds that shaft (give the slip on the chain that drives it)",
                    name_of(&drive, *at)
                );
            }
        }
        (pose, None)
    };
    let text = match arguments.format {
        DrawFormat::Svg => draw_svg_seen(&drive, &pose, outcome.as_ref(), look)?,
        DrawFormat::Text => draw_text(
            &drive,
            &pose,
            outcome.as_ref(),
            usize::from(arguments.width),
        )?,
    };
    files::hand_over(arguments.output.as_deref(), &text, arguments.force)?;
    Ok(CLEAN)
}

fn slips(drive: &Drive, texts: &[String]) -> Result<Vec<(Engagement, Teeth)>> {
    let mut found: Vec<(Engagement, Teeth)> = Vec::new();
    for text in texts {
        let Some((name, what)) = text.split_once('=') else {
            bail!("--slip '{text}': expected SHAFT=N, such as --slip intake=-2");
        };
        let at = link_named(drive, name.trim()).with_context(|| format!("--slip '{text}'"))?;
        let teeth = match Exact::parse(what.trim()) {
            Ok(number) => number,
            Err(_) => match what.parse().with_context(|| format!("--slip '{text}'"))? {
                Seen::Teeth(teeth) => teeth.get(),
                _ => bail!("--slip '{text}': expected teeth, such as -2 or '2 behind'"),
            },
        };
        // A chain of L links has no more ways to lie on a sprocket than L.
        let most = i64::from(drive.chain(at.chain).links().get() - 1) / 2;
        if !teeth.is_whole() || teeth.abs() > Exact::whole(most) {
            bail!(
                "--slip '{text}': '{what}' is not in the required range of {}..={most} whole teeth",
                -most
            );
        }
        if found.iter().any(|(other, _)| *other == at) {
            bail!("--slip '{text}': this sprocket is given twice (once is enough)");
        }
        found.push((at, Teeth::new(teeth)));
    }
    Ok(found)
}
