//! The fasteners of a job.

use crate::drive::model::Drive;
use crate::drive::plan::Fastener;
use crate::render::words::cautions::CAUTIONS;
use crate::units::quantity::Exact;
use crate::units::torque::{Tightening, TorqueUnit};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct SheetJson<'a> {
    engine: &'a str,
    fasteners: Vec<FastenerJson<'a>>,
    cautions: &'static [&'static str],
}

#[derive(Serialize)]
struct FastenerJson<'a> {
    name: &'a str,
    component: &'a str,
    count: u32,
    thread: &'a str,
    length_mm: Exact,
    single_use: bool,
    torque: Vec<StageJson>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum StageJson {
    Angle {
        degrees: Exact,
    },
    Torque {
        as_given: String,
        newton_metres: Option<Exact>,
        pound_force_feet: Option<Exact>,
        pound_force_inches: Option<Exact>,
    },
}

/// The fastener sheet as JSON; torques exact in all three units.
pub fn sheet_json(drive: &Drive) -> Value {
    let kinds = drive.plan().fasteners().iter();
    json!(SheetJson {
        engine: drive.engine(),
        fasteners: kinds.map(fastener).collect(),
        cautions: CAUTIONS,
    })
}

fn fastener(kind: &Fastener) -> FastenerJson<'_> {
    FastenerJson {
        name: &kind.name,
        component: &kind.component,
        count: kind.count,
        thread: &kind.thread,
        length_mm: kind.length,
        single_use: kind.single_use,
        torque: kind.torque.iter().map(stage).collect(),
    }
}

fn stage(stage: &Tightening) -> StageJson {
    match stage {
        Tightening::Angle(angle) => StageJson::Angle { degrees: *angle },
        Tightening::Torque(torque) => {
            let value = |unit| torque.in_unit(unit).ok();
            StageJson::Torque {
                as_given: torque.to_string(),
                newton_metres: value(TorqueUnit::NewtonMetre),
                pound_force_feet: value(TorqueUnit::PoundForceFoot),
                pound_force_inches: value(TorqueUnit::PoundForceInch),
            }
        }
    }
}
