//! The answers kept on the disk while they are given.

use super::super::files;
use anyhow::{Result, bail};
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use tautmark::Source;
use tautmark::job::{Interview, Record};
use tautmark::render::printable;

/// The answers so far, on the disk.
pub(super) struct Draft {
    pub(super) path: PathBuf,
    /// What stands there, as far as we wrote or read it.
    pub(super) kept: Option<Record>,
    /// Does it lack answers, since they could not be written?
    pub(super) is_behind: bool,
}

impl Draft {
    /// Where it belongs; nothing is read or written yet.
    pub(super) fn new(spec: &Path, record: Option<&Path>, job: Option<&Path>) -> Self {
        let (mut name, ending): (OsString, &str) = match (record, job) {
            (Some(record), _) => (record.as_os_str().to_owned(), ".draft"),
            (None, Some(job)) => (job.as_os_str().to_owned(), ".ask-draft.yaml"),
            (None, None) => (
                spec.file_stem().unwrap_or(spec.as_os_str()).to_owned(),
                ".ask-draft.yaml",
            ),
        };
        name.push(ending);
        Self {
            path: name.into(),
            kept: None,
            is_behind: false,
        }
    }

    pub(super) fn name(&self) -> String {
        printable(&self.path.to_string_lossy())
    }

    /// Writes the answers if they are others than those that are kept.
    pub(super) fn keep(&mut self, interview: &Interview<'_>) -> Result<()> {
        let record = interview.record();
        let same = self.kept.as_ref().is_some_and(|kept| {
            // The time of a reply that changed nothing is no change.
            kept.looks == record.looks
        });
        if record.answers() == 0 || (same && !self.is_behind) {
            return Ok(());
        }
        self.is_behind = true;
        files::replace(&self.path, &readable(interview)?)?;
        self.is_behind = false;
        self.kept = Some(record);
        Ok(())
    }

    /// Removes it, if it is ours.
    pub(super) fn remove(&mut self) {
        if self.kept.take().is_some() {
            // If it cannot be removed, the next run offers it once more; nothing is lost by that.
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

/// The answers as a file, which reads back as what they are.
pub(super) fn readable(interview: &Interview<'_>) -> Result<String> {
    let record = interview.record();
    let text = record.to_yaml(interview.drive());
    let source = Source::new("the answers", text.clone().into())?;
    if Record::read(&source, interview.drive()).record.as_ref() != Some(&record) {
        bail!("the record is full, and could not be read again (save it as it is, and start anew)");
    }
    Ok(text)
}
