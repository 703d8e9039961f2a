//! A verdict in words, for a person at the engine.

use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::{Drive, Part};
use crate::job::View;
use crate::proof::check::Check;
use crate::render::hints::Hints;
use crate::render::words::band::Band;
use crate::render::words::camshafts::left_out_words;
use crate::render::words::cautions::write_cautions;
use crate::render::words::doubt::doubt_text;
use crate::render::words::lookalike::lookalike_words;
use crate::render::words::marks::{coloured, unseen_text};
use crate::render::words::moves::{MoveWords, ORDER_HEADING, move_words};
use crate::render::words::next::next_action;
use crate::render::words::numbers;
use crate::render::words::remedy::remedy_seen;
use crate::render::words::style::{Style, bold, heading, printable_but_styled};
use crate::render::words::turns::turns;
use crate::render::words::verdict::verdict_headline;
use crate::spec::raw::{Parked, ShaftKind};
use crate::spec::stage::Stage;
use crate::timing::check::{ShaftState, Verdict};
use crate::timing::lookalike::Fit;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::Teeth;
use std::fmt::Write as _;

/// The verdict in words: first the answer, then every shaft, then what to do, then the look-alikes
/// that fit too (see [`Check::fits`]). `hints` says how to look at what is still to be looked
/// at; `colour` adds terminal colours, which never carry the meaning
/// alone.
pub fn check_text(
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    fits: &[Fit],
    hints: &dyn Hints,
    colour: bool,
) -> String {
    check_text_seen(drive, seen, check, fits, View::facing(), hints, colour)
}

/// The same, every direction in the words of whoever sees the timing end from `view`.
pub fn check_text_seen(
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    fits: &[Fit],
    view: View,
    hints: &dyn Hints,
    colour: bool,
) -> String {
    let style = Style {
        hints,
        asking: false,
        colour,
        view,
    };
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_check(&mut out, drive, seen, check, fits, style);
    printable_but_styled(&out)
}

fn write_check(
    out: &mut String,
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    fits: &[Fit],
    style: Style<'_>,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    match (seen.turned().is_zero(), drive.timed_position()) {
        (true, Some(position)) => writeln!(out, "Timed position: {position}")?,
        (true, None) => {}
        (false, _) => writeln!(out, "{} since it was timed", turns(seen.turned()))?,
    }
    writeln!(out)?;
    let stage = if seen.turned().is_zero() {
        Stage::Hung
    } else {
        Stage::Turned
    };
    let frame = Frame {
        headline: verdict_headline(drive, check, seen.turned()),
        next: next_action(drive, stage, check, fits, &[], style),
        release: true,
        moves: true,
    };
    write_grounds(out, drive, seen, check, &frame, style)?;
    write_fits(out, drive, fits, style)?;
    write_cautions(out)?;
    // Once more where the eye is when it has all been printed.
    writeln!(
        out,
        "\n{}\n{}",
        heading(frame.headline, check.verdict(), style.colour),
        bold(&frame.next, style.colour)
    )
}

/// The look-alikes that fit what was seen.
pub(crate) fn write_fits(
    out: &mut String,
    drive: &Drive,
    fits: &[Fit],
    style: Style<'_>,
) -> std::fmt::Result {
    let (like, possible): (Vec<&Fit>, Vec<&Fit>) = fits.iter().partition(|fit| fit.explains);
    for (fits, heading) in [
        (like, "This is just how it looks when"),
        (
            possible,
            &format!(
                "Look once more: the {} alone do not rule this out",
                Band::all(drive).links
            ),
        ),
    ] {
        if !fits.is_empty() {
            writeln!(out, "\n{heading}")?;
        }
        for fit in fits {
            let lookalike = lookalike_words(drive, &fit.lookalike, style.hints, style.asking);
            writeln!(out, "  - {lookalike}")?;
        }
    }
    Ok(())
}

/// What differs where a verdict is shown.
pub(crate) struct Frame {
    /// The answer.
    pub(crate) headline: &'static str,
    /// The one thing to do next.
    pub(crate) next: String,
    /// Is the tensioner released next?
    pub(crate) release: bool,
    /// Is what to move told here?
    pub(crate) moves: bool,
}

/// The verdict and its grounds.
pub(crate) fn write_grounds(
    out: &mut String,
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    frame: &Frame,
    style: Style<'_>,
) -> std::fmt::Result {
    writeln!(
        out,
        "{}\n{}\n",
        heading(frame.headline, check.verdict(), style.colour),
        bold(&frame.next, style.colour)
    )?;

    let width = check
        .shafts()
        .iter()
        .map(|state| drive.shaft(state.shaft).name().chars().count())
        .max()
        .unwrap_or(0);
    for state in check.shafts() {
        let name = drive.shaft(state.shaft).name();
        let (known, read) = state_text(drive, seen, state);
        if style.asking || read.is_empty() {
            writeln!(out, "  {name:width$}  {known}")?;
        } else {
            writeln!(out, "  {name:width$}  {known}  [{read}]")?;
        }
    }
    let moves = move_words(drive, check, style.view);
    let moves = moves.as_ref().map(|(_, words)| words);
    if let Some(already) = moves.and_then(|words| words.already.as_ref()) {
        writeln!(out, "\n{already}")?;
    }
    if frame.moves && !check.remedies().is_empty() {
        writeln!(out, "\nWhat to move")?;
        writeln!(
            out,
            "  {} Lift the {} off a sprocket before you turn it.",
            if seen.turned().is_zero() {
                "Keep the tensioner held back."
            } else {
                "First push the tensioner back and lock it."
            },
            Band::all(drive).name
        )?;
        if let Some(words) = moves {
            writeln!(out, "  {}", words.lead)?;
        }
        for (i, remedy) in check.remedies().iter().enumerate() {
            writeln!(
                out,
                "  {}. {}",
                i + 1,
                remedy_seen(drive, remedy, style.view)
            )?;
        }
        if !check.remedies_suffice(drive) {
            writeln!(
                out,
                "  That does not put everything right yet: not all that must be in time is known to be."
            )?;
        }
        writeln!(out, "  Then look at every mark again, and check again.")?;
        write_order(out, moves)?;
    }
    if !check.doubts().is_empty() {
        writeln!(out, "\nNote")?;
        for doubt in check.doubts() {
            writeln!(out, "  - {}", doubt_text(drive, doubt, style.hints))?;
        }
    }
    if !check.not_seen().is_empty() {
        writeln!(
            out,
            "\nStill to look at (nothing is taken to be right unseen)"
        )?;
        for unseen in check.not_seen() {
            writeln!(out, "  - {}", unseen_text(drive, *unseen, style.hints))?;
        }
    }
    if frame.release && check.verdict() == Verdict::InTime {
        writeln!(out, "\nBefore the tensioner is released")?;
        for line in left_out_words(drive)
            .into_iter()
            .chain(release_lines(drive))
        {
            writeln!(out, "  - {line}")?;
        }
    }
    Ok(())
}

/// In what order to move.
pub(crate) fn write_order(out: &mut String, moves: Option<&MoveWords>) -> std::fmt::Result {
    let Some(order) = moves.and_then(|words| words.order.as_ref()) else {
        return Ok(());
    };
    writeln!(out, "\n{ORDER_HEADING}")?;
    for line in &order.before {
        writeln!(out, "  {line}")?;
    }
    for (i, step) in order.steps.iter().enumerate() {
        writeln!(out, "  {}. {step}", i + 1)?;
    }
    for line in &order.after {
        writeln!(out, "  {line}")?;
    }
    Ok(())
}

/// What the marks cannot show and has to be right all the same.
pub(crate) fn release_lines(drive: &Drive) -> Vec<String> {
    let mut lines = Vec::new();
    for (_, chain) in drive.chains() {
        let strand = slack_strand(chain.path(), |i| {
            drive
                .shaft(chain.sprockets()[usize::from(i)].shaft())
                .name()
        });
        lines.push(match strand {
            Some((from, to)) => format!(
                "{} {}: all slack must lie on the tensioner's strand, between {from} and {to}.",
                Band::of(chain).title,
                chain.name()
            ),
            None => format!(
                "{} {}: all slack must lie on the tensioner's side, if it has a tensioner.",
                Band::of(chain).title,
                chain.name()
            ),
        });
    }
    for (_, shaft) in drive.shafts() {
        if let Some(phaser) = shaft.phaser() {
            lines.push(format!(
                "{}: its phaser must be locked in its parked position ({}). The marks are on the sprocket and cannot show it.",
                shaft.name(),
                parked(phaser.parked)
            ));
        }
    }
    lines
}

fn parked(parked: Parked) -> &'static str {
    match parked {
        Parked::Advanced => "fully advanced",
        Parked::Retarded => "fully retarded",
        Parked::Middle => "in the middle",
    }
}

/// The two sprockets between which a tensioner bears on the chain.
fn slack_strand<'a>(path: &[Part], name: impl Fn(u8) -> &'a str) -> Option<(&'a str, &'a str)> {
    let at = path
        .iter()
        .position(|part| matches!(part, Part::Tensioner { .. }))?;
    let sprocket = |part: &Part| match part {
        Part::Sprocket(i) => Some(*i),
        _ => None,
    };
    let around = |i: usize| &path[i % path.len()];
    let after = (at..at + path.len()).find_map(|i| sprocket(around(i)))?;
    let before = (0..path.len()).find_map(|back| sprocket(around(at + path.len() - back)))?;
    Some((name(before), name(after)))
}

/// What is known of one shaft, and what was seen of it.
fn state_text(drive: &Drive, seen: &Observations, state: &ShaftState) -> (String, String) {
    let read = readings(drive, seen, state.shaft);
    let known = if state.contradicted {
        format!("{} and dots contradict each other", Band::all(drive).links)
    } else {
        match state.off {
            None if read.is_empty() => "not looked at".to_owned(),
            None => "not known: there is nothing to measure it from".to_owned(),
            Some(_) if state.at.is_none() && read.is_empty() => "not looked at".to_owned(),
            Some(_) if state.at.is_none() => "the others are measured from it".to_owned(),
            Some(off) if off.angle.is_zero() => "in time".to_owned(),
            Some(off) => {
                let how_far = state.off_teeth.unwrap_or(Teeth::ZERO);
                let size = format!(
                    "{} {}",
                    numbers::teeth(how_far),
                    if off.either_way {
                        "off, ahead or behind alike".to_owned()
                    } else {
                        side(drive, state.shaft, how_far)
                    }
                );
                format!("{size}: {}", numbers::crank_degrees(off.angle))
            }
        }
    };
    (known, read)
}

/// `ahead (advanced)` for a camshaft, `ahead` for others.
fn side(drive: &Drive, shaft: ShaftId, teeth: Teeth) -> String {
    let word = numbers::side(teeth.get());
    if drive.shaft(shaft).kind() != ShaftKind::Camshaft {
        return word.to_owned();
    }
    let trade = if teeth.get().signum() < 0 {
        "retarded"
    } else {
        "advanced"
    };
    format!("{word} ({trade})")
}

/// What was seen of a shaft.
fn readings(drive: &Drive, seen: &Observations, shaft: ShaftId) -> String {
    let mut all = Vec::new();
    for (at, what) in seen.links() {
        if drive.sprocket(*at).shaft() != shaft {
            continue;
        }
        let chain = if drive.shaft(shaft).engagements().len() > 1 {
            format!("{}: ", drive.chain(at.chain).name())
        } else {
            String::new()
        };
        all.push(format!("{chain}dot {}", seen_text(drive, *at, *what)));
    }
    for (at, what) in seen.dots() {
        if drive.sprocket(*at).shaft() == shaft {
            all.push(match what {
                Seen::Teeth(teeth) if teeth.is_zero() => "dot at its reference mark".to_owned(),
                _ => format!("dot {} its reference mark", apart(*what)),
            });
        }
    }
    all.join("; ")
}

/// Where a dot was seen against its coloured link.
fn seen_text(drive: &Drive, at: Engagement, what: Seen) -> String {
    let on = drive.chain(at.chain);
    let sprocket = drive.sprocket(at);
    let due = sprocket.mark().map_or_else(String::new, |mark| {
        coloured(numbers::link(mark.link, on), mark.colour.as_deref())
    });
    match what {
        Seen::Teeth(teeth) if teeth.is_zero() => match sprocket.mark() {
            Some(mark) if mark.link.get().is_whole() => format!("on {due}"),
            _ => due,
        },
        Seen::Link(link) => format!("on {}", numbers::link(link, on)),
        _ => format!("{} {due}", apart(what)),
    }
}

/// `2 teeth behind`, `18.5 degrees ahead of`.
fn apart(what: Seen) -> String {
    let (size, value) = match what {
        Seen::Teeth(teeth) => (numbers::teeth(teeth), teeth.get()),
        Seen::ShaftDegrees(angle) | Seen::CamDegrees(angle) => {
            (format!("{} degrees", numbers::exact(angle.abs())), angle)
        }
        Seen::CrankDegrees(angle) => (numbers::crank_degrees(angle), angle.get()),
        Seen::Link(_) => return String::new(),
    };
    let side = if value.signum() < 0 {
        "behind"
    } else {
        "ahead of"
    };
    format!("{size} {side}")
}
