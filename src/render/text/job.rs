//! A job in words: how it stands, and the report that is handed over.

use super::record::{verdicts_text, write_not_seen, write_said, write_stage, write_stages};
use crate::drive::model::Drive;
use crate::drive::plan::Fastener;
use crate::job::Look;
use crate::job::{Block, Entry, Event, Job, JobStatus, KitStatus, StepState, StepStatus};
use crate::proof::check::Check;
use crate::render::hints::Hints;
use crate::render::words::cautions::write_cautions;
use crate::render::words::stage::stage_words;
use crate::render::words::style::{Style, heading, printable_but_styled};
use crate::render::words::torque::{TORQUES_ARE_OF_THE_SPEC, size_words, tightening_words};
use crate::timing::check::Verdict;
use crate::timing::lookalike::Fit;
use crate::units::timestamp::Timestamp;
use std::fmt::Write as _;

/// The verdict on one look, with its grounds. `hints` says how to look at what is still to be looked
/// at; `colour` adds terminal colours.
pub fn look_text(
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    hints: &dyn Hints,
    colour: bool,
) -> String {
    let style = Style {
        hints,
        asking: false,
        colour,
    };
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_stage(&mut out, drive, look, check, fits, style);
    let _ = write_not_seen(&mut out, drive, &look.not_seen);
    let _ = write_said(&mut out, look, &look.unsaid(drive));
    let _ = write_cautions(&mut out);
    printable_but_styled(&out)
}

/// How a job stands: what is missing, what is open, what is blocked and by what. `colour` adds
/// terminal colours, which never carry the meaning alone.
pub fn job_status_text(drive: &Drive, job: &Job, status: &JobStatus<'_>, colour: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_status(&mut out, drive, job, status, colour);
    printable_but_styled(&out)
}

/// The whole job, to be handed over: how it stands, what was seen with all grounds, and its history.
/// `hints` says how to look at what is still to be looked at; `colour` adds terminal colours.
pub fn job_report_text(
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    hints: &dyn Hints,
    colour: bool,
) -> String {
    let style = Style {
        hints,
        asking: false,
        colour,
    };
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_report(&mut out, drive, job, status, style);
    printable_but_styled(&out)
}

fn write_status(
    out: &mut String,
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    colour: bool,
) -> std::fmt::Result {
    write_head(out, drive, job, status, colour)?;
    let missing: Vec<&KitStatus<'_>> = status.kit.iter().filter(|kit| kit.lacking() > 0).collect();
    if missing.is_empty() {
        if !status.kit.is_empty() {
            writeln!(out, "\nEverything that the job takes is on the bench.")?;
        }
    } else {
        writeln!(out, "\n{}", missing_title(status))?;
        for kit in missing {
            writeln!(out, "  - {}", kit_words(kit))?;
        }
    }
    writeln!(out, "\nSteps")?;
    for step in &status.steps {
        writeln!(out, "  {}", step_words(step))?;
        for block in blocks_against(step) {
            writeln!(out, "             - {block}")?;
        }
    }
    if !drive.plan().fasteners().is_empty() {
        writeln!(out, "\nTorques")?;
        for (kind, entry) in drive.plan().fasteners().iter().zip(&status.torques) {
            writeln!(out, "  - {}", torque_words(kind, *entry))?;
        }
        writeln!(out, "  {TORQUES_ARE_OF_THE_SPEC}")?;
    }
    write_overrides(out, status)?;
    if !status.corrected.is_empty() {
        writeln!(out, "\nCORRECTED later, by name")?;
        for entry in &status.corrected {
            writeln!(out, "  - {}", entry_words(drive, job, entry))?;
        }
    }
    if !status.unknown.is_empty() {
        writeln!(out, "\nIn the history, but not in the spec as it is now")?;
        for entry in &status.unknown {
            writeln!(out, "  - {}", entry_words(drive, job, entry))?;
        }
    }
    Ok(())
}

fn write_head(
    out: &mut String,
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    colour: bool,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    writeln!(out, "{}\n", times_words(job, status))?;
    out.push_str(&verdicts_text(drive, &status.check, colour));
    let (text, verdict) = signed_off_words(status);
    writeln!(out, "\n{}", heading(&text, verdict, colour))
}

fn write_overrides(out: &mut String, status: &JobStatus<'_>) -> std::fmt::Result {
    if status.overrides.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nOVERRIDDEN, against what stood in the way")?;
    for entry in &status.overrides {
        for line in override_lines(entry) {
            writeln!(out, "  {line}")?;
        }
    }
    Ok(())
}

fn write_report(
    out: &mut String,
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    style: Style<'_>,
) -> std::fmt::Result {
    write_status(out, drive, job, status, style.colour)?;
    write_stages(out, drive, &status.check, style)?;
    writeln!(out, "\nHistory")?;
    for (i, entry) in job.entries().iter().enumerate() {
        writeln!(out, "  {}. {}", i + 1, entry_words(drive, job, entry))?;
    }
    writeln!(out, "  {HISTORY_NOTE}")?;
    write_cautions(out)
}

/// What the checksums are worth.
pub(crate) const HISTORY_NOTE: &str =
    "The history's checksums are correct. They catch accidents and careless edits, not forgery.";

pub(crate) fn times_words(job: &Job, status: &JobStatus<'_>) -> String {
    let begun = job.entries().iter().find_map(|entry| entry.at);
    match begun {
        Some(begun) => format!(
            "Job started {}; verdicts calculated again {}",
            begun.in_words(),
            status.now.in_words()
        ),
        None => format!("Verdicts calculated again {}", status.now.in_words()),
    }
}

pub(crate) fn signed_off_words(status: &JobStatus<'_>) -> (String, Verdict) {
    let entry = status.steps.last().and_then(|step| step.entry);
    let who = entry.map_or_else(String::new, said);
    if !status.is_signed_off() {
        ("NOT SIGNED OFF.".to_owned(), Verdict::NotProven)
    } else if status.is_proven() {
        (format!("SIGNED OFF, on proof{who}."), Verdict::InTime)
    } else {
        (
            format!("SIGNED OFF{who}, but something was OVERRIDDEN on the way: see below."),
            Verdict::OutOfTime,
        )
    }
}

pub(crate) fn missing_title(status: &JobStatus<'_>) -> &'static str {
    if status.is_before_start() {
        "MISSING: to be here before anything is taken apart"
    } else {
        "MISSING from the bench"
    }
}

pub(crate) fn kit_words(kit: &KitStatus<'_>) -> String {
    let single = if kit.single_use { ", single use" } else { "" };
    let ordered = match kit.ordered {
        Some(entry) => format!("ordered{}", said(entry)),
        None => "not ordered".to_owned(),
    };
    format!(
        "{}: {}{single}; {} of {} missing, {ordered}",
        kit.name,
        kit.about,
        kit.lacking(),
        kit.needed
    )
}

/// `, 2026-11-25 09:30 UTC, by Robin`.
fn said(entry: &Entry) -> String {
    let at = entry.when().map(Timestamp::in_words);
    let by = entry.by.as_ref().map(|by| format!("by {by}"));
    let all: Vec<String> = at.into_iter().chain(by).collect();
    all.iter().map(|text| format!(", {text}")).collect()
}

pub(crate) fn standing_word(step: &StepStatus<'_>) -> &'static str {
    match step.state {
        StepState::Done if step.entry.is_some_and(|entry| entry.overriding.is_some()) => {
            "OVERRIDDEN"
        }
        StepState::Done => "done",
        StepState::Open => "OPEN",
        StepState::Blocked => "blocked",
    }
}

fn step_words(step: &StepStatus<'_>) -> String {
    format!(
        "{:10} {}: {}{}",
        standing_word(step),
        step.step.name,
        step.step.about,
        step_said(step)
    )
}

/// When a step was done; of one that no longer stands, that it was.
pub(crate) fn step_said(step: &StepStatus<'_>) -> String {
    match (step.entry, step.state) {
        (None, _) => String::new(),
        (Some(entry), StepState::Done) => said(entry),
        (Some(entry), _) => format!("{} (done once, and no longer proven)", said(entry)),
    }
}

/// What stands against a step; of what an override passed over, what still does. Of a step whose
/// turn has not come, the parts and torques are told where they are listed.
pub(crate) fn blocks_against(step: &StepStatus<'_>) -> Vec<String> {
    let still = if step.state == StepState::Done {
        "still: "
    } else {
        ""
    };
    let later = step
        .blocks
        .iter()
        .any(|block| matches!(block, Block::NotDone { .. }));
    step.blocks
        .iter()
        .filter(|block| !later || !matches!(block, Block::Missing { .. } | Block::Torque { .. }))
        .map(|block| format!("{still}{block}"))
        .collect()
}

/// All stages of a fastener, and whether they are confirmed.
pub(crate) fn torque_words(kind: &Fastener, entry: Option<&Entry>) -> String {
    let stages: Vec<String> = kind.torque.iter().map(tightening_words).collect();
    format!(
        "{} ({} x {}, {}): {}; {}",
        kind.name,
        kind.count,
        kind.component,
        size_words(kind),
        stages.join(", then "),
        confirmed_words(entry)
    )
}

pub(crate) fn confirmed_words(entry: Option<&Entry>) -> String {
    match entry {
        None => "not confirmed".to_owned(),
        Some(entry) if entry.overriding.is_some() => {
            format!("confirmed by OVERRIDE{}", said(entry))
        }
        Some(entry) => format!("confirmed{}", said(entry)),
    }
}

pub(crate) fn override_lines(entry: &Entry) -> Vec<String> {
    let Some(overriding) = &entry.overriding else {
        return Vec::new();
    };
    let what = match &entry.event {
        Event::Step { step } => format!("step {step}"),
        Event::Torque { fastener, .. } => format!("torque {fastener}"),
        _ => String::new(),
    };
    let mut lines = vec![
        format!("- {what}{}", said(entry)),
        format!("    reason given: {}", overriding.why),
    ];
    for against in &overriding.against {
        lines.push(format!("    against: {against}"));
    }
    lines
}

/// `; CORRECTED to 2026-11-25 09:30 UTC by Robin: the clock was wrong`.
fn corrected_words(entry: &Entry) -> String {
    let Some(correction) = &entry.corrected else {
        return String::new();
    };
    let by = correction.by.as_deref().unwrap_or("nobody");
    match correction.to {
        Some(to) => format!(
            "; CORRECTED to {} by {by}: {}",
            to.in_words(),
            correction.why
        ),
        None => format!("; VOIDED by {by}: {}", correction.why),
    }
}

pub(crate) fn entry_words(drive: &Drive, job: &Job, entry: &Entry) -> String {
    let at = entry
        .at
        .map_or_else(|| "time not known".to_owned(), Timestamp::in_words);
    let what = match &entry.event {
        Event::Begun => "job started".to_owned(),
        Event::OnHand { kit, count } => format!("{count} x {kit} on the bench"),
        Event::Ordered { kit } => format!("{kit} ordered"),
        Event::Torque { fastener, to } => format!("{fastener} tightened to {to}"),
        Event::Step { step } => format!("step {step} done"),
        Event::Corrected { entry, to, why } => match to {
            Some(to) => format!("entry {entry} corrected to {}: {why}", to.in_words()),
            None => format!("entry {entry} voided: {why}"),
        },
        Event::Look { look, .. } => match job.record().looks.get(*look) {
            Some(look) => format!(
                "marks looked at {}",
                stage_words(drive, look.stage, look.seen.turned())
            ),
            None => "marks looked at".to_owned(),
        },
    };
    let by = entry
        .by
        .as_ref()
        .map_or_else(String::new, |by| format!(", by {by}"));
    let over = if entry.overriding.is_some() {
        ", OVERRIDDEN"
    } else {
        ""
    };
    format!("{at}: {what}{by}{over}{}", corrected_words(entry))
}
