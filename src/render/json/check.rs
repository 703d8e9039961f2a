//! A verdict on one look.

use super::lookalike::LookalikeJson;
use super::moves::MovesJson;
use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::render::hints::Hints;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::doubt::{doubt_code, doubt_text};
use crate::render::words::moves::{move_words, order_word};
use crate::render::words::remedy::remedy_text;
use crate::render::words::verdict::verdict_word;
use crate::timing::check::{ShaftState, Unseen};
use crate::timing::lookalike::Fit;
use crate::timing::remedy::{Move, Remedy};
use crate::units::quantity::{CrankDegrees, LinkPosition, Teeth};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct CheckJson<'a> {
    #[serde(flatten)]
    verdict: VerdictJson<'a>,
    cautions: &'static [&'static str],
}

/// A verdict without the cautions, which a record has once for all its verdicts.
#[derive(Serialize)]
pub(crate) struct VerdictJson<'a> {
    verdict: &'static str,
    release_tensioner: bool,
    shafts: Vec<ShaftJson<'a>>,
    remedies: Vec<RemedyJson<'a>>,
    safe_moves: Option<MovesJson<'a>>,
    not_seen: Vec<UnseenJson<'a>>,
    findings: Vec<DoubtJson>,
    false_friends: Vec<FitJson<'a>>,
}

#[derive(Serialize)]
struct ShaftJson<'a> {
    shaft: &'a str,
    chain: Option<&'a str>,
    off_teeth: Option<Teeth>,
    off_crank_degrees: Option<CrankDegrees>,
    either_way: bool,
    contradicted: bool,
    moves: Option<String>,
}

#[derive(Serialize)]
struct RemedyJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    /// What is moved, the other being held: the sprocket, or the chain where the sprocket drives it.
    #[serde(rename = "move")]
    what: &'static str,
    teeth: Teeth,
    turn: &'static str,
    lay_link: Option<LinkPosition>,
    /// Is an order known in which to do it?
    safe_order: &'static str,
}

/// A mark that was not looked at.
#[derive(Serialize)]
pub(crate) struct UnseenJson<'a> {
    pub(crate) look_at: &'static str,
    pub(crate) chain: Option<&'a str>,
    pub(crate) shaft: &'a str,
}

#[derive(Serialize)]
struct DoubtJson {
    code: &'static str,
    text: String,
}

#[derive(Serialize)]
struct FitJson<'a> {
    #[serde(flatten)]
    lookalike: LookalikeJson<'a>,
    explains: bool,
}

/// The verdict as JSON, with the look-alikes that fit too (see [`Check::fits`]). `hints`
/// says how to look at what its texts want looked at.
pub fn check_json(drive: &Drive, check: &Check, fits: &[Fit], hints: &dyn Hints) -> Value {
    json!(CheckJson {
        verdict: VerdictJson::new(drive, check, fits, hints),
        cautions: CAUTIONS,
    })
}

impl<'a> VerdictJson<'a> {
    pub(crate) fn new(drive: &'a Drive, check: &Check, fits: &[Fit], hints: &dyn Hints) -> Self {
        let remedies = check.remedies().iter();
        let moves = move_words(drive, check);
        let safe_order = moves
            .as_ref()
            .map_or("nothing to move", |(moves, _)| order_word(&moves.order));
        let not_seen = check.not_seen().iter();
        let doubts = check.doubts().iter();
        let shafts = check.shafts().iter();
        Self {
            verdict: verdict_word(check.verdict()),
            release_tensioner: check.release_tensioner(),
            shafts: shafts.map(|state| shaft(drive, check, state)).collect(),
            remedies: remedies
                .map(|each| remedy(drive, each, safe_order))
                .collect(),
            safe_moves: moves.map(|(moves, words)| MovesJson::new(drive, check, &moves, words)),
            not_seen: not_seen.map(|each| unseen(drive, *each)).collect(),
            findings: doubts
                .map(|doubt| DoubtJson {
                    code: doubt_code(doubt),
                    text: doubt_text(drive, doubt, hints),
                })
                .collect(),
            false_friends: fits
                .iter()
                .map(|fit| FitJson {
                    lookalike: LookalikeJson::new(drive, &fit.lookalike, hints),
                    explains: fit.explains,
                })
                .collect(),
        }
    }
}

fn shaft<'a>(drive: &'a Drive, check: &Check, state: &ShaftState) -> ShaftJson<'a> {
    let moves: Vec<String> = check
        .remedies()
        .iter()
        .filter(|remedy| drive.sprocket(remedy.at).shaft() == state.shaft)
        .map(|remedy| remedy_text(drive, remedy))
        .collect();
    ShaftJson {
        shaft: drive.shaft(state.shaft).name(),
        chain: state.at.map(|at| drive.chain(at.chain).name()),
        off_teeth: state.off_teeth,
        off_crank_degrees: state.off.map(|off| off.angle),
        either_way: state.off.is_some_and(|off| off.either_way),
        contradicted: state.contradicted,
        moves: (!moves.is_empty()).then(|| moves.join(" ")),
    }
}

fn remedy<'a>(drive: &'a Drive, remedy: &Remedy, safe_order: &'static str) -> RemedyJson<'a> {
    RemedyJson {
        chain: drive.chain(remedy.at.chain).name(),
        shaft: drive.shaft(drive.sprocket(remedy.at).shaft()).name(),
        teeth: remedy.teeth,
        what: match remedy.what {
            Move::Sprocket => "sprocket",
            Move::Chain => "chain",
        },
        turn: remedy.turn.word(),
        lay_link: remedy.lay,
        safe_order,
    }
}

fn unseen(drive: &Drive, unseen: Unseen) -> UnseenJson<'_> {
    match unseen {
        Unseen::Link(at) => UnseenJson {
            look_at: "link",
            chain: Some(drive.chain(at.chain).name()),
            shaft: drive.shaft(drive.sprocket(at).shaft()).name(),
        },
        Unseen::Dot(id) => UnseenJson {
            look_at: "dot",
            chain: None,
            shaft: drive.shaft(id).name(),
        },
    }
}
