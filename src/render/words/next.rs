//! The one thing to do next, after a verdict.

use super::camshafts::NAME_THEM;
use super::marks::unseen_text;
use super::moves::move_words;
use super::remedy::remedy_seen;
use super::said::said_words;
use super::stage::tensioned;
use super::style::Style;
use crate::drive::model::Drive;
use crate::job::{Said, View};
use crate::proof::check::Check;
use crate::render::hints::Wanted;
use crate::spec::stage::Stage;
use crate::timing::check::{Unseen, Verdict};
use crate::timing::lookalike::Fit;
use crate::valves::moves::NoOrder;

/// `Next: ...`, after a look at `stage`. `unsaid`: what keeps the next stage closed although the marks are in
/// time.
pub(crate) fn next_action(
    drive: &Drive,
    stage: Stage,
    check: &Check,
    fits: &[Fit],
    unsaid: &[(Said, Option<bool>)],
    style: Style<'_>,
) -> String {
    let what = match check.verdict() {
        Verdict::InTime if !fits.is_empty() => settling(drive, fits, style),
        Verdict::InTime => match unsaid.first() {
            Some((Said::TurnedFree, Some(_))) => {
                "find what resisted, and begin again at stage 1".to_owned()
            }
            Some((what, _)) => format!("see to it that {}, and say so", said_words(*what, true)),
            None => onwards(drive, stage).to_owned(),
        },
        Verdict::OutOfTime => match check.remedies().first() {
            _ if stage != Stage::Hung && tensioned(drive) => {
                "push the tensioner back and lock it, before anything is moved".to_owned()
            }
            Some(remedy) => {
                let remedy = remedy_seen(drive, remedy, style.view);
                return moving(drive, check, style.view, &remedy);
            }
            None => "look at every mark again".to_owned(),
        },
        Verdict::NotProven => match check.not_seen().first() {
            Some(unseen) => format!("look at {}", unseen_text(drive, *unseen, style.hints)),
            None if drive.camshafts_not_named() > 0 => NAME_THEM.to_owned(),
            None => "read every mark again".to_owned(),
        },
    };
    format!("Next: {what}.")
}

/// What is moved first; never more than the order of moves lets be moved.
fn moving(drive: &Drive, check: &Check, view: View, remedy: &str) -> String {
    let Some((moves, words)) = move_words(drive, check, view) else {
        return format!("Next: {remedy}");
    };
    if words.already.is_some() || matches!(moves.order, Err(NoOrder::MayMeet | NoOrder::NotFound)) {
        return "Next: get the maker's order. Move nothing before you have it.".to_owned();
    }
    match (&words.order, &moves.order) {
        // The first may be that something stays where it is.
        (Some(order), _) => format!(
            "Next, in the order told: {}",
            order
                .steps
                .iter()
                .take(2)
                .map(String::as_str)
                .collect::<Vec<_>>()
                .join(" ")
        ),
        (None, Ok(_)) => format!("Next: {remedy}"),
        (None, Err(_)) => format!("Next, by the maker's order: {remedy}"),
    }
}

/// What follows a stage that is proven.
fn onwards(drive: &Drive, stage: Stage) -> &'static str {
    match stage {
        Stage::Hung if tensioned(drive) => "release the tensioner, then look at every mark again",
        Stage::Hung => "tighten everything, then look at every mark again",
        Stage::Released => "turn the engine by hand, then look at the dots",
        Stage::Turned => "nothing is left to look at; go on as the maker says",
    }
}

/// What tells the look-alikes apart that fit as well.
fn settling(drive: &Drive, fits: &[Fit], style: Style<'_>) -> String {
    let settled_by = fits.iter().find_map(|fit| fit.lookalike.settled_by);
    match settled_by {
        None => "nothing in the spec tells apart what fits as well (below)".to_owned(),
        Some(unseen @ Unseen::Link(_)) => {
            format!("look at {}", unseen_text(drive, unseen, style.hints))
        }
        Some(Unseen::Dot(id)) => {
            let (crank, name) = (drive.shaft(drive.crank()).name(), drive.shaft(id).name());
            let hints = [crank, name].map(|name| style.hints.hint(Wanted::Dot(name)));
            let hints: Vec<String> = hints.into_iter().flatten().collect();
            let hint = match &hints[..] {
                [] => String::new(),
                hints => format!(" ({})", hints.join(" ")),
            };
            format!("look at the dots of {crank} and {name} against their reference marks{hint}")
        }
    }
}
