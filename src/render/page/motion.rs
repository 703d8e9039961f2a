//! Where chains and dots are at every place of the crankshaft that the page can show.
#![allow(
    clippy::float_arithmetic,
    reason = "exact travel becomes places of a drawing"
)]

use super::state::{States, by, combinations, label, movers};
use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::Drive;
use crate::render::draw::{Live, Part, Track};
use crate::render::words::numbers;
use crate::render::words::turns::next_words;
use crate::timing::check::link_due;
use crate::timing::pose::Pose;
use crate::timing::roll::{Returns, returns, roll};
use crate::units::quantity::{Exact, Teeth, Turns};
use crate::valves::slip::SlipError;
use serde_json::{Map, Value, json};

/// Places of the crankshaft in a turn: every five degrees.
const PER_TURN: u16 = 72;
/// Crank turns over which the slider goes.
const SLIDER: u64 = 4;
/// Most whole turns told one by one; the turn of return is told even beyond.
const MOST_TURNS: u64 = 240;

pub(super) struct Motion {
    pub(super) sprockets: Vec<Value>,
    pub(super) chains: Vec<Value>,
    pub(super) turns: Value,
}

/// The crank turns that the page can show.
struct Rows {
    /// Each whole turn: those told one by one, then those about the return beyond them.
    turns: Vec<u64>,
    /// The same, exactly.
    whole: Vec<Exact>,
    /// The parts of a turn in between.
    parts: Vec<Exact>,
    /// Which row is the return.
    home: Option<usize>,
    /// The last of those told one by one.
    last: u64,
}

impl Rows {
    fn new(returns: &Returns) -> Self {
        let home = returns.links.or(returns.dots);
        let last = home.unwrap_or(MOST_TURNS).clamp(SLIDER, MOST_TURNS);
        let mut turns: Vec<u64> = (0..=last + SLIDER).collect();
        let mut home_row = None;
        if let Some(home) = home.filter(|home| *home > 0) {
            if home > last {
                home_row = Some(turns.len());
                turns.extend(home..=home + SLIDER);
            } else {
                home_row = usize::try_from(home).ok();
            }
        }
        Self {
            whole: turns
                .iter()
                .filter_map(|turn| i64::try_from(*turn).ok())
                .map(Exact::whole)
                .collect(),
            parts: (0..PER_TURN)
                .filter_map(|part| Exact::fraction(i64::from(part), i64::from(PER_TURN)))
                .collect(),
            turns,
            home: home_row,
            last,
        }
    }
}

/// How far something that goes at `speed` has come after each of these turns, the part of it that shows.
fn along(speed: Exact, turns: &[Exact], modulus: Exact) -> Result<Vec<f64>, SlipError> {
    turns
        .iter()
        .map(|turns| Ok(speed.checked_mul(*turns)?.modulo(modulus)?.to_f64()))
        .collect()
}

pub(super) fn motion(drive: &Drive, states: &States, picture: &Live) -> Result<Motion, SlipError> {
    let returns = returns(drive);
    let rows = Rows::new(&returns);
    let mut chains = Vec::new();
    for ((id, _), track) in drive.chains().zip(&picture.tracks) {
        chains.push(chain(drive, states, &rows, id, track.as_ref())?);
    }
    let mut sprockets = Vec::new();
    for ((at, _), part) in drive.engagements().zip(&picture.parts) {
        sprockets.push(sprocket(drive, states, &rows, at, part.as_ref())?);
    }
    Ok(Motion {
        sprockets,
        chains,
        turns: turns(drive, states, &returns, &rows)?,
    })
}

fn chain(
    drive: &Drive,
    states: &States,
    rows: &Rows,
    id: ChainId,
    track: Option<&Track>,
) -> Result<Value, SlipError> {
    let chain = drive.chain(id);
    let links = chain.links().to_exact();
    let driver = drive.driver_of(id);
    // What moves the driver's shaft, and the driver's own seat in the chain.
    let mut moved_by = movers(drive, drive.sprocket(driver).shaft());
    if !moved_by.contains(&driver) {
        moved_by.push(driver);
    }
    let combinations = combinations(&moved_by, states.range).unwrap_or_default();
    let mut slipped = Vec::with_capacity(combinations.len());
    for slips in &combinations {
        let pose = Pose::slipped(drive, Turns::ZERO, slips.teeth())?;
        slipped.push(pose.moved(id).modulo(links)?.to_f64());
    }
    Ok(json!({
        "name": chain.name(),
        "links": chain.links().get(),
        "speed": chain.speed(),
        "turn_moved": along(chain.speed(), &rows.whole, links)?,
        "part_moved": along(chain.speed(), &rows.parts, links)?,
        "by": by(drive, &moved_by),
        "slip_moved": slipped,
        "track": track.map(|track| json!({
            "points": track.points,
            "per_link": track.per_link,
            "sides": track.sides,
        })),
    }))
}

fn sprocket(
    drive: &Drive,
    states: &States,
    rows: &Rows,
    at: Engagement,
    part: Option<&Part>,
) -> Result<Value, SlipError> {
    let sprocket = drive.sprocket(at);
    let shaft = drive.shaft(sprocket.shaft());
    let (on_dot, names) = links_on_dot(drive, states, rows, at)?;
    Ok(json!({
        "label": label(drive, at),
        "chain": at.chain.index(),
        "shaft": sprocket.shaft().index(),
        "teeth": sprocket.teeth().get(),
        "drawn": part.map(|part| json!({ "clock": part.clock, "sign": part.sign })),
        "turn_past": along(shaft.speed(), &rows.whole, Exact::ONE)?,
        "part_past": along(shaft.speed(), &rows.parts, Exact::ONE)?,
        "own": sprocket.mark().map(|mark| mark.link.get().to_f64()),
        "colour": sprocket.mark().and_then(|mark| mark.colour.as_deref()),
        "has_dot": sprocket.is_marked(),
        "on_dot": on_dot,
        "link_names": names,
    }))
}

/// For each number of teeth slipped and each whole turn the link on a dot, and the names of all those links.
type OnDot = (Vec<Vec<Option<f64>>>, Map<String, Value>);

fn links_on_dot(
    drive: &Drive,
    states: &States,
    rows: &Rows,
    at: Engagement,
) -> Result<OnDot, SlipError> {
    let links = drive.chain(at.chain).links();
    let mut on_dot: Vec<Vec<Option<f64>>> = Vec::new();
    let mut names = Map::new();
    if drive.sprocket(at).mark().is_none() {
        return Ok((on_dot, names));
    }
    for teeth in -states.range..=states.range {
        let mut row = Vec::with_capacity(rows.whole.len());
        for turned in &rows.whole {
            let due = link_due(drive, at, Turns::new(*turned))?;
            let is = due
                .map(|due| due.moved(Teeth::whole(teeth), links))
                .transpose()?;
            row.push(is.map(|link| {
                let place = link.get().to_f64();
                // Written as the page's script writes the number: whole ones without a point.
                names
                    .entry(place.to_string())
                    .or_insert_with(|| json!(numbers::link(link, links.get())));
                place
            }));
        }
        on_dot.push(row);
    }
    Ok((on_dot, names))
}

/// What the page says of every turn.
fn turns(
    drive: &Drive,
    states: &States,
    returns: &Returns,
    rows: &Rows,
) -> Result<Value, SlipError> {
    let said: Vec<[String; 2]> = rows
        .whole
        .iter()
        .map(|turned| Ok(next_words(drive, &roll(drive, Turns::new(*turned))?)))
        .collect::<Result<_, SlipError>>()?;
    let turn_words: Vec<String> = rows
        .turns
        .iter()
        .map(|turn| match turn {
            0 => "0 crank turns".to_owned(),
            1 => "1 crank turn".to_owned(),
            n => format!("{n} crank turns"),
        })
        .collect();
    let part_words: Vec<String> = (0..PER_TURN)
        .map(|part| match part {
            0 => String::new(),
            part => format!(" and {} degrees", part * (360 / PER_TURN)),
        })
        .collect();
    let first_turn: Vec<String> = (0..PER_TURN)
        .map(|part| match part {
            0 => "Timed position".to_owned(),
            part => format!("{} crank degrees", part * (360 / PER_TURN)),
        })
        .collect();
    Ok(json!({
        "per_turn": PER_TURN,
        "slider": SLIDER,
        "numbers": rows.turns,
        "words": turn_words,
        "part_words": part_words,
        "first_turn": first_turn,
        "home_row": rows.home,
        "links_return_after": returns.links,
        "dots_return_after": returns.dots,
        "last_row": rows.last,
        "said": said,
        "slip_range": states.range,
        "slip_words": states.slip_words(),
    }))
}
