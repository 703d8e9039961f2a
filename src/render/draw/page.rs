//! The whole sheet: what it shows in words, the chains, what the marks mean.

use super::caption::Caption;
use super::link::Form;
use super::look::{Look, Paper};
use super::picture::Picture;
use super::plane::REFERENCE;
use super::sheet::{Anchor, Layer, Shape, Sheet, WIDTH};
use super::{colour::Palette, plane, strip};
use crate::drive::ids::ChainId;
use crate::drive::model::Drive;
use crate::render::svg::{Area, LinkColour, Spot, short, width_of, wrapped};
use crate::render::words::band::Band;
use crate::timing::pose::{Basis, Pose};
use crate::units::quantity::OutOfRange;

/// What can be printed on of a sheet of paper, in units of which its width has 190; of A4, where none is named.
fn height(paper: Option<Paper>) -> f64 {
    let (width, height) = paper.unwrap_or(Paper::A4).printable();
    height * WIDTH / width
}

/// From line to line of what a pupil fills in.
const ANSWER: f64 = 8.0;

const SMALL: f64 = 3.5;
const LEAD: f64 = 1.3;

/// One chain: in its place, or the reason why it has none.
pub(super) type Laid = (ChainId, Result<Picture, String>);

pub(super) fn page(
    drive: &Drive,
    pose: &Pose,
    look: Look,
    caption: &Caption,
    chains: Vec<Laid>,
) -> Result<Sheet, OutOfRange> {
    let mut sheet = Sheet::new();
    let mut y = header(&mut sheet, caption);
    let mut pictures = Vec::new();
    let mut strips = Vec::new();
    let mut missing: Vec<String> = Vec::new();
    for (id, laid) in chains {
        match laid {
            Ok(picture) => pictures.push(picture),
            Err(why) => {
                strips.push(id);
                // What a spec lacks is nothing to a pupil, and names shafts.
                if !look.blank {
                    missing.push(format!(
                        "{} {} is drawn as a strip: {why}.",
                        Band::of(drive.chain(id)).title,
                        drive.chain(id).name()
                    ));
                }
            }
        }
    }
    let mut key = if look.blank {
        key_of_worksheet(&pictures)
    } else {
        key(drive, pose, &pictures)
    };
    key.retain(|entry| !entry.text.is_empty());
    let answers = if look.blank { answers(drive) } else { 0 };
    let foot = foot_height(&key, caption, &missing)
        + f64::from(u32::try_from(answers).unwrap_or(0)) * ANSWER;
    if !pictures.is_empty() {
        let rest = (height(look.paper) - y - foot).max(120.0);
        y = plane::put(&mut sheet, drive, look, &pictures, y, rest)?;
    }
    for id in strips {
        y = strip::put(&mut sheet, drive, pose, look, id, y)?;
    }
    y = put_answers(&mut sheet, answers, y);
    sheet.height = footer(
        &mut sheet,
        Form::alone(drive),
        key,
        caption,
        &missing,
        y + 1.0,
    );
    Ok(sheet)
}

/// How many lines there are to write on: one for every dot, and one for the verdict.
fn answers(drive: &Drive) -> usize {
    drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.is_marked())
        .count()
        .min(8)
        + 1
}

fn put_answers(sheet: &mut Sheet, count: usize, mut y: f64) -> f64 {
    for line in 0..count {
        y += ANSWER;
        let text = if line + 1 < count {
            "Dot of __________________ : on link ________ , belongs on ________ ; ________ teeth ahead / behind"
        } else {
            "In time / out of time / not proven, because ____________________________________________"
        };
        sheet.words(
            "must",
            Spot { x: 4.0, y: y - 2.0 },
            SMALL,
            Anchor::Start,
            text,
        );
    }
    y
}

/// What the signs of a worksheet mean: only what its pupil is not to find.
fn key_of_worksheet(pictures: &[Picture]) -> Vec<Entry> {
    let signs: &[(Sign, &str)] = if pictures.is_empty() {
        &[(Sign::Dot("dot"), "dot on a sprocket")]
    } else {
        &[
            (Sign::Dot("dot"), "dot on a sprocket"),
            (Sign::Reference, "mark on the engine"),
            (Sign::Number, "number of a link"),
        ]
    };
    signs
        .iter()
        .map(|(sign, text)| Entry {
            sign: *sign,
            text: (*text).to_owned(),
        })
        .collect()
}

fn header(sheet: &mut Sheet, caption: &Caption) -> f64 {
    let width = WIDTH - 8.0;
    let mut y = 2.0;
    let say = |sheet: &mut Sheet, class, size: f64, bold, text: &str, y: &mut f64| {
        for line in wrapped(text, size, bold, width) {
            *y += size * LEAD;
            let at = Spot {
                x: 4.0,
                y: *y - size * 0.25,
            };
            sheet.words(class, at, size, Anchor::Start, line);
        }
    };
    say(sheet, "title must", 6.4, true, &caption.engine, &mut y);
    say(sheet, "must", 4.0, false, &caption.stands.join(" "), &mut y);
    y += 1.5;
    let top = y;
    y += 0.8;
    let class = if caption.alarm {
        "must off-word"
    } else {
        "must bold"
    };
    say(sheet, class, 5.2, true, &caption.headline, &mut y);
    // The first lines are the ones that count; the command line tells all.
    for line in caption.lines.iter().take(6) {
        say(sheet, "must", 4.0, false, line, &mut y);
    }
    if caption.lines.len() > 6 {
        say(
            sheet,
            "must",
            4.0,
            false,
            "And more: see the verdict in words.",
            &mut y,
        );
    }
    y += 1.2;
    let class = if caption.alarm { "off-frame" } else { "frame" };
    sheet.put(
        Layer::Basis,
        Shape::Box {
            class,
            area: Area {
                left: 1.5,
                top,
                right: WIDTH - 1.5,
                bottom: y,
            },
        },
    );
    y + 1.0
}

/// A sign and what it means.
struct Entry {
    sign: Sign,
    text: String,
}

#[derive(Clone, Copy)]
enum Sign {
    Reference,
    Dot(&'static str),
    Ring,
    OffLink,
    Link(LinkColour),
    Line(&'static str),
    Band(&'static str),
    Turning,
    Number,
}

fn key(drive: &Drive, pose: &Pose, pictures: &[Picture]) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut add = |sign, text: &str| {
        entries.push(Entry {
            sign,
            text: text.to_owned(),
        });
    };
    let seen_off = |off: &dyn Fn(&crate::timing::pose::SprocketPose) -> bool| {
        pose.sprockets()
            .iter()
            .any(|stand| stand.basis != Basis::Unseen && off(stand))
    };
    add(Sign::Dot("dot"), "dot on a sprocket");
    let mut drawn = pictures.iter().flat_map(|picture| &picture.sprockets);
    if drawn.any(|sprocket| sprocket.dot.is_some()) {
        add(Sign::Reference, "mark on the engine");
    }
    if pose
        .sprockets()
        .iter()
        .any(|stand| stand.basis == Basis::Unseen && drive.sprocket(stand.at).is_marked())
    {
        add(Sign::Dot("dot-unseen"), "dot not looked at");
    }
    let (link, noun) = (Band::all(drive).link, Band::all(drive).coloured_noun());
    if seen_off(&crate::timing::pose::SprocketPose::is_off) {
        add(Sign::Dot("dot-off"), "dot that is off");
    }
    if seen_off(&|stand| !stand.ahead.is_zero()) {
        add(Sign::Ring, "where that dot belongs");
    }
    if !pictures.is_empty() && seen_off(&|stand| !stand.seat.is_zero() && stand.link_due.is_some())
    {
        add(Sign::OffLink, &format!("{link} that belongs on it"));
    }
    for (name, colour) in Palette::of(drive).colours() {
        let bars = colour.bars;
        let bars_word = if bars == 1 { "bar" } else { "bars" };
        let what = match name {
            Some(name) => short(name, 18),
            None => "coloured".to_owned(),
        };
        add(
            Sign::Link(colour),
            &format!("{what} {noun}: {bars} {bars_word}"),
        );
    }
    if drive
        .engagements()
        .any(|(_, sprocket)| sprocket.mark().is_some())
    {
        add(Sign::Number, &format!("number of a {link}"));
    }
    if !pictures.is_empty() {
        add(Sign::Turning, "way a sprocket turns");
        add(Sign::Line("tight"), "tight strand, way it travels");
        add(Sign::Line("slack"), "slack strand, way it travels");
        let shoes = || pictures.iter().flat_map(|picture| &picture.shoes);
        if shoes().any(|shoe| shoe.tensioner.is_none()) {
            add(Sign::Band("guide"), "fixed guide");
        }
        if shoes().any(|shoe| shoe.tensioner.is_some()) {
            add(Sign::Band("tensioner"), "tensioner; scale: its stroke");
        }
    }
    entries
}

/// Rows of the key: three columns.
fn key_rows(key: &[Entry]) -> f64 {
    f64::from(u32::try_from(key.len().div_ceil(3)).unwrap_or(0))
}

const KEY_LINE: f64 = 5.4;
const CAUTION: f64 = 3.0;

fn foot_lines(caption: &Caption, missing: &[String]) -> (Vec<String>, Vec<String>) {
    let width = WIDTH - 8.0;
    let notes = missing
        .iter()
        .flat_map(|note| wrapped(note, SMALL, false, width))
        .collect();
    let cautions = wrapped(&caption.cautions.join(" "), CAUTION, false, width);
    (notes, cautions)
}

fn foot_height(key: &[Entry], caption: &Caption, missing: &[String]) -> f64 {
    let (notes, cautions) = foot_lines(caption, missing);
    let count = |lines: &[String]| f64::from(u32::try_from(lines.len()).unwrap_or(0));
    count(&notes) * SMALL * LEAD
        + count(&cautions) * CAUTION * LEAD
        + key_rows(key) * KEY_LINE
        + 8.0
}

fn footer(
    sheet: &mut Sheet,
    form: Form,
    key: Vec<Entry>,
    caption: &Caption,
    missing: &[String],
    top: f64,
) -> f64 {
    let mut y = top;
    let (notes, cautions) = foot_lines(caption, missing);
    for line in notes {
        y += SMALL * LEAD;
        sheet.words(
            "must",
            Spot { x: 4.0, y: y - 0.8 },
            SMALL,
            Anchor::Start,
            line,
        );
    }
    y += 1.0;
    sheet.line(
        Layer::Basis,
        "rule",
        vec![Spot { x: 2.0, y }, Spot { x: WIDTH - 2.0, y }],
    );
    let rows = key_rows(&key);
    let column = (WIDTH - 6.0) / 3.0;
    for (place, entry) in key.into_iter().enumerate() {
        let (across, down) = (place % 3, place / 3);
        let x = 4.0 + column * f64::from(u32::try_from(across).unwrap_or(0));
        let middle = y + KEY_LINE * (f64::from(u32::try_from(down).unwrap_or(0)) + 0.75);
        sign(
            sheet,
            form,
            &entry.sign,
            Spot {
                x: x + 4.0,
                y: middle,
            },
        );
        // A word that is too wide for its column is written smaller, not over the next one.
        let room = column - 11.0;
        let wide = width_of(&entry.text, SMALL, false);
        let size = if wide > room {
            (SMALL * room / wide).max(2.4)
        } else {
            SMALL
        };
        sheet.words(
            "must",
            Spot {
                x: x + 9.5,
                y: middle + size * 0.35,
            },
            size,
            Anchor::Start,
            entry.text,
        );
    }
    y += rows * KEY_LINE + 2.0;
    for line in cautions {
        y += CAUTION * LEAD;
        sheet.words(
            "must",
            Spot { x: 4.0, y: y - 0.5 },
            CAUTION,
            Anchor::Start,
            line,
        );
    }
    y + 3.0
}

fn sign(sheet: &mut Sheet, form: Form, sign: &Sign, at: Spot) {
    let aside = |by: f64| Spot {
        x: at.x + by,
        y: at.y,
    };
    match sign {
        Sign::Dot(class) => {
            sheet.disc(Layer::Marks, class, at, 1.5);
            if *class == "dot-off" {
                for (x, y) in [(0.7, 0.7), (0.7, -0.7)] {
                    let cross = vec![at.moved((x, y), -0.95), at.moved((x, y), 0.95)];
                    sheet.line(Layer::Off, "dot-cross", cross);
                }
            }
        }
        Sign::Reference => {
            let tip = at.moved((0.0, 1.0), REFERENCE * 0.5);
            plane::put_reference(sheet, tip, (0.0, -1.0));
        }
        Sign::Ring => sheet.disc(Layer::Marks, "off-ring", at, 1.5),
        Sign::OffLink => {
            let area = Area::around(at, 6.0, 2.6);
            sheet.area(Layer::Marks, "off-ring", area.corners());
        }
        Sign::Link(colour) => {
            sheet.put(
                Layer::Marks,
                Shape::KeyLink {
                    form,
                    centre: at,
                    pitch: 4.4,
                    colour: *colour,
                },
            );
        }
        Sign::Line(class) => sheet.arrow(Layer::Marks, class, vec![aside(-3.6), aside(3.6)], 2.0),
        Sign::Turning => {
            let points = (0..=12_u32)
                .map(|step| {
                    let turn = f64::from(step) * 12.0 - 72.0;
                    let (sin, cos) = libm::sincos(turn.to_radians());
                    Spot {
                        x: at.x + sin * 3.4,
                        y: at.y + 2.0 - cos * 3.0,
                    }
                })
                .collect();
            sheet.arrow(Layer::Marks, "turning", points, 1.8);
        }
        Sign::Band(class) => {
            let area = Area::around(at, 7.0, 2.4);
            sheet.area(Layer::Marks, class, area.corners());
        }
        Sign::Number => sheet.words(
            "num",
            Spot {
                x: at.x,
                y: at.y + 1.1,
            },
            3.2,
            Anchor::Middle,
            "10",
        ),
    }
}
