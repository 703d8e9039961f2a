//! The one door: what was seen, made into a proof.
//!
//! In: a [`Drive`](crate::Drive) and what was seen of it ([`Observations`](crate::Observations)).
//! Out: [`Check`], with the verdict and whether the tensioner may be released. Nobody else makes one, and
//! nobody can change it.
//! Never: anything that was not seen. Words, records and pictures take their verdicts from here.

pub(crate) mod check;
mod mesh;

pub use crate::timing::lookalike::Fit;
pub use check::{
    Check, CheckError, Proof, check, check_in_fractions, contradictions, prove, prove_in_fractions,
};
