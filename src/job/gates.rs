//! Which steps are done, open or blocked, worked out anew from the history and what was seen.

use crate::drive::model::Drive;
use crate::drive::plan::{JobPart, JobStep, Plan};
use crate::job::block::Block;
use crate::job::entry::Entry;
use crate::job::record::{Record, RecordCheck};
use crate::job::replay::Replay;
use crate::job::status::{JobStatus, StepState, StepStatus};
use crate::proof::check::CheckError;
use crate::spec::stage::{Gate, Stage};
use crate::timing::check::Verdict;
use crate::units::timestamp::Timestamp;

/// How a job stands at a time; every verdict is worked out again.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] prevent it.
pub(super) fn status<'j>(
    drive: &'j Drive,
    record: &'j Record,
    entries: &'j [Entry],
    now: Timestamp,
) -> Result<JobStatus<'j>, CheckError> {
    let plan = drive.plan();
    // What speaks against being in time counts whenever it was seen; what speaks for it must be of its time.
    let seen = record.check(drive)?;
    let mut in_time = vec![false; record.looks.len()];
    for checked in seen.stages.iter().chain(&seen.earlier) {
        in_time[checked.place] = checked.check.verdict() == Verdict::InTime;
    }
    let replay = Replay::of(plan, record, &in_time, entries);
    let check = record.check_with(drive, &replay.unfit)?;
    let mut steps = Vec::with_capacity(plan.steps().len());
    for i in 0..plan.steps().len() {
        let step = step_status(plan, i, &replay, &check, &steps, now);
        steps.push(step);
    }
    Ok(JobStatus {
        now,
        check,
        kit: replay.kit,
        torques: replay.torques,
        steps,
        overrides: entries
            .iter()
            .filter(|entry| entry.overriding.is_some())
            .collect(),
        corrected: entries
            .iter()
            .filter(|entry| entry.corrected.is_some())
            .collect(),
        photos: replay.photos,
        unknown: replay.unknown,
    })
}

/// How one step stands, after those `before` it.
fn step_status<'j>(
    plan: &'j Plan,
    i: usize,
    replay: &Replay<'j>,
    check: &RecordCheck<'_>,
    before: &[StepStatus<'j>],
    now: Timestamp,
) -> StepStatus<'j> {
    let step = &plan.steps()[i];
    let entry = replay.ticked[i];
    // First: what is tightened on it is tightened again.
    let mut own: Vec<Block> = too_late(step, entry, before.last(), now)
        .into_iter()
        .collect();
    own.extend(own_blocks(plan, i, replay, check));
    let overridden = entry.is_some_and(|entry| entry.overriding.is_some());
    if entry.is_some() && (own.is_empty() || overridden) {
        return StepStatus {
            step,
            state: StepState::Done,
            entry,
            blocks: own,
        };
    }
    let mut blocks = order_blocks(before, now);
    blocks.extend(kit_blocks(plan, i, replay));
    blocks.extend(own);
    // What is left of the step's own work does not keep anybody from it.
    let own_work = |block: &Block| match block {
        Block::Torque { .. } => true,
        Block::Marks { .. } | Block::Unfit { .. } => step.gate.is_none(),
        _ => false,
    };
    let state = if blocks.iter().all(own_work) {
        StepState::Open
    } else {
        StepState::Blocked
    };
    StepStatus {
        step,
        state,
        entry,
        blocks,
    }
}

/// The first step before it that is not done, and every one that makes it wait.
fn order_blocks(before: &[StepStatus<'_>], now: Timestamp) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(open) = before.iter().find(|step| step.state != StepState::Done) {
        blocks.push(Block::NotDone {
            step: open.step.name.clone(),
        });
    }
    for step in before {
        if let (Some(minutes), Some(at)) = (step.step.wait, step.entry.and_then(Entry::when))
            && now < at.plus_minutes(minutes)
        {
            blocks.push(Block::Waiting {
                step: step.step.name.clone(),
                until: at.plus_minutes(minutes),
            });
        }
    }
    blocks
}

/// Has more time gone by since the step before than there is? What was done in time stays so.
fn too_late(
    step: &JobStep,
    entry: Option<&Entry>,
    before: Option<&StepStatus<'_>>,
    now: Timestamp,
) -> Option<Block> {
    let (within, before) = step.within.zip(before)?;
    let until = before.entry.and_then(Entry::when)?.plus_minutes(within);
    let done = entry.and_then(Entry::when).unwrap_or(now);
    (done > until).then(|| Block::TooLate {
        step: before.step.name.clone(),
        within,
        until,
    })
}

/// What has to be on the bench for a step: before the first one, everything.
fn kit_blocks(plan: &Plan, step: usize, replay: &Replay<'_>) -> Vec<Block> {
    let own = &plan.steps()[step];
    let takes = |name: &str| {
        own.parts.iter().any(|i| plan.parts()[*i].name == name)
            || own
                .fasteners
                .iter()
                .any(|i| plan.fasteners()[*i].name == name)
    };
    replay
        .kit
        .iter()
        .filter(|kit| kit.lacking() > 0 && (step == 0 || takes(kit.name)))
        .map(|kit| Block::Missing {
            kit: kit.name.to_owned(),
            lacking: kit.lacking(),
        })
        .collect()
}

/// What a step itself has to show, so that it is done and stays so.
fn own_blocks(plan: &Plan, i: usize, replay: &Replay<'_>, check: &RecordCheck<'_>) -> Vec<Block> {
    let step = &plan.steps()[i];
    let mut blocks = Vec::new();
    let all: Vec<usize> = match step.gate {
        Some(Gate::SignOff) => (0..plan.fasteners().len()).collect(),
        _ => step.fasteners.clone(),
    };
    for i in all {
        if replay.torques[i].is_none() {
            blocks.push(Block::Torque {
                fastener: plan.fasteners()[i].name.clone(),
            });
        }
    }
    let verdict = |stage: Stage| {
        let seen = check.stages.iter().find(|seen| seen.look.stage == stage);
        seen.map(|seen| (seen.check.verdict(), seen.is_settled()))
    };
    for stage in Stage::ALL {
        let (verdict, settled) = verdict(stage).unzip();
        let needed = step.stage == Some(stage)
            || match step.gate {
                None => false,
                // A later stage need not be looked at yet, but nothing seen there may speak
                // against it.
                Some(Gate::Release) => stage == Stage::Hung || verdict == Some(Verdict::OutOfTime),
                Some(Gate::Cover | Gate::SignOff) => true,
            };
        if needed && (verdict != Some(Verdict::InTime) || settled != Some(true)) {
            blocks.push(match check.unfit(stage) {
                Some(why) => Block::Unfit {
                    stage,
                    why: why.clone(),
                },
                None => Block::Marks { stage, verdict },
            });
        }
    }
    for seen in &check.stages {
        let stage = seen.look.stage;
        let (all, denied) = match (step.gate, step.stage) {
            (Some(Gate::Release), _) => (stage == Stage::Hung, false),
            (Some(Gate::Cover | Gate::SignOff), _) => (true, true),
            // Nobody turns the engine by what was not said at the stage before.
            (None, Some(own)) => (stage < own, stage == Stage::Turned && own == stage),
            (None, None) => (false, false),
        };
        for (what, answer) in &seen.unsaid {
            if all || (denied && answer.is_some()) {
                blocks.push(Block::Unsaid {
                    what: *what,
                    denied: answer.is_some(),
                });
            }
        }
    }
    for (part, off) in old_parts(plan, i, replay) {
        blocks.push(Block::Old {
            part: part.name.clone(),
            off,
            on: part.quantity,
        });
    }
    blocks
}

/// The parts whose old ones have to be counted before the gate that step `i` is, and are not or differ: before
/// the cover those of all steps up to it, before the sign-off all.
fn old_parts<'p>(plan: &'p Plan, i: usize, replay: &Replay<'_>) -> Vec<(&'p JobPart, Option<u32>)> {
    let until = match plan.steps()[i].gate {
        Some(Gate::Cover) => i + 1,
        Some(Gate::SignOff) => plan.steps().len(),
        Some(Gate::Release) | None => return Vec::new(),
    };
    let mut open = Vec::new();
    for (place, part) in plan.parts().iter().enumerate() {
        let later = plan.steps()[until..].iter();
        if !part.count_old || later.clone().any(|step| step.parts.contains(&place)) {
            continue;
        }
        let kit = replay.kit.iter().find(|kit| kit.name == part.name);
        let off = kit.and_then(|kit| kit.old);
        if off != Some(part.quantity) {
            open.push((part, off));
        }
    }
    open
}
