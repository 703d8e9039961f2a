//! The checked sections on cylinders and valves.

use crate::drive::model::Drive;
use crate::drive::valve_checks::events;
use crate::drive::valves::{Cylinders, Lift, Valves};
use crate::spec::raw::Spec;
use crate::spec::valves::ValveSpec;
use crate::units::quantity::{CrankDegrees, Exact};

pub(super) fn build_cylinders(spec: &Spec) -> Option<Cylinders> {
    let spec = spec.cylinders.as_ref()?;
    let order = spec.firing_order.as_ref()?;
    let firing_order: Vec<u8> = order
        .items
        .iter()
        .filter_map(|item| u8::try_from(item.value).ok())
        .collect();
    let count = firing_order.len();
    let offsets = match &spec.offsets {
        Some(offsets) => offsets
            .items
            .iter()
            .map(|item| CrankDegrees::new(item.value))
            .collect(),
        None => even_offsets(&firing_order)?,
    };
    Some(Cylinders {
        bore: spec.bore.map(|bore| bore.value),
        stroke: spec.stroke?.value,
        rod: spec.rod?.value,
        compression: spec.compression?.value,
        deck: spec.deck.map_or(Exact::ZERO, |deck| deck.value),
        gasket: spec.gasket.map_or(Exact::ZERO, |gasket| gasket.value),
        firing_order,
        offsets,
    })
    .filter(|cylinders| cylinders.offsets.len() == count)
}

/// Firing evenly over 720 crank degrees, cylinder 1 at the timed position.
fn even_offsets(firing_order: &[u8]) -> Option<Vec<CrankDegrees>> {
    let count = firing_order.len();
    let first = firing_order.iter().position(|cylinder| *cylinder == 1)?;
    (1..=count)
        .map(|cylinder| {
            let at = firing_order
                .iter()
                .position(|other| usize::from(*other) == cylinder)?;
            let turn = i64::try_from((at + count - first) % count).ok()?;
            let all = i64::try_from(count).ok()?;
            Exact::fraction(720 * turn, all).map(CrankDegrees::new)
        })
        .collect()
}

/// The valves; an entry that is not usable is left out, for there is an error about it.
pub(super) fn build_valves(spec: &Spec, drive: &Drive) -> Vec<Valves> {
    spec.valves
        .iter()
        .filter_map(|valves| build(valves, drive))
        .collect()
}

fn build(spec: &ValveSpec, drive: &Drive) -> Option<Valves> {
    let (opens, closes) = events(spec)?;
    let all = drive
        .cylinders
        .as_ref()
        .map_or(0, |cylinders| cylinders.firing_order.len());
    let mut cylinders: Vec<u8> = match &spec.cylinders {
        Some(own) => own
            .items
            .iter()
            .filter_map(|cylinder| u8::try_from(cylinder.value).ok())
            .collect(),
        None => (1..=u8::try_from(all).ok()?).collect(),
    };
    cylinders.sort_unstable();
    Some(Valves {
        name: spec.name.value.clone(),
        shaft: drive.shaft_named(&spec.shaft.as_ref()?.value)?,
        kind: spec.kind?.value,
        cylinders,
        opens,
        closes,
        at_lift: spec.at_lift?.value,
        lift: match (&spec.lift_table, spec.lift) {
            (Some(table), _) => Some(Lift::Table(
                table.items.iter().map(|point| point.value).collect(),
            )),
            (None, Some(most)) => Some(Lift::Most(most.value)),
            (None, None) => None,
        },
        inclination: spec.inclination.map_or(Exact::ZERO, |angle| angle.value),
        recess: spec.recess.map(|recess| recess.value),
        relief: spec.relief.map_or(Exact::ZERO, |relief| relief.value),
    })
}
