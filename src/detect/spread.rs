//! The `spread` rule: readings scatter more, or less, than they used to.
//!
//! Judged on successive differences, which a slow change of level hardly touches, over
//! several stretches of the last readings against the readings before them.

use std::ops::Range;

/// Lengths of the stretches compared, in differences, each with the ratios that no budget would
/// signal: their scores are within 2.62, and the most frequent false alarms that can be asked
/// for need 2.67. Nearly every stretch ends there, before any root is drawn.
const STRETCHES: [(usize, Range<f64>); 5] = [
    (8, 0.08..3.4),
    (12, 0.16..2.9),
    (18, 0.25..2.5),
    (27, 0.34..2.2),
    (40, 0.42..1.9),
];
/// Least differences before a stretch.
const LEAST_BEFORE: usize = 20;
/// A difference counts for at most this many standard deviations, so that one wild
/// reading is not a change of spread.
const MOST: f64 = 2.5;
/// Share of degrees of freedom that overlapping differences carry.
const INDEPENDENT: f64 = 2.0 / 3.0;

/// Signed normal score of every reading from `from` on (positive: more scatter) with the length
/// of the stretch that gave it; (0, 0) where too few are known, and for ordinary ratios.
///
/// `floor` is the least mean square of successive differences believed.
///
/// Source: ratio of mean square successive differences (von Neumann et al., Ann. Math.
/// Stat. 12, 153 (1941)), made normal by Wilson & Hilferty (1931) as Paulson, Ann. Math.
/// Stat. 13, 233 (1942) does for F.
pub(super) fn scores(
    values: &[f64],
    sigma: f64,
    memory: usize,
    floor: f64,
    from: usize,
) -> Vec<(f64, usize)> {
    let most = 2.0 * MOST * MOST * sigma * sigma;
    // Sums of squared differences before an index; the first reading has none.
    let mut sum = 0.0;
    let mut before_index = Vec::with_capacity(values.len() + 1);
    before_index.extend([sum, sum]);
    before_index.extend(values.windows(2).map(|pair| {
        let difference = match pair {
            [a, b] => b - a,
            _ => 0.0,
        };
        sum += (difference * difference).min(most);
        sum
    }));
    let total = |end: usize| before_index.get(end).copied().unwrap_or(0.0);
    let score = |at: usize| {
        let mut best = (0.0_f64, 0);
        for (stretch, ordinary) in &STRETCHES {
            let Some(split) = (at + 1).checked_sub(*stretch) else {
                break;
            };
            let before = split.saturating_sub(1).min(memory);
            if before < LEAST_BEFORE {
                break;
            }
            let (length, known) = (*stretch as f64, before as f64);
            let recent = total(at + 1) - total(split);
            let earlier = total(split) - total(split - before);
            // The ratio without its divisions.
            let (one, other) = (
                recent.max(floor * length) * known,
                earlier.max(floor * known) * length,
            );
            if ordinary.start * other < one && one < ordinary.end * other {
                continue;
            }
            let ratio = (recent / length).max(floor) / (earlier / known).max(floor);
            let score = normal_score_of_f(ratio, INDEPENDENT * length, INDEPENDENT * known);
            if score.abs() > best.0.abs() {
                best = (score, *stretch);
            }
        }
        best
    };
    (from..values.len()).map(score).collect()
}

fn normal_score_of_f(f: f64, freedom: f64, other: f64) -> f64 {
    let (a, b) = (2.0 / (9.0 * freedom), 2.0 / (9.0 * other));
    let cube = f.cbrt();
    ((1.0 - b) * cube - (1.0 - a)) / (b * cube * cube + a).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::change::MEMORY;
    use super::*;

    /// F(10, 20) upper 1 % point 3.368 (F tables; scipy 1.17.1 gives 3.36819): score 2.326.
    #[test]
    fn normal_score_of_an_f_ratio() {
        assert!((normal_score_of_f(3.36819, 10.0, 20.0) - 2.326).abs() < 0.02);
        assert!(normal_score_of_f(1.0, 15.0, 15.0).abs() < 1e-9);
    }

    #[test]
    fn doubled_scatter_scores_high_and_one_wild_reading_does_not() {
        let mut noise = crate::drift::fixtures::Noise::new(2);
        let steady = noise.autoregressive(160, 0.0);
        let louder: Vec<f64> = steady
            .iter()
            .enumerate()
            .map(|(i, v)| if i >= 120 { 2.0 * v } else { *v })
            .collect();
        let found = scores(&louder, 1.0, 250, 0.0, 30);
        assert!(found[129].0 > 3.6, "{:?}", found[129]);
        let mut wild = steady;
        wild[150] += 20.0;
        let most = scores(&wild, 1.0, 250, 0.0, 30)
            .iter()
            .map(|s| s.0)
            .fold(0.0, f64::max);
        assert!(most < 3.6, "{most}");
    }

    /// What is passed over as ordinary does not reach the bar of the most frequent false alarms
    /// that can be asked for, and little more is looked at than need be.
    #[test]
    fn ordinary_ratios_reach_no_bar() {
        let lowest = super::super::watch::spread_bar(0.0);
        for (stretch, ordinary) in STRETCHES {
            let score = |ratio: f64, before: usize| {
                normal_score_of_f(
                    ratio,
                    INDEPENDENT * stretch as f64,
                    INDEPENDENT * before as f64,
                )
            };
            let known = LEAST_BEFORE..=MEMORY;
            let most = |ratio: f64| {
                known
                    .clone()
                    .map(|n| score(ratio, n).abs())
                    .fold(0.0, f64::max)
            };
            for end in [ordinary.start, ordinary.end] {
                assert!(most(end) < lowest - 0.04, "{stretch} {end}: {}", most(end));
                assert!(most(end) > lowest - 0.3, "{stretch} {end}: {}", most(end));
            }
        }
    }
}
