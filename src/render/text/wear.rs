//! Wear in words.

use crate::drive::model::Drive;
use crate::plane::wear::{ChainWear, Elongation, Wear, WearLimit, WearVerdict};
use crate::render::words::cautions::write_cautions;
use crate::render::words::escape::printable;
use crate::render::words::numbers::{self, decimal};
use std::fmt::Write as _;

/// The verdict of each worn chain, how far each shaft is late, and what cannot be told.
pub fn wear_text(drive: &Drive, wear: &Wear) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_wear(&mut out, drive, wear);
    printable(&out)
}

fn write_wear(out: &mut String, drive: &Drive, wear: &Wear) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    for chain in &wear.chains {
        write_chain(out, drive, chain)?;
    }
    if wear.shafts.iter().any(|shaft| shaft.retard.is_some()) {
        write_shafts(out, drive, wear)?;
    } else {
        writeln!(
            out,
            "\nHow late the shafts are is not known: the chains cannot be laid in the plane"
        )?;
    }
    write_cautions(out)
}

fn write_shafts(out: &mut String, drive: &Drive, wear: &Wear) -> std::fmt::Result {
    writeln!(out, "\nShafts, in crank degrees (estimates)")?;
    writeln!(
        out,
        "  {:<16} {:>11} {:>14} {:>14}",
        "", "late by", "by worn path", "polygon action"
    )?;
    for shaft in &wear.shafts {
        let cell = |value: Option<f64>| value.map_or("not known".into(), |v| decimal(v, 2));
        writeln!(
            out,
            "  {:<16} {:>11} {:>14} {:>14}",
            drive.shaft(shaft.shaft).name(),
            cell(shaft.retard),
            cell(shaft.retard_by_path),
            cell(shaft.ripple)
        )?;
    }
    writeln!(
        out,
        "  late by         elongation times the free links of the tight strands from the crankshaft"
    )?;
    writeln!(
        out,
        "  by worn path    the same by laying the worn chain, whose links ride out on the sprockets"
    )?;
    writeln!(
        out,
        "  polygon action  from the earliest to the latest in one turn, because links are straight; at most so much"
    )?;
    if wear.shafts.iter().any(|shaft| shaft.retard.is_none()) {
        writeln!(
            out,
            "  not known       a chain on the way cannot be laid in the plane, or only a slack strand pulls the shaft"
        )?;
    }
    Ok(())
}

fn write_chain(out: &mut String, drive: &Drive, wear: &ChainWear) -> std::fmt::Result {
    writeln!(
        out,
        "\nChain {}: {}",
        drive.chain(wear.chain).name(),
        match (wear.verdict, wear.limit) {
            (WearVerdict::Within, WearLimit::Spec(_)) => "within its limit",
            (WearVerdict::Within, WearLimit::Published { .. }) =>
                "within the published general limits (an estimate; the maker's limit rules)",
            (WearVerdict::NotProven, _) =>
                "not proven: the spec gives no limit, and the published ones disagree here",
            (WearVerdict::Beyond, _) => "BEYOND ITS LIMIT",
        }
    )?;
    writeln!(out, "  elongation  {}", percent_of(wear.elongation))?;
    match wear.limit {
        WearLimit::Spec(limit) => {
            writeln!(
                out,
                "  limit       {} % by the spec",
                percent(limit.to_f64())
            )?;
        }
        WearLimit::Published {
            smooth,
            general,
            teeth,
        } => {
            writeln!(
                out,
                "  limit       none in the spec; estimates: {} % for smooth running, {} % in general (largest sprocket {teeth} teeth)",
                percent(smooth.to_f64()),
                percent(general.to_f64())
            )?;
            writeln!(out, "              {}", WearLimit::SOURCE)?;
        }
    }
    match &wear.tensioner {
        Some(at) => {
            let now = match at.worn {
                Some(worn) => format!("out by {} mm", decimal(worn, 1)),
                None => "cannot tighten the chain at any travel".into(),
            };
            let reach = if at.within_stroke() {
                "within its stroke"
            } else {
                "OUT OF ITS STROKE"
            };
            writeln!(
                out,
                "  tensioner   {now} of {} mm ({} mm with a new chain): {reach}",
                decimal(at.stroke, 1),
                decimal(at.new, 1)
            )?;
        }
        None => {
            if let Some(error) = &wear.unknown {
                writeln!(out, "  tensioner   not known: {error}")?;
            }
        }
    }
    Ok(())
}

fn percent(fraction: f64) -> String {
    // Two places are more than any measurement gives.
    decimal(percentage(fraction), 2)
}

#[allow(
    clippy::float_arithmetic,
    reason = "an estimate shown in hundredths, not calculated with"
)]
fn percentage(fraction: f64) -> f64 {
    fraction * 100.0
}

fn percent_of(elongation: Elongation) -> String {
    let value = percent(elongation.to_f64());
    match elongation {
        Elongation::Exact(exact) => format!("{value} % ({})", numbers::exact(exact)),
        Elongation::Estimate(_) => format!("about {value} %, from the tensioner"),
    }
}
