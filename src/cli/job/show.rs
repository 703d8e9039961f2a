//! The commands that show how a job stands.

use super::{ReportArguments, SheetArguments, StatusArguments, photo, read};
use crate::cli::hints::Flags;
use crate::cli::{CLEAN, FINDINGS, Format, UNUSABLE, colour_wanted, files, specfile, stream};
use anyhow::{Result, bail};
use tautmark::{
    Drive,
    job::LookChecked,
    render::{
        draw_svg, job_html, job_json, job_report_text, job_status_text, json_text, sheet_json,
        sheet_text,
    },
    timing::Pose,
};

pub(super) fn status(arguments: &StatusArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&arguments.job.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let Some(job) = read(&arguments.job.job, &drive)? else {
        return Ok(UNUSABLE);
    };
    let mut status = job.status(&drive, arguments.time.time()?)?;
    photo::look_at(&arguments.job.job, &mut status);
    match arguments.format {
        Format::Text => stream::tell(&job_status_text(&drive, &job, &status, colour_wanted())),
        Format::Json => stream::output(&json_text(&job_json(&drive, &job, &status, &Flags))),
    }?;
    Ok(if status.is_proven() { CLEAN } else { FINDINGS })
}

pub(super) fn report(arguments: &ReportArguments) -> Result<u8> {
    if arguments.photos && arguments.output.is_none() {
        bail!("--photos puts them into a page (add -o FILE.html)");
    }
    if let Some(path) = &arguments.output {
        files::refuse_existing(path)?;
    }
    let Some((_, drive)) = specfile::provable_drive(&arguments.job.spec.path)? else {
        return Ok(UNUSABLE);
    };
    let Some(job) = read(&arguments.job.job, &drive)? else {
        return Ok(UNUSABLE);
    };
    let mut status = job.status(&drive, arguments.time.time()?)?;
    let photos = photo::look_at(&arguments.job.job, &mut status);
    match &arguments.output {
        None => stream::tell(&job_report_text(
            &drive,
            &job,
            &status,
            &Flags,
            colour_wanted(),
        ))?,
        Some(path) => {
            let page = job_html(
                &drive,
                &job,
                &status,
                &|seen| picture(&drive, seen),
                &|each| photo::embedded(arguments.photos, &photos, each),
                &Flags,
            );
            files::create(path, &page)?;
        }
    }
    Ok(if status.is_proven() { CLEAN } else { FINDINGS })
}

pub(super) fn sheet(arguments: &SheetArguments) -> Result<u8> {
    let Some((_, drive)) = specfile::provable_drive(&arguments.spec.path)? else {
        return Ok(UNUSABLE);
    };
    stream::output(&match arguments.format {
        Format::Text => sheet_text(&drive),
        Format::Json => json_text(&sheet_json(&drive)),
    })?;
    Ok(CLEAN)
}

/// The drive as it was seen at a stage, as SVG, for the report; nothing where it cannot be drawn.
fn picture(drive: &Drive, seen: &LookChecked<'_>) -> Option<String> {
    let pose = Pose::seen(drive, &seen.look.seen).ok()?;
    let svg = draw_svg(drive, &pose, Some(&seen.check)).ok()?;
    // Within a page a picture begins at its own element and needs no name space; without it the page
    // holds no address at all.
    svg.find("<svg")
        .map(|start| svg[start..].replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))
}
