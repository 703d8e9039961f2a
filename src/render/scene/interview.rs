//! A step of the interview for a screen that is touched: its words, what can be answered, and what the drive looks
//! like as it was seen.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::{Counting, Interview, Question, Sight, Step};
use crate::proof::check::{Check, CheckError};
use crate::render::draw::places;
use crate::render::hints::Hints;
use crate::render::text::ask::{
    HALF_A_TURN, WHERE, again_words, confirm_text, count_text, done_words, draft_text, halt_text,
    halt_top, moved_since_words, plates_text, question_words, ready_text,
};
use crate::render::text::record::verdicts_text;
use crate::render::text::said::{felt_text, say_text};
use crate::render::text::view::{view_of, view_text, view_turning_text};
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::escape::{capital, printable};
use crate::render::words::verdict::verdict_word;
use crate::render::words::view::drawn_words;
use crate::spec::choice::{Rotation, Viewpoint};
use crate::spec::stage::Stage;
use crate::timing::pose::Pose;
use crate::units::quantity::Turns;
use crate::valves::moves::{SafeStep, safe_moves};
use serde_json::{Value, json};

/// What an interview asks now, and everything answered so far.
///
/// `step` is one of `ready`, `view`, `ask`, `felt`, `say`, `confirm`, `halt`, `done`; `choices` are replies with their words, the one that goes
/// on first. `parts`: where the picture's parts are; `mirrored`: it is to be drawn with left and right exchanged, as whoever looks sees it.
/// `verdict` is that of the record as it is.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn interview_json(interview: &Interview<'_>, hints: &dyn Hints) -> Result<Value, CheckError> {
    let drive = interview.drive();
    let record = interview.record();
    let outcome = record.check(drive)?;
    let mut shown = step_json(interview, hints)?;
    let view = view_of(interview);
    shown["mirrored"] = json!(view.is_mirrored());
    shown["drawn_as"] = json!(drawn_words(view));
    shown["engine"] = json!(printable(drive.engine()));
    shown["answers"] = json!(record.answers());
    shown["draft"] = json!(draft_text(interview, false));
    shown["moved_since"] = json!(moved_since_words(interview));
    shown["verdict"] = json!(verdict_word(outcome.verdict()));
    shown["verdicts"] = json!(verdicts_text(drive, &outcome, false));
    shown["cautions"] = json!(CAUTIONS);
    shown["record"] = json!(record.to_yaml(drive));
    Ok(shown)
}

fn choice(reply: &str, words: &str) -> Value {
    json!({ "reply": reply, "words": capital(words) })
}

/// The same with what is said by it.
fn with(reply: &str, seen: &str, words: &str) -> Value {
    json!({ "reply": reply, "seen": seen, "words": capital(words) })
}

/// In the order in which they are asked.
const VIEWPOINTS: [Viewpoint; 4] = [
    Viewpoint::Facing,
    Viewpoint::Mirror,
    Viewpoint::Photo,
    Viewpoint::Above,
];
const WAYS: [Rotation; 2] = [Rotation::Clockwise, Rotation::CounterClockwise];

/// From where the marks are seen; and after each answer, which way the crankshaft must turn there.
fn view(interview: &Interview<'_>, stage: Stage) -> Value {
    let (text, from) = keyed(&view_text(interview.drive(), false));
    let views = VIEWPOINTS.iter().zip(from).map(|(viewpoint, words)| {
        let (text, ways) = keyed(&view_turning_text(*viewpoint, false));
        let ways = WAYS.iter().zip(ways).map(|(way, words)| {
            with(
                "view",
                &format!("{} {}", viewpoint.word(), way.word()),
                &words,
            )
        });
        json!({ "words": capital(&words), "text": text, "choices": ways.collect::<Vec<_>>() })
    });
    json!({
        "step": "view",
        "stage": stage.word(),
        "text": text,
        "views": views.collect::<Vec<_>>(),
        "choices": [],
    })
}

/// A text without the line of its keys, and the words of the keys.
fn keyed(text: &str) -> (String, Vec<String>) {
    let (text, keys) = text.trim_end().rsplit_once('\n').unwrap_or((text, ""));
    let words = keys.split("   ").filter_map(|key| key.split_once(" = "));
    let words = words.map(|(_, words)| words.to_owned()).collect();
    (text.trim_end().to_owned(), words)
}

fn step_json(interview: &Interview<'_>, hints: &dyn Hints) -> Result<Value, CheckError> {
    let back = || choice("back", "back");
    Ok(match interview.step() {
        Step::Ready(stage) => {
            let mut choices = vec![choice("ready", done_words(interview.drive(), stage))];
            if stage != Stage::Hung {
                choices.push(back());
            }
            json!({
                "step": "ready",
                "stage": stage.word(),
                "text": ready_text(interview, stage, hints, false)?,
                "choices": choices,
            })
        }
        Step::Ask(question) if interview.view().is_none() => view(interview, question.stage),
        Step::Ask(question) => ask(interview, &question)?,
        Step::Felt => json!({
            "step": "felt",
            "stage": Stage::Turned.word(),
            "text": felt_text(interview, false),
            "choices": [
                with("felt", "1/2", "half a turn at most"),
                with("felt", "1", "one turn"),
                with("felt", "3/2", "one and a half"),
                with("felt", "2", "two"),
                with("felt", "", "more, or I do not know"),
                back(),
            ],
        }),
        Step::Say(stage, what) => json!({
            "step": "say",
            "stage": stage.word(),
            "text": say_text(interview, stage, what, false),
            "choices": [choice("yes", "yes"), choice("no", "no"), back()],
        }),
        Step::Confirm(stage) => json!({
            "step": "confirm",
            "stage": stage.word(),
            "text": confirm_text(interview, stage, hints, false)?,
            "choices": if interview.not_ruled_out(stage)?.is_empty() {
                [choice("ready", "yes, that is what I saw"), back()]
            } else {
                [choice("again", "look again"), back()]
            },
        }),
        Step::Halt(stage) => halt(interview, stage, hints)?,
        Step::Done => json!({ "step": "done", "choices": [back()] }),
    })
}

fn ask(interview: &Interview<'_>, question: &Question) -> Result<Value, CheckError> {
    let drive = interview.drive();
    let words = question_words(interview, question);
    let (Sight::Link(at) | Sight::Dot(at)) = question.sight;
    let teeth = drive.sprocket(at).teeth().get();
    // After whole turns all dots that are asked for are back in their places; the links are where they have got to.
    let turned = match question.stage {
        Stage::Turned => interview.turns(),
        Stage::Hung | Stage::Released => Turns::ZERO,
    };
    Ok(json!({
        "step": "ask",
        "stage": question.stage.word(),
        "title": words.title,
        "why": words.why.as_deref().map(printable),
        "name": printable(&words.name),
        "kind": printable(&words.kind),
        "lines": words.lines.iter().map(|line| printable(line)).collect::<Vec<_>>(),
        "earlier": words.earlier,
        "asks": WHERE,
        "on": capital(words.in_place),
        "choices": [],
        "counting": counting(interview, at)?,
        "look_at": drive.index(at),
        "drawn": drawn(drive, at)?,
        "teeth": teeth,
        "half": teeth.is_multiple_of(2).then_some(json!({ "teeth": teeth / 2, "words": HALF_A_TURN })),
        "parts": places(drive, &Pose::slipped(drive, turned, &[])?)?,
    }))
}

/// What is asked of whoever counts the links since no colour is left; `null` where counting would prove nothing.
fn counting(interview: &Interview<'_>, at: Engagement) -> Result<Value, CheckError> {
    Ok(match interview.counting()? {
        None => Value::Null,
        // The chain is numbered from here: there is nothing to be asked.
        Some(Counting::Here(_)) => json!({ "plates": null, "count": null }),
        Some(Counting::From { from, due, .. }) => json!({
            "plates": plates_text(interview.drive(), from, at),
            "count": count_text(interview.drive(), from, at, due),
        }),
    })
}

/// Has its sprocket a place in the picture?
fn drawn(drive: &Drive, at: Engagement) -> Result<bool, CheckError> {
    let pose = Pose::slipped(drive, Turns::ZERO, &[])?;
    Ok(crate::render::draw::Picture::new(drive, &pose, at.chain).is_ok())
}

fn halt(interview: &Interview<'_>, stage: Stage, hints: &dyn Hints) -> Result<Value, CheckError> {
    let drive = interview.drive();
    let top = halt_top(interview, stage, hints)?;
    let mut shown = json!({
        "step": "halt",
        "stage": stage.word(),
        "headline": top.headline,
        "action": top.next,
        "text": halt_text(interview, stage, hints, false)?,
        "choices": [choice("again", again_words(interview, stage)?), choice("back", "back")],
    });
    if top.moving
        && let Some((look, check)) = interview.check(stage)?
    {
        shown["look_at"] = json!(first_moved(drive, &check).map(|at| drive.index(at)));
        shown["parts"] = places(drive, &Pose::seen(drive, &look.seen)?)?;
    }
    Ok(shown)
}

/// The sprocket that is moved first: by the order of moves where there is one.
fn first_moved(drive: &Drive, check: &Check) -> Option<Engagement> {
    let moves = safe_moves(drive, check).ok().flatten();
    let order = moves.and_then(|moves| moves.order.ok());
    let by_order = order.and_then(|order| {
        order.steps.iter().find_map(|step| match step {
            SafeStep::Remedy { index, .. } => check.remedies().get(*index),
            SafeStep::Crank { .. } => None,
        })
    });
    by_order.or(check.remedies().first()).map(|first| first.at)
}
