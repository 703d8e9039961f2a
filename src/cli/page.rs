use super::{CLEAN, SpecArgument, UNUSABLE, files, specfile};
use anyhow::Result;
use std::path::PathBuf;
use tautmark::render::page;

/// A page that shows what one tooth does, for a projector or a phone.
///
/// One HTML file that needs no network: the drive with a slider that turns the crankshaft, buttons that
/// slip a sprocket a tooth either way, and what that does to the valves. Where the spec gives no places
/// or no valves, the page says what is missing.
/// Exit status: 0 written, 2 unusable input or usage.
#[derive(clap::Args)]
pub(crate) struct PageArguments {
    #[command(flatten)]
    spec: SpecArgument,
    /// Write it to this file, which must not exist yet
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Overwrite that file if it exists
    #[arg(long)]
    force: bool,
}

pub(crate) fn run(arguments: &PageArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    files::write(&arguments.output, &page(&drive)?, arguments.force)?;
    Ok(CLEAN)
}
