//! The drive as a picture: a typed [`Picture`] (what is where), then a sheet of shapes and words,
//! then SVG; or, where the spec gives no places and in a terminal, each chain as an unrolled strip.
#![allow(
    clippy::float_arithmetic,
    reason = "a picture is in millimetres; its positions are exact up to that"
)]

mod caption;
mod colour;
mod ground;
mod label;
mod lines;
mod link;
mod live;
mod live_names;
mod live_svg;
mod look;
mod page;
mod paint;
mod picture;
mod plane;
mod plane_labels;
mod sheet;
mod strip;
mod strip_text;

pub(super) use link::write_link;
pub(super) use live::{Sign, live, places};
pub use look::{Look, Paper};
pub(super) use picture::on_page;
pub use picture::{LinkPlace, Picture, ShoePlace, SprocketPlace, TensionerPlace};

use crate::drive::error::CheckError;
use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::timing::pose::Pose;
use caption::Caption;

/// The drive as SVG: 190 units wide, which is the printable width of A4 in mm. `check`: the verdict on
/// what was seen, if `pose` shows that.
///
/// A chain whose places the spec does not give is drawn as a strip, and the picture says what is missing.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{render::draw_svg, timing::Pose, units::Turns};
///
/// // As it is timed: nothing slipped, nothing turned.
/// let pose = Pose::slipped(&drive, Turns::ZERO, &[])?;
/// let svg = draw_svg(&drive, &pose, None)?;
/// assert!(svg.starts_with("<svg "));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`CheckError::OtherDrive`] if pose or verdict are of another drive.
pub fn draw_svg(drive: &Drive, pose: &Pose, check: Option<&Check>) -> Result<String, CheckError> {
    draw_svg_seen(drive, pose, check, Look::default())
}

/// As [`draw_svg`], seen from elsewhere, for a sheet of paper, or as a worksheet.
///
/// With a [`Paper`] the file has the size of that sheet, and all that is drawn lies 10 mm or more from its edges.
///
/// # Errors
/// As [`draw_svg`].
pub fn draw_svg_seen(
    drive: &Drive,
    pose: &Pose,
    check: Option<&Check>,
    look: Look,
) -> Result<String, CheckError> {
    all_of_one(drive, pose, check)?;
    let caption = Caption::new(drive, pose, check, look)?;
    let chains = drive
        .chains()
        .map(|(id, _)| {
            let picture = Picture::new(drive, pose, id).map_err(|error| error.to_string());
            (id, picture)
        })
        .collect();
    let sheet = page::page(drive, pose, look, &caption, chains)?;
    let mut about = caption.stands.clone();
    about.push(caption.headline.clone());
    about.extend(caption.lines.iter().cloned());
    Ok(paint::document(
        &sheet,
        look.paper,
        &format!("{}: timing drive", caption.engine),
        &about.join(" "),
    ))
}

/// A picture of one engine with another one's verdict under it would be believed.
fn all_of_one(drive: &Drive, pose: &Pose, check: Option<&Check>) -> Result<(), CheckError> {
    if pose.is_of(drive) && check.is_none_or(|check| check.is_of(drive)) {
        Ok(())
    } else {
        Err(CheckError::OtherDrive)
    }
}

/// The drive for a terminal of `width` characters: each chain as an unrolled strip. Nothing is told by
/// colour. `check` as for [`draw_svg`].
///
/// # Errors
/// As [`draw_svg`].
pub fn draw_text(
    drive: &Drive,
    pose: &Pose,
    check: Option<&Check>,
    width: usize,
) -> Result<String, CheckError> {
    all_of_one(drive, pose, check)?;
    let caption = Caption::new(drive, pose, check, Look::default())?;
    Ok(strip_text::text(drive, pose, &caption, width)?)
}
