//! The words of the interview: short, for somebody with one clean finger.

use super::record::{stage_next, write_stage};
use super::said::{RESISTED, denied_lines, resisted_lines, said_remedy, stop_words};
use super::view::view_of;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::{Answer, Interview, Question, Refusal, Repeat, Said, Sight, Step, View};
use crate::proof::check::CheckError;
use crate::render::hints::Hints;
use crate::render::words::band::Band;
use crate::render::words::camshafts::left_out_words;
use crate::render::words::cautions::{TENSIONER, TURNING, write_cautions};
use crate::render::words::doubt::doubt_text;
use crate::render::words::escape::printable;
use crate::render::words::lookalike::lookalike_words;
use crate::render::words::marks::kind_word;
use crate::render::words::numbers;
use crate::render::words::place::{clock_words, link_words};
use crate::render::words::said::said_words;
use crate::render::words::stage::{stage_headline, stage_title, tensioned};
use crate::render::words::style::{Style, bold, heading, printable_but_styled};
use crate::render::words::view::{from_here, turning_words, way_word};
use crate::spec::choice::Viewpoint;
use crate::spec::stage::Stage;
use crate::timing::check::{Verdict, link_due};
use crate::timing::lookalike::{Fit, LookalikeKind};
use crate::timing::observe::{Seen, name_of};
use crate::units::quantity::{ClockAngle, Exact, Turns};
use std::fmt::Write as _;

/// What has to be done before a stage is looked at. `colour` adds terminal colours, which never
/// carry the meaning alone.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn ready_text(
    interview: &Interview<'_>,
    stage: Stage,
    hints: &dyn Hints,
    colour: bool,
) -> Result<String, CheckError> {
    let style = Style {
        hints,
        asking: true,
        colour,
        view: view_of(interview),
    };
    let before = match stage {
        Stage::Hung => None,
        Stage::Released => Some(Stage::Hung),
        Stage::Turned => Some(Stage::Released),
    };
    let mut doubts = Vec::new();
    if let Some(before) = before {
        doubts = doubts_of(interview, before, hints)?;
    }
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_ready(&mut out, interview, stage, &doubts, style);
    Ok(printable_but_styled(&out))
}

/// What has to be said with the verdict on a stage.
fn doubts_of(
    interview: &Interview<'_>,
    stage: Stage,
    hints: &dyn Hints,
) -> Result<Vec<String>, CheckError> {
    let checked = interview.check(stage)?;
    Ok(checked.map_or_else(Vec::new, |(_, check)| {
        let doubts = check.doubts().iter();
        doubts
            .map(|doubt| doubt_text(interview.drive(), doubt, hints))
            .collect()
    }))
}

fn write_doubts(out: &mut String, doubts: &[String]) -> std::fmt::Result {
    if doubts.is_empty() {
        return Ok(());
    }
    writeln!(out, "Note")?;
    for doubt in doubts {
        writeln!(out, "  - {doubt}")?;
    }
    writeln!(out)
}

fn write_ready(
    out: &mut String,
    interview: &Interview<'_>,
    stage: Stage,
    doubts: &[String],
    style: Style<'_>,
) -> std::fmt::Result {
    match stage {
        Stage::Hung if interview.repeated() => write_once_more(out, interview, style.colour),
        Stage::Hung => write_begin(out, interview, style.colour),
        Stage::Released => write_release(out, interview, doubts, style),
        Stage::Turned => write_turn(out, interview, doubts, style.colour),
    }
}

/// The first stage again, after the chain was moved.
fn write_once_more(out: &mut String, interview: &Interview<'_>, colour: bool) -> std::fmt::Result {
    let drive = interview.drive();
    writeln!(
        out,
        "{}\n\n\
         Once more from the start: what was seen before the {} was moved says nothing now.\n\
         The engine stands in its timed position{}.",
        bold(drive.engine(), colour),
        Band::all(drive).name,
        if tensioned(drive) {
            ", the tensioner is held back"
        } else {
            ""
        }
    )?;
    let marked = drive.engagements().any(|(_, other)| other.mark().is_some());
    if marked && interview.goes_by_dots() {
        writeln!(
            out,
            "The engine was turned, so the {} have moved off their dots. The dots and their\n\
             reference marks on the engine are asked for.",
            Band::all(drive).marks
        )?;
    }
    Ok(())
}

fn write_begin(out: &mut String, interview: &Interview<'_>, colour: bool) -> std::fmt::Result {
    let drive = interview.drive();
    let held = tensioned(drive);
    writeln!(out, "{}", bold(drive.engine(), colour))?;
    if let Some(position) = drive.timed_position() {
        writeln!(out, "Timed position: {position}")?;
    }
    writeln!(
        out,
        "\nThe marks are looked at three times: before {},\n\
         after it, and after {} by hand. One mark at a time.\n\
         What you cannot see is never taken to be right.",
        if held {
            "the tensioner is released"
        } else {
            "anything is tightened"
        },
        turns_words(interview.turns())
    )?;
    write_cautions(out)?;
    if let Some(left_out) = left_out_words(drive) {
        writeln!(out, "\n{left_out}")?;
    }
    writeln!(
        out,
        "\nStand the engine in its timed position and hang the {}.\n{}\
         \"Ahead\" is further on, the way that shaft turns when the engine turns {}.",
        Band::all(drive).name,
        if held {
            "The tensioner stays held back.\n"
        } else {
            ""
        },
        drive.crank_turns().word()
    )
}

/// A stage that is in time: the next step may be taken.
fn write_in_time(
    out: &mut String,
    drive: &Drive,
    stage: Stage,
    doubts: &[String],
    colour: bool,
) -> std::fmt::Result {
    writeln!(out, "{}\n", stage_title(drive, stage, Turns::ZERO))?;
    let headline = stage_headline(drive, stage, Verdict::InTime, true);
    writeln!(out, "{}\n", heading(headline, Verdict::InTime, colour))?;
    write_doubts(out, doubts)
}

fn write_release(
    out: &mut String,
    interview: &Interview<'_>,
    doubts: &[String],
    style: Style<'_>,
) -> std::fmt::Result {
    let drive = interview.drive();
    write_in_time(out, drive, Stage::Hung, doubts, style.colour)?;
    // What must be so before it has just been asked.
    if !tensioned(drive) {
        return writeln!(
            out,
            "The {} is on. Tighten everything now. Every mark is looked at again after it:\n\
             tightening can carry a sprocket with it.",
            Band::all(drive).name
        );
    }
    writeln!(out, "  - {TENSIONER}")?;
    writeln!(
        out,
        "\nRelease the tensioner now. Every mark is looked at again after it:\n\
         its push can pull the {} over a tooth.",
        Band::all(drive).name
    )
}

fn write_turn(
    out: &mut String,
    interview: &Interview<'_>,
    doubts: &[String],
    colour: bool,
) -> std::fmt::Result {
    let drive = interview.drive();
    write_in_time(out, drive, Stage::Released, doubts, colour)?;
    writeln!(
        out,
        "Turn the crankshaft {} by hand, {},\n\
         until its dot is back at its reference mark.",
        turns_words(interview.turns()),
        turning_words(view_of(interview), drive.crank_turns())
    )?;
    writeln!(out, "  - {TURNING}")?;
    let turned = interview.turns();
    if drive
        .engagements()
        .any(|(at, _)| moves_off(drive, at, turned))
    {
        writeln!(
            out,
            "\nThe {} move off their dots. That is normal.\n\
             From now on only the dots and their reference marks count.",
            Band::all(drive).marks
        )?;
    }
    Ok(())
}

/// Has a dot, back in its timed place after that many turns, another link on it than its coloured one?
fn moves_off(drive: &Drive, at: Engagement, turned: Turns) -> bool {
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
    let words = question_words(interview, question);
    writeln!(out, "{}\n", words.title)?;
    if let Some(why) = &words.why {
        writeln!(out, "{why}\n")?;
    }
    let name = bold(&words.name.to_uppercase(), colour);
    writeln!(out, "  {name} ({})\n", words.kind)?;
    for line in &words.lines {
        writeln!(out, "  {line}")?;
    }
    if let Some(earlier) = &words.earlier {
        writeln!(out, "\n  Your answer before: {earlier} (Enter keeps it)")?;
    }
    writeln!(
        out,
        "\n{WHERE}\n{}1 = {}   2 = ahead   3 = behind   4 = could not see it   0 = back   q = stop",
        if matches!(interview.counting(), Ok(Some(_))) {
            format!(
                "5 = no colour left: count the {}\n",
                Band::all(interview.drive()).links
            )
        } else {
            String::new()
        },
        words.in_place
    )
}

/// What is asked of every mark.
pub(crate) const WHERE: &str = "Where is its dot?";

/// A question in its parts, for whoever lays it out.
pub(crate) struct QuestionWords {
    /// The stage, and which mark of how many.
    pub(crate) title: String,
    /// Why it is asked, if only a look-alike is the reason.
    pub(crate) why: Option<String>,
    /// The shaft.
    pub(crate) name: String,
    /// What kind of shaft it is, and on which chain.
    pub(crate) kind: String,
    /// Where its dot belongs, and which way is ahead; one sentence or two each.
    pub(crate) lines: Vec<String>,
    /// What was answered before.
    pub(crate) earlier: Option<String>,
    /// The answer that nothing is off.
    pub(crate) in_place: &'static str,
}

pub(crate) fn question_words(interview: &Interview<'_>, question: &Question) -> QuestionWords {
    let drive = interview.drive();
    let turned = match question.stage {
        Stage::Turned => interview.turns(),
        _ => Turns::ZERO,
    };
    let (Sight::Link(at) | Sight::Dot(at)) = question.sight;
    let sprocket = drive.sprocket(at);
    let shaft = drive.shaft(sprocket.shaft());
    let band = Band::of(drive.chain(at.chain));
    let chain = if drive.chains().count() > 1 {
        format!(", {} {}", band.name, drive.chain(at.chain).name())
    } else {
        String::new()
    };
    let mut lines = Vec::new();
    match (question.sight, sprocket.mark()) {
        (Sight::Link(_), Some(mark)) => {
            let number = numbers::link(mark.link, drive.chain(at.chain));
            let which = link_words(drive, at, mark);
            lines.push(format!("Its dot belongs {which} ({number})."));
        }
        _ => {
            lines.push(format!(
                "Its dot belongs at its reference mark{}.",
                if drive.engagements().any(|(_, other)| other.mark().is_some()) {
                    " on the engine"
                } else {
                    " (or the other dot that it faces)"
                }
            ));
            if question.stage == Stage::Turned && moves_off(drive, at, turned) {
                lines.push(format!(
                    "(Its {} has moved off. That is normal.)",
                    band.mark
                ));
            }
        }
    }
    let view = view_of(interview);
    // From above nobody sees to which hour it points.
    if let Some(dot) = sprocket.dot()
        && view.from() != Viewpoint::Above
    {
        let clock = clock_words(seen_dot(view, dot));
        lines.push(format!("When right, it points {clock}."));
    }
    let ahead = drive.rotation(sprocket.shaft());
    lines.push(format!(
        "Ahead is {}, behind is {}, {}.",
        way_word(view, ahead),
        way_word(view, ahead.reversed()),
        from_here(view)
    ));
    QuestionWords {
        title: format!(
            "{}. Mark {} of {}",
            stage_title(drive, question.stage, turned),
            question.number,
            question.of
        ),
        // Without it the question stands all the same.
        why: question
            .extra
            .then(|| why_extra(drive, &interview.alike(question.stage).unwrap_or_default())),
        name: shaft.name().to_owned(),
        kind: format!("{}{chain}", kind_word(shaft.kind())),
        lines,
        earlier: question
            .earlier
            .map(|earlier| answer_words(earlier, question.sight, band.link)),
        in_place: in_place(drive, question.sight),
    }
}

/// What somebody says who has done what comes before a stage.
pub fn done_words(drive: &Drive, stage: Stage) -> &'static str {
    match stage {
        Stage::Hung => "ready",
        Stage::Released if !tensioned(drive) => "everything is tight",
        Stage::Released => "it is released",
        Stage::Turned => "it is turned",
    }
}

/// What is done after a stage that was not in time.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn again_words(interview: &Interview<'_>, stage: Stage) -> Result<&'static str, CheckError> {
    Ok(match interview.repeats(stage)? {
        Repeat::Unseen => "look again at what was not seen",
        Repeat::Said => "now it is so",
        Repeat::FromTheOtherSide => "say from where, and look at every mark again",
        Repeat::Stage => "look at every mark again",
        Repeat::Everything if stage == Stage::Hung => "corrected, look at every mark again",
        Repeat::Everything if tensioned(interview.drive()) => {
            "rehung, tensioner held back: start at stage 1"
        }
        Repeat::Everything => "rehung: start at stage 1",
    })
}

/// Just half of the teeth was counted: is the dot on the far side?
pub const HALF_A_TURN: &str =
    "That is exactly half a turn: the dot would be on the far side of the sprocket.";

/// What is asked before a draft is gone on with.
pub fn moved_since_words(interview: &Interview<'_>) -> &'static str {
    match interview.step() {
        Step::Ready(Stage::Released) if tensioned(interview.drive()) => {
            "Apart from releasing the tensioner, has anything been moved since?"
        }
        Step::Ready(Stage::Released) => {
            "Apart from tightening everything, has anything been moved since?"
        }
        Step::Ready(Stage::Turned) => {
            "Apart from turning the engine by hand, has anything been moved since?"
        }
        _ => "Has anything been moved since?",
    }
}

/// To which hour a dot points as it is seen.
fn seen_dot(view: View, dot: ClockAngle) -> ClockAngle {
    if view.is_mirrored() {
        ClockAngle::new(dot.get().negated())
    } else {
        dot
    }
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

fn answer_words(answer: Answer, sight: Sight, link_word: &str) -> String {
    match (answer, sight) {
        (Answer::NotSeen, _) => "could not see it".to_owned(),
        (Answer::Seen(Seen::Teeth(teeth)), Sight::Dot(_)) if teeth.is_zero() => {
            "at its mark".to_owned()
        }
        (Answer::Seen(Seen::Teeth(teeth)), _) if teeth.is_zero() => "where it belongs".to_owned(),
        (Answer::Seen(Seen::Teeth(teeth)), _) => {
            format!("{} {}", numbers::teeth(teeth), numbers::side(teeth.get()))
        }
        (Answer::Seen(Seen::Link(link)), _) => format!("on {link_word} {link}, by count"),
        (Answer::Seen(seen), _) => seen.to_string(),
    }
}

/// How links are counted to a mark from the dot before it, with the count that is right and the two that are
/// wrong most often.
pub fn count_text(drive: &Drive, from: Engagement, to: Engagement, due: Exact) -> String {
    let one = |off: i64| {
        due.checked_add(Exact::whole(off))
            .map_or_else(|error| error.to_string(), numbers::exact)
    };
    let Band {
        name,
        link,
        links: many,
        ..
    } = Band::of(drive.chain(from.chain));
    let (from, to) = (name_of(drive, from), name_of(drive, to));
    printable(&format!(
        "Count the {many} from the dot of {from} to the dot of {to}, along the strand that the\n\
         {name} travels from {from} to {to}. The {link} on the first dot is 0, the one after it is 1.\n\n\
         \x20 {} when right.\n\
         \x20 {} a tooth behind, or miscounted: one left out.\n\
         \x20 {} a tooth ahead, or miscounted: the first one counted as 1.\n",
        one(0),
        one(-1),
        one(1)
    ))
}

/// What is asked of the links on both dots, so that a count that is one out does not pass.
pub fn plates_text(drive: &Drive, from: Engagement, to: Engagement) -> String {
    printable(&format!(
        "Look at the link on the dot of {} and at the one on the dot of {}.\n\
         An outer link has its plates outside those of its neighbours.\n\n\
         Are both outer, or both inner?\n",
        name_of(drive, from),
        name_of(drive, to)
    ))
}

/// The ways in which a chain may be hung wrong, each once: inside out, another bank's, otherwise.
fn ways(fits: &[Fit], [inside_out, banks, moved]: &[String; 3]) -> Vec<String> {
    let mut ways = Vec::new();
    for fit in fits {
        let way = match fit.lookalike.kind {
            LookalikeKind::InsideOut { .. } => inside_out,
            LookalikeKind::BanksSwapped { .. } => banks,
            _ => moved,
        };
        if !ways.contains(way) {
            ways.push(way.clone());
        }
    }
    ways
}

/// Why dots are looked at that a proof by links would not need.
fn why_extra(drive: &Drive, alike: &[Fit]) -> String {
    let Band {
        name, links, over, ..
    } = Band::all(drive);
    let ways = ways(
        alike,
        &[
            format!("the {name} were {over}"),
            format!("another bank's {name} were hung here"),
            format!("the dots were on one another's {links}"),
        ],
    );
    format!(
        "The {links} alone would look the same if {}.",
        ways.join(", or if ")
    )
}

/// What was answered of one mark, as it is read back: `intake: 2 teeth behind its link`.
pub fn answer_text(drive: &Drive, sight: Sight, answer: Answer) -> String {
    let (name, what) = answer_parts(drive, sight, answer);
    printable_but_styled(&format!("{name}: {what}"))
}

fn answer_parts(drive: &Drive, sight: Sight, answer: Answer) -> (String, String) {
    let (Sight::Link(at) | Sight::Dot(at)) = sight;
    let whole = drive
        .sprocket(at)
        .mark()
        .is_none_or(|mark| mark.link.get().is_whole());
    let band = Band::of(drive.chain(at.chain));
    let (place, in_place) = match sight {
        Sight::Dot(_) => (
            "its reference mark".to_owned(),
            "dot at its reference mark".to_owned(),
        ),
        Sight::Link(_) if whole => (
            format!("its {}", band.coloured_noun()),
            format!("dot on its {}", band.coloured_noun()),
        ),
        Sight::Link(_) => (
            "its place".to_owned(),
            format!("dot between its {}s", band.coloured_noun()),
        ),
    };
    let what = match answer {
        Answer::NotSeen => match sight {
            Sight::Dot(_) => "could not see its dot at its reference mark".to_owned(),
            Sight::Link(_) => format!("could not see its dot at its {}", band.coloured_noun()),
        },
        Answer::Seen(Seen::Teeth(teeth)) if teeth.is_zero() => in_place,
        Answer::Seen(Seen::Teeth(teeth)) => {
            let side = if teeth.get().signum() < 0 {
                "behind"
            } else {
                "ahead of"
            };
            format!("dot {} {side} {place}", numbers::teeth(teeth))
        }
        Answer::Seen(Seen::Link(link)) => format!("dot on {} {link}, by count", band.link),
        Answer::Seen(seen) => seen.to_string(),
    };
    let name = match sight {
        Sight::Link(_) => name_of(drive, at),
        Sight::Dot(_) => drive.shaft(drive.sprocket(at).shaft()).name().to_owned(),
    };
    (name, what)
}

/// Every answer of a stage, one a line.
fn write_answers(out: &mut String, interview: &Interview<'_>, stage: Stage) -> std::fmt::Result {
    let lines: Vec<(String, String)> = interview
        .answers(stage)
        .map(|(sight, answer)| answer_parts(interview.drive(), sight, answer))
        .collect();
    let width = lines.iter().map(|(name, _)| name.chars().count()).max();
    let width = width.unwrap_or(0);
    for (name, what) in lines {
        writeln!(out, "  {name:width$}  {what}")?;
    }
    Ok(())
}

/// What was said at a stage, one a line.
fn write_sayings(out: &mut String, interview: &Interview<'_>, stage: Stage) -> std::fmt::Result {
    for (what, so) in interview.sayings(stage) {
        writeln!(out, "  you said: {}", said_words(*what, *so))?;
    }
    Ok(())
}

/// Everything that was answered at a stage, to be confirmed before anything is built on it, and
/// what is not ruled out by it. `colour` adds terminal colours, which never carry the meaning alone.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn confirm_text(
    interview: &Interview<'_>,
    stage: Stage,
    hints: &dyn Hints,
    colour: bool,
) -> Result<String, CheckError> {
    let style = Style {
        hints,
        asking: true,
        colour,
        view: view_of(interview),
    };
    let doubts = doubts_of(interview, stage, hints)?;
    let open = interview.not_ruled_out(stage)?;
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_confirm(&mut out, interview, stage, &doubts, &open, style);
    Ok(printable_but_styled(&out))
}

fn write_confirm(
    out: &mut String,
    interview: &Interview<'_>,
    stage: Stage,
    doubts: &[String],
    open: &[Fit],
    style: Style<'_>,
) -> std::fmt::Result {
    let drive = interview.drive();
    let turned = match stage {
        Stage::Turned => interview.turns(),
        _ => Turns::ZERO,
    };
    writeln!(out, "{}\n", stage_title(drive, stage, turned))?;
    writeln!(out, "{}", bold("This is what you answered", style.colour))?;
    write_answers(out, interview, stage)?;
    write_sayings(out, interview, stage)?;
    writeln!(out)?;
    write_doubts(out, doubts)?;
    if open.is_empty() {
        return writeln!(out, "Is it so?");
    }
    let warning = format!("NOT RULED OUT: {}.", open_words(drive, open));
    writeln!(
        out,
        "{}",
        heading(&warning, Verdict::NotProven, style.colour)
    )?;
    for fit in open {
        writeln!(
            out,
            "  - {}",
            lookalike_words(drive, &fit.lookalike, style.hints, true)
        )?;
    }
    writeln!(
        out,
        "\nThe {} alone would look the same. It goes on only once the dots tell them apart.",
        Band::all(drive).links
    )
}

fn open_words(drive: &Drive, open: &[Fit]) -> String {
    let Band {
        name, links, over, ..
    } = Band::all(drive);
    let ways = ways(
        open,
        &[
            format!("the {name} hung {over}"),
            format!("another bank's {name} hung here"),
            format!("the dots on one another's {links}"),
        ],
    );
    ways.join(", ")
}

/// What a draft holds, without any verdict: nothing is built on it before it is known that nothing
/// was moved since. `colour` adds terminal colours, which never carry the meaning alone.
pub fn draft_text(interview: &Interview<'_>, colour: bool) -> String {
    let drive = interview.drive();
    let mut out = String::new();
    for stage in Stage::ALL {
        if interview.answers(stage).next().is_none() {
            continue;
        }
        let turned = match stage {
            Stage::Turned => interview.turns(),
            _ => Turns::ZERO,
        };
        // Writing to a String cannot fail.
        let _ = writeln!(out, "{}", bold(&stage_title(drive, stage, turned), colour));
        let _ = write_answers(&mut out, interview, stage);
        let _ = write_sayings(&mut out, interview, stage);
        let _ = writeln!(out);
    }
    printable_but_styled(&out)
}

/// Why the interview stops at a stage, and what to do. `colour` adds terminal colours, which never
/// carry the meaning alone.
///
/// # Errors
/// [`crate::OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn halt_text(
    interview: &Interview<'_>,
    stage: Stage,
    hints: &dyn Hints,
    colour: bool,
) -> Result<String, CheckError> {
    let style = Style {
        hints,
        asking: true,
        colour,
        view: view_of(interview),
    };
    let mut out = String::new();
    let denied = denied(interview, stage);
    if denied.contains(&Said::TurnedFree) {
        out.push_str(&resisted_lines(interview, colour));
        return Ok(printable_but_styled(&out));
    }
    if !denied.is_empty() && interview.verdict(stage)? == Verdict::InTime {
        out.push_str(&denied_lines(interview.drive(), stage, &denied, colour));
        return Ok(printable_but_styled(&out));
    }
    if let Some((look, check)) = interview.check(stage)? {
        let drive = interview.drive();
        let fits = check.fits().to_vec();
        if denied.contains(&Said::FacingEnd) {
            let _ = writeln!(
                out,
                "You said: {}. Then \"ahead\" and \"behind\" are the wrong way round, and what\n\
                 stands below is not so. {}\n",
                said_words(Said::FacingEnd, false),
                said_remedy(Said::FacingEnd)
            );
        }
        // Writing to a String cannot fail.
        let _ = write_stage(&mut out, drive, &look, &check, &fits, false, style);
        let suspected = interview.alike(stage)?;
        if check.verdict() != Verdict::InTime && !suspected.is_empty() {
            let _ = writeln!(
                out,
                "\nIf those dots are as you saw them, hang the {} again. The {} would look the same if",
                Band::all(drive).name,
                Band::all(drive).links
            );
            for fit in &suspected {
                let _ = writeln!(
                    out,
                    "  - {}",
                    lookalike_words(drive, &fit.lookalike, style.hints, true)
                );
            }
        }
        // Said once more beside the keys: on a small screen the first line is out of sight by now.
        let short = match check.verdict() {
            Verdict::OutOfTime => "OUT OF TIME",
            _ => "NOT PROVEN",
        };
        let now = heading(&format!("{short}. What now?"), check.verdict(), colour);
        let next = stage_next(drive, &look, &check, &fits, style);
        let _ = writeln!(out, "\n{}\n{now}", bold(&next, colour));
    }
    Ok(printable_but_styled(&out))
}

/// What was asked at a stage and is not so.
fn denied(interview: &Interview<'_>, stage: Stage) -> Vec<Said> {
    let sayings = interview.sayings(stage);
    let denied = sayings
        .iter()
        .filter_map(|(what, so)| (!so).then_some(*what));
    denied.collect()
}

/// The two lines of [`halt_text`] that must not be missed.
pub(crate) struct HaltTop {
    /// What must not be done, or the verdict.
    pub(crate) headline: &'static str,
    /// The one thing to do; `None` where the text has no shorter one.
    pub(crate) next: Option<String>,
    /// Is it by moving something that it is put right?
    pub(crate) moving: bool,
}

/// What stands on top where an interview stops at a stage.
///
/// # Errors
/// As [`halt_text`].
pub(crate) fn halt_top(
    interview: &Interview<'_>,
    stage: Stage,
    hints: &dyn Hints,
) -> Result<HaltTop, CheckError> {
    let drive = interview.drive();
    let denied = denied(interview, stage);
    let stop = |headline: &'static str, next: Option<&str>| HaltTop {
        headline,
        next: next.map(str::to_owned),
        moving: false,
    };
    if denied.contains(&Said::TurnedFree) {
        return Ok(stop(RESISTED, None));
    }
    if let Some(what) = denied.first()
        && interview.verdict(stage)? == Verdict::InTime
    {
        return Ok(stop(stop_words(drive, stage), Some(said_remedy(*what))));
    }
    let Some((look, check)) = interview.check(stage)? else {
        return Ok(stop(stop_words(drive, stage), None));
    };
    let fits = check.fits().to_vec();
    let headline = stage_headline(drive, stage, check.verdict(), fits.is_empty());
    // Whoever saw it from the wrong side has "ahead" for "behind": nothing is moved by that.
    if denied.contains(&Said::FacingEnd) {
        return Ok(stop(headline, Some(said_remedy(Said::FacingEnd))));
    }
    let style = Style {
        hints,
        asking: true,
        colour: false,
        view: view_of(interview),
    };
    Ok(HaltTop {
        next: Some(printable(&stage_next(drive, &look, &check, &fits, style))),
        moving: check.verdict() == Verdict::OutOfTime,
        headline,
    })
}

/// Why a reply was not taken, in one line.
pub fn refusal_text(refusal: &Refusal) -> String {
    match refusal {
        Refusal::NotRuledOut => {
            "A look-alike would show the same. Look at the dots that tell them apart.".to_owned()
        }
        Refusal::Counted => {
            "No colour was left on it, so it is counted from dot to dot. Count here, too (5)."
                .to_owned()
        }
        Refusal::NotHere => "That is not an answer here.".to_owned(),
        Refusal::NothingToKeep => "Nothing has been answered yet.".to_owned(),
        Refusal::NothingBefore => "There is nothing before this.".to_owned(),
        Refusal::PastHalf { teeth } => format!(
            "The sprocket has {teeth} teeth; that is more than half of them. Count again, the shorter way round."
        ),
        Refusal::Impossible(error) => error.to_string(),
        Refusal::OutOfRange => crate::units::quantity::OutOfRange.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::hints::PlainWords;
    use crate::spec::source::Source;

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
    fn links_are_said_to_move_off_only_where_they_do() {
        for (links, off) in [(40, false), (42, true)] {
            let drive = drive(links);
            let interview = Interview::new(&drive, "test").unwrap();
            let text = ready_text(&interview, Stage::Turned, &PlainWords, false).unwrap();
            assert_eq!(text.contains("move off"), off, "{links}");
        }
    }
}
