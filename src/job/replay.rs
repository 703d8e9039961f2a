//! The history gone through from its beginning: what is on the bench, tightened and done by it.

use crate::drive::plan::Plan;
use crate::job::entry::{Entry, Event};
use crate::job::look::Look;
use crate::job::record::Record;
use crate::job::status::{KitStatus, PhotoStatus};
use crate::job::unfit::Unfit;
use crate::spec::stage::Stage;
use crate::units::timestamp::Timestamp;
use crate::units::torque::decimal;

/// The history gone through, entry by entry.
pub(super) struct Replay<'j> {
    plan: &'j Plan,
    pub(super) kit: Vec<KitStatus<'j>>,
    pub(super) torques: Vec<Option<&'j Entry>>,
    pub(super) ticked: Vec<Option<&'j Entry>>,
    pub(super) photos: Vec<PhotoStatus<'j>>,
    pub(super) unknown: Vec<&'j Entry>,
    /// Why a look proves nothing in this job, by its place among the looks.
    pub(super) unfit: Vec<Option<Unfit>>,
    /// The record that each look was taken from.
    from: Vec<Option<&'j String>>,
    begun: Option<Timestamp>,
    /// When the last look at each stage that counts was made.
    seen: [Option<Timestamp>; 3],
}

impl<'j> Replay<'j> {
    /// Goes through `entries`, the earliest first. `in_time` says of each look whether it is by itself.
    pub(super) fn of(
        plan: &'j Plan,
        record: &Record,
        in_time: &[bool],
        entries: &'j [Entry],
    ) -> Self {
        let mut replay = Self::begin(plan);
        replay.unfit = vec![None; record.looks.len()];
        replay.from = vec![None; record.looks.len()];
        for entry in entries {
            replay.take(entry, record, in_time);
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
            count_old: part.count_old,
            old: None,
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
            count_old: false,
            old: None,
            ordered: None,
        });
        Self {
            plan,
            kit: parts.chain(bolts).collect(),
            torques: vec![None; plan.fasteners().len()],
            ticked: vec![None; plan.steps().len()],
            photos: Vec::new(),
            unknown: Vec::new(),
            unfit: Vec::new(),
            from: Vec::new(),
            begun: None,
            seen: [None; 3],
        }
    }

    fn take(&mut self, entry: &'j Entry, record: &Record, in_time: &[bool]) {
        if entry.is_void() && !matches!(entry.event, Event::Look { .. }) {
            return;
        }
        let known = match &entry.event {
            Event::Begun { .. } => {
                self.begun = entry.when();
                true
            }
            Event::Corrected { .. } => true,
            Event::Photo(photo) => {
                self.photos.push(PhotoStatus {
                    entry,
                    photo,
                    found: None,
                });
                true
            }
            Event::Old { part, count } => {
                let kit = self.kit(part);
                kit.map(|kit| kit.old = Some(*count)).is_some()
            }
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
            Event::Look {
                look: i,
                record: from,
            } => {
                if let Some(look) = record.looks.get(*i) {
                    if let Some(since) = &look.stale
                        && from.is_some()
                    {
                        self.void(from.as_ref(), look, since, record);
                    }
                    let unfit = self.unfit_now(entry, look);
                    // What proves nothing undoes nothing either; what speaks against it does.
                    let counts = unfit.is_none() && look.stale.is_none();
                    if look.stale.is_none() && look.resisted() {
                        // Whatever was done on what was seen before was done on what may no longer be so.
                        self.open_after(Stage::Hung);
                        self.seen.fill(None);
                    }
                    if counts || (look.stale.is_none() && !in_time[*i]) {
                        self.open_after(look.stage);
                    }
                    if counts {
                        // What was seen at later stages was seen before this.
                        self.seen[look.stage.index()..].fill(None);
                        self.seen[look.stage.index()] = Self::made(entry, look);
                    }
                    self.unfit[*i] = unfit;
                    self.from[*i] = from.as_ref();
                }
                true
            }
        };
        if !known {
            self.unknown.push(entry);
        }
    }

    /// A record that was taken before, or that goes on from a look of this job, says now that its looks from the
    /// stage of `stale` on say nothing.
    fn void(&mut self, from: Option<&'j String>, stale: &Look, since: &str, record: &Record) {
        let stage = stale.stage;
        let mut any = false;
        for (i, look) in record.looks.iter().enumerate() {
            let same = look.stage == stage && look.at.is_some() && look.at == stale.at;
            let own = self.from[i] == from && look.stage >= stage;
            if (own || (same && look.stale.is_none())) && self.unfit[i].is_none() {
                any = true;
                self.unfit[i] = Some(Unfit::Stale {
                    since: since.to_owned(),
                });
            }
        }
        if any {
            self.open_after(stage);
            self.seen[stage.index()..].fill(None);
        }
    }

    /// When a look was made: where it was written down at once, a correction of its entry corrects it.
    fn made(entry: &Entry, look: &Look) -> Option<Timestamp> {
        match &entry.event {
            Event::Look { record: None, .. } if look.at == entry.at => entry.when(),
            _ => look.at,
        }
    }

    /// Why a look proves nothing, by what the job says up to here: it must have been made after everything
    /// that comes before its step, and the stages in their order.
    fn unfit_now(&self, entry: &Entry, look: &Look) -> Option<Unfit> {
        if entry.is_void() {
            return Some(Unfit::Voided);
        }
        let Some(made) = Self::made(entry, look) else {
            return Some(Unfit::NoTime);
        };
        if let Some(begun) = self.begun
            && made < begun
        {
            return Some(Unfit::BeforeJob { begun });
        }
        let steps = self.plan.steps();
        let own = steps.iter().position(|step| step.stage == Some(look.stage));
        for (step, ticked) in steps.iter().zip(&self.ticked).take(own.unwrap_or(0)) {
            let done = ticked.and_then(Entry::when);
            if ticked.is_none() || done.is_some_and(|done| made < done) {
                return Some(Unfit::BeforeStep {
                    step: step.name.clone(),
                    done,
                });
            }
        }
        let before = Stage::ALL.into_iter().filter(|stage| *stage < look.stage);
        before
            .filter(|stage| self.seen[stage.index()].is_none_or(|seen| made < seen))
            .map(|stage| Unfit::BeforeStage { stage })
            .next()
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
            // What comes off now is counted anew.
            kit.old = None;
        }
    }

    fn kit(&mut self, name: &str) -> Option<&mut KitStatus<'j>> {
        self.kit.iter_mut().find(|kit| kit.name == name)
    }
}
