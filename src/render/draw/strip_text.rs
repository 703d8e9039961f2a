//! The unrolled strips for a terminal: plain characters, one to a link.

use super::caption::Caption;
use super::picture::owner;
use super::strip::{Strip, StripDot};
use crate::drive::ids::ChainId;
use crate::drive::model::Drive;
use crate::render::words::band::Band;
use crate::render::words::marks::coloured;
use crate::render::words::numbers;
use crate::timing::pose::{Basis, Pose};
use crate::units::quantity::{Exact, OutOfRange};

/// Characters before the links of a row.
const HEAD: usize = 9;

pub(super) fn text(
    drive: &Drive,
    pose: &Pose,
    caption: &Caption,
    width: usize,
) -> Result<String, OutOfRange> {
    let width = width.clamp(30, 200);
    let mut lines: Vec<String> = Vec::new();
    let say = |text: &str, lines: &mut Vec<String>| lines.extend(folded(text, width, ""));
    say(&caption.engine, &mut lines);
    for line in &caption.stands {
        say(line, &mut lines);
    }
    lines.push(String::new());
    say(&caption.headline, &mut lines);
    for line in &caption.lines {
        lines.extend(folded(line, width, "  "));
    }
    for (id, chain) in drive.chains() {
        lines.push(String::new());
        say(
            &format!(
                "{} {}: {} {}. It travels to the right; a dot further right is ahead.",
                Band::of(chain).title,
                chain.name(),
                chain.links(),
                Band::of(chain).links
            ),
            &mut lines,
        );
        rows(drive, id, &Strip::new(drive, pose, id)?, width, &mut lines);
    }
    lines.push(String::new());
    let Band { link, mark, .. } = Band::all(drive);
    let belt = drive.chains().any(|(_, chain)| !chain.has_pins());
    let chain = drive.chains().any(|(_, chain)| chain.has_pins());
    let turns = match (chain, belt) {
        (true, false) => "outer and inner links",
        (true, true) => "outer and inner links, or teeth in turn",
        _ => "teeth in turn",
    };
    lines.extend(folded(
        &format!(
            "o a dot on the {link} that belongs there; X a dot that is off; v where it belongs; \
             ? a dot that was not looked at; # a {mark}; = and - {turns}."
        ),
        width,
        "",
    ));
    if !caption.cautions.is_empty() {
        lines.push(String::new());
        lines.push("Cautions".to_owned());
        for caution in caption.cautions {
            lines.extend(folded(&format!("- {caution}"), width, "  "));
        }
    }
    let mut out = lines
        .iter()
        .map(|line| line.trim_end())
        .collect::<Vec<_>>()
        .join("\n");
    out.push('\n');
    Ok(crate::render::words::escape::printable(&out))
}

fn rows(drive: &Drive, id: ChainId, strip: &Strip, width: usize, lines: &mut Vec<String>) {
    let chain = drive.chain(id);
    let count = usize::from(chain.links().get());
    let heading = if !chain.has_pins() { "teeth" } else { "links" };
    // Whole tens, so that the numbers stand in the same columns of every row.
    let per = ((width - HEAD) / 10 * 10).max(10);
    let column = |link: Exact, first: usize| {
        let link = usize::try_from(link.floor()).ok()?;
        (first..(first + per).min(count))
            .contains(&link)
            .then(|| link - first)
    };
    let mut first = 0;
    while first < count {
        let last = (first + per).min(count);
        let (mut marks, mut scale) = (vec![' '; last - first], vec![' '; last - first]);
        for dot in &strip.dots {
            if dot.off
                && let Some(at) = column(dot.due, first)
            {
                marks[at] = 'v';
            }
        }
        for dot in &strip.dots {
            if let Some(at) = column(dot.on, first) {
                marks[at] = sign(dot);
            }
        }
        let mut links = String::new();
        for (place, link) in (first..last).enumerate() {
            let number = u16::try_from(link).unwrap_or(u16::MAX);
            links.push(match (owner(drive, id, number), link % 2) {
                (Some(_), _) => '#',
                (None, 0) => '=',
                (None, _) => '-',
            });
            if link % 10 == 0 {
                for (offset, c) in link.to_string().chars().enumerate() {
                    if let Some(slot) = scale.get_mut(place + offset) {
                        *slot = c;
                    }
                }
            }
        }
        if first > 0 {
            lines.push(String::new());
        }
        if marks.iter().any(|mark| *mark != ' ') {
            lines.push(format!(
                "{:HEAD$}{}",
                "dots",
                marks.iter().collect::<String>()
            ));
        }
        lines.push(format!("{:HEAD$}{links}", heading));
        lines.push(format!(
            "{:HEAD$}{}",
            "number",
            scale.iter().collect::<String>()
        ));
        for dot in &strip.dots {
            if column(dot.on, first).is_some() {
                lines.extend(folded(&dot_words(drive, id, dot), width, "  "));
            }
        }
        first = last;
    }
    for note in &strip.notes {
        lines.extend(folded(note, width, "  "));
    }
}

fn sign(dot: &StripDot) -> char {
    match (dot.off, dot.stand.basis) {
        (true, _) => 'X',
        (false, Basis::Unseen) => '?',
        _ => 'o',
    }
}

/// `o crank: ok, on link 0 (blue)`.
fn dot_words(drive: &Drive, id: ChainId, dot: &StripDot) -> String {
    let chain = drive.chain(id);
    let mark = drive.sprocket(dot.stand.at).mark();
    let on = crate::units::quantity::LinkPosition::new(dot.on);
    let own = mark.filter(|mark| mark.link.get() == dot.on);
    let link = coloured(
        numbers::link(on, chain),
        own.and_then(|mark| mark.colour.as_deref()),
    );
    let link = if on.get().is_whole() {
        format!("on {link}")
    } else {
        link
    };
    let state = match (dot.off, dot.stand.basis) {
        // Where its link is wrong, the words say which one lies there.
        (true, _) if !dot.stand.seat.is_zero() => format!("OFF: {}", dot.words.join("; ")),
        (true, _) => format!("OFF, {link}: {}", dot.words.join("; ")),
        (false, Basis::Unseen) => format!("not looked at, drawn {link}"),
        _ => format!("ok, {link}"),
    };
    format!("{} {}: {state}", sign(dot), dot.name)
}

/// `text` in lines of at most `width` characters, each after `indent`.
fn folded(text: &str, width: usize, indent: &str) -> Vec<String> {
    let most = width - indent.len();
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut long = 0;
    for word in text.split_whitespace() {
        let mut rest: Vec<char> = word.chars().collect();
        if long > 0 && long + 1 + rest.len() > most {
            lines.push(format!("{indent}{line}"));
            line.clear();
            long = 0;
        }
        if long > 0 {
            line.push(' ');
            long += 1;
        }
        while rest.len() > most {
            let cut: String = rest.drain(..most).collect();
            lines.push(format!("{indent}{cut}"));
        }
        long += rest.len();
        line.extend(rest);
    }
    if long > 0 {
        lines.push(format!("{indent}{line}"));
    }
    lines
}
