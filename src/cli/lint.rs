use super::hints::Flags;
use super::{CLEAN, FINDINGS, Format, UNUSABLE, colour_wanted, specfile, stream};
use anyhow::Result;
use serde_json::{Value, json};
use std::path::PathBuf;
use tautmark::{
    plane::{FittingError, Unfitted, fit_marks},
    render::{
        finding_json, finding_text, fitting_json, fitting_text, json_text, printable, unfitted_text,
    },
    spec::Severity,
};

/// Does a spec hold together? Every finding with file, line and column.
///
/// Exit status: 0 if every file is clean (notes do not count), 1 if there are findings, 2 if a file
/// could not be read or is not a spec in YAML. With --fit: 0 if no mark would change, 1 if there
/// is a patch, 2 if marks cannot be computed.
#[derive(clap::Args)]
pub(crate) struct LintArguments {
    /// Spec files (- reads standard input)
    #[arg(value_name = "SPEC", required = true)]
    specs: Vec<PathBuf>,
    /// Compute link positions and dot angles from centres and tooth counts, and print the patch (no file is written)
    #[arg(long)]
    fit: bool,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

pub(crate) fn run(arguments: &LintArguments) -> Result<u8> {
    if arguments.fit {
        return fit(arguments);
    }
    let mut status = CLEAN;
    let mut files: Vec<Value> = Vec::new();
    let mut clean = 0;
    for path in &arguments.specs {
        let source = match specfile::source(path) {
            Ok(source) => source,
            Err(error) => {
                stream::error(&format!("error: {error:#}\n"));
                files.push(json!({
                    "file": path.to_string_lossy(),
                    "clean": false,
                    "error": format!("{error:#}"),
                    "findings": [],
                }));
                status = UNUSABLE;
                continue;
            }
        };
        let reading = tautmark::plane::lint(&source);
        let worst = reading
            .findings
            .iter()
            .map(tautmark::Finding::severity)
            .max()
            .unwrap_or(Severity::Note);
        if worst == Severity::Note {
            clean += 1;
        } else if reading.unreadable {
            status = UNUSABLE;
        } else {
            status = status.max(FINDINGS);
        }
        match arguments.format {
            Format::Json => files.push(json!({
                "file": source.name(),
                "clean": worst == Severity::Note,
                "findings": reading
                    .findings
                    .iter()
                    .map(|finding| finding_json(finding, &source))
                    .collect::<Vec<_>>(),
            })),
            Format::Text => {
                let mut text = String::new();
                for finding in &reading.findings {
                    text.push_str(&finding_text(finding, &source, colour_wanted()));
                    text.push_str("\n\n");
                }
                let count = reading
                    .findings
                    .iter()
                    .filter(|finding| finding.severity() != Severity::Note)
                    .count();
                text.push_str(&match count {
                    0 => format!("{}: clean\n", printable(source.name())),
                    1 => format!("{}: 1 finding\n", printable(source.name())),
                    n => format!("{}: {n} findings\n", printable(source.name())),
                });
                stream::output(&text)?;
            }
        }
    }
    match arguments.format {
        Format::Json => {
            let report = json!({ "clean": status == CLEAN, "files": files });
            stream::output(&json_text(&report))?;
        }
        Format::Text if arguments.specs.len() > 1 => {
            stream::output(&format!(
                "\n{clean} of {} files clean\n",
                arguments.specs.len()
            ))?;
        }
        Format::Text => {}
    }
    Ok(status)
}

/// The patches of all files; what could not be fitted goes to standard error, so that the rest can be piped.
fn fit(arguments: &LintArguments) -> Result<u8> {
    let mut status = CLEAN;
    let mut files: Vec<Value> = Vec::new();
    for path in &arguments.specs {
        let source = match specfile::source(path) {
            Ok(source) => source,
            Err(error) => {
                stream::error(&format!("error: {error:#}\n"));
                status = UNUSABLE;
                continue;
            }
        };
        let fitting = match fit_marks(&source) {
            Ok(fitting) => fitting,
            Err(error) => {
                if let FittingError::Spec(findings) = &error {
                    specfile::report(&source, findings.iter());
                }
                stream::error(&format!("error: '{}': {error}\n", source.name()));
                status = UNUSABLE;
                continue;
            }
        };
        for unfitted in &fitting.unfitted {
            stream::error(&format!(
                "{}: {}\n",
                source.name(),
                unfitted_text(unfitted, &Flags)
            ));
        }
        let blocked = fitting
            .unfitted
            .iter()
            .any(|unfitted| !matches!(unfitted, Unfitted::DotOffChain { marked: false, .. }));
        status = status.max(match (fitting.changes.is_empty(), blocked) {
            (true, true) => UNUSABLE,
            (true, false) => CLEAN,
            (false, _) => FINDINGS,
        });
        match arguments.format {
            Format::Json => files.push(fitting_json(&fitting, &source, &Flags)),
            Format::Text => stream::output(&fitting_text(&fitting, &source))?,
        }
    }
    if arguments.format == Format::Json {
        stream::output(&json_text(&json!({ "files": files })))?;
    }
    Ok(status)
}
