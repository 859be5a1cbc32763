//! Two cabinets, or two labs, in one characteristic: do they differ by more than chance
//! and their instruments explain?
//!
//! Every pair of a family is judged at once, so that a report of many pairs does not find
//! differences by their number alone. The verdict is decided here, once; its sentence is
//! written here too. Readings become levels in `level`; what a difference does to coupons
//! is not asked here.
//!
//! The promise: of comparisons of equal cabinets at most one in twenty says of any pair, in
//! any characteristic, that it differs. Measured by simulation on six characteristics of 2,
//! 4 and 8 cabinets, 40 to 250 weekday checks rounded to a quarter standard deviation, φ
//! 0, 0.3 and 0.6 per day or per check: 0.1 to 4.2 % of comparisons without instruments'
//! offsets (1,000 drawn for each setting), about 4.5 % where offsets of 0.3 standard
//! deviations decide (6,000). Of two cabinets with 60 checks and φ = 0.3, a difference of
//! 0.5, 1 and 2 standard deviations is told in 14, 74 and 100 % of cases, of two among
//! eight in 3, 31 and 96 %.
//!
//! What breaks it: a cabinet that wanders slowly under noise of its readings. With half of
//! the variance wandering at φ = 0.8 a day it was 6 to 7 %, at 0.9 8 to 19 % (400 drawn),
//! the more the fewer checks. Series are taken as independent of each other: what two
//! cabinets of one room share makes the interval too wide, not too narrow.

mod factors;
mod family;
mod labs;
mod offsets;
mod says;
mod side;
#[cfg(test)]
mod simulated;
mod spread;
#[cfg(test)]
mod tests;
mod verdict;

pub use factors::FactorStore;
pub use family::{judge_cabinets, judge_pair};
pub use labs::{Lab, judge_labs};
pub use offsets::uncertainty_of_mean;

use super::level::Level;
use crate::stats::Interval;
use thiserror::Error;

/// Error rate shared by all pairs and all characteristics of a comparison.
pub const FAMILY_ERROR: f64 = 0.05;
/// Level of the interval that must lie within the margin: two one-sided tests at 5 %.
pub const EQUIVALENCE_LEVEL: f64 = 0.90;
/// Coverage factor of the expanded uncertainty that is told (GUM, common practice).
pub const COVERAGE_FACTOR: f64 = 2.0;

/// The instrument that read a participant.
///
/// Its error is one constant offset: it does not average out over readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Identifier, unique over all labs compared: the same on both sides means the same
    /// instrument, whose offset cancels. `None` when it is not told: never the same.
    pub id: Option<String>,
    /// Standard uncertainty in the unit of the readings; below 0 or not finite counts as 0.
    pub standard_uncertainty: f64,
    /// Standard uncertainty of what is the cabinet's own (a funnel's area) and stays where
    /// the instrument cancels; taken as above.
    pub own_uncertainty: f64,
}

impl Instrument {
    /// Both parts together, as a single participant meets them.
    pub fn standard(&self) -> f64 {
        uncertainty_of_mean(&[self])
    }
}

/// A cabinet that takes part.
#[derive(Debug, Clone, Copy)]
pub struct Cabinet<'a> {
    /// Its level over the shared period.
    pub level: &'a Level,
    /// What read it.
    pub instrument: &'a Instrument,
}

/// How a family of pairs is judged and worded.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Characteristics that share the error rate of the comparison; 0 counts as 1.
    pub characteristics: usize,
    /// Difference within which two cabinets count as agreeing, in the unit; `None` when
    /// nobody stated one.
    pub margin: Option<f64>,
    /// Pairs to list, the clearest difference first; all are judged and counted.
    pub listed: usize,
    /// Unit, for the sentence: `mL/h`; empty for none.
    pub unit: String,
    /// One instrument in words: `cylinder`.
    pub instrument: String,
    /// Two of them: `cylinders`.
    pub instruments: String,
}

/// What is said of a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// By more than instruments and chance explain.
    Differ,
    /// Within the margin, chance and instruments counted.
    Agree,
    /// Neither is shown.
    CannotTell,
}

impl Verdict {
    /// The word of the wire format, as `cannot-tell`.
    pub fn id(self) -> &'static str {
        match self {
            Verdict::Differ => "differ",
            Verdict::Agree => "agree",
            Verdict::CannotTell => "cannot-tell",
        }
    }
}

/// Two participants compared; values in the unit of the readings, `a` less `b`.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Index of the one among the participants given.
    pub a: usize,
    /// Index of the other, above `a`.
    pub b: usize,
    /// Mean of `a` less mean of `b`.
    pub difference: f64,
    /// Simultaneous interval by chance alone; `None` when chance cannot be judged (the
    /// sentence says why).
    pub chance: Option<Interval>,
    /// What the two instruments explain at most: expanded uncertainty (k = 2) of the
    /// difference; 0 when one instrument read both.
    pub u_instruments: f64,
    /// Simultaneous interval with chance and instruments, never inside `chance`; `None` as that.
    pub total: Option<Interval>,
    /// 90 % interval with both, of this pair alone: within ± margin the two agree.
    pub equivalence: Option<Interval>,
    /// Ratio of the standard deviations, `a` over `b`, with its simultaneous interval
    /// (normal readings taken for granted); `None` for labs and where one has no spread.
    pub sd_ratio: Option<Interval>,
    /// The verdict.
    pub verdict: Verdict,
    /// More checks of each that would tell, if difference, spread and carry-over stay;
    /// `None` when told already and when no number of checks would.
    pub more_checks: Option<u64>,
    /// The verdict in a sentence.
    pub says: String,
}

/// A family of pairs, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    /// Pairs judged.
    pub all: u64,
    /// How many differ.
    pub differ: u64,
    /// How many agree.
    pub agree: u64,
    /// Of how many neither is shown.
    pub cannot_tell: u64,
    /// The listed pairs, the clearest difference first.
    pub listed: Vec<Pair>,
}

/// Why there are no pairs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoPairs {
    /// Nobody has a level.
    #[error("no participant has enough readings in the period compared")]
    Nobody,
    /// One participant.
    #[error(
        "only one participant has enough readings in the period compared; it has nobody to be compared with"
    )]
    OneParticipant,
    /// More than the tables of chance reach.
    #[error(
        "{participants} participants are more than can be compared at once; compare at most {}",
        crate::stats::studentized_range::MOST_VALUES
    )]
    TooMany {
        /// Participants given.
        participants: usize,
    },
    /// A lab without a cabinet.
    #[error("a lab without any cabinet of enough readings cannot take part; leave it out")]
    EmptyLab,
}
