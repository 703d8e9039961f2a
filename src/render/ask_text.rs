//! The words of the interview: short, for somebody with one clean finger.

use super::cautions::{TENSIONER, TURNING};
use super::check_text::{printable_but_styled, release_lines, write_cautions};
use super::numbers;
use super::record_text::{stage_headline, stage_title, write_stage};
use crate::check::{Verdict, link_due};
use crate::drive::{Drive, Engagement};
use crate::false_friend::fits;
use crate::interview::{Answer, Interview, Question, Refusal};
use crate::observe::Seen;
use crate::quantity::{ClockAngle, Exact, Turns};
use crate::record::{Sight, Stage};
use crate::render::check_text::heading;
use crate::spec::ShaftKind;
use std::fmt::Write as _;

/// What has to be done before a stage is looked at. `colour` adds terminal colours, which never
/// carry the meaning alone.
pub fn ready_text(interview: &Interview<'_>, stage: Stage, colour: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_ready(&mut out, interview, stage, colour);
    printable_but_styled(&out)
}

fn write_ready(
    out: &mut String,
    interview: &Interview<'_>,
    stage: Stage,
    colour: bool,
) -> std::fmt::Result {
    let drive = interview.drive();
    let turns = turns_words(interview.turns());
    let way = drive.crank_turns().word();
    match stage {
        Stage::Hung if interview.repeated() => writeln!(
            out,
            "{}\n\n\
             Once more from the start: what was seen before the chain was moved says nothing now.\n\
             The engine stands in its timed position, the tensioner is held back.",
            bold(drive.engine(), colour)
        ),
        Stage::Hung => {
            writeln!(out, "{}", bold(drive.engine(), colour))?;
            if let Some(position) = drive.timed_position() {
                writeln!(out, "Timed position: {position}")?;
            }
            writeln!(
                out,
                "\nThe marks are looked at three times: before the tensioner is released,\n\
                 after it, and after {turns} by hand. One mark at a time.\n\
                 What you cannot see is never taken to be right."
            )?;
            write_cautions(out)?;
            writeln!(
                out,
                "\nStand the engine in its timed position and hang the chain.\n\
                 The tensioner stays held back.\n\
                 \"Ahead\" is further on, the way that shaft turns when the engine turns {way}."
            )
        }
        Stage::Released => {
            writeln!(out, "{}\n", stage_title(Stage::Hung, Turns::ZERO))?;
            let headline = stage_headline(Stage::Hung, Verdict::InTime);
            writeln!(out, "{}\n", heading(headline, Verdict::InTime, colour))?;
            writeln!(out, "Before you release it")?;
            for line in release_lines(drive) {
                writeln!(out, "  - {line}")?;
            }
            writeln!(out, "  - {TENSIONER}")?;
            writeln!(
                out,
                "\nRelease the tensioner now. Every mark is looked at again after it:\n\
                 its push can pull the chain over a tooth."
            )
        }
        Stage::Turned => {
            writeln!(out, "{}\n", stage_title(Stage::Released, Turns::ZERO))?;
            let headline = stage_headline(Stage::Released, Verdict::InTime);
            writeln!(out, "{}\n", heading(headline, Verdict::InTime, colour))?;
            writeln!(
                out,
                "Turn the crankshaft {turns} by hand, {way} as seen facing the timing end,\n\
                 until its dot is back at its reference mark."
            )?;
            writeln!(out, "  - {TURNING}")?;
            if drive
                .engagements()
                .any(|(at, _)| wanders(drive, at, interview.turns()))
            {
                writeln!(
                    out,
                    "\nThe coloured links wander off their dots as you turn. That is normal.\n\
                     From now on only the dots and their reference marks on the engine count."
                )?;
            }
            Ok(())
        }
    }
}

/// Has a dot, back in its timed place after that many turns, another link on it than its coloured one?
fn wanders(drive: &Drive, at: Engagement, turned: Turns) -> bool {
    match (drive.sprocket(at).mark(), link_due(drive, at, turned)) {
        (Some(mark), Ok(Some(due))) => due != mark.link,
        (mark, _) => mark.is_some(),
    }
}

fn turns_words(turns: Turns) -> String {
    let unit = if turns.get() == Exact::ONE {
        "turn"
    } else {
        "turns"
    };
    format!("{} {unit}", numbers::exact(turns.get()))
}

fn bold(text: &str, colour: bool) -> String {
    if colour {
        format!("\u{1b}[1m{text}\u{1b}[0m")
    } else {
        text.to_owned()
    }
}

/// One mark to look at. `colour` adds terminal colours, which never carry the meaning alone.
pub fn question_text(interview: &Interview<'_>, question: &Question, colour: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_question(&mut out, interview, question, colour);
    printable_but_styled(&out)
}

fn write_question(
    out: &mut String,
    interview: &Interview<'_>,
    question: &Question,
    colour: bool,
) -> std::fmt::Result {
    let drive = interview.drive();
    let turned = match question.stage {
        Stage::Turned => interview.turns(),
        _ => Turns::ZERO,
    };
    writeln!(
        out,
        "{}. Mark {} of {}\n",
        stage_title(question.stage, turned),
        question.number,
        question.of
    )?;
    let (Sight::Link(at) | Sight::Dot(at)) = question.sight;
    let sprocket = drive.sprocket(at);
    let shaft = drive.shaft(sprocket.shaft());
    let name = bold(&shaft.name().to_uppercase(), colour);
    let kind = kind_word(shaft.kind());
    let chain = if drive.chains().count() > 1 {
        format!(", chain {}", drive.chain(at.chain).name())
    } else {
        String::new()
    };
    writeln!(out, "  {name} ({kind}{chain})\n")?;
    match (question.sight, sprocket.mark()) {
        (Sight::Link(_), Some(mark)) => {
            let links = drive.chain(at.chain).links().get();
            let number = numbers::link(mark.link, links);
            let colour = mark.colour.as_deref().unwrap_or("coloured");
            if mark.link.get().is_whole() {
                writeln!(out, "  Its dot belongs on the {colour} link ({number}).")?;
            } else {
                writeln!(
                    out,
                    "  Its dot belongs between the two {colour} links ({number})."
                )?;
            }
        }
        _ => {
            writeln!(
                out,
                "  Its dot belongs at its reference mark on the engine."
            )?;
            if question.stage == Stage::Turned && wanders(drive, at, turned) {
                writeln!(
                    out,
                    "  (Its coloured link has wandered off. That is normal.)"
                )?;
            }
        }
    }
    if let Some(dot) = sprocket.dot() {
        writeln!(out, "  When right, it points {}.", clock_words(dot))?;
    }
    let ahead = drive.rotation(sprocket.shaft());
    writeln!(
        out,
        "  Ahead is {}, behind is {}, facing the timing end.",
        ahead.word(),
        ahead.reversed().word()
    )?;
    if let Some(earlier) = question.earlier {
        writeln!(
            out,
            "\n  Your answer before: {} (Enter keeps it)",
            answer_words(earlier, question.sight)
        )?;
    }
    writeln!(
        out,
        "\nWhere is its dot?\n1 {}  2 ahead  3 behind  4 could not see it  0 back  q stop",
        in_place(drive, question.sight)
    )
}

/// What `1` stands for.
fn in_place(drive: &Drive, sight: Sight) -> &'static str {
    match sight {
        Sight::Dot(_) => "at its mark",
        Sight::Link(at) => match drive.sprocket(at).mark() {
            Some(mark) if !mark.link.get().is_whole() => "between them",
            _ => "on it",
        },
    }
}

fn answer_words(answer: Answer, sight: Sight) -> String {
    match (answer, sight) {
        (Answer::NotSeen, _) => "could not see it".to_owned(),
        (Answer::Seen(Seen::Teeth(teeth)), Sight::Dot(_)) if teeth.is_zero() => {
            "at its mark".to_owned()
        }
        (Answer::Seen(Seen::Teeth(teeth)), _) if teeth.is_zero() => "where it belongs".to_owned(),
        (Answer::Seen(Seen::Teeth(teeth)), _) => {
            format!("{} {}", numbers::teeth(teeth), numbers::side(teeth.get()))
        }
        (Answer::Seen(seen), _) => seen.to_string(),
    }
}

fn kind_word(kind: ShaftKind) -> &'static str {
    match kind {
        ShaftKind::Crankshaft => "crankshaft",
        ShaftKind::Camshaft => "camshaft",
        ShaftKind::Idler => "idler",
        ShaftKind::Balance => "balance shaft",
        ShaftKind::Pump => "pump",
    }
}

/// `to 6 o'clock`, or `near 12 o'clock` where it is between two hours.
fn clock_words(dot: ClockAngle) -> String {
    let hours = || dot.get().modulo(Exact::whole(360))?.over(Exact::whole(30));
    let (Ok(hours), Some(half)) = (hours(), Exact::fraction(1, 2)) else {
        return "where the spec says".to_owned();
    };
    let nearest = hours.plus(half).map_or(0, Exact::floor) % 12;
    let hour = if nearest == 0 { 12 } else { nearest };
    let word = if hours.is_whole() { "to" } else { "near" };
    format!("{word} {hour} o'clock")
}

/// Why the interview stops at a stage, and what to do. `colour` adds terminal colours, which never
/// carry the meaning alone.
///
/// # Errors
/// [`crate::OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn halt_text(
    interview: &Interview<'_>,
    stage: Stage,
    colour: bool,
) -> Result<String, crate::quantity::OutOfRange> {
    let mut out = String::new();
    if let Some((look, check)) = interview.check(stage)? {
        let drive = interview.drive();
        let fits = fits(drive, &look.seen, &check)?;
        // Writing to a String cannot fail.
        let _ = write_stage(&mut out, drive, &look, &check, &fits, true, colour);
        if stage != Stage::Hung && check.verdict == Verdict::OutOfTime {
            let _ = writeln!(
                out,
                "\nBefore anything is moved: push the tensioner back and lock it. Then stand the engine\n\
                 in its timed position, hang the chain on its marks, and begin at stage 1."
            );
        }
        // Said once more beside the keys: on a small screen the first line is out of sight by now.
        let short = match check.verdict {
            Verdict::OutOfTime => "OUT OF TIME",
            _ => "NOT PROVEN",
        };
        let now = heading(&format!("{short}. What now?"), check.verdict, colour);
        let _ = writeln!(out, "\n{now}");
    }
    Ok(printable_but_styled(&out))
}

/// Why a reply was not taken, in one line.
pub fn refusal_text(refusal: &Refusal) -> String {
    match refusal {
        Refusal::NotHere => "That is no answer to this.".to_owned(),
        Refusal::NothingToKeep => "Nothing was answered yet.".to_owned(),
        Refusal::NothingBefore => "There is nothing before this.".to_owned(),
        Refusal::WholeTurn { teeth } => format!(
            "The sprocket has {teeth} teeth; that would be a whole turn or more. Count again."
        ),
        Refusal::Impossible(error) => error.to_string(),
        Refusal::OutOfRange => crate::quantity::OutOfRange.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;

    fn drive(links: u32) -> Drive {
        let text = format!(
            "{{ tautmark: 1, engine: Example, crank_turns: clockwise, \
               shafts: {{ crank: {{ kind: crankshaft }}, cam: {{ kind: camshaft }} }}, \
               chains: {{ main: {{ links: {links}, path: [ \
               {{ sprocket: crank, teeth: 20, link: 0 }}, {{ sprocket: cam, teeth: 40, link: 20 }} ] }} }} }}"
        );
        let source = Source::new("test", text.into()).unwrap();
        Drive::read(&source).drive.unwrap()
    }

    /// Two turns carry 40 links past each mark: on a chain of 40 every coloured link is back.
    #[test]
    fn links_are_said_to_wander_only_where_they_do() {
        for (links, off) in [(40, false), (42, true)] {
            let drive = drive(links);
            let interview = Interview::new(&drive, "test").unwrap();
            let text = ready_text(&interview, Stage::Turned, false);
            assert_eq!(text.contains("wander off"), off, "{links}");
        }
    }

    #[test]
    fn a_dot_points_to_the_nearest_hour() {
        for (degrees, words) in [
            (0, "to 12 o'clock"),
            (180, "to 6 o'clock"),
            (350, "near 12 o'clock"),
            (344, "near 11 o'clock"),
            (14, "near 12 o'clock"),
            (-30, "to 11 o'clock"),
        ] {
            assert_eq!(clock_words(ClockAngle::whole(degrees)), words);
        }
    }
}
