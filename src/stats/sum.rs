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
    sum_of(values, |x| x)
}

/// The sum of `of` over the values, side by side: one sum after another would wait at
/// every value for the one before, which of a fleet's readings takes three times as long.
fn sum_of(values: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let (rows, rest) = values.as_chunks::<LANES>();
    let mut lanes = Lanes::default();
    for row in rows {
        lanes.add(row.map(&of));
    }
    let mut sum = lanes.together();
    rest.iter().for_each(|x| sum.add(of(*x)));
    sum.value()
}

fn compensated(values: impl Iterator<Item = f64>) -> f64 {
    let mut sum = Compensated::default();
    values.for_each(|x| sum.add(x));
    sum.value()
}

/// Sums taken side by side.
const LANES: usize = 8;

/// Share of a number that cannot change it: below half a unit in its last place (2⁻⁵⁴).
const UNSEEN: f64 = 1e-18;

/// As many running sums as there are lanes, each with its own rounding error.
#[derive(Default)]
struct Lanes {
    total: [f64; LANES],
    lost: [f64; LANES],
}

impl Lanes {
    #[inline]
    fn add(&mut self, row: [f64; LANES]) {
        for ((total, lost), x) in self.total.iter_mut().zip(&mut self.lost).zip(row) {
            // The rounding error of one addition, exact and without asking which is the larger
            // (Knuth, The Art of Computer Programming, vol. 2, 4.2.2, from memory).
            let next = *total + x;
            let added = next - *total;
            *lost += (*total - (next - added)) + (x - added);
            *total = next;
        }
    }

    fn together(self) -> Compensated {
        let mut sum = Compensated::default();
        self.total.into_iter().for_each(|total| sum.add(total));
        sum.lost += self.lost.iter().sum::<f64>();
        sum
    }
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
    let n = values.len() as f64;
    let squares = sum_of(values, |x| (x - centre) * (x - centre));
    // The mean is off by two roundings at most and each difference from it by one, so no more
    // than this is left over; mostly too little to change any digit of the squares.
    let most = n * f64::EPSILON * (2.0 * centre.abs() + squares.sqrt());
    if most * most / n < UNSEEN * squares {
        return squares;
    }
    let left_over = sum_of(values, |x| x - centre);
    (squares - left_over * left_over / n).max(0.0)
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
    use rand::{RngExt, SeedableRng};

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

    /// One value after another, with every correction.
    fn plainly(values: &[f64]) -> (f64, f64) {
        let n = values.len() as f64;
        let centre = compensated(values.iter().copied()) / n;
        let squares = compensated(values.iter().map(|x| (x - centre) * (x - centre)));
        let left_over = compensated(values.iter().map(|x| x - centre));
        let squares = (squares - left_over * left_over / n).max(0.0);
        (centre, (squares / (n - 1.0)).sqrt())
    }

    #[test]
    fn side_by_side_is_one_after_another() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        for round in 0..400 {
            let n = rng.random_range(2..200);
            // From readings far from 0 that hardly vary to readings about 0, written with few digits.
            let level = [0.0, 1.5, 35.0, 1e7][round % 4];
            let spread = [1e-9, 0.1, 1.0, 30.0][round / 4 % 4];
            let digits = [10.0, 1000.0, 1e13][round % 3];
            let values: Vec<f64> = (0..n)
                .map(|_| ((level + spread * rng.random::<f64>()) * digits).round() / digits)
                .collect();
            let (centre, deviation) = plainly(&values);
            let found = mean_and_deviation(&values).unwrap();
            assert_eq!(found, (centre, deviation), "{level} {spread} {digits}");
        }
    }

    #[test]
    fn what_the_rounded_mean_leaves_over_is_taken_out_where_it_counts() {
        // Readings one unit in the last place apart: their mean is no number of binary64.
        let near = 1e7_f64;
        let values: Vec<f64> = (0..9)
            .map(|i| if i % 3 == 0 { near.next_up() } else { near })
            .collect();
        let apart = near.next_up() - near;
        let expected = (apart * apart * (3.0 - 9.0 / 9.0) / 8.0).sqrt();
        let (_, deviation) = mean_and_deviation(&values).unwrap();
        assert_close(deviation, expected, 1e-12, "deviation");
    }

    #[test]
    fn too_few_values_have_no_spread() {
        assert_eq!(mean(&[]), None);
        assert_eq!(variance(&[3.0]), None);
        assert_eq!(lag1_autocorrelation(&[2.0, 2.0, 2.0]), None);
        assert_eq!(variance(&[2.0, 4.0]), Some(2.0));
    }
}
