//! Files that are written whole or not at all.

use anyhow::{Context as _, Result, bail};
use std::fs::File;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

/// Writes `text` to a new file at `path`; over what is there only with `force`, and only over a regular
/// file. A reader sees the old file or the new one, never a part.
pub(crate) fn write(path: &Path, text: &str, force: bool) -> Result<()> {
    let name = path.display();
    let exists = || {
        anyhow::anyhow!(
            "'{name}' exists already (nothing was written; choose another name, or --force)"
        )
    };
    let target = match path.symlink_metadata() {
        Ok(_) if !force => return Err(exists()),
        Ok(_) => {
            // Through a link to the file it names, so that the link stays one.
            let target = path
                .canonicalize()
                .with_context(|| format!("'{name}' could not be followed"))?;
            if !target.is_file() {
                bail!("'{name}' is no regular file (nothing was written)");
            }
            target
        }
        Err(_) => path.to_owned(),
    };
    let (beside, mut file) =
        beside(&target).with_context(|| format!("'{name}' could not be written"))?;
    let written = file
        .write_all(text.as_bytes())
        .and_then(|()| file.sync_all())
        .and_then(|()| {
            if force {
                std::fs::rename(&beside, &target)
            } else {
                // Unlike a rename, this refuses a file that has come to be there meanwhile.
                std::fs::hard_link(&beside, &target)
            }
        });
    if !force || written.is_err() {
        // The other name of the file, or what was left half-way; if it cannot go, the result is whole still.
        let _ = std::fs::remove_file(&beside);
    }
    match written {
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(exists()),
        other => other.with_context(|| format!("'{name}' could not be written")),
    }
}

/// A new file in the same directory, under a name that nobody else uses.
fn beside(target: &Path) -> std::io::Result<(PathBuf, File)> {
    let name = target
        .file_name()
        .ok_or_else(|| std::io::Error::new(ErrorKind::InvalidInput, "it names no file"))?;
    let mut tried = 0_u32;
    loop {
        let mut other = std::ffi::OsString::from(".");
        other.push(name);
        other.push(format!(".{}-{tried}.part", std::process::id()));
        let path = target.with_file_name(other);
        match File::create_new(&path) {
            Err(error) if error.kind() == ErrorKind::AlreadyExists && tried < 100 => tried += 1,
            Err(error) => return Err(error),
            Ok(file) => return Ok((path, file)),
        }
    }
}
