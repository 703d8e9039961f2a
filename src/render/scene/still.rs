//! What stays on the page while the drive moves: its picture, its words, the figures of its valves and the tables
//! tooth by tooth.

use super::{figure, key, section};
use crate::drive::model::Drive;
use crate::render::draw::live;
use crate::render::hints::PlainWords;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::escape::{capital, printable};
use crate::render::words::numbers;
use crate::render::words::slip::{
    ESTIMATE, USUAL_CENTRES, basis, first_meeting, sweep_table, title,
};
use crate::timing::observe::{Observations, name_of};
use crate::timing::roll::returns;
use crate::units::quantity::Exact;
use crate::valves::slip::{SlipError, Slips, sweep};
use crate::valves::timing::timing;
use serde_json::{Value, json};

/// Teeth by which a sprocket is slipped at most, either way.
pub(super) const MOST_TEETH: i64 = 4;
/// Thousandths by which a chain is worn at most: twice what is usually the limit (common practice: 1 per cent).
const MOST_WEAR: i64 = 20;
/// Most whole turns that are gone to one after the other, where the marks come back late or never.
const MOST_TURNS: u64 = 240;

/// What stays: `svg` (empty if no chain has a place) is SVG with every word escaped, `key` HTML; all else is text.
/// The figures of the valves take longer and are not needed for the first picture: [`figures_json`].
///
/// # Errors
/// [`SlipError::TooLarge`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn scene_json(drive: &Drive) -> Result<Value, SlipError> {
    let picture = live(drive)?;
    let returns = returns(drive);
    let mut missing = picture.missing.clone();
    if drive.valves().is_empty() {
        missing.push(format!("{}.", capital(&SlipError::NoValves.to_string())));
    }
    let mut stands = match drive.timed_position() {
        Some(position) => format!("Timed position: {position}. "),
        None => String::new(),
    };
    stands.push_str(&format!(
        "Seen facing the timing end; the crankshaft turns {}.",
        drive.crank_turns().word()
    ));
    let in_time = timing(drive, &[])?;
    missing.extend(figure::missing(drive, &in_time));
    let reached = u64::try_from(Observations::MAX_TURNED).unwrap_or(MOST_TURNS);
    let home = returns.links.or(returns.dots);
    // What nobody can have turned cannot be shown either.
    let home = home.filter(|home| *home > 0 && *home <= reached);
    let what = if returns.links.is_none() {
        "dots"
    } else {
        "links"
    };
    let pairs: Vec<String> = in_time
        .pairs
        .iter()
        .map(|pair| {
            let [intake, exhaust] = [pair.intake, pair.exhaust].map(|i| &drive.valves()[i]);
            format!("{} with {}", intake.name, exhaust.name)
        })
        .collect();
    let valves: Vec<String> = drive
        .valves()
        .iter()
        .map(|valves| {
            let stated = if valves.at_lift.is_zero() {
                "from seat to seat".to_owned()
            } else {
                format!("at {} mm lift", numbers::exact(valves.at_lift))
            };
            format!("{} ({stated})", title(valves))
        })
        .collect();
    let rests_on = if drive.valves().is_empty() {
        Vec::new()
    } else {
        basis(drive, &Slips::none(), &in_time, &PlainWords)
    };
    let mut scene = json!({
        "engine": drive.engine(),
        "stands": stands,
        "missing": missing,
        "estimate": (!drive.valves().is_empty()).then_some(ESTIMATE),
        "sprockets": drive.engagements().map(|(at, _)| name_of(drive, at)).collect::<Vec<_>>(),
        "most_teeth": MOST_TEETH,
        "last_turn": home.unwrap_or(MOST_TURNS),
        "tooth": tooth(drive)?,
        "cylinders": drive.cylinders().map_or(&[][..], |cylinders| &cylinders.firing_order),
        "phasers": phasers(drive)?,
        "wear": worn(drive),
        "home": home.map(|home| json!({ "turn": home, "words": format!("Turn {home}: all {what} back") })),
        "valves": valves,
        "pairs": pairs,
        "rests_on": rests_on,
        "cautions": CAUTIONS,
    });
    tidy(&mut scene);
    // Already escaped, and not to be changed any more.
    scene["svg"] = json!(picture.svg.into_string());
    scene["key"] = json!(if picture.key.is_empty() {
        String::new()
    } else {
        key::key(&picture.key)
    });
    Ok(scene)
}

/// A tooth of the sprocket by which the crankshaft drives its first chain: how many there are, and what one is.
fn tooth(drive: &Drive) -> Result<Value, SlipError> {
    let Some(at) = drive.shaft(drive.crank()).engagements().first() else {
        return Ok(Value::Null);
    };
    let teeth = drive.sprocket(*at).teeth();
    let one = drive.chain(at.chain).tooth();
    Ok(json!({
        "teeth": teeth.get(),
        "words": format!("1 tooth ({})", numbers::crank_degrees(one)),
    }))
}

/// What has a phaser, and how far it goes either way, in whole crank degrees from where it parks.
fn phasers(drive: &Drive) -> Result<Vec<Value>, SlipError> {
    let mut all = Vec::new();
    for (_, shaft) in drive.shafts() {
        if let Some(phaser) = shaft.phaser() {
            let [behind, ahead] = phaser.reach()?;
            all.push(json!({
                "shaft": shaft.name(),
                "behind": -behind.get().abs().floor(),
                "ahead": ahead.get().floor(),
            }));
        }
    }
    Ok(all)
}

/// By how many thousandths the chains can be worn on the page, or why they cannot.
fn worn(drive: &Drive) -> Value {
    let some = Exact::fraction(1, 100).unwrap_or(Exact::ZERO);
    match Slips::none().wear(drive, some) {
        Ok(()) => json!({ "most": MOST_WEAR, "missing": null }),
        Err(why) => json!({ "most": 0, "missing": format!("{}.", capital(&why.to_string())) }),
    }
}

/// The figures of the valves, in time, and what each tooth does to them: `svg` and `sections` are SVG with every word
/// escaped, all else is text. `cylinders` says for each, in firing order, which section is its own and which pairs.
///
/// # Errors
/// [`SlipError::TooLarge`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub fn figures_json(drive: &Drive) -> Result<Value, SlipError> {
    let sections = section::all(drive);
    let pairs = timing(drive, &[])?.pairs;
    let order = drive.cylinders().map_or(&[][..], |all| &all.firing_order);
    let cylinders: Vec<Value> = order
        .iter()
        .map(|number| {
            let own = sections.iter().position(|of| of.cylinders.contains(number));
            let pairs = pairs.iter().enumerate();
            let pairs = pairs.filter(|(_, pair)| pair.cylinders.contains(number));
            json!({
                "cylinder": number,
                "section": own,
                "pairs": pairs.map(|(i, _)| i).collect::<Vec<_>>(),
                "notes": own.map_or(Vec::new(), |own| section::notes(drive, &sections[own])),
            })
        })
        .collect();
    let mut figures = json!({ "sweeps": sweeps(drive), "cylinders": cylinders });
    tidy(&mut figures);
    // Already escaped, and not to be changed any more.
    figures["svg"] = json!(figure::figures(drive)?.into_string());
    let sections = sections.iter().enumerate();
    figures["sections"] = sections
        .map(|(i, one)| section::write(drive, one, i).into_string())
        .collect();
    Ok(figures)
}

/// Names may hold anything; what would turn text around or hide it is written out.
fn tidy(value: &mut Value) {
    match value {
        Value::String(text) => *text = printable(text),
        Value::Array(list) => list.iter_mut().for_each(tidy),
        Value::Object(map) => map.values_mut().for_each(tidy),
        _ => {}
    }
}

/// The table of each camshaft that moves valves, tooth by tooth.
fn sweeps(drive: &Drive) -> Vec<Value> {
    let mut all = Vec::new();
    for (id, shaft) in drive.shafts() {
        let moves = drive.valves().iter().any(|valves| valves.shaft == id);
        let Some(at) = shaft.driven_at().filter(|_| moves) else {
            continue;
        };
        let Ok(sweep) = sweep(drive, &Slips::none(), at, -MOST_TEETH..=MOST_TEETH) else {
            continue;
        };
        all.push(json!({
            "shaft": shaft.name(),
            "rows": sweep_table(drive, &sweep),
            "says": format!("{USUAL_CENTRES} {}", first_meeting(&sweep)),
        }));
    }
    all
}
