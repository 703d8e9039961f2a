//! The verdicts on a record, in words and for a program.

use super::check::{Frame, write_fits, write_grounds, write_order};
use crate::drive::model::Drive;
use crate::job::{Look, RecordCheck, Said, Sight, Unfit, View};
use crate::proof::check::Check;
use crate::render::hints::{Hints, PlainWords};
use crate::render::words::band::Band;
use crate::render::words::cautions::write_cautions;
use crate::render::words::moves::move_words;
use crate::render::words::next::next_action;
use crate::render::words::numbers;
use crate::render::words::remedy::remedy_seen;
use crate::render::words::said::said_words;
use crate::render::words::stage::{
    not_yet_headline, sight_parts, stage_headline, stage_title, stage_words, tensioned,
};
use crate::render::words::style::{Style, bold, heading, printable_but_styled};
use crate::render::words::verdict::verdict_word;
use crate::render::words::view::from_here;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::lookalike::Fit;
use crate::timing::observe::name_of;
use crate::units::quantity::Turns;
use std::fmt::Write as _;

/// Of a look that proves nothing in its job, whatever it shows.
pub(crate) const PROVES_NOTHING: &str = "PROVES NOTHING in this job.";

/// What is to be done then.
pub(crate) const LOOK_AGAIN: &str = "Next: look again once what comes before it is done (above).";

/// A stage with its verdict and the grounds for it. `unfit`: it proves nothing all the same.
pub(crate) fn write_stage(
    out: &mut String,
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    unfit: bool,
    style: Style<'_>,
) -> std::fmt::Result {
    let style = seen_from(look, style);
    let title = stage_title(drive, look.stage, look.seen.turned());
    writeln!(out, "{title}\n")?;
    let (headline, next) = if unfit && check.verdict() == Verdict::InTime {
        (PROVES_NOTHING, LOOK_AGAIN.to_owned())
    } else {
        (
            look_headline(drive, look, check, fits, style),
            stage_next(drive, look, check, fits, style),
        )
    };
    let frame = Frame {
        headline,
        next,
        release: !style.asking && look.stage == Stage::Hung && tensioned(drive),
        moves: look.stage == Stage::Hung && tensioned(drive),
    };
    if look.stage == Stage::Hung && tensioned(drive) {
        write_grounds(out, drive, &look.seen, check, &frame, style)?;
    } else {
        // The moves begin with another one here: the tensioner is not held back, or there is none.
        write_grounds(out, drive, &look.seen, check, &frame, style)?;
        write_moves(out, drive, look.stage, check, style.view)?;
    }
    // What settles a look-alike is looked at at this stage again, and not in a look of its own.
    let asked = Style {
        hints: &PlainWords,
        asking: true,
        ..style
    };
    write_fits(out, drive, fits, asked)
}

/// In the words of the view in which a look was made, where it is known.
fn seen_from<'h>(look: &Look, style: Style<'h>) -> Style<'h> {
    Style {
        view: look.view.unwrap_or(style.view),
        ..style
    }
}

/// The verdict on a look, and what it means for what comes next: never more than what was said with it allows.
pub(crate) fn look_headline(
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    style: Style<'_>,
) -> &'static str {
    // Whoever is asked is asked for what was not said.
    if !style.asking
        && check.verdict() == Verdict::InTime
        && fits.is_empty()
        && !look.unsaid(drive).is_empty()
    {
        return not_yet_headline(drive, look.stage);
    }
    stage_headline(drive, look.stage, check.verdict(), fits.is_empty())
}

/// The one thing to do next after a look.
pub(crate) fn stage_next(
    drive: &Drive,
    look: &Look,
    check: &Check,
    fits: &[Fit],
    style: Style<'_>,
) -> String {
    // Whoever is asked is asked for what was not said.
    let unsaid = if style.asking {
        Vec::new()
    } else {
        look.unsaid(drive)
    };
    next_action(
        drive,
        look.stage,
        check,
        fits,
        &unsaid,
        seen_from(look, style),
    )
}

/// What to move where no tensioner is held back.
fn write_moves(
    out: &mut String,
    drive: &Drive,
    stage: Stage,
    check: &Check,
    view: View,
) -> std::fmt::Result {
    let moves = check.verdict() == Verdict::OutOfTime
        || check
            .remedies()
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
    let words = move_words(drive, check, view);
    let words = words.as_ref().map(|(_, words)| words);
    if moves {
        lines.push(format!(
            "Lift the {} off a sprocket before you turn it.",
            Band::all(drive).name
        ));
        lines.extend(words.map(|words| words.lead.clone()));
    }
    let remedies = check.remedies().iter();
    lines.extend(remedies.map(|remedy| remedy_seen(drive, remedy, view)));
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
    }?;
    write_order(out, words)
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
                verdict_word(seen.check.verdict()),
            ),
            None => {
                let when = match stage {
                    Stage::Turned => "after turning by hand".to_owned(),
                    _ => stage_words(drive, stage, turned),
                };
                match check.unfit(stage) {
                    Some(_) => (when, "not proven: the look there proves nothing"),
                    None => (when, "not looked at"),
                }
            }
        };
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {}. {when}: {known}", stage.index() + 1);
    }
    printable_but_styled(&out)
}

/// The verdicts on a record with all grounds. `hints` says how to look at what is still to be looked
/// at; `colour` adds terminal colours, which never carry the
/// meaning alone.
pub fn record_text(
    drive: &Drive,
    check: &RecordCheck<'_>,
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
    let _ = write_record(&mut out, drive, check, style);
    printable_but_styled(&out)
}

fn write_record(
    out: &mut String,
    drive: &Drive,
    check: &RecordCheck<'_>,
    style: Style<'_>,
) -> std::fmt::Result {
    writeln!(out, "{}\n", drive.engine())?;
    out.push_str(&verdicts_text(drive, check, style.colour));
    write_stages(out, drive, check, style)?;
    write_cautions(out)?;
    // Once more where the eye is when it has all been printed.
    writeln!(out)?;
    out.push_str(&verdicts_text(drive, check, style.colour));
    writeln!(
        out,
        "\n{}",
        bold(&record_next(drive, check, style), style.colour)
    )
}

/// The one thing to do next after all that was seen.
fn record_next(drive: &Drive, check: &RecordCheck<'_>, style: Style<'_>) -> String {
    for stage in Stage::ALL {
        let Some(seen) = check.stages.iter().find(|seen| seen.look.stage == stage) else {
            let when = match stage {
                Stage::Turned => "after turning by hand".to_owned(),
                _ => stage_words(drive, stage, Turns::ZERO),
            };
            return format!("Next: look at every mark {when}.");
        };
        if !seen.is_settled() || !seen.unsaid.is_empty() {
            let style = seen_from(seen.look, style);
            return next_action(drive, stage, &seen.check, &seen.fits, &seen.unsaid, style);
        }
    }
    "Next: nothing is left to look at; go on as the maker says.".to_owned()
}

/// Every stage with its grounds, and the looks that later ones have superseded.
pub(crate) fn write_stages(
    out: &mut String,
    drive: &Drive,
    check: &RecordCheck<'_>,
    style: Style<'_>,
) -> std::fmt::Result {
    for seen in &check.stages {
        writeln!(out)?;
        write_stage(
            out,
            drive,
            seen.look,
            &seen.check,
            &seen.fits,
            seen.unfit.is_some(),
            style,
        )?;
        write_not_seen(out, drive, &seen.look.not_seen)?;
        write_said(out, seen.look, &seen.unsaid)?;
    }
    if !check.earlier.is_empty() {
        writeln!(out, "\n{}", earlier_title(check))?;
        for line in earlier_lines(drive, check) {
            writeln!(out, "  - {line}")?;
        }
    }
    Ok(())
}

/// What stands over [`earlier_lines`].
pub(crate) fn earlier_title(check: &RecordCheck<'_>) -> &'static str {
    if check.earlier.iter().any(|seen| seen.unfit.is_some()) {
        "Looked at, but of no account now"
    } else {
        "Looked at earlier, and again since"
    }
}

/// What somebody said at a stage, and what still has to be said.
pub(crate) fn write_said(
    out: &mut String,
    look: &Look,
    unsaid: &[(Said, Option<bool>)],
) -> std::fmt::Result {
    if let Some(line) = circumstances(look) {
        writeln!(out, "\n{line}")?;
    }
    if look.said.is_empty() && unsaid.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nSaid, which proves nothing")?;
    for (what, so) in &look.said {
        let felt = look.felt.filter(|_| *what == Said::TurnedFree && !so);
        let felt = felt.map_or_else(String::new, |turns| {
            format!(", by {} crank turns", numbers::exact(turns.get()))
        });
        writeln!(out, "  - {}{felt}", said_words(*what, *so))?;
    }
    for (what, answer) in unsaid {
        if answer.is_none() {
            writeln!(out, "  - NOT SAID: {}", said_words(*what, true))?;
        }
    }
    Ok(())
}

/// `Looked at by Robin, 2024-11-25 10:30 UTC, in the mirror`; `None` where neither a name nor a view is known.
fn circumstances(look: &Look) -> Option<String> {
    if look.by.is_none() && look.view.is_none() {
        return None;
    }
    let by = look.by.as_ref().map(|by| format!(" by {by}"));
    let at = look.at.map(|at| format!(", {}", at.in_words()));
    let view = look.view.map(|view| format!(", {}", from_here(view)));
    let all = [by, at, view].into_iter().flatten();
    Some(format!("Looked at{}", all.collect::<String>()))
}

/// Why a look that was just added proves nothing.
pub fn unfit_text(drive: &Drive, look: &Look, unfit: &Unfit) -> String {
    let when = stage_words(drive, look.stage, look.seen.turned());
    let words = match unfit {
        Unfit::Stale { since } => format!("{since} since then"),
        other => other.to_string(),
    };
    printable_but_styled(&format!(
        "PROVES NOTHING in this job ({when}): {words}.\n\n"
    ))
}

/// The looks that later ones have superseded, each with its verdict.
pub(crate) fn earlier_lines(drive: &Drive, check: &RecordCheck<'_>) -> Vec<String> {
    let earlier = check.earlier.iter();
    earlier
        .map(|seen| {
            let when = stage_words(drive, seen.look.stage, seen.look.seen.turned());
            let verdict = verdict_word(seen.check.verdict());
            match &seen.unfit {
                Some(unfit) => format!("{when}: {verdict}, but PROVES NOTHING: {unfit}"),
                None => format!("{when}: {verdict}"),
            }
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
