//! Names and other texts of somebody's own.

use crate::job::error::JobError;
use crate::spec::conform::is_unprintable;
use crate::spec::format::MAX_TEXT;

/// Can a name or another text of somebody's own be kept?
///
/// # Errors
/// [`JobError::BadText`] where it is blank, too long, or holds what a terminal would act on.
pub fn check_name(text: &str) -> Result<(), JobError> {
    let long = text.chars().count() > MAX_TEXT;
    if text.trim().is_empty() || long || text.chars().any(is_unprintable) {
        return Err(JobError::BadText);
    }
    Ok(())
}
