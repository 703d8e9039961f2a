//! What a picture of one cycle shows whichever way it is written: dead centres, strokes, and where a valve
//! would touch the piston.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use crate::valves::clearance::PistonAndValve;

/// Dead centres by crank degrees.
pub(super) const DEAD_CENTRES: [(f64, &str); 5] = [
    (0.0, "TDC"),
    (180.0, "BDC"),
    (360.0, "TDC"),
    (540.0, "BDC"),
    (720.0, "TDC"),
];

/// The middles of strokes by crank degrees.
pub(super) const STROKES: [(f64, &str); 4] = [
    (90.0, "power"),
    (270.0, "exhaust"),
    (450.0, "intake"),
    (630.0, "compression"),
];

/// The lift at which a valve would touch the piston, over crank degrees every `step` of them: the runs of
/// it that lie between 0 and `most` mm.
pub(super) fn touching(both: &PistonAndValve, most: f64, step: u16) -> Vec<Vec<(f64, f64)>> {
    let mut runs = vec![Vec::new()];
    for place in (0..=720 / step).map(|at| f64::from(at * step)) {
        let free = both.clearance(place, 0.0) + both.lift(place, 0.0);
        if (0.0..=most).contains(&free) {
            if let Some(run) = runs.last_mut() {
                run.push((place, free));
            }
        } else {
            runs.push(Vec::new());
        }
    }
    // A single point is no line.
    runs.retain(|run| run.len() > 1);
    runs
}
