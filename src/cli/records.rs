//! `check --records`: lines in, verdicts out, in order, on all cores, in constant memory.

mod batch;
mod cores;
mod progress;
mod unpack;

use super::{CLEAN, FINDINGS, UNUSABLE, files, specfile, stream};
use anyhow::{Context as _, Result, bail};
use batch::Tally;
use cores::{alone, together};
use progress::Progress;
use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tautmark::{Drive, stream::Fields};

const UNREADABLE: &str = "the records could not be read";

/// Answers every line of `path`: a file, a folder of `.jsonl` files, or `-`.
pub(crate) fn run(specs: &Path, path: &Path, jobs: Option<usize>, fields: Fields) -> Result<u8> {
    if specs.as_os_str() == "-" && path.as_os_str() == "-" {
        bail!(
            "the records come from standard input, so the spec cannot come from there too (name its file)"
        );
    }
    let Some(drives) = drives(specs)? else {
        return Ok(UNUSABLE);
    };
    let drives = Arc::new(drives);
    let jobs = jobs
        .or_else(|| std::thread::available_parallelism().ok().map(Into::into))
        .unwrap_or(1)
        .clamp(1, 256);
    let mut total = Tally::default();
    for input in inputs(path)? {
        let (reader, size): (Box<dyn Read + Send>, Option<u64>) = if input.as_os_str() == "-" {
            (
                unpack::unpacked(std::io::stdin()).context(UNREADABLE)?,
                None,
            )
        } else {
            let name = input.display().to_string();
            let file = std::fs::File::open(&input)
                .with_context(|| format!("'{name}' could not be opened"))?;
            let size = file.metadata().ok().map(|metadata| metadata.len());
            (unpack::unpacked(file).context(UNREADABLE)?, size)
        };
        let mut progress = Progress::new(size);
        let tally = if jobs == 1 {
            alone(reader, &drives, fields, &mut progress)?
        } else {
            together(reader, &drives, jobs, fields, &mut progress)?
        };
        progress.clear();
        total.join(tally);
    }
    stream::error(&format!(
        "{} lines: {} in time, {} out of time, {} not proven, {} bad\n",
        total.lines(),
        total.in_time,
        total.out_of_time,
        total.not_proven,
        total.bad
    ));
    Ok(if total.bad > 0 {
        UNUSABLE
    } else if total.released > 0 && total.released == total.lines() {
        CLEAN
    } else {
        FINDINGS
    })
}

/// The spec, or every `.yaml` file of a folder, by its name without the ending.
fn drives(path: &Path) -> Result<Option<BTreeMap<String, Drive>>> {
    let files = if path.is_dir() {
        specfile::of_folder(path)?
    } else {
        vec![path.to_owned()]
    };
    let mut drives = BTreeMap::new();
    for (name, file) in named(files)? {
        let Some((_, drive)) = specfile::provable_drive(&file)? else {
            return Ok(None);
        };
        drives.insert(name, drive);
    }
    Ok(Some(drives))
}

/// The files by the names by which lines choose them. Which of two is meant nobody could tell.
fn named(files: Vec<PathBuf>) -> Result<BTreeMap<String, PathBuf>> {
    let mut by_name: BTreeMap<String, PathBuf> = BTreeMap::new();
    for file in files {
        let stem = file.file_stem().unwrap_or(file.as_os_str());
        let name = stem.to_string_lossy().into_owned();
        if let Some(other) = by_name.get(&name) {
            bail!(
                "'{}' and '{}' are both called '{name}' in a line (rename one of them)",
                other.display(),
                file.display()
            );
        }
        by_name.insert(name, file);
    }
    Ok(by_name)
}

fn inputs(path: &Path) -> Result<Vec<PathBuf>> {
    if path.as_os_str() == "-" || !path.is_dir() {
        return Ok(vec![path.to_owned()]);
    }
    let found = files::of_folder(path, &["jsonl", "ndjson"], &["gz", "zst"])?;
    if found.is_empty() {
        bail!("'{}' has no records in it (*.jsonl)", path.display());
    }
    Ok(found)
}
