//! The one door: what was seen, made into a proof.
//!
//! In: a [`Drive`](crate::Drive) and what was seen of it ([`Observations`](crate::Observations)).
//! Out: [`Check`], with the verdict and whether the tensioner may be released. Nobody else makes one, and
//! nobody can change it.
//! Never: anything that was not seen. Words, records and pictures take their verdicts from here.

pub(crate) mod check;
pub(crate) mod counted;
mod mesh;
pub(crate) mod paint;

pub use crate::timing::lookalike::Fit;
pub use check::{
    Check, CheckError, Proof, check, check_in_fractions, contradictions, prove, prove_in_fractions,
};
pub use counted::{
    Carried, CarryError, Counted, CountedChain, CountedError, CountedShaft, CountedSprocket,
    Recount, carried, recount,
};
pub use paint::{OwnMarks, PaintError, Pair, own_marks, painted, with_camshafts};
