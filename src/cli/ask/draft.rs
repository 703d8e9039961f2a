//! The answers kept on the disk while they are given.

use super::super::files;
use anyhow::Result;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use tautmark::job::{Interview, Record};
use tautmark::render::printable;

/// The answers so far, on the disk.
pub(super) struct Draft {
    pub(super) path: PathBuf,
    /// What stands there, as far as we wrote or read it.
    pub(super) kept: Option<Record>,
}

impl Draft {
    /// Where it belongs; nothing is read or written yet.
    pub(super) fn new(spec: &Path, record: Option<&Path>) -> Self {
        let (mut name, ending): (OsString, &str) = match record {
            Some(record) => (record.as_os_str().to_owned(), ".draft"),
            None => (
                spec.file_stem().unwrap_or(spec.as_os_str()).to_owned(),
                ".ask-draft.yaml",
            ),
        };
        name.push(ending);
        Self {
            path: name.into(),
            kept: None,
        }
    }

    pub(super) fn name(&self) -> String {
        printable(&self.path.to_string_lossy())
    }

    /// Writes the answers if they are others than those that are kept.
    pub(super) fn keep(&mut self, interview: &Interview<'_>) -> Result<()> {
        let record = interview.record();
        if record.answers() == 0 || self.kept.as_ref() == Some(&record) {
            return Ok(());
        }
        files::replace(&self.path, &record.to_yaml(interview.drive()))?;
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
