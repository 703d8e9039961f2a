//! Chains whose links are numbered from a dot, since no colour is left to go by.

use crate::drive::ids::Engagement;
use crate::job::look::Sight;
use crate::job::question::Answer;
use crate::timing::observe::Seen;

/// Is the chain of `at` numbered from a dot, so that a colour cannot be set against its numbers?
pub(super) fn is_numbered(sights: &[Sight], answers: &[Option<Answer>], at: Engagement) -> bool {
    let mut others = sights
        .iter()
        .zip(answers)
        .filter_map(|(sight, answer)| match (sight, answer) {
            (Sight::Link(other), Some(Answer::Seen(seen)))
                if *other != at && other.chain == at.chain =>
            {
                Some(*seen)
            }
            _ => None,
        })
        .peekable();
    others.peek().is_some() && others.all(|seen| matches!(seen, Seen::Link(_)))
}

/// Forgets what was counted on from the mark `i`, whose answer has changed.
pub(super) fn forget_counts(sights: &[Sight], answers: &mut [Option<Answer>], i: usize) {
    let Some(Sight::Link(at)) = sights.get(i) else {
        return;
    };
    for (sight, answer) in sights.iter().zip(answers).skip(i + 1) {
        let same_chain = matches!(sight, Sight::Link(other) if other.chain == at.chain);
        if same_chain && matches!(answer, Some(Answer::Seen(Seen::Link(_)))) {
            *answer = None;
        }
    }
}
