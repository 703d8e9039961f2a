//! Words, JSON and pictures of all that came before; a finding brings its words with it.
//!
//! In: checked models, verdicts, findings.
//! Out: text for people, JSON for programs, SVG and HTML.
//! Never: a conclusion of its own. What is said here was decided in a room before it.

mod cycle;
mod draw;
mod finding_text;
mod glossary;
mod hints;
mod job_html;
mod json;
mod lesson_html;
#[cfg(feature = "page")]
mod page;
mod plot;
mod scene;
mod schema;
mod starter;
mod svg;
mod text;
mod words;

pub use draw::{
    LinkPlace, Look, Paper, Picture, ShoePlace, SprocketPlace, TensionerPlace, draw_svg,
    draw_svg_seen, draw_text,
};
pub use finding_text::{finding_json, finding_text, finding_title};
pub use glossary::{Term, glossary, glossary_html, glossary_text};
pub use hints::{Hints, PlainWords, Wanted};
pub use job_html::job_html;
pub use json::{
    check::check_json,
    explain::explain_json,
    fitting::fitting_json,
    geometry::geometry_json,
    job::job_json,
    lesson::{exercise_json, grade_json},
    lookalike::lookalike_json,
    paint::{carried_json, own_marks_json},
    record::record_json,
    roll::roll_json,
    sheet::sheet_json,
    slip::slip_json,
    stream::json_text,
    wear::wear_json,
};
pub use lesson_html::exercise_html;
#[cfg(feature = "page")]
pub use page::{page, page_folder};
pub use plot::{Plot, PlotError, plot};
pub use scene::{
    cylinders_json, figures_json, interview_json, moment_json, place_json, scene_json, slipped_json,
};
pub use schema::{format_tables, schema};
pub use starter::STARTER;
pub use text::{
    ask::{
        HALF_A_TURN, again_words, answer_text, confirm_text, count_text, done_words, draft_text,
        halt_text, moved_since_words, plates_text, question_text, ready_text, refusal_text,
    },
    check::{check_text, check_text_seen},
    closed::{closed_text, closed_words, closing_text, still_closed_text},
    explain::explain_text,
    fitting::fitting_text,
    geometry::geometry_text,
    job::{car_text, job_report_text, job_status_text, look_text, ticked_text},
    lesson::{exercise_answer_text, exercise_text, grade_text},
    paint::{carried_text, own_marks_text, recount_text},
    record::{record_text, unfit_text, verdicts_text},
    roll::{roll_text, roll_text_seen},
    said::{felt_text, say_text},
    sheet::sheet_text,
    slip::slip_text,
    view::{view_text, view_turning_text, wrong_view_text},
    wear::wear_text,
};
pub(crate) use words::verdict::verdict_word;
pub use words::{
    cautions::CAUTIONS, doubt::doubt_text, escape::printable, fitting::unfitted_text,
    lookalike::lookalike_text, remedy::remedy_text, stage::tensioned,
};
