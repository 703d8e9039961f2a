//! The geometry of a drive in figures, to be signed.

use crate::drive::model::Drive;
use crate::plane::geometry::Tension;
use crate::plane::report::{ChainReport, Laid};
use crate::plane::survey::AGREES;
use crate::render::words::band::Band;
use crate::render::words::escape::printable;
use crate::spec::finding::PartName;
use crate::timing::roll::{Returns, returns};
use crate::units::decimal::{decimal, exact};
use std::fmt::Write as _;

/// The figures of every chain, the speeds of the shafts, and when all comes back.
pub fn geometry_text(drive: &Drive, report: &[ChainReport]) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_report(&mut out, drive, report);
    printable(&out)
}

fn write_report(out: &mut String, drive: &Drive, report: &[ChainReport]) -> std::fmt::Result {
    writeln!(out, "{}: the geometry of its spec", drive.engine())?;
    if let Some(position) = drive.timed_position() {
        writeln!(out, "timed position: {position}")?;
    }
    for ChainReport { chain, laid } in report {
        let of = drive.chain(*chain);
        let links = of.links().get();
        let band = Band::of(of);
        write!(
            out,
            "\n{} '{}': {links} {} ({})",
            band.title,
            of.name(),
            band.links,
            if of.is_gears() {
                "of the driven gear: odd or even"
            } else if of.is_belt() {
                "a toothed belt: odd or even"
            } else if links.is_multiple_of(2) {
                "even"
            } else {
                "odd: it needs a cranked link"
            }
        )?;
        if let Some(pitch) = of.pitch() {
            write!(out, ", pitch {} mm", exact(pitch))?;
        }
        writeln!(out)?;
        match laid {
            Ok(laid) => write_laid(out, drive, band, laid)?,
            Err(error) => writeln!(out, "  not laid: {error}")?,
        }
    }
    writeln!(
        out,
        "\nShafts, in turns per crank turn (- is the other way)"
    )?;
    let width = drive
        .shafts()
        .map(|(_, shaft)| shaft.name().chars().count());
    let width = width.max().unwrap_or(0);
    for (_, shaft) in drive.shafts() {
        let ratio = shaft.ratio();
        writeln!(out, "  {:width$}  {ratio}", shaft.name())?;
    }
    let Returns { dots, links } = returns(drive);
    let after = |turns: Option<u64>| match turns {
        Some(turns) => format!("after {turns} crank turns"),
        None => "after more crank turns than are counted".to_owned(),
    };
    writeln!(out, "\nAll dots are back {}.", after(dots))?;
    if drive
        .engagements()
        .any(|(_, sprocket)| sprocket.mark().is_some())
    {
        writeln!(
            out,
            "All dots and given {} are back {}.",
            Band::all(drive).links,
            after(links)
        )?;
    } else {
        writeln!(out, "No {} is given for a dot.", Band::all(drive).link)?;
    }
    writeln!(
        out,
        "\nCalculated from the spec alone. The maker's drawings and service information rule over it.\n\n\
         Checked by ______________________________  on ______________"
    )
}

fn write_laid(out: &mut String, drive: &Drive, band: &Band, laid: &Laid) -> std::fmt::Result {
    writeln!(
        out,
        "  loop: {} {}, {} mm along the pitch circles",
        decimal(laid.loop_links, 3),
        band.links,
        decimal(laid.loop_mm, 2)
    )?;
    if let Some(tensioner) = laid.tensioner {
        let travel = |mm: Option<f64>| match mm {
            Some(mm) => format!("{} mm out", decimal(mm, 2)),
            None => "no travel would do".to_owned(),
        };
        write!(
            out,
            "  tensioner: {} with a new {}",
            travel(tensioner.new),
            band.name
        )?;
        if tensioner.worn.is_some() {
            write!(out, ", {} at the elongation limit", travel(tensioner.worn))?;
        }
        writeln!(out, ", of a stroke of {} mm", decimal(tensioner.stroke, 2))?;
    }
    let width = laid
        .parts
        .iter()
        .map(|part| name(&part.name).chars().count());
    let width = width.max().unwrap_or(0).max(4);
    writeln!(
        out,
        "\n  {:width$}  teeth     wrap   {} on it",
        "part", band.links
    )?;
    for part in &laid.parts {
        let teeth = part
            .teeth
            .map_or_else(|| "-".into(), |teeth| teeth.get().to_string());
        writeln!(
            out,
            "  {:width$}  {teeth:>5}  {:>7}   {:>7}{}",
            name(&part.name),
            fixed(part.wrap, 1),
            fixed(part.links, 2),
            if part.teeth.is_some() { " in mesh" } else { "" },
        )?;
    }
    let way = |from: &PartName, to: &PartName| format!("{} to {}", name(from), name(to));
    let width = laid
        .strands
        .iter()
        .map(|strand| way(&strand.from, &strand.to).chars().count());
    let width = width.max().unwrap_or(0).max(6);
    writeln!(out, "\n  {:width$}        mm    {}", "strand", band.links)?;
    for strand in &laid.strands {
        writeln!(
            out,
            "  {:width$}  {:>8}  {:>7}  {}",
            way(&strand.from, &strand.to),
            fixed(strand.mm, 2),
            fixed(strand.links, 2),
            match strand.tension {
                Tension::Tight => "tight",
                Tension::Slack => "slack",
            }
        )?;
    }
    if laid.marks.is_empty() {
        return Ok(());
    }
    let names: Vec<&str> = laid
        .marks
        .iter()
        .map(|(at, _)| drive.shaft(drive.sprocket(*at).shaft()).name())
        .collect();
    let width = names
        .iter()
        .map(|name| name.chars().count())
        .max()
        .unwrap_or(0)
        .max(4);
    writeln!(
        out,
        "\n  {:width$}  {:>8}  {:>7}  by the path",
        "mark", "dot", band.link
    )?;
    for ((at, residual), name) in laid.marks.iter().zip(names) {
        let sprocket = drive.sprocket(*at);
        let dot = sprocket
            .dot()
            .map_or_else(|| "-".into(), |dot| exact(dot.get()));
        let link = sprocket
            .mark()
            .map_or_else(|| "-".into(), |mark| exact(mark.link.get()));
        let told = match residual {
            Some(residual) => format!(
                "{} {links} from '{}', the mark {} ({} deg): {} {} {links}",
                decimal(residual.counted, 2),
                drive.shaft(drive.sprocket(residual.from).shaft()).name(),
                signed(residual.off),
                signed(residual.degrees),
                if residual.off.abs() <= AGREES {
                    "within"
                } else {
                    "NOT within"
                },
                decimal(AGREES, 2),
                links = band.links
            ),
            None if laid
                .marks
                .iter()
                .any(|(_, other)| other.is_some_and(|other| other.from == *at)) =>
            {
                format!("{} are counted from here", band.links)
            }
            None if sprocket.dot().is_some() && sprocket.mark().is_some() => {
                format!(
                    "not counted: no {} lies on a dot, or only a slack strand of unknown length leads here",
                    band.name
                )
            }
            None => "nothing to compare".to_owned(),
        };
        writeln!(out, "  {name:width$}  {dot:>8}  {link:>7}  {told}")?;
    }
    Ok(())
}

fn name(part: &PartName) -> String {
    match part {
        PartName::Sprocket(shaft) => shaft.clone(),
        PartName::Guide => "guide".to_owned(),
        PartName::Tensioner => "tensioner".to_owned(),
    }
}

/// With all its places, so that columns stand under each other.
fn fixed(value: f64, places: usize) -> String {
    format!("{value:.places$}")
}

fn signed(value: f64) -> String {
    let text = decimal(value, 2);
    if text.starts_with('-') || text == "0" {
        text
    } else {
        format!("+{text}")
    }
}
