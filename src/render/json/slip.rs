//! What a slip does. Exact values are strings `p/q`; numbers whose names end in `_estimate` are
//! estimates.

use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::hints::Hints;
use crate::render::words::cautions::CAUTIONS;
use crate::render::words::slip::{
    ESTIMATE, basis, contact_word, dead_centre, first_meeting, from_timed_position, lift_law,
    no_compression, symptom,
};
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, Teeth};
use crate::valves::clearance::LeastClearance;
use crate::valves::slip::{SlipOutcome, Slips, Sweep};
use crate::valves::timing::{PairTiming, Timing, ValveTiming};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct SlipJson<'a> {
    engine: &'a str,
    note: &'static str,
    verdict: &'static str,
    slips: Vec<TeethJson<'a>>,
    phasers: Vec<PhaserJson<'a>>,
    elongation: Option<Exact>,
    shafts: Vec<ShaftJson<'a>>,
    before: StateJson<'a>,
    after: StateJson<'a>,
    symptoms: Vec<SymptomJson>,
    sweep: Option<SweepJson<'a>>,
    basis: Vec<String>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct TeethJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    teeth: Teeth,
}

#[derive(Serialize)]
struct PhaserJson<'a> {
    shaft: &'a str,
    ahead_of_parked_crank_degrees: CrankDegrees,
}

#[derive(Serialize)]
struct ShaftJson<'a> {
    shaft: &'a str,
    off_crank_degrees: CrankDegrees,
    off_teeth: Option<Teeth>,
    /// Half a turn of its own: neither ahead nor behind.
    half_turn_out: bool,
}

#[derive(Serialize)]
struct StateJson<'a> {
    verdict: &'static str,
    valves: Vec<ValveJson<'a>>,
    pairs: Vec<PairJson<'a>>,
}

#[derive(Serialize)]
struct SymptomJson {
    code: &'static str,
    text: &'static str,
    source: &'static str,
}

/// The valves of a camshaft.
#[derive(Serialize)]
pub(crate) struct ValveJson<'a> {
    name: &'a str,
    kind: &'static str,
    shaft: &'a str,
    cylinders: &'a [u8],
    at_lift_mm: Exact,
    lift_law: Option<&'static str>,
    shift_crank_degrees: CrankDegrees,
    crank_turn_out: bool,
    opens: Option<String>,
    closes: Option<String>,
    opens_dead_centre: Option<String>,
    closes_dead_centre: Option<String>,
    opens_after_tdc_compression: CyclePlace,
    closes_after_tdc_compression: CyclePlace,
    duration_crank_degrees: CrankDegrees,
    lobe_centreline_crank_degrees: CrankDegrees,
    trapped_compression_ratio_estimate: Option<f64>,
    no_compression: Option<&'static str>,
    least_clearance_mm_estimate: Option<f64>,
    least_clearance_accuracy_mm: Option<f64>,
    least_clearance_after_tdc_compression_estimate: Option<f64>,
    least_clearance_lift_mm_estimate: Option<f64>,
    least_clearance_places: Vec<PlaceJson>,
    meets_piston: Option<bool>,
    clearance_needs: Option<&'static str>,
}

#[derive(Serialize)]
struct PlaceJson {
    cylinder: u8,
    after_timed_position_crank_degrees_estimate: f64,
}

/// Intake and exhaust of the same cylinders.
#[derive(Serialize)]
pub(crate) struct PairJson<'a> {
    intake: Option<&'a str>,
    exhaust: Option<&'a str>,
    cylinders: &'a [u8],
    overlap_crank_degrees: CrankDegrees,
    lobe_separation_cam_degrees: Exact,
}

#[derive(Serialize)]
struct SweepJson<'a> {
    chain: &'a str,
    shaft: &'a str,
    first_meeting_teeth_behind: Option<i64>,
    first_meeting_teeth_ahead: Option<i64>,
    first_meeting: String,
    rows: Vec<RowJson<'a>>,
}

#[derive(Serialize)]
struct RowJson<'a> {
    teeth: i64,
    shafts: Vec<ShaftJson<'a>>,
    #[serde(flatten)]
    state: StateJson<'a>,
}

/// What the slip does as JSON, and the table of `sweep` if there is one. `hints` says how to give
/// what the estimates leave out.
pub fn slip_json(
    drive: &Drive,
    slips: &Slips,
    outcome: &SlipOutcome,
    sweep: Option<&Sweep>,
    hints: &dyn Hints,
) -> Value {
    json!(SlipJson {
        engine: drive.engine(),
        note: ESTIMATE,
        verdict: contact_word(outcome.after.contact()),
        slips: slips
            .teeth()
            .iter()
            .map(|(at, teeth)| TeethJson {
                chain: drive.chain(at.chain).name(),
                shaft: drive.shaft(drive.sprocket(*at).shaft()).name(),
                teeth: *teeth,
            })
            .collect(),
        phasers: slips
            .phasers()
            .iter()
            .map(|(shaft, ahead)| PhaserJson {
                shaft: drive.shaft(*shaft).name(),
                ahead_of_parked_crank_degrees: *ahead,
            })
            .collect(),
        elongation: slips.elongation(),
        shafts: shafts(drive, &outcome.errors),
        before: state(drive, &outcome.before),
        after: state(drive, &outcome.after),
        symptoms: outcome
            .symptoms
            .iter()
            .map(|each| {
                let (code, text) = symptom(*each);
                SymptomJson {
                    code,
                    text,
                    source: "common practice",
                }
            })
            .collect(),
        sweep: sweep.map(|sweep| sweep_json(drive, sweep)),
        basis: basis(drive, slips, &outcome.before, hints),
        cautions: CAUTIONS,
    })
}

fn shafts<'a>(drive: &'a Drive, errors: &[CrankDegrees]) -> Vec<ShaftJson<'a>> {
    drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id))
        .filter_map(|(id, shaft)| {
            let error = *errors.get(id.index())?;
            let at = shaft.driven_at()?;
            Some(ShaftJson {
                shaft: shaft.name(),
                off_crank_degrees: error,
                off_teeth: drive.chain(at.chain).teeth_in(error).ok(),
                half_turn_out: shaft.turn().is_ok_and(|turn| {
                    error
                        .get()
                        .nearest_modulo(turn.get())
                        .is_ok_and(|off| off.is_half_of(turn.get()))
                }),
            })
        })
        .collect()
}

fn state<'a>(drive: &'a Drive, timing: &'a Timing) -> StateJson<'a> {
    StateJson {
        verdict: contact_word(timing.contact()),
        valves: drive
            .valves()
            .iter()
            .zip(&timing.valves)
            .map(|(valves, timing)| valve(drive, valves, timing))
            .collect(),
        pairs: timing.pairs.iter().map(|each| pair(drive, each)).collect(),
    }
}

/// The valves of a camshaft and how they are timed.
pub(crate) fn valve<'a>(
    drive: &'a Drive,
    valves: &'a Valves,
    timing: &ValveTiming,
) -> ValveJson<'a> {
    let clearance = timing.clearance.as_ref().ok();
    ValveJson {
        name: &valves.name,
        kind: valves.kind.word(),
        shaft: drive.shaft(valves.shaft).name(),
        cylinders: &valves.cylinders,
        at_lift_mm: valves.at_lift,
        lift_law: lift_law(valves),
        shift_crank_degrees: timing.shift,
        crank_turn_out: timing.crank_turn_out(),
        opens: trade(timing.opens, valves.opens_near()),
        closes: trade(timing.closes, valves.closes_near()),
        opens_dead_centre: dead_centre(timing.opens, valves.opens_near()).ok(),
        closes_dead_centre: dead_centre(timing.closes, valves.closes_near()).ok(),
        opens_after_tdc_compression: timing.opens,
        closes_after_tdc_compression: timing.closes,
        duration_crank_degrees: timing.duration,
        lobe_centreline_crank_degrees: timing.centreline,
        trapped_compression_ratio_estimate: timing.trapped_compression,
        no_compression: timing.no_compression.map(|why| no_compression(why).0),
        least_clearance_mm_estimate: clearance.map(|least| least.mm),
        least_clearance_accuracy_mm: clearance.map(|least| least.accuracy_mm),
        least_clearance_after_tdc_compression_estimate: clearance.map(|least| least.at),
        least_clearance_lift_mm_estimate: clearance.map(|least| least.lift_mm),
        least_clearance_places: clearance
            .map(|least| places(drive, valves, least))
            .unwrap_or_default(),
        meets_piston: clearance.map(LeastClearance::meet),
        clearance_needs: timing.clearance.as_ref().err().map(|why| why.missing()),
    }
}

/// An event as the trade says it, such as `17 BTDC`.
fn trade(event: CyclePlace, usual: CyclePlace) -> Option<String> {
    event.trade(usual).ok().map(|angle| angle.to_string())
}

/// Where the valves of each cylinder come nearest to their piston.
fn places(drive: &Drive, valves: &Valves, least: &LeastClearance) -> Vec<PlaceJson> {
    let Some(cylinders) = drive.cylinders() else {
        return Vec::new();
    };
    valves
        .cylinders
        .iter()
        .filter_map(|number| {
            let offset = cylinders
                .offsets
                .get(usize::from(*number).checked_sub(1)?)?;
            Some(PlaceJson {
                cylinder: *number,
                after_timed_position_crank_degrees_estimate: from_timed_position(
                    offset.get(),
                    least.at,
                ),
            })
        })
        .collect()
}

/// Intake and exhaust of the same cylinders, against each other.
pub(crate) fn pair<'a>(drive: &'a Drive, pair: &'a PairTiming) -> PairJson<'a> {
    let name = |i: usize| drive.valves().get(i).map(|valves| valves.name.as_str());
    PairJson {
        intake: name(pair.intake),
        exhaust: name(pair.exhaust),
        cylinders: &pair.cylinders,
        overlap_crank_degrees: pair.overlap,
        lobe_separation_cam_degrees: pair.separation,
    }
}

fn sweep_json<'a>(drive: &'a Drive, sweep: &'a Sweep) -> SweepJson<'a> {
    let (behind, ahead) = sweep.first_meeting();
    SweepJson {
        chain: drive.chain(sweep.at.chain).name(),
        shaft: drive.shaft(drive.sprocket(sweep.at).shaft()).name(),
        first_meeting_teeth_behind: behind.map(i64::abs),
        first_meeting_teeth_ahead: ahead,
        first_meeting: first_meeting(sweep),
        rows: sweep
            .rows
            .iter()
            .map(|row| RowJson {
                teeth: row.teeth,
                shafts: shafts(drive, &row.errors),
                state: state(drive, &row.timing),
            })
            .collect(),
    }
}
