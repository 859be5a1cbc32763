//! The Q method: a spread from the differences between participants, without a centre.
//!
//! A quantile of all pairwise differences, smoothed over ties, scaled to a standard
//! deviation. It is found by counting pairs over sorted results, so that a thousand
//! participants (499,500 differences) never have to be listed. Worth 82 % of the standard
//! deviation on normal results, and holds with nearly half of the results wild.
//!
//! Source: ISO 13528:2015 C.5.2, after Müller & Uhlig, Biometrika 88 (2001) 353, all from
//! memory; no published worked result was at hand. The tests compare with the definition
//! written out pair by pair, and with the truth in simulations.

use super::hampel::hampel_centre;
use super::sample::Sample;
use super::{Course, FEWEST_PARTICIPANTS, Method, Refused, RobustEstimate};
use crate::stats::{normal, sum};

/// Halvings after which binary64 has nothing left to halve.
const MOST_HALVINGS: u32 = 128;

/// Q method and Hampel's estimator over `values`, one per participant, in any order.
///
/// The spread is 0 only when all results are the same. Both are found by a formula that
/// ends, in O(p log p) for the spread.
///
/// # Errors
/// [`Refused`] below three results, and when one is not finite.
///
/// ```
/// use steadyfog::compare::robust::q_hampel;
/// let found = q_hampel(&[7.1, 7.0, 7.2, 6.9, 7.0, 9.6])?;
/// // The one far off does not count at all: this is the mean of the other five.
/// assert!((found.centre() - 7.04).abs() < 1e-12);
/// # Ok::<(), steadyfog::compare::robust::Refused>(())
/// ```
pub fn q_hampel(values: &[f64]) -> Result<RobustEstimate, Refused> {
    let sample = Sample::new(values, FEWEST_PARTICIPANTS)?;
    let differences = Differences::of_single(&sample);
    Ok(finish(&sample, &differences, sample.deviations()))
}

/// Q method and Hampel's estimator over several results per participant.
///
/// Differences are taken between participants only, each pair of participants weighing the
/// same however many results it has. The spread is that of a single result
/// (reproducibility); the centre is that of the participants' means. A participant may have
/// one result; numbers of results may differ.
///
/// # Errors
/// [`Refused`] below three participants, when one has no result, and when a result is not
/// finite.
pub fn q_hampel_of_replicates(participants: &[&[f64]]) -> Result<RobustEstimate, Refused> {
    let mut all = Vec::with_capacity(participants.iter().map(|own| own.len()).sum());
    let mut means = Vec::with_capacity(participants.len());
    for (position, own) in participants.iter().enumerate() {
        if own.iter().any(|x| !x.is_finite()) {
            return Err(Refused::NotFinite { position });
        }
        means.push(mean_within(own).ok_or(Refused::NoResult { position })?);
        all.extend_from_slice(own);
    }
    // The means first: they tell whether there are enough participants.
    Sample::new(&means, FEWEST_PARTICIPANTS)?;
    let sample = Sample::new(&all, FEWEST_PARTICIPANTS)?;
    let mut scaled: Vec<f64> = means.iter().map(|x| sample.scaled(*x)).collect();
    scaled.sort_unstable_by(f64::total_cmp);
    let differences = Differences::of_replicates(&sample, participants);
    let found = finish(&sample, &differences, &scaled);
    Ok(RobustEstimate {
        participants: participants.len(),
        ..found
    })
}

/// The mean about the first value, so that no sum overflows; `None` when there is none.
fn mean_within(own: &[f64]) -> Option<f64> {
    let first = *own.first()?;
    let rest: Vec<f64> = own.iter().map(|x| x - first).collect();
    Some(first + sum::mean(&rest)?)
}

fn finish(sample: &Sample, differences: &Differences, means: &[f64]) -> RobustEstimate {
    match differences.spread(sample.resolution()) {
        Some(spread) if spread > sample.resolution() => {
            let centre = hampel_centre(means, spread);
            sample.estimate(Method::QHampel, centre, spread, Course::Finite)
        }
        _ => sample.identical_estimate(Method::QHampel),
    }
}

/// One result, scaled, with its participant and its weight 1/nᵢ.
#[derive(Debug, Clone, Copy)]
struct Owned {
    value: f64,
    owner: usize,
    weight: f64,
}

/// All differences between results of different participants, not listed.
struct Differences {
    /// Ascending.
    results: Vec<Owned>,
    /// `weights_before[k]`: weights of the first k results.
    weights_before: Vec<f64>,
    /// The results of each participant that has several, ascending: their differences
    /// among themselves do not count.
    groups: Vec<Vec<f64>>,
    /// Pairs of participants.
    pairs: f64,
}

/// A point where the distribution of differences steps: the difference, and the smoothed
/// distribution there.
#[derive(Debug, Clone, Copy)]
struct Step {
    at: f64,
    smoothed: f64,
}

impl Differences {
    fn of_single(sample: &Sample) -> Differences {
        let results = sample
            .deviations()
            .iter()
            .enumerate()
            .map(|(owner, &value)| Owned {
                value,
                owner,
                weight: 1.0,
            })
            .collect();
        Differences::new(results, Vec::new(), sample.len())
    }

    fn of_replicates(sample: &Sample, participants: &[&[f64]]) -> Differences {
        let mut results = Vec::with_capacity(sample.len());
        let mut groups = Vec::new();
        for (owner, own) in participants.iter().enumerate() {
            let mut scaled: Vec<f64> = own.iter().map(|x| sample.scaled(*x)).collect();
            scaled.sort_unstable_by(f64::total_cmp);
            let weight = 1.0 / own.len() as f64;
            results.extend(scaled.iter().map(|&value| Owned {
                value,
                owner,
                weight,
            }));
            if own.len() > 1 {
                groups.push(scaled);
            }
        }
        results.sort_unstable_by(|a, b| {
            a.value
                .total_cmp(&b.value)
                .then_with(|| a.owner.cmp(&b.owner))
        });
        Differences::new(results, groups, participants.len())
    }

    fn new(results: Vec<Owned>, groups: Vec<Vec<f64>>, participants: usize) -> Differences {
        let mut weights_before = vec![0.0];
        let mut total = 0.0;
        for result in &results {
            total += result.weight;
            weights_before.push(total);
        }
        let p = participants as f64;
        Differences {
            results,
            weights_before,
            groups,
            pairs: 0.5 * p * (p - 1.0),
        }
    }

    /// The robust standard deviation; `None` when no difference is more than `same`.
    fn spread(&self, same: f64) -> Option<f64> {
        let ties = self.share_within(same);
        let target = 0.25 + 0.75 * ties;
        let (first, last) = (self.results.first()?, self.results.last()?);
        let (mut low, mut high) = (same, last.value - first.value);
        if high <= same || ties >= 1.0 - 1e-12 {
            return None;
        }
        // Always: the share within `low` is below the target, that within `high` is not.
        for _ in 0..MOST_HALVINGS {
            if high - low <= same {
                break;
            }
            let middle = low + 0.5 * (high - low);
            if self.share_within(middle) >= target {
                high = middle;
            } else {
                low = middle;
            }
        }
        let reached = self.step(self.least_above(low)?, same);
        let (below, above) = if reached.smoothed >= target {
            (self.step_before(reached.at, same), reached)
        } else {
            let next = self.least_above(reached.at + same);
            (reached, next.map_or(reached, |at| self.step(at, same)))
        };
        let climb = above.smoothed - below.smoothed;
        let share = if climb > 0.0 {
            ((target - below.smoothed) / climb).clamp(0.0, 1.0)
        } else {
            1.0
        };
        let difference = below.at + share * (above.at - below.at);
        let scale = std::f64::consts::SQRT_2 * normal::quantile(0.625 + 0.375 * ties)?;
        Some(difference / scale)
    }

    /// The distribution halfway up its step at the difference `at`.
    fn step(&self, at: f64, same: f64) -> Step {
        let smoothed = 0.5 * (self.share_within(at + same) + self.share_within(at - same));
        Step { at, smoothed }
    }

    /// The step before the difference `at`; the smoothed distribution begins with 0 at 0.
    fn step_before(&self, at: f64, same: f64) -> Step {
        match self.most_below(at - same) {
            Some(before) if before > same => self.step(before, same),
            _ => Step {
                at: 0.0,
                smoothed: 0.0,
            },
        }
    }

    /// The share of the differences that are at most `limit`.
    fn share_within(&self, limit: f64) -> f64 {
        let mut first = 0;
        let mut found = 0.0;
        for (k, result) in self.results.iter().enumerate() {
            while self
                .results
                .get(first)
                .is_some_and(|other| first < k && result.value - other.value > limit)
            {
                first += 1;
            }
            found += result.weight * self.weight_of(first, k);
        }
        for own in &self.groups {
            let weight = 1.0 / own.len() as f64;
            found -= weight * weight * pairs_within(own, limit);
        }
        found / self.pairs
    }

    fn weight_of(&self, from: usize, to: usize) -> f64 {
        match (self.weights_before.get(from), self.weights_before.get(to)) {
            (Some(before), Some(upto)) if to > from => upto - before,
            _ => 0.0,
        }
    }

    /// The smallest difference above `limit`.
    fn least_above(&self, limit: f64) -> Option<f64> {
        let mut least: Option<f64> = None;
        let mut from = 0;
        for (k, result) in self.results.iter().enumerate() {
            from = from.max(k + 1);
            while self
                .results
                .get(from)
                .is_some_and(|other| other.value - result.value <= limit)
            {
                from += 1;
            }
            let others = self.results.get(from..).unwrap_or_default();
            if let Some(other) = others.iter().find(|other| other.owner != result.owner) {
                let difference = other.value - result.value;
                least = Some(least.map_or(difference, |least| least.min(difference)));
            }
        }
        least
    }

    /// The largest difference below `limit`.
    fn most_below(&self, limit: f64) -> Option<f64> {
        let mut most: Option<f64> = None;
        let mut upto = 0;
        for (k, result) in self.results.iter().enumerate() {
            upto = upto.max(k + 1);
            while self
                .results
                .get(upto)
                .is_some_and(|other| other.value - result.value < limit)
            {
                upto += 1;
            }
            let others = self.results.get(k + 1..upto).unwrap_or_default();
            if let Some(other) = others.iter().rfind(|other| other.owner != result.owner) {
                let difference = other.value - result.value;
                most = Some(most.map_or(difference, |most| most.max(difference)));
            }
        }
        most
    }
}

/// Pairs of sorted values that are at most `limit` apart.
fn pairs_within(sorted: &[f64], limit: f64) -> f64 {
    let mut first = 0;
    let mut found = 0;
    for (k, value) in sorted.iter().enumerate() {
        while sorted
            .get(first)
            .is_some_and(|other| first < k && value - other > limit)
        {
            first += 1;
        }
        found += k - first;
    }
    found as f64
}

#[cfg(test)]
#[path = "q_method_tests.rs"]
mod tests;
