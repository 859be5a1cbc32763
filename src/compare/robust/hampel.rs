//! Hampel's estimator of the centre, in finite steps.
//!
//! Results within 1.5 s* count in full, those up to 3 s* as if they stood there, from there
//! to 4.5 s* less and less, and beyond not at all. The sum of these influences is piecewise
//! linear in the centre, so its zeros are found exactly between its corners.
//!
//! Source: ISO 13528:2015 C.5.3, from memory: of several solutions the nearest to the
//! median holds, and the median itself when two are equally near.

use crate::stats::quantile::median_of_sorted;

/// The corners of the influence function, in s*.
const CORNERS: [f64; 3] = [1.5, 3.0, 4.5];
/// A sum of influences is 0 when it is not more than this per participant, and two
/// distances are equal when they differ by less, in s*: rounding.
const ROUNDING: f64 = 1e-12;

/// Influence of a result `q` spreads from the centre.
fn influence(q: f64) -> f64 {
    let [full, held, gone] = CORNERS;
    let size = q.abs();
    let weight = if size <= full {
        size
    } else if size <= held {
        full
    } else if size < gone {
        gone - size
    } else {
        0.0
    };
    weight.copysign(q)
}

/// The centre of `sorted` (ascending) given their `spread`, above 0; 0 when empty.
pub(super) fn hampel_centre(sorted: &[f64], spread: f64) -> f64 {
    let Some(median) = median_of_sorted(sorted) else {
        return 0.0;
    };
    let sums = Influences { sorted, spread };
    let at_median = sums.at(median);
    if at_median.abs() <= sums.nothing() {
        return median;
    }
    let mut corners: Vec<f64> = sorted
        .iter()
        .flat_map(|y| {
            CORNERS
                .iter()
                .flat_map(move |k| [y - k * spread, y + k * spread])
        })
        .collect();
    corners.sort_unstable_by(f64::total_cmp);
    let split = corners.partition_point(|corner| *corner < median);
    let (down, up) = corners.split_at(split);
    let start = Corner {
        at: median,
        sum: at_median,
    };
    // The sum falls through its zero, so the likely side is walked first; the other needs
    // walking only as far.
    let walk = |upwards: bool, farthest: f64| match upwards {
        true => sums.first_zero(start, up.iter(), farthest),
        false => sums.first_zero(start, down.iter().rev(), farthest),
    };
    let likely = at_median > 0.0;
    let first = walk(likely, f64::INFINITY);
    let reach = first.map_or(f64::INFINITY, |zero| (zero - median).abs());
    let second = walk(!likely, reach + ROUNDING * spread);
    match (first, second) {
        (Some(zero), None) | (None, Some(zero)) => zero,
        (Some(first), Some(second)) => {
            let nearer = (first - median).abs() - (second - median).abs();
            if nearer.abs() <= ROUNDING * spread {
                median
            } else if nearer < 0.0 {
                first
            } else {
                second
            }
        }
        (None, None) => median,
    }
}

#[derive(Debug, Clone, Copy)]
struct Corner {
    at: f64,
    sum: f64,
}

struct Influences<'a> {
    sorted: &'a [f64],
    spread: f64,
}

impl Influences<'_> {
    /// Sum of the influences about the centre `at`.
    fn at(&self, at: f64) -> f64 {
        let reach = CORNERS[2] * self.spread;
        let from = self.sorted.partition_point(|y| *y < at - reach);
        self.sorted
            .iter()
            .skip(from)
            .take_while(|y| **y <= at + reach)
            .map(|y| influence((y - at) / self.spread))
            .sum()
    }

    /// A sum not above this is 0.
    fn nothing(&self) -> f64 {
        ROUNDING * self.sorted.len() as f64
    }

    /// The first zero from `start` along `corners`, none farther than `farthest`.
    fn first_zero<'c>(
        &self,
        start: Corner,
        corners: impl Iterator<Item = &'c f64>,
        farthest: f64,
    ) -> Option<f64> {
        let mut last = start;
        for &at in corners {
            if (last.at - start.at).abs() > farthest {
                return None;
            }
            let sum = self.at(at);
            if sum.abs() <= self.nothing() {
                return Some(at);
            }
            if (sum > 0.0) != (last.sum > 0.0) {
                let share = last.sum / (last.sum - sum);
                return Some(last.at + share * (at - last.at));
            }
            last = Corner { at, sum };
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::normals;
    use super::*;
    use rand::SeedableRng;

    /// All zeros of the sum from the definition, over every pair of neighbouring corners.
    fn spelt_out(sorted: &[f64], spread: f64) -> f64 {
        let sum = |at: f64| -> f64 { sorted.iter().map(|y| influence((y - at) / spread)).sum() };
        let median = median_of_sorted(sorted).unwrap();
        let mut corners: Vec<f64> = sorted
            .iter()
            .flat_map(|y| [-4.5, -3.0, -1.5, 1.5, 3.0, 4.5].map(|k| y + k * spread))
            .collect();
        corners.sort_unstable_by(f64::total_cmp);
        let mut zeros = Vec::new();
        for pair in corners.windows(2) {
            let (a, b) = (sum(pair[0]), sum(pair[1]));
            if a.abs() < 1e-11 {
                zeros.push(pair[0]);
            } else if b.abs() >= 1e-11 && a * b < 0.0 {
                zeros.push(pair[0] - a / ((b - a) / (pair[1] - pair[0])));
            }
        }
        zeros
            .into_iter()
            .min_by(|a, b| (a - median).abs().total_cmp(&(b - median).abs()))
            .unwrap()
    }

    #[test]
    fn the_influence_function() {
        let values = [0.0, 1.0, 1.5, 2.0, 3.0, 4.0, 4.5, 9.0];
        let expected = [0.0, 1.0, 1.5, 1.5, 1.5, 0.5, 0.0, 0.0];
        for (q, found) in values.iter().zip(expected) {
            assert_eq!(influence(*q), found);
            assert_eq!(influence(-q), -found);
        }
    }

    #[test]
    fn walking_from_the_median_finds_what_looking_everywhere_finds() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(21);
        for round in 0..400 {
            let mut values = normals(&mut rng, 3 + round % 30);
            // Wild results, and spreads from far too small to far too large.
            values.iter_mut().step_by(4).for_each(|y| *y *= 6.0);
            values.sort_unstable_by(f64::total_cmp);
            let spread = [0.05, 0.3, 1.0, 5.0][round % 4];
            let (found, expected) = (hampel_centre(&values, spread), spelt_out(&values, spread));
            let median = median_of_sorted(&values).unwrap();
            // Equally near on both sides, or on a stretch of zeros: the median.
            let same = (found - expected).abs() < 1e-9;
            assert!(
                same || found == median,
                "round {round}: {found} {expected} {median} {values:?}"
            );
        }
    }

    #[test]
    fn is_the_mean_of_results_that_lie_close_together() {
        let found = hampel_centre(&[-1.0, -0.2, 0.1, 0.5, 1.4], 1.0);
        assert!((found - 0.16).abs() < 1e-15, "{found}");
        // One beyond 4.5 spreads does not count at all.
        let found = hampel_centre(&[-1.0, -0.2, 0.1, 0.5, 9.0], 1.0);
        assert!((found + 0.15).abs() < 1e-15, "{found}");
    }

    #[test]
    fn two_solutions_equally_near_give_the_median() {
        // Two clusters that do not see each other: each is a solution, the middle too.
        let found = hampel_centre(&[-10.0, -9.9, 9.9, 10.0], 1.0);
        assert_eq!(found, 0.0);
        assert_eq!(hampel_centre(&[], 1.0), 0.0);
    }
}
