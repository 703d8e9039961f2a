//! A verdict in words, for a person at the engine.

use super::{cautions::CAUTIONS, numbers, printable};
use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::{Drive, Part};
use crate::spec::raw::{Parked, ShaftKind};
use crate::timing::check::{Check, Doubt, Reconciliation, ShaftState, Unseen, Verdict};
use crate::timing::lookalike::Fit;
use crate::timing::observe::{Observations, Seen, name_of};
use crate::timing::remedy::{Move, Remedy};
use crate::units::quantity::{Teeth, Turns};
use std::fmt::Write as _;

/// The verdict in words: first the answer, then every shaft, then what to do, then the look-alikes
/// that fit too (see [`crate::timing::fits`]). `colour` adds terminal colours, which never carry the meaning
/// alone.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{Observations, check, render::check_text, timing::fits};
///
/// // Nothing was looked at, so nothing is proven.
/// let seen = Observations::at_timed_position();
/// let outcome = check(&drive, &seen)?;
/// let text = check_text(&drive, &seen, &outcome, &fits(&drive, &seen, &outcome)?, false);
/// assert!(text.contains("NOT PROVEN") && text.contains("Cautions"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn check_text(
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    fits: &[Fit],
    colour: bool,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_check(&mut out, drive, seen, check, fits, colour);
    printable_but_styled(&out)
}

/// Names are printable since they were checked on reading; the text is made so once more, leaving
/// only the styles that were put there by [`heading`].
pub(crate) fn printable_but_styled(text: &str) -> String {
    text.split("\u{1b}[")
        .enumerate()
        .map(|(i, piece)| {
            let shown = printable(piece);
            if i == 0 {
                shown
            } else {
                format!("\u{1b}[{shown}")
            }
        })
        .collect()
}

pub(crate) fn heading(text: &str, verdict: Verdict, colour: bool) -> String {
    if !colour {
        return text.to_owned();
    }
    let code = match verdict {
        Verdict::InTime => "1;32",
        Verdict::OutOfTime => "1;31",
        Verdict::NotProven => "1;33",
    };
    format!("\u{1b}[{code}m{text}\u{1b}[0m")
}

/// The verdict as a headline. Once the engine has been turned, the tensioner has usually been
/// released, and what must not happen next is that somebody starts it.
pub(crate) fn headline(verdict: Verdict, turned: Turns) -> &'static str {
    match (verdict, turned.is_zero()) {
        (Verdict::InTime, true) => "IN TIME. The tensioner may be released.",
        (Verdict::OutOfTime, true) => "OUT OF TIME. Do not release the tensioner.",
        (Verdict::NotProven, true) => "NOT PROVEN. Do not release the tensioner.",
        (Verdict::InTime, false) => {
            "IN TIME. If the tensioner is still held back, it may be released."
        }
        (Verdict::OutOfTime, false) => {
            "OUT OF TIME. Do not start the engine, and do not release the tensioner."
        }
        (Verdict::NotProven, false) => {
            "NOT PROVEN. Do not start the engine, and do not release the tensioner."
        }
    }
}

fn write_check(
    out: &mut String,
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    fits: &[Fit],
    colour: bool,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    match (seen.turned().is_zero(), drive.timed_position()) {
        (true, Some(position)) => writeln!(out, "Timed position: {position}")?,
        (true, None) => {}
        (false, _) => writeln!(
            out,
            "{} crank turns since it was timed",
            numbers::exact(seen.turned().get())
        )?,
    }
    writeln!(out)?;
    let frame = Frame {
        headline: if check.verdict == Verdict::InTime && !fits.is_empty() {
            "IN TIME by the links. Take one more look (below) before the tensioner is released."
        } else {
            headline(check.verdict, seen.turned())
        },
        release: true,
        asking: false,
    };
    write_grounds(out, drive, seen, check, &frame, colour)?;
    write_fits(out, drive, fits, false)?;
    write_cautions(out)?;
    // Once more where the eye is when it has all been printed.
    writeln!(out, "\n{}", heading(frame.headline, check.verdict, colour))
}

/// The look-alikes that fit what was seen.
pub(crate) fn write_fits(
    out: &mut String,
    drive: &Drive,
    fits: &[Fit],
    asking: bool,
) -> std::fmt::Result {
    let (like, possible): (Vec<&Fit>, Vec<&Fit>) = fits.iter().partition(|fit| fit.explains);
    for (fits, heading) in [
        (like, "This is just how it looks when"),
        (
            possible,
            "One more look is worth it: the links alone do not rule this out",
        ),
    ] {
        if !fits.is_empty() {
            writeln!(out, "\n{heading}")?;
        }
        for fit in fits {
            let friend = super::lookalike_text::friend_words(drive, &fit.friend, asking);
            writeln!(out, "  - {friend}")?;
        }
    }
    Ok(())
}

/// What differs where a verdict is shown.
pub(crate) struct Frame {
    /// The answer.
    pub(crate) headline: &'static str,
    /// Is the tensioner released next?
    pub(crate) release: bool,
    /// Is it the interview? There everything was answered just now, and nothing is typed in arguments.
    pub(crate) asking: bool,
}

pub(crate) fn write_cautions(out: &mut String) -> std::fmt::Result {
    writeln!(out, "\nCautions")?;
    for caution in CAUTIONS {
        writeln!(out, "  - {caution}")?;
    }
    Ok(())
}

/// The verdict and its grounds.
pub(crate) fn write_grounds(
    out: &mut String,
    drive: &Drive,
    seen: &Observations,
    check: &Check,
    frame: &Frame,
    colour: bool,
) -> std::fmt::Result {
    writeln!(out, "{}\n", heading(frame.headline, check.verdict, colour))?;

    let width = check
        .shafts
        .iter()
        .map(|state| drive.shaft(state.shaft).name().chars().count())
        .max()
        .unwrap_or(0);
    for state in &check.shafts {
        let name = drive.shaft(state.shaft).name();
        let (known, read) = state_text(drive, seen, state);
        if frame.asking || read.is_empty() {
            writeln!(out, "  {name:width$}  {known}")?;
        } else {
            writeln!(out, "  {name:width$}  {known}  [{read}]")?;
        }
    }
    if !check.remedies.is_empty() {
        writeln!(out, "\nWhat to move")?;
        writeln!(
            out,
            "  {} Lift the chain off a sprocket before you turn it.",
            if seen.turned().is_zero() {
                "Keep the tensioner held back."
            } else {
                "First push the tensioner back and lock it."
            }
        )?;
        writeln!(
            out,
            "  A camshaft that is turned by itself can drive its valves into a piston: follow the maker's order."
        )?;
        for (i, remedy) in check.remedies.iter().enumerate() {
            writeln!(out, "  {}. {}", i + 1, remedy_text(drive, remedy))?;
        }
        writeln!(out, "  Then look at every mark again, and check again.")?;
    }
    if !check.doubts.is_empty() {
        writeln!(out, "\nTo think about")?;
        for doubt in &check.doubts {
            writeln!(out, "  - {}", doubt_text(drive, doubt))?;
        }
    }
    if !check.not_seen.is_empty() {
        writeln!(
            out,
            "\nStill to look at (nothing is taken to be right unseen)"
        )?;
        for unseen in &check.not_seen {
            if frame.asking {
                writeln!(out, "  - {}", unseen_words(drive, *unseen).0)?;
            } else {
                writeln!(out, "  - {}", unseen_text(drive, *unseen))?;
            }
        }
    }
    if frame.release && check.release_tensioner() {
        writeln!(out, "\nBefore the tensioner is released")?;
        for line in release_lines(drive) {
            writeln!(out, "  - {line}")?;
        }
    }
    Ok(())
}

/// What the marks cannot show and has to be right all the same.
pub(crate) fn release_lines(drive: &Drive) -> Vec<String> {
    let mut lines = Vec::new();
    for (_, chain) in drive.chains() {
        let strand = slack_strand(drive, chain.path(), |i| {
            drive
                .shaft(chain.sprockets()[usize::from(i)].shaft())
                .name()
        });
        lines.push(match strand {
            Some((from, to)) => format!(
                "Chain {}: all slack must lie on the tensioner's strand, between {from} and {to}.",
                chain.name()
            ),
            None => format!(
                "Chain {}: all slack must lie on the tensioner's side, if it has a tensioner.",
                chain.name()
            ),
        });
    }
    for (_, shaft) in drive.shafts() {
        if let Some(phaser) = shaft.phaser() {
            lines.push(format!(
                "{}: its phaser must be locked in its parked position ({}). The marks are on the sprocket and cannot show it.",
                shaft.name(),
                parked(phaser.parked)
            ));
        }
    }
    lines
}

fn parked(parked: Parked) -> &'static str {
    match parked {
        Parked::Advanced => "fully advanced",
        Parked::Retarded => "fully retarded",
        Parked::Middle => "in the middle",
    }
}

/// The two sprockets between which a tensioner bears on the chain.
fn slack_strand<'a>(
    drive: &'a Drive,
    path: &[Part],
    name: impl Fn(u8) -> &'a str,
) -> Option<(&'a str, &'a str)> {
    let _ = drive;
    let at = path
        .iter()
        .position(|part| matches!(part, Part::Tensioner { .. }))?;
    let sprocket = |part: &Part| match part {
        Part::Sprocket(i) => Some(*i),
        _ => None,
    };
    let around = |i: usize| &path[i % path.len()];
    let after = (at..at + path.len()).find_map(|i| sprocket(around(i)))?;
    let before = (0..path.len()).find_map(|back| sprocket(around(at + path.len() - back)))?;
    Some((name(before), name(after)))
}

/// What is known of one shaft, and what was seen of it.
fn state_text(drive: &Drive, seen: &Observations, state: &ShaftState) -> (String, String) {
    let read = readings(drive, seen, state.shaft);
    let known = if state.contradicted {
        "links and dots contradict each other".to_owned()
    } else {
        match state.off {
            None if read.is_empty() => "not looked at".to_owned(),
            None => "not known: there is nothing to measure it from".to_owned(),
            Some(_) if state.at.is_none() && read.is_empty() => "not looked at".to_owned(),
            Some(_) if state.at.is_none() => "the others are measured from it".to_owned(),
            Some(off) if off.angle.is_zero() => "in time".to_owned(),
            Some(off) => {
                let how_far = state.off_teeth.unwrap_or(Teeth::ZERO);
                let size = format!(
                    "{} {}",
                    numbers::teeth(how_far),
                    if off.either_way {
                        "off, ahead or behind alike".to_owned()
                    } else {
                        side(drive, state.shaft, how_far)
                    }
                );
                format!("{size}: {}", numbers::crank_degrees(off.angle))
            }
        }
    };
    (known, read)
}

/// `ahead (advanced)` for a camshaft, `ahead` for others.
fn side(drive: &Drive, shaft: ShaftId, teeth: Teeth) -> String {
    let word = numbers::side(teeth.get());
    if drive.shaft(shaft).kind() != ShaftKind::Camshaft {
        return word.to_owned();
    }
    let trade = if teeth.get().signum() < 0 {
        "retarded"
    } else {
        "advanced"
    };
    format!("{word} ({trade})")
}

/// What was seen of a shaft.
fn readings(drive: &Drive, seen: &Observations, shaft: ShaftId) -> String {
    let mut all = Vec::new();
    for (at, what) in seen.links() {
        if drive.sprocket(*at).shaft() != shaft {
            continue;
        }
        let chain = if drive.shaft(shaft).engagements().len() > 1 {
            format!("{}: ", drive.chain(at.chain).name())
        } else {
            String::new()
        };
        all.push(format!("{chain}dot {}", seen_text(drive, *at, *what)));
    }
    for (at, what) in seen.dots() {
        if drive.sprocket(*at).shaft() == shaft {
            all.push(match what {
                Seen::Teeth(teeth) if teeth.is_zero() => "dot at its reference mark".to_owned(),
                _ => format!("dot {} its reference mark", apart(*what)),
            });
        }
    }
    all.join("; ")
}

/// Where a dot was seen against its coloured link.
fn seen_text(drive: &Drive, at: Engagement, what: Seen) -> String {
    let links = drive.chain(at.chain).links().get();
    let sprocket = drive.sprocket(at);
    let due = sprocket.mark().map_or_else(String::new, |mark| {
        coloured(numbers::link(mark.link, links), mark.colour.as_deref())
    });
    match what {
        Seen::Teeth(teeth) if teeth.is_zero() => match sprocket.mark() {
            Some(mark) if mark.link.get().is_whole() => format!("on {due}"),
            _ => due,
        },
        Seen::Link(link) => format!("on {}", numbers::link(link, links)),
        _ => format!("{} {due}", apart(what)),
    }
}

/// `2 teeth behind`, `18.5 degrees ahead of`.
fn apart(what: Seen) -> String {
    let (size, value) = match what {
        Seen::Teeth(teeth) => (numbers::teeth(teeth), teeth.get()),
        Seen::ShaftDegrees(angle) => (format!("{} degrees", numbers::exact(angle.abs())), angle),
        Seen::CrankDegrees(angle) => (numbers::crank_degrees(angle), angle.get()),
        Seen::Link(_) => return String::new(),
    };
    let side = if value.signum() < 0 {
        "behind"
    } else {
        "ahead of"
    };
    format!("{size} {side}")
}

pub(crate) fn coloured(link: String, colour: Option<&str>) -> String {
    match colour {
        Some(colour) => format!("{link} ({colour})"),
        None => link,
    }
}

/// What to move, in one sentence.
pub fn remedy_text(drive: &Drive, remedy: &Remedy) -> String {
    let name = name_of(drive, remedy.at);
    let forward = remedy.teeth.get().signum() >= 0;
    if remedy.what == Move::Chain {
        return lay_over_text(drive, remedy);
    }
    let way = if forward {
        "ahead, the way it normally turns"
    } else {
        "back, against the way it normally turns"
    };
    let lay = link_to_lay(drive, remedy).map_or_else(String::new, |(words, whole)| {
        if whole {
            format!(" Lay {words} on its dot.")
        } else {
            format!(" Its dot belongs {words}.")
        }
    });
    format!(
        "{name}: turn the sprocket {} {} against the chain, as seen facing the timing end ({way}).{lay}",
        numbers::teeth(remedy.teeth),
        remedy.turn.word()
    )
}

/// The link that belongs on the dot of a remedy's sprocket, and whether it is one and not two.
fn link_to_lay(drive: &Drive, remedy: &Remedy) -> Option<(String, bool)> {
    let (link, mark) = (remedy.lay?, drive.sprocket(remedy.at).mark()?);
    let links = drive.chain(remedy.at.chain).links().get();
    let own = link == mark.link;
    let words = coloured(
        numbers::link(link, links),
        mark.colour.as_deref().filter(|_| own),
    );
    Some((words, link.get().is_whole()))
}

/// The remedy at the sprocket that drives a chain: its shaft stays where it is, for the crankshaft is
/// what everything is measured from, and another shaft is held by the chain that drives it.
fn lay_over_text(drive: &Drive, remedy: &Remedy) -> String {
    let name = name_of(drive, remedy.at);
    let side = if remedy.teeth.get().signum() < 0 {
        "further on, the way the chain travels"
    } else {
        "back, against the way the chain travels"
    };
    let lay = link_to_lay(drive, remedy).map_or_else(String::new, |(words, whole)| {
        if whole {
            format!(", so that {words} lies on its dot")
        } else {
            format!(", so that its dot lies {words}")
        }
    });
    format!(
        "{name}: leave this shaft where it is. Lift chain {} off its sprocket and lay it over by {} {side}{lay}. What the chain drives follows as its slack is taken up.",
        drive.chain(remedy.at.chain).name(),
        numbers::links(remedy.teeth),
    )
}

/// What would have to be looked at, with the argument that says what was seen there.
pub(crate) fn unseen_text(drive: &Drive, unseen: Unseen) -> String {
    let (what, flag) = unseen_words(drive, unseen);
    format!("{what} ({flag})")
}

/// What would have to be looked at, and the argument that says what was seen there.
pub(crate) fn unseen_words(drive: &Drive, unseen: Unseen) -> (String, String) {
    match unseen {
        Unseen::Link(at) => {
            let mark = drive.sprocket(at).mark();
            let links = drive.chain(at.chain).links().get();
            let due = mark.map_or_else(String::new, |mark| {
                coloured(numbers::link(mark.link, links), mark.colour.as_deref())
            });
            let name = name_of(drive, at);
            (
                format!("the dot of {name} against {due}"),
                format!("--link {name}=..."),
            )
        }
        Unseen::Dot(id) => {
            let name = drive.shaft(id).name();
            (
                format!("the dot of {name} against its reference mark"),
                format!("--dot {name}=..."),
            )
        }
    }
}

/// A doubt in words.
pub fn doubt_text(drive: &Drive, doubt: &Doubt) -> String {
    let shaft = |id: &ShaftId| drive.shaft(*id).name();
    let off = |angle: crate::units::quantity::CrankDegrees| {
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
    match doubt {
        Doubt::Contradiction { shaft: id, by_links, by_dots, both_true_if } => {
            let ways: Vec<String> = both_true_if
                .iter()
                .map(|way| reconciliation(drive, *id, *way))
                .collect();
            format!(
                "{}: its links say {}, its dot says {}. {}",
                shaft(id),
                off(*by_links),
                off(*by_dots),
                if ways.is_empty() {
                    "Nothing simple makes both true: look at both again.".to_owned()
                } else {
                    format!("Both can be true if {}.", ways.join(", or if "))
                }
            )
        }
        Doubt::LinksAgainstTurns { chain, teeth } => format!(
            "Chain {}: after that many crank turns the links on its dots should be {} {} those that were given. Either the turns or the links are not as said.",
            drive.chain(*chain).name(),
            numbers::links(*teeth),
            if teeth.get().signum() < 0 { "after" } else { "before" }
        ),
        Doubt::ShiftedTogether { chain, teeth } => format!(
            "Chain {}: every dot is {} {} its coloured link. All shafts stand right to each other, so the timing is right; the coloured links are only landmarks.",
            drive.chain(*chain).name(),
            numbers::links(*teeth),
            if teeth.get().signum() < 0 { "behind" } else { "ahead of" }
        ),
        Doubt::OneCrankTurnOut => "Everything fits if the crankshaft stands one whole turn from where it is said to be (the other TDC). Turn it once more by hand, in its normal direction, and look again.".to_owned(),
        Doubt::SlipAtCrank { angle } => format!(
            "All these shafts are {} {}: one slip at the crankshaft sprocket explains them together.",
            numbers::crank_degrees(*angle),
            numbers::side(angle.get())
        ),
        Doubt::Disagree { first, second, teeth } => format!(
            "{} is {} {} against {}. At least one of them is out of time; which one cannot be said until the sprocket that drives the chain is looked at.",
            name_of(drive, *second),
            numbers::teeth(*teeth),
            numbers::side(teeth.get()),
            name_of(drive, *first)
        ),
        Doubt::NotWholeTeeth { shaft: id, teeth } => format!(
            "{}: {} {} is no whole number of teeth, and no chain can be hung by part of one. Read the mark again; if it is so, think of wear or of a phaser off its lock.",
            shaft(id),
            numbers::teeth(*teeth),
            numbers::side(teeth.get())
        ),
        Doubt::EitherWay { shaft: id } => format!(
            "{}: exactly half way around, so that ahead and behind are the same.",
            shaft(id)
        ),
        Doubt::LinkNotReadable { at } => format!(
            "{}: after that many crank turns its dot is not in its timed place, so the link on it proves nothing. Turn on by hand until the dot is at its mark.",
            name_of(drive, *at)
        ),
        Doubt::CrankHalfTurn => "The crankshaft's dot is half a turn from its mark. Turn it on by hand until the dot is at its mark, then look at the others.".to_owned(),
        Doubt::DotAlone { shaft: id, ahead } => {
            let crank = drive.shaft(drive.crank()).name();
            let wanted = if *id == drive.crank() {
                "look at the others' dots too".to_owned()
            } else {
                format!("look at the crankshaft's dot too (--dot {crank}=...)")
            };
            format!(
                "{}: its dot is {} of a turn {} where it belongs. That speaks against everything else: {wanted}.",
                shaft(id),
                numbers::exact(ahead.get().abs()),
                if ahead.get().signum() < 0 { "behind" } else { "ahead of" }
            )
        }
        Doubt::DotAgainstTurns { past } => format!(
            "After that many crank turns the crankshaft's dot would be {} of a turn {} where it was seen. Turns and dots cannot both be as said: turn it by hand until the dot is at its mark, and count whole turns.",
            numbers::exact(past.get().abs()),
            if past.get().signum() < 0 { "past" } else { "short of" }
        ),
        Doubt::CrankOffMark { past } => format!(
            "The crankshaft stands {} of a turn {} its mark; the others were measured from there.",
            numbers::exact(past.get().abs()),
            if past.get().signum() < 0 { "short of" } else { "past" }
        ),
        Doubt::IdlerDot { shaft: id, every } => format!(
            "{}: by its dot it is off, while everything that must be in time is right. Its dot comes back only every {} crank turns; leave it out, or count the turns again.",
            shaft(id),
            numbers::exact(every.get())
        ),
        Doubt::SpecInDoubt { places } => format!(
            "The spec contradicts itself in {places} {}: its marks or lengths do not agree with its centres (tautmark lint shows where). What rests on it is not proven.",
            if *places == 1 { "place" } else { "places" }
        ),
        Doubt::OthersLink { at, link_of } => {
            let mark = drive.sprocket(*link_of).mark();
            let links = drive.chain(link_of.chain).links().get();
            let link = mark.map_or_else(String::new, |mark| {
                coloured(numbers::link(mark.link, links), mark.colour.as_deref())
            });
            format!(
                "{}: the link on its dot is {}'s, {link}. Make sure first which coloured link is which.",
                name_of(drive, *at),
                name_of(drive, *link_of)
            )
        }
        Doubt::LoopContradiction { at } => format!(
            "{}: the links of this chain contradict those of the other chain to the same shaft. Look at both again.",
            name_of(drive, *at)
        ),
        Doubt::CannotBe { at, teeth } => format!(
            "{}: {} from its link is half a turn of the sprocket or more, and no chain lies on the dot there. Read the link again.",
            name_of(drive, *at),
            numbers::teeth(*teeth)
        ),
        Doubt::IdlerOff { shaft: id } => format!(
            "{}: this idler is off. It moves no valve by itself, and everything that must be in time is right.",
            shaft(id)
        ),
        Doubt::OneIsOff => "At least one shaft that must be in time is off. What was seen does not tell which: look at the rest.".to_owned(),
        Doubt::DoesNotFit => "What was seen does not fit together: no way to hang the chains shows all of it. Read every mark again.".to_owned(),
    }
}

fn reconciliation(drive: &Drive, shaft: ShaftId, way: Reconciliation) -> String {
    match way {
        Reconciliation::OtherLink(at) => {
            let mark = drive.sprocket(at).mark();
            let links = drive.chain(at.chain).links().get();
            let link = mark.map_or_else(String::new, |mark| {
                coloured(numbers::link(mark.link, links), mark.colour.as_deref())
            });
            format!(
                "the link taken for {}'s was {}'s, {link}",
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
