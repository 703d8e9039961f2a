//! The drive as a picture whose parts can be moved: as SVG in millimetres of the engine, y down, with
//! a name on every part, and the tables by which a page places them. The tables hold every place; a page
//! picks from them.

use super::colour::Palette;
use super::picture::{Picture, ShoePlace, SprocketPlace, track};
use super::sheet::{Area, Spot, number, path_words, width_of};
use super::svg::{escaped, write_link};
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Travel, Vec2};
use crate::timing::pose::Pose;
use crate::units::quantity::{OutOfRange, Turns};
use std::fmt::Write as _;

/// Points of a chain's track for every link. At eight the chord of the smallest sprocket lies within a
/// hundredth of a millimetre of its arc.
const PER_LINK: u16 = 8;

/// The moving picture.
pub(in crate::render) struct Live {
    /// The `svg` element; empty if no chain has a place.
    pub(in crate::render) svg: String,
    /// How parts move, in the order of [`Drive::chains`]; `None` where a chain has no place.
    pub(in crate::render) tracks: Vec<Option<Track>>,
    /// How sprockets stand in the timed position, in the order of [`Drive::engagements`].
    pub(in crate::render) parts: Vec<Option<Part>>,
    /// What the spec would have to say to place the other chains.
    pub(in crate::render) missing: Vec<String>,
    /// What the picture's signs mean: class of the sign, words.
    pub(in crate::render) key: Vec<(String, String)>,
}

/// The way of one chain.
pub(in crate::render) struct Track {
    /// x and y by turns, beginning where the middle of link 0 lies in the timed position.
    pub(in crate::render) points: Vec<f64>,
    /// Points for every link.
    pub(in crate::render) per_link: u16,
    /// For each point the side on which a number is beside the chain and not on a sprocket: +1 to the left
    /// of the travel on the page, -1 to the right.
    pub(in crate::render) sides: Vec<i8>,
}

/// One sprocket.
#[derive(Clone, Copy)]
pub(in crate::render) struct Part {
    /// Clock angle of its dot (of a tooth, if it has none) in the timed position.
    pub(in crate::render) clock: f64,
    /// +1 if it turns clockwise, -1 if not.
    pub(in crate::render) sign: f64,
}

/// Two decimals: a hundredth of a millimetre.
fn cut(value: f64) -> f64 {
    // Adding zero makes one of minus zero.
    (value * 100.0).round() / 100.0 + 0.0
}

/// The picture in the timed position, hung right.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub(in crate::render) fn live(drive: &Drive) -> Result<Live, OutOfRange> {
    let pose = Pose::slipped(drive, Turns::ZERO, &[])?;
    let mut live = Live {
        svg: String::new(),
        tracks: Vec::new(),
        parts: vec![None; drive.engagements().count()],
        missing: Vec::new(),
        key: Vec::new(),
    };
    let mut pictures = Vec::new();
    for (id, chain) in drive.chains() {
        let both = Picture::new(drive, &pose, id)
            .and_then(|picture| Ok((picture, track(drive, id, PER_LINK)?)));
        match both {
            Ok((picture, points)) => {
                for sprocket in &picture.sprockets {
                    live.parts[drive.index(sprocket.stand.at)] = Some(Part {
                        clock: sprocket.tooth,
                        sign: sprocket.turns.sign(),
                    });
                }
                live.tracks.push(Some(Track {
                    points: points
                        .iter()
                        .flat_map(|point| [cut(point.x), cut(-point.y)])
                        .collect(),
                    per_link: PER_LINK,
                    sides: points
                        .iter()
                        .map(|point| side(drive, &picture, *point))
                        .collect(),
                }));
                pictures.push(picture);
            }
            Err(why) => {
                live.tracks.push(None);
                live.missing
                    .push(format!("Chain {} is not drawn: {why}.", chain.name()));
            }
        }
    }
    if !pictures.is_empty() {
        // Writing to a String cannot fail.
        let _ = write(&mut live.svg, drive, &pictures);
        live.key = key(drive, &pictures);
    }
    Ok(live)
}

/// The outside of the loop is free, but where the outside of the chain runs on a sprocket.
fn side(drive: &Drive, picture: &Picture, point: Point) -> i8 {
    let outside = picture.sprockets.iter().any(|sprocket| {
        drive.sprocket(sprocket.stand.at).outside()
            && point.distance(sprocket.centre) < sprocket.radius + 2.0 * picture.pitch
    });
    match (picture.travel, outside) {
        (Travel::Clockwise, false) | (Travel::CounterClockwise, true) => 1,
        _ => -1,
    }
}

fn key(drive: &Drive, pictures: &[Picture]) -> Vec<(String, String)> {
    let mut key = vec![
        ("dot".to_owned(), "dot on a sprocket".to_owned()),
        (
            "off".to_owned(),
            "dot that is off, and the dashed ring where it belongs".to_owned(),
        ),
    ];
    for (name, colour) in Palette::of(drive).colours() {
        let mut sign = String::new();
        let _ = write_link(&mut sign, true, 0, 8.0, Some(colour));
        let bars = colour.bars;
        let word = if bars == 1 { "bar" } else { "bars" };
        let what = name.unwrap_or("coloured");
        key.push((
            sign,
            format!("{what} link, {bars} {word}, its number beside it"),
        ));
    }
    let shoes = || pictures.iter().flat_map(|picture| &picture.shoes);
    if shoes().any(|shoe| shoe.tensioner.is_none()) {
        key.push(("guide".to_owned(), "fixed guide".to_owned()));
    }
    if shoes().any(|shoe| shoe.tensioner.is_some()) {
        key.push((
            "tensioner".to_owned(),
            "tensioner and its plunger".to_owned(),
        ));
    }
    key
}

fn spot(point: Point) -> Spot {
    Spot {
        x: point.x,
        y: -point.y,
    }
}

/// On the page, from the centre of a wheel: `radius` away at a clock angle.
fn clock(centre: Point, degrees: f64, radius: f64) -> Spot {
    spot(centre + Vec2::from_clock(degrees) * radius)
}

/// Left, top, right, bottom.
fn bounds(pictures: &[Picture]) -> [f64; 4] {
    let mut all = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    let mut take = |at: Spot, around: f64| {
        all[0] = all[0].min(at.x - around);
        all[1] = all[1].min(at.y - around);
        all[2] = all[2].max(at.x + around);
        all[3] = all[3].max(at.y + around);
    };
    for picture in pictures {
        for link in &picture.links {
            take(spot(link.begin), picture.pitch);
        }
        for sprocket in &picture.sprockets {
            take(spot(sprocket.centre), sprocket.radius + picture.pitch);
        }
        for shoe in &picture.shoes {
            if let Some(tensioner) = shoe.tensioner {
                let way = Vec2::from_clock(tensioner.pushes);
                take(spot(shoe_middle(shoe) - way * (picture.pitch * 4.5)), 0.0);
            }
        }
    }
    all
}

fn shoe_middle(shoe: &ShoePlace) -> Point {
    let at = match (shoe.arc, shoe.tensioner) {
        (Some((first, last)), _) => f64::midpoint(first, last),
        (None, Some(tensioner)) => tensioner.pushes,
        (None, None) => 0.0,
    };
    shoe.centre + Vec2::from_clock(at) * shoe.radius
}

fn write(out: &mut String, drive: &Drive, pictures: &[Picture]) -> std::fmt::Result {
    let [left, top, right, bottom] = bounds(pictures);
    // Letters that can be read on a phone: as many of them side by side as a line of its text has.
    let letter = ((right - left) / 26.0).max((bottom - top) / 40.0);
    let margin = letter * 2.4;
    write!(
        out,
        "<svg id=\"drive\" viewBox=\"{} {} {} {}\" role=\"img\" aria-labelledby=\"drive-title drive-words\">\
         <title id=\"drive-title\">{}: timing drive</title>\
         <defs><pattern id=\"hatch\" width=\"3\" height=\"3\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <rect class=\"hatch-ground\" width=\"3\" height=\"3\"/><rect class=\"hatch-line\" width=\"1.3\" height=\"3\"/></pattern></defs>",
        number(left - margin),
        number(top - margin),
        number(right - left + 2.0 * margin),
        number(bottom - top + 2.0 * margin),
        escaped(drive.engine()),
    )?;
    for picture in pictures {
        for shoe in &picture.shoes {
            write_shoe(out, picture, shoe)?;
        }
    }
    let mut sprockets: Vec<(&Picture, &SprocketPlace)> = pictures
        .iter()
        .flat_map(|picture| picture.sprockets.iter().map(move |each| (picture, each)))
        .collect();
    // The smaller of two on one shaft is drawn over the larger.
    sprockets.sort_by(|(_, one), (_, other)| other.radius.total_cmp(&one.radius));
    for (picture, sprocket) in &sprockets {
        write_body(out, drive, picture, sprocket)?;
    }
    let palette = Palette::of(drive);
    for picture in pictures {
        for coloured in [false, true] {
            for link in picture
                .links
                .iter()
                .filter(|l| l.marks.is_some() == coloured)
            {
                let (begin, end) = (spot(link.begin), spot(link.end));
                let middle = begin.towards(end, 0.5);
                write!(
                    out,
                    "<g class=\"link\" data-chain=\"{}\" data-link=\"{}\" transform=\"translate({} {}) rotate({})\">",
                    picture.chain.index(),
                    link.number,
                    number(middle.x),
                    number(middle.y),
                    number((end.y - begin.y).atan2(end.x - begin.x).to_degrees())
                )?;
                let colour = link.marks.map(|at| palette.link(drive, at));
                write_link(
                    out,
                    link.number % 2 == 0,
                    picture.chain.index(),
                    picture.pitch,
                    colour,
                )?;
                out.push_str("</g>");
            }
        }
    }
    let mut named = Vec::new();
    let page = Area {
        left: left - margin,
        top: top - margin,
        right: right + margin,
        bottom: bottom + margin,
    };
    // Names keep off the numbers of coloured links in the timed position, and off each other.
    let mut taken: Vec<Area> = Vec::new();
    for picture in pictures {
        for link in picture.links.iter().filter(|link| link.marks.is_some()) {
            taken.push(Area::around(
                spot(link.middle()),
                letter * 3.0,
                letter * 3.0,
            ));
        }
    }
    // The smallest of a shaft carries the name.
    for (picture, sprocket) in sprockets.iter().rev() {
        let shaft = drive.sprocket(sprocket.stand.at).shaft();
        if named.contains(&shaft) {
            continue;
        }
        named.push(shaft);
        let name = Name::new(drive.shaft(shaft).name(), letter);
        let alone = drive.shaft(shaft).engagements().len() == 1;
        let fits = name.wide.max(name.high) / 2.0 < sprocket.radius - picture.pitch * 0.4;
        let at = if alone && fits {
            spot(sprocket.centre)
        } else {
            beside(&sprockets, sprocket, &name, &taken, page)
        };
        taken.push(Area::around(at, name.wide, name.high));
        name.write(out, at)?;
    }
    for (picture, sprocket) in &sprockets {
        write_dot(out, drive, picture, sprocket, letter)?;
    }
    for picture in pictures {
        for link in picture.links.iter().filter(|link| link.marks.is_some()) {
            write!(
                out,
                "<text class=\"number\" data-chain=\"{}\" data-link=\"{}\" font-size=\"{}\" dy=\".36em\" data-out=\"{}\">{}</text>",
                picture.chain.index(),
                link.number,
                number(letter),
                number(picture.pitch * 0.5 + letter * 0.85),
                link.number
            )?;
        }
    }
    out.push_str("</svg>");
    Ok(())
}

fn dot_size(picture: &Picture, letter: f64) -> f64 {
    (picture.pitch * 0.32).max(letter * 0.27)
}

/// From the centre of a sprocket to its dot.
fn dot_circle(picture: &Picture, sprocket: &SprocketPlace, letter: f64) -> f64 {
    let size = dot_size(picture, letter);
    (sprocket.radius - picture.pitch * 0.62 - size).max(size)
}

/// A sprocket about its centre, its dot upwards, turned to where it stands.
fn write_body(
    out: &mut String,
    drive: &Drive,
    picture: &Picture,
    sprocket: &SprocketPlace,
) -> std::fmt::Result {
    let step = 360.0 / f64::from(sprocket.teeth);
    let centre = Point { x: 0.0, y: 0.0 };
    let mut outline = Vec::new();
    for tooth in 0..sprocket.teeth {
        for (off, high) in [
            (-0.5, -0.3),
            (-0.33, -0.26),
            (-0.12, 0.28),
            (0.12, 0.28),
            (0.33, -0.26),
        ] {
            outline.push(clock(
                centre,
                (f64::from(tooth) + off) * step,
                sprocket.radius + high * picture.pitch,
            ));
        }
    }
    let hub = sprocket.radius * 0.16;
    let hole = number(sprocket.radius * 0.62);
    write!(
        out,
        "<g class=\"sprocket\" data-sprocket=\"{}\" {}><path class=\"body\" d=\"{}\"/><circle class=\"web\" r=\"{hole}\"/><path class=\"web\" d=\"M0 -{hole}V-{}M0 {hole}V{}\"/></g>",
        drive.index(sprocket.stand.at),
        placed(sprocket),
        path_words(&outline, true),
        number(hub),
        number(hub),
    )
}

fn placed(sprocket: &SprocketPlace) -> String {
    let at = spot(sprocket.centre);
    format!(
        "data-x=\"{0}\" data-y=\"{1}\" transform=\"translate({0} {1}) rotate({2})\"",
        number(at.x),
        number(at.y),
        number(sprocket.tooth)
    )
}

/// The dot, the ring where it belongs, and the cross that says that it is off.
fn write_dot(
    out: &mut String,
    drive: &Drive,
    picture: &Picture,
    sprocket: &SprocketPlace,
    letter: f64,
) -> std::fmt::Result {
    if sprocket.dot.is_none() {
        return Ok(());
    }
    let index = drive.index(sprocket.stand.at);
    let size = dot_size(picture, letter);
    let at = number(-dot_circle(picture, sprocket, letter));
    let (ring, dot, cross) = (number(size * 1.45), number(size), size * 0.6);
    let edge = number(-(sprocket.radius - picture.pitch * 0.4));
    write!(
        out,
        "<g class=\"due\" data-due=\"{index}\" {}><circle class=\"ring\" cy=\"{at}\" r=\"{ring}\"/></g>",
        placed(sprocket)
    )?;
    write!(
        out,
        "<g class=\"mark\" data-mark=\"{index}\" {}><path class=\"tick\" d=\"M0 {at}V{edge}\"/><circle class=\"dot\" cy=\"{at}\" r=\"{dot}\"/><path class=\"cross\" d=\"M-{c} -{c}L{c} {c}M-{c} {c}L{c} -{c}\" transform=\"translate(0 {at})\"/>",
        placed(sprocket),
        c = number(cross)
    )?;
    let of = drive.sprocket(sprocket.stand.at).shaft();
    let marks = drive.shaft(of).engagements().iter();
    // Two dots on one shaft are told apart by the names of their chains.
    let several = marks.filter(|at| drive.sprocket(**at).is_marked()).count() > 1;
    if several && dot_circle(picture, sprocket, letter) > letter * 2.5 {
        let below = number(-dot_circle(picture, sprocket, letter) + size * 1.2 + letter * 0.7);
        write!(
            out,
            "<text class=\"of-chain\" y=\"{below}\" font-size=\"{}\">{}</text>",
            number(letter * 0.7),
            escaped(drive.chain(sprocket.stand.at.chain).name())
        )?;
    }
    out.push_str("</g>");
    Ok(())
}

/// The name of a shaft, broken where it has a hyphen or a space.
struct Name {
    lines: Vec<String>,
    size: f64,
    wide: f64,
    high: f64,
}

impl Name {
    fn new(name: &str, size: f64) -> Self {
        let mut lines: Vec<String> = Vec::new();
        for piece in name.split_inclusive(['-', ' ', '_']) {
            match lines.last_mut() {
                Some(line) if line.chars().count() + piece.chars().count() <= 8 => {
                    line.push_str(piece);
                }
                _ => lines.push(piece.to_owned()),
            }
        }
        lines.truncate(3);
        let wide = lines
            .iter()
            .map(|line| width_of(line.trim(), size, true))
            .fold(size, f64::max);
        let high = f64::from(u32::try_from(lines.len()).unwrap_or(1)) * size * 1.05;
        Self {
            lines,
            size,
            wide,
            high,
        }
    }

    fn write(&self, out: &mut String, at: Spot) -> std::fmt::Result {
        for (row, line) in (0_u32..).zip(&self.lines) {
            let middle = (f64::from(row) + 0.5) * self.size * 1.05 - self.high / 2.0;
            write!(
                out,
                "<text class=\"name\" x=\"{}\" y=\"{}\" dy=\".36em\" font-size=\"{}\">{}</text>",
                number(at.x),
                number(at.y + middle),
                number(self.size),
                escaped(line.trim())
            )?;
        }
        Ok(())
    }
}

/// Beside a sprocket that has no room for its name: where the fewest links, sprockets and words lie.
fn beside(
    sprockets: &[(&Picture, &SprocketPlace)],
    of: &SprocketPlace,
    name: &Name,
    taken: &[Area],
    page: Area,
) -> Spot {
    let centre = spot(of.centre);
    let radius = sprockets
        .iter()
        .filter(|(_, other)| other.centre.distance(of.centre) < 0.01)
        .map(|(picture, other)| other.radius + picture.pitch)
        .fold(0.0, f64::max);
    let clutter = |at: Spot| {
        let area = Area::around(at, name.wide, name.high).grown(name.size * 0.2);
        let links = sprockets
            .iter()
            .flat_map(|(picture, _)| &picture.links)
            .filter(|link| area.distance(spot(link.middle())) < name.size * 0.3)
            .count();
        let bodies = sprockets
            .iter()
            .filter(|(_, other)| area.distance(spot(other.centre)) < other.radius)
            .count();
        let words = taken.iter().filter(|other| other.overlaps(area)).count();
        let cut = usize::from(!page.holds(area));
        links + 6 * bodies + 15 * words + 100 * cut
    };
    (0..16_u32)
        .map(|step| {
            let way = Vec2::from_clock(f64::from(step) * 22.5);
            Spot {
                x: centre.x + way.x * (radius + name.size * 0.4 + name.wide / 2.0),
                y: centre.y - way.y * (radius + name.size * 0.4 + name.high / 2.0),
            }
        })
        .min_by_key(|at| clutter(*at))
        .unwrap_or(centre)
}

fn write_shoe(out: &mut String, picture: &Picture, shoe: &ShoePlace) -> std::fmt::Result {
    let pitch = picture.pitch;
    let (first, last) = match shoe.arc {
        Some((first, last)) => {
            let more = (last - first).signum() * (pitch / shoe.radius).to_degrees();
            (first - more, last + more)
        }
        None => {
            let middle = (shoe_middle(shoe) - shoe.centre).to_clock();
            (middle - 12.0, middle + 12.0)
        }
    };
    let near = shoe.radius - pitch * 0.42;
    let far = near - pitch * 0.8;
    if let Some(tensioner) = shoe.tensioner {
        let way = Vec2::from_clock(tensioner.pushes);
        let side = Vec2::from_clock(tensioner.pushes + 90.0);
        let back = shoe_middle(shoe) - way * (pitch * 1.1);
        let block = |from: f64, to: f64, half: f64| {
            let corner = |along: f64, across: f64| spot(back - way * along + side * across);
            path_words(
                &[
                    corner(from, half),
                    corner(to, half),
                    corner(to, -half),
                    corner(from, -half),
                ],
                true,
            )
        };
        write!(
            out,
            "<path class=\"plunger\" d=\"{}\"/><path class=\"plunger\" d=\"{}\"/>",
            block(0.0, pitch * 1.6, pitch * 0.28),
            block(pitch * 1.5, pitch * 3.2, pitch * 0.7)
        )?;
    }
    let steps = 16_u32;
    let mut outline = Vec::new();
    for (radius, from, to) in [(near, first, last), (far, last, first)] {
        for step in 0..=steps {
            let part = f64::from(step) / f64::from(steps);
            outline.push(clock(shoe.centre, from + (to - from) * part, radius));
        }
    }
    let class = if shoe.tensioner.is_some() {
        "tensioner"
    } else {
        "guide"
    };
    write!(
        out,
        "<path class=\"{class}\" d=\"{}\"/>",
        path_words(&outline, true)
    )
}
