//! What a slip does: what text, JSON and the page have in common.
#![allow(clippy::float_arithmetic, reason = "rounds estimates for a reader")]

use super::band::Band;
use super::escape::capital;
use super::numbers;
use crate::drive::model::Drive;
use crate::drive::valves::{Lift, Valves};
use crate::render::hints::{Hints, Wanted};
use crate::spec::valves::ValveKind;
use crate::units::cycle::{DeadCentre, TradeAngle};
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, OutOfRange};
use crate::valves::clearance::{LeastClearance, TOO_CLOSE_MM};
use crate::valves::piston::swept_cc;
use crate::valves::slip::{Contact, Slips, Sweep, SweepRow, Symptom, near_dead_centre};
use crate::valves::timing::{NoCompression, Timing, ValveTiming};

/// What has to be said with every estimate.
pub(crate) const ESTIMATE: &str = "An estimate for teaching and judgement, not a measurement. Angles and events are exact, as far as the spec is right; compression and clearance are estimated.";

/// An event for a person: `17 1/7 BTDC of overlap`. TDC comes twice in the 720 degrees, so which one
/// is meant is always said.
pub(crate) fn named_event(place: CyclePlace, usual: CyclePlace) -> Result<String, OutOfRange> {
    let (words, centre) = counted_from(place, usual)?;
    Ok(format!("{words} of {}", centre_name(centre)))
}

/// The same where room is short and the dead centre at which such an event `usual`ly lies is named
/// beside it: another one is named all the same.
pub(crate) fn event(place: CyclePlace, usual: CyclePlace) -> Result<String, OutOfRange> {
    let (words, centre) = counted_from(place, usual)?;
    Ok(if centre == usual {
        words
    } else {
        format!("{words} of {}", centre_name(centre))
    })
}

/// What [`event`] leaves out.
pub(crate) const USUAL_CENTRES: &str = "TDC is that of overlap, BDC that of power for the exhaust and of intake for the intake, unless named.";

/// An event without the name of its dead centre, and the dead centre.
fn counted_from(place: CyclePlace, usual: CyclePlace) -> Result<(String, CyclePlace), OutOfRange> {
    let TradeAngle { after, centre } = place.trade(usual)?;
    let words = match after.get().signum() {
        0 => centre.to_string(),
        sign => format!(
            "{} {}{centre}",
            numbers::exact(after.get().abs()),
            if sign < 0 { 'B' } else { 'A' }
        ),
    };
    Ok((words, place.later(after.negated())?))
}

/// The dead centre from which an event is counted: `TDC of overlap`.
pub(crate) fn dead_centre(place: CyclePlace, usual: CyclePlace) -> Result<String, OutOfRange> {
    let which = place.trade(usual)?.centre;
    let (_, centre) = counted_from(place, usual)?;
    Ok(format!("{which} of {}", centre_name(centre)))
}

fn centre_name(centre: CyclePlace) -> &'static str {
    if centre == CyclePlace::FIRING_TDC {
        "compression"
    } else if centre == CyclePlace::OVERLAP_TDC {
        "overlap"
    } else if centre == CyclePlace::POWER_BDC {
        "power"
    } else {
        "intake"
    }
}

/// An estimated place in the cycle: `5.4 ATDC of overlap`.
pub(crate) fn near(at: f64) -> String {
    let (after, centre, place) = near_dead_centre(at);
    let name = centre_name(place);
    let side = match centre {
        DeadCentre::Top => "TDC",
        DeadCentre::Bottom => "BDC",
    };
    if after.abs() < 0.05 {
        format!("{side} of {name}")
    } else {
        let before = if after < 0.0 { 'B' } else { 'A' };
        format!("{:.1} {before}{side} of {name}", after.abs())
    }
}

/// Why nothing is compressed: its stable name, and in words.
pub(crate) fn no_compression(why: NoCompression) -> (&'static str, &'static str) {
    match why {
        NoCompression::CrankTurnOut(ValveKind::Intake) => {
            ("intake-crank-turn-out", "intake a whole crank turn out")
        }
        NoCompression::CrankTurnOut(ValveKind::Exhaust) => {
            ("exhaust-crank-turn-out", "exhaust a whole crank turn out")
        }
        NoCompression::OtherCentre => (
            "other-dead-centre",
            "intake and exhaust a whole crank turn out, so that it is at the other TDC",
        ),
        NoCompression::Open(ValveKind::Intake) => {
            ("intake-open", "intake open at TDC of compression")
        }
        NoCompression::Open(ValveKind::Exhaust) => {
            ("exhaust-open", "exhaust open at TDC of compression")
        }
        NoCompression::NothingDrawnIn => (
            "nothing-drawn-in",
            "intake shut all through the intake stroke",
        ),
    }
}

/// The verdict as a word.
pub(crate) fn contact_word(contact: Contact) -> &'static str {
    match contact {
        Contact::Meet => "valves and piston meet",
        Contact::Clear => "clear",
        Contact::NotKnown => "not known",
    }
}

/// Cylinders in words: `cylinders 1, 2, 3, 4`.
pub(crate) fn cylinders(numbers: &[u8]) -> String {
    let list: Vec<String> = numbers.iter().map(u8::to_string).collect();
    match numbers.len() {
        0 => String::new(),
        1 => format!("cylinder {}", list[0]),
        _ => format!("cylinders {}", list.join(", ")),
    }
}

/// Stable name and words of a symptom.
pub(crate) fn symptom(symptom: Symptom) -> (&'static str, &'static str) {
    match symptom {
        Symptom::Meet => (
            "valves-meet-piston",
            "Valves and piston meet: bent valves and no compression there, at the first turn. Do not turn the engine, not even by hand.",
        ),
        Symptom::IntakeLate => (
            "intake-late",
            "Intake late: charge is pushed back at low speed, so weak low down and hard to start; it may pull better near its top speed.",
        ),
        Symptom::IntakeEarly => (
            "intake-early",
            "Intake early: burnt gas gets into the intake, so an uneven idle and low vacuum; strong low down, out of breath at high speed.",
        ),
        Symptom::ExhaustLate => (
            "exhaust-late",
            "Exhaust late: burnt gas stays in the cylinder, so an uneven idle and less torque.",
        ),
        Symptom::ExhaustEarly => (
            "exhaust-early",
            "Exhaust early: the power stroke is cut short, so less torque, more fuel used, a loud and hot exhaust.",
        ),
        Symptom::MoreOverlap => (
            "more-overlap",
            "More overlap: uneven idle, low intake vacuum, popping back into the intake.",
        ),
        Symptom::LessOverlap => (
            "less-overlap",
            "Less overlap: the idle is smoother, all else being right.",
        ),
        Symptom::LessCompression => (
            "less-trapped-compression",
            "Less trapped compression: a low reading on the compression gauge on all cylinders of that camshaft, slow to start.",
        ),
        Symptom::MoreCompression => (
            "more-trapped-compression",
            "More trapped compression: a higher reading on the compression gauge, and a tendency to knock.",
        ),
        Symptom::Uneven => (
            "cylinders-unlike",
            "Cylinders unlike each other: shaking, and compression readings that differ from bank to bank.",
        ),
        Symptom::Correlation => (
            "correlation-code",
            "With crankshaft and camshaft sensors: a correlation code, P0016 to P0019.",
        ),
        Symptom::NoCompression => (
            "no-compression",
            "No compression in those cylinders at their TDC of compression: they do not fire.",
        ),
        Symptom::OtherCentre => (
            "other-dead-centre",
            "All valves a whole crank turn out: compression is at the other TDC, so that spark and injection may come a crank turn off.",
        ),
    }
}

/// The law by which a lobe lifts.
pub(crate) fn lift_law(valves: &Valves) -> Option<&'static str> {
    valves.lift.as_ref().map(|lift| match lift {
        Lift::Most(_) => {
            "3-4-5 polynomial up and down (a standard motion law of cam design textbooks), its ramps as long as the stated events ask for"
        }
        Lift::Table(_) => "the spec's lift table by a monotone cubic (Fritsch and Carlson)",
    })
}

/// What the estimates rest on.
pub(crate) fn basis(
    drive: &Drive,
    slips: &Slips,
    timing: &Timing,
    hints: &dyn Hints,
) -> Vec<String> {
    let phaser = hints.hint(Wanted::Phaser);
    let phaser = phaser.as_deref().unwrap_or("the question");
    let mut lines = vec![format!(
        "Events are those of the spec, with phasers parked, moved by the exact error of their camshaft. A phaser stands only where {phaser} puts it; what it does while running is not in it."
    )];
    for (valves, timing) in drive.valves().iter().zip(&timing.valves) {
        let law = lift_law(valves).unwrap_or("not given");
        lines.push(match &timing.clearance {
            Ok(_) => format!("{}: lift by {law}.", valves.name),
            Err(why) => format!(
                "{}: no clearance, for the spec does not give {}.",
                valves.name,
                why.missing()
            ),
        });
    }
    if let Some(cylinders) = drive.cylinders() {
        lines.push("Trapped compression = 1 + (r - 1) x / stroke, x the piston's travel from TDC where the intake, or an exhaust after it, closes at the stated lift; where that is above 0, the seat closes later.".to_owned());
        lines.push(
            "Whether intake and exhaust valves meet each other is not calculated.".to_owned(),
        );
        lines.push("Clearance along the valve's axis = recess + relief + (gasket - deck + piston travel) x cos(inclination) - lift; the pocket's floor is taken as parallel to the valve, rigid parts, no lash, no stretch at speed.".to_owned());
        let (deck, gasket) = (cylinders.deck, cylinders.gasket);
        lines.push(format!(
            "Calculated with the piston {} and a gasket of {} mm.",
            match deck.signum() {
                0 => "level with the deck at TDC".to_owned(),
                1 => format!("{} mm above the deck at TDC", numbers::exact(deck)),
                _ => format!("{} mm below the deck at TDC", numbers::exact(deck.abs())),
            },
            numbers::exact(gasket)
        ));
        if let Some(bore) = cylinders.bore {
            let count = u8::try_from(cylinders.firing_order.len()).unwrap_or(u8::MAX);
            lines.push(format!(
                "Swept volume by bore and stroke: {:.0} cc.",
                swept_cc(bore.to_f64(), cylinders.stroke.to_f64(), f64::from(count))
            ));
        }
    }
    lines.push(match slips.elongation() {
        Some(_) => "Elongation holds each camshaft back by elongation times the free links of the tight strands, an estimate to first order.".to_owned(),
        None => match hints.hint(Wanted::Elongation) {
            Some(hint) if drive.chains().any(|(_, chain)| chain.has_pins()) => {
                format!("The chains are taken as new ({hint} says otherwise).")
            }
            _ => format!("The {} are taken as new.", Band::all(drive).many),
        },
    });
    lines
}

/// Crank degrees from the timed position to the place `at` of a cylinder's cycle.
pub(crate) fn from_timed_position(offset: Exact, at: f64) -> f64 {
    (offset.to_f64() + at).rem_euclid(720.0)
}

/// `x.xx mm`, never `-0.00`, and never a contact rounded away.
pub(crate) fn mm(value: f64) -> String {
    let text = format!("{value:.2}");
    match text.as_str() {
        "-0.00" | "0.00" if value <= 0.0 => "0.00 mm (touching)".to_owned(),
        "0.00" => "less than 0.01 mm".to_owned(),
        _ => format!("{text} mm"),
    }
}

/// What, before, after.
pub(crate) type Row = (String, String, String);

/// Do valves and piston meet; `least` are the valves with the least clearance.
pub(crate) fn meeting(contact: Contact, least: Option<(&Valves, &LeastClearance)>) -> String {
    match (contact, least) {
        (Contact::Meet, Some((valves, _))) => format!(
            "VALVES AND PISTON MEET ({}). Do not turn the engine.",
            valves.name
        ),
        (Contact::Clear, Some((valves, clearance))) if clearance.mm < TOO_CLOSE_MM => format!(
            "TOO CLOSE TO CALL: {} between valves and piston ({}). Do not turn the engine on this.",
            mm(clearance.mm),
            valves.name
        ),
        (Contact::Clear, Some((valves, clearance))) => format!(
            "Valves and piston stay clear: {} at the least ({}).",
            mm(clearance.mm),
            valves.name
        ),
        (_, Some((valves, clearance))) => format!(
            "Not known whether valves and piston meet; of those that could be calculated {} is the least ({}).",
            mm(clearance.mm),
            valves.name
        ),
        _ => "Not known whether valves and piston meet.".to_owned(),
    }
}

/// Do valves and piston meet, as they stand.
pub(crate) fn meeting_of(drive: &Drive, timing: &Timing) -> String {
    let least = drive
        .valves()
        .iter()
        .zip(&timing.valves)
        .filter_map(|(valves, timing)| Some((valves, timing.clearance.as_ref().ok()?)))
        .min_by(|a, b| a.1.mm.total_cmp(&b.1.mm));
    meeting(timing.contact(), least)
}

/// How a shaft stands that comes round after `turn`, its error in `words`. Early and late are said
/// of shafts only: a crankshaft sprocket that has slipped ahead makes the valves late. Half a turn
/// is neither.
pub(crate) fn standing(
    error: CrankDegrees,
    turn: CrankDegrees,
    words: impl Fn(CrankDegrees) -> String,
) -> String {
    let Ok(off) = error.get().nearest_modulo(turn.get()) else {
        return words(error);
    };
    let words = words(CrankDegrees::new(off));
    if off.is_half_of(turn.get()) {
        return format!("{words} out, half a turn of its own: neither ahead nor behind");
    }
    match off.signum() {
        0 => "in time".to_owned(),
        sign if sign < 0 => format!("{words} behind (late)"),
        _ => format!("{words} ahead (early)"),
    }
}

pub(crate) fn degrees(value: CrankDegrees) -> String {
    numbers::exact(value.get())
}

/// A centreline: after TDC for an intake, before it for an exhaust.
fn centreline(valves: &Valves, timing: &ValveTiming) -> String {
    CyclePlace::OVERLAP_TDC
        .later(match valves.kind {
            ValveKind::Intake => timing.centreline,
            ValveKind::Exhaust => timing.centreline.negated(),
        })
        .and_then(|place| named_event(place, CyclePlace::OVERLAP_TDC))
        .unwrap_or_default()
}

/// What is compressed, or why nothing is.
fn compression(timing: &ValveTiming) -> String {
    match (timing.trapped_compression, timing.no_compression) {
        (Some(ratio), _) => format!("{ratio:.1} to 1"),
        (None, Some(why)) => format!("none: {}", no_compression(why).1),
        (None, None) => "needs 'cylinders:'".to_owned(),
    }
}

fn clearance(timing: &ValveTiming) -> String {
    match &timing.clearance {
        Ok(least) if least.meet() => format!("{}, MEETS, {}", mm(least.mm), near(least.at)),
        Ok(least) => format!("{}, {}", mm(least.mm), near(least.at)),
        Err(why) => format!("needs {}", why.missing()),
    }
}

pub(crate) fn rows_of(valves: &Valves, before: &ValveTiming, after: &ValveTiming) -> Vec<Row> {
    let both =
        |what: &str, of: &dyn Fn(&ValveTiming) -> String| (what.to_owned(), of(before), of(after));
    let mut rows = vec![
        both("opens", &|t| {
            named_event(t.opens, valves.opens_near()).unwrap_or_default()
        }),
        both("closes", &|t| {
            named_event(t.closes, valves.closes_near()).unwrap_or_default()
        }),
        both("duration", &|t| degrees(t.duration)),
        both("lobe centreline", &|t| centreline(valves, t)),
    ];
    let said = |timing: &ValveTiming| {
        timing.trapped_compression.is_some() || timing.no_compression.is_some()
    };
    if said(before) || said(after) {
        rows.push(both("trapped compression, about", &compression));
    }
    rows.push(both("clearance, about", &clearance));
    rows
}

/// `intake, cylinders 1, 2`.
pub(crate) fn title(valves: &Valves) -> String {
    let of = cylinders(&valves.cylinders);
    let kind = valves.kind.word();
    let name = if valves.name == kind {
        kind.to_owned()
    } else {
        format!("{}, {kind}", valves.name)
    };
    if of.is_empty() {
        name
    } else {
        format!("{name}, {of}")
    }
}

/// The sweep as cells: a row of titles, then one for each number of teeth.
pub(crate) fn sweep_table(drive: &Drive, sweep: &Sweep) -> Vec<Vec<String>> {
    let moved = |i: usize| {
        let first = sweep.rows.first().map(|row| row.timing.valves[i].shift);
        sweep
            .rows
            .iter()
            .any(|row| Some(row.timing.valves[i].shift) != first)
    };
    let shown: Vec<usize> = (0..drive.valves().len()).filter(|i| moved(*i)).collect();
    let mut table: Vec<Vec<String>> = Vec::new();
    let mut head = vec!["teeth".to_owned()];
    for i in &shown {
        let name = &drive.valves()[*i].name;
        head.extend([
            format!("{name} opens"),
            "closes".to_owned(),
            "clearance".to_owned(),
        ]);
        if compresses(drive, *i) {
            head.push("compression".to_owned());
        }
    }
    let pairs: Vec<usize> = (0..sweep.rows.first().map_or(0, |row| row.timing.pairs.len()))
        .filter(|p| {
            sweep.rows.first().is_some_and(|row| {
                let pair = &row.timing.pairs[*p];
                shown.contains(&pair.intake) || shown.contains(&pair.exhaust)
            })
        })
        .collect();
    for _ in &pairs {
        head.extend(["overlap".to_owned(), "separation".to_owned()]);
    }
    head.push(String::new());
    table.push(head);
    for row in &sweep.rows {
        let mut cells = vec![match row.teeth {
            0 => "0".to_owned(),
            n if n < 0 => format!("{} behind", -n),
            n => format!("{n} ahead"),
        }];
        for i in &shown {
            let (valves, timing) = (&drive.valves()[*i], &row.timing.valves[*i]);
            cells.extend([
                event(timing.opens, valves.opens_near()).unwrap_or_default(),
                event(timing.closes, valves.closes_near()).unwrap_or_default(),
                timing
                    .clearance
                    .as_ref()
                    .map_or_else(|_| "not known".to_owned(), |least| mm(least.mm)),
            ]);
            if compresses(drive, *i) {
                cells.push(match timing.trapped_compression {
                    Some(ratio) => format!("{ratio:.1}"),
                    None => "none".to_owned(),
                });
            }
        }
        for p in &pairs {
            let pair = &row.timing.pairs[*p];
            cells.extend([degrees(pair.overlap), numbers::exact(pair.separation)]);
        }
        cells.push(
            match row.timing.contact() {
                Contact::Meet => "MEET",
                _ if too_close(row) => "too close to call",
                _ => "",
            }
            .to_owned(),
        );
        table.push(cells);
    }
    table
}

fn compresses(drive: &Drive, valve: usize) -> bool {
    drive.valves()[valve].kind == ValveKind::Intake && drive.cylinders().is_some()
}

/// Do valves and piston stay clear by so little that it says nothing?
pub(crate) fn too_close(row: &SweepRow) -> bool {
    row.timing.contact() == Contact::Clear
        && row.timing.valves.iter().any(|valve| {
            valve
                .clearance
                .as_ref()
                .is_ok_and(|least| least.mm < TOO_CLOSE_MM)
        })
}

/// At which slip valves and piston meet first, either way.
pub(crate) fn first_meeting(sweep: &Sweep) -> String {
    let (behind, ahead) = sweep.first_meeting();
    if behind == Some(0) || ahead == Some(0) {
        return "Valves and piston meet without any slip of this sprocket.".to_owned();
    }
    let teeth = |n: i64| match n.abs() {
        1 => "1 tooth".to_owned(),
        n => format!("{n} teeth"),
    };
    let unknown = sweep
        .rows
        .iter()
        .any(|row| row.timing.contact() == Contact::NotKnown);
    let side = |found: Option<i64>, most: i64, word: &str| match found {
        Some(n) => format!("valves and piston meet from {} {word}", teeth(n)),
        None if most == 0 => format!("no slip {word} was calculated"),
        None if unknown => format!(
            "up to {} {word} no meeting was found, but not all could be calculated",
            teeth(most)
        ),
        None => format!("up to {} {word} they stay clear", teeth(most)),
    };
    let least = sweep.rows.first().map_or(0, |row| row.teeth.min(0));
    let most = sweep.rows.last().map_or(0, |row| row.teeth.max(0));
    let close = if sweep.rows.iter().any(too_close) {
        " Less than 1 mm is too close to call: do not turn the engine on it."
    } else {
        ""
    };
    capital(&format!(
        "{}; {}.{close}",
        side(behind, least, "behind"),
        side(ahead, most, "ahead")
    ))
}
