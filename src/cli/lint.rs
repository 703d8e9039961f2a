mod formats;

use super::answer::Answer;
use super::hints::Flags;
use super::{CLEAN, FINDINGS, Format, UNUSABLE, colour_wanted, specfile, stream};
use anyhow::{Result, bail};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use tautmark::{
    Source,
    plane::{FittingError, Unfitted, fit_marks, geometry_report, seek_remedies},
    render::{
        finding_json, finding_text, fitting_json, fitting_text, geometry_json, geometry_text,
        json_text, printable, unfitted_text,
    },
    spec::Severity,
};

/// In so many files at once the remedies of findings are sought.
const SOUGHT: usize = 24;

/// Does a spec hold together? Every finding with file, line and column.
///
/// Exit status: 0 if every file is clean (notes do not count), 1 if there are findings, 2 if a file
/// could not be read or is not a spec in YAML. With --fit: 0 if no mark would change, 1 if there
/// is a patch, 2 if marks cannot be computed. With --report: as without, and 2 where a spec cannot
/// be used.
#[derive(clap::Args)]
pub(crate) struct LintArguments {
    /// Spec files, or folders of them (- reads standard input)
    #[arg(value_name = "SPEC", required = true)]
    specs: Vec<PathBuf>,
    /// Compute link positions and dot angles from centres and tooth counts, and print the patch (no file is written)
    #[arg(long)]
    fit: bool,
    /// Print the geometry in figures, to be held against the maker's drawing and signed: strands, wraps, teeth in mesh, marks, tensioner
    #[arg(long, conflicts_with = "fit")]
    report: bool,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    format: LintFormat,
}

/// How findings are written.
#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum LintFormat {
    /// For a person
    Text,
    /// For a program
    Json,
    /// One line each, file:line:column: severity[code]: message, for editors
    Short,
    /// SARIF 2.1.0, for what gathers findings
    Sarif,
    /// JUnit's XML, for what shows the results of tests
    Junit,
}

impl LintFormat {
    /// As [`Format`], which is all there is of patches and figures.
    fn plain(self, flag: &str) -> Result<Format> {
        match self {
            Self::Text => Ok(Format::Text),
            Self::Json => Ok(Format::Json),
            Self::Short | Self::Sarif | Self::Junit => {
                bail!("{flag} has only --format text and --format json")
            }
        }
    }
}

pub(crate) fn run(arguments: &LintArguments) -> Result<u8> {
    let specs = files(&arguments.specs)?;
    if arguments.fit {
        return fit(&specs, arguments.format.plain("--fit")?);
    }
    if arguments.report {
        return report(&specs, arguments.format.plain("--report")?);
    }
    let format = match arguments.format {
        LintFormat::Text => Format::Text,
        // All others are made of that.
        _ => Format::Json,
    };
    // Hundreds of changes are tried where a file has findings; of many files that would be long.
    let seek = specs.len() <= SOUGHT;
    let mut status = CLEAN;
    let mut files: Vec<Value> = Vec::new();
    let mut clean = 0;
    // So many at once, that what is found needs no more room however many there are.
    for part in specs.chunks(256) {
        let mut text = String::new();
        for linted in on_all_cores(part, |path| lint(path, format, seek)) {
            status = status.max(linted.status);
            clean += usize::from(linted.status == CLEAN);
            if let Some(error) = linted.error {
                stream::output(&std::mem::take(&mut text))?;
                stream::error(&error);
            }
            text.push_str(&linted.text);
            files.extend(linted.json);
        }
        stream::output(&text)?;
    }
    match arguments.format {
        LintFormat::Short => stream::output(&formats::short(&files))?,
        LintFormat::Sarif => stream::output(&json_text(&formats::sarif(&files)))?,
        LintFormat::Junit => stream::output(&formats::junit(&files))?,
        LintFormat::Json => {
            let report = json!({ "clean": status == CLEAN, "files": files });
            stream::output(&stream::answer(Answer::Lint, report))?;
        }
        LintFormat::Text if specs.len() > 1 => {
            stream::output(&format!("\n{clean} of {} files clean\n", specs.len()))?;
        }
        LintFormat::Text => {}
    }
    Ok(status)
}

/// The files that are named, and those of the folders that are.
fn files(specs: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for path in specs {
        if path.as_os_str() != "-" && path.is_dir() {
            found.extend(specfile::of_folder(path)?);
        } else {
            found.push(path.clone());
        }
    }
    Ok(found)
}

/// What `work` makes of each, in their order.
fn on_all_cores<T: Sync, R: Send>(all: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(one) = all.get(place) else {
                return done;
            };
            done.push((place, work(one)));
        }
    };
    let mut done = std::thread::scope(|scope| {
        // This thread works too.
        let others: Vec<_> = (1..cores.min(all.len()))
            .map(|_| scope.spawn(take))
            .collect();
        let mut done = take();
        for other in others {
            match other.join() {
                Ok(more) => done.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|(place, _)| *place);
    done.into_iter().map(|(_, result)| result).collect()
}

/// What there is to say of one file.
struct Linted {
    status: u8,
    /// Why it could not be read, for standard error.
    error: Option<String>,
    text: String,
    json: Option<Value>,
}

fn lint(path: &Path, format: Format, seek: bool) -> Linted {
    let source = match specfile::source(path) {
        Ok(source) => source,
        Err(error) => {
            let error = format!("{error:#}");
            let json = json!({
                "file": path.to_string_lossy(),
                "clean": false,
                "error": error,
                "findings": [],
            });
            return Linted {
                status: UNUSABLE,
                error: Some(format!("error: {error}\n")),
                text: String::new(),
                json: (format == Format::Json).then_some(json),
            };
        }
    };
    let mut reading = tautmark::plane::lint(&source);
    if seek {
        seek_remedies(&source, &mut reading);
    }
    let severities = reading.findings.iter().map(tautmark::Finding::severity);
    let clean = severities.max().unwrap_or(Severity::Note) == Severity::Note;
    let mut linted = Linted {
        status: match (clean, reading.unreadable) {
            (true, _) => CLEAN,
            (false, true) => UNUSABLE,
            (false, false) => FINDINGS,
        },
        error: None,
        text: String::new(),
        json: None,
    };
    match format {
        Format::Json => {
            linted.json = Some(json!({
                "file": source.name(),
                "clean": clean,
                "findings": reading
                    .findings
                    .iter()
                    .map(|finding| finding_json(finding, &source))
                    .collect::<Vec<_>>(),
            }));
        }
        Format::Text => {
            for finding in &reading.findings {
                linted
                    .text
                    .push_str(&finding_text(finding, &source, colour_wanted()));
                linted.text.push_str("\n\n");
            }
            let count = reading
                .findings
                .iter()
                .filter(|finding| finding.severity() != Severity::Note)
                .count();
            linted.text.push_str(&match count {
                0 => format!("{}: clean\n", printable(source.name())),
                1 => format!("{}: 1 finding\n", printable(source.name())),
                n => format!("{}: {n} findings\n", printable(source.name())),
            });
        }
    }
    linted
}

/// The geometry of each file in figures, below what is found in it.
fn report(specs: &[PathBuf], format: Format) -> Result<u8> {
    let mut status = CLEAN;
    let mut files: Vec<Value> = Vec::new();
    for path in specs {
        let linted = lint(path, format, false);
        status = status.max(linted.status);
        if let Some(error) = linted.error {
            stream::error(&error);
            continue;
        }
        let source = specfile::source(path)?;
        let Some(drive) = tautmark::plane::lint(&source).drive else {
            status = UNUSABLE;
            stream::error(&linted.text);
            stream::error(&format!(
                "error: '{}': the findings have to be put right before there are figures\n",
                source.name()
            ));
            continue;
        };
        let report = geometry_report(&drive);
        match format {
            Format::Json => {
                let mut told = linted.json.unwrap_or_default();
                told["geometry"] = geometry_json(&drive, &report);
                files.push(told);
            }
            Format::Text => {
                stream::output(&linted.text)?;
                stream::output(&format!("\n{}", geometry_text(&drive, &report)))?;
            }
        }
    }
    if format == Format::Json {
        stream::output(&stream::answer(
            Answer::LintReport,
            json!({ "files": files }),
        ))?;
    }
    Ok(status)
}

/// The file as a patch names it: from the folder in which one stands where it is below that, from the root where not.
fn patched(path: &Path) -> String {
    let whole = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let here = std::env::current_dir().and_then(std::fs::canonicalize);
    let below = here.ok().and_then(|here| whole.strip_prefix(here).ok());
    below.unwrap_or(&whole).to_string_lossy().into_owned()
}

/// The patches of all files; what could not be fitted goes to standard error, so that the rest can be piped.
fn fit(specs: &[PathBuf], format: Format) -> Result<u8> {
    let mut status = CLEAN;
    let mut files: Vec<Value> = Vec::new();
    for path in specs {
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
        match format {
            Format::Json => files.push(fitting_json(&fitting, &source, &Flags)),
            Format::Text => {
                let named = Source::new(patched(path), source.text().into())?;
                stream::output(&fitting_text(&fitting, &named))?;
            }
        }
    }
    if format == Format::Json {
        stream::output(&stream::answer(Answer::LintFit, json!({ "files": files })))?;
    }
    Ok(status)
}
