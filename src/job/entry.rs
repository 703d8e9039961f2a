//! What a history says, entry by entry.

use crate::units::timestamp::Timestamp;

/// What one entry of a history says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Event {
    /// The record was begun.
    Begun,
    /// So many of a part, or of a single-use fastener, are on the bench.
    OnHand {
        /// Its name in the spec.
        kit: String,
        /// How many.
        count: u32,
    },
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
    /// The drive was looked at: the place among the looks of the record.
    Look(usize),
}

/// One entry of a history.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// When; `None` where it was taken over from a record without times.
    pub at: Option<Timestamp>,
    /// By whom, if it was said.
    pub by: Option<String>,
    /// What.
    pub event: Event,
    /// What blocked it, if it was done all the same.
    pub overriding: Option<Override>,
}

impl Entry {
    pub(super) fn new(at: Option<Timestamp>, by: Option<&str>, event: Event) -> Self {
        Self {
            at,
            by: by.map(str::to_owned),
            event,
            overriding: None,
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
