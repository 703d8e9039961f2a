use super::{CLEAN, UNUSABLE, files, specfile};
use anyhow::{Context as _, Result, bail};
use std::path::{Path, PathBuf};
use tautmark::render::{page, page_folder};
use tautmark::{Drive, Source};

/// One page for the engine, the class and the desk, for a phone or a projector.
///
/// One HTML file with all of tautmark in it, which needs no network and sends nothing: the questions of `ask`
/// by thumb, one mark a screen; in class a slider that turns the crankshaft and buttons that slip a sprocket;
/// at the desk the spec with its findings as one types. Of several specs one is chosen on the page; without
/// any, one is opened there from a file. Exit status: 0 written, 2 unusable input or usage.
#[derive(clap::Args)]
pub(crate) struct PageArguments {
    /// Spec files of the engines to choose from (- reads standard input)
    #[arg(value_name = "SPEC")]
    specs: Vec<PathBuf>,
    /// Write it to this file, which must not exist yet
    #[arg(
        short,
        long,
        value_name = "FILE",
        required_unless_present = "folder",
        conflicts_with = "folder"
    )]
    output: Option<PathBuf>,
    /// Write it to this folder instead, as files for a web server; opened there once, it works without a network
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// Overwrite what exists
    #[arg(long)]
    force: bool,
}

pub(crate) fn run(arguments: &PageArguments) -> Result<u8> {
    let mut read: Vec<(Source, Drive)> = Vec::new();
    for path in &arguments.specs {
        let Some(engine) = specfile::drive(path)? else {
            return Ok(UNUSABLE);
        };
        read.push(engine);
    }
    let engines: Vec<(&Source, &Drive)> = read.iter().map(|(s, d)| (s, d)).collect();
    match (&arguments.output, &arguments.folder) {
        (Some(file), _) => files::write(file, &page(&engines), arguments.force)?,
        (None, Some(folder)) => write_folder(folder, &page_folder(&engines), arguments.force)?,
        (None, None) => bail!("nothing says where to write it (give -o FILE or --folder FOLDER)"),
    }
    Ok(CLEAN)
}

/// All of them or, where one is there already and must not be, none.
fn write_folder(folder: &Path, all: &[(&'static str, String)], force: bool) -> Result<()> {
    std::fs::create_dir_all(folder)
        .with_context(|| format!("'{}' could not be made", folder.display()))?;
    if !force {
        for (name, _) in all {
            files::refuse_existing(&folder.join(name))?;
        }
    }
    for (name, text) in all {
        files::write(&folder.join(name), text, force)?;
    }
    Ok(())
}
