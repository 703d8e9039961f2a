//! What has to hold for cylinders and valves as written.

use crate::drive::valves::{Lift, closes_near, curve, opens_near};
use crate::spec::conform::nearest;
use crate::spec::finding::{DriveProblem, Finding, LiftTableFault, ValveProblem};
use crate::spec::format::key;
use crate::spec::raw::{ShaftKind, Spec};
use crate::spec::source::{At, Span};
use crate::spec::valves::{CylindersSpec, ValveSpec};
use crate::units::cycle::{DeadCentre, TradeAngle};
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact};

/// What can be said of both sections.
pub(super) fn check(spec: &Spec, findings: &mut Vec<Finding>) {
    if let Some(cylinders) = &spec.cylinders {
        check_cylinders(cylinders, findings);
    }
    for valves in &spec.valves {
        check_shaft(spec, valves, findings);
        check_own_cylinders(spec, valves, findings);
        check_events(valves, findings);
        check_lift(valves, findings);
    }
}

fn check_cylinders(spec: &CylindersSpec, findings: &mut Vec<Finding>) {
    if let (Some(stroke), Some(rod)) = (spec.stroke, spec.rod)
        && rod
            .value
            .checked_mul(Exact::whole(2))
            .is_ok_and(|double| double <= stroke.value)
    {
        findings.push(
            Finding::new(
                ValveProblem::RodTooShort {
                    stroke: stroke.value,
                },
                rod.span,
            )
            .with(stroke.span),
        );
    }
    let Some(order) = &spec.firing_order else {
        return;
    };
    let count = order.items.len();
    let missing = (1_i64..)
        .take(count)
        .find(|n| !order.items.iter().any(|item| item.value == *n));
    if let Some(missing) = missing {
        findings.push(Finding::new(
            ValveProblem::FiringOrder { count, missing },
            order.span,
        ));
        return;
    }
    let Some(offsets) = &spec.offsets else {
        return;
    };
    if offsets.items.len() != count {
        findings.push(
            Finding::new(
                ValveProblem::OffsetCount {
                    found: offsets.items.len(),
                    cylinders: count,
                },
                offsets.span,
            )
            .with(order.span),
        );
        return;
    }
    // Going once through the firing order the offsets rise and start again exactly once.
    let of = |i: usize| {
        let cylinder = order.items[i % count].value;
        usize::try_from(cylinder - 1)
            .ok()
            .and_then(|index| offsets.items.get(index))
    };
    let falls: Vec<usize> = (0..count)
        .filter(|i| match (of(*i), of(i + 1)) {
            (Some(here), Some(next)) => next.value < here.value,
            _ => false,
        })
        .collect();
    if falls.len() > 1 {
        // Where it falls first, unless that is the one place where it may start again.
        let at = falls[0] + 1;
        findings.push(
            Finding::new(
                ValveProblem::OffsetsAgainstFiringOrder {
                    cylinder: order.items[at % count].value,
                },
                of(at).map_or(offsets.span, |item| item.span),
            )
            .with(order.span),
        );
    }
}

fn check_shaft(spec: &Spec, valves: &ValveSpec, findings: &mut Vec<Finding>) {
    let Some(name) = &valves.shaft else { return };
    let Some(shaft) = spec.shafts.iter().find(|s| s.name.value == name.value) else {
        let known = spec.shafts.iter().map(|shaft| shaft.name.value.as_str());
        findings.push(Finding::new(
            DriveProblem::UnknownShaft {
                name: name.value.clone(),
                nearest: nearest(&name.value, known).map(str::to_owned),
            },
            name.span,
        ));
        return;
    };
    if let Some(kind) = &shaft.kind
        && kind.value != ShaftKind::Camshaft
    {
        findings.push(
            Finding::new(
                ValveProblem::ValvesNotOnCamshaft {
                    shaft: name.value.clone(),
                },
                name.span,
            )
            .with(kind.span),
        );
    }
}

fn check_own_cylinders(spec: &Spec, valves: &ValveSpec, findings: &mut Vec<Finding>) {
    let Some(own) = &valves.cylinders else { return };
    let order = spec
        .cylinders
        .as_ref()
        .and_then(|c| c.firing_order.as_ref());
    if spec.cylinders.is_some() && order.is_none() {
        // The firing order could not be read, for which there is a finding.
        return;
    }
    let count = order.map_or(0, |order| order.items.len());
    for (i, cylinder) in own.items.iter().enumerate() {
        let there = usize::try_from(cylinder.value).is_ok_and(|n| (1..=count).contains(&n));
        let twice = own.items[..i].iter().any(|c| c.value == cylinder.value);
        if !there || twice {
            let mut finding = Finding::new(
                ValveProblem::ValveCylinder {
                    cylinder: cylinder.value,
                    count,
                    twice: there,
                },
                cylinder.span,
            );
            finding.related = order.map(|order| order.span);
            findings.push(finding);
        }
    }
}

/// The dead centre that a stated event is counted from.
fn centre_of(place: CyclePlace) -> DeadCentre {
    if place == CyclePlace::OVERLAP_TDC {
        DeadCentre::Top
    } else {
        DeadCentre::Bottom
    }
}

/// Opening and closing as places in the cycle, where both are counted from the right dead centres.
pub(super) fn events(valves: &ValveSpec) -> Option<(CyclePlace, CyclePlace)> {
    let kind = valves.kind?.value;
    let place = |event: TradeAngle, near: CyclePlace| {
        (event.centre == centre_of(near))
            .then(|| near.later(event.after).ok())
            .flatten()
    };
    Some((
        place(valves.opens?.value, opens_near(kind))?,
        place(valves.closes?.value, closes_near(kind))?,
    ))
}

fn check_events(valves: &ValveSpec, findings: &mut Vec<Finding>) {
    let Some(kind) = valves.kind else { return };
    let pairs = [
        (key::OPENS, valves.opens, opens_near(kind.value)),
        (key::CLOSES, valves.closes, closes_near(kind.value)),
    ];
    for (event, found, near) in pairs {
        if let Some(found) = found
            && found.value.centre != centre_of(near)
        {
            findings.push(
                Finding::new(
                    ValveProblem::EventDeadCentre {
                        kind: kind.value.word(),
                        event,
                        found: found.value,
                        expected: centre_of(near),
                    },
                    found.span,
                )
                .with(kind.span),
            );
        }
    }
    // An opening is less than half a turn from its dead centre and so is a closing, so that the
    // time between them is 180 degrees and two numbers that may both count against it.
    if let (Some(_), Some(opens), Some(closes)) = (events(valves), valves.opens, valves.closes)
        && let Ok(duration) = CrankDegrees::whole(180)
            .checked_add(closes.value.after)
            .and_then(|sum| sum.checked_sub(opens.value.after))
        && (duration <= CrankDegrees::ZERO || duration > CrankDegrees::whole(360))
    {
        findings.push(
            Finding::new(ValveProblem::ValveDuration { duration }, closes.span).with(opens.span),
        );
    }
}

fn check_lift(valves: &ValveSpec, findings: &mut Vec<Finding>) {
    if let (Some(lift), Some(table)) = (valves.lift, valves.lift_table_span) {
        findings.push(Finding::new(ValveProblem::LiftAndTable, table).with(lift.span));
        return;
    }
    if let (Some(at_lift), Some(most)) = (valves.at_lift, valves.lift)
        && at_lift
            .value
            .checked_mul(Exact::whole(2))
            .is_ok_and(|double| double > most.value)
    {
        findings.push(
            Finding::new(
                ValveProblem::StatedLift {
                    at_lift: at_lift.value,
                    most: most.value,
                },
                at_lift.span,
            )
            .with(most.span),
        );
    }
    let Some(table) = &valves.lift_table else {
        return;
    };
    let before = findings.len();
    if let Some((fault, span)) = table_fault(&table.items, table.span, valves.at_lift) {
        findings.push(Finding::new(ValveProblem::LiftTable { fault }, span));
    }
    if findings.len() == before {
        table_against_events(valves, findings);
    }
}

fn table_fault(
    points: &[At<[Exact; 2]>],
    whole: Span,
    at_lift: Option<At<Exact>>,
) -> Option<(LiftTableFault, Span)> {
    let (first, last) = (points.first()?, points.last()?);
    let step = Exact::fraction(1, 1000)?;
    // Closer points would be finer than anybody measures, and steeper than can be searched.
    let falls = points.windows(2).find(|pair| {
        pair[1].value[0]
            .checked_sub(pair[0].value[0])
            .is_ok_and(|d| d < step)
    });
    if let Some(pair) = falls {
        return Some((LiftTableFault::NotRising, pair[1].span));
    }
    if let Some(end) = [first, last]
        .into_iter()
        .find(|end| !end.value[1].is_zero())
    {
        return Some((LiftTableFault::NotFromZero, end.span));
    }
    let most = points.iter().map(|point| point.value[1]).max()?;
    let top = points.iter().position(|point| point.value[1] == most)?;
    let wrong = (1..points.len()).find(|i| {
        let (before, here) = (points[i - 1].value[1], points[*i].value[1]);
        if *i <= top {
            here < before
        } else {
            here > before
        }
    });
    if let Some(i) = wrong {
        return Some((LiftTableFault::NotOneTop, points[i].span));
    }
    if last.value[0]
        .checked_sub(first.value[0])
        .is_ok_and(|length| length > Exact::whole(720))
    {
        return Some((LiftTableFault::TooLong, last.span));
    }
    if most <= at_lift.map_or(Exact::ZERO, |at_lift| at_lift.value) {
        return Some((LiftTableFault::TooLow, whole));
    }
    None
}

/// Two crank degrees are what reading a degree wheel can miss.
#[allow(
    clippy::float_arithmetic,
    clippy::cast_possible_truncation,
    reason = "compares an interpolated table, which is an estimate; it is at most 720 degrees long"
)]
fn table_against_events(valves: &ValveSpec, findings: &mut Vec<Finding>) {
    let (Some((opens, closes)), Some(at_lift), Some(table), Some(closing)) = (
        events(valves),
        valves.at_lift,
        &valves.lift_table,
        valves.closes,
    ) else {
        return;
    };
    let lift = Lift::Table(table.items.iter().map(|point| point.value).collect());
    let (Some((lobe, _)), Ok(stated)) = (
        curve(opens, closes, at_lift.value, &lift),
        closes.on_from(opens),
    ) else {
        return;
    };
    let (open, close) = lobe.open_above(at_lift.value.to_f64());
    if (close - open - stated.get().to_f64()).abs() > 2.0 {
        findings.push(
            Finding::new(
                ValveProblem::LiftTableDuration {
                    stated,
                    by_table_tenths: ((close - open) * 10.0).round() as i64,
                },
                valves.lift_table_span.unwrap_or(table.span),
            )
            .with(closing.span),
        );
    }
}
