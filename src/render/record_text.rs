//! The verdicts on a record, in words and for a program.

use super::CAUTIONS;
use super::check_json::{check_json, verdict_word};
use super::check_text::{
    Frame, heading, printable_but_styled, remedy_text, write_cautions, write_fits, write_grounds,
};
use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::{Drive, Part};
use crate::job::{Look, LookChecked, RecordCheck, Sight};
use crate::spec::stage::Stage;
use crate::timing::check::{Check, Verdict};
use crate::timing::lookalike::Fit;
use crate::timing::observe::name_of;
use crate::units::quantity::{Exact, Turns};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Is there a tensioner to be released? Only a spec that says how its chains run says that there is none.
pub fn tensioned(drive: &Drive) -> bool {
    let tensioner = drive.chains().any(|(_, chain)| {
        let mut path = chain.path().iter();
        path.any(|part| matches!(part, Part::Tensioner { .. }))
    });
    let laid_out = drive.chains().all(|(_, chain)| chain.pitch().is_some())
        && drive.shafts().all(|(_, shaft)| shaft.centre().is_some());
    tensioner || !laid_out
}

/// When a stage is looked at.
pub(crate) fn stage_words(drive: &Drive, stage: Stage, turned: Turns) -> String {
    match stage {
        Stage::Hung if !tensioned(drive) => "before anything is tightened".to_owned(),
        Stage::Released if !tensioned(drive) => "after everything is tightened".to_owned(),
        Stage::Hung => "before the tensioner is released".to_owned(),
        Stage::Released => "after the tensioner is released".to_owned(),
        Stage::Turned => {
            let turns = turned.get();
            let unit = if turns == Exact::ONE { "turn" } else { "turns" };
            format!("after {} {unit} by hand", numbers::exact(turns))
        }
    }
}

/// `Stage 1 of 3, before the tensioner is released`.
pub(crate) fn stage_title(drive: &Drive, stage: Stage, turned: Turns) -> String {
    format!(
        "Stage {} of {}, {}",
        stage.index() + 1,
        Stage::ALL.len(),
        stage_words(drive, stage, turned)
    )
}

/// The verdict on a stage, and what it means for what comes next.
pub(crate) fn stage_headline(drive: &Drive, stage: Stage, verdict: Verdict) -> &'static str {
    if stage == Stage::Hung && !tensioned(drive) {
        return match verdict {
            Verdict::InTime => "IN TIME. Everything may be tightened.",
            Verdict::OutOfTime => "OUT OF TIME. Do not tighten anything.",
            Verdict::NotProven => "NOT PROVEN. Do not tighten anything.",
        };
    }
    match (verdict, stage) {
        (Verdict::InTime, Stage::Hung) => "IN TIME. The tensioner may be released.",
        (Verdict::InTime, Stage::Released) => "IN TIME. The engine may be turned by hand.",
        (Verdict::InTime, Stage::Turned) => "IN TIME.",
        (Verdict::OutOfTime, Stage::Hung) => "OUT OF TIME. Do not release the tensioner.",
        (Verdict::OutOfTime, Stage::Released) => "OUT OF TIME. Do not turn the engine.",
        (Verdict::OutOfTime, Stage::Turned) => "OUT OF TIME. Do not start the engine.",
        (Verdict::NotProven, Stage::Hung) => "NOT PROVEN. Do not release the tensioner.",
        (Verdict::NotProven, Stage::Released) => "NOT PROVEN. Do not turn the engine.",
        (Verdict::NotProven, Stage::Turned) => "NOT PROVEN. Do not start the engine.",
    }
}

/// A stage with its verdict and the grounds for it.
pub(crate) fn write_stage(
    out: &mut String,
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    asking: bool,
    colour: bool,
) -> std::fmt::Result {
    let title = stage_title(drive, look.stage, look.seen.turned());
    writeln!(out, "{title}\n")?;
    let frame = Frame {
        headline: stage_headline(drive, look.stage, check.verdict),
        release: !asking && look.stage == Stage::Hung && tensioned(drive),
        asking,
    };
    if look.stage == Stage::Hung && tensioned(drive) {
        write_grounds(out, drive, &look.seen, check, &frame, colour)?;
    } else {
        // The moves begin with another one here: the tensioner is not held back, or there is none.
        let mut grounds = check.clone();
        grounds.remedies.clear();
        write_grounds(out, drive, &look.seen, &grounds, &frame, colour)?;
        write_moves(out, drive, look.stage, check)?;
    }
    write_fits(out, drive, fits, true)
}

/// What to move where no tensioner is held back.
fn write_moves(out: &mut String, drive: &Drive, stage: Stage, check: &Check) -> std::fmt::Result {
    let moves = check.verdict == Verdict::OutOfTime
        || check
            .remedies
            .iter()
            .any(|remedy| remedy.teeth.get().is_whole());
    let mut lines = Vec::new();
    if moves && stage != Stage::Hung {
        if tensioned(drive) {
            lines.push(
                "Push the tensioner back and lock it, before anything else is moved.".to_owned(),
            );
        }
        if stage == Stage::Turned {
            lines.push("See that the engine still stands in its timed position.".to_owned());
        }
    }
    if moves {
        lines.push("Lift the chain off a sprocket before you turn it.".to_owned());
    }
    let remedies = check.remedies.iter();
    lines.extend(remedies.map(|remedy| remedy_text(drive, remedy)));
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nWhat to move")?;
    for (i, line) in lines.iter().enumerate() {
        writeln!(out, "  {}. {line}", i + 1)?;
    }
    match stage {
        Stage::Hung => writeln!(out, "  Then look at every mark again."),
        _ => writeln!(out, "  Then begin again at stage 1."),
    }
}

/// The verdict on the whole, and one line for each stage. `colour` adds terminal colours, which
/// never carry the meaning alone.
pub fn verdicts_text(drive: &Drive, check: &RecordCheck<'_>, colour: bool) -> String {
    let verdict = check.verdict();
    let headline = match verdict {
        Verdict::InTime => "IN TIME at all three stages.",
        Verdict::OutOfTime => "OUT OF TIME.",
        Verdict::NotProven => "NOT PROVEN.",
    };
    let mut out = format!("{}\n\n", heading(headline, verdict, colour));
    for stage in Stage::ALL {
        let seen = check.stages.iter().find(|seen| seen.look.stage == stage);
        let turned = seen.map_or(Turns::ZERO, |seen| seen.look.seen.turned());
        let (when, known) = match seen {
            Some(seen) => (
                stage_words(drive, stage, turned),
                verdict_word(seen.check.verdict),
            ),
            None if stage == Stage::Turned => ("after turning by hand".to_owned(), "not looked at"),
            None => (stage_words(drive, stage, turned), "not looked at"),
        };
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {}. {when}: {known}", stage.index() + 1);
    }
    printable_but_styled(&out)
}

/// The verdicts on a record with all grounds. `colour` adds terminal colours, which never carry the
/// meaning alone.
pub fn record_text(drive: &Drive, check: &RecordCheck<'_>, colour: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_record(&mut out, drive, check, colour);
    printable_but_styled(&out)
}

fn write_record(
    out: &mut String,
    drive: &Drive,
    check: &RecordCheck<'_>,
    colour: bool,
) -> std::fmt::Result {
    writeln!(out, "{}\n", drive.engine())?;
    out.push_str(&verdicts_text(drive, check, colour));
    write_stages(out, drive, check, colour)?;
    write_cautions(out)
}

/// Every stage with its grounds, and the looks that later ones have superseded.
pub(crate) fn write_stages(
    out: &mut String,
    drive: &Drive,
    check: &RecordCheck<'_>,
    colour: bool,
) -> std::fmt::Result {
    for seen in &check.stages {
        writeln!(out)?;
        write_stage(
            out,
            drive,
            seen.look,
            &seen.check,
            &seen.fits,
            false,
            colour,
        )?;
        write_not_seen(out, drive, &seen.look.not_seen)?;
    }
    if !check.earlier.is_empty() {
        writeln!(out, "\nLooked at earlier, and again since")?;
        for line in earlier_lines(drive, check) {
            writeln!(out, "  - {line}")?;
        }
    }
    Ok(())
}

/// The looks that later ones have superseded, each with its verdict.
pub(crate) fn earlier_lines(drive: &Drive, check: &RecordCheck<'_>) -> Vec<String> {
    let earlier = check.earlier.iter();
    earlier
        .map(|seen| {
            let when = stage_words(drive, seen.look.stage, seen.look.seen.turned());
            format!("{when}: {}", verdict_word(seen.check.verdict))
        })
        .collect()
}

pub(crate) fn write_not_seen(
    out: &mut String,
    drive: &Drive,
    not_seen: &[Sight],
) -> std::fmt::Result {
    if not_seen.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nCould not be seen")?;
    for sight in not_seen {
        let (what, at) = sight_parts(*sight);
        let against = match what {
            "link" => "its coloured link",
            _ => "its reference mark",
        };
        writeln!(
            out,
            "  - the dot of {} against {against}",
            name_of(drive, at)
        )?;
    }
    Ok(())
}

fn sight_parts(sight: Sight) -> (&'static str, Engagement) {
    match sight {
        Sight::Link(at) => ("link", at),
        Sight::Dot(at) => ("dot", at),
    }
}

/// The verdicts on a record as JSON.
pub fn record_json(drive: &Drive, check: &RecordCheck<'_>) -> Value {
    let all = |looks: &[LookChecked<'_>]| -> Vec<Value> {
        looks.iter().map(|seen| look_json(drive, seen)).collect()
    };
    json!({
        "engine": drive.engine(),
        "verdict": verdict_word(check.verdict()),
        "release_tensioner": check.release_tensioner(),
        "stages": all(&check.stages),
        "missing": check.missing().map(Stage::word).collect::<Vec<_>>(),
        "earlier": all(&check.earlier),
        "cautions": CAUTIONS,
    })
}

fn look_json(drive: &Drive, seen: &LookChecked<'_>) -> Value {
    let mut value = check_json(drive, &seen.check, &seen.fits);
    if let Value::Object(map) = &mut value {
        let could_not: Vec<Value> = seen
            .look
            .not_seen
            .iter()
            .map(|sight| {
                let (what, at) = sight_parts(*sight);
                json!({
                    "look_at": what,
                    "chain": drive.chain(at.chain).name(),
                    "shaft": drive.shaft(drive.sprocket(at).shaft()).name(),
                })
            })
            .collect();
        map.insert("stage".into(), json!(seen.look.stage.word()));
        map.insert("turned".into(), json!(seen.look.seen.turned()));
        map.insert("could_not_be_seen".into(), json!(could_not));
        // Said once for the whole record.
        map.remove("cautions");
    }
    value
}
