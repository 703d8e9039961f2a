//! Words, JSON and pictures of all that came before; a finding brings its words with it.
//!
//! In: checked models, verdicts, findings.
//! Out: text for people, JSON for programs, SVG and HTML.
//! Never: a conclusion of its own. What is said here was decided in a room before it.

mod ask_text;
mod cautions;
mod check_json;
mod check_text;
mod cycle;
mod draw;
mod explain_text;
mod finding_text;
mod fitting_text;
mod job_html;
mod job_json;
mod job_text;
mod lookalike_text;
mod numbers;
mod page;
mod plot;
mod record_text;
mod roll_text;
mod schema;
mod sheet_text;
mod slip_json;
mod slip_text;
mod slip_words;
mod starter;
mod svg;
mod wear_text;
mod words;

pub use ask_text::{
    answer_text, confirm_text, draft_text, halt_text, made_sure_text, question_text, ready_text,
    refusal_text,
};
pub use cautions::CAUTIONS;
pub use check_json::check_json;
pub(crate) use check_json::verdict_word;
pub use check_text::{check_text, doubt_text, remedy_text};
pub use draw::{LinkPlace, Picture, ShoePlace, SprocketPlace, TensionerPlace, draw_svg, draw_text};
pub use explain_text::{explain_json, explain_text};
pub use finding_text::{finding_json, finding_text, finding_title};
pub use fitting_text::{fitting_json, fitting_text, unfitted_text};
pub use job_html::job_html;
pub use job_json::job_json;
pub use job_text::{job_report_text, job_status_text, look_text};
pub use lookalike_text::{lookalike_json, lookalike_text};
pub use page::page;
pub use plot::{Plot, PlotError, plot};
pub use record_text::{record_json, record_text, tensioned, verdicts_text};
pub use roll_text::{roll_json, roll_text};
pub use schema::{format_tables, schema};
pub use sheet_text::{sheet_json, sheet_text};
pub use slip_json::slip_json;
pub use slip_text::slip_text;
pub use starter::STARTER;
pub use wear_text::{wear_json, wear_text};
pub use words::escape::printable;

use words::escape::{capital, entities};

use crate::spec::conform::is_unprintable;
use crate::spec::raw::ShaftKind;
use serde_json::Value;
use std::fmt::Write as _;

/// What a shaft is, in a word or two.
fn kind_word(kind: ShaftKind) -> &'static str {
    match kind {
        ShaftKind::Crankshaft => "crankshaft",
        ShaftKind::Camshaft => "camshaft",
        ShaftKind::Idler => "idler",
        ShaftKind::Balance => "balance shaft",
        ShaftKind::Pump => "pump",
    }
}

/// JSON for a stream that may be a terminal, with a line break at its end. JSON itself lets
/// characters through that a terminal acts on or that turn text around; here they are escaped too,
/// which leaves the same JSON.
///
/// ```
/// let value = serde_json::json!("a\u{202e}b");
/// let text = tautmark::render::json_text(&value);
/// assert_eq!(text, "\"a\\u202eb\"\n");
/// assert_eq!(serde_json::from_str::<serde_json::Value>(&text).ok(), Some(value));
/// ```
pub fn json_text(value: &Value) -> String {
    let text = format!("{value:#}\n");
    if !text.chars().any(|c| is_unprintable(c) && c != '\n') {
        return text;
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_unprintable(c) && c != '\n' {
            // Such a character can only stand within a string. Writing to a String cannot fail.
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    out
}
