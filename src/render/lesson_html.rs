//! Sheets of exercises on paper: one self-contained page without a script, an exercise a sheet.

use super::text::lesson::answers;
use super::words::escape::page_text as text;
use super::words::lesson::{ASKED, INVENTED, accuracy, heading, noticed, sight};
use crate::drive::model::Drive;
use crate::lesson::Exercise;
use std::fmt::Write as _;

/// Margins and widths that fit A4 and Letter alike. Nothing is told by colour.
const STYLE: &str = "
@page { margin: 16mm }
* { box-sizing: border-box }
body { font: 11.5pt/1.45 system-ui, 'DejaVu Sans', sans-serif; color: #111; background: #fff; max-width: 178mm; margin: 1.5rem auto; padding: 0 1rem }
h1 { font-size: 16pt; margin: 0 } h2 { font-size: 13pt; margin: .2em 0 .6em } h3 { font-size: 11.5pt; margin: 1.1em 0 .3em }
section + section { break-before: page; margin-top: 3rem }
.answers section + section { break-before: auto; margin-top: 1.5rem }
section { break-inside: avoid }
table { border-collapse: collapse; width: 100% } th, td { text-align: left; vertical-align: top; border-bottom: 1px solid #999; padding: .3em .7em .3em 0; overflow-wrap: anywhere }
.blank td { height: 2.6em; border: 1px solid #111; padding: .3em }
.small { font-size: 9.5pt } ul { padding-left: 1.3em; margin: .3em 0 }
@media print { body { margin: 0; padding: 0; max-width: none } }
";

/// Exercises as sheets for pupils, or with `answered` the answers alone, for the teacher.
pub fn exercise_html(drive: &Drive, exercises: &[Exercise], answered: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_page(&mut out, drive, exercises, answered);
    out
}

fn write_page(
    out: &mut String,
    drive: &Drive,
    exercises: &[Exercise],
    answered: bool,
) -> std::fmt::Result {
    let what = if answered { "Answers" } else { "Exercises" };
    let engine = text(drive.engine());
    writeln!(
        out,
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"><title>{engine}: {what}</title><style>{STYLE}</style></head><body class=\"{}\">",
        what.to_lowercase()
    )?;
    for exercise in exercises {
        writeln!(
            out,
            "<section><h1>{engine}</h1><h2>{}{}</h2>",
            text(&heading(exercise)),
            if answered { ": answer" } else { "" }
        )?;
        if answered {
            list(out, &answers(drive, exercise))?;
        } else {
            write_sheet(out, drive, exercise)?;
        }
        writeln!(out, "</section>")?;
    }
    writeln!(out, "</body></html>")
}

fn list(out: &mut String, lines: &[String]) -> std::fmt::Result {
    writeln!(out, "<ul>")?;
    for line in lines {
        writeln!(out, "<li>{}</li>", text(line))?;
    }
    writeln!(out, "</ul>")
}

fn write_sheet(out: &mut String, drive: &Drive, exercise: &Exercise) -> std::fmt::Result {
    writeln!(
        out,
        "<p class=\"small\">{}</p><p>Name: ______________________________</p>",
        text(INVENTED)
    )?;
    writeln!(
        out,
        "<h3>Seen at the timed position</h3><table><thead><tr><th>shaft</th><th>dot</th><th>instrument</th></tr></thead><tbody>"
    )?;
    for each in exercise.sights() {
        let [dot, angle] = sight(drive, each);
        writeln!(
            out,
            "<tr><td>{}</td><td>{}</td><td>{}</td></tr>",
            text(drive.shaft(each.shaft).name()),
            text(&dot),
            text(&angle)
        )?;
    }
    writeln!(
        out,
        "</tbody></table><p class=\"small\">{}</p>",
        text(&accuracy())
    )?;
    let noticed = noticed(drive, exercise);
    if !noticed.is_empty() {
        writeln!(
            out,
            "<h3>Noticed besides (an estimate; signs are common practice)</h3>"
        )?;
        list(out, &noticed)?;
    }
    writeln!(
        out,
        "<h3>Your answer</h3><p>{}</p><table class=\"blank\"><thead><tr><th>which part</th><th>ahead or behind</th><th>teeth or degrees</th></tr></thead><tbody>",
        text(ASKED)
    )?;
    for _ in 0..3 {
        writeln!(out, "<tr><td></td><td></td><td></td></tr>")?;
    }
    writeln!(out, "</tbody></table>")
}
