//! Commands that print what the library holds.

use super::{CLEAN, stream};
use anyhow::{Context as _, Result, bail};
use std::io::{ErrorKind, Write as _};
use std::path::PathBuf;
use tautmark::{STARTER, json_text, schema as json_schema};

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
    let name = path.display();
    match std::fs::File::create_new(path) {
        Ok(mut file) => file
            .write_all(STARTER.as_bytes())
            .with_context(|| format!("'{name}' could not be written"))?,
        Err(error) if error.kind() == ErrorKind::AlreadyExists => {
            bail!("'{name}' exists already (nothing was written; choose another name)")
        }
        Err(error) => return Err(error).with_context(|| format!("'{name}' could not be written")),
    }
    Ok(CLEAN)
}

pub(crate) fn schema() -> Result<u8> {
    stream::output(&json_text(&json_schema()))?;
    Ok(CLEAN)
}
