//! The shrinkage regression of coupon mass loss on the characteristics of the cabinets.
//!
//! mass loss = round + Σ β x + cabinet + chance. Rounds are free (their prior is flat, so
//! nothing but differences within a round counts); each β has a normal prior; cabinets
//! may differ for reasons not measured, so that three rounds of one cabinet are not taken
//! for three cabinets. The spread of chance and cabinets is not known: the posterior is
//! averaged over a grid of it, which gives the intervals the width of their degrees of
//! freedom. With a flat prior of β and one cabinet a round each it is ordinary least
//! squares with Student's t. Source: the normal linear model with known priors, Gelman et
//! al., Bayesian Data Analysis, chapters 14 and 15, from memory; the grid is ours.
//!
//! Works on scaled numbers (spread about 1); knows nothing of units, files or words.

use super::cholesky::Cholesky;

/// Nodes for the ratio of the cabinets' spread to that of chance: equal parts of a
/// half-Cauchy distribution with scale 1, so that neither is taken to be absent.
const RATIOS: usize = 9;
/// Search range and step of the logarithm of the total variance; the data have variance 1.
const LEAST_LOG_VARIANCE: f64 = -12.0;
const MOST_LOG_VARIANCE: f64 = 4.0;
const COARSE_STEP: f64 = 0.5;
/// Nodes of the final grid of the variance.
const FINE_NODES: usize = 36;
/// Nodes whose logarithmic weight lies farther below the best one are left out.
const NEGLIGIBLE: f64 = 18.0;

/// One cabinet in one round, scaled.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// Number of the round, from 0.
    pub(super) round: usize,
    /// Number of the participant, from 0.
    pub(super) participant: usize,
    /// Mass loss.
    pub(super) y: f64,
    /// Characteristics, in the order of the priors.
    pub(super) x: Vec<f64>,
}

/// Normal prior of one coefficient; an infinite `sd` is flat.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prior {
    pub(super) mean: f64,
    pub(super) sd: f64,
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoFit {
    /// The cells follow the line without scatter: nothing tells the noise.
    NoScatter,
    /// A combination of coefficients is determined by neither data nor prior.
    Undetermined,
}

/// The coefficients given one value of the unknown spreads.
#[derive(Debug, Clone)]
pub(super) struct Node {
    /// Posterior weight; all weights sum to 1.
    pub(super) weight: f64,
    /// Mean of the coefficients.
    pub(super) mean: Vec<f64>,
    /// Factor of their precision.
    pub(super) precision: Cholesky,
}

/// The posterior: a mixture of normal distributions.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) nodes: Vec<Node>,
    /// Posterior mean of the coefficients.
    pub(super) mean: Vec<f64>,
    /// Posterior standard deviation.
    pub(super) sd: Vec<f64>,
}

/// Sums over the cells for one ratio of spreads; the unknowns are rounds, then coefficients.
struct Sums {
    matrix: Vec<Vec<f64>>,
    right: Vec<f64>,
    square: f64,
    log_determinant: f64,
    cells: f64,
    rounds: usize,
}

impl Sums {
    /// Weighted sums with the inverse of (I + ρ Z Zᵀ)/(1 + ρ) between them, Z the
    /// membership of cells in participants (Woodbury's identity, one block a participant).
    fn of(cells: &[Cell], rounds: usize, coefficients: usize, ratio: f64) -> Sums {
        let size = rounds + coefficients;
        let participants = cells.iter().map(|c| c.participant + 1).max().unwrap_or(0);
        let mut sums = Sums {
            matrix: vec![vec![0.0; size]; size],
            right: vec![0.0; size],
            square: 0.0,
            log_determinant: -(cells.len() as f64) * (1.0 + ratio).ln(),
            cells: cells.len() as f64,
            rounds,
        };
        let mut totals = vec![(0.0, vec![0.0; size], 0.0); participants];
        for cell in cells {
            let mut row = vec![0.0; size];
            for (j, slot) in row.iter_mut().enumerate() {
                *slot = match j.checked_sub(rounds) {
                    Some(k) => cell.x.get(k).copied().unwrap_or(0.0),
                    None => f64::from(u8::from(j == cell.round)),
                };
            }
            sums.add(&row, cell.y, 1.0 + ratio);
            if let Some((count, total, y)) = totals.get_mut(cell.participant) {
                *count += 1.0;
                *y += cell.y;
                for (t, r) in total.iter_mut().zip(&row) {
                    *t += r;
                }
            }
        }
        for (count, total, y) in &totals {
            sums.add(total, *y, -(1.0 + ratio) * ratio / (1.0 + ratio * count));
            sums.log_determinant += (1.0 + ratio * count).ln();
        }
        sums
    }

    fn add(&mut self, row: &[f64], y: f64, weight: f64) {
        for ((line, right), &a) in self.matrix.iter_mut().zip(&mut self.right).zip(row) {
            *right += weight * a * y;
            for (slot, &b) in line.iter_mut().zip(row) {
                *slot += weight * a * b;
            }
        }
        self.square += weight * y * y;
    }

    /// Posterior of the coefficients at one variance, its weight still a logarithm.
    fn node(&self, log_variance: f64, priors: &[Prior]) -> Option<Node> {
        let inverse = (-log_variance).exp();
        let mut matrix: Vec<Vec<f64>> = self
            .matrix
            .iter()
            .map(|row| row.iter().map(|a| a * inverse).collect())
            .collect();
        let mut right: Vec<f64> = self.right.iter().map(|a| a * inverse).collect();
        let mut square = self.square * inverse;
        for (k, prior) in priors.iter().enumerate() {
            let precision = (prior.sd * prior.sd).recip();
            let j = self.rounds + k;
            *matrix.get_mut(j)?.get_mut(j)? += precision;
            *right.get_mut(j)? += precision * prior.mean;
            square += precision * prior.mean * prior.mean;
        }
        let factor = Cholesky::of(&matrix)?;
        let half = factor.forward(&right);
        let explained: f64 = half.iter().map(|a| a * a).sum();
        let weight = -0.5
            * (self.cells * log_variance
                + self.log_determinant
                + factor.log_determinant()
                + square
                - explained);
        Some(Node {
            weight,
            mean: factor.backward(&half).split_off(self.rounds),
            precision: factor.tail(self.rounds),
        })
    }
}

/// The posterior of the coefficients, `cells` scaled so that their spread is about 1.
///
/// # Errors
///
/// [`NoFit`] when the cells show no scatter, or leave a coefficient with a flat prior open.
pub(super) fn fit(cells: &[Cell], rounds: usize, priors: &[Prior]) -> Result<Fit, NoFit> {
    let all: Vec<Sums> = (0..RATIOS)
        .map(|k| {
            let part = (k as f64 + 0.5) / RATIOS as f64;
            let spreads = (0.5 * std::f64::consts::PI * part).tan();
            Sums::of(cells, rounds, priors.len(), spreads * spreads)
        })
        .collect();
    let coarse = ((MOST_LOG_VARIANCE - LEAST_LOG_VARIANCE) / COARSE_STEP) as usize;
    let mut best = f64::NEG_INFINITY;
    let mut searched = Vec::with_capacity(coarse + 1);
    for step in 0..=coarse {
        let log_variance = LEAST_LOG_VARIANCE + COARSE_STEP * step as f64;
        let mut weight = f64::NEG_INFINITY;
        for sums in &all {
            let node = sums.node(log_variance, priors).ok_or(NoFit::Undetermined)?;
            weight = weight.max(node.weight);
        }
        best = best.max(weight);
        searched.push((log_variance, weight));
    }
    let mut kept = searched
        .iter()
        .filter(|(_, weight)| *weight > best - NEGLIGIBLE);
    let first = kept.next().map_or(LEAST_LOG_VARIANCE, |(at, _)| *at);
    let last = kept.next_back().map_or(first, |(at, _)| *at);
    if first <= LEAST_LOG_VARIANCE {
        return Err(NoFit::NoScatter);
    }
    let (low, width) = (first - COARSE_STEP, last - first + 2.0 * COARSE_STEP);
    let mut nodes = Vec::with_capacity(RATIOS * FINE_NODES);
    for k in 0..FINE_NODES {
        let log_variance = low + width * k as f64 / (FINE_NODES - 1) as f64;
        for sums in &all {
            nodes.push(sums.node(log_variance, priors).ok_or(NoFit::Undetermined)?);
        }
    }
    Ok(average(nodes, priors.len()))
}

/// Turns logarithmic weights into shares and takes the moments of the mixture.
fn average(mut nodes: Vec<Node>, coefficients: usize) -> Fit {
    let best = nodes
        .iter()
        .map(|n| n.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    nodes.retain(|node| node.weight > best - NEGLIGIBLE);
    let total: f64 = nodes.iter().map(|n| (n.weight - best).exp()).sum();
    let mut mean = vec![0.0; coefficients];
    for node in &mut nodes {
        node.weight = (node.weight - best).exp() / total;
        for (slot, value) in mean.iter_mut().zip(&node.mean) {
            *slot += node.weight * value;
        }
    }
    let mut variance = vec![0.0; coefficients];
    for node in &nodes {
        let inverse = node.precision.inverse();
        for (k, slot) in variance.iter_mut().enumerate() {
            let own = inverse
                .get(k)
                .and_then(|row| row.get(k))
                .copied()
                .unwrap_or(0.0);
            let at = node.mean.get(k).copied().unwrap_or(0.0);
            let centre = mean.get(k).copied().unwrap_or(0.0);
            *slot += node.weight * (own + (at - centre) * (at - centre));
        }
    }
    Fit {
        nodes,
        mean,
        sd: variance.into_iter().map(f64::sqrt).collect(),
    }
}

/// The posterior at one variance and ratio of spreads, for comparison with a textbook.
#[cfg(test)]
pub(super) fn node_at(
    cells: &[Cell],
    rounds: usize,
    priors: &[Prior],
    log_variance: f64,
    ratio: f64,
) -> Option<Node> {
    Sums::of(cells, rounds, priors.len(), ratio).node(log_variance, priors)
}
