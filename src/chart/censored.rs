//! Centre and sigma of readings that were rounded coarsely: maximum likelihood for
//! interval-censored normal values.
//!
//! A reading written 6.8 with one decimal says only that the value lay between 6.75 and
//! 6.85. When such steps are as large as sigma, the moving range is mostly zeros and ones
//! and no longer measures sigma; the counts of each written value still do.

use crate::stats::normal;

/// The fitted normal distribution of the values before they were rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RoundedFit {
    /// Mean, in the unit of the readings.
    pub(crate) centre: f64,
    /// Standard deviation; above 0.
    pub(crate) sigma: f64,
}

/// One written value: its place in steps from the middle one, and how often it occurs.
#[derive(Debug, Clone, Copy)]
struct Cell {
    place: f64,
    count: f64,
}

/// Fits readings sorted in ascending order that are rounded to `step`.
///
/// With two neighbouring written values the likelihood has no maximum (every sigma small
/// enough fits alike), so half a reading is then added to the next value on either side:
/// ours, no source. `None` when fewer than two values differ or the search does not settle.
///
/// Newton's method in mean/sigma and 1/sigma, in which the likelihood is concave
/// (Burridge, J. R. Statist. Soc. B 43 (1981) 41, from memory), so it cannot stop at a lesser peak.
pub(crate) fn fit_rounded(sorted: &[f64], step: f64) -> Option<RoundedFit> {
    let middle = *sorted.get(sorted.len() / 2)?;
    let fitted = climb(&cells(sorted, middle, step)?)?;
    Some(RoundedFit {
        centre: middle + step * fitted.centre,
        sigma: step * fitted.sigma,
    })
}

/// The written values as steps from `middle`; `None` when fewer than two differ.
fn cells(sorted: &[f64], middle: f64, step: f64) -> Option<Vec<Cell>> {
    let mut cells: Vec<Cell> = Vec::with_capacity(8);
    for value in sorted {
        let place = ((value - middle) / step).round();
        match cells.last_mut() {
            Some(cell) if cell.place == place => cell.count += 1.0,
            _ => cells.push(Cell { place, count: 1.0 }),
        }
    }
    match cells[..] {
        [] | [_] => return None,
        [low, high] if high.place - low.place == 1.0 => {
            cells.push(Cell {
                place: low.place - 1.0,
                count: 0.5,
            });
            cells.push(Cell {
                place: high.place + 1.0,
                count: 0.5,
            });
        }
        _ => {}
    }
    Some(cells)
}

/// Newton with halved steps, from the mean and the variance less a twelfth (Sheppard).
fn climb(cells: &[Cell]) -> Option<RoundedFit> {
    let total: f64 = cells.iter().map(|c| c.count).sum();
    let mean = cells.iter().map(|c| c.count * c.place).sum::<f64>() / total;
    let spread = |c: &Cell| c.count * (c.place - mean) * (c.place - mean);
    let variance = cells.iter().map(spread).sum::<f64>() / total - 1.0 / 12.0;
    let mut inverse = 1.0 / variance.max(0.04).sqrt();
    let mut ratio = mean * inverse;
    let mut here = Slope::at(cells, ratio, inverse);
    for _ in 0..60 {
        let (ratio_step, inverse_step) = here.newton()?;
        let gain = ratio_step * here.by_ratio + inverse_step * here.by_inverse;
        if gain.abs() <= 1e-18 * total {
            return Some(RoundedFit {
                centre: ratio / inverse,
                sigma: 1.0 / inverse,
            })
            .filter(|fit| fit.sigma.is_finite() && fit.centre.is_finite());
        }
        let mut share = 1.0;
        loop {
            let (next_ratio, next_inverse) =
                (ratio + share * ratio_step, inverse + share * inverse_step);
            if next_inverse > 0.0 {
                let there = Slope::at(cells, next_ratio, next_inverse);
                // Close to the top the gain drowns in rounding; the step is then taken as it is.
                let enough = here.log_likelihood - 1e-12 * total;
                if there.log_likelihood >= enough {
                    (ratio, inverse, here) = (next_ratio, next_inverse, there);
                    break;
                }
            }
            share *= 0.5;
            if share < 1e-6 {
                return None;
            }
        }
    }
    None
}

/// The log-likelihood with its first and second derivatives by mean/sigma and 1/sigma.
#[derive(Debug, Clone, Copy, Default)]
struct Slope {
    log_likelihood: f64,
    by_ratio: f64,
    by_inverse: f64,
    ratio_ratio: f64,
    ratio_inverse: f64,
    inverse_inverse: f64,
}

impl Slope {
    fn at(cells: &[Cell], ratio: f64, inverse: f64) -> Slope {
        // Keeps the logarithm of a cell that the present fit all but rules out finite.
        const LEAST: f64 = 1e-290;
        let mut s = Slope::default();
        for cell in cells {
            let (a, b) = (cell.place - 0.5, cell.place + 0.5);
            let (za, zb) = (inverse * a - ratio, inverse * b - ratio);
            let chance = normal::between(za, zb).max(LEAST);
            let (fa, fb) = (normal::density(za) / chance, normal::density(zb) / chance);
            let by_ratio = fa - fb;
            let by_inverse = b * fb - a * fa;
            let (ga, gb) = (za * fa, zb * fb);
            s.log_likelihood += cell.count * chance.ln();
            s.by_ratio += cell.count * by_ratio;
            s.by_inverse += cell.count * by_inverse;
            s.ratio_ratio += cell.count * (ga - gb - by_ratio * by_ratio);
            s.ratio_inverse += cell.count * (b * gb - a * ga - by_ratio * by_inverse);
            s.inverse_inverse += cell.count * (a * a * ga - b * b * gb - by_inverse * by_inverse);
        }
        s
    }

    /// The step to the top of the parabola that touches here; `None` where it has no top.
    fn newton(&self) -> Option<(f64, f64)> {
        let determinant =
            self.ratio_ratio * self.inverse_inverse - self.ratio_inverse * self.ratio_inverse;
        let step = (
            (self.ratio_inverse * self.by_inverse - self.inverse_inverse * self.by_ratio)
                / determinant,
            (self.ratio_inverse * self.by_ratio - self.ratio_ratio * self.by_inverse) / determinant,
        );
        (determinant > 0.0 && self.ratio_ratio < 0.0 && step.0.is_finite() && step.1.is_finite())
            .then_some(step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, rows};
    use rand::{RngExt, SeedableRng};

    #[test]
    fn the_maximum_agrees_with_scipy() {
        let table = include_str!("../../tests/reference/scipy/interval_censored.csv");
        for row in rows(table) {
            let number = |i: usize| row[i].parse::<f64>().unwrap();
            let mut values = Vec::new();
            for item in row[5].split(' ') {
                let (value, count) = item.split_once('*').unwrap();
                values.resize(
                    values.len() + count.parse::<usize>().unwrap(),
                    value.parse().unwrap(),
                );
            }
            let fit = fit_rounded(&values, number(1)).unwrap();
            assert_close(fit.centre, number(2), 1e-7, row[0]);
            assert_close(fit.sigma, number(3), 1e-6, row[0]);
            let cells = cells(&values, values[0], number(1)).unwrap();
            let ratio = (fit.centre - values[0]) / fit.sigma;
            let top = Slope::at(&cells, ratio, number(1) / fit.sigma);
            assert_close(top.log_likelihood, number(4), 1e-9, row[0]);
            assert!(top.by_ratio.abs() + top.by_inverse.abs() < 1e-5, "{top:?}");
        }
    }

    #[test]
    fn two_neighbouring_values_still_give_a_sigma() {
        for high in 1..30 {
            let mut values = vec![6.8; 30 - high];
            values.resize(30, 6.9);
            let fit = fit_rounded(&values, 0.1).unwrap();
            assert!(fit.sigma > 0.02 && fit.sigma < 0.06, "{high}: {fit:?}");
            assert!(fit.centre > 6.78 && fit.centre < 6.92, "{high}: {fit:?}");
        }
        assert_eq!(fit_rounded(&[6.8; 9], 0.1), None);
        assert_eq!(fit_rounded(&[], 0.1), None);
    }

    #[test]
    fn sigma_is_recovered_where_the_moving_range_is_not() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        for sigma in [0.4, 0.7, 1.0] {
            let mut values: Vec<f64> = (0..20_000)
                .map(|_| (0.3 + sigma * normal::quantile(rng.random()).unwrap_or(0.0)).round())
                .collect();
            let range = values.windows(2).map(|p| (p[1] - p[0]).abs()).sum::<f64>() / 19_999.0;
            let plain = range / crate::chart::constants::D2_OF_TWO;
            values.sort_by(f64::total_cmp);
            let fit = fit_rounded(&values, 1.0).unwrap();
            assert_close(fit.sigma, sigma, 0.02, "sigma");
            assert!((fit.centre - 0.3).abs() < 0.02, "{fit:?}");
            // What the fit is for: the plain estimate is farther off.
            assert!((plain / sigma - 1.0).abs() > (fit.sigma / sigma - 1.0).abs());
        }
    }

    #[test]
    fn odd_counts_settle_or_are_refused_but_never_hang() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        for _ in 0..3_000 {
            let far = rng.random_range(1..200) as f64;
            let mut values: Vec<f64> = (0..rng.random_range(2..40))
                .map(|_| (rng.random::<f64>().powi(6) * far).round())
                .collect();
            values.sort_by(f64::total_cmp);
            let differ = values.first() != values.last();
            let fit = fit_rounded(&values, 1.0);
            assert_eq!(fit.is_some(), differ, "{values:?}");
            assert!(fit.is_none_or(|f| f.sigma > 0.0 && f.sigma.is_finite()));
        }
    }
}
