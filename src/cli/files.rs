//! Files written whole or not at all: into a temporary file in the same folder, to the disk, and
//! only then under their own name.

use super::stream;
use anyhow::{Context as _, Result, anyhow, bail};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Writes a new file; never over one that is there.
pub(crate) fn create(path: &Path, text: &str) -> Result<()> {
    let name = path.display();
    let file = whole(path, text).with_context(|| format!("'{name}' could not be written"))?;
    // Looks and names in one step, so that no other program can come between.
    file.persist_noclobber(path)
        .map_err(|error| match error.error.kind() {
            ErrorKind::AlreadyExists => exists(path),
            _ => anyhow!(error.error).context(format!("'{name}' could not be written")),
        })?;
    settle(path);
    Ok(())
}

/// Writes a file in place of the one that is there, if any. At every moment there is the old one or
/// the new one, whole.
pub(crate) fn replace(path: &Path, text: &str) -> Result<()> {
    let failed = || format!("'{}' could not be written", path.display());
    let file = whole(path, text).with_context(failed)?;
    file.persist(path)
        .map_err(|error| error.error)
        .with_context(failed)?;
    settle(path);
    Ok(())
}

/// Hands a result over: to the file that was named, or to standard output.
pub(crate) fn hand_over(output: Option<&Path>, text: &str, force: bool) -> Result<()> {
    match output {
        Some(path) => write(path, text, force),
        None => stream::output(text),
    }
}

/// Writes a result: a new file, or with `force` in place of the regular file that is there.
pub(crate) fn write(path: &Path, text: &str, force: bool) -> Result<()> {
    if !force {
        return create(path, text);
    }
    if path.symlink_metadata().is_err() {
        return replace(path, text);
    }
    // Through a link to the file it names, so that the link stays one.
    let name = path.display();
    let target = path
        .canonicalize()
        .with_context(|| format!("'{name}' could not be followed"))?;
    if !target.is_file() {
        bail!("'{name}' is not a regular file (nothing was written)");
    }
    replace(&target, text)
}

/// Fails if [`create`] would: something of that name is there, or its folder takes no files.
pub(crate) fn refuse_existing(path: &Path) -> Result<()> {
    match path.symlink_metadata() {
        Ok(_) => Err(exists(path)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        Err(error) => {
            Err(error).with_context(|| format!("'{}' could not be written", path.display()))
        }
    }
}

/// Fails if the folder of `path` takes no files.
pub(crate) fn refuse_unwritable(path: &Path) -> Result<()> {
    temporary(path)
        .map(drop)
        .with_context(|| format!("'{}' could not be written", path.display()))
}

/// Renames a file to a name that is free, and gives that name.
pub(crate) fn set_aside(path: &Path) -> Result<std::path::PathBuf> {
    for n in 1..1000 {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".{n}"));
        let free = std::path::PathBuf::from(name);
        if free
            .symlink_metadata()
            .is_err_and(|error| error.kind() == ErrorKind::NotFound)
        {
            std::fs::rename(path, &free)
                .with_context(|| format!("'{}' could not be renamed", path.display()))?;
            return Ok(free);
        }
    }
    bail!(
        "'{}' could not be set aside: too many set-aside drafts are there (remove some)",
        path.display()
    )
}

fn exists(path: &Path) -> anyhow::Error {
    anyhow!(
        "'{}' already exists (nothing was written; choose another name)",
        path.display()
    )
}

fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

fn temporary(path: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tautmark-");
    // As any new file: what the umask leaves, not for the owner alone.
    #[cfg(unix)]
    let permissions = {
        use std::os::unix::fs::PermissionsExt as _;
        std::fs::Permissions::from_mode(0o666)
    };
    #[cfg(unix)]
    builder.permissions(permissions);
    builder.tempfile_in(folder(path))
}

/// A temporary file with all of `text` on the disk.
fn whole(path: &Path, text: &str) -> std::io::Result<NamedTempFile> {
    let mut file = temporary(path)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// The new name, too, to the disk. Where a folder cannot be synced the file itself is safe already.
fn settle(path: &Path) {
    if let Ok(folder) = std::fs::File::open(folder(path)) {
        let _ = folder.sync_all();
    }
}

/// Held while a file is read, changed and written, so that no other program does the same.
pub(crate) struct Lock {
    _file: std::fs::File,
    /// The lock file, if it is to go with the lock.
    goes: Option<std::path::PathBuf>,
}

impl Drop for Lock {
    fn drop(&mut self) {
        // While it is still held: whoever has opened it in the meantime finds that it is another file now.
        if let Some(name) = &self.goes {
            // If it stays it blocks nobody.
            let _ = std::fs::remove_file(name);
        }
    }
}

/// The same as [`lock`], for a whole run of a program: the lock file goes with it. `None` where there can be no
/// lock file: then nothing can be kept there either.
pub(crate) fn lock_while(path: &Path) -> Result<Option<Lock>> {
    let mut name = path.as_os_str().to_owned();
    name.push(".lock");
    let name = std::path::PathBuf::from(name);
    let busy = || anyhow!("another program is at it already (finish that one first, or end it)");
    for _ in 0..100 {
        let opened = std::fs::File::options()
            .create(true)
            .write(true)
            .truncate(false)
            .open(&name);
        let Ok(file) = opened else {
            return Ok(None);
        };
        match file.try_lock() {
            Ok(()) if is_still(&file, &name) => {
                return Ok(Some(Lock {
                    _file: file,
                    // A file that is open cannot be removed everywhere.
                    goes: cfg!(unix).then_some(name),
                }));
            }
            // Its holder has removed it between our opening and our locking it.
            Ok(()) => {}
            Err(std::fs::TryLockError::WouldBlock) => return Err(busy()),
            Err(std::fs::TryLockError::Error(error)) => {
                return Err(error)
                    .with_context(|| format!("'{}' could not be locked", name.display()));
            }
        }
    }
    Err(busy())
}

/// Is this the file that has that name now?
#[cfg(unix)]
fn is_still(file: &std::fs::File, name: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    match (file.metadata(), std::fs::metadata(name)) {
        (Ok(own), Ok(named)) => (own.dev(), own.ino()) == (named.dev(), named.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_still(_: &std::fs::File, _: &Path) -> bool {
    true
}

/// Takes the lock on `path`, or says that another program has it. The system lets go of it when the
/// program that holds it ends, however it ends; the lock file itself stays, since removing it would
/// let two programs lock two files of the same name.
pub(crate) fn lock(path: &Path) -> Result<Lock> {
    let mut name = path.as_os_str().to_owned();
    name.push(".lock");
    let name = std::path::PathBuf::from(name);
    let file = std::fs::File::options()
        .create(true)
        .write(true)
        .truncate(false)
        .open(&name)
        .with_context(|| format!("'{}' could not be opened", name.display()))?;
    match file.try_lock() {
        Ok(()) => Ok(Lock {
            _file: file,
            goes: None,
        }),
        Err(std::fs::TryLockError::WouldBlock) => bail!(
            "'{}' is being written by another program (nothing was written; try again)",
            path.display()
        ),
        Err(std::fs::TryLockError::Error(error)) => {
            Err(error).with_context(|| format!("'{}' could not be locked", name.display()))
        }
    }
}

/// The files with these endings, by name; with one of a packed file behind it, too.
pub(crate) fn of_folder(path: &Path, endings: &[&str], packed: &[&str]) -> Result<Vec<PathBuf>> {
    let read = || format!("'{}' could not be read", path.display());
    let mut found = Vec::new();
    for entry in std::fs::read_dir(path).with_context(read)? {
        let file = entry.with_context(read)?.path();
        let ends = |file: &Path, endings: &[&str]| {
            let ending = file.extension().and_then(|ending| ending.to_str());
            ending.is_some_and(|ending| endings.contains(&ending))
        };
        let inner = if ends(&file, packed) {
            file.with_extension("")
        } else {
            file.clone()
        };
        if ends(&inner, endings) {
            found.push(file);
        }
    }
    found.sort();
    Ok(found)
}
