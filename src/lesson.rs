//! Exercises for a class: a fault that is hidden, what of it is seen, and whether somebody found it.
//!
//! In: a [`Drive`](crate::Drive), a [`Seed`] and a [`Level`]; what somebody says is wrong.
//! Out: [`Exercise`], [`Grade`].
//! Never: a clock or a chance of its own. The same seed is the same exercise everywhere.

pub(crate) mod answer;
mod chance;
pub(crate) mod exercise;
pub(crate) mod grade;

pub use answer::{Claim, ClaimError};
pub use chance::{Level, Seed, SeedError};
pub use exercise::{Exercise, ExerciseError, Sight, exercise};
pub use grade::{Grade, Outcome, Why};
