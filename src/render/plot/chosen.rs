//! Which valves a plot shows, and in a few words what has been moved.

use crate::drive::model::Drive;
use crate::render::words::numbers::decimal;
use crate::valves::slip::SlipOutcome;

/// The pairs worth a panel: those that the slip changed, each kind of change once; the first if
/// nothing changed.
pub(super) fn pairs_to_draw(outcome: &SlipOutcome) -> Vec<usize> {
    let events = |p: usize| {
        let pair = &outcome.after.pairs[p];
        [pair.intake, pair.exhaust].map(|valve| {
            (
                outcome.before.valves[valve].opens,
                outcome.before.valves[valve].closes,
                outcome.after.valves[valve].shift,
            )
        })
    };
    let mut chosen: Vec<usize> = Vec::new();
    for p in 0..outcome.after.pairs.len() {
        let moved = events(p).iter().any(|(_, _, shift)| !shift.is_zero());
        if moved && !chosen.iter().any(|other| events(*other) == events(p)) {
            chosen.push(p);
        }
    }
    if chosen.is_empty() && !outcome.after.pairs.is_empty() {
        chosen.push(0);
    }
    chosen
}

/// What has been moved, in few words and crank degrees: `exhaust in time, intake 20 late`.
pub(super) fn moved_words(drive: &Drive, outcome: &SlipOutcome, pair: usize) -> String {
    let Some(pair) = outcome.after.pairs.get(pair) else {
        return String::new();
    };
    let one = |valve: usize| {
        let after = &outcome.after.valves[valve];
        let shift = after.shift;
        let name = &drive.valves()[valve].name;
        if after.crank_turn_out() {
            return format!("{name} a whole crank turn out");
        }
        match shift.get().signum() {
            0 => format!("{name} in time"),
            sign => format!(
                "{name} {} {}",
                decimal(shift.get().abs().to_f64(), 1),
                if sign < 0 { "late" } else { "early" }
            ),
        }
    };
    format!("{}, {}", one(pair.exhaust), one(pair.intake))
}
