//! The drive as a picture whose parts can be moved: as SVG in millimetres of the engine, y down, with
//! a name on every part, and the tables by which a page places them. The tables hold every place; a page
//! picks from them.

use super::colour::Palette;
use super::live_svg;
use super::picture::{Picture, track};
use crate::drive::error::CheckError;
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Travel};
use crate::render::svg::{LinkColour, Svg};
use crate::timing::pose::Pose;
use crate::units::quantity::Turns;

/// Points of a chain's track for every link. At eight the chord of the smallest sprocket lies within a
/// hundredth of a millimetre of its arc.
const PER_LINK: u16 = 8;

/// The moving picture.
pub(in crate::render) struct Live {
    /// The `svg` element; empty if no chain has a place.
    pub(in crate::render) svg: Svg,
    /// How parts move, in the order of [`Drive::chains`]; `None` where a chain has no place.
    pub(in crate::render) tracks: Vec<Option<Track>>,
    /// How sprockets stand in the timed position, in the order of [`Drive::engagements`].
    pub(in crate::render) parts: Vec<Option<Part>>,
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
    Link(LinkColour),
    Guide,
    Tensioner,
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
pub(in crate::render) fn live(drive: &Drive) -> Result<Live, CheckError> {
    let pose = Pose::slipped(drive, Turns::ZERO, &[])?;
    let mut live = Live {
        svg: Svg::new(live_svg::DECIMALS),
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
        live_svg::write(&mut live.svg, drive, &pictures);
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

fn key(drive: &Drive, pictures: &[Picture]) -> Vec<(Sign, String)> {
    let mut key = vec![
        (Sign::Dot, "dot on a sprocket".to_owned()),
        (
            Sign::Off,
            "dot that is off, and the dashed ring where it belongs".to_owned(),
        ),
    ];
    for (name, colour) in Palette::of(drive).colours() {
        let bars = colour.bars;
        let word = if bars == 1 { "bar" } else { "bars" };
        let what = name.unwrap_or("coloured");
        key.push((
            Sign::Link(colour),
            format!("{what} link, {bars} {word}, its number beside it"),
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
