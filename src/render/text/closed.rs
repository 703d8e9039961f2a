//! What keeps the next stage closed in a job, asked while the marks are looked at; and how an interview ends.

use super::job::{kit_words, next_words, remedy_of};
use super::record::stage_next;
use super::view::view_of;
use crate::drive::model::Drive;
use crate::job::{Block, Closed, Interview, Item, JobStatus, Said, Sight, Step};
use crate::proof::check::CheckError;
use crate::render::hints::Hints;
use crate::render::words::band::Band;
use crate::render::words::said::said_words;
use crate::render::words::stage::{stage_headline, tensioned};
use crate::render::words::style::{Style, bold, heading, printable_but_styled};
use crate::render::words::torque::{size_words, tightening_words};
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::observe::name_of;

/// What keeps the next stage closed, as a question where somebody can tick it off: of parts and torques the "no" is
/// good, so that no single key leads through. `colour` adds terminal colours, which never carry the meaning alone.
pub fn closed_text(drive: &Drive, status: &JobStatus<'_>, closed: &Closed, colour: bool) -> String {
    let plan = drive.plan();
    let mut lines = Vec::new();
    let question = match &closed.item {
        Some(Item::Torque(name)) => {
            let kind = plan.fasteners().iter().find(|kind| kind.name == *name);
            lines.extend(kind.map(|kind| {
                let stages: Vec<String> = kind.torque.iter().map(tightening_words).collect();
                format!(
                    "{name} ({} x {}, {}): {}",
                    kind.count,
                    kind.component,
                    size_words(kind),
                    stages.join(", then ")
                )
            }));
            format!("Is any {name} still loose, or not tightened just so?")
        }
        Some(Item::OnHand { kit, .. }) => {
            let kit = status.kit.iter().find(|own| own.name == kit.as_str());
            lines.extend(kit.map(kit_words));
            "Is any of them not on the bench?".to_owned()
        }
        Some(Item::Old { part, .. }) => {
            let own = status.kit.iter().find(|own| own.name == part.as_str());
            lines.extend(own.map(|own| format!("{part}: {}", own.about)));
            if matches!(closed.block, Block::Old { off: Some(_), .. }) {
                lines.push(format!("{}.", closed.block));
            }
            format!("How many old {part} came off, all counted?")
        }
        Some(Item::Step(name)) if matches!(closed.block, Block::TooLate { .. }) => {
            let step = plan.steps().iter().find(|step| step.name == *name);
            lines.push(format!("{}.", closed.block));
            lines.extend(step.map(|step| format!("Wipe it off. Step {name}: {}", step.about)));
            "Is it done once more, just now?".to_owned()
        }
        Some(Item::Step(name)) => {
            let step = plan.steps().iter().find(|step| step.name == *name);
            lines.extend(step.map(|step| format!("Step {name}: {}", step.about)));
            "Is it done?".to_owned()
        }
        _ => {
            lines.push(format!("{}.", closed.block));
            format!("Next: {}.", remedy_of(drive, &closed.block))
        }
    };
    printable_but_styled(&format!(
        "{}\n{}\n\n{}\n",
        heading("NOT YET. First:", Verdict::NotProven, colour),
        lines.join("\n"),
        bold(&question, colour)
    ))
}

/// What comes of it where it is not so.
pub fn still_closed_text(drive: &Drive, closed: &Closed) -> String {
    printable_but_styled(&format!(
        "It stays closed: {}.",
        remedy_of(drive, &closed.block)
    ))
}

/// The good answer to [`closed_text`] in words; `None` where nothing can be ticked.
pub fn closed_words(closed: &Closed) -> Option<&'static str> {
    match &closed.item {
        Some(Item::Torque(_)) => Some("none is, all are tightened so"),
        Some(Item::OnHand { .. }) => Some("none is missing, all are here"),
        Some(Item::Step(_)) => Some("it is done"),
        _ => None,
    }
}

/// The verdict and the one thing to do next where an interview ends: what stands last on the screen. `job`: how the
/// job stands whose looks these are. `colour` adds terminal colours, which never carry the meaning alone.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn closing_text(
    interview: &Interview<'_>,
    job: Option<&JobStatus<'_>>,
    hints: &dyn Hints,
    colour: bool,
) -> Result<String, CheckError> {
    let drive = interview.drive();
    let (headline, verdict, mut next) = closing(interview, hints, colour)?;
    if let (Step::Done, Some(status)) = (interview.step(), job) {
        next = next_words(drive, status);
    }
    Ok(printable_but_styled(&format!(
        "{}\n{}\n",
        heading(&headline, verdict, colour),
        bold(&next, colour)
    )))
}

fn closing(
    interview: &Interview<'_>,
    hints: &dyn Hints,
    colour: bool,
) -> Result<(String, Verdict, String), CheckError> {
    let drive = interview.drive();
    let open = |stage| stage_headline(drive, stage, Verdict::NotProven, true).to_owned();
    let good = |stage| stage_headline(drive, stage, Verdict::InTime, true).to_owned();
    let mark = |sight: Sight| match sight {
        Sight::Link(at) => format!(
            "the dot of {} against its {}",
            name_of(drive, at),
            Band::of(drive.chain(at.chain)).coloured_noun()
        ),
        Sight::Dot(at) => {
            let shaft = drive.shaft(drive.sprocket(at).shaft());
            format!("the dot of {} against its reference mark", shaft.name())
        }
    };
    let not_proven = Verdict::NotProven;
    Ok(match interview.step() {
        Step::Done => (
            "IN TIME at all three stages.".to_owned(),
            Verdict::InTime,
            "Next: nothing is left to look at; go on as the maker says.".to_owned(),
        ),
        Step::Ready(Stage::Hung) => (
            open(Stage::Hung),
            not_proven,
            "Next: look at every mark.".to_owned(),
        ),
        Step::Ready(Stage::Released) => {
            let what = if tensioned(drive) {
                "release the tensioner"
            } else {
                "tighten everything"
            };
            (
                good(Stage::Hung),
                Verdict::InTime,
                format!("Next: {what}, then look at every mark again."),
            )
        }
        Step::Ready(Stage::Turned) => (
            good(Stage::Released),
            Verdict::InTime,
            "Next: turn the engine by hand, then look at the dots.".to_owned(),
        ),
        Step::Ask(question) => (
            open(question.stage),
            not_proven,
            format!("Next: look at {}.", mark(question.sight)),
        ),
        Step::Say(Stage::Turned, Said::TurnedFree) => (
            open(Stage::Turned),
            not_proven,
            "Next: say whether anything resisted.".to_owned(),
        ),
        Step::Say(stage, what) => (
            open(stage),
            not_proven,
            format!(
                "Next: see to it that {}, and say so.",
                said_words(what, true)
            ),
        ),
        Step::Confirm(stage) => (
            open(stage),
            not_proven,
            "Next: read over what you answered, and say that it is so.".to_owned(),
        ),
        Step::Felt => resisted(),
        Step::Halt(stage) => {
            let denied = |what| interview.sayings(stage).contains(&(what, false));
            if denied(Said::TurnedFree) {
                return Ok(resisted());
            }
            let Some((look, check)) = interview.check(stage)? else {
                let next = "Next: look at every mark.".to_owned();
                return Ok((open(stage), not_proven, next));
            };
            if check.verdict() == Verdict::InTime {
                let mut said = interview.sayings(stage).iter();
                let next = said.find(|(_, so)| !so).map_or_else(
                    || "Next: look at every mark again.".to_owned(),
                    |(what, _)| format!("Next: see to it that {}.", said_words(*what, true)),
                );
                return Ok((open(stage), not_proven, next));
            }
            let style = Style {
                hints,
                asking: true,
                colour,
                view: view_of(interview),
            };
            (
                stage_headline(drive, stage, check.verdict(), true).to_owned(),
                check.verdict(),
                stage_next(drive, &look, &check, check.fits(), style),
            )
        }
    })
}

/// Something resisted.
fn resisted() -> (String, Verdict, String) {
    (
        "STOP. It RESISTED. Do not turn the engine, and do not start it.".to_owned(),
        Verdict::NotProven,
        "Next: find what resisted, and begin again at stage 1.".to_owned(),
    )
}
