//! What a slip does, for a program to read. Exact values are strings `p/q`; numbers whose names end
//! in `_estimate` are estimates.

use super::CAUTIONS;
use super::slip_text::first_meeting;
use super::slip_words::{self, ESTIMATE, basis, contact_word};
use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::units::quantity::CrankDegrees;
use crate::valves::slip::{SlipOutcome, Slips, Sweep};
use crate::valves::timing::{PairTiming, Timing, ValveTiming};
use serde_json::{Value, json};

/// What the slip does as JSON, and the table of `sweep` if there is one.
pub fn slip_json(
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
) -> Value {
    let teeth: Vec<Value> = slips
        .teeth()
        .iter()
        .map(|(at, teeth)| {
            json!({
                "chain": drive.chain(at.chain).name(),
                "shaft": drive.shaft(drive.sprocket(*at).shaft()).name(),
                "teeth": teeth,
            })
        })
        .collect();
    let phasers: Vec<Value> = slips
        .phasers()
        .iter()
        .map(|(shaft, ahead)| {
            json!({ "shaft": drive.shaft(*shaft).name(), "ahead_of_parked_crank_degrees": ahead })
        })
        .collect();
    let symptoms: Vec<Value> = outcome
        .symptoms
        .iter()
        .map(|symptom| {
            let (code, text) = slip_words::symptom(*symptom);
            json!({ "code": code, "text": text, "source": "common practice" })
        })
        .collect();
    json!({
        "engine": drive.engine(),
        "note": ESTIMATE,
        "verdict": contact_word(outcome.after.contact()),
        "slips": teeth,
        "phasers": phasers,
        "elongation": slips.elongation(),
        "shafts": shafts(drive, &outcome.errors),
        "before": state(drive, &outcome.before),
        "after": state(drive, &outcome.after),
        "symptoms": symptoms,
        "sweep": sweep.map(|sweep| sweep_json(drive, sweep)),
        "basis": basis(drive, slips, &outcome.before),
        "cautions": CAUTIONS,
    })
}

fn shafts(drive: &Drive, errors: &[CrankDegrees]) -> Vec<Value> {
    drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id))
        .filter_map(|(id, shaft)| {
            let error = *errors.get(id.index())?;
            let at = shaft.driven_at()?;
            Some(json!({
                "shaft": shaft.name(),
                "off_crank_degrees": error,
                "off_teeth": drive.chain(at.chain).teeth_in(error).ok(),
            }))
        })
        .collect()
}

fn state(drive: &Drive, timing: &Timing) -> Value {
    let valves: Vec<Value> = drive
        .valves()
        .iter()
        .zip(&timing.valves)
        .map(|(valves, timing)| valve(drive, valves, timing))
        .collect();
    let pairs: Vec<Value> = timing.pairs.iter().map(|each| pair(drive, each)).collect();
    json!({ "verdict": contact_word(timing.contact()), "valves": valves, "pairs": pairs })
}

pub(super) fn valve(drive: &Drive, valves: &Valves, timing: &ValveTiming) -> Value {
    let clearance = timing.clearance.as_ref().ok();
    let places: Vec<Value> = drive
        .cylinders()
        .zip(clearance)
        .map(|(cylinders, least)| {
            valves
                .cylinders
                .iter()
                .filter_map(|number| {
                    let offset = cylinders
                        .offsets
                        .get(usize::from(*number).checked_sub(1)?)?;
                    let at = slip_words::from_timed_position(offset.get(), least.at);
                    Some(json!({
                        "cylinder": number,
                        "after_timed_position_crank_degrees_estimate": at,
                    }))
                })
                .collect()
        })
        .unwrap_or_default();
    json!({
        "name": valves.name,
        "kind": valves.kind.word(),
        "shaft": drive.shaft(valves.shaft).name(),
        "cylinders": valves.cylinders,
        "at_lift_mm": valves.at_lift,
        "lift_law": slip_words::lift_law(valves),
        "shift_crank_degrees": timing.shift,
        "opens": timing.opens.trade(valves.opens_near()).ok().map(|angle| angle.to_string()),
        "closes": timing.closes.trade(valves.closes_near()).ok().map(|angle| angle.to_string()),
        "opens_after_tdc_compression": timing.opens,
        "closes_after_tdc_compression": timing.closes,
        "duration_crank_degrees": timing.duration,
        "lobe_centreline_crank_degrees": timing.centreline,
        "trapped_compression_ratio_estimate": timing.trapped_compression,
        "least_clearance_mm_estimate": clearance.map(|least| least.mm),
        "least_clearance_accuracy_mm": clearance.map(|least| least.accuracy_mm),
        "least_clearance_after_tdc_compression_estimate": clearance.map(|least| least.at),
        "least_clearance_lift_mm_estimate": clearance.map(|least| least.lift_mm),
        "least_clearance_places": places,
        "meets_piston": clearance.map(crate::valves::clearance::LeastClearance::meet),
        "clearance_needs": timing.clearance.as_ref().err().map(|why| why.missing()),
    })
}

pub(super) fn pair(drive: &Drive, pair: &PairTiming) -> Value {
    let name = |i: usize| drive.valves().get(i).map(|valves| valves.name.as_str());
    json!({
        "intake": name(pair.intake),
        "exhaust": name(pair.exhaust),
        "cylinders": pair.cylinders,
        "overlap_crank_degrees": pair.overlap,
        "lobe_separation_cam_degrees": pair.separation,
    })
}

fn sweep_json(drive: &Drive, sweep: &Sweep) -> Value {
    let (behind, ahead) = sweep.first_meeting();
    let rows: Vec<Value> = sweep
        .rows
        .iter()
        .map(|row| {
            let mut value = state(drive, &row.timing);
            if let Value::Object(map) = &mut value {
                map.insert("teeth".into(), json!(row.teeth));
                map.insert("shafts".into(), json!(shafts(drive, &row.errors)));
            }
            value
        })
        .collect();
    json!({
        "chain": drive.chain(sweep.at.chain).name(),
        "shaft": drive.shaft(drive.sprocket(sweep.at).shaft()).name(),
        "first_meeting_teeth_behind": behind.map(i64::abs),
        "first_meeting_teeth_ahead": ahead,
        "first_meeting": first_meeting(sweep),
        "rows": rows,
    })
}
