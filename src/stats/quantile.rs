//! Quantiles of a sample, and the two robust summaries made of them.
//!
//! The definition is stated once, here: the p-quantile of n sorted values lies at
//! position 1 + p(n − 1), linear between neighbours (Hyndman & Fan, The American
//! Statistician 50 (1996) 361, type 7, from memory).

use super::normal;

/// The quantile of values sorted in ascending order; `None` when empty or `p` is not in 0..=1.
pub fn quantile_of_sorted(sorted: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let position = p * sorted.len().checked_sub(1)? as f64;
    let below = position.floor();
    let low = *sorted.get(below as usize)?;
    let high = *sorted.get(position.ceil() as usize)?;
    Some(low + (position - below) * (high - low))
}

/// The median of values sorted in ascending order; `None` when empty.
pub fn median_of_sorted(sorted: &[f64]) -> Option<f64> {
    let half = sorted.len() / 2;
    let high = *sorted.get(half)?;
    if sorted.len() % 2 == 1 {
        return Some(high);
    }
    let low = *sorted.get(half.checked_sub(1)?)?;
    Some(low + (high - low) / 2.0)
}

/// The median, rearranging `values` in O(n); `None` when empty.
///
/// ```
/// use steadyfog::stats::quantile::median;
/// assert_eq!(median(&mut [3.0, 1.0, 2.0, 10.0]), Some(2.5));
/// ```
pub fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let half = values.len() / 2;
    let odd = values.len() % 2 == 1;
    let (below, high, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    let high = *high;
    if odd {
        return Some(high);
    }
    let low = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(low + (high - low) / 2.0)
}

/// The median absolute deviation from the median times 1.4826, which estimates the
/// standard deviation of normal values; rearranges `values`, and leaves the absolute
/// deviations in their place. `None` when empty.
pub fn scaled_median_deviation(values: &mut [f64]) -> Option<f64> {
    let centre = median(values)?;
    values.iter_mut().for_each(|x| *x = (*x - centre).abs());
    Some(median(values)? / normal::UPPER_QUARTILE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_follow_the_stated_definition() {
        // numpy.quantile([1, 2, 4, 8], p) with its default method gives these.
        let sorted = [1.0, 2.0, 4.0, 8.0];
        assert_eq!(quantile_of_sorted(&sorted, 0.0), Some(1.0));
        assert_eq!(quantile_of_sorted(&sorted, 0.25), Some(1.75));
        assert_eq!(quantile_of_sorted(&sorted, 0.5), Some(3.0));
        assert_eq!(quantile_of_sorted(&sorted, 0.9), Some(6.800000000000001));
        assert_eq!(quantile_of_sorted(&sorted, 1.0), Some(8.0));
        assert_eq!(quantile_of_sorted(&sorted, 1.5), None);
        assert_eq!(quantile_of_sorted(&[], 0.5), None);
    }

    #[test]
    fn medians_agree_with_sorting() {
        for n in 1..12_usize {
            let mut values: Vec<f64> = (0..n).map(|i| ((i * 7 + 3) % 11) as f64).collect();
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            assert_eq!(median(&mut values), median_of_sorted(&sorted), "n = {n}");
        }
        assert_eq!(median(&mut []), None);
    }

    #[test]
    fn median_deviation_of_a_known_sample() {
        let found = scaled_median_deviation(&mut [1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0]).unwrap();
        assert!((found - 1.482_602_218_505_602).abs() < 1e-14);
    }
}
