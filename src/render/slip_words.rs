//! What text and JSON of a slip have in common.
#![allow(clippy::float_arithmetic, reason = "rounds estimates for a reader")]

use super::numbers;
use crate::drive::model::Drive;
use crate::drive::valves::{Lift, Valves};
use crate::units::cycle::{DeadCentre, TradeAngle};
use crate::units::quantity::{CyclePlace, Exact, OutOfRange};
use crate::valves::piston::swept_cc;
use crate::valves::slip::{Contact, Slips, Symptom, near_dead_centre};
use crate::valves::timing::Timing;

/// What has to be said with every estimate.
pub(crate) const ESTIMATE: &str = "An estimate for teaching and judgement, not a measurement. Angles and events are exact, as far as the spec is right; compression and clearance are estimated.";

/// An event for a person: `17 1/7 BTDC`.
pub(crate) fn event(place: CyclePlace, usual: CyclePlace) -> Result<String, OutOfRange> {
    let TradeAngle { after, centre } = place.trade(usual)?;
    Ok(match after.get().signum() {
        0 => centre.to_string(),
        sign => format!(
            "{} {}{centre}",
            numbers::exact(after.get().abs()),
            if sign < 0 { 'B' } else { 'A' }
        ),
    })
}

/// An estimated place in the cycle: `5.4 ATDC of overlap`.
pub(crate) fn near(at: f64) -> String {
    let (after, centre, place) = near_dead_centre(at);
    let name = if place == CyclePlace::FIRING_TDC {
        "compression"
    } else if place == CyclePlace::OVERLAP_TDC {
        "overlap"
    } else if place == CyclePlace::POWER_BDC {
        "power"
    } else {
        "intake"
    };
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
pub(crate) fn basis(drive: &Drive, slips: &Slips, timing: &Timing) -> Vec<String> {
    let mut lines = vec![
        "Events are those of the spec, with phasers parked, moved by the exact error of their camshaft. A phaser stands only where --phaser puts it; what it does while running is not in it.".to_owned(),
    ];
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
        lines.push("Trapped compression = 1 + (r - 1) x / stroke, x the piston's travel from TDC where the intake closes at the stated lift; where that is above 0, the seat closes later.".to_owned());
        lines.push("Whether intake and exhaust valves meet each other is not reckoned.".to_owned());
        lines.push("Clearance along the valve's axis = recess + relief + (gasket - deck + piston travel) x cos(inclination) - lift; the pocket's floor is taken as parallel to the valve, rigid parts, no lash, no stretch at speed.".to_owned());
        let (deck, gasket) = (cylinders.deck, cylinders.gasket);
        lines.push(format!(
            "Reckoned with the piston {} and a gasket of {} mm.",
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
        None => "The chains are taken as new (--elongation says otherwise).".to_owned(),
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
