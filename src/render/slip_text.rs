//! What a slip does, in words.

use super::check_text::write_cautions;
use super::slip_words::{self, ESTIMATE, basis, event, mm, near};
use super::{capital, numbers, printable};
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::timing::observe::name_of;
use crate::units::quantity::{CrankDegrees, Exact};
use crate::valves::clearance::LeastClearance;
use crate::valves::slip::{Contact, SlipOutcome, Slips, Sweep, SweepRow};
use crate::valves::timing::ValveTiming;
use std::fmt::Write as _;

/// What, before, after.
pub(super) type Row = (String, String, String);

/// What the slip does in words, and the table of `sweep` if there is one.
pub fn slip_text(
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_slip(&mut out, drive, slips, outcome, sweep);
    printable(&out)
}

fn write_slip(
    out: &mut String,
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
) -> std::fmt::Result {
    writeln!(out, "{}\n{ESTIMATE}\n", drive.engine())?;
    if sweep.is_none() || !slips.is_empty() {
        writeln!(out, "{}\n", headline(drive, outcome))?;
        write_causes(out, drive, slips, outcome)?;
        write_events(out, drive, outcome)?;
        if !outcome.symptoms.is_empty() {
            writeln!(out, "\nLikely signs (common practice, not proof)")?;
            for symptom in &outcome.symptoms {
                writeln!(out, "  - {}", slip_words::symptom(*symptom).1)?;
            }
        }
        write_meeting_places(out, drive, outcome)?;
    }
    if let Some(sweep) = sweep {
        write_sweep(out, drive, sweep)?;
    }
    writeln!(out, "\nWhat it rests on")?;
    for line in basis(drive, slips, &outcome.before) {
        writeln!(out, "  - {line}")?;
    }
    write_cautions(out)
}

/// Less clearance than this says nothing: lash, wear and the spec's own numbers are no better known.
/// (Clearances of a millimetre and more are what engines are built with: common practice.)
const TOO_CLOSE_MM: f64 = 1.0;

fn headline(drive: &Drive, outcome: &SlipOutcome) -> String {
    let least = drive
        .valves()
        .iter()
        .zip(&outcome.after.valves)
        .filter_map(|(valves, timing)| Some((valves, timing.clearance.as_ref().ok()?)))
        .min_by(|a, b| a.1.mm.total_cmp(&b.1.mm));
    meeting(outcome.after.contact(), least)
}

/// Do valves and piston meet; `least` are the valves with the least clearance.
pub(super) fn meeting(contact: Contact, least: Option<(&Valves, &LeastClearance)>) -> String {
    match (contact, least) {
        (Contact::Meet, Some((valves, _))) => format!(
            "VALVES AND PISTON MEET ({}). Do not turn the engine.",
            valves.name
        ),
        (Contact::Clear, Some((valves, clearance))) if clearance.mm < TOO_CLOSE_MM => format!(
            "TOO CLOSE TO CALL: {} between valves and piston ({}). Do not turn the engine on this.",
            mm(clearance.mm),
            valves.name
        ),
        (Contact::Clear, Some((valves, clearance))) => format!(
            "Valves and piston stay clear: {} at the least ({}).",
            mm(clearance.mm),
            valves.name
        ),
        (_, Some((valves, clearance))) => format!(
            "Not known whether valves and piston meet; of those that could be reckoned {} is the least ({}).",
            mm(clearance.mm),
            valves.name
        ),
        _ => "Not known whether valves and piston meet.".to_owned(),
    }
}

/// How a shaft stands. Early and late are said of shafts only: a crankshaft sprocket that has
/// slipped ahead makes the valves late.
pub(super) fn signed(value: Exact, words: String) -> String {
    if value.is_zero() {
        "in time".to_owned()
    } else {
        let side = if value.signum() < 0 {
            "behind (late)"
        } else {
            "ahead (early)"
        };
        format!("{words} {side}")
    }
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
            format!("grown by {elongation} of its length (what that does is an estimate)"),
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
                signed(error.get(), numbers::crank_degrees(*error)),
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

pub(super) fn degrees(value: CrankDegrees) -> String {
    numbers::exact(value.get())
}

/// A centreline: after TDC for an intake, before it for an exhaust.
fn centreline(valves: &Valves, timing: &ValveTiming) -> String {
    event(
        crate::units::quantity::CyclePlace::OVERLAP_TDC
            .later(match valves.kind {
                crate::spec::valves::ValveKind::Intake => timing.centreline,
                crate::spec::valves::ValveKind::Exhaust => timing.centreline.negated(),
            })
            .unwrap_or(crate::units::quantity::CyclePlace::OVERLAP_TDC),
        crate::units::quantity::CyclePlace::OVERLAP_TDC,
    )
    .unwrap_or_default()
}

fn clearance(timing: &ValveTiming) -> String {
    match &timing.clearance {
        Ok(least) if least.meet() => format!("{}, MEETS, {}", mm(least.mm), near(least.at)),
        Ok(least) => format!("{}, {}", mm(least.mm), near(least.at)),
        Err(why) => format!("needs {}", why.missing()),
    }
}

pub(super) fn rows_of(valves: &Valves, before: &ValveTiming, after: &ValveTiming) -> Vec<Row> {
    let both =
        |what: &str, of: &dyn Fn(&ValveTiming) -> String| (what.to_owned(), of(before), of(after));
    let mut rows = vec![
        both("opens", &|t| {
            event(t.opens, valves.opens_near()).unwrap_or_default()
        }),
        both("closes", &|t| {
            event(t.closes, valves.closes_near()).unwrap_or_default()
        }),
        both("duration", &|t| degrees(t.duration)),
        both("lobe centreline", &|t| centreline(valves, t)),
    ];
    if before.trapped_compression.is_some() {
        rows.push(both("trapped compression, about", &|t| {
            t.trapped_compression
                .map_or_else(String::new, |ratio| format!("{ratio:.1} to 1"))
        }));
    }
    rows.push(both("clearance, about", &clearance));
    rows
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

/// `intake, cylinders 1, 2`.
pub(super) fn title(valves: &Valves) -> String {
    let of = slip_words::cylinders(&valves.cylinders);
    let kind = valves.kind.word();
    let name = if valves.name == kind {
        kind.to_owned()
    } else {
        format!("{}, {kind}", valves.name)
    };
    if of.is_empty() {
        name
    } else {
        format!("{name}, {of}")
    }
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
                    slip_words::from_timed_position(offset.get(), least.at)
                )?;
            }
        }
    }
    Ok(())
}

fn write_sweep(out: &mut String, drive: &Drive, sweep: &Sweep) -> std::fmt::Result {
    writeln!(
        out,
        "\n{} sprocket, tooth by tooth (clearance and trapped compression are estimates)",
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

/// The sweep as cells: a row of titles, then one for each number of teeth.
pub(super) fn sweep_table(drive: &Drive, sweep: &Sweep) -> Vec<Vec<String>> {
    let moved = |i: usize| {
        let first = sweep.rows.first().map(|row| row.timing.valves[i].shift);
        sweep
            .rows
            .iter()
            .any(|row| Some(row.timing.valves[i].shift) != first)
    };
    let shown: Vec<usize> = (0..drive.valves().len()).filter(|i| moved(*i)).collect();
    let mut table: Vec<Vec<String>> = Vec::new();
    let mut head = vec!["teeth".to_owned()];
    for i in &shown {
        let name = &drive.valves()[*i].name;
        head.extend([
            format!("{name} opens"),
            "closes".to_owned(),
            "clearance".to_owned(),
        ]);
        if drive.valves()[*i].kind == crate::spec::valves::ValveKind::Intake
            && drive.cylinders().is_some()
        {
            head.push("compression".to_owned());
        }
    }
    let pairs: Vec<usize> = (0..sweep.rows.first().map_or(0, |row| row.timing.pairs.len()))
        .filter(|p| {
            sweep.rows.first().is_some_and(|row| {
                let pair = &row.timing.pairs[*p];
                shown.contains(&pair.intake) || shown.contains(&pair.exhaust)
            })
        })
        .collect();
    for _ in &pairs {
        head.extend(["overlap".to_owned(), "separation".to_owned()]);
    }
    head.push(String::new());
    table.push(head);
    for row in &sweep.rows {
        let mut cells = vec![match row.teeth {
            0 => "0".to_owned(),
            n if n < 0 => format!("{} behind", -n),
            n => format!("{n} ahead"),
        }];
        for i in &shown {
            let (valves, timing) = (&drive.valves()[*i], &row.timing.valves[*i]);
            cells.extend([
                event(timing.opens, valves.opens_near()).unwrap_or_default(),
                event(timing.closes, valves.closes_near()).unwrap_or_default(),
                timing
                    .clearance
                    .as_ref()
                    .map_or_else(|_| "not known".to_owned(), |least| mm(least.mm)),
            ]);
            if let Some(ratio) = timing.trapped_compression {
                cells.push(format!("{ratio:.1}"));
            }
        }
        for p in &pairs {
            let pair = &row.timing.pairs[*p];
            cells.extend([degrees(pair.overlap), numbers::exact(pair.separation)]);
        }
        cells.push(
            match row.timing.contact() {
                Contact::Meet => "MEET",
                _ if too_close(row) => "too close to call",
                _ => "",
            }
            .to_owned(),
        );
        table.push(cells);
    }
    table
}

/// Do valves and piston stay clear by so little that it says nothing?
fn too_close(row: &SweepRow) -> bool {
    row.timing.contact() == Contact::Clear
        && row.timing.valves.iter().any(|valve| {
            valve
                .clearance
                .as_ref()
                .is_ok_and(|least| least.mm < TOO_CLOSE_MM)
        })
}

/// At which slip valves and piston meet first, either way.
pub(crate) fn first_meeting(sweep: &Sweep) -> String {
    let (behind, ahead) = sweep.first_meeting();
    if behind == Some(0) || ahead == Some(0) {
        return "Valves and piston meet without any slip of this sprocket.".to_owned();
    }
    let teeth = |n: i64| match n.abs() {
        1 => "1 tooth".to_owned(),
        n => format!("{n} teeth"),
    };
    let unknown = sweep
        .rows
        .iter()
        .any(|row| row.timing.contact() == Contact::NotKnown);
    let side = |found: Option<i64>, most: i64, word: &str| match found {
        Some(n) => format!("valves and piston meet from {} {word}", teeth(n)),
        None if most == 0 => format!("no slip {word} was reckoned"),
        None if unknown => format!(
            "up to {} {word} no meeting was found, but not all could be reckoned",
            teeth(most)
        ),
        None => format!("up to {} {word} they stay clear", teeth(most)),
    };
    let least = sweep.rows.first().map_or(0, |row| row.teeth.min(0));
    let most = sweep.rows.last().map_or(0, |row| row.teeth.max(0));
    let close = if sweep.rows.iter().any(too_close) {
        " Less than 1 mm is too close to call: do not turn the engine on it."
    } else {
        ""
    };
    capital(&format!(
        "{}; {}.{close}",
        side(behind, least, "behind"),
        side(ahead, most, "ahead")
    ))
}
