//! Where the marks are after the crankshaft has turned.

use super::check_text::coloured;
use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::timing::lookalike::{Lookalike, LookalikeKind};
use crate::timing::observe::name_of;
use crate::timing::roll::{Moment, Roll};
use crate::units::quantity::{Exact, Turns};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Rows of a table that a person reads; a program gets more.
const ROWS: usize = 40;

/// Where everything is, in words. `table`: the moments at which something lines up, too.
pub fn roll_text(
    drive: &Drive,
    roll: &Roll,
    friends: &[Lookalike],
    table: Option<&mut dyn Iterator<Item = Moment>>,
) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_roll(&mut out, drive, roll, friends, table);
    super::printable(&out)
}

fn turns(value: Turns) -> String {
    let unit = if value.get() == Exact::ONE {
        "crank turn"
    } else {
        "crank turns"
    };
    format!("{} {unit}", numbers::exact(value.get()))
}

fn write_roll(
    out: &mut String,
    drive: &Drive,
    roll: &Roll,
    friends: &[Lookalike],
    table: Option<&mut dyn Iterator<Item = Moment>>,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    writeln!(out, "{} after it was timed\n", turns(roll.turned))?;
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
        writeln!(out, "  {name:width$}  {}", place(drive, mark))?;
    }
    writeln!(out)?;
    for sentence in next_words(drive, roll) {
        writeln!(out, "{sentence}")?;
    }
    if has_links(drive) && !roll.turned.is_zero() && roll.next_links != Some(roll.turned) {
        writeln!(
            out,
            "\nThat the coloured links have left their dots is normal. They are for hanging the chain only:\n\
             the chain has another number of links than the sprockets have teeth, so they wander off with\n\
             the first turn. Look at the dots against the marks on the engine instead{}.",
            match roll.next_proof {
                Some(next) if next == roll.turned =>
                    ": those of the crankshaft and of all that\nmust be in time are in their places at this very turn".to_owned(),
                Some(next) => format!(", at {}", turns(next)),
                None => String::new(),
            }
        )?;
        if let Some(next) = roll.next_proof {
            let dots: Vec<String> = drive
                .shafts()
                .filter(|(id, _)| *id == drive.crank() || drive.is_timed(*id))
                .filter(|(id, _)| drive.is_marked(*id))
                .map(|(_, shaft)| format!("--dot {}=...", shaft.name()))
                .collect();
            writeln!(
                out,
                "Say what you see there:  tautmark check SPEC --turned {} {}",
                next,
                dots.join(" ")
            )?;
        }
    }
    if let Some(table) = table {
        write_table(out, drive, friends, table)?;
    }
    Ok(())
}

fn has_links(drive: &Drive) -> bool {
    drive
        .engagements()
        .any(|(_, sprocket)| sprocket.mark().is_some())
}

/// Where one dot is and what lies on it.
fn place(drive: &Drive, mark: &crate::timing::roll::MarkPlace) -> String {
    let clock = mark.clock.map_or_else(String::new, |clock| {
        format!(
            ", pointing to {} degrees ({})",
            numbers::rounded(clock.get(), 1),
            numbers::clock_time(clock.get())
        )
    });
    if !mark.past.is_zero() {
        return format!(
            "dot {} of a turn past its timed place{clock}; no link is claimed to lie on it",
            numbers::exact(mark.past.get())
        );
    }
    let link = match mark.link {
        None => "there is no coloured link for it".to_owned(),
        Some(link) => {
            let links = drive.chain(mark.at.chain).links().get();
            let owner = owner_of(drive, mark.at, link);
            let words = numbers::link(link, links);
            match owner {
                Some(owner) if owner == mark.at => format!("on its own coloured link: {words}"),
                Some(owner) => format!(
                    "on {words}, which is the coloured link of {}, not its own",
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
    friends: &[Lookalike],
    table: &mut dyn Iterator<Item = Moment>,
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
        flush(out, &mut bare, last_bare)?;
        if rows >= ROWS {
            writeln!(
                out,
                "         ...  and more (--format json tells up to 10,000)"
            )?;
            return Ok(());
        }
        rows += 1;
        let mut what: Vec<String> = Vec::new();
        if moment.all_links {
            what.push("every coloured link is on its dot: all begins anew".to_owned());
        } else {
            if moment.all_dots {
                what.push("every dot is in its place".to_owned());
            }
            for (at, owner) in &moment.links {
                what.push(meeting(drive, friends, *at, *owner));
            }
        }
        writeln!(
            out,
            "{:>11}  {}",
            moment.turned.to_string(),
            what.join("; ")
        )?;
    }
    flush(out, &mut bare, last_bare)
}

fn flush(out: &mut String, bare: &mut usize, last: Option<Turns>) -> std::fmt::Result {
    if let (Some(last), true) = (last, *bare > 0) {
        match *bare {
            1 => writeln!(out, "{:>11}  every dot is in its place", last.to_string())?,
            n => writeln!(
                out,
                "{:>11}  every dot is in its place ({n} times up to here, no coloured link on any)",
                last.to_string()
            )?,
        }
    }
    *bare = 0;
    Ok(())
}

fn meeting(drive: &Drive, friends: &[Lookalike], at: Engagement, owner: Engagement) -> String {
    let name = name_of(drive, at);
    if at == owner {
        return format!("{name} is on its own coloured link");
    }
    let mark = drive.sprocket(owner).mark();
    let links = drive.chain(owner.chain).links().get();
    let link = mark.map_or_else(String::new, |mark| {
        coloured(numbers::link(mark.link, links), mark.colour.as_deref())
    });
    let same = friends.iter().any(|friend| {
        matches!(friend.kind, LookalikeKind::WrongLinkAfterTurning { at: a, link_of: o, .. } if a == at && o == owner)
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

/// Where everything is, for a program.
pub fn roll_json(
    drive: &Drive,
    roll: &Roll,
    table: Option<&mut dyn Iterator<Item = Moment>>,
) -> Value {
    const MOST_ROWS: usize = 10_000;
    let names = |at: Engagement| {
        (
            drive.chain(at.chain).name(),
            drive.shaft(drive.sprocket(at).shaft()).name(),
        )
    };
    let marks: Vec<Value> = roll
        .marks
        .iter()
        .map(|mark| {
            let (chain, shaft) = names(mark.at);
            json!({
                "chain": chain,
                "shaft": shaft,
                "dot_turns": mark.past,
                "dot_clock_degrees": mark.clock,
                "link_on_dot": mark.link,
            })
        })
        .collect();
    let mut value = json!({
        "turned": roll.turned,
        "marks": marks,
        "links_return_after": roll.returns.links,
        "dots_return_after": roll.returns.dots,
        "next_dots_at": roll.next_dots,
        "next_links_at": roll.next_links,
        "next_proof_at": roll.next_proof,
    });
    if let (Some(mut table), Value::Object(map)) = (table, &mut value) {
        let rows: Vec<Value> = (&mut table)
            .take(MOST_ROWS)
            .map(|moment| {
                let links: Vec<Value> = moment
                    .links
                    .iter()
                    .map(|(at, owner)| {
                        let ((chain, shaft), (_, owner)) = (names(*at), names(*owner));
                        json!({ "chain": chain, "shaft": shaft, "link_of": owner })
                    })
                    .collect();
                json!({
                    "turned": moment.turned,
                    "all_dots": moment.all_dots,
                    "all_links": moment.all_links,
                    "links_on_dots": links,
                })
            })
            .collect();
        map.insert("moments".into(), Value::Array(rows));
        map.insert("more".into(), json!(table.next().is_some()));
    }
    value
}

/// When the dots are next in their places, and when the coloured links are next on them.
pub(super) fn next_words(drive: &Drive, roll: &Roll) -> [String; 2] {
    let dots = match (roll.next_dots, roll.returns.dots) {
        (Some(next), _) if next == roll.turned => "Every dot is in its timed place now.".to_owned(),
        (Some(next), Some(every)) => format!(
            "Every dot is in its timed place next at {} (every {every}).",
            turns(next)
        ),
        _ => "The dots do not all come back within a thousand million million turns.".to_owned(),
    };
    let links = match (roll.next_links, roll.returns.links) {
        (Some(next), _) if next == roll.turned => {
            "Every coloured link is on its dot now.".to_owned()
        }
        (Some(next), Some(every)) => format!(
            "Every coloured link is on its dot next at {} (every {every}).",
            turns(next)
        ),
        _ if has_links(drive) => {
            "The coloured links do not all come back within a thousand million million turns."
                .to_owned()
        }
        _ => "This drive has no coloured links; the dots are all there is to look at.".to_owned(),
    };
    [dots, links]
}
