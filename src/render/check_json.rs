//! A verdict for a program to read. Field names are stable; exact values are strings `p/q`.

use super::{CAUTIONS, doubt_text, lookalike_json, remedy_text};
use crate::drive::model::Drive;
use crate::timing::check::{Check, Doubt, Unseen, Verdict};
use crate::timing::lookalike::Fit;
use serde_json::{Value, json};

/// The verdict as JSON, with the look-alikes that fit too (see [`crate::timing::fits`]).
pub fn check_json(drive: &Drive, check: &Check, fits: &[Fit]) -> Value {
    let lookalikes: Vec<Value> = fits
        .iter()
        .map(|fit| {
            let mut value = lookalike_json(drive, &fit.friend);
            if let Value::Object(map) = &mut value {
                map.insert("explains".into(), json!(fit.explains));
            }
            value
        })
        .collect();
    let shafts: Vec<Value> = check
        .shafts
        .iter()
        .map(|state| {
            let moves: Vec<String> = check
                .remedies
                .iter()
                .filter(|remedy| drive.sprocket(remedy.at).shaft() == state.shaft)
                .map(|remedy| remedy_text(drive, remedy))
                .collect();
            json!({
                "shaft": drive.shaft(state.shaft).name(),
                "chain": state.at.map(|at| drive.chain(at.chain).name()),
                "off_teeth": state.off_teeth,
                "off_crank_degrees": state.off.map(|off| off.angle),
                "either_way": state.off.is_some_and(|off| off.either_way),
                "contradicted": state.contradicted,
                "moves": (!moves.is_empty()).then(|| moves.join(" ")),
            })
        })
        .collect();
    let remedies: Vec<Value> = check
        .remedies
        .iter()
        .map(|remedy| {
            json!({
                "chain": drive.chain(remedy.at.chain).name(),
                "shaft": drive.shaft(drive.sprocket(remedy.at).shaft()).name(),
                "teeth": remedy.teeth,
                "turn": remedy.turn.word(),
                "lay_link": remedy.lay,
            })
        })
        .collect();
    let not_seen: Vec<Value> = check
        .not_seen
        .iter()
        .map(|unseen| match unseen {
            Unseen::Link(at) => json!({
                "look_at": "link",
                "chain": drive.chain(at.chain).name(),
                "shaft": drive.shaft(drive.sprocket(*at).shaft()).name(),
            }),
            Unseen::Dot(id) => json!({
                "look_at": "dot",
                "chain": null,
                "shaft": drive.shaft(*id).name(),
            }),
        })
        .collect();
    let findings: Vec<Value> = check
        .doubts
        .iter()
        .map(|doubt| json!({ "code": doubt_code(doubt), "text": doubt_text(drive, doubt) }))
        .collect();
    json!({
        "verdict": verdict_word(check.verdict),
        "release_tensioner": check.release_tensioner(),
        "shafts": shafts,
        "remedies": remedies,
        "not_seen": not_seen,
        "findings": findings,
        "false_friends": lookalikes,
        "cautions": CAUTIONS,
    })
}

/// `in time`, `out of time` or `not proven`.
pub(crate) fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InTime => "in time",
        Verdict::OutOfTime => "out of time",
        Verdict::NotProven => "not proven",
    }
}

fn doubt_code(doubt: &Doubt) -> &'static str {
    match doubt {
        Doubt::Contradiction { .. } => "links-contradict-dots",
        Doubt::LinksAgainstTurns { .. } => "links-contradict-turns",
        Doubt::ShiftedTogether { .. } => "links-shifted-together",
        Doubt::OneCrankTurnOut => "one-crank-turn-out",
        Doubt::SlipAtCrank { .. } => "one-slip-at-crank",
        Doubt::Disagree { .. } => "sprockets-disagree",
        Doubt::NotWholeTeeth { .. } => "not-whole-teeth",
        Doubt::EitherWay { .. } => "ahead-or-behind",
        Doubt::LinkNotReadable { .. } => "link-not-readable",
        Doubt::CrankHalfTurn => "crank-half-turn",
        Doubt::DotAlone { .. } => "dot-alone",
        Doubt::DotAgainstTurns { .. } => "dot-contradicts-turns",
        Doubt::CrankOffMark { .. } => "crank-off-mark",
        Doubt::IdlerDot { .. } => "idler-dot",
        Doubt::SpecInDoubt { .. } => "spec-in-doubt",
        Doubt::OthersLink { .. } => "link-of-another-dot",
        Doubt::LoopContradiction { .. } => "loop-contradicts",
        Doubt::CannotBe { .. } => "cannot-be",
        Doubt::IdlerOff { .. } => "idler-off",
        Doubt::OneIsOff => "one-is-off",
        Doubt::DoesNotFit => "does-not-fit",
    }
}
