//! Lints every spec file of a folder: one line for each finding, with its place.
//!
//! ```sh
//! cargo run --example lint_a_folder -- engines
//! ```
#![allow(clippy::print_stdout, reason = "a program may print")]

use std::error::Error;
use std::path::Path;
use std::process::ExitCode;
use tautmark::Source;
use tautmark::plane::lint;
use tautmark::render::finding_title;
use tautmark::spec::Severity;

/// Ends with success only if no file has more than notes.
fn main() -> Result<ExitCode, Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: FOLDER")?;
    let (clean, text) = report(Path::new(&folder))?;
    print!("{text}");
    Ok(if clean {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

/// Is every file clean, and what is found in which.
pub(crate) fn report(folder: &Path) -> Result<(bool, String), Box<dyn Error>> {
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "yaml") {
            paths.push(path);
        }
    }
    if paths.is_empty() {
        return Err(format!("{}: no .yaml file in it", folder.display()).into());
    }
    paths.sort();
    let (mut clean, mut text) = (true, String::new());
    for path in paths {
        let source = Source::new(path.display().to_string(), std::fs::read(&path)?)?;
        for finding in lint(&source).findings {
            text += source.name();
            if let Some(span) = finding.span {
                let at = source.position(span);
                text += &format!(":{}:{}", at.line, at.column);
            }
            text += &format!(": {}\n", finding_title(&finding));
            clean &= finding.severity() == Severity::Note;
        }
    }
    Ok((clean, text))
}
