//! What carry-over from check to check leaves of a mean's, a slope's and a spread's certainty.
//!
//! Readings are first-order autoregressive, a longer gap carrying less over. The lag-1
//! correlation φ is never known well from a few months, so nothing is computed at one φ:
//! every variance is averaged over what the readings leave possible. No verdicts here.

use super::gaps::{GAP_STEP, Gap, Products, power};
use crate::drift::whiten::usual_spacing;
use std::collections::BTreeMap;

/// Most carry-over considered: beyond it a cabinet more likely drifts than carries over.
///
/// Below it every φ from 0 counts alike beforehand (ours, no source). A negative φ never
/// makes a mean surer than independent readings would.
const MOST_CARRY_OVER: f64 = 0.95;
/// Evaluations of the likelihood that find where it is, and over which it is averaged.
const COARSE: usize = 25;
/// Odd, for Simpson's rule.
const FINE: usize = 21;
/// Fall of the log-likelihood beyond which a φ is left out: e⁻¹⁴ of the greatest.
const NEGLIGIBLE: f64 = 14.0;

/// An estimate whose error is t-distributed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Estimate {
    pub(super) point: f64,
    pub(super) variance: f64,
    /// Degrees of freedom of `variance`.
    pub(super) freedom: f64,
}

/// A series reduced to what its likelihood needs at any φ.
#[derive(Debug, Clone)]
pub(super) struct Carried {
    n: f64,
    mean: f64,
    gaps: Vec<Gap>,
    /// For each neighbour pair in turn, its entry in `gaps`.
    order: Vec<usize>,
    first: Products,
    independent: bool,
}

/// One φ with its weight.
struct Node {
    phi: f64,
    weight: f64,
}

impl Carried {
    /// Reduces `values` on ascending `days` about their `mean`; `independent` forces φ to 0.
    pub(super) fn new(days: &[f64], values: &[f64], mean: f64, independent: bool) -> Carried {
        let spacing = usual_spacing(days);
        let middle = match (days.first(), days.last()) {
            (Some(first), Some(last)) => 0.5 * (first + last),
            _ => 0.0,
        };
        let row = |(day, value): (&f64, &f64)| (day - middle, value - mean);
        let mut known: BTreeMap<u64, usize> = BTreeMap::new();
        let mut carried = Carried {
            n: values.len() as f64,
            mean,
            gaps: Vec::new(),
            order: Vec::with_capacity(values.len()),
            first: Products::default(),
            independent,
        };
        let mut before: Option<(f64, f64)> = None;
        for now in days.iter().zip(values).map(row) {
            if let Some(before) = before {
                let steps = ((now.0 - before.0) / spacing / GAP_STEP).round().max(1.0);
                let at = *known.entry(steps as u64).or_insert_with(|| {
                    carried.gaps.push(Gap {
                        power: power(steps * GAP_STEP),
                        ..Gap::default()
                    });
                    carried.gaps.len() - 1
                });
                if let Some(gap) = carried.gaps.get_mut(at) {
                    gap.pairs += 1.0;
                    gap.now.add(now, now, 1.0);
                    gap.cross.add(now, before, 2.0);
                    gap.before.add(before, before, 1.0);
                }
                carried.order.push(at);
            } else {
                carried.first.add(now, now, 1.0);
            }
            before = Some(now);
        }
        carried
    }

    /// The whitened products at `phi`, and the logarithm of the correlations' determinant.
    fn whitened(&self, phi: f64) -> (Products, f64) {
        let mut sums = self.first;
        let mut ln_determinant = 0.0;
        for gap in &self.gaps {
            let rho = phi.powf(gap.power);
            let left = 1.0 - rho * rho;
            let scale = left.recip();
            sums.add_scaled(&gap.now, scale);
            sums.add_scaled(&gap.cross, -rho * scale);
            sums.add_scaled(&gap.before, rho * rho * scale);
            ln_determinant += gap.pairs * left.ln();
        }
        (sums, ln_determinant)
    }

    /// The plain mean's error, and φ, averaged over what the readings leave possible.
    pub(super) fn mean_error(&self) -> Option<MeanError> {
        let of = |phi: f64| {
            let (sums, ln_determinant) = self.whitened(phi);
            let rest = sums.value_value - sums.one_value * sums.one_value / sums.one_one;
            Fit {
                ln_likelihood: -0.5
                    * (ln_determinant + sums.one_one.ln() + (self.n - 1.0) * rest.ln()),
                rest,
                point: self.mean,
                factor: 0.0,
            }
        };
        let mut fits = Vec::with_capacity(FINE);
        let (mut carry_over, mut square) = (0.0, 0.0);
        for node in self.nodes(|phi| of(phi).ln_likelihood) {
            let mut fit = of(node.phi);
            fit.factor = self.all_correlations(node.phi) / (self.n * self.n);
            fits.push((node.weight, fit));
            carry_over += node.weight * node.phi;
            square += node.weight * node.phi * node.phi;
        }
        Some(MeanError {
            mean: averaged(&fits, self.n - 1.0)?,
            carry_over,
            carry_over_sd: (square - carry_over * carry_over).max(0.0).sqrt(),
        })
    }

    /// The slope per day of a straight line, whitened, averaged over φ.
    pub(super) fn slope_estimate(&self) -> Option<Estimate> {
        let of = |phi: f64| {
            let (sums, ln_determinant) = self.whitened(phi);
            let days = sums.day_day - sums.one_day * sums.one_day / sums.one_one;
            let along = sums.day_value - sums.one_day * sums.one_value / sums.one_one;
            let rest = sums.value_value
                - sums.one_value * sums.one_value / sums.one_one
                - along * along / days;
            Fit {
                ln_likelihood: -0.5
                    * (ln_determinant + sums.one_one.ln() + days.ln() + (self.n - 2.0) * rest.ln()),
                rest,
                point: along / days,
                factor: days.recip(),
            }
        };
        let fits: Vec<(f64, Fit)> = self
            .nodes(|phi| of(phi).ln_likelihood)
            .into_iter()
            .map(|node| (node.weight, of(node.phi)))
            .collect();
        averaged(&fits, self.n - 2.0)
    }

    /// Nodes over the φ that the readings leave possible, with weights that sum to 1.
    ///
    /// They lie evenly in u = −ln(1 − φ), since the variance of a mean grows as e²ᵘ.
    fn nodes(&self, ln_likelihood: impl Fn(f64) -> f64) -> Vec<Node> {
        if self.independent {
            return vec![Node {
                phi: 0.0,
                weight: 1.0,
            }];
        }
        let phi_at = |u: f64| -(-u).exp_m1();
        let weighed = |u: f64| {
            let ln = ln_likelihood(phi_at(u)) - u;
            if ln.is_finite() { ln } else { f64::MIN }
        };
        let (mut low, mut high) = (0.0, -(1.0 - MOST_CARRY_OVER).ln());
        let step = (high - low) / (COARSE - 1) as f64;
        let coarse: Vec<f64> = (0..COARSE).map(|i| weighed(step * i as f64)).collect();
        let greatest = coarse.iter().copied().fold(f64::MIN, f64::max);
        let matters = |ln: &f64| *ln > greatest - NEGLIGIBLE;
        if let (Some(first), Some(last)) = (
            coarse.iter().position(matters),
            coarse.iter().rposition(matters),
        ) {
            low = step * first.saturating_sub(1) as f64;
            high = (step * (last + 1) as f64).min(high);
        }
        let fine = (high - low) / (FINE - 1) as f64;
        let mut found: Vec<Node> = (0..FINE)
            .map(|i| {
                let u = low + fine * i as f64;
                let ends = if i == 0 || i == FINE - 1 { 1.0 } else { 2.0 };
                let simpson = if i % 2 == 1 { 4.0 } else { ends };
                Node {
                    phi: phi_at(u),
                    weight: simpson * (weighed(u) - greatest).exp(),
                }
            })
            .collect();
        let total: f64 = found.iter().map(|node| node.weight).sum();
        found.iter_mut().for_each(|node| node.weight /= total);
        found
    }

    /// The sum of all correlations of the readings at `phi`: n when nothing carries over.
    fn all_correlations(&self, phi: f64) -> f64 {
        let across: Vec<f64> = self.gaps.iter().map(|gap| phi.powf(gap.power)).collect();
        let (mut sum, mut earlier) = (self.n, 0.0);
        for at in &self.order {
            let rho = across.get(*at).copied().unwrap_or(0.0);
            earlier = rho * (earlier + 1.0);
            sum += 2.0 * earlier;
        }
        sum
    }

    /// The first two moments of the plain variance, averaged over the φ that are left.
    pub(super) fn spread(&self, error: &MeanError) -> Spread {
        // Three points with the mean, variance and symmetry of φ (Gauss–Hermite).
        let reach = 3.0_f64.sqrt() * error.carry_over_sd;
        let (mut inverse, mut inverse_square, mut relative) = (0.0, 0.0, 0.0);
        for (place, weight) in [(-1.0, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.0, 1.0 / 6.0)] {
            let phi = (error.carry_over + place * reach).clamp(0.0, MOST_CARRY_OVER);
            let found = self.spread_at(phi);
            inverse += weight / found.kept;
            inverse_square += weight / (found.kept * found.kept);
            relative += weight * 2.0 / found.freedom;
        }
        let between = (inverse_square / (inverse * inverse) - 1.0).max(0.0);
        Spread {
            kept: inverse.recip(),
            freedom: 2.0 / (relative + between),
        }
    }

    /// The first two moments of the plain variance at `phi`.
    fn spread_at(&self, phi: f64) -> Spread {
        let across: Vec<f64> = self.gaps.iter().map(|gap| phi.powf(gap.power)).collect();
        let rho = |at: &usize| across.get(*at).copied().unwrap_or(0.0);
        // Row sums of the correlations (from both ends) and the sum of their squares.
        let mut rows = vec![1.0; self.order.len() + 1];
        let (mut earlier, mut squared, mut all_squared) = (0.0, 0.0, self.n);
        for (at, row) in self.order.iter().zip(rows.iter_mut().skip(1)) {
            let r = rho(at);
            earlier = r * (earlier + 1.0);
            squared = r * r * (squared + 1.0);
            *row += earlier;
            all_squared += 2.0 * squared;
        }
        let mut later = 0.0;
        for (at, row) in self.order.iter().zip(rows.iter_mut()).rev() {
            later = rho(at) * (later + 1.0);
            *row += later;
        }
        let all: f64 = rows.iter().sum();
        let rows_squared: f64 = rows.iter().map(|x| x * x).sum();
        let trace = self.n - all / self.n;
        let square = all_squared - 2.0 * rows_squared / self.n + all * all / (self.n * self.n);
        Spread {
            kept: trace / (self.n - 1.0),
            freedom: trace * trace / square,
        }
    }
}

/// The plain mean with its error, and the carry-over allowed for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct MeanError {
    pub(super) mean: Estimate,
    /// φ averaged over what the readings leave possible, 0 to [`MOST_CARRY_OVER`].
    pub(super) carry_over: f64,
    /// The standard deviation of φ that the readings leave.
    pub(super) carry_over_sd: f64,
}

/// What carry-over makes of the plain variance (n − 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spread {
    /// Its expectation over the true variance: below 1, since neighbours resemble.
    pub(super) kept: f64,
    /// Its degrees of freedom by Satterthwaite.
    pub(super) freedom: f64,
}

/// What the likelihood gives at one φ.
#[derive(Debug, Clone, Copy)]
struct Fit {
    ln_likelihood: f64,
    /// Residual sum of squares, whitened.
    rest: f64,
    point: f64,
    /// Variance of the estimate over that of a reading.
    factor: f64,
}

/// The t distribution with the variance and the kurtosis of the mixture of `fits`.
///
/// Given φ the error's variance is inverse chi-square with `freedom` about `rest`; the
/// mixture over φ has mean E and variance V of it, and so has one of 4 + 2E²/V degrees.
fn averaged(fits: &[(f64, Fit)], freedom: f64) -> Option<Estimate> {
    if freedom <= 4.0 {
        return None;
    }
    let (mut point, mut mean, mut square) = (0.0, 0.0, 0.0);
    for (weight, fit) in fits {
        let scale = fit.rest * fit.factor;
        point += weight * fit.point;
        mean += weight * scale / (freedom - 2.0);
        square += weight * scale * scale / ((freedom - 2.0) * (freedom - 4.0));
    }
    let variance = square - mean * mean;
    let matched = 4.0 + 2.0 * mean * mean / variance;
    (matched.is_finite() && mean > 0.0).then(|| Estimate {
        point,
        variance: mean * (matched - 2.0) / matched,
        freedom: matched,
    })
}
