//! One page that shows what a tooth does: a whole HTML file that needs nothing else.
//!
//! Its script reckons nothing. Everything that can be asked of the page is reckoned here beforehand and
//! lies in it as tables; the script picks an entry and places what is drawn.

mod circle;
mod figure;
mod key;
mod lift;
mod motion;
mod state;

use super::draw::{Live, live};
use super::hints::PlainWords;
use super::words::cautions::CAUTIONS;
use super::words::escape::{capital, escaped, printable};
use super::words::slip::{ESTIMATE, basis};
use super::words::slip::{USUAL_CENTRES, first_meeting, sweep_table};
use crate::drive::model::Drive;
use crate::spec::conform::is_unprintable;
use crate::valves::slip::{SlipError, Slips, sweep};
use crate::valves::timing::timing;
use serde_json::{Value, json};
use std::fmt::Write as _;

const STYLE: &str = include_str!("page/page.css");
const SCRIPT: &str = include_str!("page/page.js");

/// What the browser may do: run the one script whose hash this is, show the one style sheet, and
/// nothing else; no request at all. A changed script needs a new hash (`tests/page.rs` tells it).
const POLICY: &str = "default-src 'none'; script-src 'sha256-SQkE+tNOUt/ofBejxuK5h2vHAkqQ113uz799QpEeB1c='; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// The whole file.
///
/// # Errors
/// [`SlipError::TooLarge`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn page(drive: &Drive) -> Result<String, SlipError> {
    let picture = live(drive)?;
    let states = state::States::new(drive)?;
    let motion = motion::motion(drive, &states, &picture)?;
    let mut missing = picture.missing.clone();
    if drive.valves().is_empty() {
        missing.push(sentence(&SlipError::NoValves.to_string()));
    }
    if states.range == 0 {
        missing.push(
            "So many chains follow each other here that the slips do not fit onto a page."
                .to_owned(),
        );
    }
    let figures = figure::figures(drive, &states)?;
    missing.extend(figures.missing);
    let mut data = json!({
        "engine": drive.engine(),
        "sprockets": motion.sprockets,
        "chains": motion.chains,
        "turns": motion.turns,
        "shafts": states.shafts_json(drive)?,
        "valves": states.valves_json(drive),
        "pairs": states.pairs_json(drive),
        "figures": figures.data,
        "words": state::words(drive),
    });
    tidy(&mut data);
    let mut out = String::with_capacity(512 * 1024);
    // Writing to a String cannot fail.
    let _ = write_page(
        &mut out,
        drive,
        &picture,
        figures.svg.as_str(),
        &missing,
        &data,
    );
    Ok(out)
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    format!("{}.", capital(words))
}

/// Names may hold anything; what would turn text around or hide it is written out.
fn tidy(value: &mut Value) {
    match value {
        Value::String(text) => *text = printable(text),
        Value::Array(list) => list.iter_mut().for_each(tidy),
        Value::Object(map) => map.values_mut().for_each(tidy),
        _ => {}
    }
}

/// JSON that can stand in a script element: nothing in it ends the element, begins a comment or breaks a
/// line, and it is the same JSON.
fn embedded(value: &Value) -> String {
    let text = value.to_string();
    let mut out = String::with_capacity(text.len() + 64);
    for c in text.chars() {
        if matches!(c, '<' | '>' | '&') || is_unprintable(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    out
}

fn write_page(
    out: &mut String,
    drive: &Drive,
    picture: &Live,
    figures: &str,
    missing: &[String],
    data: &Value,
) -> std::fmt::Result {
    let engine = escaped(drive.engine());
    write!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n\
         <title>{engine}: what one tooth does</title>\n<style>{STYLE}</style>\n</head>\n<body>\n\
         <header><h1>{engine}</h1><p class=\"lead\">What one tooth does.{}</p>\n\
         <noscript><p class=\"note\">This page moves by a script of its own, which is switched off here; the picture shows the timed position.</p></noscript></header>\n<main{}>\n",
        if drive.valves().is_empty() {
            String::new()
        } else {
            format!(" {}", escaped(ESTIMATE))
        },
        if drive.valves().is_empty() {
            " class=\"plain\""
        } else {
            ""
        }
    )?;

    out.push_str("<section class=\"drive\" aria-labelledby=\"drive-head\"><h2 id=\"drive-head\">The drive</h2>\n");
    let mut stands = match drive.timed_position() {
        Some(position) => format!("Timed position: {position}. "),
        None => String::new(),
    };
    let _ = write!(
        stands,
        "Seen facing the timing end; the crankshaft turns {}.",
        drive.crank_turns().word()
    );
    if !picture.svg.is_empty() {
        out.push_str("<div class=\"picture\">");
        out.push_str(picture.svg.as_str());
        out.push_str("</div>\n");
    }
    out.push_str(
        "<div class=\"turn\"><label for=\"crank\">Crankshaft</label> <output id=\"place\" for=\"crank\" aria-live=\"off\"></output>\n\
         <input id=\"crank\" type=\"range\" min=\"0\" max=\"288\" step=\"1\" value=\"0\" aria-describedby=\"dots\">\n\
         <div class=\"buttons\"><button type=\"button\" id=\"run\" aria-pressed=\"false\">Run</button>\
         <button type=\"button\" id=\"back\">2 turns back</button><button type=\"button\" id=\"on\">2 turns on</button>\
         <button type=\"button\" id=\"return\"></button><button type=\"button\" id=\"timed\">Timed position</button></div>\n\
         </div></section>\n",
    );
    out.push_str(
        "<section class=\"slips\" aria-labelledby=\"slip-head\"><h2 id=\"slip-head\">Slip a sprocket</h2>\n\
         <div id=\"verdict\" class=\"verdict\" role=\"status\" aria-live=\"polite\" aria-atomic=\"true\"><p id=\"timing\"></p><p id=\"meeting\"></p></div>\n\
         <div id=\"sprockets\"></div>\n<p class=\"small\">A crankshaft sprocket that slips ahead leaves the camshafts of its chain behind.</p>\n<button type=\"button\" id=\"right\">Hang all right again</button>\n\
         <h3>Where that leaves the shafts</h3><table id=\"shafts\"><thead><tr><th scope=\"col\">shaft</th><th scope=\"col\">stands</th></tr></thead><tbody></tbody></table>\n\
         </section>\n",
    );
    write!(
        out,
        "<section class=\"where\" aria-labelledby=\"where-head\"><h2 id=\"where-head\">Dots and coloured links</h2><p id=\"dots\"></p><ul id=\"marks\" class=\"marks\"></ul>\n\
         <p class=\"small\" id=\"drive-words\">{}</p>\n",
        escaped(&stands)
    )?;
    if !picture.key.is_empty() {
        out.push_str(&key::key(&picture.key));
        out.push('\n');
    }
    out.push_str("</section>\n");
    if !missing.is_empty() {
        out.push_str("<section class=\"missing\"><h2>Not on this page</h2><ul>");
        for line in missing {
            write!(out, "<li>{}</li>", escaped(line))?;
        }
        out.push_str("</ul></section>\n");
    }
    if !drive.valves().is_empty() {
        out.push_str("<section class=\"valves\" aria-labelledby=\"valve-head\"><h2 id=\"valve-head\">What it does to the valves</h2>\n");
        out.push_str("<div class=\"figures\">");
        out.push_str(figures);
        out.push_str("</div>\n<div id=\"events\" class=\"tables\"></div><p class=\"small\">Bold and marked with *: changed. Angles in crank degrees unless it says cam degrees.</p></section>\n");
        write_sweeps(out, drive)?;
        out.push_str("<section class=\"basis\"><details><summary>What it rests on</summary><ul>");
        if let Ok(timing) = timing(drive, &[]) {
            for line in basis(drive, &Slips::none(), &timing, &PlainWords) {
                write!(out, "<li>{}</li>", escaped(&line))?;
            }
        }
        out.push_str("</ul></details></section>\n");
    }
    out.push_str("<section class=\"cautions\"><h2>Cautions</h2><ul>");
    for line in CAUTIONS {
        write!(out, "<li>{}</li>", escaped(line))?;
    }
    write!(
        out,
        "</ul></section>\n</main>\n<script type=\"application/json\" id=\"data\">{}</script>\n<script>{SCRIPT}</script>\n</body>\n</html>\n",
        embedded(data)
    )
}

/// The table of each camshaft that moves valves, tooth by tooth: it stays as it is, on paper too.
fn write_sweeps(out: &mut String, drive: &Drive) -> std::fmt::Result {
    out.push_str("<section class=\"sweeps\"><h2>Tooth by tooth</h2>\n");
    for (id, shaft) in drive.shafts() {
        let moves = drive.valves().iter().any(|valves| valves.shaft == id);
        let Some(at) = shaft.driven_at().filter(|_| moves) else {
            continue;
        };
        let Ok(sweep) = sweep(drive, &Slips::none(), at, -4..=4) else {
            continue;
        };
        write!(
            out,
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{0} tooth by tooth\"><table><caption>{0}</caption>",
            escaped(shaft.name())
        )?;
        for (row, cells) in sweep_table(drive, &sweep).iter().enumerate() {
            out.push_str("<tr>");
            for (column, cell) in cells.iter().enumerate() {
                let cell = escaped(cell);
                match (row, column) {
                    (0, _) => write!(out, "<th scope=\"col\">{cell}</th>")?,
                    (_, 0) => write!(out, "<th scope=\"row\">{cell}</th>")?,
                    _ => write!(out, "<td>{cell}</td>")?,
                }
            }
            out.push_str("</tr>");
        }
        writeln!(
            out,
            "</table></div><p>{USUAL_CENTRES} {}</p>",
            escaped(&first_meeting(&sweep))
        )?;
    }
    out.push_str("</section>\n");
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_the_data_ends_its_element() {
        let value = json!({ "</script><!--": "\u{2028}<b>&\u{202e}" });
        let text = embedded(&value);
        assert!(text.is_ascii() && !text.contains(['<', '>', '&']), "{text}");
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
    }
}
