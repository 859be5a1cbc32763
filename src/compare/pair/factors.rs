//! The simultaneous factor of a family: how many standard errors a difference must exceed.
//!
//! A family of half a million pairs asks for it at as many degrees of freedom; it is
//! computed at a hundred of them and interpolated. It judges nothing.

use super::{EQUIVALENCE_LEVEL, FAMILY_ERROR};
use crate::stats::studentized_range::StudentizedRange;
use crate::stats::{normal, tails};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// Intervals of the table over 1/df from 0 to 1, narrow near 0, where most pairs are.
const INTERVALS: usize = 96;
/// The larger, the more evenly they lie: interval i of n ends at c·i/(n(1 + c) − i).
const EVENNESS: f64 = 0.1;
/// Points of each local interpolation (degree 5): relative error below 2e-6, and below
/// 3e-5 under two degrees of freedom.
const POINTS: usize = 6;

/// The logarithm of a factor over 1/df.
#[derive(Debug, Clone)]
struct Table {
    ln_factor: Vec<f64>,
}

impl Table {
    fn new(factor: impl Fn(f64) -> Option<f64>) -> Option<Table> {
        let ln_factor = (0..=INTERVALS)
            .map(|i| {
                let df = match i {
                    0 => f64::INFINITY,
                    _ => (INTERVALS as f64 * (1.0 + EVENNESS) - i as f64) / (EVENNESS * i as f64),
                };
                factor(df).map(f64::ln)
            })
            .collect::<Option<Vec<f64>>>()?;
        Some(Table { ln_factor })
    }

    /// The factor at `df`, which counts as at least 1.
    fn at(&self, df: f64) -> f64 {
        let inverse = df.max(1.0).recip();
        let place = INTERVALS as f64 * (1.0 + EVENNESS) * inverse / (inverse + EVENNESS);
        let first = (place as usize)
            .saturating_sub(POINTS / 2 - 1)
            .min(INTERVALS + 1 - POINTS);
        let Some(near) = self.ln_factor.get(first..first + POINTS) else {
            return f64::INFINITY;
        };
        // Newton's forward differences.
        let offset = place - first as f64;
        let mut differences = [0.0; POINTS];
        differences.copy_from_slice(near);
        let (mut sum, mut share) = (0.0, 1.0);
        for order in 0..POINTS {
            sum += share * differences[0];
            for i in 0..POINTS - 1 - order {
                differences[i] = differences[i + 1] - differences[i];
            }
            share *= (offset - order as f64) / (order + 1) as f64;
        }
        sum.exp()
    }
}

/// The factors of one family.
#[derive(Debug, Clone)]
pub(super) struct Factors {
    simultaneous: Table,
    one_sided: Table,
    /// Level of the simultaneous intervals.
    pub(super) level: f64,
}

impl Factors {
    /// For all pairs of `participants`, `characteristics` sharing the error rate.
    pub(super) fn new(participants: usize, characteristics: usize) -> Option<Factors> {
        let range = StudentizedRange::new(participants)?;
        let p = FAMILY_ERROR / characteristics.max(1) as f64;
        Some(Factors {
            simultaneous: Table::new(|df| {
                Some(range.exceeded(p, df)? * std::f64::consts::FRAC_1_SQRT_2)
            })?,
            one_sided: Table::new(|df| {
                let p = 0.5 * (1.0 - EQUIVALENCE_LEVEL);
                if df.is_finite() {
                    tails::t_exceeded(p, df)
                } else {
                    normal::quantile(1.0 - p)
                }
            })?,
            level: 1.0 - p,
        })
    }

    /// Standard errors that any difference of the family exceeds with the shared error
    /// rate only: the upper point of the studentized range over √2 (Tukey 1953, Kramer
    /// 1956; with Welch's degrees of freedom Games & Howell 1976; all from memory).
    pub(super) fn simultaneous(&self, df: f64) -> f64 {
        self.simultaneous.at(df)
    }

    /// The same for an interval of two one-sided tests of one pair.
    pub(super) fn one_sided(&self, df: f64) -> f64 {
        self.one_sided.at(df)
    }
}

/// Factors by family, computed when first asked for.
#[derive(Debug, Clone, Default)]
pub struct FactorStore {
    known: BTreeMap<(usize, usize), Factors>,
}

impl FactorStore {
    /// An empty store; keep it over the characteristics of a comparison.
    pub fn new() -> FactorStore {
        FactorStore::default()
    }

    /// `None` below 2 participants and above the reach of the tables.
    pub(super) fn of(&mut self, participants: usize, characteristics: usize) -> Option<&Factors> {
        let key = (participants, characteristics.max(1));
        Some(match self.known.entry(key) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(free) => free.insert(Factors::new(key.0, key.1)?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolated_factors_are_the_computed_ones() {
        for (participants, characteristics) in [(2, 1), (8, 6), (1_000, 8)] {
            let factors = Factors::new(participants, characteristics).unwrap();
            let range = StudentizedRange::new(participants).unwrap();
            for df in [
                1.0,
                1.05,
                1.7,
                2.3,
                4.4,
                7.9,
                31.0,
                250.0,
                1e4,
                f64::INFINITY,
            ] {
                let p = FAMILY_ERROR / characteristics as f64;
                let exact = range.exceeded(p, df).unwrap() / 2f64.sqrt();
                let found = factors.simultaneous(df);
                let off = (found / exact - 1.0).abs();
                assert!(
                    off < if df < 2.0 { 3e-5 } else { 2e-6 },
                    "{participants} {df}: {found} for {exact}, off {off:e}"
                );
            }
        }
    }

    #[test]
    fn the_equivalence_factor_is_that_of_t() {
        let factors = Factors::new(2, 1).unwrap();
        assert!((factors.one_sided(f64::INFINITY) - 1.644_853_626_951).abs() < 1e-9);
        let exact = tails::t_exceeded(0.05, 17.3).unwrap();
        assert!((factors.one_sided(17.3) / exact - 1.0).abs() < 1e-7);
    }

    #[test]
    fn a_family_needs_two() {
        let mut store = FactorStore::new();
        assert!(store.of(1, 3).is_none());
        assert!(store.of(2, 0).is_some());
    }
}
