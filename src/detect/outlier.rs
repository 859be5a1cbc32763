//! The `far-reading` rule of the watch: one reading too far from all before it.
//!
//! Unlike three-sigma limits of a short baseline its reference grows with every reading,
//! and it allows for how few there are. It takes no part in seeing slow changes.

use crate::drift::segments::normal_square;

/// Least readings before the one judged.
const LEAST_BEFORE: usize = 8;

/// Square of a Student t below which no budget would signal.
const ORDINARY: f64 = 4.0;

/// Signed normal score of every reading from `from` on against the readings before it, at most
/// `memory`.
///
/// `values` finite; 0 where fewer than 8 came before, and for ordinary readings. `floor` is the least variance believed (rounding), in squared units of the values. The score is
/// as rare as the Student t of a new reading: own use of the textbook prediction interval.
pub(super) fn scores(values: &[f64], memory: usize, floor: f64, from: usize) -> Vec<f64> {
    let origin = values.first().copied().unwrap_or(0.0);
    let (mut sum, mut square) = (0.0, 0.0);
    let mut scores = Vec::with_capacity(values.len().saturating_sub(from));
    for (i, value) in values.iter().enumerate() {
        let x = value - origin;
        let known = i.min(memory);
        if i >= from {
            scores.push(score(x, known, sum, square, floor));
        }
        sum += x;
        square += x * x;
        if i >= memory
            && let Some(old) = values.get(i - memory)
        {
            let old = old - origin;
            sum -= old;
            square -= old * old;
        }
    }
    scores
}

/// Score of `x` against `known` readings of that `sum` and sum of squares.
fn score(x: f64, known: usize, sum: f64, square: f64, floor: f64) -> f64 {
    if known < LEAST_BEFORE {
        return 0.0;
    }
    let n = known as f64;
    let mean = sum / n;
    let variance = ((square - sum * mean) / (n - 1.0)).max(floor);
    let off = x - mean;
    let t_square = off * off / (variance * (1.0 + 1.0 / n));
    // Ordinary readings need no exact score.
    if t_square < ORDINARY {
        0.0
    } else {
        off.signum() * normal_square(t_square, n - 1.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nine readings of mean 0 and variance 1, the tenth 3: t = 3 / √(10/9) with 8 degrees
    /// is 2.846, two-sided p 0.0216, normal score 2.298 (scipy 1.17.1).
    #[test]
    fn score_is_as_rare_as_the_prediction_t() {
        let half = (8.0_f64 / 8.0).sqrt();
        let mut values = vec![half, -half, half, -half, half, -half, half, -half, 0.0];
        values.push(3.0);
        let score = scores(&values, 100, 0.0, 0)[9];
        assert!((score - 2.298).abs() < 0.02, "{score}");
        assert_eq!(scores(&values, 100, 0.0, 0)[7], 0.0);
    }
}
