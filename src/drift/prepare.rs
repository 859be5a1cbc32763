//! Before the search: lone outliers reined in, and the autocorrelation that is believed.

use super::segments::{Coefficients, Term};
use super::whiten::{Kind, Whitened, usual_spacing};

/// Lag-1 autocorrelation of daily checks believed before any is seen, and the readings it counts for.
pub(super) const USUAL_PHI: f64 = 0.25;
const USUAL_PHI_READINGS: f64 = 20.0;
/// Strongest autocorrelation believed: beyond it a level and a wander cannot be told apart.
const LARGEST_PHI: f64 = 0.85;

/// How far a lone reading may lie from the median of its neighbours, standard deviations.
const FAR: f64 = 4.5;

/// A single reading far from its neighbours is moved in to 4.5 standard deviations from
/// their median: it is a signal of its own, and must not pass for a step or bend a slope.
pub(super) fn rein_in_lone_outliers(scaled: &mut [f64]) {
    let mut moved: Vec<Moved> = Vec::new();
    let mut follows_before = false;
    for (index, value) in scaled.iter().enumerate() {
        // A neighbour within half the reach follows it, so the median need not be looked at.
        let next = scaled.get(index + 1);
        let next_follows = next.is_some_and(|next| (next - value).abs() <= 0.5 * FAR);
        if !follows_before && !next_follows {
            moved.extend(moved_in(scaled, index));
        }
        follows_before = next_follows;
    }
    for Moved { index, to } in moved {
        if let Some(slot) = scaled.get_mut(index) {
            *slot = to;
        }
    }
}

/// A reading that is moved in.
struct Moved {
    index: usize,
    to: f64,
}

/// Where the reading at `index` is moved to; `None` when it stays.
fn moved_in(scaled: &[f64], index: usize) -> Option<Moved> {
    let from = index.saturating_sub(3).min(scaled.len().saturating_sub(7));
    let around = scaled.get(from..(from + 7).min(scaled.len()))?;
    let value = scaled.get(index)?;
    // Were it far from their median, so it would be from all on the far side of that, which
    // are half of them at least: mostly fewer are, and the median need not be looked for.
    let far = around.iter().filter(|v| (value - *v).abs() > FAR).count();
    if 2 * far < around.len() {
        return None;
    }
    let middle = middle_of(around);
    let off = value - middle;
    let follows = |j: usize| {
        let neighbour = scaled.get(j);
        neighbour.is_some_and(|v| (v - middle) * off.signum() > 0.5 * FAR)
    };
    let stays = off.abs() <= FAR || follows(index + 1) || follows(index.wrapping_sub(1));
    (!stays).then(|| Moved {
        index,
        to: middle + FAR * off.signum(),
    })
}

/// A level near the readings: the median of seven of them from the first to the last, which
/// three wild ones cannot move away; 0 for none.
pub(super) fn rough_middle(values: &[f64]) -> f64 {
    let last = values.len().saturating_sub(1);
    let some: [f64; 7] = std::array::from_fn(|i| values.get(i * last / 6).copied().unwrap_or(0.0));
    middle_of(&some)
}

/// Median of at most seven numbers, without allocation.
fn middle_of(numbers: &[f64]) -> f64 {
    let mut sorted = [f64::INFINITY; 7];
    for (slot, v) in sorted.iter_mut().zip(numbers) {
        *slot = *v;
    }
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.get(numbers.len() / 2).copied().unwrap_or(0.0)
}

/// Autocorrelation believed after `readings` showed `estimate`.
pub(super) fn believed_phi(estimate: f64, readings: f64, before: f64) -> f64 {
    let weighed =
        (readings * estimate + USUAL_PHI_READINGS * before) / (readings + USUAL_PHI_READINGS);
    weighed.clamp(0.0, LARGEST_PHI)
}

/// Lag-1 autocorrelation of what the model leaves, corrected for small-sample bias and
/// weighed with what was believed before.
pub(super) fn residual_phi(
    days: &[f64],
    scaled: &[f64],
    white: &Whitened,
    terms: &[Term],
    before: f64,
) -> f64 {
    let Some(fit) = Coefficients::of(white, terms) else {
        return before;
    };
    let residuals: Vec<f64> = days
        .iter()
        .enumerate()
        .map(|(i, day)| {
            let sizes = fit.value.iter().skip(1).zip(terms);
            let changes: f64 = sizes
                .map(|(size, term)| match term.kind {
                    Kind::Step if i >= term.at => *size,
                    Kind::Ramp => size * (day - days.get(term.at).unwrap_or(day)).max(0.0),
                    Kind::Step => 0.0,
                })
                .sum();
            scaled.get(i).unwrap_or(&0.0) - fit.value.first().unwrap_or(&0.0) - changes
        })
        .collect();
    let near = 1.5 * usual_spacing(days);
    let (mut product, mut square, mut pairs) = (0.0, 0.0, 0.0);
    for ((e, day), (e_before, day_before)) in residuals
        .iter()
        .zip(days)
        .skip(1)
        .zip(residuals.iter().zip(days))
    {
        if day - day_before <= near {
            product += e * e_before;
            square += 0.5 * (e * e + e_before * e_before);
            pairs += 1.0;
        }
    }
    if pairs < 5.0 || square <= 0.0 {
        return before;
    }
    let plain: f64 = product / square;
    // Kendall (1954): the mean costs (1 + 3 phi) / n; each fitted change costs about as much as a mean.
    let corrected = plain + (1.0 + 3.0 * plain + terms.len() as f64) / pairs;
    believed_phi(corrected, pairs, before)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::Noise;

    /// Every reading held against the median of the seven about it.
    fn plainly(scaled: &[f64]) -> Vec<f64> {
        let n = scaled.len();
        let moved = |index: usize| {
            let from = index.saturating_sub(3).min(n.saturating_sub(7));
            let mut around = scaled[from..(from + 7).min(n)].to_vec();
            around.sort_unstable_by(f64::total_cmp);
            let middle = around[around.len() / 2];
            let off = scaled[index] - middle;
            let follows = |j: usize| {
                let neighbour = scaled.get(j);
                neighbour.is_some_and(|v| (v - middle) * off.signum() > 0.5 * FAR)
            };
            let lone = !follows(index + 1) && !follows(index.wrapping_sub(1));
            if off.abs() > FAR && lone {
                middle + FAR * off.signum()
            } else {
                scaled[index]
            }
        };
        (0..n).map(moved).collect()
    }

    #[test]
    fn lone_outliers_are_those_of_the_plain_definition() {
        let mut moved = 0;
        for seed in 0..300 {
            let n = 3 + seed as usize * 5 % 90;
            let mut scaled = Noise::new(seed).autoregressive(n, 0.3);
            // Rounded, so that readings lie just at the reach; some far off, alone and in pairs.
            for (index, value) in scaled.iter_mut().enumerate() {
                let off = [0.0, 0.0, 5.0, 0.0, -4.5, 0.0, 9.0, 9.0, 0.0, -6.0];
                let wild = (index + seed as usize).is_multiple_of(3);
                *value = (*value * 2.0).round() / 2.0;
                *value += f64::from(wild) * off[(index * 7 + seed as usize) % 10];
            }
            let expected = plainly(&scaled);
            moved += scaled.iter().zip(&expected).filter(|(a, b)| a != b).count();
            rein_in_lone_outliers(&mut scaled);
            assert_eq!(scaled, expected, "{seed}");
        }
        assert!(moved > 300, "only {moved} were moved");
    }
}
