//! Spec files: opened carefully, read whole or refused.

use super::files;
use anyhow::{Context as _, Result, bail};
use std::io::Read;
use std::path::{Path, PathBuf};
use tautmark::{
    Drive, Finding, Source, proof::contradictions, render::finding_text, spec::Severity,
};

/// Reads a spec file into a [`Source`]. A path of `-` is standard input.
pub(crate) fn source(path: &Path) -> Result<Source> {
    source_of(path, "a spec")
}

/// Reads a file that should be `what`.
pub(crate) fn source_of(path: &Path, what: &str) -> Result<Source> {
    let name = path.to_string_lossy().into_owned();
    let most = Source::MAX_BYTES as u64;
    let mut bytes = Vec::new();
    if path.as_os_str() == "-" {
        std::io::stdin()
            .lock()
            .take(most + 1)
            .read_to_end(&mut bytes)
            .context("standard input could not be read")?;
    } else {
        let file =
            std::fs::File::open(path).with_context(|| format!("'{name}' could not be opened"))?;
        if let Ok(metadata) = file.metadata() {
            if metadata.is_dir() {
                bail!("'{name}' is a directory (name {what} file in it)");
            }
            // Room for all of it and for its end, so that it is read in one go.
            let size = usize::try_from(metadata.len().min(most)).unwrap_or(0);
            bytes.reserve(size + 64);
        }
        // Never more than the limit, however long the file is or pretends not to be.
        file.take(most + 1)
            .read_to_end(&mut bytes)
            .with_context(|| format!("'{name}' could not be read"))?;
    }
    Source::new(name.clone(), bytes).with_context(|| format!("'{name}' cannot be {what}"))
}

/// The specs in a folder, by name.
pub(crate) fn of_folder(path: &Path) -> Result<Vec<PathBuf>> {
    let found = files::of_folder(path, &["yaml", "yml"], &[])?;
    if found.is_empty() {
        bail!(
            "'{}' is a directory without a spec in it (*.yaml)",
            path.display()
        );
    }
    Ok(found)
}

/// Reads a spec that must be usable. Its errors go to standard error; `None` if there are any.
pub(crate) fn drive(path: &Path) -> Result<Option<(Source, Drive)>> {
    let source = source(path)?;
    let reading = Drive::read(&source);
    match reading.drive {
        Some(drive) => Ok(Some((source, drive))),
        None if is_record(&source) => bail!(
            "'{}' is a record or a job, not a spec (the engine's spec comes first, and then the job)",
            source.name()
        ),
        None => {
            let errors = reading
                .findings
                .iter()
                .filter(|finding| finding.severity() == Severity::Error);
            report(&source, errors);
            Ok(None)
        }
    }
}

/// Is it a record of looks or of a job?
fn is_record(source: &Source) -> bool {
    has_key(source, "tautmark_record:")
}

/// Is it a spec where a record or a job should be?
pub(crate) fn is_spec(source: &Source) -> bool {
    has_key(source, "tautmark:") && !is_record(source)
}

fn has_key(source: &Source, key: &str) -> bool {
    source.text().lines().any(|line| line.starts_with(key))
}

/// A usable spec, with a word on standard error where it contradicts itself.
pub(crate) fn consistent_drive(path: &Path) -> Result<Option<(Source, Drive)>> {
    let read = drive(path)?;
    if let Some((source, drive)) = &read {
        let count = contradictions(drive).len();
        if count > 0 {
            super::stream::error(&format!(
                "warning: '{}' contradicts itself in {count} {} (tautmark lint shows where)\n",
                source.name(),
                if count == 1 { "place" } else { "places" }
            ));
        }
    }
    Ok(read)
}

/// A usable spec by which something is to be proven: one that contradicts itself is refused.
pub(crate) fn provable_drive(path: &Path) -> Result<Option<(Source, Drive)>> {
    let read = drive(path)?;
    if let Some((source, drive)) = &read {
        let found = contradictions(drive);
        if !found.is_empty() {
            report(source, found.iter());
            anyhow::bail!(
                "'{}' contradicts itself, so it can prove nothing (fix it first)",
                source.name()
            );
        }
    }
    Ok(read)
}

/// The findings, to standard error.
pub(crate) fn report<'a>(source: &Source, findings: impl Iterator<Item = &'a Finding>) {
    let colour = super::takes_colour(&std::io::stderr());
    let texts: Vec<String> = findings
        .map(|finding| finding_text(finding, source, colour))
        .collect();
    if !texts.is_empty() {
        super::stream::styled_error(&format!("{}\n", texts.join("\n\n")));
    }
}
