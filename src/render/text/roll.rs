//! Where the marks are after the crankshaft has turned.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::View;
use crate::render::hints::{Hints, Wanted, bracketed};
use crate::render::words::band::Band;
use crate::render::words::escape::printable;
use crate::render::words::marks::marked_link;
use crate::render::words::numbers;
use crate::render::words::turns::{has_links, next_words, turns};
use crate::render::words::view::from_words;
use crate::spec::choice::Viewpoint;
use crate::timing::lookalike::{Lookalike, LookalikeKind};
use crate::timing::observe::name_of;
use crate::timing::roll::{Moment, Roll};
use crate::units::quantity::{Exact, Turns};
use std::fmt::Write as _;

/// Rows of a table that a person reads; a program gets more.
const ROWS: usize = 40;

/// Where everything is, in words. `table`: the moments at which something lines up,
/// too. `hints` says how to give what is seen there, and how to see more.
pub fn roll_text(
    drive: &Drive,
    roll: &Roll,
    lookalikes: &[Lookalike],
    table: Option<&mut dyn Iterator<Item = Moment>>,
    hints: &dyn Hints,
) -> String {
    roll_text_seen(drive, roll, lookalikes, table, View::facing(), hints)
}

/// The same, in the words of whoever sees the timing end from `view`.
pub fn roll_text_seen(
    drive: &Drive,
    roll: &Roll,
    lookalikes: &[Lookalike],
    table: Option<&mut dyn Iterator<Item = Moment>>,
    view: View,
    hints: &dyn Hints,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_roll(&mut out, drive, roll, lookalikes, table, view, hints);
    printable(&out)
}

fn write_roll(
    out: &mut String,
    drive: &Drive,
    roll: &Roll,
    lookalikes: &[Lookalike],
    table: Option<&mut dyn Iterator<Item = Moment>>,
    view: View,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    // From above a dot points nowhere that a clock could tell.
    let pointing = view.from() != Viewpoint::Above;
    let seen = if pointing && roll.marks.iter().any(|mark| mark.clock.is_some()) {
        format!(", {}", from_words(view))
    } else {
        String::new()
    };
    writeln!(out, "{} after it was timed{seen}\n", turns(roll.turned))?;
    let names: Vec<String> = roll
        .marks
        .iter()
        .map(|mark| name_of(drive, mark.at))
        .collect();
    let width = names
        .iter()
        .map(|name| name.chars().count())
        .max()
        .unwrap_or(0);
    for (mark, name) in roll.marks.iter().zip(&names) {
        writeln!(out, "  {name:width$}  {}", place(drive, mark, view))?;
    }
    writeln!(out)?;
    for sentence in next_words(drive, roll) {
        writeln!(out, "{sentence}")?;
    }
    let Band {
        name, links, marks, ..
    } = Band::all(drive);
    if has_links(drive) && !roll.turned.is_zero() && roll.next_links != Some(roll.turned) {
        writeln!(
            out,
            "\nThat the {marks} have left their dots is normal. They are for hanging the {name} only:\n\
             the {name} has another number of {links} than the sprockets have teeth, so they move off with\n\
             the first turn. Look at the dots against the marks on the engine instead{}.",
            match roll.next_proof {
                Some(next) if next == roll.turned =>
                    ": those of the crankshaft and of all that\nmust be in time are in their places at this very turn".to_owned(),
                Some(next) => format!(", at {}", turns(next)),
                None => String::new(),
            }
        )?;
        if let Some(next) = roll.next_proof {
            let dots: Vec<&str> = drive
                .shafts()
                .filter(|(id, _)| *id == drive.crank() || drive.is_timed(*id))
                .filter(|(id, _)| drive.is_marked(*id))
                .map(|(_, shaft)| shaft.name())
                .collect();
            if let Some(hint) = hints.hint(Wanted::DotsAfter(next, &dots)) {
                writeln!(out, "Say what you see there:  {hint}")?;
            }
        }
    }
    if let Some(table) = table {
        write_table(out, drive, lookalikes, table, hints)?;
    }
    Ok(())
}

/// Where one dot is and what lies on it.
fn place(drive: &Drive, mark: &crate::timing::roll::MarkPlace, view: View) -> String {
    let points = mark.clock.filter(|_| view.from() != Viewpoint::Above);
    let clock = points.map_or_else(String::new, |clock| {
        let mut clock = clock.get();
        if view.is_mirrored() {
            // An angle of the plane is far from any bound.
            clock = clock.negated().modulo(Exact::whole(360)).unwrap_or(clock);
        }
        format!(
            ", pointing to {} degrees ({})",
            numbers::rounded(clock, 1),
            numbers::clock_time(clock)
        )
    });
    if !mark.past.is_zero() {
        return format!(
            "dot {} of a turn past its timed place{clock}; no {link} is claimed to lie on it",
            numbers::exact(mark.past.get()),
            link = Band::of(drive.chain(mark.at.chain)).link
        );
    }
    let link = match mark.link {
        None => format!(
            "there is no {} for it",
            Band::of(drive.chain(mark.at.chain)).mark
        ),
        Some(link) => {
            let chain = drive.chain(mark.at.chain);
            let band = Band::of(chain);
            let owner = owner_of(drive, mark.at, link);
            let words = numbers::link(link, chain);
            match owner {
                Some(owner) if owner == mark.at => format!("on its own {}: {words}", band.mark),
                Some(owner) => format!(
                    "on {words}, which is the {} of {}, not its own",
                    band.mark,
                    name_of(drive, owner)
                ),
                None if link.get().is_whole() => format!("on {words}, which has no colour"),
                None => format!("{words}, which have no colour"),
            }
        }
    };
    format!("dot in its timed place{clock}; {link}")
}

/// The sprocket whose coloured link that is.
fn owner_of(
    drive: &Drive,
    at: Engagement,
    link: crate::units::quantity::LinkPosition,
) -> Option<Engagement> {
    drive
        .chain(at.chain)
        .engagements(at.chain)
        .find_map(|(other, sprocket)| (sprocket.mark()?.link == link).then_some(other))
}

fn write_table(
    out: &mut String,
    drive: &Drive,
    lookalikes: &[Lookalike],
    table: &mut dyn Iterator<Item = Moment>,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "\nCrank turns  what lines up")?;
    let mut rows = 0;
    let mut last_bare: Option<Turns> = None;
    let mut bare = 0_usize;
    for moment in table {
        // Turns at which the dots are back and nothing else happens are told in one line.
        if moment.links.is_empty() && !moment.all_links {
            bare += 1;
            last_bare = Some(moment.turned);
            if bare > 100_000 {
                writeln!(out, "         ...  and so on")?;
                return Ok(());
            }
            continue;
        }
        rows += usize::from(bare > 0);
        flush(out, &mut bare, last_bare, Band::all(drive).mark)?;
        if rows >= ROWS {
            let hint = bracketed(hints, Wanted::MoreMoments);
            writeln!(out, "         ...  and more{hint}")?;
            return Ok(());
        }
        rows += 1;
        let mut what: Vec<String> = Vec::new();
        if moment.all_links {
            what.push(format!(
                "every {} is on its dot: the pattern starts again",
                Band::all(drive).mark
            ));
        } else {
            if moment.all_dots {
                what.push("every dot is in its place".to_owned());
            }
            for (at, owner) in &moment.links {
                what.push(meeting(drive, lookalikes, *at, *owner));
            }
        }
        writeln!(
            out,
            "{:>11}  {}",
            moment.turned.to_string(),
            what.join("; ")
        )?;
    }
    flush(out, &mut bare, last_bare, Band::all(drive).mark)
}

fn flush(out: &mut String, bare: &mut usize, last: Option<Turns>, mark: &str) -> std::fmt::Result {
    if let (Some(last), true) = (last, *bare > 0) {
        match *bare {
            1 => writeln!(out, "{:>11}  every dot is in its place", last.to_string())?,
            n => writeln!(
                out,
                "{:>11}  every dot is in its place ({n} times up to here, no {mark} on any)",
                last.to_string()
            )?,
        }
    }
    *bare = 0;
    Ok(())
}

fn meeting(drive: &Drive, lookalikes: &[Lookalike], at: Engagement, owner: Engagement) -> String {
    let name = name_of(drive, at);
    if at == owner {
        return format!(
            "{name} is on its own {}",
            Band::of(drive.chain(at.chain)).mark
        );
    }
    let link = marked_link(drive, owner);
    let same = lookalikes.iter().any(|lookalike| {
        matches!(lookalike.kind, LookalikeKind::WrongLinkAfterTurning { at: a, link_of: o, .. } if a == at && o == owner)
    });
    format!(
        "{name} is on {}'s {link}{}",
        name_of(drive, owner),
        if same {
            ", the same colour as its own: do not take it for right"
        } else {
            ""
        }
    )
}
