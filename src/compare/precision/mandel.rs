//! Mandel's h and k and their critical values (ISO 5725-2:1994 7.3.1).
//!
//! h compares a participant's mean with the mean of all means, k its spread with the
//! pooled one. They are for looking at; verdicts come from Cochran's and Grubbs' tests.
//!
//! With unequal numbers of results, h still weighs each participant's mean alike (as its
//! critical value supposes), and k has for each participant a critical value of its own,
//! which is exact.

use super::Critical;
use crate::stats::tails;
use thiserror::Error;

/// Why h or k is not given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoMandel {
    /// The participant has one result and so no spread of its own.
    #[error("k cannot be given: the participant has one result.")]
    OneResult,
    /// All means are equal.
    #[error("h cannot be given: the means of all participants are equal.")]
    EqualMeans,
    /// The results of every participant are equal among themselves.
    #[error("k cannot be given: every participant's results are equal among themselves.")]
    NoSpreadWithin,
}

/// Critical values of |h|, two-sided; `None` below three participants.
///
/// (p − 1)·t/√(p·(t² + p − 2)) with t exceeded by α/2 at p − 2 degrees of freedom
/// (ISO 5725-2:1994 annex formulas, from memory).
///
/// ```
/// use steadyfog::compare::precision::h_critical;
/// // 2.06 in print.
/// assert!((h_critical(8).map_or(0.0, |h| h.at_1_percent) - 2.06489).abs() < 1e-5);
/// ```
#[must_use]
pub fn h_critical(participants: usize) -> Option<Critical> {
    let at = |alpha: f64| h_at(participants, alpha);
    Some(Critical {
        at_5_percent: at(0.05)?,
        at_1_percent: at(0.01)?,
    })
}

/// |h| that is passed with chance `alpha`; `None` below three participants.
pub(super) fn h_at(participants: usize, alpha: f64) -> Option<f64> {
    let p = participants as f64;
    let t = tails::t_exceeded(0.5 * alpha, p - 2.0)?;
    Some((p - 1.0) * t / (p * (t * t + p - 2.0)).sqrt())
}

/// Critical values of k for a participant whose variance has `own` degrees of freedom
/// while those of all participants together have `all`.
///
/// k² · own/all is the participant's share of the pooled squares, so that
/// k² = (all/own) / (1 + (all − own)/(own·F)), F exceeded by α at (own, all − own); with
/// equal numbers that is the formula of ISO 5725-2, √(p/(1 + (p − 1)/F)). `None` unless
/// 0 < own < all.
///
/// ```
/// use steadyfog::compare::precision::k_critical;
/// // Eight participants with three results each: 1.97 in print, cut off from 1.9638.
/// assert!((k_critical(2.0, 16.0).map_or(0.0, |k| k.at_1_percent) - 1.96378).abs() < 1e-5);
/// ```
#[must_use]
pub fn k_critical(own: f64, all: f64) -> Option<Critical> {
    Some(Critical {
        at_5_percent: k_at(own, all, 0.05)?,
        at_1_percent: k_at(own, all, 0.01)?,
    })
}

/// k that is passed with chance `alpha`.
pub(super) fn k_at(own: f64, all: f64, alpha: f64) -> Option<f64> {
    share_at(own, all, alpha).map(|share| (share * all / own).sqrt())
}

/// The share of the pooled squares that a variance with `own` of `all` degrees of freedom
/// passes with chance `alpha`; `None` unless 0 < own < all.
pub(super) fn share_at(own: f64, all: f64, alpha: f64) -> Option<f64> {
    let others = all - own;
    let f = tails::f_exceeded(alpha, own, others)?;
    Some(1.0 / (1.0 + others / (own * f)))
}
