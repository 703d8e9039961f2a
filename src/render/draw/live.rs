//! The drive as a picture whose parts can be moved: as SVG in millimetres of the engine, y down, with
//! a name on every part; and the places of those parts for a pose.
#![allow(
    clippy::float_arithmetic,
    reason = "exact travel becomes places of a drawing"
)]

use super::colour::Palette;
use super::link::Form;
use super::live_names::free_side;
use super::live_svg;
use super::picture::{Picture, on_page};
use crate::drive::error::CheckError;
use crate::drive::model::Drive;
use crate::render::svg::{LinkColour, Svg};
use crate::render::words::band::Band;
use crate::timing::pose::{Basis, Pose};
use crate::units::quantity::Turns;
use serde_json::{Value, json};

/// The moving picture.
pub(in crate::render) struct Live {
    /// The `svg` element; empty if no chain has a place.
    pub(in crate::render) svg: Svg,
    /// What the spec would have to say to place the other chains.
    pub(in crate::render) missing: Vec<String>,
    /// What the picture's signs mean.
    pub(in crate::render) key: Vec<(Sign, String)>,
}

/// A sign of the picture.
#[derive(Clone, Copy)]
pub(in crate::render) enum Sign {
    Dot,
    /// A dot that is off, and the ring where it belongs.
    Off,
    Link(Form, LinkColour),
    Guide,
    Tensioner,
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
pub(in crate::render) fn live(drive: &Drive) -> Result<Live, CheckError> {
    let pose = Pose::slipped(drive, Turns::ZERO, &[])?;
    let mut live = Live {
        svg: Svg::new(live_svg::DECIMALS),
        missing: Vec::new(),
        key: Vec::new(),
    };
    let mut pictures = Vec::new();
    for (id, chain) in drive.chains() {
        match Picture::new(drive, &pose, id) {
            Ok(picture) => pictures.push(picture),
            Err(why) => live.missing.push(format!(
                "{} {} is not drawn: {why}.",
                Band::of(chain).title,
                chain.name()
            )),
        }
    }
    if !pictures.is_empty() {
        live_svg::write(&mut live.svg, drive, &pictures);
        live.key = key(drive, &pictures);
    }
    Ok(live)
}

/// Where the parts of the moving picture are in a pose.
///
/// `links`: for each chain with a place its index and, for every link by its number, x, y and the angle of the link
/// in degrees. `numbers`: chain, link, the link's x and y, and the unit vector to the side on which its number is free.
/// `sprockets`: for each that is drawn its index, the angle of its dot, the angle where that dot belongs, whether it is
/// off, and whether nobody looked at it. Angles turn clockwise on the page.
pub(in crate::render) fn places(drive: &Drive, pose: &Pose) -> Result<Value, CheckError> {
    let timed = Pose::slipped(drive, Turns::ZERO, &[])?;
    let (mut links, mut numbers, mut sprockets) = (Vec::new(), Vec::new(), Vec::new());
    for (id, _) in drive.chains() {
        let Ok(picture) = Picture::new(drive, pose, id) else {
            continue;
        };
        let mut placed = Vec::with_capacity(picture.links.len() * 3);
        for link in &picture.links {
            let (begin, end) = (on_page(link.begin), on_page(link.end));
            let middle = begin.towards(end, 0.5);
            let (dx, dy) = (end.x - begin.x, end.y - begin.y);
            placed.extend([
                cut(middle.x),
                cut(middle.y),
                cut(libm::atan2(dy, dx).to_degrees()),
            ]);
            if link.marks.is_some() {
                let (out_x, out_y) = free_side(drive, &picture, link);
                numbers.push(json!([
                    id.index(),
                    link.number,
                    cut(middle.x),
                    cut(middle.y),
                    cut(out_x),
                    cut(out_y),
                ]));
            }
        }
        links.push(json!([id.index(), placed]));
        // A sprocket without a dot turns from where one of its teeth is in the timed position.
        let dotless = picture
            .sprockets
            .iter()
            .any(|sprocket| sprocket.dot.is_none());
        let still = dotless
            .then(|| Picture::new(drive, &timed, id).ok())
            .flatten();
        for (i, sprocket) in picture.sprockets.iter().enumerate() {
            let stand = &sprocket.stand;
            let from = still.as_ref().and_then(|still| still.sprockets.get(i));
            let (is, due) = sprocket.dot.unwrap_or_else(|| {
                let from = from.map_or(sprocket.tooth, |from| from.tooth);
                let at = |turns: Turns| from + sprocket.turns.sign() * 360.0 * turns.get().to_f64();
                (at(stand.past), at(stand.due))
            });
            let unseen = stand.basis == Basis::Unseen;
            let off = !stand.ahead.is_zero() && !unseen;
            let index = drive.index(stand.at);
            sprockets.push(json!([index, cut(is), cut(due), off, unseen]));
        }
    }
    Ok(json!({ "links": links, "numbers": numbers, "sprockets": sprockets }))
}

fn key(drive: &Drive, pictures: &[Picture]) -> Vec<(Sign, String)> {
    let mut key = vec![
        (Sign::Dot, "dot on a sprocket".to_owned()),
        (
            Sign::Off,
            "dot that is off, and the dashed ring where it belongs".to_owned(),
        ),
    ];
    let noun = Band::all(drive).coloured_noun();
    for (name, colour) in Palette::of(drive).colours() {
        let bars = colour.bars;
        let word = if bars == 1 { "bar" } else { "bars" };
        let what = name.unwrap_or("coloured");
        key.push((
            Sign::Link(Form::alone(drive), colour),
            format!("{what} {noun}, {bars} {word}, its number beside it"),
        ));
    }
    let shoes = || pictures.iter().flat_map(|picture| &picture.shoes);
    if shoes().any(|shoe| shoe.tensioner.is_none()) {
        key.push((Sign::Guide, "fixed guide".to_owned()));
    }
    if shoes().any(|shoe| shoe.tensioner.is_some()) {
        key.push((Sign::Tensioner, "tensioner and its plunger".to_owned()));
    }
    key
}
