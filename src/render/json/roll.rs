//! Where the marks are after the crankshaft has turned.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::timing::roll::{Moment, Roll};
use crate::units::quantity::{ClockAngle, LinkPosition, Turns};
use serde::Serialize;
use serde_json::{Value, json};

/// Rows of a table at most.
const MOST_ROWS: usize = 10_000;

#[derive(Serialize)]
struct RollJson<'a> {
    turned: Turns,
    marks: Vec<MarkJson<'a>>,
    links_return_after: Option<u64>,
    dots_return_after: Option<u64>,
    next_dots_at: Option<Turns>,
    next_links_at: Option<Turns>,
    next_proof_at: Option<Turns>,
    #[serde(flatten)]
    table: Option<TableJson<'a>>,
}

#[derive(Serialize)]
struct MarkJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    dot_turns: Turns,
    dot_clock_degrees: Option<ClockAngle>,
    link_on_dot: Option<LinkPosition>,
}

#[derive(Serialize)]
struct TableJson<'a> {
    moments: Vec<MomentJson<'a>>,
    more: bool,
}

#[derive(Serialize)]
struct MomentJson<'a> {
    turned: Turns,
    all_dots: bool,
    all_links: bool,
    links_on_dots: Vec<MeetingJson<'a>>,
}

#[derive(Serialize)]
struct MeetingJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    link_of: &'a str,
}

/// Where everything is, as JSON. `table`: the moments at which something lines up, too.
pub fn roll_json(
    drive: &Drive,
    roll: &Roll,
    table: Option<&mut dyn Iterator<Item = Moment>>,
) -> Value {
    json!(RollJson {
        turned: roll.turned,
        marks: roll
            .marks
            .iter()
            .map(|mark| MarkJson {
                chain: drive.chain(mark.at.chain).name(),
                shaft: shaft(drive, mark.at),
                dot_turns: mark.past,
                dot_clock_degrees: mark.clock,
                link_on_dot: mark.link,
            })
            .collect(),
        links_return_after: roll.returns.links,
        dots_return_after: roll.returns.dots,
        next_dots_at: roll.next_dots,
        next_links_at: roll.next_links,
        next_proof_at: roll.next_proof,
        table: table.map(|mut moments| TableJson {
            moments: (&mut moments)
                .take(MOST_ROWS)
                .map(|each| moment(drive, &each))
                .collect(),
            more: moments.next().is_some(),
        }),
    })
}

fn shaft(drive: &Drive, at: Engagement) -> &str {
    drive.shaft(drive.sprocket(at).shaft()).name()
}

fn moment<'a>(drive: &'a Drive, moment: &Moment) -> MomentJson<'a> {
    MomentJson {
        turned: moment.turned,
        all_dots: moment.all_dots,
        all_links: moment.all_links,
        links_on_dots: moment
            .links
            .iter()
            .map(|(at, owner)| MeetingJson {
                chain: drive.chain(at.chain).name(),
                shaft: shaft(drive, *at),
                link_of: shaft(drive, *owner),
            })
            .collect(),
    }
}
