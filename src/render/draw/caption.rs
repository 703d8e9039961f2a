//! What a picture says in words, the same in SVG and in the terminal.

use super::look::Look;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::render::hints::PlainWords;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::numbers;
use crate::render::words::view::{drawn_words, turning_words};
use crate::render::words::{doubt::doubt_text, verdict::verdict_headline};
use crate::spec::choice::Viewpoint;
use crate::spec::raw::ShaftKind;
use crate::timing::observe::name_of;
use crate::timing::pose::{Basis, Pose, SprocketPose};
use crate::units::quantity::{Exact, LinkPosition, OutOfRange};

/// The words of a picture.
pub(super) struct Caption {
    pub(super) engine: String,
    /// Where the engine stands and which way it turns.
    pub(super) stands: Vec<String>,
    /// The verdict, or that the error is made up.
    pub(super) headline: String,
    /// Is anything shown off, or not proven?
    pub(super) alarm: bool,
    /// Every shaft that is off, and what stands against the verdict.
    pub(super) lines: Vec<String>,
    /// What has to be said with a verdict.
    pub(super) cautions: &'static [&'static str],
}

impl Caption {
    pub(super) fn new(
        drive: &Drive,
        pose: &Pose,
        check: Option<&Check>,
        look: Look,
    ) -> Result<Self, OutOfRange> {
        let mut stands = Vec::new();
        match (pose.turned().is_zero(), drive.timed_position()) {
            (true, Some(position)) => stands.push(format!("Timed position: {position}.")),
            (true, None) => stands.push("Timed position.".to_owned()),
            (false, _) => {
                let unit = if pose.turned().get() == Exact::ONE {
                    "crank turn"
                } else {
                    "crank turns"
                };
                stands.push(format!(
                    "{} {unit} after the timed position.",
                    numbers::exact(pose.turned().get())
                ));
            }
        }
        let (view, turns) = (look.view, drive.crank_turns());
        stands.push(if view.from() == Viewpoint::Facing {
            format!(
                "Seen facing the timing end; the crankshaft turns {}.",
                turns.word()
            )
        } else {
            format!("The crankshaft turns {}.", turning_words(view, turns))
        });
        stands.extend(drawn_words(view).map(str::to_owned));
        if look.blank {
            return Ok(Self {
                engine: drive.engine().to_owned(),
                stands,
                headline: "Worksheet".to_owned(),
                alarm: false,
                lines: Vec::new(),
                cautions: &[],
            });
        }
        let mut lines = Vec::new();
        for (id, shaft) in drive.shafts() {
            let Some(at) = shaft.driven_at() else {
                continue;
            };
            if let Some(stand) = pose.sprocket(drive, at)
                && !stand.ahead.is_zero()
                && stand.basis != Basis::Unseen
            {
                let off = pose.off(drive, id)?;
                lines.push(format!(
                    "{}: {}, {}.",
                    shaft.name(),
                    how_far(drive, stand),
                    numbers::crank_degrees(off)
                ));
            }
        }
        let shown_off = pose
            .sprockets()
            .iter()
            .any(|stand| stand.is_off() && stand.basis != Basis::Unseen);
        let (headline, alarm) = match check {
            Some(check) => {
                lines.extend(
                    check
                        .doubts()
                        .iter()
                        .map(|doubt| doubt_text(drive, doubt, &PlainWords)),
                );
                let unseen: Vec<String> = pose
                    .sprockets()
                    .iter()
                    .filter(|stand| {
                        stand.basis == Basis::Unseen && drive.sprocket(stand.at).is_marked()
                    })
                    .map(|stand| name_of(drive, stand.at))
                    .collect();
                if !unseen.is_empty() {
                    lines.push(format!(
                        "Not looked at, drawn as if right: {}.",
                        unseen.join(", ")
                    ));
                }
                (
                    verdict_headline(drive, check, pose.turned()).to_owned(),
                    !check.release_tensioner(),
                )
            }
            None if shown_off => ("Shown hung wrong.".to_owned(), true),
            None => ("Shown hung right.".to_owned(), false),
        };
        Ok(Self {
            engine: drive.engine().to_owned(),
            stands,
            headline,
            alarm,
            lines,
            cautions: if check.is_some() { CAUTIONS } else { &[] },
        })
    }
}

/// `2 teeth behind (retarded)`.
pub(super) fn how_far(drive: &Drive, stand: &SprocketPose) -> String {
    let value = stand.ahead.get();
    let sprocket = drive.sprocket(stand.at);
    let teeth = numbers::teeth(stand.ahead);
    // Half a turn out looks the same either way.
    if value.abs().is_half_of(sprocket.teeth().to_exact()) {
        return format!("{teeth} off, half a turn");
    }
    let trade = match (drive.shaft(sprocket.shaft()).kind(), value.signum() < 0) {
        (ShaftKind::Camshaft, true) => " (retarded)",
        (ShaftKind::Camshaft, false) => " (advanced)",
        _ => "",
    };
    format!("{teeth} {}{trade}", numbers::side(value))
}

/// `link 66 is on its dot` and `link 68 belongs there`; `None` if the right one is, or none can be caption.
pub(super) fn wrong_link(
    drive: &Drive,
    stand: &SprocketPose,
) -> Result<Option<(String, String)>, OutOfRange> {
    let (Some(due), Some(is)) = (stand.link_due, stand.link_on_dot(drive)?) else {
        return Ok(None);
    };
    if stand.seat.is_zero() {
        return Ok(None);
    }
    let chain = drive.chain(stand.at.chain);
    let word = |link: LinkPosition, one: &str, between: &str| {
        let words = numbers::link(link, chain);
        if words.starts_with("between") {
            format!("{between} {words}")
        } else {
            format!("{words} {one}")
        }
    };
    Ok(Some((
        word(is, "is on its dot", "its dot is"),
        word(due, "belongs there", "it belongs"),
    )))
}

/// The name of a sprocket as short as it can be: its shaft's, with the chain's where it carries several.
pub(super) fn short_name(drive: &Drive, at: Engagement) -> String {
    name_of(drive, at)
}
