//! Ticking something off: what it means in this job, and what blocks it.

use crate::drive::model::Drive;
use crate::drive::plan::Plan;
use crate::job::block::Block;
use crate::job::entry::{Authorship, Entry, Event, Override};
use crate::job::error::JobError;
use crate::job::item::Item;
use crate::job::model::Job;
use crate::job::status::{JobStatus, KitStatus, StepState};
use crate::spec::conform::nearest;
use crate::spec::stage::Gate;
use crate::units::quantity::Exact;

impl Job {
    /// Adds that something is done, if nothing blocks it, or what blocks it is overridden.
    ///
    /// # Errors
    /// [`JobError`] if it cannot be added.
    pub fn tick(
        &mut self,
        drive: &Drive,
        item: &Item,
        author: Authorship<'_>,
    ) -> Result<(), JobError> {
        self.refuse_earlier(author.at)?;
        let status = self.status(drive, author.at)?;
        let (event, blocks) = event_of(drive.plan(), &status, item)?;
        if matches!(&event, Event::Step { step } if is_sign_off(drive.plan(), step))
            && author.by.is_none()
        {
            return Err(JobError::NeedsName);
        }
        let overriding = match author.overriding {
            _ if blocks.is_empty() => None,
            Some(_) if author.by.is_none() => return Err(JobError::NeedsName),
            Some(why) => Some(Override {
                why: why.to_owned(),
                against: blocks.iter().map(Block::to_string).collect(),
            }),
            None => {
                return Err(JobError::Blocked {
                    item: item.words(),
                    blocks,
                });
            }
        };
        let entry = Entry {
            at: Some(author.at),
            by: author.by.map(str::to_owned),
            event,
            overriding,
            corrected: None,
        };
        self.push(drive, entry)
    }
}

fn is_sign_off(plan: &Plan, name: &str) -> bool {
    plan.steps()
        .iter()
        .any(|step| step.name == name && step.gate == Some(Gate::SignOff))
}

/// What an item means in this job, and what blocks it.
fn event_of(
    plan: &Plan,
    status: &JobStatus<'_>,
    item: &Item,
) -> Result<(Event, Vec<Block>), JobError> {
    match item {
        Item::OnHand { kit, count, length } => {
            Ok((on_hand(plan, status, kit, *count, *length)?, Vec::new()))
        }
        Item::Old { part, count } => {
            let counted = plan.parts().iter().filter(|part| part.count_old);
            let known = counted.clone().find(|own| own.name == *part);
            let Some(own) = known else {
                let known = counted.map(|part| part.name.as_str());
                return Err(unknown("part whose old ones are counted", part, known));
            };
            let event = Event::Old {
                part: part.clone(),
                count: count.unwrap_or(own.quantity),
            };
            Ok((event, Vec::new()))
        }
        Item::Ordered(name) => {
            kit_named(status, name)?;
            Ok((Event::Ordered { kit: name.clone() }, Vec::new()))
        }
        Item::Torque(name) => torque(plan, status, name),
        Item::Step(name) => step(plan, status, name),
    }
}

fn unknown<'n>(what: &'static str, name: &str, known: impl Iterator<Item = &'n str>) -> JobError {
    JobError::Unknown {
        what,
        name: name.to_owned(),
        nearest: nearest(name, known).map(str::to_owned),
    }
}

fn already_done(item: &Item) -> JobError {
    JobError::AlreadyDone { item: item.words() }
}

fn kit_named<'s, 'j>(status: &'s JobStatus<'j>, name: &str) -> Result<&'s KitStatus<'j>, JobError> {
    let kit = &status.kit;
    kit.iter().find(|kit| kit.name == name).ok_or_else(|| {
        let known = kit.iter().map(|kit| kit.name);
        unknown("part or single-use fastener", name, known)
    })
}

fn on_hand(
    plan: &Plan,
    status: &JobStatus<'_>,
    name: &str,
    count: Option<u32>,
    length: Option<Exact>,
) -> Result<Event, JobError> {
    let kit = kit_named(status, name)?;
    let kind = plan.fasteners().iter().find(|kind| kind.name == name);
    match (length, kind) {
        (Some(length), Some(kind)) if length != kind.length => {
            return Err(JobError::WrongLength {
                name: name.to_owned(),
                found: length,
                expected: kind.length,
            });
        }
        (Some(_), None) => {
            return Err(JobError::NoLength {
                name: name.to_owned(),
            });
        }
        _ => {}
    }
    Ok(Event::OnHand {
        kit: name.to_owned(),
        count: count.unwrap_or(kit.needed),
    })
}

fn torque(
    plan: &Plan,
    status: &JobStatus<'_>,
    name: &str,
) -> Result<(Event, Vec<Block>), JobError> {
    let kinds = plan.fasteners();
    let i = kinds
        .iter()
        .position(|kind| kind.name == name)
        .ok_or_else(|| {
            let known = kinds.iter().map(|kind| kind.name.as_str());
            unknown("fastener", name, known)
        })?;
    if status.torques[i].is_some() {
        return Err(already_done(&Item::Torque(name.to_owned())));
    }
    let step = status
        .steps
        .iter()
        .find(|step| step.step.fasteners.contains(&i));
    // Tightening comes before the marks of its own step are looked at, and after a gate.
    let blocks = step.map_or_else(Vec::new, |step| {
        let gate = step.step.gate.is_some();
        let against = step.blocks.iter().filter(|block| match block {
            Block::Torque { .. } | Block::Old { .. } => false,
            Block::Marks { .. } | Block::Unfit { .. } | Block::Unsaid { .. } => gate,
            _ => true,
        });
        against.cloned().collect()
    });
    let event = Event::Torque {
        fastener: name.to_owned(),
        to: kinds[i].torque_text(),
    };
    Ok((event, blocks))
}

fn step(plan: &Plan, status: &JobStatus<'_>, name: &str) -> Result<(Event, Vec<Block>), JobError> {
    let step = status
        .steps
        .iter()
        .find(|step| step.step.name == name)
        .ok_or_else(|| {
            let known = plan.steps().iter().map(|step| step.name.as_str());
            unknown("step", name, known)
        })?;
    // What has waited too long is done once more.
    let again = status.steps.iter().any(|later| {
        let mut blocks = later.blocks.iter();
        later.state != StepState::Done
            && blocks.any(|block| matches!(block, Block::TooLate { step, .. } if step == name))
    });
    if step.state == StepState::Done && !again {
        return Err(already_done(&Item::Step(name.to_owned())));
    }
    let event = Event::Step {
        step: name.to_owned(),
    };
    Ok((event, step.blocks.clone()))
}
