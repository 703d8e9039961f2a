//! Photos of a job: told by name and checksum, held against their files, put into the report where asked.

use super::{PhotoArguments, change};
use crate::cli::{CLEAN, stream};
use anyhow::{Context as _, Result, bail};
use std::collections::BTreeMap;
use std::path::Path;
use tautmark::job::{JobStatus, Photo, PhotoFound, PhotoStatus, checksum};
use tautmark::render::printable;

/// Largest photo that is read: larger ones are no photos.
const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// Attaches photos: all or none.
pub(super) fn attach(arguments: &PhotoArguments) -> Result<u8> {
    let at = arguments.said.time.time_to_write()?;
    let mut shown = String::new();
    let status = change::changed(&arguments.job, |drive, job, file| {
        let mut next = job.clone();
        for path in &arguments.photos {
            let bytes = read(path)?;
            let photo = Photo {
                file: name_from(file, path)?,
                size: bytes.len() as u64,
                checksum: checksum(&bytes),
                about: arguments.about.clone(),
            };
            shown.push_str(&format!(
                "Attached: {}, checksum {}. Keep the file: it is not in the record.\n",
                photo.file, photo.checksum
            ));
            next.attach(drive, photo, at, arguments.said.by.as_deref())
                .map_err(change::with_flag)?;
        }
        *job = next;
        Ok(CLEAN)
    })?;
    stream::output(&printable(&shown))?;
    Ok(status)
}

fn read(path: &Path) -> Result<Vec<u8>> {
    let name = path.display();
    let failed = || format!("'{name}' could not be read");
    let about = std::fs::metadata(path).with_context(failed)?;
    if !about.is_file() {
        bail!("'{name}' is not a file (give the photo's own file)");
    }
    if about.len() == 0 {
        bail!("'{name}' is empty (copy it from the camera again)");
    }
    if about.len() > MAX_BYTES {
        bail!("'{name}' is larger than 64 MiB (give a photo)");
    }
    std::fs::read(path).with_context(failed)
}

/// How a photo is named in a job: from the job's folder on where it lies there, so that both can be moved
/// together.
fn name_from(job: &Path, photo: &Path) -> Result<String> {
    let whole = std::fs::canonicalize(photo)
        .with_context(|| format!("'{}' could not be read", photo.display()))?;
    let folder = job.parent().unwrap_or(Path::new(""));
    let own = whole.strip_prefix(folder).unwrap_or(&whole);
    match own.to_str() {
        Some(name) => Ok(name.to_owned()),
        None => bail!(
            "'{}' has a name that is no text (rename it)",
            photo.display()
        ),
    }
}

/// Looks at what became of each photo's file.
pub(super) fn look_at(job: &Path, status: &mut JobStatus<'_>) -> BTreeMap<String, Vec<u8>> {
    let folder = job.parent().unwrap_or(Path::new(""));
    let mut same = BTreeMap::new();
    for photo in &mut status.photos {
        let path = folder.join(&photo.photo.file);
        photo.found = Some(match read(&path) {
            Err(_) => PhotoFound::Gone,
            Ok(bytes)
                if bytes.len() as u64 == photo.photo.size
                    && checksum(&bytes) == photo.photo.checksum =>
            {
                same.insert(photo.photo.file.clone(), bytes);
                PhotoFound::Same
            }
            Ok(_) => PhotoFound::Changed,
        });
    }
    same
}

/// A photo as an address that holds it whole; `None` where it is not wanted, not as it was attached, or of
/// no kind that every browser shows.
pub(super) fn embedded(
    wanted: bool,
    photos: &BTreeMap<String, Vec<u8>>,
    photo: &PhotoStatus<'_>,
) -> Option<String> {
    let wanted = wanted && photo.found == Some(PhotoFound::Same);
    let bytes = photos.get(&photo.photo.file).filter(|_| wanted)?;
    let kind = match bytes.as_slice() {
        [0xff, 0xd8, 0xff, ..] => "jpeg",
        [0x89, b'P', b'N', b'G', ..] => "png",
        [
            b'R',
            b'I',
            b'F',
            b'F',
            _,
            _,
            _,
            _,
            b'W',
            b'E',
            b'B',
            b'P',
            ..,
        ] => "webp",
        _ => return None,
    };
    Some(format!("data:image/{kind};base64,{}", base64(bytes)))
}

/// Base 64 as RFC 4648 has it, section 4.
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let byte = |i: usize| usize::from(chunk.get(i).copied().unwrap_or(0));
        let group = byte(0) << 16 | byte(1) << 8 | byte(2);
        for i in 0..4 {
            out.push(if i <= chunk.len() {
                char::from(DIGITS[group >> (18 - 6 * i) & 63])
            } else {
                '='
            });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base_64_is_that_of_the_standard() {
        for (text, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(text.as_bytes()), coded);
        }
    }
}
