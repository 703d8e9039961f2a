//! What ends the reading of a file, or the list of its findings.

use super::words::{family, quoted};

family! {
    /// What ends the reading of a file, or the list of its findings.
    ReadingProblem {
        /// The text is not YAML.
        NotYaml {
            /// What the YAML parser says.
            reason: String,
        } = "not-yaml", Error {
            title: format!("this is not valid YAML: {reason}"),
            label: "reading stopped here",
            help: yaml_help(reason),
        }
        /// The text is not YAML, because this bracket is never closed.
        Unclosed {
            /// The bracket.
            bracket: char,
        } = "unclosed-bracket", Error {
            title: format!("this '{bracket}' is not closed"),
            label: "opened here",
            related: "reading stopped here",
            help: match bracket {
                '{' => "close it with '}', or quote it if it is part of a text",
                _ => "close it with ']', or quote it if it is part of a text",
            },
        }
        /// The text is not YAML, because of a character that only looks like a space.
        OddSpace {
            /// The character.
            character: char,
        } = "odd-space", Error {
            title: format!("this only looks like a space (U+{:04X})", u32::from(*character)),
            label: "not a space to a reader of YAML",
            related: "reading stopped here",
            help: "put a plain space in its place; text copied from a page or a letter often brings others",
        }
        /// The text is not YAML, because a line is indented with a tab.
        Tab = "tab", Error {
            title: "this line is indented with a tab",
            label: "a tab",
            related: "reading stopped here",
            help: "indent with spaces; tabs are not allowed",
        }
        /// The text is not YAML, because a colon has no space behind it.
        NoSpace {
            /// The key before it.
            key: String,
        } = "no-space-after-colon", Error {
            title: format!("no space after the colon of {}", quoted(key)),
            label: "a space belongs behind it",
            related: "reading stopped here",
            help: format!("put a space after the colon: '{key}: ...'"),
        }
        /// There is nothing in the file.
        Empty = "empty", Error {
            title: "there is no spec in this file",
            label: "",
            help: "`tautmark new` prints one to start from",
        }
        /// A second document begins.
        SecondDocument = "second-document", Error {
            title: "a second document starts here",
            label: "one file holds one spec",
            help: "remove the '---', or put the second spec in its own file",
        }
        /// Values nested too deeply.
        TooDeep {
            /// The deepest nesting that is read.
            max: usize,
        } = "too-deep", Error {
            title: format!("values are nested more than {max} deep"),
            label: "too deep here",
            help: "no spec is nested that deep; look for an unclosed bracket",
        }
        /// More values than are read, aliases counted each time.
        TooMany {
            /// The most values that are read.
            max: usize,
        } = "too-many-values", Error {
            title: format!("more than {max} values, counting each use of an alias"),
            label: "reading stopped here",
            help: "no spec needs that many; write out what the aliases repeat",
        }
        /// More text than aliases may repeat.
        TooMuchRepeated {
            /// The most bytes that are repeated.
            max: usize,
        } = "too-much-repeated", Error {
            title: format!("aliases repeat more than {} KiB of text", max / 1024),
            label: "reading stopped here",
            help: "no spec needs that much; write out what the aliases repeat",
        }
        /// An alias within the value that it stands for.
        AliasLoop = "alias-loop", Error {
            title: "an alias is inside the value it stands for",
            label: "this alias",
            help: "write the value out",
        }
        /// A key that is itself a list or a mapping.
        KeyNotText = "key-not-text", Error {
            title: "a key must be a word",
            label: "this is a list or a mapping",
            help: "look for a missing quote, or a stray '?' or bracket",
        }
        /// More findings than are reported.
        MoreFindings {
            /// How many there are besides those reported.
            more: usize,
        } = "more-findings", Error {
            title: format!("{more} more findings from here on"),
            label: "the first of them",
            help: "fix the ones above first; they may cause the rest",
        }
    }
}

/// What to do about a place at which the YAML parser gave up.
fn yaml_help(reason: &str) -> &'static str {
    let says = |word| reason.contains(word);
    if says("tabs") {
        "indent with spaces; tabs are not allowed"
    } else if says("mapping values are not allowed") {
        "a colon and a space start a value: quote a text that contains them, or check the indentation"
    } else if says("unknown anchor") {
        "no '&' with that name comes before it: write the value out, or quote the text"
    } else if says("unexpected character") {
        "quote a text that starts with or contains this character"
    } else if says("unclosed") || says("mismatched") {
        "close it, or quote it if it is part of a text"
    } else {
        "check the indentation, and look for a missing quote, bracket or brace just before this place"
    }
}
