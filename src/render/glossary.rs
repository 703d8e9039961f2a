//! The words of the trade that everything else is said in, each with a small picture of it.

mod picture;

use super::words::escape::entities;
use crate::drive::error::CheckError;
use picture::{Shows, Stand, picture};
use std::fmt::Write as _;

/// A word, and what it means.
#[derive(Clone, Copy, Debug)]
pub struct Term {
    /// The word.
    pub word: &'static str,
    /// Other words for it, the trade's too.
    pub also: &'static [&'static str],
    /// What it means, in a sentence or three.
    pub means: &'static str,
    shows: Shows,
    stand: Stand,
}

/// In the order in which one explains the next.
const TERMS: &[Term] = &[
    Term {
        word: "link",
        also: &["pitch"],
        means: "One piece of chain from pin to pin; that length is the pitch. Inner and outer links take turns. \
            Links are counted from 0, the way the chain travels.",
        shows: Shows::Link,
        stand: Stand::Timed,
    },
    Term {
        word: "tooth",
        also: &["teeth"],
        means: "One tooth of a sprocket takes one link. A chain hung a tooth off leaves that shaft out by one tooth: \
            360 degrees of the shaft, divided by the teeth of its sprocket. A sprocket of 24 teeth: 15 cam degrees.",
        shows: Shows::Tooth,
        stand: Stand::Timed,
    },
    Term {
        word: "coloured link",
        also: &["painted link", "marked link"],
        means: "A link that the maker coloured for hanging the chain. In the timed position it belongs on the dot of its sprocket. \
            With the first turn the coloured links wander off, and that is normal.",
        shows: Shows::ColouredLinks,
        stand: Stand::Timed,
    },
    Term {
        word: "dot",
        also: &["timing mark", "mark on the sprocket"],
        means: "The timing mark on a sprocket. While the chain is hung it belongs on its coloured link; after that it is held \
            against its reference mark on the engine.",
        shows: Shows::Dots,
        stand: Stand::Timed,
    },
    Term {
        word: "reference mark",
        also: &["mark on the engine"],
        means: "The mark on the engine (cast in, or an edge) that a dot is held against. It does not move, so it proves the timing \
            long after the coloured links have wandered off.",
        shows: Shows::References,
        stand: Stand::Timed,
    },
    Term {
        word: "timed position",
        also: &[],
        means: "The place of the crankshaft in which every dot belongs on its coloured link and at its reference mark; often \
            cylinder 1 at TDC of compression.",
        shows: Shows::Timed,
        stand: Stand::Timed,
    },
    Term {
        word: "ahead",
        also: &["advanced", "early"],
        means: "Further on than it belongs, in the way the shaft turns when the engine runs. Here the camshaft is 2 teeth ahead; the ring is \
            where its dot belongs.",
        shows: Shows::Off,
        stand: Stand::Slipped(2),
    },
    Term {
        word: "behind",
        also: &["retarded", "late"],
        means: "Not as far on as it belongs, in the way the shaft turns when the engine runs. Here the camshaft is 2 teeth behind; the ring is \
            where its dot belongs.",
        shows: Shows::Off,
        stand: Stand::Slipped(-2),
    },
    Term {
        word: "crank degrees, cam degrees",
        also: &["degrees"],
        means: "The camshaft of a four-stroke turns half as fast as the crankshaft, so 90 crank degrees are 45 cam degrees. An angle means \
            nothing until it is said which of the two it is.",
        shows: Shows::Angles,
        stand: Stand::Turned(1, 4),
    },
    Term {
        word: "tight strand",
        also: &["drive side"],
        means: "The run of chain by which the crankshaft pulls the camshaft. It runs along a fixed guide. Between two dots on the tight strand \
            there is no slack, so its links can be counted.",
        shows: Shows::TightStrand,
        stand: Stand::Timed,
    },
    Term {
        word: "slack strand",
        also: &["tensioner's side"],
        means: "The run of chain that leaves the crankshaft sprocket. All slack must end up here before the tensioner is released; slack on the \
            other side leaves the camshaft behind.",
        shows: Shows::SlackStrand,
        stand: Stand::Timed,
    },
    Term {
        word: "tensioner",
        also: &["pin"],
        means: "Pushes a shoe against the slack strand. A pin holds it back while the chain is hung; the pin comes out once the timing is proven, \
            not before.",
        shows: Shows::Tensioner,
        stand: Stand::Timed,
    },
    Term {
        word: "fixed guide",
        also: &["guide", "rail"],
        means: "A rail along which the tight strand runs. It does not move.",
        shows: Shows::Guide,
        stand: Stand::Timed,
    },
    Term {
        word: "phaser",
        also: &["cam phaser", "parked"],
        means: "Turns the camshaft against its sprocket while the engine runs. Parked, it is locked in one place, and only then does the \
            sprocket's dot tell where the camshaft is. The dashed line is as far as this one can turn.",
        shows: Shows::Phaser,
        stand: Stand::Timed,
    },
    Term {
        word: "look-alike",
        also: &[],
        means: "A way to hang the chain in which every dot lies on a link of the right colour and the timing is wrong. Here each dot lies on \
            the other's link. The reference marks tell it from the truth.",
        shows: Shows::Lookalike,
        stand: Stand::Lookalike,
    },
    Term {
        word: "turned twice by hand",
        also: &["return", "coming back"],
        means: "After two turns of the crankshaft every dot is back at its reference mark; the coloured links are not on their dots. \
            So the proof after turning is by dots, never by colours.",
        shows: Shows::Wandered,
        stand: Stand::Turned(2, 1),
    },
];

/// The glossary, in the order in which one word explains the next.
///
/// ```
/// use tautmark::render::glossary;
///
/// let tooth = glossary().iter().find(|term| term.word == "tooth").ok_or("not there")?;
/// assert!(tooth.means.starts_with("One tooth of a sprocket takes one link."));
/// assert!(tooth.picture()?.starts_with("<svg "));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn glossary() -> &'static [Term] {
    TERMS
}

impl Term {
    /// What it is called by `word`, whatever its case: the word itself, or another one for it.
    pub fn is_called(&self, word: &str) -> bool {
        let same = |own: &str| own.eq_ignore_ascii_case(word);
        same(self.word) || self.also.iter().any(|own| same(own)) || self.word.split(", ").any(same)
    }

    /// A small picture of it, as SVG.
    ///
    /// # Errors
    /// [`CheckError`]; the drive that is shown is a sound one.
    pub fn picture(&self) -> Result<String, CheckError> {
        picture(self.word, self.means, self.shows, self.stand)
    }
}

/// Words and meanings for a terminal of `width` characters, each meaning on lines of its own.
pub fn glossary_text(terms: &[&Term], width: usize) -> String {
    let mut out = String::new();
    for (nth, term) in terms.iter().enumerate() {
        if nth > 0 {
            out.push('\n');
        }
        out.push_str(term.word);
        if !term.also.is_empty() {
            // Writing to a String cannot fail.
            let _ = write!(out, " ({})", term.also.join(", "));
        }
        let mut room = 0;
        for word in term.means.split_whitespace() {
            let taken = word.chars().count() + 1;
            if taken > room {
                out.push_str("\n ");
                room = width.saturating_sub(1);
            }
            let _ = write!(out, " {word}");
            room = room.saturating_sub(taken);
        }
        out.push('\n');
    }
    out
}

/// A page that needs nothing else, for a screen or the wall: words, meanings and pictures.
///
/// # Errors
/// As [`Term::picture`].
pub fn glossary_html(terms: &[&Term]) -> Result<String, CheckError> {
    let mut out = String::from(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n\
         <title>Words of the timing drive</title>\n<style>",
    );
    out.push_str(STYLE);
    out.push_str("</style>\n<h1>Words of the timing drive</h1>\n<p>The drive in the pictures is invented. The maker's service information rules over all of this.</p>\n<dl>\n");
    for term in terms {
        let _ = write!(out, "<div>\n<dt>{}", entities(term.word));
        if !term.also.is_empty() {
            let _ = write!(out, " <small>{}</small>", entities(&term.also.join(", ")));
        }
        let _ = writeln!(
            out,
            "</dt>\n<dd>{}\n<p>{}</p></dd>\n</div>",
            term.picture()?,
            entities(term.means)
        );
    }
    out.push_str("</dl>\n</html>\n");
    Ok(out)
}

const STYLE: &str = "
@page { margin: 12mm }
* { box-sizing: border-box }
body { font: 16px/1.45 system-ui, 'DejaVu Sans', sans-serif; color: #111; background: #fff; max-width: 62rem; margin: 1.5rem auto; padding: 0 1rem }
dl { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 1rem; margin: 0 }
dl > div { border: 1px solid #999; padding: .7rem; break-inside: avoid }
dt { font-weight: bold } dt small { font-weight: normal } dd { margin: 0 }
dd svg { display: block; width: 100%; height: 15rem; margin: .5rem 0 } dd p { margin: 0 }
@media print { body { font-size: 9.5pt; margin: 0; padding: 0; max-width: none } dl { grid-template-columns: repeat(3, 1fr); gap: 3mm } dd svg { height: 38mm } }
";
