//! What every answer in JSON is: its kind, the version of its format, and its published schema.

use serde_json::{Value, json};

macro_rules! answers {
    ($($(#[$about:meta])* $name:ident = $word:literal, $version:literal;)*) => {
        /// A kind of answer in JSON. Each has a JSON Schema (2020-12) of its own.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub(crate) enum Answer {
            $($(#[$about])* $name,)*
        }

        impl Answer {
            /// All there are.
            pub(crate) const ALL: &[Self] = &[$(Self::$name,)*];

            /// Its name, such as `check-record`.
            pub(crate) const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $word,)*
                }
            }

            /// Its name and the version of its format, such as `check-record/1`. The version goes up with a
            /// change that breaks a reader which ignores fields it does not know.
            pub(crate) const fn format(self) -> &'static str {
                match self {
                    $(Self::$name => concat!($word, "/", $version),)*
                }
            }

            /// Its JSON Schema, as text.
            pub(crate) const fn schema(self) -> &'static str {
                match self {
                    $(Self::$name => include_str!(concat!("../../docs/schemas/", $word, ".json")),)*
                }
            }
        }
    };
}

answers! {
    /// One look, proven.
    Check = "check", 1;
    /// A record's looks, proven.
    CheckRecord = "check-record", 1;
    /// One line of a stream. It names neither format nor version: a stream has millions of them.
    CheckLine = "check-line", 1;
    /// Where everything is after turning.
    Roll = "roll", 1;
    /// Causes of what was measured.
    Explain = "explain", 1;
    /// What a slip does.
    Slip = "slip", 1;
    /// How worn the chains are.
    Wear = "wear", 1;
    /// What is found in specs.
    Lint = "lint", 1;
    /// Marks calculated from the centres.
    LintFit = "lint-fit", 1;
    /// Geometry in figures.
    LintReport = "lint-report", 1;
    /// How a job stands.
    JobStatus = "job-status", 1;
    /// Fasteners.
    JobSheet = "job-sheet", 1;
    /// Marks to paint.
    PaintMarks = "paint-marks", 1;
    /// Marks of a new chain.
    PaintNewChain = "paint-new-chain", 1;
    /// Exercises for a class.
    Exercise = "exercise", 1;
    /// What an exercise's answer is worth.
    ExerciseGrade = "exercise-grade", 1;
    /// Why there is no answer.
    Error = "error", 1;
}

impl Answer {
    /// `value`, which must be an object, with the names of its format and of this version of the program in it.
    #[must_use]
    pub(crate) fn signed(self, mut value: Value) -> Value {
        value["format"] = json!(self.format());
        value["tautmark"] = json!(env!("CARGO_PKG_VERSION"));
        value
    }
}
