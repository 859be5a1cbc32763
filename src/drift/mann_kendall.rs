//! Mann–Kendall test for a monotone trend: ties, exact tails, autocorrelated readings.
//!
//! It asks whether there is a trend, not how steep (`theil_sen`) nor since when.

use super::theil_sen::{line, s_variance, tie_sizes};

/// Longest series whose exact null distribution is used; above it the normal one is close.
const EXACT_UP_TO: usize = 30;

/// Outcome of the Mann–Kendall test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// Kendall's S: later-is-larger pairs minus later-is-smaller pairs.
    pub s: f64,
    /// Variance of S in force (ties; autocorrelation factor applied).
    pub variance: f64,
    /// S made standard normal, with continuity correction.
    pub z: f64,
    /// Two-sided probability of such an S without a trend.
    pub p: f64,
    /// Whether `p` is exact (no ties, at most 30 readings, no autocorrelation factor).
    pub exact: bool,
}

/// The test on `values` in time order; `variance_factor` as for [`super::theil_sen::line`].
///
/// All finite; missing values must be left out beforehand. `None` below 4 readings or
/// when all are equal. The exact tail is used without ties up to 30 readings when
/// `variance_factor` is 1.
///
/// Source: Mann, Econometrica 13, 245 (1945); Kendall, Rank Correlation Methods (1948).
pub fn test(values: &[f64], variance_factor: f64) -> Option<MannKendall> {
    let n = values.len();
    if n < 4 {
        return None;
    }
    let mut s: f64 = 0.0;
    for (j, &late) in values.iter().enumerate() {
        for &early in values.iter().take(j) {
            if late > early {
                s += 1.0;
            } else if late < early {
                s -= 1.0;
            }
        }
    }
    let ties = tie_sizes(values);
    let variance = s_variance(n, &[], &ties) * variance_factor;
    if variance <= 0.0 {
        return None;
    }
    let z = (s.abs() - 1.0).max(0.0) * s.signum() / variance.sqrt();
    let exact = ties.is_empty() && n <= EXACT_UP_TO && variance_factor == 1.0;
    let p = if exact {
        (2.0 * exact_upper_tail(n, s.abs() as usize)).min(1.0)
    } else {
        (2.0 * super::normal_tail(z.abs())).min(1.0)
    };
    Some(MannKendall {
        s,
        variance,
        z,
        p,
        exact,
    })
}

/// P(S ≥ s) for `n` readings without trend or ties.
///
/// S = n(n−1)/2 − 2·(inversions), and the inversions of a random order are a sum of
/// independent uniform counts 0..j, so the distribution is built by convolution.
pub fn exact_upper_tail(n: usize, s: usize) -> f64 {
    let pairs = n * n.saturating_sub(1) / 2;
    if s > pairs {
        return 0.0;
    }
    let mut probability = vec![1.0];
    for j in 1..n {
        let mut next = vec![0.0; probability.len() + j];
        for (have, p) in probability.iter().enumerate() {
            for slot in next.iter_mut().skip(have).take(j + 1) {
                *slot += p / (j + 1) as f64;
            }
        }
        probability = next;
    }
    let most_inversions = (pairs - s) / 2;
    probability.iter().take(most_inversions + 1).sum()
}

/// Factor on the variance of S for autocorrelated readings: n divided by the effective n.
///
/// `days` and `values` of equal length, all finite. The readings are detrended with
/// the Theil–Sen slope, ranked, and the autocorrelations of the ranks beyond
/// ±1.96/√n enter. Never below a tenth. 1 when the line cannot be fitted.
///
/// Source: Hamed & Rao, J. Hydrol. 204, 182 (1998), from memory.
pub fn autocorrelation_factor(days: &[f64], values: &[f64]) -> f64 {
    let n = values.len();
    let Some(fit) = line(days, values, 0.9, 1.0) else {
        return 1.0;
    };
    let detrended: Vec<f64> = values
        .iter()
        .zip(days)
        .map(|(value, day)| value - fit.slope.point * day)
        .collect();
    let middle = (n as f64 + 1.0) / 2.0;
    let ranks: Vec<f64> = mean_ranks(&detrended).iter().map(|r| r - middle).collect();
    let total: f64 = ranks.iter().map(|r| r * r).sum();
    if total <= 0.0 {
        return 1.0;
    }
    let size = n as f64;
    let significant = 1.96 / size.sqrt();
    let mut sum = 0.0;
    for lag in 1..n.saturating_sub(2) {
        let product: f64 = ranks
            .iter()
            .zip(ranks.iter().skip(lag))
            .map(|(a, b)| a * b)
            .sum();
        let correlation = product / total;
        if correlation.abs() > significant {
            let left = size - lag as f64;
            sum += left * (left - 1.0) * (left - 2.0) * correlation;
        }
    }
    (1.0 + 2.0 * sum / (size * (size - 1.0) * (size - 2.0))).max(0.1)
}

/// Ranks from 1, equal numbers sharing the mean of theirs.
fn mean_ranks(numbers: &[f64]) -> Vec<f64> {
    let mut order: Vec<(usize, f64)> = numbers.iter().copied().enumerate().collect();
    order.sort_unstable_by(|a, b| a.1.total_cmp(&b.1));
    let mut ranks = vec![0.0; numbers.len()];
    let mut before = 0;
    for group in order.chunk_by(|a, b| a.1 == b.1) {
        let rank = before as f64 + (group.len() as f64 + 1.0) / 2.0;
        for (index, _) in group {
            if let Some(slot) = ranks.get_mut(*index) {
                *slot = rank;
            }
        }
        before += group.len();
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{BY_HAND, NILE};

    /// Course example: S 54, Z 2.9058 (published to 4 places), variance 332.667.
    #[test]
    fn example_by_hand_with_a_tie() {
        let outcome = test(&BY_HAND, 1.0).unwrap();
        assert_eq!(outcome.s, 54.0);
        assert!((outcome.variance - 332.6666666666667).abs() < 1e-9);
        assert!((outcome.z - 2.9058).abs() < 5e-5);
        assert!((outcome.p - 0.003662723762882436).abs() < 1e-12);
        assert!(!outcome.exact);
    }

    /// Nile: S −1387 and variance with ties; Hamed & Rao's factor by an independent
    /// implementation (numpy, scipy 1.17.1): 2.1428983, six significant lags.
    #[test]
    fn nile_with_and_without_autocorrelation() {
        let days: Vec<f64> = (0..100).map(f64::from).collect();
        let plain = test(&NILE, 1.0).unwrap();
        assert_eq!(plain.s, -1387.0);
        assert!((plain.variance - 112728.33333333333).abs() < 1e-6);
        assert!((plain.z + 4.128066522844101).abs() < 1e-12);
        assert!((plain.p / 3.658262921664327e-05 - 1.0).abs() < 1e-9);
        let factor = autocorrelation_factor(&days, &NILE);
        assert!((factor - 2.1428983270987203).abs() < 1e-12);
        let adjusted = test(&NILE, factor).unwrap();
        assert!((adjusted.p - 0.0048026763101827324).abs() < 1e-12);
    }

    /// Gilbert (1987) Table A18 and Kendall, spot values from memory, reproduced by counting.
    #[test]
    fn exact_tails() {
        for (n, s, published) in [
            (4, 6, 0.042),
            (5, 8, 0.042),
            (8, 16, 0.031),
            (10, 23, 0.023),
        ] {
            assert!(
                (exact_upper_tail(n, s) - published).abs() < 5e-4,
                "n {n}, S {s}"
            );
        }
        assert!((exact_upper_tail(10, 23) - 0.023311287477954145).abs() < 1e-15);
        assert!((exact_upper_tail(4, 0) - 0.625).abs() < 1e-15);
        assert_eq!(exact_upper_tail(4, 7), 0.0);
    }

    /// Both sides of a climb of five without ties: 2 × 1/120.
    #[test]
    fn short_series_use_the_exact_tail() {
        let outcome = test(&[1.0, 2.0, 3.0, 4.0, 5.0], 1.0).unwrap();
        assert!(outcome.exact);
        assert!((outcome.p - 2.0 / 120.0).abs() < 1e-15);
        assert_eq!(test(&[2.0; 9], 1.0), None);
    }

    #[test]
    fn mirrored_values_mirror_the_score() {
        let mirrored: Vec<f64> = NILE.iter().map(|v| -v).collect();
        let (a, b) = (test(&NILE, 1.0).unwrap(), test(&mirrored, 1.0).unwrap());
        assert_eq!((a.s, a.z, a.p), (-b.s, -b.z, b.p));
    }
}
