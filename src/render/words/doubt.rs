//! What speaks against a verdict, or has to be known with it.

use super::band::Band;
use super::camshafts::not_named_words;
use super::marks::marked_link;
use super::numbers;
use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::render::hints::{Hints, Wanted, bracketed};
use crate::timing::doubt::{Doubt, Reconciliation};
use crate::timing::observe::name_of;
use crate::units::quantity::{CrankDegrees, Exact};

/// A doubt in words. `hints` says how to look at what it wants looked at.
pub fn doubt_text(drive: &Drive, doubt: &Doubt, hints: &dyn Hints) -> String {
    let shaft = |id: ShaftId| drive.shaft(id).name();
    let band = |chain| Band::of(drive.chain(chain));
    match *doubt {
        Doubt::Contradiction {
            shaft: id,
            by_links,
            by_dots,
            ref both_true_if,
        } => contradiction(drive, id, [by_links, by_dots], both_true_if),
        Doubt::LinksAgainstTurns { chain, teeth } => format!(
            "{title} {name}: after that many crank turns the {many} on its dots should be {} {} those that were given. Either the turns or the {many} were given wrong.",
            numbers::links(teeth, drive.chain(chain)),
            either(teeth.get(), "after", "before"),
            title = band(chain).title,
            name = drive.chain(chain).name(),
            many = band(chain).links,
        ),
        Doubt::ShiftedTogether { chain, teeth } => format!(
            "{title} {name}: every dot that was looked at is {} {} its {mark}. Among themselves they are where they belong; the {marks} are only landmarks.",
            numbers::links(teeth, drive.chain(chain)),
            either(teeth.get(), "behind", "ahead of"),
            title = band(chain).title,
            name = drive.chain(chain).name(),
            mark = band(chain).mark,
            marks = band(chain).marks,
        ),
        Doubt::SlipAtCrank { angle } => format!(
            "All these shafts are {} {}: one slip at the crankshaft sprocket explains them together.",
            numbers::crank_degrees(angle),
            numbers::side(angle.get())
        ),
        Doubt::Disagree {
            first,
            second,
            teeth,
        } => format!(
            "{} is {} {} against {}. At least one of them is out of time; which one cannot be said until the sprocket that drives both is looked at.",
            name_of(drive, second),
            numbers::teeth(teeth),
            numbers::side(teeth.get()),
            name_of(drive, first)
        ),
        Doubt::NotWholeTeeth { shaft: id, teeth } => format!(
            "{}: {} {} is not a whole number of teeth, and nothing can be hung part of a tooth out. Read the mark again; if it is so, think of wear or of a phaser off its lock.",
            shaft(id),
            numbers::teeth(teeth),
            numbers::side(teeth.get())
        ),
        Doubt::EitherWay { shaft: id } => format!(
            "{}: exactly half way around, so that ahead and behind are the same.",
            shaft(id)
        ),
        Doubt::LinkNotReadable { at } => format!(
            "{}: after that many crank turns its dot is not in its timed place, so the {} on it proves nothing. Turn on by hand until the dot is at its mark.",
            name_of(drive, at),
            band(at.chain).link
        ),
        Doubt::OneCrankTurnOut
        | Doubt::CrankHalfTurn
        | Doubt::DotAlone { .. }
        | Doubt::DotAgainstTurns { .. }
        | Doubt::CrankOffMark { .. }
        | Doubt::IdlerDot { .. } => doubt_of_dots(drive, doubt, hints),
        Doubt::SpecInDoubt { places } => format!(
            "The spec contradicts itself in {places} {}: its marks or lengths do not agree with its centres{}. What rests on it is not proven.",
            if places == 1 { "place" } else { "places" },
            bracketed(hints, Wanted::Contradictions)
        ),
        Doubt::CamshaftsNotNamed { named, engine } => not_named_words(named, engine),
        Doubt::OthersLink { at, link_of } => format!(
            "{}: the {link} on its dot is {}'s, {}. Make sure first which {mark} is which.",
            name_of(drive, at),
            name_of(drive, link_of),
            marked_link(drive, link_of),
            link = band(at.chain).link,
            mark = band(at.chain).mark
        ),
        Doubt::LoopContradiction { at } => format!(
            "{}: the {} of this {} contradict those of the other one to the same shaft. Look at both again.",
            name_of(drive, at),
            band(at.chain).links,
            band(at.chain).name
        ),
        Doubt::OutOfMesh { at, teeth } => format!(
            "{}: {} {} its {link}, its dot would no longer be under the {name}. Read the {link} again.",
            name_of(drive, at),
            numbers::teeth(teeth),
            if teeth.get().signum() < 0 { "behind" } else { "ahead of" },
            link = band(at.chain).coloured_noun(),
            name = band(at.chain).name
        ),
        Doubt::CannotBe { at, teeth } => format!(
            "{}: {} from its {link} is half a turn of the sprocket or more, and no {name} lies on the dot there. Read the {link} again.",
            name_of(drive, at),
            numbers::teeth(teeth),
            link = band(at.chain).coloured_noun(),
            name = band(at.chain).name
        ),
        Doubt::IdlerOff { shaft: id } => format!(
            "{}: this idler is off its mark. An idler moves no valve by itself.",
            shaft(id)
        ),
        Doubt::OneIsOff => "At least one shaft that must be in time is off. What was seen does not show which: look at the rest.".to_owned(),
        Doubt::DoesNotFit => format!("What was seen does not fit together: no way to hang the {} shows all of it. Read every mark again.", Band::all(drive).many),
    }
}

/// What the dots against their reference marks leave in doubt; empty for any other.
fn doubt_of_dots(drive: &Drive, doubt: &Doubt, hints: &dyn Hints) -> String {
    match *doubt {
        Doubt::OneCrankTurnOut => "Everything fits if the crankshaft stands one whole turn from where it was given (the other TDC). Turn it once more by hand, in its normal direction, and look again.".to_owned(),
        Doubt::CrankHalfTurn => "The crankshaft's dot is half a turn from its mark. Turn it on by hand until the dot is at its mark, then look at the others.".to_owned(),
        Doubt::DotAlone { shaft: id, ahead } => {
            let wanted = if id == drive.crank() {
                "look at the others' dots too".to_owned()
            } else {
                let crank = drive.shaft(drive.crank()).name();
                let hint = bracketed(hints, Wanted::Dot(crank));
                format!("look at the crankshaft's dot too{hint}")
            };
            format!(
                "{}: its dot is {} of a turn {} where it belongs. By itself that does not tell what is off: {wanted}.",
                drive.shaft(id).name(),
                numbers::exact(ahead.get().abs()),
                either(ahead.get(), "behind", "ahead of")
            )
        }
        Doubt::DotAgainstTurns { past } => format!(
            "After that many crank turns the crankshaft's dot would be {} of a turn {} where it was seen. Turns and dots cannot both be right: turn it by hand until the dot is at its mark, and count whole turns.",
            numbers::exact(past.get().abs()),
            either(past.get(), "past", "short of")
        ),
        Doubt::CrankOffMark { past } => format!(
            "The crankshaft stands {} of a turn {} its mark; the others were measured from there.",
            numbers::exact(past.get().abs()),
            either(past.get(), "short of", "past")
        ),
        Doubt::IdlerDot { shaft: id, every } => format!(
            "{}: by its dot it is off. Its dot comes back only every {} crank turns; leave it out, or count the turns again.",
            drive.shaft(id).name(),
            numbers::exact(every.get())
        ),
        _ => String::new(),
    }
}

/// Links and dot of a shaft that cannot both be as they were read.
fn contradiction(
    drive: &Drive,
    shaft: ShaftId,
    [by_links, by_dots]: [CrankDegrees; 2],
    both_true_if: &[Reconciliation],
) -> String {
    let off = |angle: CrankDegrees| {
        if angle.is_zero() {
            "in time".to_owned()
        } else {
            format!(
                "{} {}",
                numbers::crank_degrees(angle),
                numbers::side(angle.get())
            )
        }
    };
    let ways: Vec<String> = both_true_if
        .iter()
        .map(|way| reconciliation(drive, shaft, *way))
        .collect();
    format!(
        "{}: its {} say {}, its dot says {}. {}",
        drive.shaft(shaft).name(),
        Band::all(drive).links,
        off(by_links),
        off(by_dots),
        if ways.is_empty() {
            "Nothing simple makes both true: look at both again.".to_owned()
        } else {
            format!("Both can be true if {}.", ways.join(", or if "))
        }
    )
}

/// The word for a negative value, or that for another.
fn either(value: Exact, negative: &'static str, positive: &'static str) -> &'static str {
    if value.signum() < 0 {
        negative
    } else {
        positive
    }
}

fn reconciliation(drive: &Drive, shaft: ShaftId, way: Reconciliation) -> String {
    match way {
        Reconciliation::OtherLink(at) => {
            let link = marked_link(drive, at);
            format!(
                "the {} taken for {}'s was {}'s, {link}",
                Band::of(drive.chain(at.chain)).coloured_noun(),
                drive.shaft(shaft).name(),
                name_of(drive, at)
            )
        }
        Reconciliation::OneCrankTurn => {
            "the crankshaft was one whole turn further when the dots were read".to_owned()
        }
        Reconciliation::CrankOffItsMark(angle) => format!(
            "the crankshaft stood {} {} its mark when the dots were read",
            numbers::crank_degrees(angle),
            if angle.get().signum() < 0 {
                "before"
            } else {
                "past"
            }
        ),
        Reconciliation::MisreadByATooth => {
            "one of the two was read a tooth wrong (look straight along the shaft)".to_owned()
        }
        Reconciliation::PhaserNotParked => {
            "the dot is on the camshaft itself and the phaser is off its lock".to_owned()
        }
        Reconciliation::WornChain => "a worn chain holds the camshaft back".to_owned(),
    }
}

/// The stable name of a doubt.
pub(crate) fn doubt_code(doubt: &Doubt) -> &'static str {
    match doubt {
        Doubt::Contradiction { .. } => "links-contradict-dots",
        Doubt::LinksAgainstTurns { .. } => "links-contradict-turns",
        Doubt::ShiftedTogether { .. } => "links-shifted-together",
        Doubt::OneCrankTurnOut => "one-crank-turn-out",
        Doubt::SlipAtCrank { .. } => "one-slip-at-crank",
        Doubt::Disagree { .. } => "sprockets-disagree",
        Doubt::NotWholeTeeth { .. } => "not-whole-teeth",
        Doubt::EitherWay { .. } => "ahead-or-behind",
        Doubt::LinkNotReadable { .. } => "link-not-readable",
        Doubt::CrankHalfTurn => "crank-half-turn",
        Doubt::DotAlone { .. } => "dot-alone",
        Doubt::DotAgainstTurns { .. } => "dot-contradicts-turns",
        Doubt::CrankOffMark { .. } => "crank-off-mark",
        Doubt::IdlerDot { .. } => "idler-dot",
        Doubt::SpecInDoubt { .. } => "spec-in-doubt",
        Doubt::CamshaftsNotNamed { .. } => "camshafts-not-named",
        Doubt::OthersLink { .. } => "link-of-another-dot",
        Doubt::LoopContradiction { .. } => "loop-contradicts",
        Doubt::OutOfMesh { .. } => "out-of-mesh",
        Doubt::CannotBe { .. } => "cannot-be",
        Doubt::IdlerOff { .. } => "idler-off",
        Doubt::OneIsOff => "one-is-off",
        Doubt::DoesNotFit => "does-not-fit",
    }
}
