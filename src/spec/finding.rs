//! What was found in a spec: typed data with places. The kinds are in families, one file each; there a
//! kind has its data, its code, its severity and its words together.

pub(crate) mod band;
mod chain;
mod drive;
mod fit;
mod mark;
mod mend;
mod path;
mod reading;
mod record;
mod step;
mod value;
mod valve;
pub(crate) mod words;

pub use chain::ChainProblem;
pub use drive::DriveProblem;
pub use fit::FitProblem;
pub use mark::{AlsoRight, MarkProblem};
pub use mend::{Change, Mend, Remedy};
pub use path::{PartName, PathProblem, Piece};
pub use reading::ReadingProblem;
pub use record::RecordProblem;
pub use step::StepProblem;
pub use value::ValueProblem;
pub use valve::{LiftTableFault, ValveProblem};

use crate::spec::source::Span;
use band::Band;
use words::Words;

/// How much a finding matters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Worth knowing; the spec is clean all the same.
    Note,
    /// Probably a mistake, or something the drive cannot show; the spec can be used.
    Warning,
    /// The spec cannot be used.
    Error,
}

/// One thing found in a spec.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// What it is.
    pub problem: Problem,
    /// The offence. `None` where the whole file is meant.
    pub span: Option<Span>,
    /// A second place that belongs to it, such as the line that set the rule.
    pub related: Option<Span>,
    /// What single change would put right this and all else that is found of its chain.
    pub remedy: Remedy,
    /// What that which it is about is called.
    pub(crate) band: &'static Band,
}

impl Finding {
    pub(crate) fn new(problem: impl Into<Problem>, span: Span) -> Self {
        Self {
            span: Some(span),
            ..Self::of_file(problem)
        }
    }

    pub(crate) fn of_file(problem: impl Into<Problem>) -> Self {
        Self {
            problem: problem.into(),
            span: None,
            related: None,
            remedy: Remedy::NotSought,
            band: &band::CHAIN,
        }
    }

    pub(crate) fn with(mut self, related: Span) -> Self {
        self.related = Some(related);
        self
    }

    /// The finding in words.
    pub(crate) fn words(&self) -> Words {
        self.problem.words(self.band)
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        self.problem.severity()
    }

    /// Its stable name, in lower case with hyphens.
    pub fn code(&self) -> &'static str {
        self.problem.code()
    }
}

/// From here on they are about what is called so.
pub(crate) fn are_of(findings: &mut [Finding], band: &'static Band) {
    for finding in findings {
        finding.band = band;
    }
}

/// Sorts findings by their places, and makes one that counts the rest of all beyond `most`.
pub(crate) fn in_order(findings: &mut Vec<Finding>, most: usize) {
    findings.sort_by_key(|finding| finding.span.map_or(0, |span| span.start));
    if findings.len() > most {
        let more = findings.len() - most;
        let first = findings[most].span;
        findings.truncate(most);
        findings.push(Finding {
            span: first,
            ..Finding::of_file(ReadingProblem::MoreFindings { more })
        });
    }
}

/// Declares [`Problem`] over its families.
macro_rules! families {
    ($($(#[$about:meta])* $name:ident($family:ident),)*) => {
        /// A kind of finding and what it is about.
        #[derive(Clone, PartialEq, Debug)]
        #[non_exhaustive]
        pub enum Problem {
            $($(#[$about])* $name($family),)*
        }

        impl Problem {
            /// The stable name of every kind, family by family.
            pub const CODES: &'static [&'static str] = &{
                let mut all = [""; 0 $(+ $family::CODES.len())*];
                let mut next = 0;
                $(
                    let mut i = 0;
                    while i < $family::CODES.len() {
                        all[next] = $family::CODES[i];
                        next += 1;
                        i += 1;
                    }
                )*
                all
            };

            /// The stable name of this kind.
            pub fn code(&self) -> &'static str {
                match self {
                    $(Self::$name(problem) => problem.code(),)*
                }
            }

            /// How much this kind matters.
            pub fn severity(&self) -> Severity {
                match self {
                    $(Self::$name(problem) => problem.severity(),)*
                }
            }

            /// The finding in words.
            pub(crate) fn words(&self, band: &'static Band) -> Words {
                match self {
                    $(Self::$name(problem) => problem.words(band),)*
                }
            }
        }

        $(
            impl From<$family> for Problem {
                fn from(problem: $family) -> Self {
                    Self::$name(problem)
                }
            }
        )*
    };
}

families! {
    /// The text as a whole.
    Reading(ReadingProblem),
    /// Keys and values against the format.
    Value(ValueProblem),
    /// Shafts and their speeds.
    Drive(DriveProblem),
    /// A chain as such.
    Chain(ChainProblem),
    /// Dots and coloured links.
    Mark(MarkProblem),
    /// The job around the chain.
    Step(StepProblem),
    /// Records of what was seen and done.
    Record(RecordProblem),
    /// A chain's path in the plane.
    Path(PathProblem),
    /// Lengths and marks in the plane.
    Fit(FitProblem),
    /// Cylinders and valves.
    Valve(ValveProblem),
}

impl Problem {
    /// Is it about one mark, so that what would put it right does not hang on the rest of the chain?
    pub(crate) fn is_of_one_mark(&self) -> bool {
        matches!(
            self,
            Self::Fit(FitProblem::LinksDisagree { .. } | FitProblem::DotOffChain { .. })
        )
    }
}
