//! Commands that print what the library holds.

use super::{CLEAN, files, stream};
use anyhow::Result;
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

pub(crate) fn schema() -> Result<u8> {
    stream::output(&json_text(&json_schema()))?;
    Ok(CLEAN)
}
