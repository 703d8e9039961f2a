//! Generic trouble codes about crankshaft and camshaft timing.
//!
//! Meanings as several public lists agree on them for SAE J2012 / ISO 15031-6 (J2012-DA is the
//! normative list; its own wording was not seen and is not claimed).

/// A trouble code and what it is worth.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TroubleCode {
    /// The code, such as `P0016`.
    pub code: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// Which cause it points to.
    pub tells: &'static str,
    /// What it leaves open.
    pub does_not_tell: &'static str,
}

const CORRELATION_TELLS: &str =
    "crankshaft and camshaft stand at an angle to each other that the control unit does not expect";
const CORRELATION_LEAVES: &str = "which way or how far, nor whether it is a tooth, a long chain, a phaser off its lock, or a sensor or its wheel";
const ADVANCED_TELLS: &str = "the camshaft was further advanced than it was commanded to be";
const RETARDED_TELLS: &str = "the camshaft was further retarded than it was commanded to be";
const POSITION_LEAVES: &str = "whether the phaser, its oil supply or its valve is at fault, or the chain is off: a chain off by teeth shifts the whole range of the phaser";

macro_rules! codes {
    ($($code:literal, $meaning:literal, $tells:ident, $leaves:ident;)*) => {
        /// Every code that is known here.
        pub const TROUBLE_CODES: &[TroubleCode] = &[
            $(TroubleCode { code: $code, meaning: $meaning, tells: $tells, does_not_tell: $leaves },)*
        ];
    };
}

codes! {
    "P0011", "camshaft position A, timing over-advanced, bank 1", ADVANCED_TELLS, POSITION_LEAVES;
    "P0012", "camshaft position A, timing over-retarded, bank 1", RETARDED_TELLS, POSITION_LEAVES;
    "P0014", "camshaft position B, timing over-advanced, bank 1", ADVANCED_TELLS, POSITION_LEAVES;
    "P0015", "camshaft position B, timing over-retarded, bank 1", RETARDED_TELLS, POSITION_LEAVES;
    "P0016", "crankshaft position, camshaft position correlation, bank 1 sensor A", CORRELATION_TELLS, CORRELATION_LEAVES;
    "P0017", "crankshaft position, camshaft position correlation, bank 1 sensor B", CORRELATION_TELLS, CORRELATION_LEAVES;
    "P0018", "crankshaft position, camshaft position correlation, bank 2 sensor A", CORRELATION_TELLS, CORRELATION_LEAVES;
    "P0019", "crankshaft position, camshaft position correlation, bank 2 sensor B", CORRELATION_TELLS, CORRELATION_LEAVES;
    "P0021", "camshaft position A, timing over-advanced, bank 2", ADVANCED_TELLS, POSITION_LEAVES;
    "P0022", "camshaft position A, timing over-retarded, bank 2", RETARDED_TELLS, POSITION_LEAVES;
    "P0024", "camshaft position B, timing over-advanced, bank 2", ADVANCED_TELLS, POSITION_LEAVES;
    "P0025", "camshaft position B, timing over-retarded, bank 2", RETARDED_TELLS, POSITION_LEAVES;
}

/// What has to be said with every code.
pub const ABOUT_CODES: &str = "A is usually the intake camshaft and B the exhaust (common practice), bank 1 the side of cylinder 1. A code alone proves nothing about teeth: measure, or look at the marks.";

/// The code of that name, in any case.
pub fn trouble_code(code: &str) -> Option<&'static TroubleCode> {
    TROUBLE_CODES
        .iter()
        .find(|known| known.code.eq_ignore_ascii_case(code))
}
