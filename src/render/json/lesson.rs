//! Exercises and grades as JSON.

use crate::drive::model::Drive;
use crate::lesson::{Exercise, Grade};
use crate::render::text::lesson::answers;
use crate::render::words::lesson::{
    ASKED, INVENTED, accuracy, heading, level_word, noticed, outcome, outcome_word, sight, why,
};
use crate::timing::observe::name_of;
use serde_json::{Value, json};

/// An exercise as pupils see it, with the parts that can be named; its answers only where `answered`.
pub fn exercise_json(drive: &Drive, exercise: &Exercise, answered: bool) -> Value {
    let sights: Vec<Value> = exercise
        .sights()
        .iter()
        .map(|each| {
            let [dot, angle] = sight(drive, each);
            json!({
                "shaft": drive.shaft(each.shaft).name(),
                "dot_teeth_ahead": each.dot,
                "dot": dot,
                "crank_degrees_ahead": each.angle,
                "instrument": angle,
            })
        })
        .collect();
    let mut all = json!({
        "engine": drive.engine(),
        "seed": exercise.seed().to_string(),
        "next": exercise.seed().next().to_string(),
        "level": level_word(exercise.level()),
        "heading": heading(exercise),
        "says": INVENTED,
        "sights": sights,
        "accuracy": accuracy(),
        "noticed": noticed(drive, exercise),
        "asked": ASKED,
        "parts": parts(drive),
    });
    if answered && let Some(all) = all.as_object_mut() {
        all.insert("answers".to_owned(), json!(answers(drive, exercise)));
    }
    all
}

/// What can be named: `label`; what is counted of it (`amount`), if anything; and the words before and after the number in
/// what [`crate::lesson::Claim::read`] takes.
fn parts(drive: &Drive) -> Vec<Value> {
    let mut parts =
        vec![json!({ "label": "nothing is wrong", "amount": null, "before": "nothing" })];
    for (at, sprocket) in drive.engagements() {
        let name = name_of(drive, at);
        // A name alone is the sprocket by which a shaft is driven.
        let chain = drive.chain(at.chain).name();
        let shaft = drive.shaft(sprocket.shaft()).name();
        parts.push(json!({
            "label": format!("{name} sprocket"),
            "amount": "teeth",
            "before": format!("{chain}/{shaft}="),
            "after": "",
        }));
    }
    for (_, shaft) in drive.shafts().filter(|(_, shaft)| shaft.phaser().is_some()) {
        parts.push(json!({
            "label": format!("phaser of {}", shaft.name()),
            "amount": "crank degrees",
            "before": format!("phaser {}=", shaft.name()),
            "after": "crank deg ",
        }));
    }
    for (id, shaft) in drive.shafts() {
        if drive.dowel_holes(id).is_ok_and(|holes| !holes.is_empty()) {
            parts.push(json!({
                "label": format!("dowel of {} in another hole", shaft.name()),
                "amount": "crank degrees",
                "before": format!("dowel {}=", shaft.name()),
                "after": "crank deg ",
            }));
        }
    }
    parts.push(
        json!({ "label": "crankshaft one turn out", "amount": null, "before": "crank turn" }),
    );
    parts.push(json!({ "label": "the chains are worn", "amount": null, "before": "wear" }));
    parts
}

/// What an answer is worth.
pub fn grade_json(drive: &Drive, exercise: &Exercise, grade: &Grade) -> Value {
    json!({
        "seed": exercise.seed().to_string(),
        "level": level_word(exercise.level()),
        "outcome": outcome_word(grade.outcome),
        "says": outcome(grade.outcome),
        "why": grade.why.iter().map(|each| why(drive, each)).collect::<Vec<_>>(),
        "answers": answers(drive, exercise),
    })
}
