//! A step of the interview for a screen that is touched: its words, what can be answered, and what the drive looks
//! like as it was seen.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::{Interview, Question, Sight, Step};
use crate::proof::check::CheckError;
use crate::render::draw::places;
use crate::render::hints::Hints;
use crate::render::text::ask::{
    HALF_A_TURN, WHERE, again_words, confirm_text, done_words, draft_text, halt_text,
    moved_since_words, question_words, ready_text, say_text,
};
use crate::render::text::record::verdicts_text;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::escape::{capital, printable};
use crate::render::words::remedy::remedy_text;
use crate::render::words::stage::stage_headline;
use crate::render::words::verdict::verdict_word;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::timing::pose::Pose;
use crate::units::quantity::Turns;
use serde_json::{Value, json};

/// What an interview asks now, and everything answered so far.
///
/// `step` is one of `ready`, `ask`, `say`, `confirm`, `halt`, `done`; `choices` are replies with their words, the one that goes
/// on first. `verdict` is that of the record as it is.
///
/// # Errors
/// [`CheckError`]; what is taken down is of this drive, and its bounds keep numbers in range.
pub fn interview_json(interview: &Interview<'_>, hints: &dyn Hints) -> Result<Value, CheckError> {
    let drive = interview.drive();
    let record = interview.record();
    let outcome = record.check(drive)?;
    let mut shown = step_json(interview, hints)?;
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
        Step::Ask(question) => ask(interview, &question)?,
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
        "look_at": drive.index(at),
        "drawn": drawn(drive, at)?,
        "teeth": teeth,
        "half": teeth.is_multiple_of(2).then_some(json!({ "teeth": teeth / 2, "words": HALF_A_TURN })),
        "parts": places(drive, &Pose::slipped(drive, turned, &[])?)?,
    }))
}

/// Has its sprocket a place in the picture?
fn drawn(drive: &Drive, at: Engagement) -> Result<bool, CheckError> {
    let pose = Pose::slipped(drive, Turns::ZERO, &[])?;
    Ok(crate::render::draw::Picture::new(drive, &pose, at.chain).is_ok())
}

fn halt(interview: &Interview<'_>, stage: Stage, hints: &dyn Hints) -> Result<Value, CheckError> {
    let drive = interview.drive();
    let mut shown = json!({
        "step": "halt",
        "stage": stage.word(),
        "text": halt_text(interview, stage, hints, false)?,
        "choices": [choice("again", again_words(interview, stage)?), choice("back", "back")],
    });
    if let Some((look, check)) = interview.check(stage)? {
        if check.verdict() != Verdict::InTime {
            shown["headline"] = json!(stage_headline(drive, stage, check.verdict(), true));
        }
        // One thing at a time: the first of what is to be moved.
        shown["action"] = json!(
            check
                .remedies()
                .first()
                .map(|first| printable(&remedy_text(drive, first)))
        );
        shown["look_at"] = json!(check.remedies().first().map(|first| drive.index(first.at)));
        shown["parts"] = places(drive, &Pose::seen(drive, &look.seen)?)?;
    }
    Ok(shown)
}
