//! Styles of a terminal, which never carry the meaning alone.

use super::escape::printable;
use crate::job::View;
use crate::render::hints::Hints;
use crate::timing::check::Verdict;

/// Names are printable since they were checked on reading; the text is made so once more, leaving
/// only the styles that were put there by [`heading`].
pub(crate) fn printable_but_styled(text: &str) -> String {
    text.split("\u{1b}[")
        .enumerate()
        .map(|(i, piece)| {
            let shown = printable(piece);
            if i == 0 {
                shown
            } else {
                format!("\u{1b}[{shown}")
            }
        })
        .collect()
}

pub(crate) fn heading(text: &str, verdict: Verdict, colour: bool) -> String {
    if !colour {
        return text.to_owned();
    }
    let code = match verdict {
        Verdict::InTime => "1;32",
        Verdict::OutOfTime => "1;31",
        Verdict::NotProven => "1;33",
    };
    format!("\u{1b}[{code}m{text}\u{1b}[0m")
}

pub(crate) fn bold(text: &str, colour: bool) -> String {
    if colour {
        format!("\u{1b}[1m{text}\u{1b}[0m")
    } else {
        text.to_owned()
    }
}

/// How a text is shown, and to whom.
#[derive(Clone, Copy)]
pub(crate) struct Style<'h> {
    /// Says how to do what the text asks for.
    pub(crate) hints: &'h dyn Hints,
    /// Is it the interview? There everything was answered just now.
    pub(crate) asking: bool,
    /// With the colours of a terminal?
    pub(crate) colour: bool,
    /// From where whoever reads it sees the timing end.
    pub(crate) view: View,
}
