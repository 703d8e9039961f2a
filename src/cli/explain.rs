use super::answer::Answer;
use super::hints::Flags;
use super::{CLEAN, FINDINGS, Format, SpecArgument, UNUSABLE, specfile, stream};
use anyhow::{Context as _, Result, bail};
use tautmark::{
    plane::FromPaths,
    render::{explain_json, explain_text},
    timing::{Measured, TROUBLE_CODES, TroubleCode, explain, trouble_code},
    units::{CrankDegrees, Exact},
};

/// The smallest causes of what was seen or measured.
///
/// SEEN is how far a shaft was found to be off: '2 behind' (teeth of its sprocket, exact),
/// '18.5 crank deg behind' or '9 cam deg ahead' (see which of the two your instrument shows), each
/// with a tolerance if you like: '18.5 +- 3 crank deg behind'. Shafts that are right are worth giving too: intake=on.
/// Exit status: 0 nothing is wrong, 1 something is, nothing explains it or nothing can be told, 2 unusable input.
#[derive(clap::Args)]
pub(crate) struct ExplainArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// How far each shaft was found to be off
    #[arg(value_name = "SHAFT=SEEN")]
    seen: Vec<String>,
    /// Tolerance of angles given without one, in crank degrees
    #[arg(
        long,
        value_name = "DEGREES",
        default_value = "3",
        allow_hyphen_values = true
    )]
    tolerance: String,
    /// A trouble code read from the engine, such as P0016: what it does and does not tell you
    #[arg(long = "code", value_name = "CODE")]
    codes: Vec<String>,
    /// List at most this many causes
    #[arg(long, value_name = "N", default_value = "12", value_parser = clap::value_parser!(u16).range(1..=1000))]
    most: u16,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(crate) fn run(arguments: &ExplainArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    if arguments.seen.is_empty() && arguments.codes.is_empty() {
        bail!("nothing to explain (give SHAFT=SEEN, such as 'intake=2 behind', or --code)");
    }
    let codes = arguments
        .codes
        .iter()
        .map(|code| known_code(code))
        .collect::<Result<Vec<_>>>()?;
    let tolerance = Exact::parse(&arguments.tolerance)
        .with_context(|| format!("--tolerance '{}'", arguments.tolerance))?;
    if tolerance.signum() < 0 || tolerance > Exact::whole(720) || tolerance.denominator() > 1000 {
        bail!(
            "--tolerance '{}' is not in the required range of 0..=720 crank degrees with at most three decimals",
            arguments.tolerance
        );
    }
    let mut measured: Vec<Measured> = Vec::new();
    for text in &arguments.seen {
        let Some((name, what)) = text.split_once('=') else {
            bail!("'{text}': expected SHAFT=SEEN, such as 'intake=2 behind'");
        };
        let one = Measured::read(&drive, name.trim(), what, CrankDegrees::new(tolerance))
            .with_context(|| format!("'{text}'"))?;
        if measured.iter().any(|other| other.shaft == one.shaft) {
            bail!("'{text}': this shaft is given twice (once is enough)");
        }
        measured.push(one);
    }
    let explanation = if measured.is_empty() {
        None
    } else {
        Some(explain(
            &drive,
            &measured,
            &FromPaths::new(&drive),
            usize::from(arguments.most),
        )?)
    };
    stream::output(&match arguments.format {
        Format::Text => explain_text(&drive, &measured, explanation.as_ref(), &codes, &Flags),
        Format::Json => stream::answer(
            Answer::Explain,
            explain_json(&drive, &measured, explanation.as_ref(), &codes),
        ),
    })?;
    let clean = explanation.is_some_and(|explanation| {
        explanation
            .causes
            .iter()
            .any(|cause| cause.faults.is_empty())
    });
    Ok(if clean && codes.is_empty() {
        CLEAN
    } else {
        FINDINGS
    })
}

fn known_code(code: &str) -> Result<&'static TroubleCode> {
    match trouble_code(code) {
        Some(code) => Ok(code),
        None => bail!(
            "--code '{code}' is not known here (known: {})",
            TROUBLE_CODES
                .iter()
                .map(|known| known.code)
                .collect::<Vec<_>>()
                .join(", ")
        ),
    }
}
