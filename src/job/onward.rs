//! A job brought along by an interview: what was answered is taken, what was done is ticked, and what keeps the next
//! stage closed is told before anybody does it.

use crate::drive::model::Drive;
use crate::job::block::Block;
use crate::job::entry::Authorship;
use crate::job::error::JobError;
use crate::job::item::Item;
use crate::job::model::Job;
use crate::job::record::Record;
use crate::job::status::{StepState, StepStatus};
use crate::spec::stage::{Gate, Stage};
use crate::units::timestamp::Timestamp;

/// How far an interview has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Passed {
    /// It begins, or begins again.
    Nothing,
    /// A stage was gone through, and is in time.
    Stage(Stage),
    /// The tensioner is released; without one, everything is tightened.
    Release,
    /// All marks are in time at all stages: what is left is the rest of the job, to its sign-off.
    Job,
}

/// What keeps closed what comes next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Closed {
    /// What it is.
    pub block: Block,
    /// What is ticked once it is done; `None` where nobody can tick it off.
    pub item: Option<Item>,
}

impl Job {
    /// Takes the looks of an interview's record, ticks the step that it has passed, and gives what keeps closed
    /// what comes next. Nobody does what comes next before that is `None`.
    ///
    /// # Errors
    /// [`JobError`] if the looks cannot be taken or the step cannot be ticked for another reason than a block.
    pub fn bring(
        &mut self,
        drive: &Drive,
        record: &Record,
        passed: Passed,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<Option<Closed>, JobError> {
        match self.take(drive, record, at, by) {
            Ok(()) | Err(JobError::NothingNew) => {}
            Err(error) => return Err(error),
        }
        let steps = drive.plan().steps();
        let at_stage = |stage| steps.iter().position(|step| step.stage == Some(stage));
        let at_release = || {
            let mut steps = steps.iter();
            steps.position(|step| step.gate == Some(Gate::Release))
        };
        let (own, next) = match passed {
            Passed::Nothing => (None, at_stage(Stage::Hung)),
            Passed::Stage(Stage::Hung) => (at_stage(Stage::Hung), at_release()),
            Passed::Release => (at_release(), at_stage(Stage::Released)),
            Passed::Stage(Stage::Released) => (at_stage(Stage::Released), at_stage(Stage::Turned)),
            Passed::Stage(Stage::Turned) => (at_stage(Stage::Turned), None),
            Passed::Job => {
                return self.closed_before(drive, steps.len(), at);
            }
        };
        if let Some(own) = own {
            if let Some(closed) = self.closed_before(drive, own, at)? {
                return Ok(Some(closed));
            }
            if let Some(closed) = self.tick_own(drive, own, at, by)? {
                return Ok(Some(closed));
            }
        }
        let Some(next) = next else { return Ok(None) };
        if let Some(closed) = self.closed_before(drive, next, at)? {
            return Ok(Some(closed));
        }
        let status = self.status(drive, at)?;
        let mut blocks = status.steps[next].blocks.clone();
        if steps[next].gate.is_none() {
            // Its own look and its own torques are still to come.
            blocks.retain(|block| {
                matches!(
                    block,
                    Block::Missing { .. } | Block::Waiting { .. } | Block::Unsaid { .. }
                )
            });
        }
        Ok(first(&blocks))
    }

    /// Ticks a step by what was just answered, unless it is done; what keeps it from that.
    fn tick_own(
        &mut self,
        drive: &Drive,
        own: usize,
        at: Timestamp,
        by: Option<&str>,
    ) -> Result<Option<Closed>, JobError> {
        let status = self.status(drive, at)?;
        if status.steps[own].state == StepState::Done {
            return Ok(None);
        }
        let item = Item::Step(status.steps[own].step.name.clone());
        let author = Authorship {
            at,
            by,
            overriding: None,
        };
        match self.tick(drive, &item, author) {
            Ok(()) => Ok(None),
            Err(JobError::Blocked { blocks, .. }) => Ok(first(&blocks)),
            Err(error) => Err(error),
        }
    }

    /// What keeps the first step before `until` from being done that is not.
    fn closed_before(
        &self,
        drive: &Drive,
        until: usize,
        at: Timestamp,
    ) -> Result<Option<Closed>, JobError> {
        let status = self.status(drive, at)?;
        let mut before = status.steps.iter().take(until);
        let open = before.find(|step| step.state != StepState::Done);
        Ok(open.map(|step| first(&step.blocks).unwrap_or_else(|| not_done(step))))
    }
}

/// A step against which nothing stands any more. Those at which marks are looked at, and the release, are ticked by
/// what was answered, and by nothing else.
fn not_done(step: &StepStatus<'_>) -> Closed {
    let name = &step.step.name;
    let plain = step.step.stage.is_none() && step.step.gate != Some(Gate::Release);
    Closed {
        block: Block::NotDone { step: name.clone() },
        item: plain.then(|| Item::Step(name.clone())),
    }
}

/// What is to be seen to first; looks last, since what is tightened after them makes them stale.
fn first(blocks: &[Block]) -> Option<Closed> {
    let looks = |block: &&Block| matches!(block, Block::Marks { .. } | Block::Unfit { .. });
    let block = blocks
        .iter()
        .find(|block| !looks(block))
        .or_else(|| blocks.first())?;
    let item = match block {
        Block::Torque { fastener } => Some(Item::Torque(fastener.clone())),
        Block::Missing { kit, .. } => Some(Item::OnHand {
            kit: kit.clone(),
            count: None,
            length: None,
        }),
        Block::Old { part, .. } => Some(Item::Old {
            part: part.clone(),
            count: None,
        }),
        // Done once more, it begins its time anew.
        Block::TooLate { step, .. } => Some(Item::Step(step.clone())),
        _ => None,
    };
    Some(Closed {
        block: block.clone(),
        item,
    })
}
