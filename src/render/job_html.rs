//! The report of a job as one self-contained page: no network, no script, for screen and paper.

use super::hints::Hints;
use super::text::job::{
    HISTORY_NOTE, blocks_against, car_line, confirmed_words, entry_words, kit_words, missing_title,
    old_words, override_lines, photo_words, signed_off_words, standing_word, step_said,
    times_words,
};
use super::text::record::{earlier_lines, earlier_title, write_not_seen, write_said, write_stage};
use super::words::cautions::CAUTIONS;
use super::words::escape::page_text as text;
use super::words::stage::stage_title;
use super::words::style::Style;
use super::words::torque::{TORQUES_ARE_OF_THE_SPEC, size_words, tightening_words};
use crate::drive::model::Drive;
use crate::job::LookChecked;
use crate::job::{Job, JobStatus, PhotoStatus, View};
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::units::quantity::Turns;
use std::fmt::Write as _;

/// Paper sizes differ; margins and widths that fit A4 and Letter alike do not. Colour never carries
/// the meaning alone: every verdict stands there in words.
const STYLE: &str = "
@page { margin: 14mm }
* { box-sizing: border-box }
body { font: 10.5pt/1.4 system-ui, 'DejaVu Sans', sans-serif; color: #111; background: #fff;
  max-width: 182mm; margin: 1.5rem auto; padding: 0 1rem }
h1 { font-size: 17pt; margin: 0 }
h2 { font-size: 12pt; margin: 1.3em 0 .4em; border-bottom: 1px solid #999; break-after: avoid }
h3 { font-size: 10.5pt; margin: 1em 0 .3em; break-after: avoid }
p { margin: .3em 0 }
.verdict { border: 2px solid #111; border-left-width: 10px; padding: .5em .8em; margin: .8em 0;
  font-weight: bold; break-inside: avoid }
.in { border-color: #1a6b2b } .out { border-color: #a51616 } .not { border-color: #8a6100 }
.override { border: 2px dashed #a51616; padding: .4em .8em; margin: .5em 0; break-inside: avoid }
table { border-collapse: collapse; width: 100%; font-size: 9.5pt }
th, td { text-align: left; vertical-align: top; border-bottom: 1px solid #ccc; padding: .25em .6em .25em 0 }
thead { display: table-header-group }
tr { break-inside: avoid }
pre { font: 8.5pt/1.4 ui-monospace, 'DejaVu Sans Mono', monospace; white-space: pre-wrap;
  overflow-wrap: anywhere; background: #f4f4f2; padding: .6em .8em; margin: .3em 0 }
td, p, li { overflow-wrap: break-word }
td:first-child { white-space: nowrap }
ul { margin: .3em 0; padding-left: 1.3em }
figure { margin: .5em 0; break-inside: avoid } figure svg, figure img { max-width: 100%; max-height: 110mm }
.small { font-size: 8.5pt; color: #333 }
@media print { body { margin: 0; padding: 0; max-width: none } pre { background: none; border: 1px solid #ccc } }
";

/// The report. `photo` gives a photo as a `data:` address where it is to be in the page. `picture` gives the drive as it was seen at a stage, as SVG that is put in as it is,
/// or nothing; everything else is text and stays text. `hints` says how to look at what is still to be
/// looked at.
pub fn job_html(
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    picture: &dyn Fn(&LookChecked<'_>) -> Option<String>,
    photo: &dyn Fn(&PhotoStatus<'_>) -> Option<String>,
    hints: &dyn Hints,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_page(&mut out, drive, job, status, picture, photo, hints);
    out
}

fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InTime => "in",
        Verdict::OutOfTime => "out",
        Verdict::NotProven => "not",
    }
}

fn row(out: &mut String, cells: &[String]) -> std::fmt::Result {
    write!(out, "<tr>")?;
    for cell in cells {
        write!(out, "<td>{}</td>", text(cell))?;
    }
    writeln!(out, "</tr>")
}

fn table(out: &mut String, heads: &[&str], rows: &[Vec<String>]) -> std::fmt::Result {
    write!(out, "<table><thead><tr>")?;
    for head in heads {
        write!(out, "<th>{}</th>", text(head))?;
    }
    writeln!(out, "</tr></thead><tbody>")?;
    for cells in rows {
        row(out, cells)?;
    }
    writeln!(out, "</tbody></table>")
}

fn write_page(
    out: &mut String,
    drive: &Drive,
    job: &Job,
    status: &JobStatus<'_>,
    picture: &dyn Fn(&LookChecked<'_>) -> Option<String>,
    photo: &dyn Fn(&PhotoStatus<'_>) -> Option<String>,
    hints: &dyn Hints,
) -> std::fmt::Result {
    let engine = text(drive.engine());
    writeln!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n\
         <title>Timing report: {engine}</title>\n<style>{STYLE}</style>\n</head>\n<body>"
    )?;
    writeln!(out, "<h1>Timing report: {engine}</h1>")?;
    writeln!(out, "<p>{}</p>", text(&car_line(job)))?;
    writeln!(out, "<p>{}</p>", text(&times_words(job, status)))?;
    writeln!(
        out,
        "<p class=\"small\">Spec: {}. Normal direction of rotation: {}, facing the timing end.</p>",
        text(job.record().spec()),
        drive.crank_turns().word()
    )?;
    let timing = status.check.verdict();
    let headline = match timing {
        Verdict::InTime => "IN TIME at all three stages.",
        Verdict::OutOfTime => "OUT OF TIME.",
        Verdict::NotProven => "NOT PROVEN.",
    };
    writeln!(
        out,
        "<div class=\"verdict {}\">{headline}</div>",
        class(timing)
    )?;
    let (signed, verdict) = signed_off_words(status);
    writeln!(
        out,
        "<div class=\"verdict {}\">{}</div>",
        class(verdict),
        text(&signed)
    )?;
    write_overrides(out, status)?;
    write_stages(out, drive, status, picture, hints)?;
    write_work(out, drive, status)?;
    write_photos(out, status, photo)?;
    writeln!(out, "<h2>History</h2>\n<ol class=\"small\">")?;
    for entry in job.entries() {
        writeln!(out, "<li>{}</li>", text(&entry_words(drive, job, entry)))?;
    }
    writeln!(out, "</ol>\n<p class=\"small\">{HISTORY_NOTE}</p>")?;
    writeln!(out, "<h2>Cautions</h2>\n<ul class=\"small\">")?;
    for caution in CAUTIONS {
        writeln!(out, "<li>{}</li>", text(caution))?;
    }
    writeln!(out, "</ul>\n</body>\n</html>")
}

fn write_overrides(out: &mut String, status: &JobStatus<'_>) -> std::fmt::Result {
    if status.overrides.is_empty() {
        return writeln!(out, "<p>Nothing was overridden.</p>");
    }
    writeln!(out, "<h2>Overridden, against what stood in the way</h2>")?;
    for entry in &status.overrides {
        writeln!(out, "<div class=\"override\">")?;
        for line in override_lines(entry) {
            let line = line.trim_start().trim_start_matches("- ").to_owned();
            writeln!(out, "<p>{}</p>", text(&line))?;
        }
        writeln!(out, "</div>")?;
    }
    Ok(())
}

/// What was seen at each stage, and what it proves.
fn write_stages(
    out: &mut String,
    drive: &Drive,
    status: &JobStatus<'_>,
    picture: &dyn Fn(&LookChecked<'_>) -> Option<String>,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "<h2>The marks, stage by stage</h2>")?;
    for stage in Stage::ALL {
        let seen = status
            .check
            .stages
            .iter()
            .find(|seen| seen.look.stage == stage);
        let Some(seen) = seen else {
            let title = match stage {
                Stage::Turned => "Stage 3 of 3, after turning by hand".to_owned(),
                _ => stage_title(drive, stage, Turns::ZERO),
            };
            writeln!(
                out,
                "<h3>{title}</h3>\n<p><strong>{}</strong></p>",
                match status.check.unfit(stage) {
                    Some(unfit) => text(&format!("The look proves nothing: {unfit}.")),
                    None => "Not looked at.".to_owned(),
                }
            )?;
            continue;
        };
        let title = stage_title(drive, stage, seen.look.seen.turned());
        writeln!(out, "<h3>{}</h3>", text(&title))?;
        if let Some(svg) = picture(seen) {
            writeln!(out, "<figure>{svg}</figure>")?;
        }
        let mut grounds = String::new();
        write_stage(
            &mut grounds,
            drive,
            seen.look,
            &seen.check,
            &seen.fits,
            seen.unfit.is_some(),
            Style {
                hints,
                asking: false,
                colour: false,
                view: View::facing(),
            },
        )?;
        write_not_seen(&mut grounds, drive, &seen.look.not_seen)?;
        write_said(&mut grounds, seen.look, &seen.unsaid)?;
        // The title stands above already.
        let grounds = grounds.strip_prefix(&title).unwrap_or(&grounds).trim();
        writeln!(out, "<pre>{}</pre>", text(grounds))?;
    }
    if !status.check.earlier.is_empty() {
        writeln!(out, "<h3>{}</h3>\n<ul>", earlier_title(&status.check))?;
        for line in earlier_lines(drive, &status.check) {
            writeln!(out, "<li>{}</li>", text(&line))?;
        }
        writeln!(out, "</ul>")?;
    }
    Ok(())
}

/// The photos; `photo` gives one as an address that holds it whole, where it is to be in the page.
fn write_photos(
    out: &mut String,
    status: &JobStatus<'_>,
    photo: &dyn Fn(&PhotoStatus<'_>) -> Option<String>,
) -> std::fmt::Result {
    if status.photos.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "<h2>Photos</h2>\n<p class=\"small\">They prove nothing by themselves.</p>"
    )?;
    for each in &status.photos {
        writeln!(out, "<p>{}</p>", text(&photo_words(each)))?;
        if let Some(address) = photo(each) {
            writeln!(
                out,
                "<figure><img src=\"{}\" alt=\"{}\"></figure>",
                text(&address),
                text(&each.photo.file)
            )?;
        }
    }
    Ok(())
}

/// Parts, torques and steps.
fn write_work(out: &mut String, drive: &Drive, status: &JobStatus<'_>) -> std::fmt::Result {
    writeln!(out, "<h2>Steps</h2>")?;
    let rows: Vec<Vec<String>> = status
        .steps
        .iter()
        .map(|step| {
            let mut more = step_said(step).trim_start_matches(", ").to_owned();
            let blocks = blocks_against(step).join("; ");
            if !more.is_empty() && !blocks.is_empty() {
                more.push_str("; ");
            }
            vec![
                standing_word(step).to_owned(),
                step.step.name.clone(),
                step.step.about.clone(),
                more + &blocks,
            ]
        })
        .collect();
    table(out, &["", "step", "what", "when, or blocked by"], &rows)?;
    if !drive.plan().fasteners().is_empty() {
        writeln!(out, "<h2>Torques</h2>")?;
        let rows: Vec<Vec<String>> = drive
            .plan()
            .fasteners()
            .iter()
            .zip(&status.torques)
            .map(|(kind, entry)| {
                let stages: Vec<String> = kind.torque.iter().map(tightening_words).collect();
                vec![
                    format!("{} x {}", kind.count, kind.name),
                    format!("{}, {}", kind.component, size_words(kind)),
                    stages.join(", then "),
                    confirmed_words(*entry),
                ]
            })
            .collect();
        table(out, &["fastener", "holds", "torque", ""], &rows)?;
        writeln!(
            out,
            "<p class=\"small\">{}</p>",
            text(TORQUES_ARE_OF_THE_SPEC)
        )?;
    }
    let counted: Vec<String> = status
        .kit
        .iter()
        .filter(|kit| kit.count_old)
        .map(old_words)
        .collect();
    if !counted.is_empty() {
        writeln!(out, "<h2>Old parts counted against new ones</h2>\n<ul>")?;
        for line in &counted {
            writeln!(out, "<li>{}</li>", text(line))?;
        }
        writeln!(out, "</ul>")?;
    }
    if !status.kit.is_empty() {
        writeln!(out, "<h2>Parts</h2>")?;
        let missing: Vec<String> = status
            .kit
            .iter()
            .filter(|kit| kit.lacking() > 0)
            .map(kit_words)
            .collect();
        if !missing.is_empty() {
            writeln!(out, "<p><strong>{}</strong></p><ul>", missing_title(status))?;
            for line in &missing {
                writeln!(out, "<li>{}</li>", text(line))?;
            }
            writeln!(out, "</ul>")?;
        }
        let rows: Vec<Vec<String>> = status
            .kit
            .iter()
            .map(|kit| {
                vec![
                    kit.name.to_owned(),
                    kit.about.clone(),
                    if kit.single_use { "single use" } else { "" }.to_owned(),
                    format!(
                        "{} of {} on the bench",
                        kit.here.min(kit.needed),
                        kit.needed
                    ),
                ]
            })
            .collect();
        table(out, &["part", "what", "", ""], &rows)?;
    }
    Ok(())
}
