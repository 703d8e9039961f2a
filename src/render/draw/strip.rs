//! A chain without places: unrolled into rows of links, the dots above the links on which they lie.

use super::caption::{how_far, short_name, wrong_link};
use super::colour::Palette;
use super::link::Form;
use super::look::Look;
use super::picture::owner;
use super::sheet::{Anchor, Layer, Shape, Sheet, WIDTH};
use crate::drive::ids::ChainId;
use crate::drive::model::Drive;
use crate::plane::geometry::Travel;
use crate::render::svg::{Spot, short, width_of, wrapped};
use crate::render::words::band::Band;
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
            let Some(stand) = pose.sprocket(drive, at) else {
                continue;
            };
            let name = short_name(drive, at);
            let seen = stand.basis != Basis::Unseen;
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
                        format!("a dot, but no {}", Band::of(drive.chain(at.chain)).mark)
                    } else {
                        format!(
                            "dot {} of a turn past its timed place; no {} is claimed to lie on it",
                            numbers::exact(stand.past.get()),
                            Band::of(drive.chain(at.chain)).link
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

impl Strip {
    /// Leaves to a pupil what is said of each dot.
    fn empty(&mut self) {
        self.notes.clear();
        for dot in &mut self.dots {
            dot.name = "_".repeat(12);
            dot.words.clear();
            dot.off = false;
            dot.stand.basis = Basis::Given;
        }
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
    look: Look,
    id: ChainId,
    top: f64,
) -> Result<f64, OutOfRange> {
    let mut strip = Strip::new(drive, pose, id)?;
    if look.blank {
        strip.empty();
    }
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
        format!(
            "{} {}: {} {}",
            Band::of(chain).title,
            chain.name(),
            chain.links(),
            Band::of(chain).links
        ),
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
        let row = Row {
            drive,
            chain: id,
            strip: &strip,
            first,
            last,
            pitch,
            blank: look.blank,
        };
        y = row.put(sheet, y);
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

/// One row of a strip: the links from `first` up to `last`.
struct Row<'a> {
    drive: &'a Drive,
    chain: ChainId,
    strip: &'a Strip,
    first: u16,
    last: u16,
    pitch: f64,
    blank: bool,
}

/// A label above a row.
struct Label {
    /// Where what it names lies across.
    x: f64,
    /// Its lines, and whether they are bold.
    lines: Vec<(String, bool)>,
    off: bool,
}

/// A label that has a place.
struct Placed {
    label: Label,
    middle: f64,
    level: usize,
}

impl Row<'_> {
    fn x_of(&self, link: f64) -> f64 {
        LEFT + (link - f64::from(self.first) + 0.5) * self.pitch
    }

    fn holds(&self, link: Exact) -> bool {
        let link = link.to_f64();
        link >= f64::from(self.first) - 0.01 && link < f64::from(self.last) - 0.01
    }

    /// Puts the row on the sheet, from `top` down. Gives where it ends.
    fn put(&self, sheet: &mut Sheet, top: f64) -> f64 {
        let (placed, levels) = place(self.labels());
        let high = heights(&placed, levels);
        let bare = !self
            .strip
            .dots
            .iter()
            .any(|dot| self.holds(dot.on) || self.holds(dot.due));
        let dots_at = top + high.iter().sum::<f64>() + if bare { 0.0 } else { 3.2 };
        let links_at = dots_at + if bare { 0.6 } else { 2.2 } + self.pitch * 0.5;
        for label in placed {
            let y = top + high[label.level + 1..].iter().sum::<f64>();
            put_label(sheet, label, y, dots_at);
        }
        for dot in &self.strip.dots {
            self.put_due(sheet, dot, dots_at, links_at);
            self.put_dot(sheet, dot, dots_at, links_at);
        }
        self.put_links(sheet, links_at);
        self.put_colours(sheet, links_at + self.pitch * 0.5 + 4.0) + 1.6
    }

    /// The labels above this row: of dots, and of where they belong when they lie in another row.
    fn labels(&self) -> Vec<Label> {
        let mut labels: Vec<Label> = Vec::new();
        for dot in &self.strip.dots {
            if self.holds(dot.on) {
                let mut lines = vec![(dot.name.clone(), true)];
                lines.extend(dot.words.iter().map(|word| (word.clone(), false)));
                labels.push(Label {
                    x: self.x_of(dot.on.to_f64()),
                    lines,
                    off: dot.off,
                });
            }
            if dot.off && dot.on != dot.due && self.holds(dot.due) && !self.holds(dot.on) {
                labels.push(Label {
                    x: self.x_of(dot.due.to_f64()),
                    lines: vec![(format!("{} belongs here", dot.name), false)],
                    off: true,
                });
            }
        }
        labels.sort_by(|one, other| one.x.total_cmp(&other.x));
        labels
    }

    fn spot(&self, link: Exact, y: f64) -> Spot {
        Spot {
            x: self.x_of(link.to_f64()),
            y,
        }
    }

    fn dot_size(&self) -> f64 {
        (self.pitch * 0.28).clamp(1.0, 1.6)
    }

    /// Where a dot that is off belongs, and the way there.
    fn put_due(&self, sheet: &mut Sheet, dot: &StripDot, dots_at: f64, links_at: f64) {
        if !dot.off || dot.on == dot.due || !self.holds(dot.due) {
            return;
        }
        let size = self.dot_size();
        let due = self.spot(dot.due, dots_at);
        sheet.disc(Layer::Off, "off-ring", due, size);
        let foot = Spot { y: links_at, ..due };
        sheet.line(Layer::Basis, "off-dash", vec![due, foot]);
        if self.holds(dot.on) {
            let from = self.spot(dot.on, dots_at);
            let way = if due.x < from.x { -1.0 } else { 1.0 };
            sheet.arrow(
                Layer::Off,
                "off-line",
                vec![from, due.moved((way, 0.0), -size)],
                1.8_f64.min((due.x - from.x).abs() * 0.5),
            );
        }
    }

    fn put_dot(&self, sheet: &mut Sheet, dot: &StripDot, dots_at: f64, links_at: f64) {
        if !self.holds(dot.on) {
            return;
        }
        let size = self.dot_size();
        let centre = self.spot(dot.on, dots_at);
        let foot = Spot {
            y: links_at,
            ..centre
        };
        sheet.line(Layer::Basis, "ink", vec![centre, foot]);
        let class = match (dot.off, dot.stand.basis) {
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

    /// The links and their numbers.
    fn put_links(&self, sheet: &mut Sheet, links_at: f64) {
        let (drive, id, pitch) = (self.drive, self.chain, self.pitch);
        let palette = Palette::of(drive);
        let marked = drive
            .chain(id)
            .sprockets()
            .iter()
            .any(|sprocket| sprocket.mark().is_some());
        let owner = |link| owner(drive, id, link).filter(|_| !self.blank);
        for link in self.first..self.last {
            let marks = owner(link);
            let centre = Spot {
                x: self.x_of(f64::from(link)),
                y: links_at,
            };
            sheet.put(
                if marks.is_some() {
                    Layer::Marks
                } else {
                    Layer::Chains
                },
                Shape::Link {
                    form: Form::of(drive.chain(id), link, Travel::Clockwise),
                    chain: id.index(),
                    number: link,
                    centre,
                    angle: 0.0,
                    pitch,
                    colour: marks.map(|at| palette.link(drive, at)),
                },
            );
            // A coloured link crowds out the plain numbers beside it.
            let near = (self.first..self.last)
                .any(|other| other != link && other.abs_diff(link) < 2 && owner(other).is_some());
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
    }

    /// The colour once under each coloured link, or pair of them. Gives where they end.
    fn put_colours(&self, sheet: &mut Sheet, y: f64) -> f64 {
        let mut told = false;
        if self.blank {
            return y;
        }
        for (_, sprocket) in self.drive.chain(self.chain).engagements(self.chain) {
            if let Some(mark) = sprocket.mark()
                && let Some(colour) = &mark.colour
                && self.holds(mark.link.get())
            {
                let text = short(colour, 12);
                let half = width_of(&text, SMALL, false) / 2.0;
                let x = self
                    .x_of(mark.link.get().to_f64())
                    .clamp(2.0 + half, WIDTH - 2.0 - half);
                sheet.words(
                    "must",
                    Spot { x, y: y + SMALL },
                    SMALL,
                    Anchor::Middle,
                    text,
                );
                told = true;
            }
        }
        if told { y + SMALL * 1.3 } else { y }
    }
}

fn size_of(bold: bool) -> f64 {
    if bold { NAME } else { SMALL }
}

/// Labels from left to right, each on the lowest level on which it lies over no other; and how many levels there are.
fn place(labels: Vec<Label>) -> (Vec<Placed>, usize) {
    let mut levels: Vec<f64> = Vec::new();
    let mut placed = Vec::new();
    for label in labels {
        let width = label
            .lines
            .iter()
            .map(|(text, bold)| width_of(text, size_of(*bold), *bold))
            .fold(0.0, f64::max);
        let middle = label.x.clamp(
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
        placed.push(Placed {
            label,
            middle,
            level,
        });
    }
    (placed, levels.len())
}

/// Each level is as high as its labels need.
fn heights(placed: &[Placed], levels: usize) -> Vec<f64> {
    let high = |label: &Label| {
        let lines = label.lines.iter();
        lines.map(|(_, bold)| size_of(*bold) * 1.2).sum::<f64>()
    };
    (0..levels)
        .map(|level| {
            let on_it = placed.iter().filter(|each| each.level == level);
            on_it.map(|each| high(&each.label)).fold(0.0, f64::max) + 1.5
        })
        .collect()
}

/// Puts a label on the sheet from `y` down, and a line from it to its dot.
fn put_label(sheet: &mut Sheet, placed: Placed, mut y: f64, dots_at: f64) {
    let Placed { label, middle, .. } = placed;
    for (text, bold) in label.lines {
        let size = size_of(bold);
        y += size * 1.2;
        sheet.words(
            match (label.off, bold) {
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
    let class = if label.off { "off-line" } else { "leader" };
    sheet.line(
        Layer::Basis,
        class,
        vec![
            Spot { x: middle, y },
            Spot {
                x: label.x,
                y: dots_at,
            },
        ],
    );
}
