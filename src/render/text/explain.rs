//! Causes in words.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::render::hints::{Hints, Wanted, bracketed};
use crate::render::words::band::Band;
use crate::render::words::cautions::write_cautions;
use crate::render::words::elsewhere::{ELSEWHERE_HEADING, elsewhere_words};
use crate::render::words::escape::printable;
use crate::render::words::numbers;
use crate::timing::cause::{Cause, Explanation, Fault};
use crate::timing::elsewhere::elsewhere;
use crate::timing::measure::Measured;
use crate::timing::trouble::{ABOUT_CODES, TroubleCode};
use crate::units::quantity::{Exact, Teeth};
use std::fmt::Write as _;

/// What to do about a question that has too many answers.
const CUT_SHORT: &str = "there are too many to try. Measure more shafts, or with less tolerance.";

/// Faults at once that are hard to believe.
const MANY: usize = 3;

/// The smallest causes, what is left over of each measurement, and what the codes are worth.
/// `hints` says how to see more of them.
pub fn explain_text(
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
    hints: &dyn Hints,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_explanation(&mut out, drive, measured, explanation, codes, hints);
    printable(&out)
}

fn write_explanation(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    explanation: Option<&Explanation>,
    codes: &[&TroubleCode],
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    for code in codes {
        writeln!(out, "\n{}: {}", code.code, code.meaning)?;
        writeln!(out, "  shows         {}", code.tells)?;
        writeln!(out, "  does not show {}", code.does_not_tell)?;
    }
    if !codes.is_empty() {
        writeln!(out, "{ABOUT_CODES}")?;
    }
    if let Some(explanation) = explanation {
        write_causes(out, drive, measured, explanation, hints)?;
        if explanation.swallowed.is_empty() {
            write_elsewhere(out, drive, measured)?;
        }
    }
    write_cautions(out)
}

fn write_causes(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    explanation: &Explanation,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "\nMeasured")?;
    for one in measured {
        let sure = if one.tolerance.is_zero() {
            String::new()
        } else {
            format!(", give or take {}", numbers::crank_degrees(one.tolerance))
        };
        let off = if one.angle.is_zero() {
            "where it belongs".to_owned()
        } else {
            format!(
                "{} {}",
                numbers::crank_degrees(one.angle),
                numbers::side(one.angle.get())
            )
        };
        writeln!(out, "  {}: {off}{sure}", drive.shaft(one.shaft).name())?;
    }
    if !explanation.swallowed.is_empty() {
        return write_swallowed(out, drive, explanation);
    }
    match &explanation.causes[..] {
        [] if explanation.cut_short => {
            writeln!(out, "\nNo explanation was found: {CUT_SHORT}")?;
            return Ok(());
        }
        [] => {
            writeln!(
                out,
                "\nNo explanation with at most {} faults fits. Measure again; think of wear, a phaser, or a sprocket that has turned on its shaft.",
                crate::timing::cause::MOST_FAULTS
            )?;
            for one in measured {
                writeln!(out, "  {}", nearest_tooth(drive, one))?;
            }
            return Ok(());
        }
        [cause] if cause.faults.is_empty() => {
            writeln!(out, "\nNothing is wrong, as far as this was measured.")?;
        }
        [_] => writeln!(out, "\nThe smallest cause")?,
        many => writeln!(
            out,
            "\nThe smallest causes: {}, none of them proven",
            many.len()
        )?,
    }
    for (i, cause) in explanation.causes.iter().enumerate() {
        if cause.faults.is_empty() {
            write_residuals(out, drive, measured, cause)?;
            continue;
        }
        let faults: Vec<String> = cause
            .faults
            .iter()
            .map(|fault| fault_text(drive, fault))
            .collect();
        writeln!(out, "  {}. {}", i + 1, faults.join("; and "))?;
        write_residuals(out, drive, measured, cause)?;
    }
    if explanation.more {
        let hint = bracketed(hints, Wanted::MoreCauses);
        writeln!(out, "  ... and more{hint}")?;
    }
    if explanation.cut_short {
        writeln!(out, "  ... and there may be others: {CUT_SHORT}")?;
    }
    if explanation
        .causes
        .iter()
        .any(|cause| cause.faults.len() >= MANY)
    {
        writeln!(
            out,
            "So many faults at once are unlikely. Measure again before anything is taken apart."
        )?;
    }
    write_hidden(out, drive, measured)?;
    let others: Vec<&str> = drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id) && measured.iter().all(|one| one.shaft != *id))
        .map(|(_, shaft)| shaft.name())
        .collect();
    if explanation.causes.len() > 1 && !others.is_empty() {
        writeln!(
            out,
            "To tell them apart, look at the others too and give what they show: {}.",
            others.join(", ")
        )?;
    }
    Ok(())
}

/// What lies outside the drive and was not ruled out either.
fn write_elsewhere(out: &mut String, drive: &Drive, measured: &[Measured]) -> std::fmt::Result {
    // What cannot be held was refused when it was read.
    let all = elsewhere(drive, measured).unwrap_or_default();
    if all.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{ELSEWHERE_HEADING}")?;
    for one in all {
        let words = elsewhere_words(drive, one);
        writeln!(out, "  - {}. To tell: {}.", words.what, words.settled_by)?;
    }
    Ok(())
}

/// What cannot be told, and how well it would have to be measured.
fn write_swallowed(out: &mut String, drive: &Drive, explanation: &Explanation) -> std::fmt::Result {
    writeln!(
        out,
        "\nNOTHING CAN BE TOLD. The tolerance takes in a whole tooth and more, so these may be in time or not:"
    )?;
    for shaft in &explanation.swallowed {
        let shaft = drive.shaft(*shaft);
        let tooth = shaft
            .driven_at()
            .map(|at| numbers::crank_degrees(drive.chain(at.chain).tooth()));
        writeln!(
            out,
            "  {}{}",
            shaft.name(),
            tooth.map_or_else(String::new, |tooth| format!(": one tooth is {tooth}"))
        )?;
    }
    writeln!(
        out,
        "Measure to less than half a tooth, or look at the marks."
    )
}

/// What may be wrong besides with shafts of which only the marks were seen.
fn write_hidden(out: &mut String, drive: &Drive, measured: &[Measured]) -> std::fmt::Result {
    let hidden: Vec<String> = measured
        .iter()
        .filter(|one| !one.at_camshaft)
        .flat_map(|one| {
            let shaft = drive.shaft(one.shaft);
            let dowel = drive
                .dowel_holes(one.shaft)
                .is_ok_and(|holes| !holes.is_empty())
                .then(|| format!("the dowel of {} in another hole", shaft.name()));
            let phaser = shaft
                .phaser()
                .map(|_| format!("the phaser of {} off its parked position", shaft.name()));
            dowel.into_iter().chain(phaser)
        })
        .collect();
    if hidden.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "Teeth were read off the marks. What the marks cannot show: {}.",
        hidden.join("; ")
    )
}

/// The nearest whole tooth to what was measured, and what that leaves.
fn nearest_tooth(drive: &Drive, one: &Measured) -> String {
    let name = drive.shaft(one.shaft).name();
    let Some(tooth) = drive
        .shaft(one.shaft)
        .driven_at()
        .map(|at| drive.chain(at.chain).tooth())
    else {
        return name.to_owned();
    };
    let rest = one
        .angle
        .get()
        .nearest_modulo(tooth.get())
        .unwrap_or(Exact::ZERO);
    format!(
        "{name}: {} crank degrees {} the nearest whole tooth (one tooth is {})",
        numbers::exact(rest.abs()),
        if rest.signum() < 0 {
            "behind"
        } else {
            "ahead of"
        },
        numbers::crank_degrees(tooth)
    )
}

fn write_residuals(
    out: &mut String,
    drive: &Drive,
    measured: &[Measured],
    cause: &Cause,
) -> std::fmt::Result {
    let left: Vec<String> = measured
        .iter()
        .zip(&cause.residuals)
        .filter(|(_, residual)| !residual.is_zero())
        .map(|(one, residual)| {
            format!(
                "{} {} {}",
                drive.shaft(one.shaft).name(),
                numbers::crank_degrees(*residual),
                numbers::side(residual.get())
            )
        })
        .collect();
    if !left.is_empty() {
        writeln!(
            out,
            "     left over, within what was measured: {}",
            left.join(", ")
        )?;
    }
    Ok(())
}

fn fault_text(drive: &Drive, fault: &Fault) -> String {
    let hidden = if fault.shows_in_marks() {
        ""
    } else {
        " [the marks cannot show this]"
    };
    format!("{}{hidden}", what_is_wrong(drive, fault))
}

pub(crate) fn what_is_wrong(drive: &Drive, fault: &Fault) -> String {
    match fault {
        Fault::Slip { at, teeth } => slip_text(drive, *at, *teeth),
        Fault::Phaser { shaft, angle } => format!(
            "the phaser of {} is {} {} its parked position",
            drive.shaft(*shaft).name(),
            numbers::crank_degrees(*angle),
            if angle.get().signum() < 0 {
                "retarded from"
            } else {
                "advanced from"
            }
        ),
        Fault::Dowel { shaft, angle } => format!(
            "the dowel of {} sits in another hole, {} {}",
            drive.shaft(*shaft).name(),
            numbers::crank_degrees(*angle),
            numbers::side(angle.get())
        ),
        Fault::CrankTurn => {
            "the crankshaft was one whole turn from where it was taken to be (the other TDC)"
                .to_owned()
        }
        Fault::Elongation { least, most } => elongation_text(drive, *least, *most),
    }
}

/// Where the chain sits wrong, and what that does.
fn slip_text(drive: &Drive, at: Engagement, teeth: Teeth) -> String {
    let chain = drive.chain(at.chain);
    let shaft = drive.shaft(drive.sprocket(at).shaft());
    let name = shaft.name();
    let count = numbers::teeth(teeth);
    let angle = chain
        .crank_degrees_of(teeth)
        .map_or_else(|_| String::new(), numbers::crank_degrees);
    let (own, others) = if teeth.get().signum() < 0 {
        ("behind", "ahead")
    } else {
        ("ahead", "behind")
    };
    let drives_on = shaft
        .engagements()
        .iter()
        .any(|other| drive.driver_of(other.chain) == *other);
    let moved = if drives_on {
        format!("{name} and all that it drives are")
    } else {
        format!("{name} is")
    };
    let driver = drive.driver_of(at.chain);
    let band = Band::of(chain).name;
    if at == driver {
        format!(
            "{band} {} is {count} off at the {name} sprocket: all that it drives is {angle} {others}",
            chain.name()
        )
    } else if chain.sprockets().len() == 2 {
        format!(
            "{band} {} is {count} off between {} and {name}: {moved} {angle} {own}",
            chain.name(),
            drive.shaft(drive.sprocket(driver).shaft()).name()
        )
    } else {
        format!(
            "{band} {} is {count} off at the {name} sprocket: {moved} {angle} {own}",
            chain.name()
        )
    }
}

fn elongation_text(drive: &Drive, least: Exact, most: Exact) -> String {
    let (from, to) = (percent(least), percent(most));
    let about = if from == to {
        to
    } else {
        format!("{from} to {to}")
    };
    let limit = drive
        .chains()
        .filter_map(|(_, chain)| chain.elongation_limit())
        .min();
    let limit = match limit {
        Some(limit) if least > limit => {
            format!(", more than the limit of {} per cent", percent(limit))
        }
        Some(limit) => format!(", the limit being {} per cent", percent(limit)),
        None => String::new(),
    };
    let chains = drive.chains().filter(|(_, chain)| chain.has_pins());
    let chains = if chains.count() == 1 {
        "the chain is"
    } else {
        "the chains are"
    };
    format!(
        "{chains} elongated by about {about} per cent{limit} (calculated from the links of the tight strands: measure it)"
    )
}

fn percent(fraction: Exact) -> String {
    fraction
        .checked_mul(Exact::whole(100))
        .map_or_else(|_| String::new(), |percent| numbers::rounded(percent, 2))
}
