//! Seeded draws for products and ratios of uncertain numbers, and their quantiles.
//!
//! Draws come in couples that mirror each other about the measured values: exchanging the
//! two participants then turns every result round exactly, and a mean has no sampling
//! error. The same seed serves every pair, so a pair's figures do not depend on which
//! other pairs were looked at.

use super::model::Fit;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Couples of draws. The ends of a 95 % interval are then good to about 0.03 of its
/// standard deviation (√(0.025 · 0.975 / 8192) over the normal density at 1.96).
pub(super) const COUPLES: usize = 4096;
const SEED: u64 = 0x5EED_C0FF;

/// A stream of seeded numbers.
pub(super) struct Draws(ChaCha8Rng);

impl Draws {
    /// The stream of that number; streams are independent.
    pub(super) fn stream(number: u64) -> Draws {
        let mut generator = ChaCha8Rng::seed_from_u64(SEED);
        generator.set_stream(number);
        Draws(generator)
    }

    /// A standard normal number (Box & Muller).
    pub(super) fn normal(&mut self) -> f64 {
        let (radius, turn) = self.uniforms();
        (-2.0 * radius.ln()).sqrt() * turn
    }

    /// A number of Student's t with `df` degrees of freedom, normal without them.
    ///
    /// Bailey's polar method (Mathematics of Computation 62 (1994) 779, from memory).
    pub(super) fn t(&mut self, df: Option<f64>) -> f64 {
        let Some(df) = df else {
            return self.normal();
        };
        let (radius, turn) = self.uniforms();
        (df * (-2.0 / df * radius.ln()).exp_m1()).sqrt() * turn
    }

    /// A uniform number in (0, 1] and the cosine of a uniform angle.
    fn uniforms(&mut self) -> (f64, f64) {
        let (u, v): (f64, f64) = (1.0 - self.0.random::<f64>(), self.0.random());
        (u, (std::f64::consts::TAU * v).cos())
    }
}

/// [`COUPLES`] draws of each coefficient of a fit, joint: draws of coefficient k are element k.
pub(super) fn of_fit(fit: &Fit) -> Vec<Vec<f64>> {
    let size = fit.mean.len();
    let mut columns = vec![Vec::with_capacity(COUPLES); size];
    let mut draws = Draws::stream(1);
    let mut nodes = fit.nodes.iter();
    let mut node = nodes.next();
    let mut reached = node.map_or(0.0, |n| n.weight);
    for j in 0..COUPLES {
        // Each node gets its share of the draws, in order: no sampling error from the choice.
        let position = (j as f64 + 0.5) / COUPLES as f64;
        while position > reached {
            let Some(next) = nodes.next() else {
                break;
            };
            reached += next.weight;
            node = Some(next);
        }
        let Some(at) = node else {
            continue;
        };
        let z: Vec<f64> = (0..size).map(|_| draws.normal()).collect();
        let off = at.precision.backward(&z);
        for ((column, mean), off) in columns.iter_mut().zip(&at.mean).zip(&off) {
            column.push(mean + off);
        }
    }
    columns
}

/// [`COUPLES`] draws of a number known with a standard uncertainty.
pub(super) fn of_stated(mean: f64, u: f64, number: u64) -> Vec<f64> {
    let mut draws = Draws::stream(number);
    (0..COUPLES).map(|_| mean + u * draws.normal()).collect()
}

/// Both ends of a 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Ends {
    /// Whether 0 lies inside or on an end.
    pub fn cover_zero(&self) -> bool {
        self.low <= 0.0 && self.high >= 0.0
    }
}

/// The 2.5 % and 97.5 % quantiles; `None` without draws or when an end is not finite.
pub(super) fn ends(mut draws: Vec<f64>) -> Option<Ends> {
    let found = Ends {
        low: quantile(&mut draws, 0.025)?,
        high: quantile(&mut draws, 0.975)?,
    };
    (found.low.is_finite() && found.high.is_finite()).then_some(found)
}

/// As [`crate::stats::quantile::quantile_of_sorted`], rearranging instead of sorting: a
/// pair takes a dozen intervals of thousands of draws.
fn quantile(values: &mut [f64], p: f64) -> Option<f64> {
    let position = p * values.len().checked_sub(1)? as f64;
    let below = position.floor();
    let (_, low, above) = values.select_nth_unstable_by(below as usize, f64::total_cmp);
    let low = *low;
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    Some(low + (position - below) * (high - low))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile::quantile_of_sorted;
    use crate::stats::tails::t_exceeded;

    #[test]
    fn draws_have_the_quantiles_of_their_distribution() {
        for df in [None, Some(2.0), Some(5.0), Some(30.0)] {
            let mut draws = Draws::stream(7);
            let mut x: Vec<f64> = (0..40_000).map(|_| draws.t(df)).collect();
            x.sort_by(f64::total_cmp);
            for p in [0.025, 0.25, 0.5, 0.9, 0.975] {
                let found = quantile_of_sorted(&x, p).unwrap();
                let expected = t_exceeded(1.0 - p, df.unwrap_or(1e9)).unwrap();
                // Four standard errors at the widest: t of 2 at 97.5 % has density 0.0109.
                assert!(
                    (found - expected).abs() < 0.02 + 0.06 * expected.abs(),
                    "{df:?} {p}: {found} {expected}"
                );
            }
        }
    }

    #[test]
    fn quantiles_agree_with_sorting() {
        for n in [1, 2, 3, 40, 41, 8192] {
            let mut draws = Draws::stream(3);
            let mut x: Vec<f64> = (0..n).map(|_| draws.normal()).collect();
            let found = ends(x.clone()).unwrap();
            x.sort_by(f64::total_cmp);
            assert_eq!(Some(found.low), quantile_of_sorted(&x, 0.025), "n = {n}");
            assert_eq!(Some(found.high), quantile_of_sorted(&x, 0.975), "n = {n}");
        }
    }

    #[test]
    fn ends_that_do_not_exist_are_none() {
        assert_eq!(ends(vec![]), None);
        assert_eq!(ends(vec![f64::INFINITY; 9]), None);
        assert_eq!(ends(vec![f64::NAN; 9]), None);
    }
}
