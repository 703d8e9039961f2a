//! A number that tells whether a record belongs to a drive as its spec describes it now.

use crate::drive::model::Drive;
use crate::job::history;
use crate::units::quantity::Exact;
use std::fmt::Write as _;

/// A number that differs, all but surely, if anything differs that a question at the engine or a
/// verdict is made of (FNV-1a, 64 bits). It tells a changed spec, and is no protection against
/// anybody who means to deceive.
pub(super) fn fingerprint(drive: &Drive) -> String {
    let mut text = drive.crank_turns().word().to_owned();
    let number = |value: Option<Exact>| value.map_or_else(|| "-".to_owned(), |n| n.to_string());
    // Writing to a String cannot fail.
    for (_, shaft) in drive.shafts() {
        let _ = write!(text, ";{} {}", shaft.name(), shaft.kind().word());
    }
    for (id, chain) in drive.chains() {
        let _ = write!(text, ";{} {}", chain.name(), chain.links().get());
        // Nothing else is written, so that records of chains stay usable.
        if chain.is_belt() {
            text.push_str(" belt");
        } else if chain.is_gears() {
            text.push_str(" gears");
        }
        for (_, sprocket) in chain.engagements(id) {
            let mark = sprocket.mark();
            let _ = write!(
                text,
                ",{} {} {} {} {} {}",
                drive.shaft(sprocket.shaft()).name(),
                sprocket.teeth().get(),
                if sprocket.outside() { "out" } else { "in" },
                number(sprocket.dot().map(|dot| dot.get())),
                number(mark.map(|mark| mark.link.get())),
                mark.and_then(|mark| mark.colour.as_deref()).unwrap_or("-"),
            );
        }
    }
    history::checksum(&text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::source::Source;

    /// Records that were kept must stay usable, so the fingerprint of a drive must not change with
    /// this program.
    #[test]
    fn a_fingerprint_stays_what_it_was() {
        let text = include_str!("../../engines/kestrel-four.yaml");
        let print = |text: &str| {
            let source = Source::new("test", text.into()).unwrap();
            fingerprint(&Drive::read(&source).drive.unwrap())
        };
        assert_eq!(print(text), "e02c1746a1bd6bd3");
        // Whatever a verdict or a question is made of changes it; a comment and a length do not.
        for (from, to) in [
            ("crank_turns: clockwise", "crank_turns: counter-clockwise"),
            ("links: 118", "links: 120"),
            ("link: 51", "link: 52"),
            ("dot: 350", "dot: 351"),
            // The chain on a sprocket's outside turns it the other way.
            ("exhaust, teeth: 36,", "exhaust, teeth: 36, outside: true,"),
            ("link: 51, colour: yellow", "link: 51, colour: white"),
            // The kinds of links say nothing on a belt.
            ("elongation_limit: 1/100", "kind: belt"),
        ] {
            assert!(text.contains(from));
            assert_ne!(print(&text.replace(from, to)), print(text), "{to}");
        }
        assert_eq!(print(&text.replace("pitch: 8", "pitch: 9")), print(text));
        assert_eq!(print(&format!("{text}# note")), print(text));
    }
}
