//! How far a vector of readings lies from those before it, all of them together.
//!
//! The distance is Hotelling's T² of a future observation: mean and covariance come from
//! `n` earlier vectors, and its limits allow for how little they tell. For independent
//! normal vectors T² (n − p) / (p (n − 1)) · n / (n + 1) follows F with p and n − p degrees of
//! freedom (Tracy, Young & Mason, J. Qual. Technol. 24, 88 (1992), from memory). Drawing the
//! correlations toward 0 while few vectors are known was tried: it lost power at every size
//! and correlation simulated, and the limits need no such help. What is done with the
//! distance, and when, is `together`'s.

use crate::stats::tails::{f_above, f_exceeded};

/// F below which no budget signals.
const ORDINARY: f64 = 1.4;
/// Least share of a variance that the others leave over: below it two members are one.
const LEAST_OWN: f64 = 1e-6;

/// Sums over vectors of `p` numbers: their count, sums and sums of products.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Moments {
    pub(super) count: f64,
    pub(super) sum: Vec<f64>,
    /// Row by row, `p` × `p`.
    pub(super) product: Vec<f64>,
}

impl Moments {
    pub(super) fn new(p: usize) -> Moments {
        Moments {
            count: 0.0,
            sum: vec![0.0; p],
            product: vec![0.0; p * p],
        }
    }

    /// Adds a vector `times` times; −1 takes it out again.
    pub(super) fn add(&mut self, vector: &[f64], times: f64) {
        self.count += times;
        for (sum, x) in self.sum.iter_mut().zip(vector) {
            *sum += times * x;
        }
        let rows = self.product.chunks_exact_mut(vector.len().max(1));
        for (row, x) in rows.zip(vector) {
            for (cell, y) in row.iter_mut().zip(vector) {
                *cell += times * x * y;
            }
        }
    }

    fn mean(&self, member: usize) -> f64 {
        self.sum.get(member).copied().unwrap_or(0.0) / self.count
    }

    /// Covariance of two members of those means, with n − 1 in the denominator; `floor` is that
    /// of the one where both are the same.
    fn covariance(
        &self,
        (a, mean_of_a): (usize, f64),
        (b, mean_of_b): (usize, f64),
        floor: Floor,
    ) -> f64 {
        let product = self.product.get(a * self.sum.len() + b);
        let square = product.copied().unwrap_or(0.0) - self.count * mean_of_a * mean_of_b;
        let seen = square / (self.count - 1.0);
        if a == b {
            seen.max(floor.least) + floor.added
        } else {
            seen
        }
    }
}

/// What rounding does to the variance of a member.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Floor {
    /// Least variance believed.
    pub(super) least: f64,
    /// Variance of its own that is added: coarsely rounded members hop together or apart.
    pub(super) added: f64,
}

/// One member's part in a distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Part {
    /// Index of the member.
    pub(super) member: usize,
    /// How far it is from what the others and the readings before lead to expect, in the
    /// unit of the vectors; positive when above.
    pub(super) beyond_expected: f64,
    /// Share of the statistic that goes when the member is left out (Runger, Alt &
    /// Montgomery, Commun. Stat. 25, 2203 (1996), from memory); the shares need not sum to 1.
    pub(super) share: f64,
}

/// A vector judged.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Distance {
    /// T² with the allowance for a future observation, n / (n + 1).
    pub(super) statistic: f64,
    /// Chance of one at least as large in a steady cabinet.
    pub(super) chance: f64,
    /// Members judged and vectors known.
    pub(super) members: usize,
    pub(super) known: f64,
    covariance: Vec<f64>,
    off: Vec<f64>,
    place: Vec<usize>,
}

impl Distance {
    /// Distance of `vector` from `known` in the members `place` (ascending indices);
    /// `None` when fewer vectors are known than can tell. `floor` is what rounding
    /// does to every member, parallel to the vectors.
    pub(super) fn of(
        known: &Moments,
        vector: &[f64],
        place: &[usize],
        floor: &[Floor],
    ) -> Option<Distance> {
        Distance::from_f_on(0.0, known, vector, place, floor)
    }

    /// The same; `None` too when no budget would signal.
    pub(super) fn unless_ordinary(
        known: &Moments,
        vector: &[f64],
        place: &[usize],
        floor: &[Floor],
    ) -> Option<Distance> {
        Distance::from_f_on(ORDINARY, known, vector, place, floor)
    }

    fn from_f_on(
        least: f64,
        known: &Moments,
        vector: &[f64],
        place: &[usize],
        floor: &[Floor],
    ) -> Option<Distance> {
        let p = place.len();
        let n = known.count;
        let freedom = n - p as f64;
        if p == 0 || freedom < 2.0 {
            return None;
        }
        let means: Vec<(usize, f64)> = place.iter().map(|&m| (m, known.mean(m))).collect();
        // Row by row up to the diagonal, or whole.
        let covariance = |whole: bool| {
            let mut covariance = vec![0.0; p * p];
            for ((row, a), i) in covariance.chunks_exact_mut(p).zip(&means).zip(1..) {
                let floor = *floor.get(a.0)?;
                let columns = if whole { p } else { i };
                for (cell, b) in row.iter_mut().zip(&means).take(columns) {
                    *cell = known.covariance(*a, *b, floor);
                }
            }
            Some(covariance)
        };
        let off: Vec<f64> = means
            .iter()
            .map(|(m, mean)| vector.get(*m).map(|x| x - mean))
            .collect::<Option<_>>()?;
        // The rest of it matters only where the parts may be asked for.
        let square = square_of(covariance(false)?, &off)?;
        let statistic = square * n / (n + 1.0);
        let f = statistic * freedom / (p as f64 * (n - 1.0));
        if f < least {
            return None;
        }
        let chance = if f < ORDINARY {
            1.0
        } else {
            f_above(f, p as f64, freedom)?
        };
        Some(Distance {
            statistic,
            chance,
            members: p,
            known: n,
            covariance: covariance(true)?,
            off,
            place: place.to_vec(),
        })
    }

    /// The statistic that is exceeded with probability `chance`.
    pub(super) fn limit(&self, chance: f64) -> Option<f64> {
        let p = self.members as f64;
        let freedom = self.known - p;
        Some(f_exceeded(chance, p, freedom)? * p * (self.known - 1.0) / freedom)
    }

    /// Each member's part, in the order of the members.
    pub(super) fn parts(&self) -> Vec<Part> {
        let p = self.members;
        let Some(inverse) = inverse(self.covariance.clone(), p) else {
            return Vec::new();
        };
        let weighed = products(&inverse, &self.off);
        let total: f64 = weighed.zip(&self.off).map(|(w, d)| w * d).sum();
        products(&inverse, &self.off)
            .zip(&self.place)
            .enumerate()
            .map(|(i, (weighed, &member))| {
                // The conditional variance given the others is the inverse's diagonal, inverted.
                let own = inverse.get(i * p + i).copied().unwrap_or(1.0);
                Part {
                    member,
                    beyond_expected: weighed / own,
                    share: if total > 0.0 {
                        (weighed * weighed / own / total).min(1.0)
                    } else {
                        0.0
                    },
                }
            })
            .collect()
    }
}

/// `matrix` · `vector`, element by element.
fn products<'a>(matrix: &'a [f64], vector: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    matrix
        .chunks_exact(vector.len().max(1))
        .map(move |row| row.iter().zip(vector).map(|(a, b)| a * b).sum())
}

/// `off` · matrix⁻¹ · `off` of a symmetric positive definite matrix, of which the cells up to the
/// diagonal are read, row by row, by Cholesky's factor; `None` when a member is all but a
/// combination of those before it.
fn square_of(mut matrix: Vec<f64>, off: &[f64]) -> Option<f64> {
    let p = off.len();
    let mut solved: Vec<f64> = Vec::with_capacity(p);
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(x, y)| x * y).sum() };
    for (i, d) in off.iter().enumerate() {
        // The factor takes the place of the rows above.
        let (above, rest) = matrix.split_at_mut_checked(i * p)?;
        let row = rest.get_mut(..=i)?;
        for (j, factor) in above.chunks_exact(p).enumerate() {
            let (before, cells) = row.split_at_mut_checked(j)?;
            let cell = cells.first_mut()?;
            let left = *cell - dot(before, factor);
            *cell = left / factor.get(j)?;
        }
        let (variance, before) = row.split_last()?;
        let left_over = variance - dot(before, before);
        if !(left_over > LEAST_OWN * variance && left_over.is_finite()) {
            return None;
        }
        let root = left_over.sqrt();
        solved.push((d - dot(before, &solved)) / root);
        *row.last_mut()? = root;
    }
    Some(dot(&solved, &solved))
}

/// Inverse of a symmetric positive definite matrix, row by row; `None` when a member is all
/// but a combination of those before it.
fn inverse(mut matrix: Vec<f64>, p: usize) -> Option<Vec<f64>> {
    let variances: Vec<f64> = matrix.iter().step_by(p + 1).copied().collect();
    // Gauss and Jordan in place; no pivoting is needed.
    for (pivot, variance) in variances.iter().enumerate() {
        let top: Vec<f64> = matrix.get(pivot * p..(pivot + 1) * p)?.to_vec();
        let left_over = *top.get(pivot)?;
        if !(left_over > LEAST_OWN * variance && left_over.is_finite()) {
            return None;
        }
        for (i, row) in matrix.chunks_exact_mut(p).enumerate() {
            let factor = *row.get(pivot)? / left_over;
            for (j, (cell, of_top)) in row.iter_mut().zip(&top).enumerate() {
                *cell = match (i == pivot, j == pivot) {
                    (true, true) => left_over.recip(),
                    (true, false) => *of_top / left_over,
                    (false, true) => -factor,
                    (false, false) => *cell - factor * of_top,
                };
            }
        }
    }
    Some(matrix)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, numbers};

    const TABLE: &str = include_str!("../../tests/reference/together/future_observation.csv");
    const STATISTIC: f64 = 34.822520706314805;
    const CHANCE: f64 = 0.00040669198238900645;
    const LIMIT: f64 = 23.749063761828058;
    /// Beyond expected, and share, of each member.
    const PARTS: [(f64, f64); 3] = [
        (0.12432084437549462, 0.9088411533344454),
        (-2.0846302814706448, 0.9036897700948233),
        (0.011394352045011713, 0.49077450334545913),
    ];
    const OF_TWO: f64 = 3.3537649751029557;

    /// The twenty earlier vectors of the table, and its last one.
    fn example() -> (Moments, Vec<f64>) {
        let rows = numbers(TABLE);
        let (last, earlier) = rows.split_last().unwrap();
        let mut known = Moments::new(3);
        for row in earlier {
            known.add(row, 1.0);
        }
        (known, last.clone())
    }

    #[test]
    fn a_future_observation_agrees_with_the_reference() {
        let (known, vector) = example();
        let found = Distance::of(&known, &vector, &[0, 1, 2], &[Floor::default(); 3]).unwrap();
        assert_close(found.statistic, STATISTIC, 1e-9, "statistic");
        assert_close(found.chance, CHANCE, 1e-8, "chance");
        assert_close(found.limit(1.0 / 370.0).unwrap(), LIMIT, 1e-8, "limit");
        for (part, (beyond, share)) in found.parts().iter().zip(PARTS) {
            assert_close(
                part.beyond_expected,
                beyond,
                1e-9,
                "beyond what is expected",
            );
            assert_close(part.share, share, 1e-9, "share");
        }
        let unusual =
            Distance::unless_ordinary(&known, &vector, &[0, 1, 2], &[Floor::default(); 3]);
        assert_eq!(unusual, Some(found));
        let usual: Vec<f64> = known.sum.iter().map(|sum| sum / known.count).collect();
        let floor = [Floor::default(); 3];
        assert!(Distance::unless_ordinary(&known, &usual, &[0, 1, 2], &floor).is_none());
        assert_eq!(
            Distance::of(&known, &usual, &[0, 1, 2], &floor)
                .unwrap()
                .chance,
            1.0
        );
        let two = Distance::of(&known, &vector, &[0, 2], &[Floor::default(); 3]).unwrap();
        assert_close(two.statistic, OF_TWO, 1e-9, "two members");
    }

    #[test]
    fn members_that_are_one_and_too_few_vectors_give_nothing() {
        let mut known = Moments::new(2);
        for i in 0..30_i32 {
            let x = f64::from(i * 7 % 11);
            known.add(&[x, 2.0 * x], 1.0);
        }
        assert!(Distance::of(&known, &[1.0, 2.0], &[0, 1], &[Floor::default(); 2]).is_none());
        assert!(inverse(vec![1.0, 1.0, 1.0, 1.0], 2).is_none());
        assert!(square_of(vec![1.0, 1.0, 1.0, 1.0], &[1.0, 2.0]).is_none());
        assert!(Distance::of(&known, &[1.0, 2.0], &[], &[Floor::default(); 2]).is_none());
        let mut few = Moments::new(2);
        few.add(&[1.0, 2.0], 1.0);
        few.add(&[2.0, 1.0], 1.0);
        assert!(Distance::of(&few, &[1.0, 2.0], &[0, 1], &[Floor::default(); 2]).is_none());
    }

    #[test]
    fn taking_out_a_vector_undoes_adding_it() {
        let (mut known, vector) = example();
        let before = known.clone();
        known.add(&vector, 1.0);
        known.add(&vector, -1.0);
        assert_eq!(known.count, before.count);
        for (a, b) in known.product.iter().zip(&before.product) {
            assert!((a - b).abs() < 1e-9);
        }
    }
}
