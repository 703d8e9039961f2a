//! How a job stands.

use super::record::RecordJson;
use crate::drive::model::Drive;
use crate::job::{
    Entry, Job, JobStatus, KitStatus, PhotoFound, PhotoStatus, StepState, StepStatus,
};
use crate::render::hints::Hints;
use crate::spec::stage::{Gate, Stage};
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct JobJson<'a> {
    engine: &'a str,
    car: Option<CarJson<'a>>,
    now: String,
    proven: bool,
    signed_off: bool,
    kit: Vec<KitJson<'a>>,
    steps: Vec<StepJson<'a>>,
    torques: Vec<TorqueJson<'a>>,
    overrides: Vec<EntryJson<'a>>,
    corrected: Vec<EntryJson<'a>>,
    photos: Vec<PhotoJson<'a>>,
    next: Option<&'a str>,
    timing: RecordJson<'a>,
}

#[derive(Serialize)]
struct CarJson<'a> {
    order: Option<&'a str>,
    plate: Option<&'a str>,
    engine_number: Option<&'a str>,
    mileage: Option<&'a str>,
}

#[derive(Serialize)]
struct PhotoJson<'a> {
    file: &'a str,
    about: Option<&'a str>,
    size: u64,
    checksum: &'a str,
    found: Option<&'static str>,
    attached: EntryJson<'a>,
}

#[derive(Serialize)]
struct EntryJson<'a> {
    at: Option<String>,
    by: Option<&'a str>,
    #[serde(rename = "override")]
    overriding: Option<OverrideJson<'a>>,
    corrected: Option<CorrectionJson<'a>>,
}

#[derive(Serialize)]
struct CorrectionJson<'a> {
    to: Option<String>,
    by: Option<&'a str>,
    why: &'a str,
}

#[derive(Serialize)]
struct OverrideJson<'a> {
    why: &'a str,
    against: &'a [String],
}

#[derive(Serialize)]
struct StepJson<'a> {
    step: &'a str,
    stage: Option<&'static str>,
    gate: Option<&'static str>,
    standing: &'static str,
    done: Option<EntryJson<'a>>,
    blocked_by: Vec<String>,
}

#[derive(Serialize)]
struct KitJson<'a> {
    name: &'a str,
    needed: u32,
    here: u32,
    missing: u32,
    single_use: bool,
    count_old: bool,
    old: Option<u32>,
    ordered: Option<EntryJson<'a>>,
}

#[derive(Serialize)]
struct TorqueJson<'a> {
    name: &'a str,
    to: String,
    confirmed: Option<EntryJson<'a>>,
}

/// How a job stands, as JSON. `hints` says how to look at what its texts want looked at.
pub fn job_json(drive: &Drive, job: &Job, status: &JobStatus<'_>, hints: &dyn Hints) -> Value {
    let kinds = drive.plan().fasteners().iter();
    json!(JobJson {
        engine: drive.engine(),
        car: job.car().map(|car| CarJson {
            order: car.order.as_deref(),
            plate: car.plate.as_deref(),
            engine_number: car.engine_number.as_deref(),
            mileage: car.mileage.as_deref(),
        }),
        now: status.now.to_string(),
        proven: status.is_proven(),
        signed_off: status.is_signed_off(),
        kit: status.kit.iter().map(kit).collect(),
        steps: status.steps.iter().map(step).collect(),
        torques: kinds
            .zip(&status.torques)
            .map(|(kind, confirmed)| TorqueJson {
                name: &kind.name,
                to: kind.torque_text(),
                confirmed: confirmed.map(entry),
            })
            .collect(),
        overrides: status.overrides.iter().map(|each| entry(each)).collect(),
        corrected: status.corrected.iter().map(|each| entry(each)).collect(),
        photos: status.photos.iter().map(photo).collect(),
        next: status.next().map(|step| step.step.name.as_str()),
        timing: RecordJson::new(drive, &status.check, hints),
    })
}

fn photo<'a>(photo: &PhotoStatus<'a>) -> PhotoJson<'a> {
    PhotoJson {
        file: &photo.photo.file,
        about: photo.photo.about.as_deref(),
        size: photo.photo.size,
        checksum: &photo.photo.checksum,
        found: photo.found.map(|found| match found {
            PhotoFound::Same => "same",
            PhotoFound::Changed => "changed",
            PhotoFound::Gone => "gone",
        }),
        attached: entry(photo.entry),
    }
}

fn entry(entry: &Entry) -> EntryJson<'_> {
    EntryJson {
        at: entry.at.map(|at| at.to_string()),
        by: entry.by.as_deref(),
        overriding: entry.overriding.as_ref().map(|overriding| OverrideJson {
            why: &overriding.why,
            against: &overriding.against,
        }),
        corrected: entry.corrected.as_ref().map(|correction| CorrectionJson {
            to: correction.to.map(|to| to.to_string()),
            by: correction.by.as_deref(),
            why: &correction.why,
        }),
    }
}

fn step<'a>(step: &StepStatus<'a>) -> StepJson<'a> {
    StepJson {
        step: &step.step.name,
        stage: step.step.stage.map(Stage::word),
        gate: step.step.gate.map(Gate::word),
        standing: match step.state {
            StepState::Done => "done",
            StepState::Open => "open",
            StepState::Blocked => "blocked",
        },
        done: step.entry.map(entry),
        blocked_by: step.blocks.iter().map(ToString::to_string).collect(),
    }
}

fn kit<'a>(kit: &KitStatus<'a>) -> KitJson<'a> {
    KitJson {
        name: kit.name,
        needed: kit.needed,
        here: kit.here,
        missing: kit.lacking(),
        single_use: kit.single_use,
        count_old: kit.count_old,
        old: kit.old,
        ordered: kit.ordered.map(entry),
    }
}
