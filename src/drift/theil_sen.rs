//! Theil–Sen slope on real time, with Sen's confidence interval.
//!
//! Robust straight line: the median of all pairwise slopes. It says nothing about
//! whether there is a trend (`mann_kendall`) or when it began (`change_date`).

use crate::stats::Interval;
use std::cmp::Ordering;

/// Longest input: the number of pairs grows with its square.
pub const LONGEST: usize = 400;

/// A robust straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Change of value per day, with Sen's interval.
    pub slope: Interval,
    /// Value of the line at day 0: median value − slope × median day.
    pub intercept: f64,
}

/// The Theil–Sen line of `values` on `days`, with a two-sided interval of `level`.
///
/// `days` and `values` have equal length, all finite; pairs at the same time are
/// skipped. `variance_factor` multiplies the variance of Kendall's S: 1 for independent
/// readings, the factor of [`super::mann_kendall::autocorrelation_factor`] otherwise.
/// Ties in values and in days enter that variance. Missing values must be left out
/// beforehand. `None` when the lengths differ, there are fewer than 3 readings, more
/// than [`LONGEST`], fewer than one pair at different times, or `level` is not inside (0, 1).
///
/// Source: Sen, J. Am. Stat. Assoc. 63, 1379 (1968), as `scipy.stats.theilslopes` rounds it.
pub fn line(days: &[f64], values: &[f64], level: f64, variance_factor: f64) -> Option<Line> {
    let n = values.len();
    if days.len() != n || !(3..=LONGEST).contains(&n) || !(level > 0.0 && level < 1.0) {
        return None;
    }
    let mut slopes = Vec::with_capacity(n * (n - 1) / 2);
    for (j, (&day, &value)) in days.iter().zip(values).enumerate() {
        for (&before, &was) in days.iter().zip(values).take(j) {
            let apart = day - before;
            if apart != 0.0 {
                slopes.push((value - was) / apart);
            }
        }
    }
    if slopes.is_empty() {
        return None;
    }
    slopes.sort_unstable_by(f64::total_cmp);
    let pairs = slopes.len() as f64;
    let variance = s_variance(n, &tie_sizes(days), &tie_sizes(values)) * variance_factor.max(0.0);
    let half = super::normal_quantile(0.5 + level / 2.0) * variance.sqrt();
    let last = slopes.len() - 1;
    let upper = ((pairs + half) / 2.0).round().min(last as f64) as usize;
    let lower = ((pairs - half) / 2.0 - 1.0).round().max(0.0) as usize;
    let point = median_of_sorted(&slopes);
    Some(Line {
        slope: Interval {
            point,
            low: slopes.get(lower).copied().unwrap_or(point),
            high: slopes.get(upper).copied().unwrap_or(point),
            level,
        },
        intercept: median(values) - point * median(days),
    })
}

/// Variance of Kendall's S over `n` readings with ties, for independent readings.
///
/// Source: Kendall, Rank Correlation Methods (1948), leading term for each tied group.
pub(crate) fn s_variance(n: usize, time_ties: &[usize], value_ties: &[usize]) -> f64 {
    let term = |m: usize| {
        let m = m as f64;
        m * (m - 1.0) * (2.0 * m + 5.0)
    };
    let tied: f64 = time_ties.iter().chain(value_ties).map(|&m| term(m)).sum();
    (term(n) - tied) / 18.0
}

/// Sizes of the groups of equal numbers, groups of one left out.
pub(crate) fn tie_sizes(numbers: &[f64]) -> Vec<usize> {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a.total_cmp(b) == Ordering::Equal)
        .map(<[f64]>::len)
        .filter(|&size| size > 1)
        .collect()
}

/// Median of finite numbers; 0 for none.
pub(crate) fn median(numbers: &[f64]) -> f64 {
    if numbers.is_empty() {
        return 0.0;
    }
    let mut parted = numbers.to_vec();
    let half = parted.len() / 2;
    let (below, high, _) = parted.select_nth_unstable_by(half, f64::total_cmp);
    let low = below.iter().copied().max_by(f64::total_cmp);
    match low.filter(|_| numbers.len().is_multiple_of(2)) {
        Some(low) => 0.5 * (low + *high),
        None => *high,
    }
}

fn median_of_sorted(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    match (sorted.get(half.wrapping_sub(1)), sorted.get(half)) {
        (Some(low), Some(high)) if sorted.len().is_multiple_of(2) => 0.5 * (low + high),
        (_, Some(middle)) => *middle,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{BY_HAND, IRREGULAR_DAYS, IRREGULAR_VALUES, NILE};

    fn counted(n: usize) -> Vec<f64> {
        (0..n).map(|i| i as f64).collect()
    }

    /// `scipy.stats.theilslopes`, scipy 1.17.1, on the Nile at Aswan 1871–1970 (Cobb 1978).
    #[test]
    fn nile_as_scipy() {
        let fit = line(&counted(100), &NILE, 0.95, 1.0).unwrap();
        assert!((fit.slope.point + 2.6).abs() < 1e-12);
        assert!((fit.intercept - 1022.2).abs() < 1e-9);
        assert!((fit.slope.low + 3.627906976744186).abs() < 1e-12);
        assert!((fit.slope.high + 1.4285714285714286).abs() < 1e-12);
    }

    /// Course example of the Mann–Kendall test, n = 14, one tie; interval by scipy 1.17.1.
    #[test]
    fn short_example_as_scipy() {
        let days: Vec<f64> = (1..=14).map(f64::from).collect();
        let fit = line(&days, &BY_HAND, 0.95, 1.0).unwrap();
        assert!((fit.slope.point - 0.566666666666667).abs() < 1e-12);
        assert!((fit.slope.low - 0.325).abs() < 1e-12);
        assert!((fit.slope.high - 0.8666666666666666).abs() < 1e-12);
        assert!((fit.intercept - 11.4).abs() < 1e-9);
    }

    /// Irregular days, one repeated, rounded values with ties: scipy 1.17.1, level 0.9.
    #[test]
    fn irregular_times_and_ties_as_scipy() {
        let fit = line(&IRREGULAR_DAYS, &IRREGULAR_VALUES, 0.9, 1.0).unwrap();
        assert!((fit.slope.point + 0.00538461538461539).abs() < 1e-14);
        assert!((fit.slope.low + 0.0062500000000000056).abs() < 1e-14);
        assert!((fit.slope.high + 0.00454545454545455).abs() < 1e-14);
        assert!((fit.intercept - 1.4684615384615385).abs() < 1e-12);
    }

    #[test]
    fn autocorrelation_widens_the_interval_and_leaves_the_slope() {
        let plain = line(&counted(100), &NILE, 0.95, 1.0).unwrap().slope;
        let wide = line(&counted(100), &NILE, 0.95, 2.1429).unwrap().slope;
        assert_eq!(plain.point, wide.point);
        assert!(wide.low < plain.low && wide.high > plain.high);
    }

    #[test]
    fn refuses_what_it_cannot_fit() {
        assert_eq!(line(&[0.0, 0.0, 0.0], &[1.0, 2.0, 3.0], 0.9, 1.0), None);
        assert_eq!(line(&[0.0, 1.0], &[1.0, 2.0], 0.9, 1.0), None);
        assert_eq!(line(&[0.0, 1.0, 2.0], &[1.0, 2.0], 0.9, 1.0), None);
        assert_eq!(line(&[0.0, 1.0, 2.0], &[1.0, 2.0, 3.0], 1.0, 1.0), None);
        let long = counted(LONGEST + 1);
        assert_eq!(line(&long, &long, 0.9, 1.0), None);
    }
}
