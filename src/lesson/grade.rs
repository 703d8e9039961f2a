//! Whether somebody found it, and why not.

use super::answer::{Claim, same};
use super::exercise::{Exercise, ExerciseError, INSTRUMENT, Sight, Standing};
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::timing::cause::Fault;

/// How an answer is judged.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// One of the smallest explanations.
    Right,
    /// It explains all that is seen, with more faults than are needed.
    TooMany,
    /// It does not explain what is seen.
    Wrong,
}

/// Why an answer is not right.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
// There are a handful of them in an answer.
#[allow(clippy::large_enum_variant)]
pub enum Why {
    /// Fewer faults explain it.
    FewerDo {
        /// Faults that were named.
        named: usize,
        /// Faults that suffice.
        needed: usize,
    },
    /// Two chains hold a shaft between them, a sprocket was named twice, or the spec lacks what wear is reckoned
    /// from.
    CannotBe,
    /// Sprocket and teeth are right, the direction is not.
    OtherWay(Engagement),
    /// Sprocket and direction are right, the teeth are not.
    OtherCount(Engagement),
    /// That fault would show otherwise than it does.
    Shows {
        /// What would be seen.
        would: Sight,
        /// What is seen.
        seen: Sight,
    },
}

/// What an answer is worth.
#[derive(Clone, PartialEq, Debug)]
pub struct Grade {
    /// The judgement.
    pub outcome: Outcome,
    /// The reasons; none where it is right.
    pub why: Vec<Why>,
}

impl Exercise {
    /// Judges an answer: every fault that somebody named, or none for "nothing is wrong".
    ///
    /// # Errors
    /// If a number cannot be held, or a claim is of another drive.
    pub fn grade(&self, drive: &Drive, claims: &[Claim]) -> Result<Grade, ExerciseError> {
        if self
            .causes()
            .iter()
            .any(|cause| same(claims, &cause.faults, INSTRUMENT))
        {
            return Ok(Grade {
                outcome: Outcome::Right,
                why: Vec::new(),
            });
        }
        let wrong = |why| Grade {
            outcome: Outcome::Wrong,
            why,
        };
        let Some(stand) = Standing::after(drive, claims, None)? else {
            return Ok(wrong(vec![Why::CannotBe]));
        };
        let would = stand.sights(drive)?;
        let mut why: Vec<Why> = self.nearly(claims);
        let shows: Vec<Why> = would
            .iter()
            .zip(self.sights())
            .filter(|(would, seen)| !alike(would, seen))
            .map(|(would, seen)| Why::Shows {
                would: *would,
                seen: *seen,
            })
            .collect();
        let needed = self.causes().first().map_or(0, |cause| cause.faults.len());
        if shows.is_empty() && claims.len() <= needed {
            // The same said otherwise: between two sprockets alone, one behind is the other ahead.
            return Ok(Grade {
                outcome: Outcome::Right,
                why: Vec::new(),
            });
        }
        if shows.is_empty() {
            return Ok(Grade {
                outcome: Outcome::TooMany,
                why: vec![Why::FewerDo {
                    named: claims.len(),
                    needed,
                }],
            });
        }
        why.extend(shows);
        Ok(wrong(why))
    }

    /// Claims that are right but for their direction or their teeth.
    fn nearly(&self, claims: &[Claim]) -> Vec<Why> {
        let mut found = Vec::new();
        for claim in claims {
            let Claim::Slip { at, teeth } = *claim else {
                continue;
            };
            let faults = self.causes().iter().flat_map(|cause| &cause.faults);
            let mut by = faults.filter_map(|fault| match fault {
                Fault::Slip { at: of, teeth } if *of == at => Some(*teeth),
                _ => None,
            });
            let all: Vec<_> = by.by_ref().collect();
            if all.contains(&teeth) {
                continue;
            }
            if all.contains(&teeth.negated()) {
                found.push(Why::OtherWay(at));
            } else if all
                .iter()
                .any(|of| of.get().signum() == teeth.get().signum())
            {
                found.push(Why::OtherCount(at));
            }
        }
        found
    }
}

/// Could nobody tell the two apart? A dot is seen to a quarter of a tooth, a camshaft measured to a degree.
fn alike(a: &Sight, b: &Sight) -> bool {
    let dots = match (a.dot, b.dot) {
        (Some(a), Some(b)) => a == b,
        (a, b) => a.is_none() && b.is_none(),
    };
    let angles = match (a.angle, b.angle) {
        (Some(a), Some(b)) => a.checked_sub(b).is_ok_and(|off| off.abs() <= INSTRUMENT),
        (a, b) => a.is_none() && b.is_none(),
    };
    dots && angles
}
