//! Counting from dot to dot, for a mark whose coloured link cannot be told any more.

use crate::drive::ids::Engagement;
use crate::job::interview::Interview;
use crate::job::look::Sight;
use crate::job::question::{Question, Step};
use crate::timing::check::link_due;
use crate::timing::count::{count_due, plates_tell};
use crate::timing::observe::Seen;
use crate::units::quantity::{Exact, LinkPosition, OutOfRange, Turns};

/// What there is to count for a mark.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Counting {
    /// No link of the chain is known yet: its links are numbered from this dot on, and this one lies on it then.
    Here(LinkPosition),
    /// Links can be counted from the dot before it, the way the chain travels.
    From {
        /// That dot.
        from: Engagement,
        /// The link on it.
        link: LinkPosition,
        /// The count that is right.
        due: Exact,
    },
}

impl Interview<'_> {
    /// What there is to count instead, if a coloured link is asked for; `None` where counting would prove nothing.
    ///
    /// # Errors
    /// [`OutOfRange`] if a number cannot be held.
    pub fn counting(&self) -> Result<Option<Counting>, OutOfRange> {
        let Step::Ask(Question {
            stage,
            sight: Sight::Link(at),
            number,
            ..
        }) = self.step()
        else {
            return Ok(None);
        };
        if !plates_tell(self.drive(), at) {
            return Ok(None);
        }
        let seen = self.seen_before(stage, number - 1, at);
        let links = self.drive().chain(at.chain).links();
        for (from, seen) in &seen {
            let Some(due) = count_due(self.drive(), *from, at)? else {
                continue;
            };
            let own = link_due(self.drive(), *from, Turns::ZERO)?;
            let link = match (seen, own) {
                (Seen::Link(link), _) => *link,
                (Seen::Teeth(teeth), Some(own)) if teeth.get().is_whole() => {
                    own.moved(*teeth, links)?
                }
                _ => return Ok(None),
            };
            let from = *from;
            return Ok(plates_tell(self.drive(), from).then_some(Counting::From {
                from,
                link,
                due,
            }));
        }
        if !seen.is_empty() {
            return Ok(None);
        }
        Ok(link_due(self.drive(), at, Turns::ZERO)?.map(Counting::Here))
    }
}
