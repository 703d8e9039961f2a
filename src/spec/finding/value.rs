//! Keys and values that depart from the tables of the format.

use super::words::{did_you_mean, family, odd_space, quoted};
use crate::spec::format::{FORMAT_VERSION, MAX_NAME, MAX_TEXT};
use crate::units::cycle::TradeAngleError;
use crate::units::quantity::NumberError;

family! {
    /// Keys and values that depart from the tables of the format.
    ValueProblem {
        /// A key that the format does not know.
        UnknownKey {
            /// As written.
            key: String,
            /// The nearest key that is known here.
            nearest: Option<&'static str>,
            /// All keys that are known here.
            known: Vec<&'static str>,
        } = "unknown-key", Error {
            title: format!("unknown key {}", quoted(key)),
            label: "not known here",
            help: match key.split_once(':') {
                _ if key == "<<" => {
                    "merge keys are not supported: write the keys out, or use an alias for the whole value".into()
                }
                Some((word, _)) if known.contains(&word) => {
                    format!("put a space after the colon: '{word}: ...'")
                }
                _ => odd_space(key).unwrap_or_else(|| {
                    did_you_mean(*nearest, || format!("known here: {}", known.join(", ")))
                }),
            },
        }
        /// A key given twice.
        DuplicateKey {
            /// As written.
            key: String,
        } = "duplicate-key", Error {
            title: format!("key {} is given twice", quoted(key)),
            label: "given again",
            related: "first given here",
            help: "keep one of them",
        }
        /// A key that must be there is not.
        MissingKey {
            /// The key.
            key: &'static str,
            /// The record that lacks it.
            record: &'static str,
            /// What it means.
            about: &'static str,
        } = "missing-key", Error {
            title: format!("{record} needs the key '{key}'"),
            label: format!("'{key}' is missing here"),
            help: format!("add '{key}: ...' ({about})"),
        }
        /// A value of another kind than expected.
        WrongType {
            /// What is expected.
            expected: &'static str,
            /// What stands there.
            found: String,
        } = "wrong-type", Error {
            title: format!("expected {expected}, found {}", found_words(found)),
            label: format!("expected {expected}"),
            help: format!("give {expected}"),
        }
        /// A text that should be a number and is not.
        NotANumber {
            /// As written.
            text: String,
            /// Why not.
            reason: NumberError,
            /// Must it be a whole number?
            whole: bool,
        } = "not-a-number", Error {
            title: format!(
                "expected {}, found {}",
                if *whole { "a whole number" } else { "a number" },
                quoted(text)
            ),
            label: if *whole && *reason == NumberError::Form {
                "not a whole number".into()
            } else {
                reason.to_string()
            },
            help: if *whole {
                "use digits only, such as 36"
            } else {
                "write it as 8, 9.525 or 1/100; exponents, inf and nan are not allowed"
            },
        }
        /// A number outside its bounds.
        OutOfBounds {
            /// As written.
            text: String,
            /// The least.
            min: i64,
            /// The most.
            max: i64,
            /// Of what.
            unit: &'static str,
            /// Is the least itself excluded?
            above: bool,
        } = "out-of-range", Error {
            title: match (min == max, above) {
                (true, _) => format!("expected {min} {unit}, found {}", quoted(text)),
                (_, true) => format!("{} is out of range: above {min}, up to {max} {unit}", quoted(text)),
                _ => format!("{} is out of range: {min} to {max} {unit}", quoted(text)),
            },
            label: if min == max { "not supported" } else { "out of range" },
            help: match (min == max, above) {
                (true, _) => format!("write {min}; nothing else is supported"),
                (_, true) => format!("give a value above {min}, up to {max}"),
                _ => format!("give a value from {min} to {max}"),
            },
        }
        /// A word that is none of the choices.
        NotAChoice {
            /// As written.
            text: String,
            /// The choices.
            choices: Vec<&'static str>,
            /// The nearest of them.
            nearest: Option<&'static str>,
        } = "not-a-choice", Error {
            title: format!("{} is not one of: {}", quoted(text), choices.join(", ")),
            label: "not one of the choices",
            help: did_you_mean(*nearest, || format!("use one of: {}", choices.join(", "))),
        }
        /// A name with characters that would not survive a command line, or too long.
        BadName {
            /// As written.
            name: String,
        } = "bad-name", Error {
            title: format!("{} cannot be a name", quoted(name)),
            label: "names go on the command line",
            help: odd_space(name).unwrap_or_else(|| format!("use letters, digits, '-' and '_'; start with a letter or digit; {MAX_NAME} characters at most")),
        }
        /// A text that must be there and is blank.
        BlankText = "blank-text", Error {
            title: "there is nothing in this text",
            label: "blank",
            help: "write what it is",
        }
        /// A version of the file format that is newer than this program.
        NewerFormat {
            /// The version as written.
            version: String,
        } = "newer-format", Error {
            title: format!("this file is of version {} of the format; this tautmark reads version {FORMAT_VERSION}", quoted(version)),
            label: "newer than this program",
            help: "get a newer tautmark for it; writing another number here would not make it an older file",
        }
        /// A text with control characters, or too long.
        UnprintableText {
            /// As written.
            text: String,
        } = "unprintable-text", Error {
            title: match text.chars().count() {
                n if n > MAX_TEXT => format!("this text has {n} characters; the limit is {MAX_TEXT}"),
                _ => format!("{} has characters that cannot be shown", quoted(text)),
            },
            label: if text.chars().count() > MAX_TEXT {
                "too long"
            } else {
                "control or invisible characters"
            },
            help: format!("use printable characters, {MAX_TEXT} at most"),
        }
        /// More of something than the model takes.
        TooManyOf {
            /// What.
            what: &'static str,
            /// How many stand there.
            found: usize,
            /// The most.
            max: usize,
        } = "too-many", Error {
            title: format!("{found} {what}; the limit is {max}"),
            label: "too many here",
            help: format!("leave out what the timing does not need, down to {max} {what}"),
        }
        /// Fewer of something than it takes.
        TooFewOf {
            /// What.
            what: &'static str,
            /// How many stand there.
            found: usize,
            /// The fewest.
            min: usize,
        } = "too-few", Error {
            title: format!("{found} {what}; at least {min} needed"),
            label: "too few here",
            help: format!("give {min} or more"),
        }
        /// An entry of a path that names no part.
        UnknownEntry {
            /// The words of which one must be there.
            known: Vec<&'static str>,
        } = "unknown-entry", Error {
            title: format!("this entry needs one of the keys: {}", known.join(", ")),
            label: "what is this?",
            help: "add the key that says what it is",
        }
        /// A text that is no valve event.
        BadEvent {
            /// As written.
            text: String,
            /// Why not.
            reason: TradeAngleError,
        } = "bad-event", Error {
            title: format!("{} is not a valve event", quoted(text)),
            label: reason.to_string(),
            help: "write it as the trade does: 12 BTDC, 5 ATDC, 48 ABDC, 40 BBDC, TDC or BDC",
        }
    }
}

/// What stands there, cut short if it is a quoted text.
fn found_words(found: &str) -> String {
    match found
        .strip_prefix('\'')
        .and_then(|rest| rest.strip_suffix('\''))
    {
        Some(text) => quoted(text),
        None => found.to_owned(),
    }
}
