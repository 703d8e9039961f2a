//! The moving picture as SVG: every part in the timed position, under the name by which the page finds it.

use super::colour::Palette;
use super::link::{Form, write_link};
use super::live_names::{number_out, write_names};
use super::picture::{
    LinkPlace, Picture, ShoePlace, SprocketPlace, extent, largest_first, on_page,
};
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Vec2};
use crate::render::svg::{Path, Spot, Svg};

/// A hundredth of a millimetre.
pub(super) const DECIMALS: usize = 2;

/// What tensioners are filled with.
const HATCH: &str = "<defs><pattern id=\"hatch\" width=\"3\" height=\"3\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
    <rect class=\"hatch-ground\" width=\"3\" height=\"3\"/><rect class=\"hatch-line\" width=\"1.3\" height=\"3\"/></pattern></defs>";

/// On the page, from the centre of a wheel: `radius` away at a clock angle.
fn clock(centre: Point, degrees: f64, radius: f64) -> Spot {
    on_page(centre + Vec2::from_clock(degrees) * radius)
}

pub(super) fn write(svg: &mut Svg, drive: &Drive, pictures: &[Picture]) {
    let area = extent(pictures, |picture| picture.pitch * 4.5);
    // Letters that can be read on a phone: 12 px and more where the picture is 340 px wide or 540 px high.
    let letter = ((area.right - area.left) / 21.5).max((area.bottom - area.top) / 38.0);
    let page = area.grown(letter * 2.4);
    svg.element("svg")
        .set("id", "drive")
        .view_box(
            (page.left, page.top),
            (
                area.right - area.left + 2.0 * (letter * 2.4),
                area.bottom - area.top + 2.0 * (letter * 2.4),
            ),
        )
        .set("role", "img")
        .set("aria-labelledby", "drive-title drive-words")
        .open();
    svg.element("title")
        .set("id", "drive-title")
        .text(&format!("{}: timing drive", drive.engine()));
    svg.constant(HATCH);
    for picture in pictures {
        for shoe in &picture.shoes {
            write_shoe(svg, picture, shoe);
        }
    }
    let sprockets = largest_first(pictures);
    for (picture, sprocket) in &sprockets {
        write_body(svg, drive, picture, sprocket);
    }
    // Coloured links lie over the plain ones of every chain: another chain must not hide one.
    for coloured in [false, true] {
        for picture in pictures {
            write_links(svg, drive, picture, coloured);
        }
    }
    write_names(svg, drive, pictures, &sprockets, letter, page);
    for (picture, sprocket) in &sprockets {
        write_dot(svg, drive, picture, sprocket, letter);
    }
    for picture in pictures {
        write_numbers(svg, picture, letter);
    }
    svg.end("svg");
}

/// The coloured links of a chain, or its plain ones.
fn write_links(svg: &mut Svg, drive: &Drive, picture: &Picture, coloured: bool) {
    let palette = Palette::of(drive);
    let wanted = |link: &&LinkPlace| link.marks.is_some() == coloured;
    for link in picture.links.iter().filter(wanted) {
        let (begin, end) = (on_page(link.begin), on_page(link.end));
        let middle = begin.towards(end, 0.5);
        svg.element("g")
            .class("link")
            .set("data-chain", picture.chain.index())
            .set("data-link", link.number)
            .turned(
                middle.x,
                middle.y,
                libm::atan2(end.y - begin.y, end.x - begin.x).to_degrees(),
            )
            .open();
        write_link(
            svg,
            Form::of(drive.chain(picture.chain), link.number, picture.travel),
            picture.chain.index(),
            picture.pitch,
            link.marks.map(|at| palette.link(drive, at)),
        );
        svg.end("g");
    }
}

/// The numbers of coloured links; the page puts each beside its link.
fn write_numbers(svg: &mut Svg, picture: &Picture, letter: f64) {
    for link in picture.links.iter().filter(|link| link.marks.is_some()) {
        svg.element("text")
            .class("number")
            .set("data-chain", picture.chain.index())
            .set("data-link", link.number)
            .set("font-size", letter)
            .set("dy", ".36em")
            .set("data-out", number_out(picture, letter))
            .set("data-letter", letter)
            .text(&link.number.to_string());
    }
}

fn dot_size(picture: &Picture, letter: f64) -> f64 {
    (picture.pitch * 0.32).max(letter * 0.27)
}

/// From the centre of a sprocket to its dot.
fn dot_circle(picture: &Picture, sprocket: &SprocketPlace, letter: f64) -> f64 {
    let size = dot_size(picture, letter);
    (sprocket.radius - picture.pitch * 0.62 - size).max(size)
}

/// Begins a part of a sprocket, which lies about the sprocket's centre, its dot upwards, turned to where it stands.
fn open_part(
    svg: &mut Svg,
    drive: &Drive,
    sprocket: &SprocketPlace,
    class: &'static str,
    data: &'static str,
) {
    let at = on_page(sprocket.centre);
    svg.element("g")
        .class(class)
        .set(data, drive.index(sprocket.stand.at))
        .set("data-x", at.x)
        .set("data-y", at.y)
        .turned(at.x, at.y, sprocket.tooth)
        .open();
}

fn write_body(svg: &mut Svg, drive: &Drive, picture: &Picture, sprocket: &SprocketPlace) {
    let step = 360.0 / f64::from(sprocket.teeth);
    let centre = Point { x: 0.0, y: 0.0 };
    let mut outline = Vec::new();
    for tooth in 0..sprocket.teeth {
        for (off, high) in picture.tooth {
            outline.push(clock(
                centre,
                (f64::from(tooth) + off) * step,
                sprocket.radius + high * picture.pitch,
            ));
        }
    }
    let hub = sprocket.radius * 0.16;
    let hole = sprocket.radius * 0.62;
    open_part(svg, drive, sprocket, "sprocket", "data-sprocket");
    svg.element("path")
        .class("body")
        .path(&Path::along(&outline, true))
        .close();
    svg.element("circle").class("web").set("r", hole).close();
    let spoke = Path::from(0.0, -hole)
        .down_to(-hub)
        .and_from(0.0, hole)
        .down_to(hub);
    svg.element("path").class("web").path(&spoke).close();
    svg.end("g");
}

/// The dot, the ring where it belongs, and the cross that says that it is off.
fn write_dot(
    svg: &mut Svg,
    drive: &Drive,
    picture: &Picture,
    sprocket: &SprocketPlace,
    letter: f64,
) {
    if sprocket.dot.is_none() {
        return;
    }
    let size = dot_size(picture, letter);
    let circle = dot_circle(picture, sprocket, letter);
    let edge = sprocket.radius - picture.pitch * 0.4;
    open_part(svg, drive, sprocket, "due", "data-due");
    svg.element("circle")
        .class("ring")
        .set("cy", -circle)
        .set("r", size * 1.45)
        .close();
    svg.end("g");
    open_part(svg, drive, sprocket, "mark", "data-mark");
    svg.element("path")
        .class("tick")
        .path(&Path::from(0.0, -circle).down_to(-edge))
        .close();
    svg.element("circle")
        .class("dot")
        .set("cy", -circle)
        .set("r", size)
        .close();
    svg.element("path")
        .class("cross")
        .path(&Path::cross(size * 0.6))
        .moved(0.0, -circle)
        .close();
    let of = drive.sprocket(sprocket.stand.at).shaft();
    let marks = drive.shaft(of).engagements().iter();
    // Two dots on one shaft are told apart by the names of their chains.
    let several = marks.filter(|at| drive.sprocket(**at).is_marked()).count() > 1;
    if several && circle > letter * 3.5 {
        svg.element("text")
            .class("of-chain")
            .set("y", -circle + size * 1.2 + letter)
            .set("font-size", letter)
            .text(drive.chain(sprocket.stand.at.chain).name());
    }
    svg.end("g");
}

fn write_shoe(svg: &mut Svg, picture: &Picture, shoe: &ShoePlace) {
    let pitch = picture.pitch;
    if let Some(tensioner) = shoe.tensioner {
        let way = Vec2::from_clock(tensioner.pushes);
        let side = Vec2::from_clock(tensioner.pushes + 90.0);
        let back = shoe.middle() - way * (pitch * 1.1);
        let corner = |along: f64, across: f64| on_page(back - way * along + side * across);
        for (from, to, half) in [
            (0.0, pitch * 1.6, pitch * 0.28),
            (pitch * 1.5, pitch * 3.2, pitch * 0.7),
        ] {
            let block = [
                corner(from, half),
                corner(to, half),
                corner(to, -half),
                corner(from, -half),
            ];
            svg.element("path")
                .class("plunger")
                .path(&Path::along(&block, true))
                .close();
        }
    }
    let [near, far] = picture.band(shoe, pitch, pitch * 0.8);
    let outline: Vec<Spot> = near
        .into_iter()
        .chain(far.into_iter().rev())
        .map(on_page)
        .collect();
    let class = if shoe.tensioner.is_some() {
        "tensioner"
    } else {
        "guide"
    };
    svg.element("path")
        .class(class)
        .path(&Path::along(&outline, true))
        .close();
}
