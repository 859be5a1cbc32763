//! Sums, means, variances and the lag-1 autocorrelation, to nearly the last digit.
//!
//! A one-pass sum of squares loses every digit on readings that are large beside
//! their spread; these go over the values twice and carry the rounding error along.

/// The sum with its rounding error carried along (Neumaier, ZAMM 54 (1974) 39, from memory); 0 when empty.
///
/// ```
/// use steadyfog::stats::sum::sum;
/// assert_eq!(sum(&[1.0, 1e100, 1.0, -1e100]), 2.0);
/// ```
pub fn sum(values: &[f64]) -> f64 {
    compensated(values.iter().copied())
}

fn compensated(values: impl Iterator<Item = f64>) -> f64 {
    let mut sum = Compensated::default();
    values.for_each(|x| sum.add(x));
    sum.value()
}

/// A running sum and the rounding error it has lost.
#[derive(Default)]
struct Compensated {
    total: f64,
    lost: f64,
}

impl Compensated {
    #[inline]
    fn add(&mut self, x: f64) {
        let next = self.total + x;
        self.lost += if self.total.abs() >= x.abs() {
            (self.total - next) + x
        } else {
            (x - next) + self.total
        };
        self.total = next;
    }

    fn value(&self) -> f64 {
        self.total + self.lost
    }
}

/// The arithmetic mean; `None` when there is no value.
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| sum(values) / values.len() as f64)
}

/// Sum of squared differences from the mean; 0 below two values.
///
/// The second pass is corrected for what the rounded mean leaves over (Chan, Golub &
/// LeVeque, The American Statistician 37 (1983) 242, from memory).
pub fn squares_about_mean(values: &[f64]) -> f64 {
    mean(values).map_or(0.0, |centre| squares_about(values, centre))
}

/// The mean with the standard deviation (n − 1); `None` below two values.
pub fn mean_and_deviation(values: &[f64]) -> Option<(f64, f64)> {
    let centre = mean(values).filter(|_| values.len() > 1)?;
    let variance = squares_about(values, centre) / (values.len() - 1) as f64;
    Some((centre, variance.sqrt()))
}

/// As [`squares_about_mean`], the mean of values that are not empty being known.
fn squares_about(values: &[f64], centre: f64) -> f64 {
    // Side by side: each sum waits for its own last step only.
    let (mut squares, mut left_over) = (Compensated::default(), Compensated::default());
    for x in values {
        squares.add((x - centre) * (x - centre));
        left_over.add(x - centre);
    }
    let left_over = left_over.value();
    (squares.value() - left_over * left_over / values.len() as f64).max(0.0)
}

/// The variance with n − 1; `None` below two values.
pub fn variance(values: &[f64]) -> Option<f64> {
    (values.len() > 1).then(|| squares_about_mean(values) / (values.len() - 1) as f64)
}

/// The standard deviation with n − 1, in the unit of the values; `None` below two values.
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    variance(values).map(f64::sqrt)
}

/// The lag-1 autocorrelation as NIST defines it: the n − 1 products of neighbours about
/// the mean over the n squares about the mean, no bias correction.
///
/// `None` below two values and when all are equal.
/// Source: NIST Statistical Reference Datasets, univariate summary statistics.
pub fn lag1_autocorrelation(values: &[f64]) -> Option<f64> {
    let centre = mean(values)?;
    let squares = squares_about(values, centre);
    let products = compensated(
        values
            .windows(2)
            .map(|pair| (pair[0] - centre) * (pair[1] - centre)),
    );
    (squares > 0.0).then(|| products / squares)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, numbers, rows};

    const CERTIFIED: &str = include_str!("../../tests/reference/nist-strd/univ_certified.csv");

    fn data(name: &str) -> Vec<f64> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/nist-strd/");
        let text = std::fs::read_to_string(format!("{folder}univ_{name}.csv")).unwrap();
        numbers(&text).into_iter().map(|row| row[0]).collect()
    }

    #[test]
    fn nist_reference_datasets_reproduce_to_nine_digits() {
        let mut seen = 0;
        for row in rows(CERTIFIED) {
            let values = data(row[0]);
            assert_eq!(values.len(), row[1].parse::<usize>().unwrap(), "{}", row[0]);
            let certified = |i: usize| row[i].parse::<f64>().unwrap();
            // NumAcc4 holds 10000000.1, .2 and .3; binary64 stores them to 9.3e-10, so the
            // *stored* values have a standard deviation that is off by 5.6e-9: 8.2 digits
            // are all that any exact arithmetic on binary64 can give.
            let digits = if row[0] == "NumAcc4" { 6e-9 } else { 1e-9 };
            assert_close(mean(&values).unwrap(), certified(2), 1e-14, row[0]);
            assert_close(
                standard_deviation(&values).unwrap(),
                certified(3),
                digits,
                row[0],
            );
            let both = mean(&values).zip(standard_deviation(&values));
            assert_eq!(mean_and_deviation(&values), both, "{}", row[0]);
            assert_close(
                lag1_autocorrelation(&values).unwrap(),
                certified(4),
                digits,
                row[0],
            );
            seen += 1;
        }
        assert_eq!(seen, 8);
    }

    #[test]
    fn too_few_values_have_no_spread() {
        assert_eq!(mean(&[]), None);
        assert_eq!(variance(&[3.0]), None);
        assert_eq!(lag1_autocorrelation(&[2.0, 2.0, 2.0]), None);
        assert_eq!(variance(&[2.0, 4.0]), Some(2.0));
    }
}
