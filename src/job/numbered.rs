//! Chains whose links are numbered from a dot, since no colour is left to go by. Such numbers and the colours have
//! nothing to do with each other: a chain goes by the ones or by the others, as the first of its marks that was seen does.

use crate::drive::ids::Engagement;
use crate::job::look::Sight;
use crate::job::question::Answer;
use crate::timing::observe::Seen;

/// What was seen of a chain's links, in the order of asking, with the number of each question.
pub(super) fn seen_of<'a>(
    sights: &'a [Sight],
    answers: &'a [Option<Answer>],
    at: Engagement,
) -> impl Iterator<Item = (usize, Engagement, Seen)> + 'a {
    let pairs = sights.iter().zip(answers).enumerate();
    pairs.filter_map(move |(i, (sight, answer))| match (sight, answer) {
        (Sight::Link(other), Some(Answer::Seen(seen))) if other.chain == at.chain => {
            Some((i, *other, *seen))
        }
        _ => None,
    })
}

/// Would this answer to question `i` set a colour against numbers that began at a dot before it?
pub(super) fn is_colour_among_counts(
    sights: &[Sight],
    answers: &[Option<Answer>],
    i: usize,
    answer: Answer,
) -> bool {
    let (Some(Sight::Link(at)), Answer::Seen(seen)) = (sights.get(i), answer) else {
        return false;
    };
    let mut before = seen_of(sights, answers, *at).take_while(|(other, ..)| *other < i);
    !matches!(seen, Seen::Link(_))
        && before
            .next()
            .is_some_and(|(.., first)| matches!(first, Seen::Link(_)))
}

/// Forgets what a new answer to question `i` no longer goes with: what was counted on from it, and if its chain is
/// numbered from it now, the colours too.
pub(super) fn forget(sights: &[Sight], answers: &mut [Option<Answer>], i: usize, answer: Answer) {
    let Some(Sight::Link(at)) = sights.get(i) else {
        return;
    };
    let first = seen_of(sights, answers, *at).all(|(other, ..)| other >= i);
    let numbers = first && matches!(answer, Answer::Seen(Seen::Link(_)));
    let gone: Vec<usize> = seen_of(sights, answers, *at)
        .filter(|(other, _, seen)| *other > i && (numbers || matches!(seen, Seen::Link(_))))
        .map(|(other, ..)| other)
        .collect();
    for other in gone {
        answers[other] = None;
    }
}
