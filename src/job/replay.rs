//! The history gone through from its beginning: what is on the bench, tightened and done by it.

use crate::drive::plan::Plan;
use crate::job::entry::{Entry, Event};
use crate::job::record::Record;
use crate::job::status::KitStatus;
use crate::spec::stage::Stage;
use crate::units::torque::decimal;

/// The history gone through, entry by entry.
pub(super) struct Replay<'j> {
    plan: &'j Plan,
    pub(super) kit: Vec<KitStatus<'j>>,
    pub(super) torques: Vec<Option<&'j Entry>>,
    pub(super) ticked: Vec<Option<&'j Entry>>,
    pub(super) unknown: Vec<&'j Entry>,
}

impl<'j> Replay<'j> {
    /// Goes through `entries`, the earliest first.
    pub(super) fn of(plan: &'j Plan, record: &Record, entries: &'j [Entry]) -> Self {
        let mut replay = Self::begin(plan);
        for entry in entries {
            replay.take(entry, record);
        }
        replay
    }

    fn begin(plan: &'j Plan) -> Self {
        let parts = plan.parts().iter().map(|part| KitStatus {
            name: &part.name,
            about: part.about.clone(),
            single_use: part.single_use,
            needed: part.quantity,
            here: 0,
            ordered: None,
        });
        let bolts = plan.fasteners().iter().filter(|kind| kind.single_use);
        let bolts = bolts.map(|kind| KitStatus {
            name: &kind.name,
            about: format!(
                "{}, {} x {} mm",
                kind.component,
                kind.thread,
                decimal(kind.length)
            ),
            single_use: true,
            needed: kind.count,
            here: 0,
            ordered: None,
        });
        Self {
            plan,
            kit: parts.chain(bolts).collect(),
            torques: vec![None; plan.fasteners().len()],
            ticked: vec![None; plan.steps().len()],
            unknown: Vec::new(),
        }
    }

    fn take(&mut self, entry: &'j Entry, record: &Record) {
        let known = match &entry.event {
            Event::Begun => true,
            Event::OnHand { kit, count } => self.kit(kit).map(|kit| kit.here = *count).is_some(),
            Event::Ordered { kit } => self.kit(kit).map(|kit| kit.ordered = Some(entry)).is_some(),
            // Tightened to other figures than the spec has now is not tightened.
            Event::Torque { fastener, to } => {
                let kinds = self.plan.fasteners();
                let found = kinds.iter().position(|kind| kind.name == *fastener);
                if let Some(i) = found {
                    self.torques[i] = (kinds[i].torque_text() == *to).then_some(entry);
                }
                found.is_some()
            }
            Event::Step { step } => {
                let found = self.plan.steps().iter().position(|own| own.name == *step);
                if let Some(i) = found {
                    self.ticked[i] = Some(entry);
                }
                found.is_some()
            }
            Event::Look(i) => {
                if let Some(look) = record.looks.get(*i) {
                    self.open_after(look.stage);
                }
                true
            }
        };
        if !known {
            self.unknown.push(entry);
        }
    }

    /// A look at a stage opens its step and every one after it again: what was done then was done on
    /// what may no longer be so. What was fitted after it and must not be fitted twice is used up.
    fn open_after(&mut self, stage: Stage) {
        let steps = self.plan.steps();
        let own = steps.iter().position(|step| step.stage == Some(stage));
        if let Some(own) = own {
            self.ticked[own] = None;
        }
        let after = own.map_or(steps.len(), |own| own + 1);
        for (i, step) in steps.iter().enumerate().skip(after) {
            let done = self.ticked[i].take().is_some();
            for part in &step.parts {
                let part = &self.plan.parts()[*part];
                if done && part.single_use {
                    self.use_up(&part.name);
                }
            }
            for kind in &step.fasteners {
                let tightened = self.torques[*kind].take().is_some();
                let kind = &self.plan.fasteners()[*kind];
                if (done || tightened) && kind.single_use {
                    self.use_up(&kind.name);
                }
            }
        }
    }

    fn use_up(&mut self, name: &str) {
        if let Some(kit) = self.kit(name) {
            kit.here = kit.here.saturating_sub(kit.needed);
            kit.ordered = None;
        }
    }

    fn kit(&mut self, name: &str) -> Option<&mut KitStatus<'j>> {
        self.kit.iter_mut().find(|kit| kit.name == name)
    }
}
