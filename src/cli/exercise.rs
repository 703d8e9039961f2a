use super::{CLEAN, FINDINGS, SpecArgument, UNUSABLE, answer::Answer, files, specfile};
use anyhow::{Context as _, Result, bail};
use serde_json::json;
use std::path::PathBuf;
use tautmark::{
    lesson::{Claim, Exercise, Level, Outcome, Seed, exercise},
    render::{
        exercise_answer_text, exercise_html, exercise_json, exercise_text, grade_json, grade_text,
        json_text,
    },
};

/// Exercises for a class: find the hidden fault.
///
/// The same engine, seed and level are the same exercise here and on the page. Without --says it prints the sheet,
/// with --answers the answers, with --says it judges one.
/// Exit status: 0 printed or right, 1 not right, 2 unusable input.
#[derive(clap::Args)]
pub(crate) struct ExerciseArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Which exercise: a whole number in 0..=999999
    #[arg(long, value_name = "NUMBER")]
    seed: String,
    /// How hard
    #[arg(long, value_enum, default_value = "easy")]
    level: Hardness,
    /// So many exercises, from this seed on
    #[arg(long, value_name = "N", default_value = "1", value_parser = clap::value_parser!(u16).range(1..=100))]
    count: u16,
    /// The answers instead of the sheets
    #[arg(long)]
    answers: bool,
    /// One fault that you say it is, as often as there are faults: 'intake=1 behind', 'phaser intake=20 crank deg ahead', 'dowel intake=30 crank deg ahead', 'crank turn', 'wear', or 'nothing' alone
    #[arg(long, value_name = "FAULT", conflicts_with_all = ["answers", "count"])]
    says: Vec<String>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Sheet,
    /// Write to this file, which must not exist yet, instead of printing
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Overwrite the file given with -o
    #[arg(long, requires = "output")]
    force: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Hardness {
    /// One camshaft sprocket off, or nothing
    Easy,
    /// One fault of any kind, or nothing
    Medium,
    /// Mostly several faults
    Hard,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Sheet {
    /// For a terminal
    Text,
    /// For paper: a page a sheet, A4 or Letter
    Html,
    /// For a program
    Json,
}

pub(crate) fn run(arguments: &ExerciseArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::consistent_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let mut seed: Seed = arguments
        .seed
        .parse()
        .with_context(|| format!("--seed '{}'", arguments.seed))?;
    let level = match arguments.level {
        Hardness::Easy => Level::Easy,
        Hardness::Medium => Level::Medium,
        Hardness::Hard => Level::Hard,
    };
    let mut exercises: Vec<Exercise> = Vec::new();
    for _ in 0..arguments.count {
        exercises.push(exercise(&drive, seed, level)?);
        seed = seed.next();
    }
    let mut status = CLEAN;
    let text = if let (false, [one]) = (arguments.says.is_empty(), &exercises[..]) {
        let claims = claims(&drive, &arguments.says)?;
        let grade = one.grade(&drive, &claims)?;
        if grade.outcome != Outcome::Right {
            status = FINDINGS;
        }
        match arguments.format {
            Sheet::Text => grade_text(&drive, &grade),
            Sheet::Json => {
                json_text(&Answer::ExerciseGrade.signed(grade_json(&drive, one, &grade)))
            }
            Sheet::Html => bail!("--says is judged as text or JSON (leave out --format html)"),
        }
    } else {
        let each: fn(&tautmark::Drive, &Exercise) -> String = if arguments.answers {
            exercise_answer_text
        } else {
            exercise_text
        };
        match arguments.format {
            Sheet::Text => exercises
                .iter()
                .map(|one| each(&drive, one))
                .collect::<Vec<_>>()
                .join("\n"),
            Sheet::Html => exercise_html(&drive, &exercises, arguments.answers),
            Sheet::Json => {
                let all: Vec<_> = exercises
                    .iter()
                    .map(|one| exercise_json(&drive, one, arguments.answers))
                    .collect();
                json_text(&Answer::Exercise.signed(json!({ "exercises": all })))
            }
        }
    };
    files::hand_over(arguments.output.as_deref(), &text, arguments.force)?;
    Ok(status)
}

fn claims(drive: &tautmark::Drive, says: &[String]) -> Result<Vec<Claim>> {
    let mut claims = Vec::new();
    for text in says {
        match Claim::read(drive, text).with_context(|| format!("--says '{text}'"))? {
            Some(claim) => claims.push(claim),
            None if says.len() > 1 => {
                bail!("--says 'nothing' stands alone (leave it out, or the others)")
            }
            None => {}
        }
    }
    Ok(claims)
}
