//! Everything at one place of the crankshaft: the drive, and each cylinder with its piston, its valves and their gap.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use super::place::place_json;
use super::{lift, section};
use crate::drive::model::Drive;
use crate::render::words::slip::{centred, mm};
use crate::units::quantity::{CrankDegrees, OutOfRange, Turns};
use crate::valves::clearance::TOO_CLOSE_MM;
use crate::valves::cylinder::{CylinderPose, ValvePose, cylinder_poses};
use crate::valves::slip::{SlipError, Slips};
use serde_json::{Value, json};

/// As [`place_json`], and in `cylinders` how each of them stands then, in firing order: its `stroke`, where it is in its
/// cycle (`place`), and for the figures of [`figures_json`](super::figures_json) how far the piston is down (`down`, in
/// mm), how the rod leans, where the pointer of the timing circle and the cursor of the lift plot stand. Of each valve:
/// by how much it is moved in the section, its lift and its gap in words, and the gap's `state` (`clear`, `close`, `meet`
/// or `unknown`).
///
/// # Errors
/// As [`place_json`].
pub fn moment_json(drive: &Drive, turned: Turns, slips: &Slips) -> Result<Value, SlipError> {
    let mut moment = place_json(drive, turned, slips)?;
    moment["cylinders"] = cylinders_json(drive, turned, slips)?;
    Ok(moment)
}

/// The `cylinders` of [`moment_json`] alone.
///
/// # Errors
/// As [`place_json`].
pub fn cylinders_json(drive: &Drive, turned: Turns, slips: &Slips) -> Result<Value, SlipError> {
    let poses = cylinder_poses(drive, turned, &slips.errors(drive)?)?;
    let cylinders: Result<Vec<Value>, OutOfRange> =
        poses.iter().map(|pose| cylinder(drive, pose)).collect();
    Ok(json!(cylinders?))
}

/// A thousandth of a millimetre.
fn cut(value: f64) -> f64 {
    // Adding zero makes one of minus zero.
    (value * 1000.0).round() / 1000.0 + 0.0
}

fn cylinder(drive: &Drive, pose: &CylinderPose) -> Result<Value, OutOfRange> {
    let at = pose.place.get().to_f64();
    let valves = pose.valves.iter().map(|valve| valve_json(drive, valve));
    let valves: Vec<Value> = valves.collect();
    Ok(json!({
        "cylinder": pose.cylinder,
        "stroke": pose.stroke.word(),
        "place": centred(pose.place)?,
        "degrees": CrankDegrees::new(pose.place.get()),
        "down": cut(pose.travel_mm),
        "piston": format!("{:.1} mm below TDC", pose.travel_mm),
        "lean": cut(section::lean(drive, at)),
        "pointer": cut(at.rem_euclid(360.0)),
        "cursor": cut(lift::across(at)),
        "valves": valves,
    }))
}

fn valve_json(drive: &Drive, pose: &ValvePose) -> Value {
    let valves = &drive.valves()[pose.valve];
    let (state, gap) = match pose.gap_mm {
        Ok(0.0) => ("meet", "MEET: touching".to_owned()),
        Ok(gap) if gap < 0.0 => ("meet", format!("MEET: {} into the piston", mm(-gap))),
        Ok(gap) if gap < TOO_CLOSE_MM => ("close", format!("{}: too close to call", mm(gap))),
        Ok(gap) => ("clear", format!("{}: clear", mm(gap))),
        Err(why) => ("unknown", format!("not known, needs {}", why.missing())),
    };
    let lift = pose.lift_mm.unwrap_or(0.0);
    let (x, y) = section::lifted(valves, lift);
    json!({
        "valve": pose.valve,
        "name": valves.name,
        "kind": valves.kind.word(),
        "moved": [cut(x), cut(y)],
        "open": lift > 0.0,
        "lift": match pose.lift_mm {
            Some(lift) if lift > 0.0 => format!("{lift:.2} mm"),
            Some(_) => "closed".to_owned(),
            None => "not known".to_owned(),
        },
        "lift_mm": pose.lift_mm.map(cut),
        "gap_mm": pose.gap_mm.ok().map(cut),
        "gap": gap,
        "state": state,
    })
}
