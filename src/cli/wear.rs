use super::answer::Answer;
use super::{CLEAN, FINDINGS, Format, SpecArgument, UNUSABLE, specfile, stream};
use anyhow::{Context as _, Result, bail};
use tautmark::{
    Drive,
    drive::ChainId,
    plane::{Elongation, WearVerdict, can_wear, wear, wearing},
    render::{wear_json, wear_text},
    units::Exact,
};

/// What a worn chain does, and whether it may stay in.
///
/// Give the wear in one of three ways. Angles and lengths are estimates; polygon action, which a new
/// chain has too, is shown beside them (--elongation 0 shows it alone).
/// Exit status: 0 within the limit, 1 beyond it or not proven, 2 unusable input or usage.
#[derive(clap::Args)]
#[command(group(clap::ArgGroup::new("worn").required(true).args(["elongation", "length", "extension"])))]
pub(crate) struct WearArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Elongation as a fraction of the length: 1/100 is one per cent
    #[arg(long, value_name = "FRACTION", allow_hyphen_values = true)]
    elongation: Option<String>,
    /// Length in mm from pin to pin, measured with the chain pulled straight
    #[arg(long, value_name = "MM", requires = "over", allow_hyphen_values = true)]
    length: Option<String>,
    /// The links over which the length was measured
    #[arg(long, value_name = "N", requires = "length")]
    over: Option<u16>,
    /// How far the tensioner has come out, in mm from fully retracted
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    extension: Option<String>,
    /// The worn chain; the others are taken as new (needed with --length and --extension where there are several)
    #[arg(long, value_name = "NAME")]
    chain: Option<String>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(crate) fn run(arguments: &WearArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let worn = wear(&drive, &elongations(arguments, &drive)?);
    stream::output(&match arguments.format {
        Format::Text => wear_text(&drive, &worn),
        Format::Json => stream::answer(Answer::Wear, wear_json(&drive, &worn)),
    })?;
    Ok(match worn.verdict() {
        WearVerdict::Within => CLEAN,
        _ => FINDINGS,
    })
}

fn elongations(arguments: &WearArguments, drive: &Drive) -> Result<Vec<(ChainId, Elongation)>> {
    let names = || {
        let names: Vec<&str> = drive.chains().map(|(_, chain)| chain.name()).collect();
        names.join(", ")
    };
    let named = match &arguments.chain {
        Some(name) => Some(drive.chain_named(name).with_context(|| {
            format!(
                "--chain '{name}': no such chain (the spec has: {})",
                names()
            )
        })?),
        None => None,
    };
    let all: Vec<ChainId> = drive.chains().map(|(id, _)| id).collect();
    if let Some(text) = &arguments.elongation {
        let flag = || format!("--elongation '{text}'");
        let elongation = Elongation::given(Exact::parse(text).with_context(flag)?);
        let elongation = elongation.with_context(flag)?;
        let chains = match named {
            Some(chain) => {
                can_wear(drive, chain)?;
                vec![chain]
            }
            None => wearing(drive)?,
        };
        return Ok(chains
            .into_iter()
            .map(|chain| (chain, elongation))
            .collect());
    }
    let chain = match (named, all.as_slice()) {
        (Some(chain), _) => chain,
        (None, [chain]) => *chain,
        _ => bail!(
            "which chain was measured? (give --chain, one of {})",
            names()
        ),
    };
    let elongation = if let Some(text) = &arguments.length {
        let flag = || format!("--length '{text}'");
        let length = Exact::parse(text).with_context(flag)?;
        let over = arguments.over.unwrap_or_default();
        Elongation::measured(drive, chain, length, over).with_context(flag)?
    } else {
        let text = arguments.extension.as_deref().unwrap_or_default();
        let flag = || format!("--extension '{text}'");
        let extension = Exact::parse(text).with_context(flag)?;
        Elongation::from_extension(drive, chain, extension).with_context(flag)?
    };
    Ok(vec![(chain, elongation)])
}
