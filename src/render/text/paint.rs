//! What to paint before the chain comes off, and on a new chain beside the old one.

use crate::drive::ids::{ChainId, ShaftId};
use crate::drive::model::Drive;
use crate::proof::counted::{Carried, Recount};
use crate::proof::paint::{OwnMarks, Pair};
use crate::render::hints::Hints;
use crate::render::words::band::Band;
use crate::render::words::camshafts::left_out_words;
use crate::render::words::cautions::write_cautions;
use crate::render::words::escape::printable;
use crate::render::words::lookalike::lookalike_text;
use crate::render::words::numbers;
use crate::timing::observe::name_of;
use std::fmt::Write as _;

/// The marks to paint, what they prove, and what they leave open.
pub fn own_marks_text(drive: &Drive, marks: &OwnMarks, hints: &dyn Hints) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_marks(&mut out, drive, marks, hints);
    printable(&out)
}

fn write_marks(
    out: &mut String,
    drive: &Drive,
    marks: &OwnMarks,
    hints: &dyn Hints,
) -> std::fmt::Result {
    writeln!(out, "{}", drive.engine())?;
    if let Some(position) = drive.timed_position() {
        writeln!(out, "Timed position: {position}")?;
    }
    writeln!(
        out,
        "\nPAINT {} MARKS before anything comes off, with the engine standing there. Do not turn it from the first to the last.\n",
        marks.pairs.len()
    )?;
    let names: Vec<String> = marks
        .pairs
        .iter()
        .map(|pair| name_of(drive, pair.at))
        .collect();
    let wide = |texts: &mut dyn Iterator<Item = usize>| texts.max().unwrap_or(0);
    let name = wide(&mut names.iter().map(|name| name.chars().count()));
    let paint = wide(&mut marks.pairs.iter().map(|pair| pair.paint.len()));
    for (own, pair) in names.iter().zip(&marks.pairs) {
        writeln!(
            out,
            "  {own:name$}  {:paint$}  {}",
            pair.paint,
            where_to(drive, pair)
        )?;
    }
    let Band {
        name: band,
        link,
        links,
        ..
    } = Band::all(drive);
    match left_out_words(drive) {
        None => writeln!(
            out,
            "\nWith every dot on its own {link} again the timing is proven. With one mark fewer it is not."
        )?,
        Some(left_out) => writeln!(
            out,
            "\nWith every dot on its own {link} again these shafts are proven. With one mark fewer they are not.\n{left_out}"
        )?,
    }
    if marks.lines.is_empty() {
        writeln!(
            out,
            "Nothing else looks the same: hung inside out, or counted from the other side, it would show."
        )?;
    } else if marks.counted {
        writeln!(out, "\nOne look more\n  The {links} alone look the same if")?;
        for lookalike in &marks.alike {
            writeln!(out, "  - {}", lookalike_text(drive, lookalike, hints))?;
        }
        writeln!(
            out,
            "  What rules it out is a line across to the engine, opposite the dots of {}.",
            all_of(drive, &marks.lines)
        )?;
    } else {
        writeln!(
            out,
            "\nOne look more\n  Until the {links} between the marks are counted, nothing says that the {band} would not look the\n\
             \x20 same hung inside out. A line across to the engine rules it out, opposite the dots of\n\
             \x20 {}.",
            all_of(drive, &marks.lines)
        )?;
    }
    writeln!(
        out,
        "\nAfter turning by hand\n  The painted {links} move off as you turn. {} lines across to the engine prove it then, without any {link}:\n\
         \x20 opposite the dots of {}.",
        marks.turned.len(),
        all_of(drive, &marks.turned)
    )?;
    write_how(out, drive, marks)
}

fn write_how(out: &mut String, drive: &Drive, marks: &OwnMarks) -> std::fmt::Result {
    writeln!(out, "\nHow")?;
    let Band { name, link, .. } = Band::all(drive);
    for line in [
        "Wipe oil off first: paint that comes off proves nothing.",
        &format!(
            "Paint a {link} where you can see it, not where a guide or the sprocket hides it, and its tooth with it: that is its dot."
        ),
        "When all is painted, look at every mark once more: all on at the same time, the engine standing still.",
        &format!(
            "Paint keeps what is there. If the {name} had jumped before, it will hang wrong again: check the old timing first."
        ),
        &format!(
            "Paint runs through: which side of the {name} it is on does not tell which side belongs outside."
        ),
    ] {
        writeln!(out, "  - {line}")?;
    }
    for (id, chain) in drive.chains() {
        let counts = counts_of(drive, id, marks);
        if let [_, _, ..] = counts[..] {
            writeln!(
                out,
                "  - Count {} {} from mark to mark the way it travels ({}), the painted {link} you start\n\
                 \x20   from being 0: {}, and you are back at the first, {} in all. If not, a wrong {link} is painted.",
                Band::of(chain).name,
                chain.name(),
                order_of(drive, id, marks),
                counts.join(", "),
                chain.links()
            )?;
        } else if marks.pairs.iter().any(|pair| pair.at.chain == id) {
            writeln!(
                out,
                "  - Count {} {} from mark to mark the way it travels ({}), the painted {link} you start\n\
                 \x20   from being 0, all the way around.",
                Band::of(chain).name,
                chain.name(),
                order_of(drive, id, marks)
            )?;
        }
    }
    write_cautions(out)
}

/// The links from each mark of a chain to the next; none where a mark's place is not known.
fn counts_of(drive: &Drive, id: ChainId, marks: &OwnMarks) -> Vec<String> {
    let around = drive.chain(id).links().to_exact();
    let own: Vec<&Pair> = marks
        .pairs
        .iter()
        .filter(|pair| pair.at.chain == id)
        .collect();
    (0..own.len())
        .filter_map(|i| {
            let next = own[(i + 1) % own.len()];
            let apart = next.link?.since(own[i].link?).ok()?;
            Some(numbers::exact(apart.get().modulo(around).ok()?))
        })
        .collect()
}

/// The sprockets of a chain with a mark, in the order in which a link meets them.
fn order_of(drive: &Drive, id: ChainId, marks: &OwnMarks) -> String {
    let own = marks.pairs.iter().filter(|pair| pair.at.chain == id);
    let names: Vec<&str> = own
        .map(|pair| drive.shaft(drive.sprocket(pair.at).shaft()).name())
        .collect();
    names.join(", ")
}

fn where_to(drive: &Drive, pair: &Pair) -> String {
    let Band {
        link, links: many, ..
    } = Band::of(drive.chain(pair.at.chain));
    let tooth = if pair.tooth {
        format!("a tooth, and the {link} that lies on it")
    } else {
        format!("the {link} that lies on its dot")
    };
    match pair.link {
        Some(on) if !on.get().is_whole() => {
            let links = numbers::link(on, drive.chain(pair.at.chain));
            format!("both {many} that its dot lies between ({links})")
        }
        Some(on) => {
            format!(
                "{tooth} ({})",
                numbers::link(on, drive.chain(pair.at.chain))
            )
        }
        None => tooth,
    }
}

fn all_of(drive: &Drive, shafts: &[ShaftId]) -> String {
    let names: Vec<&str> = shafts.iter().map(|id| drive.shaft(*id).name()).collect();
    match &names[..] {
        [most @ .., last] if !most.is_empty() => format!("{} and of {last}", most.join(", of ")),
        _ => names.join(""),
    }
}

/// How to mark a new chain that lies beside the old one.
pub fn carried_text(drive: &Drive, id: ChainId, marks: &[Carried]) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_carried(&mut out, drive, id, marks);
    printable(&out)
}

fn write_carried(
    out: &mut String,
    drive: &Drive,
    id: ChainId,
    marks: &[Carried],
) -> std::fmt::Result {
    let chain = drive.chain(id);
    let band = Band::of(chain);
    writeln!(
        out,
        "{}\n\nBoth {} have {} {}. Lay the new one beside the old one, {}, the old one as it ran:\n\
         the same side up, the same end first. Then, the way it travels:\n",
        drive.engine(),
        band.many,
        chain.links(),
        band.links,
        if chain.is_belt() {
            "tooth beside tooth"
        } else {
            "pin beside pin"
        }
    )?;
    let mut count = None;
    for (number, mark) in marks.iter().enumerate() {
        let colour = drive
            .sprocket(mark.at)
            .mark()
            .and_then(|mark| mark.colour.as_deref());
        let colour = colour.map_or_else(String::new, |colour| format!("{colour}, "));
        let place = match count {
            None => "beside the old one's first mark".to_owned(),
            Some(links) => format!("{} on", numbers::links(links, chain)),
        };
        let both = if mark.from_first.get().is_whole() {
            ""
        } else {
            ", both sides of that place"
        };
        writeln!(
            out,
            "  {}. {place}: {colour}for {}{both}",
            number + 1,
            name_of(drive, mark.at)
        )?;
        count = Some(mark.to_next);
    }
    if let Some(links) = count {
        writeln!(
            out,
            "  and {} on you are back at the first.",
            numbers::links(links, drive.chain(id))
        )?;
    }
    if chain.is_belt() {
        return writeln!(
            out,
            "\nThe belt tooth you start from is 0, the one after it is 1. Every tooth looks alike, so nothing shows a count\n\
             that is one out but the last one. Then count the new belt by itself, all the way around."
        );
    }
    writeln!(
        out,
        "\nThe link you start from is 0, the one after it is 1. An outer link lies beside an outer one, an inner one\n\
         beside an inner one: if not, you are one out. Then count the new chain by itself, all the way around."
    )
}

/// What the marks on the new chain came to when they were counted.
pub fn recount_text(drive: &Drive, id: ChainId, recount: &Recount) -> String {
    let chain = drive.chain(id);
    let name = chain.name();
    let band = Band::of(chain);
    let Band {
        title, link, links, ..
    } = band;
    let text = match recount {
        Recount::Same => format!(
            "THE SAME. The marks of {band} {name} lie on the new one as on the old one.\n\
             The spec stays as it is. Hang it by them, and prove it as ever.\n"
        ),
        Recount::OtherWay => format!(
            "THE OTHER WAY AROUND. {title} {name} lies the wrong way, or you counted against the way it travels.\n\
             Lay it beside the old one again, the same side up, the same end first, and count again.\n"
        ),
        Recount::AddsUp { sum } => format!(
            "MISCOUNTED. The counts of {band} {name} come to {} {links}, and it has {}.\n\
             Count again: the painted {link} you start from is 0, the one after it is 1.\n",
            numbers::exact(*sum),
            chain.links()
        ),
        Recount::Differs(marks) => {
            let mut text = format!("NOT THE SAME. Do not hang {band} {name} by these marks.\n");
            for (mark, count) in marks {
                let next = next_mark(drive, mark);
                text.push_str(&format!(
                    "  - from {} to {next}: {} on the new one, {} on the old one\n",
                    name_of(drive, mark.at),
                    numbers::exact(*count),
                    numbers::exact(mark.to_next.get())
                ));
            }
            text.push_str(&format!(
                "Wipe off the mark that is wrong, paint the right {link}, and count again.\n"
            ));
            text
        }
    };
    printable(&format!("{}\n\n{text}", drive.engine()))
}

/// The sprocket whose mark comes after this one, the way the chain travels.
fn next_mark(drive: &Drive, mark: &Carried) -> String {
    let chain = drive.chain(mark.at.chain);
    let mut all: Vec<_> = chain.engagements(mark.at.chain).collect();
    all.retain(|(_, sprocket)| sprocket.mark().is_some());
    let own = all.iter().position(|(at, _)| *at == mark.at).unwrap_or(0);
    all.get((own + 1) % all.len().max(1))
        .map_or_else(String::new, |(at, _)| name_of(drive, *at))
}
