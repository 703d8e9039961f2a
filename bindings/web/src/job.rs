//! The job around the chain.

use crate::answer::{Answer, Refused};
use crate::interview::record_of;
use serde_json::json;
use tautmark::job::{Authorship, Item, Job, LookChecked, Use};
use tautmark::render::{PlainWords, draw_svg, job_html, job_json, job_status_text, printable};
use tautmark::timing::Pose;
use tautmark::units::Timestamp;
use tautmark::{Drive, Source};

fn read(drive: &Drive, text: String) -> Result<Job, Refused> {
    let source = Source::new("the job", text.into_bytes())?;
    let reading = Job::read(&source, drive);
    reading.job.ok_or_else(|| {
        Refused::findings(
            "This is not a job of this engine.",
            &source,
            &reading.findings,
        )
    })
}

pub(crate) fn begin(drive: &Drive, spec: &str, at: &str, by: Option<&str>) -> Answer {
    told(
        drive,
        &Job::begin(drive, spec, at.parse()?, by)?,
        at.parse()?,
    )
}

pub(crate) fn stands(drive: &Drive, job: String, at: &str) -> Answer {
    told(drive, &read(drive, job)?, at.parse()?)
}

/// How a job stands, the job itself as a file, and its report as a page.
fn told(drive: &Drive, job: &Job, at: Timestamp) -> Answer {
    let status = job.status(drive, at)?;
    Ok(json!({
        "id": job.id(),
        "job": job.to_yaml(),
        "proven": status.is_proven(),
        "json": job_json(drive, job, &status, &PlainWords),
        "text": job_status_text(drive, job, &status, false),
        "report": job_html(drive, job, &status, &|seen| picture(drive, seen), &|_| None, &PlainWords),
    }))
}

pub(crate) fn tick(
    drive: &Drive,
    job: String,
    items: &[String],
    at: &str,
    by: Option<&str>,
) -> Answer {
    let mut job = read(drive, job)?;
    let at = at.parse()?;
    for item in items {
        let item: Item = item.parse()?;
        let author = Authorship {
            at,
            by,
            overriding: None,
        };
        job.tick(drive, &item, author)?;
    }
    told(drive, &job, at)
}

/// Takes the looks of a record into a job. `record`: the record, marked as taken, so that no other job takes it.
pub(crate) fn take(
    drive: &Drive,
    job: String,
    file: &str,
    record: String,
    at: &str,
    by: Option<&str>,
) -> Answer {
    let mut job = read(drive, job)?;
    let mut record = record_of(drive, record)?;
    let at = at.parse()?;
    job.take(drive, &record, at, by)?;
    if record.id.is_some() && record.used_by.is_none() {
        record.used_by = Some(Use {
            job: job.id().to_owned(),
            file: printable(file).chars().take(100).collect(),
            at,
        });
    }
    let mut told = told(drive, &job, at)?;
    told["record"] = record.to_yaml(drive).into();
    Ok(told)
}

/// The drive as it was seen at a stage, for the report; nothing where it cannot be drawn.
fn picture(drive: &Drive, seen: &LookChecked<'_>) -> Option<String> {
    let pose = Pose::seen(drive, &seen.look.seen).ok()?;
    let svg = draw_svg(drive, &pose, Some(&seen.check)).ok()?;
    // Within a page a picture begins at its own element and needs no name space.
    svg.find("<svg")
        .map(|start| svg[start..].replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))
}
