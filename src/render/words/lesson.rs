//! An exercise in words: what is seen, what may be said, what an answer is worth.

use super::numbers;
use super::slip::{cylinders, standing, symptom};
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::lesson::{Exercise, Level, Outcome, Sight, Why};
use crate::timing::observe::name_of;
use crate::units::quantity::{CrankDegrees, Teeth};
use crate::valves::timing::ValveTiming;

/// Said over every exercise.
pub(crate) const INVENTED: &str = "For practice: the fault is invented, and no engine was measured. What one would notice is an estimate.";

/// What is asked.
pub(crate) const ASKED: &str = "What is wrong? Name the fewest faults that explain all of it: which sprocket, ahead or behind, by how many teeth; or a phaser, wear, the crankshaft one turn out, or nothing.";

pub(crate) fn level_word(level: Level) -> &'static str {
    match level {
        Level::Easy => "easy",
        Level::Medium => "medium",
        Level::Hard => "hard",
    }
}

/// `Exercise 7, easy`.
pub(crate) fn heading(exercise: &Exercise) -> String {
    format!(
        "Exercise {}, {}",
        exercise.seed(),
        level_word(exercise.level())
    )
}

/// What the dot and the instrument show of one shaft.
pub(crate) fn sight(drive: &Drive, sight: &Sight) -> [String; 2] {
    [
        sight.dot.map_or_else(
            || "cannot be seen".to_owned(),
            |dot| dot_words(drive, sight, dot),
        ),
        sight.angle.map_or_else(
            || "is not measured".to_owned(),
            |angle| match drive.shaft(sight.shaft).turn() {
                Ok(turn) => standing(angle, turn, numbers::crank_degrees),
                Err(_) => numbers::crank_degrees(angle),
            },
        ),
    ]
}

fn dot_words(drive: &Drive, sight: &Sight, dot: Teeth) -> String {
    let shaft = drive.shaft(sight.shaft);
    let size = numbers::teeth(dot);
    let half = shaft.driven_at().is_some_and(|at| {
        let around = drive.sprocket(at).teeth().to_exact();
        dot.get().is_half_of(around) || dot.get().negated().is_half_of(around)
    });
    if half {
        return format!("{size} from its mark, half a turn of its own: neither ahead nor behind");
    }
    match dot.get().signum() {
        0 => "on its mark".to_owned(),
        _ => format!("{size} {} of its mark", numbers::side(dot.get()))
            .replace("behind of", "behind"),
    }
}

/// What else would be noticed: trapped compression by cylinders, and the likely signs.
pub(crate) fn noticed(drive: &Drive, exercise: &Exercise) -> Vec<String> {
    let [before, after] = exercise.timings();
    let compression = drive
        .valves()
        .iter()
        .zip(before.valves.iter().zip(&after.valves))
        .filter_map(|(valves, (was, is))| {
            let of = cylinders(&valves.cylinders);
            Some(format!(
                "Trapped compression in {of}, about: {}; in time {}.",
                compression_words(is)?,
                compression_words(was)?
            ))
        });
    let signs = exercise
        .signs()
        .iter()
        .map(|each| symptom(*each).1.to_owned());
    compression.chain(signs).collect()
}

fn compression_words(of: &ValveTiming) -> Option<String> {
    match (of.no_compression, of.trapped_compression) {
        (Some(_), _) => Some("none".to_owned()),
        (None, Some(ratio)) => Some(format!("{ratio:.1} to 1")),
        (None, None) => None,
    }
}

/// What an answer is worth, in a line.
pub(crate) fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Right => "RIGHT. That is one of the smallest explanations of all that is seen.",
        Outcome::TooMany => {
            "NOT YET. That explains all that is seen, but takes more than it needs."
        }
        Outcome::Wrong => "NOT RIGHT. That does not explain what is seen.",
    }
}

pub(crate) fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Right => "right",
        Outcome::TooMany => "too-many",
        Outcome::Wrong => "wrong",
    }
}

pub(crate) fn why(drive: &Drive, why: &Why) -> String {
    let name = |at: &Engagement| name_of(drive, *at);
    match why {
        Why::FewerDo { named, needed } => {
            let fault = |count: usize| match count {
                0 => "none".to_owned(),
                1 => "1 fault".to_owned(),
                many => format!("{many} faults"),
            };
            format!("{} named; {} will do.", fault(*named), fault(*needed))
        }
        Why::CannotBe => "That cannot be reckoned with: one sprocket is named twice, two chains that hold one shaft would each put it elsewhere, or the spec lacks what wear is reckoned from.".to_owned(),
        Why::OtherWay(at) => format!("{}: the right sprocket and as many teeth, the other way.", name(at)),
        Why::OtherCount(at) => format!("{}: the right sprocket and the right way. Count the teeth again.", name(at)),
        Why::Shows { would, seen } => {
            let name = drive.shaft(seen.shaft).name();
            let [would, seen] = [would, seen].map(|each| sight(drive, each));
            let differ: Vec<String> = ["dot", "camshaft"]
                .iter()
                .zip(would.iter().zip(&seen))
                .filter(|(_, (would, seen))| would != seen)
                .map(|(what, (would, seen))| {
                    format!("The {what} of {name} would be: {would}. It is: {seen}.")
                })
                .collect();
            differ.join(" ")
        }
    }
}

/// How well the instrument tells it.
pub(crate) fn accuracy() -> String {
    let one: CrankDegrees = crate::lesson::exercise::INSTRUMENT;
    format!(
        "A dot is seen to a quarter of a tooth; the instrument tells the camshaft give or take {}.",
        numbers::crank_degrees(one)
    )
}
