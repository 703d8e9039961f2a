//! Exercises, answers and grades as text.

use super::explain::what_is_wrong;
use crate::drive::model::Drive;
use crate::lesson::{Exercise, Grade};
use crate::render::words::escape::{capital, printable};
use crate::render::words::lesson::{
    ASKED, INVENTED, accuracy, heading, noticed, outcome, sight, why,
};
use crate::timing::cause::Cause;
use std::fmt::Write as _;

/// The sheet for pupils.
pub fn exercise_text(drive: &Drive, exercise: &Exercise) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_exercise(&mut out, drive, exercise);
    printable(&out)
}

fn write_exercise(out: &mut String, drive: &Drive, exercise: &Exercise) -> std::fmt::Result {
    writeln!(
        out,
        "{}\n{}\n{INVENTED}\n",
        drive.engine(),
        heading(exercise)
    )?;
    writeln!(out, "Seen at the timed position")?;
    for each in exercise.sights() {
        let [dot, angle] = sight(drive, each);
        writeln!(out, "  {}", drive.shaft(each.shaft).name())?;
        writeln!(out, "    dot         {dot}")?;
        if each.angle.is_some() {
            writeln!(out, "    instrument  {angle}")?;
        }
    }
    writeln!(out, "{}", accuracy())?;
    let noticed = noticed(drive, exercise);
    if !noticed.is_empty() {
        writeln!(
            out,
            "\nNoticed besides (an estimate; signs are common practice)"
        )?;
        for line in noticed {
            writeln!(out, "  - {line}")?;
        }
    }
    writeln!(out, "\n{ASKED}")
}

/// The sheet for the teacher.
pub fn exercise_answer_text(drive: &Drive, exercise: &Exercise) -> String {
    let mut out = format!("{}\n{}: answer\n", drive.engine(), heading(exercise));
    for line in answers(drive, exercise) {
        out.push_str(&format!("  - {line}\n"));
    }
    printable(&out)
}

/// Every right answer.
pub(crate) fn answers(drive: &Drive, exercise: &Exercise) -> Vec<String> {
    exercise
        .causes()
        .iter()
        .map(|cause| cause_words(drive, cause))
        .collect()
}

fn cause_words(drive: &Drive, cause: &Cause) -> String {
    if cause.faults.is_empty() {
        return "Nothing is wrong.".to_owned();
    }
    let faults: Vec<String> = cause
        .faults
        .iter()
        .map(|fault| what_is_wrong(drive, fault))
        .collect();
    format!("{}.", capital(&faults.join("; and ")))
}

/// What an answer is worth.
pub fn grade_text(drive: &Drive, grade: &Grade) -> String {
    let mut out = format!("{}\n", outcome(grade.outcome));
    for each in &grade.why {
        out.push_str(&format!("  - {}\n", why(drive, each)));
    }
    printable(&out)
}
