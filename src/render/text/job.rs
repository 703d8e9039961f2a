//! A job in words: how it stands, and the report that is handed over.

use super::record::{
    LOOK_AGAIN, PROVES_NOTHING, look_headline, stage_next, verdicts_text, write_not_seen,
    write_said, write_stage, write_stages,
};
use crate::drive::model::Drive;
use crate::drive::plan::Fastener;
use crate::job::Look;
use crate::job::{
    Block, Car, Entry, Event, Job, JobStatus, KitStatus, Photo, PhotoFound, PhotoStatus, Said,
    StepState, StepStatus, Unfit, View,
};
use crate::proof::check::{Check, CheckError};
use crate::render::hints::Hints;
use crate::render::words::camshafts::NAME_THEM;
use crate::render::words::cautions::write_cautions;
use crate::render::words::said::said_words;
use crate::render::words::stage::stage_words;
use crate::render::words::style::{Style, bold, heading, printable_but_styled};
use crate::render::words::torque::{TORQUES_ARE_OF_THE_SPEC, size_words, tightening_words};
use crate::render::words::verdict::verdict_word;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::lookalike::Fit;
use crate::units::quantity::Turns;
use crate::units::timestamp::Timestamp;
use std::fmt::Write as _;

/// The verdict on one look, with its grounds; `unfit`: why it proves nothing all the same. `hints` says how to look at what is still to be looked
/// at; `colour` adds terminal colours.
pub fn look_text(
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    unfit: Option<&Unfit>,
    hints: &dyn Hints,
    colour: bool,
) -> String {
    let style = Style {
        hints,
        asking: false,
        colour,
        view: View::facing(),
    };
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_stage(&mut out, drive, look, check, fits, unfit.is_some(), style);
    let _ = write_not_seen(&mut out, drive, &look.not_seen);
    let _ = write_said(&mut out, look, &look.unsaid(drive));
    let _ = write_cautions(&mut out);
    // Once more where the eye is when it has all been printed.
    let (headline, next) = match unfit {
        Some(_) => (PROVES_NOTHING, LOOK_AGAIN.to_owned()),
        None => (
            look_headline(drive, look, check, fits, style),
            stage_next(drive, look, check, fits, style),
        ),
    };
    let verdict = match unfit {
        Some(_) => Verdict::NotProven,
        None => check.verdict(),
    };
    let _ = writeln!(
        out,
        "\n{}\n{}",
        heading(headline, verdict, colour),
        bold(&next, colour)
    );
    printable_but_styled(&out)
}

/// How a job stands: what is missing, what is open, what is blocked and by what. `colour` adds
/// terminal colours, which never carry the meaning alone.
pub fn job_status_text(drive: &Drive, job: &Job, status: &JobStatus<'_>, colour: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_status(&mut out, drive, job, status, colour);
    let _ = write_end(&mut out, drive, status, colour);
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
        view: View::facing(),
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
    // What stands against several steps is told at the first of them.
    let mut told: Vec<String> = Vec::new();
    for step in &status.steps {
        writeln!(out, "  {}", step_words(step))?;
        for block in blocks_against(step) {
            if !told.contains(&block) {
                writeln!(out, "             - {block}")?;
                told.push(block);
            }
        }
    }
    write_old(out, status)?;
    if !drive.plan().fasteners().is_empty() {
        writeln!(out, "\nTorques")?;
        for (kind, entry) in drive.plan().fasteners().iter().zip(&status.torques) {
            writeln!(out, "  - {}", torque_words(kind, *entry))?;
        }
        writeln!(out, "  {TORQUES_ARE_OF_THE_SPEC}")?;
    }
    write_photos(out, status)?;
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

/// The verdict and what comes next.
fn write_end(
    out: &mut String,
    drive: &Drive,
    status: &JobStatus<'_>,
    colour: bool,
) -> std::fmt::Result {
    let (signed, verdict) = signed_off_words(status);
    let timing = verdict_word(status.check.verdict()).to_uppercase();
    writeln!(
        out,
        "\n{}\n{}",
        heading(&format!("{timing}. {signed}"), verdict, colour),
        bold(&next_words(drive, status), colour)
    )
}

fn write_old(out: &mut String, status: &JobStatus<'_>) -> std::fmt::Result {
    let counted: Vec<&KitStatus<'_>> = status.kit.iter().filter(|kit| kit.count_old).collect();
    if counted.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nOld parts counted against new ones")?;
    for kit in counted {
        writeln!(out, "  - {}", old_words(kit))?;
    }
    Ok(())
}

/// `o-ring: 4 go on, 3 old ones came off, DIFFERS`.
pub(crate) fn old_words(kit: &KitStatus<'_>) -> String {
    let old = match kit.old {
        None => "old ones not counted".to_owned(),
        Some(old) if old == kit.needed => format!("{old} came off"),
        Some(old) => format!("{old} came off: DIFFERS"),
    };
    format!("{}: {} to go on, {old}", kit.name, kit.needed)
}

fn write_photos(out: &mut String, status: &JobStatus<'_>) -> std::fmt::Result {
    if status.photos.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nPhotos, which prove nothing by themselves")?;
    for photo in &status.photos {
        writeln!(out, "  - {}", photo_words(photo))?;
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
    writeln!(out, "{}", car_line(job))?;
    writeln!(out, "{}\n", times_words(job, status))?;
    out.push_str(&verdicts_text(drive, &status.check, colour));
    let (text, verdict) = signed_off_words(status);
    writeln!(out, "\n{}", heading(&text, verdict, colour))?;
    writeln!(out, "{}", next_words(drive, status))
}

/// What comes next, in one line: the verdict's own action first, since nothing goes on without it.
pub(crate) fn next_words(drive: &Drive, status: &JobStatus<'_>) -> String {
    let Some(step) = status.next() else {
        return "Next: nothing, all steps are done.".to_owned();
    };
    let name = format!("step {} ({})", step.step.name, step.step.about);
    let against = first_block(step);
    match against {
        Some(block) => format!("Next: {}, then {name}.", remedy_of(drive, block)),
        None => format!("Next: {name}."),
    }
}

/// What stands against a step first; what is to be looked at last.
fn first_block<'s>(step: &'s StepStatus<'_>) -> Option<&'s Block> {
    let looks = |block: &Block| matches!(block, Block::Marks { .. } | Block::Unfit { .. });
    let mut blocks = step.blocks.iter();
    let first = blocks.find(|block| !looks(block));
    first.or_else(|| step.blocks.first())
}

/// What is to be done about a block.
pub(super) fn remedy_of(drive: &Drive, block: &Block) -> String {
    match block {
        Block::NotDone { step } => format!("do step {step}"),
        Block::Missing { kit, lacking } => format!("get {lacking} x {kit}"),
        Block::Torque { fastener } => format!("tighten {fastener} and tick torque:{fastener}"),
        Block::Marks {
            stage,
            verdict: Some(Verdict::OutOfTime),
        } => format!(
            "put the timing right and look again {}",
            stage_words(drive, *stage, Turns::ZERO)
        ),
        Block::Marks { .. } if drive.camshafts_not_named() > 0 => NAME_THEM.to_owned(),
        Block::Marks { stage, .. } | Block::Unfit { stage, .. } if *stage == Stage::Turned => {
            "look at the dots after turning by hand".to_owned()
        }
        Block::Marks { stage, .. } | Block::Unfit { stage, .. } => {
            format!(
                "look at the marks {}",
                stage_words(drive, *stage, Turns::ZERO)
            )
        }
        Block::Unsaid {
            what: Said::TurnedFree,
            denied: true,
        } => "find what resisted, and begin again at stage 1".to_owned(),
        Block::Unsaid { what, .. } => {
            format!("see to it that {}, and look again", said_words(*what, true))
        }
        Block::Old {
            part, off: None, ..
        } => format!("count the old {part} (old:{part}=COUNT)"),
        Block::Old { part, .. } => format!("find out why the {part} differ"),
        Block::TooLate { step, .. } => format!(
            "wipe it off and do step {step} again (if it was done in time, tick it with that time)"
        ),
        Block::Waiting { until, .. } => format!("wait until {}", until.in_words()),
    }
}

/// What was just written into a job, and what comes next. `from`: how many entries there were before.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn ticked_text(
    drive: &Drive,
    job: &Job,
    from: usize,
    now: Timestamp,
    colour: bool,
) -> Result<String, CheckError> {
    let status = job.status(drive, now)?;
    let mut out = String::new();
    for (i, entry) in job.entries().iter().enumerate().skip(from) {
        out.push_str(&format!("{}. {}\n", i + 1, entry_words(drive, job, entry)));
    }
    out.push_str(&format!("{}\n", bold(&next_words(drive, &status), colour)));
    Ok(printable_but_styled(&out))
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
    write_cautions(out)?;
    // Once more where the eye is when it has all been printed.
    write_end(out, drive, status, style.colour)
}

/// What is known of a car: `order A-17, plate K 1, engine number 42, 91 000 km`.
pub(crate) fn car_words(car: &Car) -> Option<String> {
    let named = [
        ("order ", &car.order),
        ("plate ", &car.plate),
        ("engine number ", &car.engine_number),
        ("", &car.mileage),
    ];
    let known: Vec<String> = named
        .iter()
        .filter_map(|(name, text)| Some(format!("{name}{}", text.as_ref()?)))
        .collect();
    (!known.is_empty()).then(|| known.join(", "))
}

/// The car at which somebody stands, in one line; empty where nothing is known of it.
pub fn car_text(car: &Car) -> String {
    car_words(car).map_or_else(String::new, |car| {
        printable_but_styled(&format!("Car: {car}\n"))
    })
}

/// The car of a job, or that nothing ties it to one.
pub(crate) fn car_line(job: &Job) -> String {
    match job.car().and_then(car_words) {
        Some(car) => format!("Car: {car}"),
        None => "Car: not named, so nothing tells this job's records from those of a like engine"
            .to_owned(),
    }
}

fn about_words(photo: &Photo) -> String {
    photo
        .about
        .as_ref()
        .map_or_else(String::new, |about| format!(" ({about})"))
}

/// `marks.jpg (all dots), 2024-11-25 10:41 UTC, by Robin, checksum 0123: as attached`.
pub(crate) fn photo_words(photo: &PhotoStatus<'_>) -> String {
    let void = if photo.entry.is_void() {
        ", VOIDED"
    } else {
        ""
    };
    let found = match photo.found {
        None => "",
        Some(PhotoFound::Same) => ": as it was attached",
        Some(PhotoFound::Changed) => ": CHANGED since it was attached, proves nothing",
        Some(PhotoFound::Gone) => ": NOT THERE any more",
    };
    format!(
        "{}{}{}, checksum {}{void}{found}",
        photo.photo.file,
        about_words(photo.photo),
        said(photo.entry),
        photo.photo.checksum
    )
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
        Event::Begun { car } => match car_words(car) {
            Some(car) => format!("job started on {car}"),
            None => "job started".to_owned(),
        },
        Event::Old { part, count } => format!("{count} old {part} came off"),
        Event::Photo(photo) => format!(
            "photo {}{} attached, {} bytes, checksum {}",
            photo.file,
            about_words(photo),
            photo.size,
            photo.checksum
        ),
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
