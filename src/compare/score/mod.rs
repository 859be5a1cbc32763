//! Scores of a proficiency comparison: z, z′, ζ and E_n, and what they say.
//!
//! A score exists only through a constructor that checked its parts, so it is always a
//! finite number; the verdict on it is decided here and nowhere else. Where the results
//! come from, and what a lab should do about a signal, is the callers' business.
//!
//! Source: ISO 13528 and ISO/IEC 17043; definitions read in secondary texts, clause numbers
//! from memory.

mod assigned;
mod participant;
mod scored;
mod sigma;
mod uncertainty;

pub use assigned::{
    AssignedSource, AssignedValue, Caution, FEW_PARTICIPANTS, NoAssignedValue, UncertaintyCheck,
};
pub use participant::{Scores, Scoring};
pub use scored::{NotScored, Score, ScoreKind, Verdict};
pub use sigma::{
    DEFAULT_SHARE_OF_HALF_WINDOW, NoSigma, RepeatabilityPart, Sigma, SigmaPt, SigmaSource,
};
pub use uncertainty::{NoUncertainty, Uncertainty};

/// Share of a limit by which rounding may miss it: 0.9 − 0.7 over 0.1 is 2 to the person
/// who does it on paper, and 2.0000000000000004 in binary fractions.
const ROUNDING: f64 = 1e-9;

/// `x` ≤ `limit`, rounding allowed for.
fn at_most(x: f64, limit: f64) -> bool {
    x <= limit * (1.0 + ROUNDING)
}

/// `x` ≥ `limit`, rounding allowed for.
fn at_least(x: f64, limit: f64) -> bool {
    x >= limit * (1.0 - ROUNDING)
}
