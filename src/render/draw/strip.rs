//! A chain without places: unrolled into rows of links, the dots above the links on which they lie.

use super::caption::{how_far, short_name, wrong_link};
use super::colour::Palette;
use super::picture::owner;
use super::sheet::{Anchor, Layer, Shape, Sheet, Spot, WIDTH, width_of, wrapped};
use crate::drive::ids::ChainId;
use crate::drive::model::Drive;
use crate::render::words::numbers;
use crate::timing::pose::{Basis, Pose, SprocketPose};
use crate::units::quantity::{Exact, OutOfRange};

/// The dots of one chain: what lies on a link, and what cannot be said of one.
pub(super) struct Strip {
    pub(super) dots: Vec<StripDot>,
    pub(super) notes: Vec<String>,
}

/// A dot on the strip.
pub(super) struct StripDot {
    pub(super) stand: SprocketPose,
    /// The link it lies on; a half lies between two.
    pub(super) on: Exact,
    /// The link it belongs on.
    pub(super) due: Exact,
    pub(super) name: String,
    /// What is said of it: `2 teeth behind`, `not looked at`.
    pub(super) words: Vec<String>,
    pub(super) off: bool,
}

impl Strip {
    pub(super) fn new(drive: &Drive, pose: &Pose, id: ChainId) -> Result<Self, OutOfRange> {
        let mut dots = Vec::new();
        let mut notes = Vec::new();
        for (at, sprocket) in drive.chain(id).engagements(id) {
            let Some(stand) = pose.stand(drive, at) else {
                continue;
            };
            let name = short_name(drive, at);
            let seen = stand.ground != Basis::Unseen;
            let mut words = Vec::new();
            if seen && !stand.ahead.is_zero() {
                words.push(how_far(drive, stand));
            }
            if seen && let Some((is, due)) = wrong_link(drive, stand)? {
                words.push(is);
                words.push(due);
            }
            if !seen && sprocket.is_marked() {
                words.push("not looked at".to_owned());
            }
            match (stand.link_on_dot(drive)?, stand.link_due) {
                (Some(on), Some(due)) => dots.push(StripDot {
                    stand: *stand,
                    on: on.get(),
                    due: due.get(),
                    name,
                    off: seen && stand.is_off(),
                    words,
                }),
                _ => {
                    let why = if !sprocket.is_marked() {
                        "no dot".to_owned()
                    } else if sprocket.mark().is_none() {
                        "a dot, but no coloured link".to_owned()
                    } else {
                        format!(
                            "dot {} of a turn past its timed place; no link is claimed to lie on it",
                            numbers::exact(stand.past.get())
                        )
                    };
                    words.insert(0, why);
                    notes.push(format!("{name}: {}", words.join("; ")));
                }
            }
        }
        Ok(Self { dots, notes })
    }
}

const LEFT: f64 = 7.0;
const NAME: f64 = 4.2;
const SMALL: f64 = 3.3;

/// Puts one chain on the sheet, from `top` down. Gives where it ends.
pub(super) fn put(
    sheet: &mut Sheet,
    drive: &Drive,
    pose: &Pose,
    id: ChainId,
    top: f64,
) -> Result<f64, OutOfRange> {
    let strip = Strip::new(drive, pose, id)?;
    let chain = drive.chain(id);
    let count = chain.links().get();
    let per = if count <= 40 { count } else { 36 };
    let pitch = (WIDTH - 2.0 * LEFT) / f64::from(per.max(24));
    let mut y = top + 5.5;
    sheet.words(
        "must bold",
        Spot { x: LEFT - 3.0, y },
        4.4,
        Anchor::Start,
        format!("Chain {}: {} links", chain.name(), chain.links()),
    );
    y += 4.8;
    sheet.words(
        "must",
        Spot { x: LEFT - 3.0, y },
        SMALL,
        Anchor::Start,
        "Unrolled: it travels to the right. A dot further right is ahead.",
    );
    y += 2.0;
    let mut first = 0;
    while first < count {
        let last = (first + per).min(count);
        y = row(sheet, drive, id, &strip, (first, last, pitch), y);
        first = last;
    }
    for note in &strip.notes {
        for line in wrapped(note, SMALL, false, WIDTH - 2.0 * LEFT) {
            y += SMALL * 1.3;
            sheet.words(
                "must",
                Spot { x: LEFT - 3.0, y },
                SMALL,
                Anchor::Start,
                line,
            );
        }
    }
    Ok(y + 3.0)
}

/// Where what it names lies across, its lines (bold or not), and whether that is off.
type Label = (f64, Vec<(String, bool)>, bool);

fn row(
    sheet: &mut Sheet,
    drive: &Drive,
    id: ChainId,
    strip: &Strip,
    (first, last, pitch): (u16, u16, f64),
    top: f64,
) -> f64 {
    let x_of = |link: f64| LEFT + (link - f64::from(first) + 0.5) * pitch;
    let within = |link: Exact| {
        let link = link.to_f64();
        link >= f64::from(first) - 0.01 && link < f64::from(last) - 0.01
    };
    // The labels above this row: of dots, and of where they belong when they lie in another row.
    let mut labels: Vec<Label> = Vec::new();
    for dot in &strip.dots {
        if within(dot.on) {
            let mut lines = vec![(dot.name.clone(), true)];
            lines.extend(dot.words.iter().map(|word| (word.clone(), false)));
            labels.push((x_of(dot.on.to_f64()), lines, dot.off));
        }
        if dot.off && dot.on != dot.due && within(dot.due) && !within(dot.on) {
            let lines = vec![(format!("{} belongs here", dot.name), false)];
            labels.push((x_of(dot.due.to_f64()), lines, true));
        }
    }
    labels.sort_by(|(one, ..), (other, ..)| one.total_cmp(other));
    let mut levels: Vec<f64> = Vec::new();
    let mut placed = Vec::new();
    for (x, lines, off) in labels {
        let width = lines
            .iter()
            .map(|(text, bold)| width_of(text, if *bold { NAME } else { SMALL }, *bold))
            .fold(0.0, f64::max);
        let middle = x.clamp(
            2.0 + width / 2.0,
            (WIDTH - 2.0 - width / 2.0).max(2.0 + width / 2.0),
        );
        let level = levels
            .iter()
            .position(|end| middle - width / 2.0 > *end + 2.0)
            .unwrap_or(levels.len());
        if level == levels.len() {
            levels.push(0.0);
        }
        levels[level] = middle + width / 2.0;
        placed.push((x, middle, level, lines, off));
    }
    // As high as the labels of each level need.
    let high: Vec<f64> = (0..levels.len())
        .map(|level| {
            placed
                .iter()
                .filter(|(_, _, at, ..)| *at == level)
                .map(|(_, _, _, lines, _)| {
                    lines
                        .iter()
                        .map(|(_, bold)| if *bold { NAME * 1.2 } else { SMALL * 1.2 })
                        .sum::<f64>()
                })
                .fold(0.0, f64::max)
                + 1.5
        })
        .collect();
    let bare = !strip
        .dots
        .iter()
        .any(|dot| within(dot.on) || within(dot.due));
    let dots_at = top + high.iter().sum::<f64>() + if bare { 0.0 } else { 3.2 };
    let links_at = dots_at + if bare { 0.6 } else { 2.2 } + pitch * 0.5;
    for (x, middle, level, lines, off) in placed {
        let mut y = top + high[level + 1..].iter().sum::<f64>();
        for (text, bold) in lines {
            let size = if bold { NAME } else { SMALL };
            y += size * 1.2;
            sheet.words(
                match (off, bold) {
                    (true, true) => "must off-word halo",
                    (true, false) => "must off-small halo",
                    (false, true) => "must bold halo",
                    (false, false) => "must halo",
                },
                Spot {
                    x: middle,
                    y: y - size * 0.25,
                },
                size,
                Anchor::Middle,
                text,
            );
        }
        let class = if off { "off-line" } else { "leader" };
        sheet.line(
            Layer::Basis,
            class,
            vec![Spot { x: middle, y }, Spot { x, y: dots_at }],
        );
    }
    for dot in &strip.dots {
        let size = (pitch * 0.28).clamp(1.0, 1.6);
        let spot = |link: Exact| Spot {
            x: x_of(link.to_f64()),
            y: dots_at,
        };
        if dot.off && dot.on != dot.due && within(dot.due) {
            sheet.disc(Layer::Off, "off-ring", spot(dot.due), size);
            let foot = Spot {
                y: links_at,
                ..spot(dot.due)
            };
            sheet.line(Layer::Basis, "off-dash", vec![spot(dot.due), foot]);
            if within(dot.on) {
                let (from, to) = (spot(dot.on), spot(dot.due));
                let way = if to.x < from.x { -1.0 } else { 1.0 };
                sheet.arrow(
                    Layer::Off,
                    "off-line",
                    vec![from, to.moved((way, 0.0), -size)],
                    1.8_f64.min((to.x - from.x).abs() * 0.5),
                );
            }
        }
        if within(dot.on) {
            let centre = spot(dot.on);
            let foot = Spot {
                y: links_at,
                ..centre
            };
            sheet.line(Layer::Basis, "ink", vec![centre, foot]);
            let class = match (dot.off, dot.stand.ground) {
                (true, _) => "dot-off",
                (false, Basis::Unseen) => "dot-unseen",
                _ => "dot",
            };
            sheet.disc(Layer::Off, class, centre, size);
            if dot.off {
                for (x, y) in [(0.7, 0.7), (0.7, -0.7)] {
                    let cross = vec![
                        centre.moved((x, y), -size * 0.62),
                        centre.moved((x, y), size * 0.62),
                    ];
                    sheet.line(Layer::Off, "dot-cross", cross);
                }
            }
        }
    }
    let palette = Palette::of(drive);
    let marked = drive
        .chain(id)
        .sprockets()
        .iter()
        .any(|sprocket| sprocket.mark().is_some());
    for link in first..last {
        let marks = owner(drive, id, link);
        let centre = Spot {
            x: x_of(f64::from(link)),
            y: links_at,
        };
        sheet.put(
            if marks.is_some() {
                Layer::Marks
            } else {
                Layer::Chains
            },
            Shape::Link {
                outer: link % 2 == 0,
                chain: id.index(),
                number: link,
                centre,
                angle: 0.0,
                pitch,
                colour: marks.map(|at| palette.link(drive, at)),
            },
        );
        // A coloured link crowds out the plain numbers beside it.
        let near = (first..last).any(|other| {
            other != link && other.abs_diff(link) < 2 && owner(drive, id, other).is_some()
        });
        let (class, size) = match marks {
            Some(_) => ("must bold", 3.4),
            None if marked && link % 5 == 0 && !near => ("num", 3.2),
            None => continue,
        };
        let y = links_at + pitch * 0.5 + size;
        sheet.words(
            class,
            Spot { x: centre.x, y },
            size,
            Anchor::Middle,
            link.to_string(),
        );
    }
    // The colour once under each coloured link, or pair of them.
    let mut y = links_at + pitch * 0.5 + 4.0;
    let mut colours_told = false;
    for (_, sprocket) in drive.chain(id).engagements(id) {
        if let Some(mark) = sprocket.mark()
            && let Some(colour) = &mark.colour
            && within(mark.link.get())
        {
            let text = super::plane::short(colour, 12);
            let half = width_of(&text, SMALL, false) / 2.0;
            let x = x_of(mark.link.get().to_f64()).clamp(2.0 + half, WIDTH - 2.0 - half);
            sheet.words(
                "must",
                Spot { x, y: y + SMALL },
                SMALL,
                Anchor::Middle,
                text,
            );
            colours_told = true;
        }
    }
    if colours_told {
        y += SMALL * 1.3;
    }
    y + 1.6
}
