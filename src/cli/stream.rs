//! Standard output and standard error.

use super::wrap::{columns, wrapped};
use anyhow::Result;
use std::io::{ErrorKind, Write as _};

/// Writes a result.
pub(crate) fn output(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Writes what a person reads: on a terminal with its lines broken between words.
pub(crate) fn tell(text: &str) -> Result<()> {
    match columns() {
        Some(columns) => output(&wrapped(text, columns)),
        None => output(text),
    }
}

/// Writes a message, with everything that a terminal would act on escaped.
pub(crate) fn error(text: &str) {
    // With standard error gone there is nobody left to tell.
    let _ = std::io::stderr()
        .lock()
        .write_all(tautmark::render::printable(text).as_bytes());
}

/// Writes messages that were styled by us and made printable already.
pub(crate) fn styled_error(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

pub(crate) fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error
        .downcast_ref::<std::io::Error>()
        .is_some_and(|error| error.kind() == ErrorKind::BrokenPipe)
}
