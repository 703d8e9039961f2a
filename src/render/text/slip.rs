//! What a slip does, in words.

use crate::drive::model::Drive;
use crate::render::hints::Hints;
use crate::render::words::cautions::write_cautions;
use crate::render::words::escape::printable;
use crate::render::words::numbers;
use crate::render::words::slip::{
    ESTIMATE, Row, USUAL_CENTRES, basis, degrees, first_meeting, from_timed_position, meeting_of,
    no_compression, rows_of, standing, sweep_table, symptom, title,
};
use crate::timing::observe::name_of;
use crate::valves::slip::{Contact, SlipOutcome, Slips, Sweep};
use std::fmt::Write as _;

/// What the slip does in words, and the table of `sweep` if there is one. `hints` says how to
/// give what the estimates leave out.
pub fn slip_text(
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
    hints: &dyn Hints,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_slip(&mut out, drive, slips, outcome, sweep, hints);
    printable(&out)
}

fn write_slip(
    out: &mut String,
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "{}\n{ESTIMATE}\n", drive.engine())?;
    if sweep.is_none() || !slips.is_empty() {
        writeln!(out, "{}", meeting_of(drive, &outcome.after))?;
        for (valves, timing) in drive.valves().iter().zip(&outcome.after.valves) {
            if let Some(why) = timing.no_compression {
                writeln!(
                    out,
                    "No compression at TDC of compression ({}): {}.",
                    title(valves),
                    no_compression(why).1
                )?;
            }
        }
        writeln!(out)?;
        write_causes(out, drive, slips, outcome)?;
        write_events(out, drive, outcome)?;
        if !outcome.symptoms.is_empty() {
            writeln!(out, "\nLikely signs (common practice, not proof)")?;
            for each in &outcome.symptoms {
                writeln!(out, "  - {}", symptom(*each).1)?;
            }
        }
        write_meeting_places(out, drive, outcome)?;
    }
    if let Some(sweep) = sweep {
        write_sweep(out, drive, sweep)?;
    }
    writeln!(out, "\nWhat it rests on")?;
    for line in basis(drive, slips, &outcome.before, hints) {
        writeln!(out, "  - {line}")?;
    }
    write_cautions(out)
}

fn write_causes(
    out: &mut String,
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
) -> std::fmt::Result {
    let mut rows: Vec<(String, String)> = slips
        .teeth()
        .iter()
        .map(|(at, teeth)| {
            (
                format!("{} sprocket", name_of(drive, *at)),
                if teeth.is_zero() {
                    "on".to_owned()
                } else {
                    format!("{} {}", numbers::teeth(*teeth), numbers::side(teeth.get()))
                },
            )
        })
        .collect();
    rows.extend(slips.phasers().iter().map(|(shaft, ahead)| {
        let name = drive.shaft(*shaft).name();
        (
            format!("{name} phaser"),
            if ahead.is_zero() {
                "parked".to_owned()
            } else {
                format!(
                    "{} {} of its parked position",
                    numbers::crank_degrees(*ahead),
                    numbers::side(ahead.get())
                )
            },
        )
    }));
    if let Some(elongation) = slips.elongation() {
        rows.push((
            "every chain".to_owned(),
            format!("elongated by {elongation} of its length (what that does is an estimate)"),
        ));
    }
    if rows.is_empty() {
        writeln!(out, "Nothing has slipped.")?;
    } else {
        writeln!(out, "Slipped or moved")?;
        write_rows(out, &rows)?;
    }
    let shafts: Vec<(String, String)> = drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id))
        .filter_map(|(id, shaft)| {
            let error = outcome.errors.get(id.index())?;
            Some((
                shaft.name().to_owned(),
                shaft.turn().map_or_else(
                    |_| numbers::crank_degrees(*error),
                    |turn| standing(*error, turn, numbers::crank_degrees),
                ),
            ))
        })
        .collect();
    let sure = match slips.elongation() {
        None => "exact",
        Some(_) => "an estimate, because of the elongation",
    };
    writeln!(out, "\nWhere that leaves the shafts ({sure})")?;
    write_rows(out, &shafts)
}

fn write_rows(out: &mut String, rows: &[(String, String)]) -> std::fmt::Result {
    let width = rows.iter().map(|row| row.0.chars().count()).max();
    let width = width.unwrap_or(0);
    for (name, what) in rows {
        writeln!(out, "  {name:width$}  {what}")?;
    }
    Ok(())
}

fn write_events(out: &mut String, drive: &Drive, outcome: &SlipOutcome) -> std::fmt::Result {
    let all = drive.valves();
    let mut blocks: Vec<(String, Vec<Row>)> = Vec::new();
    for ((valves, before), after) in all
        .iter()
        .zip(&outcome.before.valves)
        .zip(&outcome.after.valves)
    {
        let stated = if valves.at_lift.is_zero() {
            "from seat to seat".to_owned()
        } else {
            format!("at {} mm lift", numbers::exact(valves.at_lift))
        };
        blocks.push((
            format!("{} ({stated})", title(valves)),
            rows_of(valves, before, after),
        ));
    }
    for (before, after) in outcome.before.pairs.iter().zip(&outcome.after.pairs) {
        let (Some(intake), Some(exhaust)) = (all.get(before.intake), all.get(before.exhaust))
        else {
            continue;
        };
        blocks.push((
            format!("{} with {}", intake.name, exhaust.name),
            vec![
                (
                    "overlap".to_owned(),
                    degrees(before.overlap),
                    degrees(after.overlap),
                ),
                (
                    "lobe separation, cam degrees".to_owned(),
                    numbers::exact(before.separation),
                    numbers::exact(after.separation),
                ),
            ],
        ));
    }
    let rows = || blocks.iter().flat_map(|(_, rows)| rows);
    let first = rows().map(|r| r.0.chars().count()).max().unwrap_or(0);
    let second = rows()
        .map(|r| r.1.chars().count())
        .max()
        .unwrap_or(0)
        .max(6);
    writeln!(
        out,
        "\nValve events in crank degrees\n    {:first$}  {:second$}  after",
        "", "before"
    )?;
    for (title, rows) in &blocks {
        writeln!(out, "  {title}")?;
        for (what, before, after) in rows {
            // A change shows without colour.
            let mark = if before == after { "" } else { " *" };
            writeln!(out, "    {what:first$}  {before:second$}  {after}{mark}")?;
        }
    }
    writeln!(out, "  * changed")
}

fn write_meeting_places(
    out: &mut String,
    drive: &Drive,
    outcome: &SlipOutcome,
) -> std::fmt::Result {
    let Some(cylinders) = drive.cylinders() else {
        return Ok(());
    };
    if outcome.after.contact() != Contact::Meet {
        return Ok(());
    }
    writeln!(
        out,
        "\nWhere they would meet deepest (about, in crank degrees after the timed position)"
    )?;
    for (valves, timing) in drive.valves().iter().zip(&outcome.after.valves) {
        let Ok(least) = &timing.clearance else {
            continue;
        };
        if !least.meet() {
            continue;
        }
        for number in &valves.cylinders {
            if let Some(offset) = cylinders
                .offsets
                .get(usize::from(*number).saturating_sub(1))
            {
                writeln!(
                    out,
                    "  - cylinder {number}, {}: {:.0}",
                    valves.name,
                    from_timed_position(offset.get(), least.at)
                )?;
            }
        }
    }
    Ok(())
}

fn write_sweep(out: &mut String, drive: &Drive, sweep: &Sweep) -> std::fmt::Result {
    writeln!(
        out,
        "\n{} sprocket, tooth by tooth (clearance and trapped compression are estimates)\n{USUAL_CENTRES}",
        name_of(drive, sweep.at)
    )?;
    let table = sweep_table(drive, sweep);
    let columns = table.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|c| {
            let cell = |row: &Vec<String>| row.get(c).map_or(0, |cell| cell.chars().count());
            table.iter().map(cell).max().unwrap_or(0)
        })
        .collect();
    for row in &table {
        let line: Vec<String> = row
            .iter()
            .zip(&widths)
            .map(|(cell, width)| format!("{cell:width$}"))
            .collect();
        writeln!(out, "  {}", line.join("  ").trim_end())?;
    }
    writeln!(out, "\n{}", first_meeting(sweep))
}
