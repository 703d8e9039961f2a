use super::hints::Flags;
use super::view::ViewArgument;
use super::{CLEAN, Format, SpecArgument, UNUSABLE, specfile, stream};
use anyhow::{Context as _, Result, bail};
use tautmark::{
    Observations,
    job::View,
    render::{json_text, roll_json, roll_text_seen},
    timing::{Moment, lookalikes, moments, roll},
    units::{Exact, Turns},
};

/// Where the marks are after turning the crankshaft, and when they come back.
///
/// That the coloured links leave their dots when the engine is turned is normal; this says where they
/// are, when they return, and what to look at instead.
#[derive(clap::Args)]
pub(crate) struct RollArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Crank turns since the drive was timed, such as 2 or 3/2
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    turned: String,
    /// List every moment up to the full return at which something lines up
    #[arg(long)]
    table: bool,
    #[command(flatten)]
    view: ViewArgument,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(crate) fn run(arguments: &RollArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let view = arguments.view.view(&drive)?;
    if view.is_some() && arguments.format == Format::Json {
        bail!("--view is for text: JSON says every direction facing the timing end (leave it out)");
    }
    let turned = Exact::parse(&arguments.turned)
        .with_context(|| format!("--turned '{}'", arguments.turned))?;
    // The bounds of observations are the bounds of turning by hand.
    let turned = Observations::after(Turns::new(turned))?.turned();
    let place = roll(&drive, turned)?;
    let mut table = if arguments.table {
        Some(moments(&drive)?)
    } else {
        None
    };
    let table = table
        .as_mut()
        .map(|moments| moments as &mut dyn Iterator<Item = Moment>);
    stream::output(&match arguments.format {
        Format::Text => roll_text_seen(
            &drive,
            &place,
            &lookalikes(&drive)?,
            table,
            view.unwrap_or_else(View::facing),
            &Flags,
        ),
        Format::Json => json_text(&roll_json(&drive, &place, table)),
    })?;
    Ok(CLEAN)
}
