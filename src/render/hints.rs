//! How a reader is to do what a text asks for.
//!
//! A text says what to look at; how to say it to the program is up to whoever shows the text: a
//! command line has flags, a form has fields.

use crate::units::quantity::Turns;

/// What a text wants its reader to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Wanted<'a> {
    /// Say where the dot of a sprocket stands against its coloured link. The sprocket is named as
    /// [`link_named`](crate::link_named) takes it.
    Link(&'a str),
    /// Say where the dot of a shaft stands against its reference mark.
    Dot(&'a str),
    /// Say where the dots of these shafts stand after so many crank turns.
    DotsAfter(Turns, &'a [&'a str]),
    /// See more of the moments at which marks line up.
    MoreMoments,
    /// See more of the causes that explain what was measured.
    MoreCauses,
    /// See where a spec contradicts itself.
    Contradictions,
    /// See what is found in a spec whose marks cannot be computed.
    FindingsFirst,
    /// Say where a phaser stands.
    Phaser,
    /// Say how worn the chains are.
    Elongation,
}

/// Says how something is done, in the words of whoever shows the text.
///
/// ```
/// use tautmark::render::{Hints, PlainWords, Wanted};
///
/// struct Form;
/// impl Hints for Form {
///     fn hint(&self, wanted: Wanted<'_>) -> Option<String> {
///         match wanted {
///             Wanted::Dot(shaft) => Some(format!("field \"dot of {shaft}\"")),
///             _ => None,
///         }
///     }
/// }
/// assert_eq!(Form.hint(Wanted::Dot("crank")).as_deref(), Some("field \"dot of crank\""));
/// assert_eq!(PlainWords.hint(Wanted::Dot("crank")), None);
/// ```
pub trait Hints {
    /// How it is done, without brackets; `None`: the text says no more than what is wanted.
    fn hint(&self, wanted: Wanted<'_>) -> Option<String>;
}

/// No hints: the texts say what to look at, and not how to say it to a program.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PlainWords;

impl Hints for PlainWords {
    fn hint(&self, _: Wanted<'_>) -> Option<String> {
        None
    }
}

/// ` (how it is done)`, or nothing.
pub(crate) fn bracketed(hints: &dyn Hints, wanted: Wanted<'_>) -> String {
    hints
        .hint(wanted)
        .map_or_else(String::new, |hint| format!(" ({hint})"))
}
