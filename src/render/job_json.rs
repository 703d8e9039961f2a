//! A job for a program to read. Field names are stable.

use super::record_json;
use crate::drive::model::Drive;
use crate::job::{Entry, JobStatus, StepState};
use serde_json::{Value, json};

/// How a job stands, as JSON.
pub fn job_json(drive: &Drive, status: &JobStatus<'_>) -> Value {
    let entry_json = |entry: &Entry| {
        json!({
            "at": entry.at.map(|at| at.to_string()),
            "by": entry.by,
            "override": entry.overriding.as_ref().map(|overriding| json!({
                "why": overriding.why,
                "against": overriding.against,
            })),
        })
    };
    let steps: Vec<Value> = status
        .steps
        .iter()
        .map(|step| {
            json!({
                "step": step.step.name,
                "stage": step.step.stage.map(crate::spec::stage::Stage::word),
                "gate": step.step.gate.map(crate::spec::stage::Gate::word),
                "standing": match step.state {
                    StepState::Done => "done",
                    StepState::Open => "open",
                    StepState::Blocked => "blocked",
                },
                "done": step.entry.map(entry_json),
                "blocked_by": step.blocks.iter().map(ToString::to_string).collect::<Vec<_>>(),
            })
        })
        .collect();
    let kit: Vec<Value> = status
        .kit
        .iter()
        .map(|kit| {
            json!({
                "name": kit.name,
                "needed": kit.needed,
                "here": kit.here,
                "missing": kit.lacking(),
                "single_use": kit.single_use,
                "ordered": kit.ordered.map(entry_json),
            })
        })
        .collect();
    let torques: Vec<Value> = drive
        .plan()
        .fasteners()
        .iter()
        .zip(&status.torques)
        .map(|(kind, entry)| {
            json!({
                "name": kind.name,
                "to": kind.torque_text(),
                "confirmed": entry.map(entry_json),
            })
        })
        .collect();
    json!({
        "engine": drive.engine(),
        "now": status.now.to_string(),
        "proven": status.is_proven(),
        "signed_off": status.is_signed_off(),
        "kit": kit,
        "steps": steps,
        "torques": torques,
        "overrides": status.overrides.iter().map(|entry| entry_json(entry)).collect::<Vec<_>>(),
        "timing": record_json(drive, &status.check),
    })
}
