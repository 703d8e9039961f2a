//! How a job stands: kit, torques, steps and what blocks them.

use crate::drive::plan::JobStep;
use crate::job::block::Block;
use crate::job::entry::{Entry, Photo};
use crate::job::record::RecordCheck;
use crate::timing::check::Verdict;
use crate::units::timestamp::Timestamp;

/// How a step stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum StepState {
    /// Done, and still proven; or done by an override.
    Done,
    /// Can be done now; what is still missing is its own work.
    Open,
    /// Something blocks it.
    Blocked,
}

/// How a step of the plan stands.
#[derive(Clone, PartialEq, Debug)]
pub struct StepStatus<'j> {
    /// The step.
    pub step: &'j JobStep,
    /// How it stands.
    pub state: StepState,
    /// Its entry, if it was said to be done and nothing has opened it again since.
    pub entry: Option<&'j Entry>,
    /// What blocks it; of one that was done by an override, what still would.
    pub blocks: Vec<Block>,
}

/// What has to be on the bench.
#[derive(Clone, PartialEq, Debug)]
pub struct KitStatus<'j> {
    /// Its name in the spec.
    pub name: &'j str,
    /// What it is.
    pub about: String,
    /// Must it not be fitted twice?
    pub single_use: bool,
    /// How many the job takes.
    pub needed: u32,
    /// How many are there.
    pub here: u32,
    /// Must as many old ones have come off as go on?
    pub count_old: bool,
    /// How many old ones came off, if they were counted.
    pub old: Option<u32>,
    /// Its order, if it was ordered.
    pub ordered: Option<&'j Entry>,
}

impl KitStatus<'_> {
    /// How many are lacking.
    pub fn lacking(&self) -> u32 {
        self.needed.saturating_sub(self.here)
    }
}

/// A photo of the job.
#[derive(Clone, PartialEq, Debug)]
pub struct PhotoStatus<'j> {
    /// Its entry.
    pub entry: &'j Entry,
    /// What it is.
    pub photo: &'j Photo,
    /// What became of its file; `None` where nobody has looked. The library reads no file: whoever does says
    /// it here.
    pub found: Option<PhotoFound>,
}

/// What became of the file of a photo.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PhotoFound {
    /// What was attached.
    Same,
    /// Something else now.
    Changed,
    /// Nothing there, or nothing that can be read.
    Gone,
}

/// How a whole job stands.
#[derive(Clone, PartialEq, Debug)]
pub struct JobStatus<'j> {
    /// The time for which it was worked out.
    pub now: Timestamp,
    /// The verdicts on what was seen.
    pub check: RecordCheck<'j>,
    /// Everything that has to be on the bench, in the order of the spec.
    pub kit: Vec<KitStatus<'j>>,
    /// For each kind of fastener of the plan, the entry that confirms it.
    pub torques: Vec<Option<&'j Entry>>,
    /// The steps, in order.
    pub steps: Vec<StepStatus<'j>>,
    /// The photos, in the order in which they were attached.
    pub photos: Vec<PhotoStatus<'j>>,
    /// Every entry that overrode something, for ever.
    pub overrides: Vec<&'j Entry>,
    /// Every entry that was corrected, for ever.
    pub corrected: Vec<&'j Entry>,
    /// Entries about what the spec no longer has.
    pub unknown: Vec<&'j Entry>,
}

impl<'j> JobStatus<'j> {
    /// The step that is next, with what stands against it or is still to be done in it; `None` once all are done.
    pub fn next(&self) -> Option<&StepStatus<'j>> {
        let mut steps = self.steps.iter();
        steps.find(|step| step.state != StepState::Done)
    }

    /// Is the last step done, every stage proven in time, and nothing ever overridden?
    pub fn is_proven(&self) -> bool {
        self.is_signed_off() && self.overrides.is_empty() && self.check.verdict() == Verdict::InTime
    }

    /// Is every step done, the sign-off too?
    pub fn is_signed_off(&self) -> bool {
        self.steps.iter().all(|step| step.state == StepState::Done)
    }

    /// Was nothing taken apart yet?
    pub fn is_before_start(&self) -> bool {
        self.steps.iter().all(|step| step.entry.is_none())
    }
}
