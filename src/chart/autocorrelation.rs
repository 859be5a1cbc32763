//! How much of a reading carries over to the next, and what that does to sigma.
//!
//! With lag-1 correlation φ the moving range over d2 estimates σ√(1 − φ), not σ: limits
//! from it are too narrow and alarm too often. From 30 readings φ is known poorly, so it
//! is corrected for its bias, tested, and shrunk before it may widen anything.

use super::limits::FEWEST_FOR_USE;

/// Pairs of neighbours below which nothing is said about carry-over.
const FEWEST_PAIRS: usize = 8;
/// Readings below which it is told but not allowed for: a trial cannot tell it from chance.
const FEWEST_TO_ALLOW: usize = FEWEST_FOR_USE;
/// One-sided 10 % point of the normal distribution: below it chance explains the value.
const TEST: f64 = 1.281_551_565_544_600_4;
/// Most carry-over that may widen limits: sigma at most 1/√(1 − 0.8) = 2.24 times the
/// plain one. Beyond it the baseline more likely drifts than carries over.
pub(crate) const MOST_CARRY_OVER: f64 = 0.8;

/// Lag-1 autocorrelation of a baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CarryOver {
    /// Bias-corrected estimate, within −1 and 1.
    pub(crate) estimate: f64,
    /// The part that limits allow for, 0 to [`MOST_CARRY_OVER`]; 0 when chance explains it.
    pub(crate) allowed: f64,
}

impl CarryOver {
    /// By how much to widen the plain sigma: 1/√(1 − φ).
    pub(crate) fn widening(self) -> f64 {
        1.0 / (1.0 - self.allowed).sqrt()
    }

    /// Independent readings that tell as much of the mean as one of these: (1 − φ)/(1 + φ).
    pub(crate) fn independent_share(self) -> f64 {
        (1.0 - self.allowed) / (1.0 + self.allowed)
    }
}

/// The carry-over of `values` about `mean`, from the pairs whose `ranges` (parallel, the
/// moving range to the value before) is a number; `squares` is the sum of squares about
/// the mean. `None` with fewer than 8 pairs or no spread.
///
/// Estimate: NIST's definition scaled to the pairs there are, corrected by its expectation
/// φ − (1 + 4φ)/n (Marriott & Pope, Biometrika 41 (1954) 390, from memory). Test: under no carry-over it
/// has standard deviation (n − 2)/(n√pairs) about −1/n (Moran, Biometrika 35 (1948) 255, from memory).
/// Shrinkage: the excess passes with the weight 1 − 1/z², which is 0.39 at the edge of the
/// test and 0.9 at z = 3 (positive-part, after James & Stein 1961, from memory). A negative value never
/// narrows limits: ours, no source.
pub(crate) fn carry_over(
    values: &[f64],
    ranges: &[f64],
    mean: f64,
    squares: f64,
) -> Option<CarryOver> {
    let (mut products, mut pairs) = (0.0, 0_usize);
    for (pair, range) in values.windows(2).zip(ranges.iter().skip(1)) {
        if !range.is_nan() {
            products += (pair[0] - mean) * (pair[1] - mean);
            pairs += 1;
        }
    }
    if pairs < FEWEST_PAIRS || squares <= 0.0 {
        return None;
    }
    let n = values.len() as f64;
    let found = products / squares * (n - 1.0) / pairs as f64;
    let estimate = ((found + 1.0 / n) / (1.0 - 4.0 / n)).clamp(-0.99, 0.99);
    let z = (found + 1.0 / n) * n * (pairs as f64).sqrt() / (n - 2.0);
    let allowed = if z > TEST && values.len() >= FEWEST_TO_ALLOW {
        (estimate * (1.0 - 1.0 / (z * z))).clamp(0.0, MOST_CARRY_OVER)
    } else {
        0.0
    };
    Some(CarryOver { estimate, allowed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::constants::D2_OF_TWO;
    use crate::stats::{normal, sum};
    use rand::{RngExt, SeedableRng};

    /// A stationary series with standard deviation 1 and lag-1 correlation `phi`.
    fn carried(rng: &mut rand_chacha::ChaCha8Rng, n: usize, phi: f64) -> Vec<f64> {
        let mut draw = || normal::quantile(rng.random()).unwrap_or(0.0);
        let mut x = draw();
        let fresh = f64::sqrt(1.0 - phi * phi);
        (0..n)
            .map(|_| {
                x = phi * x + fresh * draw();
                x
            })
            .collect()
    }

    fn ranges(values: &[f64]) -> Vec<f64> {
        let mut out = vec![f64::NAN];
        out.extend(values.windows(2).map(|p| (p[1] - p[0]).abs()));
        out
    }

    fn plain_sigma(ranges: &[f64]) -> f64 {
        sum::mean(&ranges[1..]).unwrap() / D2_OF_TWO
    }

    #[test]
    fn the_moving_range_estimates_sigma_times_the_root_of_one_less_phi() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(1);
        for phi in [-0.5, 0.0, 0.3, 0.6, 0.9] {
            let n = 400_000;
            let found = plain_sigma(&ranges(&carried(&mut rng, n, phi)));
            let expected = (1.0 - phi).sqrt();
            assert!(
                (found / expected - 1.0).abs() < 0.005,
                "phi {phi}: {found} for {expected}"
            );
        }
    }

    /// Before its correction for bias the estimate is statsmodels' lag-1 autocorrelation.
    #[test]
    fn lag_one_is_that_of_statsmodels() {
        let table = include_str!("../../tests/reference/statsmodels/nile_lag1.csv");
        for row in crate::stats::reference::numbers(table) {
            let values = &crate::drift::fixtures::NILE[..row[0] as usize];
            let mean = sum::mean(values).unwrap();
            let squares = sum::squares_about_mean(values);
            let found = carry_over(values, &ranges(values), mean, squares).unwrap();
            let plain = found.estimate * (1.0 - 4.0 / row[0]) - 1.0 / row[0];
            assert!((plain - row[1]).abs() < 1e-12, "{row:?}: {plain}");
        }
    }

    #[test]
    fn bias_is_corrected_and_sigma_comes_closer_to_the_truth() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(2);
        for phi in [0.0, 0.3, 0.6] {
            let (mut estimate, mut off_plain, mut off_widened, mut ratio) = (0.0, 0.0, 0.0, 0.0);
            let runs = 4_000;
            for _ in 0..runs {
                let values = carried(&mut rng, 30, phi);
                let ranges = ranges(&values);
                let mean = sum::mean(&values).unwrap();
                let found =
                    carry_over(&values, &ranges, mean, sum::squares_about_mean(&values)).unwrap();
                let plain = plain_sigma(&ranges);
                estimate += found.estimate / f64::from(runs);
                ratio += plain * found.widening() / f64::from(runs);
                off_plain += plain.ln().powi(2) / f64::from(runs);
                off_widened += (plain * found.widening()).ln().powi(2) / f64::from(runs);
            }
            assert!((estimate - phi).abs() < 0.03, "phi {phi}: {estimate}");
            match phi {
                0.0 => assert!(
                    ratio > 0.98 && ratio < 1.05,
                    "sigma is not inflated: {ratio}"
                ),
                _ => assert!(
                    off_widened < 0.8 * off_plain,
                    "phi {phi}: {off_widened} {off_plain}"
                ),
            }
        }
    }

    #[test]
    fn pairs_across_a_gap_do_not_count() {
        let values: Vec<f64> = (0..20).map(|i| f64::from(i % 2)).collect();
        let mut gaps = ranges(&values);
        let (mean, squares) = (0.5, 5.0);
        let all = carry_over(&values, &gaps, mean, squares).unwrap();
        assert!(all.estimate < -0.9 && all.allowed == 0.0 && all.widening() == 1.0);
        gaps.iter_mut().skip(9).for_each(|r| *r = f64::NAN);
        assert!(carry_over(&values, &gaps, mean, squares).is_some());
        gaps[8] = f64::NAN;
        assert_eq!(carry_over(&values, &gaps, mean, squares), None);
        assert_eq!(carry_over(&[1.0; 20], &ranges(&[1.0; 20]), 1.0, 0.0), None);
    }

    #[test]
    fn widening_is_capped() {
        let climb: Vec<f64> = (0..30).map(f64::from).collect();
        let found = carry_over(&climb, &ranges(&climb), 14.5, 2247.5).unwrap();
        assert_eq!(found.allowed, MOST_CARRY_OVER);
        assert!((found.widening() - 5f64.sqrt()).abs() < 1e-12);
    }
}
