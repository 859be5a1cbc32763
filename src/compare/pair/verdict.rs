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

/// The largest factors that a side can bring into a pair: those at its own degrees of
/// freedom, since Satterthwaite's are never below the smaller of the two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reach {
    simultaneous: f64,
    one_sided: f64,
}

impl Reach {
    pub(super) fn of(side: &Side, factors: &Factors) -> Reach {
        Reach {
            simultaneous: factors.simultaneous(side.freedom),
            one_sided: factors.one_sided(side.freedom),
        }
    }
}

/// What is certain of a pair before its degrees of freedom are worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Foregone {
    /// The verdict, when the widest and the narrowest intervals possible give the same.
    pub(super) verdict: Option<Verdict>,
    /// The most that difference over half width of the total interval can be.
    pub(super) clearest: f64,
}

/// Most pairs of a large family are decided by this, without a look at the tables.
#[inline]
pub(super) fn foregone(
    (a, reach_a): (&Side, &Reach),
    (b, reach_b): (&Side, &Reach),
    instruments: f64,
    margin: Option<f64>,
    least: &Reach,
) -> Foregone {
    let size = (a.mean - b.mean).abs();
    let error = (a.variance + b.variance + instruments).sqrt();
    let narrowest = least.simultaneous * error;
    let widest = reach_a.simultaneous.max(reach_b.simultaneous) * error;
    // Rounding and interpolation may move a bound by less than this.
    const SLACK: f64 = 1e-4;
    let agrees = margin.map_or(Some(false), |margin| {
        let most = reach_a.one_sided.max(reach_b.one_sided) * error;
        if size + most * (1.0 + SLACK) < margin {
            Some(true)
        } else if size + least.one_sided * error * (1.0 - SLACK) >= margin {
            Some(false)
        } else {
            None
        }
    });
    let verdict = match agrees {
        None => None,
        Some(true) => Some(Verdict::Agree),
        Some(false) if size > widest * (1.0 + SLACK) => Some(Verdict::Differ),
        Some(false) if size <= narrowest * (1.0 - SLACK) => Some(Verdict::CannotTell),
        Some(false) => None,
    };
    Foregone {
        verdict,
        clearest: if narrowest > 0.0 {
            size / narrowest * (1.0 + SLACK)
        } else {
            f64::INFINITY
        },
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
