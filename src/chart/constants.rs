//! Control-chart factors for samples of 2 to 25 normal values, computed, not copied.
//!
//! Printed tables round d2 and d3 first and form D3, D4 and E2 from the rounded ones;
//! these come from the defining integrals and are kept once computed.

use crate::stats::integrate::gauss_legendre;
use crate::stats::normal;
use statrs::function::gamma::{checked_gamma_lr, ln_gamma};
use std::sync::OnceLock;

/// d2 of two readings, 2/√π: the mean moving range of a standard normal series.
pub const D2_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// d3 of two readings, √(2 − 4/π): the standard deviation of that moving range.
pub const D3_OF_TWO: f64 = 0.852_502_466_427_421_7;
/// D4 of two readings, 1 + 3 d3/d2: the upper limit of the moving range over its mean.
pub const D4_OF_TWO: f64 = 1.0 + 3.0 * D3_OF_TWO / D2_OF_TWO;
/// Median moving range of a standard normal series, √2 Φ⁻¹(0.75).
pub const MEDIAN_RANGE_OF_TWO: f64 = std::f64::consts::SQRT_2 * normal::UPPER_QUARTILE;

/// The factors of one sample size; every one is for a standard deviation of 1 or a ratio.
///
/// Source: ISO 7870-2 and any textbook's appendix for the definitions; the values are
/// computed from them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors {
    /// Sample size, 2 to 25.
    pub n: usize,
    /// Mean range.
    pub d2: f64,
    /// Standard deviation of the range.
    pub d3: f64,
    /// Lower limit of the range over its mean.
    pub range_lower: f64,
    /// Upper limit of the range over its mean (D4).
    pub range_upper: f64,
    /// Mean standard deviation (c4).
    pub c4: f64,
    /// Half-width of limits for means, in mean ranges (A2).
    pub mean_from_range: f64,
    /// Half-width of limits for means, in mean standard deviations (A3).
    pub mean_from_deviation: f64,
    /// Lower limit of the standard deviation over its mean (B3).
    pub deviation_lower: f64,
    /// Upper limit of the standard deviation over its mean (B4).
    pub deviation_upper: f64,
    /// Half-width of limits for single readings, in mean ranges (E2 = 3/d2).
    pub individual_from_range: f64,
    /// Median range.
    pub median_range: f64,
}

const SMALLEST: usize = 2;
const LARGEST: usize = 25;

/// The factors for samples of `n`; `None` outside 2..=25.
///
/// ```
/// use steadyfog::chart::constants::factors;
/// let five = factors(5).map(|f| (f.d2 * 1000.0).round() / 1000.0);
/// assert_eq!(five, Some(2.326));
/// assert_eq!(factors(1), None);
/// ```
pub fn factors(n: usize) -> Option<&'static Factors> {
    static KEPT: [OnceLock<Factors>; LARGEST - SMALLEST + 1] =
        [const { OnceLock::new() }; LARGEST - SMALLEST + 1];
    let place = KEPT.get(n.checked_sub(SMALLEST)?)?;
    Some(place.get_or_init(|| compute(n)))
}

fn compute(n: usize) -> Factors {
    let size = n as f64;
    let d2 = mean_range(n);
    let d3 = (mean_squared_range(n) - d2 * d2).sqrt();
    let c4 = mean_deviation(n);
    let deviation_spread = 3.0 * (1.0 - c4 * c4).sqrt() / c4;
    Factors {
        n,
        d2,
        d3,
        range_lower: (1.0 - 3.0 * d3 / d2).max(0.0),
        range_upper: 1.0 + 3.0 * d3 / d2,
        c4,
        mean_from_range: 3.0 / (d2 * size.sqrt()),
        mean_from_deviation: 3.0 / (c4 * size.sqrt()),
        deviation_lower: (1.0 - deviation_spread).max(0.0),
        deviation_upper: 1.0 + deviation_spread,
        individual_from_range: 3.0 / d2,
        median_range: median_range(n),
    }
}

/// c4(n) = √(2/(n − 1)) Γ(n/2)/Γ((n − 1)/2), the mean of s over sigma; for any n of 2 or more.
pub fn mean_deviation(n: usize) -> f64 {
    let df = n.saturating_sub(1).max(1) as f64;
    (2.0 / df).sqrt() * (ln_gamma(0.5 * (df + 1.0)) - ln_gamma(0.5 * df)).exp()
}

/// Far enough out that 25 normal values leave nothing in binary64.
const FAR: f64 = 9.0;

/// Φ to full precision, by way of the incomplete gamma function: slower than
/// [`normal::below`] and five digits better.
fn phi(z: f64) -> f64 {
    let half = 0.5 * checked_gamma_lr(0.5, 0.5 * z * z).unwrap_or(0.0);
    if z < 0.0 { 0.5 - half } else { 0.5 + half }
}

/// E(W) = ∫ 1 − Φⁿ − (1 − Φ)ⁿ (Tippett, Biometrika 17 (1925) 364, from memory).
fn mean_range(n: usize) -> f64 {
    let power = n as i32;
    2.0 * gauss_legendre(0.0, FAR, 16, |x| {
        let p = phi(x);
        1.0 - p.powi(power) - (1.0 - p).powi(power)
    })
}

/// E(W²) = 2 ∫ w P(W > w) dw.
fn mean_squared_range(n: usize) -> f64 {
    2.0 * gauss_legendre(0.0, 12.0, 10, |w| w * (1.0 - range_below(n, w)))
}

/// P(W < w) = n ∫ φ(x) (Φ(x + w) − Φ(x))ⁿ⁻¹ dx.
fn range_below(n: usize, w: f64) -> f64 {
    let power = n as i32 - 1;
    let inside = |x: f64| normal::density(x) * (phi(x + w) - phi(x)).powi(power);
    n as f64 * gauss_legendre(-FAR, FAR, 20, inside)
}

fn median_range(n: usize) -> f64 {
    if n == 2 {
        return MEDIAN_RANGE_OF_TWO;
    }
    let (mut low, mut high) = (0.0, FAR);
    while high - low > 1e-12 {
        let middle = 0.5 * (low + high);
        if range_below(n, middle) < 0.5 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, rows};

    #[test]
    fn every_factor_agrees_with_the_table_to_its_last_digit() {
        let table = include_str!("../../tests/reference/constants/constants_n2_25.csv");
        let mut cells = 0;
        for row in rows(table) {
            let f = factors(row[0].parse().unwrap()).unwrap();
            let ours = [
                f.d2,
                f.d3,
                f.range_lower,
                f.range_upper,
                f.c4,
                f.mean_from_range,
                f.mean_from_deviation,
                f.deviation_lower,
                f.deviation_upper,
                f.individual_from_range,
                f.median_range,
            ];
            for (column, (cell, found)) in row[1..].iter().zip(ours).enumerate() {
                let expected: f64 = cell.parse().unwrap();
                let decimals = cell.split_once('.').map_or(0, |(_, d)| d.len()) as i32;
                // d3, and what is made of it, was tabled to about nine digits.
                let least = if [1, 2, 3, 10].contains(&column) {
                    3e-9
                } else {
                    0.0
                };
                let allowed = f64::max(0.51 * 10f64.powi(-decimals), least) + 1e-13;
                assert!(
                    (found - expected).abs() <= allowed,
                    "n {} column {column}: {found} against {cell}",
                    row[0]
                );
                cells += 1;
            }
        }
        assert_eq!(cells, 24 * 11);
    }

    #[test]
    fn two_and_three_readings_have_closed_forms() {
        use std::f64::consts::PI;
        let two = factors(2).unwrap();
        assert_close(two.d2, D2_OF_TWO, 1e-13, "d2");
        assert_close(D3_OF_TWO, (2.0 - 4.0 / PI).sqrt(), 1e-15, "d3");
        assert_close(two.d3, D3_OF_TWO, 1e-11, "d3 by integration");
        assert_close(D4_OF_TWO, 3.266_531_919_288_601_3, 1e-14, "D4");
        assert_close(
            MEDIAN_RANGE_OF_TWO,
            0.953_872_552_408_939_8,
            1e-14,
            "median",
        );
        assert!((range_below(2, MEDIAN_RANGE_OF_TWO) - 0.5).abs() < 1e-12);
        assert_close(
            factors(3).unwrap().d2,
            3.0 / PI.sqrt(),
            1e-13,
            "d2 of three",
        );
        assert_eq!(factors(26), None);
        assert_eq!(factors(0), None);
    }
}
