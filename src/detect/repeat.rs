//! The `repeat` rule: the same value again and again, as from copied entries or a stuck sensor.
//!
//! Coarse rounding repeats values by itself, so the run must be longer than the
//! resolution and the scatter of the readings before it make likely.

use crate::drift::normal_tail;

/// Least equal readings, however fine the resolution: two may always agree.
const SHORTEST: usize = 4;
/// Equal pairs follow each other more often than alone when readings are autocorrelated.
const CLUSTERING: f64 = 1.15;

/// Length of the run of equal readings that ends at every reading, and the length from
/// which it is no longer chance (not worked out for runs shorter than that can be).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) length: usize,
    pub(super) too_long: usize,
}

/// Runs at every reading, parallel to `values`.
///
/// `noise` is the standard deviation of a difference of successive readings, `resolution`
/// the step of rounding (same unit; 0 when unknown). A run starts by chance at most once
/// in 1/`rate` readings; the `memory` readings before it tell how usual repeats are. Own derivation: geometric lengths with the larger of the modelled
/// and the observed share of equal pairs.
pub(super) fn runs(
    values: &[f64],
    noise: f64,
    resolution: f64,
    rate: f64,
    memory: usize,
) -> Vec<Run> {
    let modelled = if noise > 0.0 {
        1.0 - 2.0 * normal_tail(0.5 * resolution / noise)
    } else {
        1.0
    };
    // Equal neighbours among the readings up to each.
    let mut equal = Vec::with_capacity(values.len());
    let mut length = 0_usize;
    let mut out = Vec::with_capacity(values.len());
    let mut before = None;
    for (at, value) in values.iter().enumerate() {
        let same = before == Some(value);
        length = if same { length + 1 } else { 1 };
        equal.push(equal.last().copied().unwrap_or(0_u32) + u32::from(same));
        before = Some(value);
        let too_long = if length < SHORTEST {
            usize::MAX
        } else {
            let start = at + 1 - length;
            let share = CLUSTERING * modelled.max(observed(&equal, start, memory));
            let share = share.clamp(1e-3, 0.995);
            let needed = 1.0 + (rate / (1.0 - share)).min(0.5).ln() / f64::ln(share);
            SHORTEST.max(needed.ceil() as usize)
        };
        out.push(Run { length, too_long });
    }
    out
}

/// Share of equal neighbours among the `memory` readings before `start`: an upper bound,
/// so that few readings do not make repeats look rare.
fn observed(equal: &[u32], start: usize, memory: usize) -> f64 {
    let from = start.saturating_sub(memory);
    let upto = |end: usize| {
        end.checked_sub(1)
            .and_then(|i| equal.get(i))
            .copied()
            .unwrap_or(0)
    };
    let found = f64::from(upto(start).saturating_sub(upto(from)));
    (found + 2.0 + found.sqrt()) / ((start - from) as f64 + 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn copied_values_are_seen_and_coarse_rounding_is_not() {
        let mut noise = crate::drift::fixtures::Noise::new(5);
        let fine: Vec<f64> = noise
            .autoregressive(200, 0.2)
            .iter()
            .map(|v| (v * 10.0).round() / 10.0)
            .collect();
        let fires = |values: &[f64], step: f64| {
            runs(values, 1.4, step, 5e-5, 250)
                .iter()
                .any(|r| r.length >= r.too_long)
        };
        assert!(!fires(&fine, 0.1));
        let mut copied = fine.clone();
        copied[100..107].fill(fine[100]);
        assert!(fires(&copied, 0.1));
        let coarse: Vec<f64> = fine.iter().map(|v| (v / 3.0).round() * 3.0).collect();
        assert!(!fires(&coarse, 3.0));
    }

    #[test]
    fn run_lengths_count_equal_neighbours() {
        let lengths: Vec<usize> = runs(&[1.0, 1.0, 2.0, 2.0, 2.0, 1.0], 1.0, 0.1, 1e-4, 250)
            .iter()
            .map(|r| r.length)
            .collect();
        assert_eq!(lengths, [1, 2, 1, 2, 3, 1]);
    }
}
