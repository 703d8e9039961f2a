//! Commands that print what the library holds.

use super::answer::Answer;
use super::{CLEAN, files, stream};
use anyhow::Result;
use clap::builder::{PossibleValuesParser, TypedValueParser as _};
use std::path::PathBuf;
use tautmark::render::{STARTER, json_text, schema as json_schema};

/// Print a commented spec to start from.
#[derive(clap::Args)]
pub(crate) struct NewArguments {
    /// Write it to this file, which must not exist yet, instead of printing it
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(crate) fn new(arguments: &NewArguments) -> Result<u8> {
    let Some(path) = &arguments.output else {
        stream::output(STARTER)?;
        return Ok(CLEAN);
    };
    files::create(path, STARTER)?;
    Ok(CLEAN)
}

/// Print the JSON Schema of spec files, for editors, or of an answer in JSON, for programs.
#[derive(clap::Args)]
pub(crate) struct SchemaArguments {
    /// The answer whose schema is wanted instead; its name is what `format` says before the stroke
    #[arg(value_name = "ANSWER", value_parser = answers())]
    answer: Option<Answer>,
}

/// Reads the name of an answer.
fn answers() -> impl clap::builder::TypedValueParser<Value = Answer> {
    PossibleValuesParser::new(Answer::ALL.iter().map(|answer| answer.name())).try_map(|name| {
        let mut all = Answer::ALL.iter();
        all.find(|answer| answer.name() == name)
            .copied()
            .ok_or("no such answer")
    })
}

pub(crate) fn schema(arguments: &SchemaArguments) -> Result<u8> {
    if let Some(answer) = arguments.answer {
        stream::output(answer.schema())?;
        return Ok(CLEAN);
    }
    stream::output(&json_text(&json_schema()))?;
    Ok(CLEAN)
}
