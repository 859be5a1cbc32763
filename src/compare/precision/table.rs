//! The table of an experiment: participants and their results.
//!
//! Checks once what every estimate relies on. Which coupons or checks become results, and
//! who counts as a participant, is decided by the caller.

use thiserror::Error;

/// Largest size of a result: above it squares and sums could pass what binary64 holds.
/// No quantity of a cabinet comes near it.
pub const LARGEST_RESULT: f64 = 1e150;

/// Fewest participants that can be compared.
pub const FEWEST_PARTICIPANTS: usize = 2;

/// Results of at least two participants, at least one each, all finite; in one unit.
///
/// ```
/// use steadyfog::compare::precision::{Table, TableError};
/// assert!(Table::new(vec![vec![70.1, 69.4], vec![72.0]]).is_ok());
/// assert_eq!(
///     Table::new(vec![vec![70.1], vec![]]),
///     Err(TableError::NoResult { participant: 1 })
/// );
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    results: Vec<Vec<f64>>,
}

/// Why a table is refused; participants and results are counted from 0.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TableError {
    /// Fewer than two participants.
    #[error(
        "Precision needs the results of at least {FEWEST_PARTICIPANTS} participants, and there are those of {found}."
    )]
    TooFewParticipants {
        /// Participants given.
        found: usize,
    },
    /// A participant without a result.
    #[error(
        "Participant {} has no result; leave it out of the comparison or give its results.",
        participant + 1
    )]
    NoResult {
        /// The participant.
        participant: usize,
    },
    /// A result that is not a finite number, or too large to be squared.
    #[error(
        "Result {} of participant {} is {value}, and a result must be a finite number below {LARGEST_RESULT:e}.",
        result + 1, participant + 1
    )]
    NotUsable {
        /// The participant.
        participant: usize,
        /// The result.
        result: usize,
        /// What was found.
        value: String,
    },
}

impl Table {
    /// Takes one list of results for each participant.
    ///
    /// # Errors
    /// [`TableError`] with fewer than two participants, a participant without a result, or
    /// a result that is not finite or beyond [`LARGEST_RESULT`]. Nothing is left out.
    pub fn new(results: Vec<Vec<f64>>) -> Result<Self, TableError> {
        if results.len() < FEWEST_PARTICIPANTS {
            return Err(TableError::TooFewParticipants {
                found: results.len(),
            });
        }
        for (participant, own) in results.iter().enumerate() {
            if own.is_empty() {
                return Err(TableError::NoResult { participant });
            }
            let usable = |x: &f64| x.is_finite() && x.abs() < LARGEST_RESULT;
            if let Some((result, found)) = own.iter().enumerate().find(|(_, x)| !usable(x)) {
                return Err(TableError::NotUsable {
                    participant,
                    result,
                    value: found.to_string(),
                });
            }
        }
        Ok(Self { results })
    }

    /// The results, one list for each participant, in the order given.
    #[must_use]
    pub fn results(&self) -> &[Vec<f64>] {
        &self.results
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_used_is_refused_with_its_place() {
        for few in [vec![], vec![vec![1.0, 2.0]]] {
            let found = few.len();
            assert_eq!(
                Table::new(few),
                Err(TableError::TooFewParticipants { found })
            );
        }
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e150, -1e200] {
            let refused = Table::new(vec![vec![1.0], vec![2.0, bad]]).unwrap_err();
            let TableError::NotUsable {
                participant,
                result,
                ref value,
            } = refused
            else {
                panic!("{refused:?}")
            };
            assert_eq!((participant, result), (1, 1));
            assert_eq!(*value, bad.to_string());
            assert!(refused.to_string().contains("Result 2 of participant 2"));
        }
    }
}
