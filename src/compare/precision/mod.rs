//! Precision of an experiment with unequal numbers of results: repeatability,
//! reproducibility, consistency and outliers by ISO 5725-2.
//!
//! One level: some participants (cabinets or labs), each with one or more results of the
//! same material under the same method. [`analyse`] gives the estimates of all results;
//! [`screen`] marks stragglers and outliers and gives the estimates with and without them.
//! Nothing is left out silently, and what cannot be given says why. It does not know what
//! the results are, and it judges no participant's competence: scores are elsewhere.
//!
//! The clauses are those of ISO 5725-2:1994, from memory; the published examples and
//! critical values that the tests reproduce are named beside them.

mod analysis;
mod anova;
mod cells;
mod cochran;
mod grubbs;
mod grubbs_pair;
mod largest_residual;
mod mandel;
mod screen;
mod table;
mod verdict;

pub use analysis::{CellPrecision, Precision, analyse};
pub use anova::{Anova, LIMIT_FACTOR, NoRepeatability, Variances};
pub use cochran::{CochranBasis, CochranTest, cochran_critical};
pub use grubbs::{FEWEST_FOR_SINGLE, single_critical};
pub use grubbs_pair::{FEWEST_FOR_PAIRS, MOST_FOR_PAIRS, pair_critical};
pub use mandel::{NoMandel, h_critical, k_critical};
pub use screen::{LARGEST_SHARE, LEAST_REMAINING, Mark, Screening, Stop, screen};
pub use table::{FEWEST_PARTICIPANTS, LARGEST_RESULT, Table, TableError};
pub use verdict::{Critical, NoTest, OutlierTest, Test, Verdict};

#[cfg(test)]
mod chance_tests;
#[cfg(test)]
mod critical_tests;
#[cfg(test)]
mod fixtures;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod published_tests;
#[cfg(test)]
mod screen_tests;
