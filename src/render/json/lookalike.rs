//! A way in which the marks look right and are wrong.

use crate::drive::model::Drive;
use crate::render::hints::Hints;
use crate::render::words::lookalike::lookalike_text;
use crate::timing::check::Unseen;
use crate::timing::lookalike::{Lookalike, LookalikeKind};
use crate::timing::observe::name_of;
use crate::units::quantity::CrankDegrees;
use serde::Serialize;
use serde_json::{Value, json};

/// A look-alike's fields.
#[derive(Serialize)]
pub(crate) struct LookalikeJson<'a> {
    code: &'static str,
    off: Vec<OffJson<'a>>,
    settled_by: Option<SettledJson>,
    text: String,
}

#[derive(Serialize)]
struct OffJson<'a> {
    shaft: &'a str,
    off_crank_degrees: CrankDegrees,
}

#[derive(Serialize)]
struct SettledJson {
    look_at: &'static str,
    shaft: String,
}

/// The look-alike as JSON. `hints` says how to look at what settles it.
pub fn lookalike_json(drive: &Drive, lookalike: &Lookalike, hints: &dyn Hints) -> Value {
    json!(LookalikeJson::new(drive, lookalike, hints))
}

impl<'a> LookalikeJson<'a> {
    pub(crate) fn new(drive: &'a Drive, lookalike: &Lookalike, hints: &dyn Hints) -> Self {
        Self {
            code: code(&lookalike.kind),
            off: lookalike
                .off
                .iter()
                .map(|(id, angle)| OffJson {
                    shaft: drive.shaft(*id).name(),
                    off_crank_degrees: *angle,
                })
                .collect(),
            settled_by: lookalike.settled_by.map(|unseen| match unseen {
                Unseen::Link(at) => SettledJson {
                    look_at: "link",
                    shaft: name_of(drive, at),
                },
                Unseen::Dot(id) => SettledJson {
                    look_at: "dot",
                    shaft: drive.shaft(id).name().to_owned(),
                },
            }),
            text: lookalike_text(drive, lookalike, hints),
        }
    }
}

fn code(kind: &LookalikeKind) -> &'static str {
    match kind {
        LookalikeKind::CrankTurnOut => "crank-turn-out",
        LookalikeKind::LinksMoved { .. } => "links-moved",
        LookalikeKind::InsideOut { .. } => "inside-out",
        LookalikeKind::BanksSwapped { .. } => "banks-swapped",
        LookalikeKind::WrongLinkAfterTurning { .. } => "wrong-link-after-turning",
        LookalikeKind::LinksBackDotsAway { .. } => "links-back-dots-away",
    }
}
