//! Where the names of shafts stand on the moving picture: in their sprockets, or beside them.

use super::picture::{LinkPlace, Picture, SprocketPlace, on_page};
use crate::drive::model::Drive;
use crate::plane::geometry::{Travel, Vec2};
use crate::render::svg::{Area, Spot, Svg, width_of};

/// The side of a link on which its number is free, as a unit vector on the page: outside the loop, but where the outside of the
/// chain runs on a sprocket.
pub(super) fn free_side(drive: &Drive, picture: &Picture, link: &LinkPlace) -> (f64, f64) {
    let (begin, end, middle) = (on_page(link.begin), on_page(link.end), link.middle());
    let outside = picture.sprockets.iter().any(|sprocket| {
        drive.sprocket(sprocket.stand.at).outside()
            && middle.distance(sprocket.centre) < sprocket.radius + 2.0 * picture.pitch
    });
    let way = match (picture.travel, outside) {
        (Travel::Clockwise, false) | (Travel::CounterClockwise, true) => 1.0,
        _ => -1.0,
    };
    let (dx, dy) = (end.x - begin.x, end.y - begin.y);
    let out = way / libm::hypot(dx, dy);
    (dy * out, -dx * out)
}

/// How far from the middle of its link a number stands.
pub(super) fn number_out(picture: &Picture, letter: f64) -> f64 {
    picture.pitch * 0.5 + letter * 0.85
}

/// Writes the name of every shaft once. `sprockets`: the largest first; the smallest of a shaft carries the name.
pub(super) fn write_names(
    svg: &mut Svg,
    drive: &Drive,
    pictures: &[Picture],
    sprockets: &[(&Picture, &SprocketPlace)],
    letter: f64,
    page: Area,
) {
    // Names keep off the numbers of coloured links in the timed position and off each other.
    let mut taken: Vec<Area> = pictures
        .iter()
        .flat_map(|picture| picture.links.iter().map(move |link| (picture, link)))
        .filter(|(_, link)| link.marks.is_some())
        .map(|(picture, link)| {
            let out = number_out(picture, letter);
            let at = on_page(link.middle()).moved(free_side(drive, picture, link), out);
            let wide = width_of(&link.number.to_string(), letter, true);
            Area::around(at, wide + letter * 0.6, letter * 1.4)
        })
        .collect();
    let mut named = Vec::new();
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
            on_page(sprocket.centre)
        } else {
            beside(sprockets, sprocket, &name, &taken, page)
        };
        taken.push(Area::around(at, name.wide, name.high));
        name.write(svg, at);
    }
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

    fn write(&self, svg: &mut Svg, at: Spot) {
        for (row, line) in (0_u32..).zip(&self.lines) {
            let middle = (f64::from(row) + 0.5) * self.size * 1.05 - self.high / 2.0;
            svg.element("text")
                .class("name")
                .at(at.x, at.y + middle)
                .set("dy", ".36em")
                .set("font-size", self.size)
                .text(line.trim());
        }
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
    let centre = on_page(of.centre);
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
            .filter(|link| area.distance(on_page(link.middle())) < name.size * 0.3)
            .count();
        let bodies = sprockets
            .iter()
            .filter(|(_, other)| area.distance(on_page(other.centre)) < other.radius)
            .count();
        let words = taken.iter().filter(|other| other.overlaps(area)).count();
        let cut = usize::from(!page.holds(area));
        links + 6 * bodies + 60 * words + 100 * cut
    };
    // Close by, and further out only where that is much freer.
    let places = [(0.4, 0), (1.5, 4), (2.6, 8)]
        .into_iter()
        .flat_map(|(gap, far)| {
            (0..16_u32).map(move |step| (Vec2::from_clock(f64::from(step) * 22.5), gap, far))
        });
    places
        .map(|(way, gap, far)| {
            let out = radius + name.size * gap;
            let at = Spot {
                x: centre.x + way.x * (out + name.wide / 2.0),
                y: centre.y - way.y * (out + name.high / 2.0),
            };
            (clutter(at) + far, at)
        })
        .min_by_key(|(clutter, _)| *clutter)
        .map(|(_, at)| at)
        .unwrap_or(centre)
}
