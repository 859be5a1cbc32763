//! The `spread` rule: readings scatter more, or less, than they used to.
//!
//! Judged on successive differences, which a slow change of level hardly touches, over
//! several stretches of the last readings against the readings before them.

/// Lengths of the stretches compared, in differences.
const STRETCHES: [usize; 5] = [8, 12, 18, 27, 40];
/// Least differences before a stretch.
const LEAST_BEFORE: usize = 20;
/// A difference counts for at most this many standard deviations, so that one wild
/// reading is not a change of spread.
const MOST: f64 = 2.5;
/// Ratios that no budget would signal, whatever the stretch.
const ORDINARY: std::ops::Range<f64> = 0.6..1.6;
/// Share of degrees of freedom that overlapping differences carry.
const INDEPENDENT: f64 = 2.0 / 3.0;

/// Signed normal score of every reading (positive: more scatter) with the length of the
/// stretch that gave it; (0, 0) where too few are known, and for ordinary ratios.
///
/// `differences` holds, parallel to the readings, the difference to the reading before;
/// the first is ignored. `floor` is the least
/// mean square believed. Only readings from `from` on are judged.
///
/// Source: ratio of mean square successive differences (von Neumann et al., Ann. Math.
/// Stat. 12, 153 (1941)), made normal by Wilson & Hilferty (1931) as Paulson, Ann. Math.
/// Stat. 13, 233 (1942) does for F.
pub(super) fn scores(
    differences: &[f64],
    sigma: f64,
    memory: usize,
    floor: f64,
    from: usize,
) -> Vec<(f64, usize)> {
    let mut out = vec![(0.0_f64, 0); differences.len()];
    let most = 2.0 * MOST * MOST * sigma * sigma;
    let mut capped = Vec::with_capacity(differences.len() + 1);
    let mut sum = 0.0;
    capped.push(sum);
    for (i, difference) in differences.iter().enumerate() {
        sum += if i == 0 {
            0.0
        } else {
            (difference * difference).min(most)
        };
        capped.push(sum);
    }
    let total = |end: usize| capped.get(end).copied().unwrap_or(0.0);
    for (i, slot) in out.iter_mut().enumerate().skip(from) {
        for stretch in STRETCHES {
            let Some(split) = (i + 1).checked_sub(stretch) else {
                break;
            };
            let before = split.saturating_sub(1).min(memory);
            if before < LEAST_BEFORE {
                break;
            }
            let recent = ((total(i + 1) - total(split)) / stretch as f64).max(floor);
            let earlier = ((total(split) - total(split - before)) / before as f64).max(floor);
            let ratio = recent / earlier;
            if ORDINARY.contains(&ratio) {
                continue;
            }
            let score = normal_score_of_f(
                ratio,
                INDEPENDENT * stretch as f64,
                INDEPENDENT * before as f64,
            );
            if score.abs() > slot.0.abs() {
                *slot = (score, stretch);
            }
        }
    }
    out
}

fn normal_score_of_f(f: f64, freedom: f64, other: f64) -> f64 {
    let (a, b) = (2.0 / (9.0 * freedom), 2.0 / (9.0 * other));
    let cube = f.cbrt();
    ((1.0 - b) * cube - (1.0 - a)) / (b * cube * cube + a).sqrt()
}

#[cfg(test)]
mod tests {
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
        let differ = |values: &[f64]| -> Vec<f64> {
            let mut out = vec![0.0];
            out.extend(values.windows(2).map(|p| p[1] - p[0]));
            out
        };
        let louder: Vec<f64> = steady
            .iter()
            .enumerate()
            .map(|(i, v)| if i >= 120 { 2.0 * v } else { *v })
            .collect();
        let found = scores(&differ(&louder), 1.0, 250, 0.0, 30);
        assert!(found[159].0 > 3.6, "{:?}", found[159]);
        let mut wild = steady;
        wild[150] += 20.0;
        let most = scores(&differ(&wild), 1.0, 250, 0.0, 30)
            .iter()
            .map(|s| s.0)
            .fold(0.0, f64::max);
        assert!(most < 3.6, "{most}");
    }
}
