//! The standard normal distribution: Φ, its tails and its quantiles.
//!
//! The numbers come from statrs; the guards are ours, since its quantile function
//! panics outside 0..=1. Tails are good to ten digits, quantiles to thirteen.

use statrs::function::erf::{erfc, erfc_inv};
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// Φ⁻¹(0.75): the median absolute deviation of a standard normal value.
pub const UPPER_QUARTILE: f64 = 0.674_489_750_196_081_7;

/// The density φ(z).
pub fn density(z: f64) -> f64 {
    // 1/√(2π).
    const AT_ZERO: f64 = 0.398_942_280_401_432_7;
    AT_ZERO * (-0.5 * z * z).exp()
}

/// Φ(z), the probability below `z`; NaN for NaN. Small lower tails keep their digits.
pub fn below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// 1 − Φ(z), the probability above `z`, with its digits however small; NaN for NaN.
pub fn above(z: f64) -> f64 {
    0.5 * erfc(z * FRAC_1_SQRT_2)
}

/// The probability of lying farther from 0 than `z` on either side; NaN for NaN.
pub fn two_sided(z: f64) -> f64 {
    erfc(z.abs() * FRAC_1_SQRT_2)
}

/// The probability between `low` and `high`, taken on the side where no digits cancel.
///
/// 0 when `high` is not above `low`; NaN for NaN.
pub fn between(low: f64, high: f64) -> f64 {
    if low >= high {
        0.0
    } else if low > 0.0 {
        above(low) - above(high)
    } else {
        below(high) - below(low)
    }
}

/// Φ⁻¹(p); `None` unless 0 < p < 1.
///
/// ```
/// use steadyfog::stats::normal;
/// assert!((normal::quantile(0.975).unwrap_or(0.0) - 1.959964).abs() < 1e-6);
/// assert_eq!(normal::quantile(1.0), None);
/// ```
pub fn quantile(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then(|| -SQRT_2 * erfc_inv(2.0 * p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, numbers};

    #[test]
    fn tails_agree_with_scipy() {
        for row in numbers(include_str!("../../tests/reference/scipy/normal.csv")) {
            // The library's rational approximation of erfc keeps ten digits, here and there more.
            let allowed = 1e-10;
            assert_close(
                below(row[0]),
                row[1],
                allowed,
                &format!("below({})", row[0]),
            );
            assert_close(
                above(row[0]),
                row[2],
                allowed,
                &format!("above({})", row[0]),
            );
        }
    }

    #[test]
    fn quantiles_agree_with_scipy_and_refuse_the_rest() {
        for row in numbers(include_str!(
            "../../tests/reference/scipy/normal_quantile.csv"
        )) {
            let found = quantile(row[0]).unwrap();
            assert!(
                (found - row[1]).abs() <= 2e-13 * row[1].abs().max(1e-3),
                "{row:?} {found}"
            );
        }
        for p in [0.0, 1.0, -0.1, 1.1, f64::NAN, f64::INFINITY] {
            assert_eq!(quantile(p), None);
        }
        assert!((quantile(0.75).unwrap() - UPPER_QUARTILE).abs() < 1e-15);
    }

    #[test]
    fn between_keeps_the_digits_of_a_far_cell() {
        assert_close(between(9.0, 9.5), above(9.0) - above(9.5), 1e-15, "upper");
        assert_close(between(-9.5, -9.0), between(9.0, 9.5), 1e-12, "mirrored");
        assert_eq!(between(1.0, 1.0), 0.0);
        assert_close(two_sided(-2.0), 2.0 * above(2.0), 1e-15, "two sides");
        // The density integrates to the probability between.
        let area = crate::stats::integrate::gauss_legendre(-1.0, 2.0, 4, density);
        assert_close(area, between(-1.0, 2.0), 1e-10, "density");
    }
}
