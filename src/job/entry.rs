//! What a history says, entry by entry.

use crate::job::car::Car;
use crate::units::timestamp::Timestamp;

/// What one entry of a history says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Event {
    /// The record was begun.
    Begun {
        /// The car that the job is about, as far as it is known.
        car: Car,
    },
    /// So many of a part, or of a single-use fastener, are on the bench.
    OnHand {
        /// Its name in the spec.
        kit: String,
        /// How many.
        count: u32,
    },
    /// So many old ones of a part came off.
    Old {
        /// Its name in the spec.
        part: String,
        /// How many.
        count: u32,
    },
    /// A photo was attached.
    Photo(Photo),
    /// It is ordered.
    Ordered {
        /// Its name in the spec.
        kit: String,
    },
    /// A kind of fastener was tightened.
    Torque {
        /// Its name in the spec.
        fastener: String,
        /// Every stage, as the spec had it then.
        to: String,
    },
    /// A step was done.
    Step {
        /// Its name in the spec.
        step: String,
    },
    /// The drive was looked at.
    Look {
        /// The place among the looks of the record.
        look: usize,
        /// The number of the record that it was taken from, if any.
        record: Option<String>,
    },
    /// An earlier entry is corrected, by name and for a reason.
    Corrected {
        /// The number of that entry, from 1.
        entry: usize,
        /// When it was; `None`: it is void.
        to: Option<Timestamp>,
        /// The reason that was given.
        why: String,
    },
}

/// A photo that belongs to a job. It is not kept in the record, only what tells it from any other.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Photo {
    /// Its file, from the folder of the job on.
    pub file: String,
    /// How many bytes it had.
    pub size: u64,
    /// The [`checksum`](crate::job::checksum) of what was in it.
    pub checksum: String,
    /// What it shows, if it was said.
    pub about: Option<String>,
}

/// One entry of a history.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// When, as it was written; `None` where it was taken over from a record without times.
    pub at: Option<Timestamp>,
    /// By whom, if it was said.
    pub by: Option<String>,
    /// What.
    pub event: Event,
    /// What blocked it, if it was done all the same.
    pub overriding: Option<Override>,
    /// The correction that counts, if it was corrected later.
    pub corrected: Option<Correction>,
}

/// What a later entry says of an earlier one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Correction {
    /// When it was; `None`: it is void.
    pub to: Option<Timestamp>,
    /// By whom.
    pub by: Option<String>,
    /// The reason that was given.
    pub why: String,
}

impl Entry {
    /// When it was, as corrected.
    pub fn when(&self) -> Option<Timestamp> {
        match &self.corrected {
            Some(correction) => correction.to.or(self.at),
            None => self.at,
        }
    }

    /// Can a later entry correct it? The beginning, a correction, and what has no time cannot be.
    pub fn is_correctable(&self) -> bool {
        self.at.is_some() && !matches!(self.event, Event::Begun { .. } | Event::Corrected { .. })
    }

    /// Was it voided?
    pub fn is_void(&self) -> bool {
        self.corrected
            .as_ref()
            .is_some_and(|correction| correction.to.is_none())
    }

    pub(super) fn new(at: Option<Timestamp>, by: Option<&str>, event: Event) -> Self {
        Self {
            at,
            by: by.map(str::to_owned),
            event,
            overriding: None,
            corrected: None,
        }
    }
}

/// Something done despite what blocked it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Override {
    /// The reason that was given.
    pub why: String,
    /// What blocked it, in words.
    pub against: Vec<String>,
}

/// Who does something, when, and for what reason despite what blocks it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Authorship<'t> {
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: Option<&'t str>,
    /// The reason, if what blocks it is to be overridden.
    pub overriding: Option<&'t str>,
}
