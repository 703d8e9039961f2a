//! Fasteners and their torques.

use super::numbers;
use crate::drive::plan::Fastener;
use crate::units::torque::{Tightening, TorqueUnit, decimal};

/// Said wherever torques are.
pub(crate) const TORQUES_ARE_OF_THE_SPEC: &str =
    "Lengths and torques are those of the spec file. The maker's figures rule.";

/// One stage of tightening: as the spec has it, and rounded in the other units.
pub(crate) fn tightening_words(stage: &Tightening) -> String {
    match stage {
        Tightening::Angle(angle) => format!("further by {} degrees", decimal(*angle)),
        Tightening::Torque(torque) => {
            let others = TorqueUnit::ALL
                .into_iter()
                .filter(|unit| *unit != torque.unit())
                .filter_map(|unit| {
                    let value = torque.in_unit(unit).ok()?;
                    Some(format!("{} {}", numbers::rounded(value, 1), unit.word()))
                });
            let others: Vec<String> = others.collect();
            format!("{torque} (about {})", others.join(", "))
        }
    }
}

/// `M8 x 1.25, 30 mm`.
pub(crate) fn size_words(kind: &Fastener) -> String {
    format!("{}, {} mm", kind.thread, decimal(kind.length))
}
