//! The verdict on one pair, and how many more checks would give one.
//!
//! The only place where `differ`, `agree` and `cannot-tell` are decided.

use super::Verdict;
use super::factors::Factors;
use super::side::Side;

/// More checks than these are not asked of anybody: nearly thirty years of daily ones.
pub(super) const MOST_CHECKS: u64 = 10_000;

/// A difference with half widths of its intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Judged {
    pub(super) difference: f64,
    /// Half width of the simultaneous interval by chance alone.
    pub(super) chance: f64,
    /// Half width of the simultaneous interval with chance and instruments.
    pub(super) total: f64,
    /// Half width of the 90 % interval with both.
    pub(super) equivalence: f64,
    pub(super) verdict: Verdict,
}

/// Judges `a` less `b`, whose instruments give their difference the variance
/// `instruments`; `margin` is that of agreement.
///
/// Chance: Welch's variance with Satterthwaite's degrees of freedom. Total: the variances
/// of chance and instruments together, the instruments' counting as exactly known. The
/// larger degrees of freedom may never make the total interval the narrower one.
#[inline]
pub(super) fn judge(
    a: &Side,
    b: &Side,
    instruments: f64,
    margin: Option<f64>,
    factors: &Factors,
) -> Judged {
    let difference = a.mean - b.mean;
    let variance = a.variance + b.variance;
    let doubt = a.variance * a.variance / a.freedom + b.variance * b.variance / b.freedom;
    let freedom = if doubt > 0.0 {
        variance * variance / doubt
    } else {
        f64::INFINITY
    };
    let error = variance.sqrt();
    let chance = factors.simultaneous(freedom) * error;
    let (mut total, mut all_freedom, mut all_error) = (chance, freedom, error);
    if instruments > 0.0 {
        let all = variance + instruments;
        all_error = all.sqrt();
        all_freedom = if doubt > 0.0 {
            all * all / doubt
        } else {
            f64::INFINITY
        };
        total = chance.max(factors.simultaneous(all_freedom) * all_error);
    }
    let one_sided = |freedom: f64, error: f64| factors.one_sided(freedom) * error;
    let equivalence = one_sided(all_freedom, all_error).max(if instruments > 0.0 {
        one_sided(freedom, error)
    } else {
        0.0
    });
    let verdict = if margin.is_some_and(|margin| difference.abs() + equivalence < margin) {
        Verdict::Agree
    } else if difference.abs() > total {
        Verdict::Differ
    } else {
        Verdict::CannotTell
    };
    Judged {
        difference,
        chance,
        total,
        equivalence,
        verdict,
    }
}

/// How many more checks of each side would give a verdict, things staying as they are;
/// `None` when no number would.
pub(super) fn more_checks(
    a: &Side,
    b: &Side,
    instruments: f64,
    margin: Option<f64>,
    factors: &Factors,
) -> Option<u64> {
    let tells = |a: Side, b: Side| {
        judge(&a, &b, instruments, margin, factors).verdict != Verdict::CannotTell
    };
    if !tells(a.at_last(), b.at_last()) {
        return None;
    }
    let after = |more: u64| tells(a.after(more as f64), b.after(more as f64));
    // Doubling, then halving; beyond the bound the exact number means nothing.
    let mut high = 1_u64;
    while !after(high) {
        if high > MOST_CHECKS {
            return Some(high);
        }
        high *= 2;
    }
    let mut low = high / 2;
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if after(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
