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

/// How usual repeats are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Usual {
    /// Standard deviation of a difference of successive readings.
    pub(super) noise: f64,
    /// Step of rounding, in the same unit; 0 when unknown.
    pub(super) resolution: f64,
    /// A run starts by chance at most once in 1/`rate` readings.
    pub(super) rate: f64,
    /// Readings before a run that tell how usual repeats are.
    pub(super) memory: usize,
}

/// Runs at every reading from `from` on.
///
/// Own derivation: geometric lengths with the larger of the modelled and the observed share of
/// equal pairs.
pub(super) fn runs(values: &[f64], usual: &Usual, from: usize) -> Vec<Run> {
    let judged = values.get(from..).unwrap_or(&[]);
    let before = values.get(..from).unwrap_or(&[]);
    let mut last = before.last();
    let mut length = before.iter().rev().take_while(|v| Some(*v) == last).count();
    let mut too_long = usize::MAX;
    let mut out = Vec::with_capacity(judged.len());
    for (at, value) in (from..).zip(judged) {
        if last == Some(value) {
            length += 1;
        } else {
            (length, too_long) = (1, usize::MAX);
        }
        last = Some(value);
        // Once for a run: it rests on what came before.
        if length >= SHORTEST && too_long == usize::MAX {
            too_long = usual.too_long(values.get(..at + 1 - length).unwrap_or(&[]));
        }
        out.push(Run { length, too_long });
    }
    out
}

impl Usual {
    /// Length from which a run after the readings `before` is no longer chance.
    fn too_long(&self, before: &[f64]) -> usize {
        let modelled = if self.noise > 0.0 {
            1.0 - 2.0 * normal_tail(0.5 * self.resolution / self.noise)
        } else {
            1.0
        };
        let share = CLUSTERING * modelled.max(self.observed(before));
        let share = share.clamp(1e-3, 0.995);
        let needed = 1.0 + (self.rate / (1.0 - share)).min(0.5).ln() / f64::ln(share);
        SHORTEST.max(needed.ceil() as usize)
    }

    /// Share of equal neighbours among the readings `before` a run: an upper bound, so that
    /// few readings do not make repeats look rare.
    fn observed(&self, before: &[f64]) -> f64 {
        let from = before.len().saturating_sub(self.memory);
        // With the one before them.
        let known = before.get(from.saturating_sub(1)..).unwrap_or(&[]);
        let pairs = known.windows(2);
        let found = pairs.filter(|pair| pair.first() == pair.last()).count() as f64;
        (found + 2.0 + found.sqrt()) / ((before.len() - from) as f64 + 4.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usual(noise: f64, resolution: f64, rate: f64) -> Usual {
        Usual {
            noise,
            resolution,
            rate,
            memory: 250,
        }
    }

    #[test]
    fn copied_values_are_seen_and_coarse_rounding_is_not() {
        let mut noise = crate::drift::fixtures::Noise::new(5);
        let fine: Vec<f64> = noise
            .autoregressive(200, 0.2)
            .iter()
            .map(|v| (v * 10.0).round() / 10.0)
            .collect();
        let fires = |values: &[f64], step: f64| {
            runs(values, &usual(1.4, step, 5e-5), 0)
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
        let lengths: Vec<usize> = runs(&[1.0, 1.0, 2.0, 2.0, 2.0, 1.0], &usual(1.0, 0.1, 1e-4), 0)
            .iter()
            .map(|r| r.length)
            .collect();
        assert_eq!(lengths, [1, 2, 1, 2, 3, 1]);
    }

    #[test]
    fn runs_from_any_reading_on_are_those_of_the_whole() {
        let coarse: Vec<f64> = crate::drift::fixtures::Noise::new(6)
            .autoregressive(300, 0.3)
            .iter()
            .map(|v| (v / 1.5).round() * 1.5)
            .collect();
        let usual = usual(1.4, 1.5, 5e-5);
        let all = runs(&coarse, &usual, 0);
        assert!(all.iter().any(|run| run.too_long != usize::MAX));
        for from in 0..=300 {
            assert_eq!(runs(&coarse, &usual, from), all[from..], "from {from}");
        }
        // The definition, at one run: 2 equal pairs among 8 readings before it.
        let mut few = vec![1.0, 1.0, 2.0, 3.0, 3.0, 4.0, 5.0, 6.0];
        few.extend([7.0; 5]);
        let share = usual.observed(&few[..8]);
        assert_eq!(share, (2.0 + 2.0 + 2.0_f64.sqrt()) / 12.0);
    }
}
