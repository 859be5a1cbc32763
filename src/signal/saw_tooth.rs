//! Whether a series climbs steadily and falls back again and again, as pH does between
//! fills of a reservoir.
//!
//! Not a rule: it looks back over many teeth and is not causal. It answers why rules
//! that ask for steadiness keep firing, and with what period.

use crate::chart::Chart;
use crate::stats::quantile::median;

/// Readings looked back over.
const LOOK_BACK: usize = 130;
/// Jumps back below which nothing is claimed.
const FEWEST_JUMPS: usize = 4;
/// Share of the jumps that must go one way, of the intervals that must agree, and of
/// the teeth that must climb against their jump (common practice, no source).
const MOST: f64 = 0.75;
/// Share of the median interval within which the others agree with it.
const AGREES: f64 = 0.25;
/// Readings between jumps below which there is no climb to speak of.
const SHORTEST_TOOTH: f64 = 3.0;
/// Share of the jump that the climb before it must account for.
const LEAST_CLIMB: f64 = 0.5;

/// A series that climbs and falls back (or falls and jumps up) with a period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SawTooth {
    /// Days from one jump back to the next, the median.
    pub period_days: f64,
    /// Change per day between jumps, the median, in the unit of the series.
    pub per_day: f64,
    /// Size of the jump back, the median; its sign is opposite to that of `per_day`.
    pub jump: f64,
    /// Jumps back that were seen.
    pub jumps: usize,
    /// Index of the first reading after the first of these jumps.
    pub first: usize,
    /// Index of the first reading after the last of these jumps.
    pub last: usize,
}

/// The saw-tooth of the last 130 readings before `until`, within the stage they end in.
///
/// A jump back is a moving range beyond its upper limit. `None` with fewer than four
/// of them, when they go both ways or come at irregular intervals, when the series does
/// not climb against them, or without limits. O(1) in the length of the series.
/// Source: common practice, none published.
pub fn saw_tooth(chart: &Chart<'_>, until: usize) -> Option<SawTooth> {
    let stage = chart
        .stages
        .iter()
        .rfind(|stage| stage.readings.start < until)?;
    let upper = stage.limits.as_ref().ok()?.moving_range_upper;
    let from = until.saturating_sub(LOOK_BACK).max(stage.readings.start);
    let values = chart.series.values();
    let at = chart.series.at();
    // NaN (no range taken) compares false.
    let beyond: Vec<usize> = (from..until)
        .zip(chart.moving_ranges.of(from..until))
        .filter(|(_, range)| *range > upper)
        .map(|(index, _)| index)
        .collect();
    if beyond.len() < FEWEST_JUMPS {
        return None;
    }
    let change = |from: usize, to: usize| Some(values.get(to)? - values.get(from)?);
    let jump_at = |&index: &usize| change(index - 1, index).unwrap_or(0.0);
    let falls = beyond.iter().filter(|i| jump_at(i) < 0.0).count();
    let down = 2 * falls >= beyond.len();
    let jumps: Vec<usize> = beyond
        .iter()
        .copied()
        .filter(|i| (jump_at(i) < 0.0) == down)
        .collect();
    if jumps.len() < FEWEST_JUMPS || (jumps.len() as f64) < MOST * beyond.len() as f64 {
        return None;
    }
    let days = |from: usize, to: usize| Some(at.get(to)?.days_since(*at.get(from)?));
    let teeth: Vec<(f64, f64, f64)> = jumps
        .windows(2)
        .filter_map(|pair| {
            let &[start, next] = pair else { return None };
            let last = next.checked_sub(1)?;
            Some((days(start, next)?, change(start, last)?, days(start, last)?))
        })
        .collect();
    let period_days = median(&mut teeth.iter().map(|t| t.0).collect::<Vec<f64>>())?;
    let jump = median(&mut jumps.iter().map(jump_at).collect::<Vec<f64>>())?;
    let climb = median(&mut teeth.iter().map(|t| t.1).collect::<Vec<f64>>())?;
    let share = |holds: &dyn Fn(&(f64, f64, f64)) -> bool| {
        teeth.iter().filter(|t| holds(t)).count() as f64 / teeth.len() as f64
    };
    let regular = share(&|t| (t.0 - period_days).abs() <= AGREES * period_days) >= MOST;
    let climbs = share(&|t| t.1 * jump < 0.0) >= MOST && climb.abs() >= LEAST_CLIMB * jump.abs();
    let (&first, &last) = (jumps.first()?, jumps.last()?);
    let per_reading = days(first, last)? / (last - first) as f64;
    if !(regular && climbs && period_days >= SHORTEST_TOOTH * per_reading) {
        return None;
    }
    let slopes = teeth.iter().filter(|t| t.2 > 0.0).map(|t| t.1 / t.2);
    Some(SawTooth {
        period_days,
        per_day: median(&mut slopes.collect::<Vec<f64>>())?,
        jump,
        jumps: jumps.len(),
        first,
        last,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::signal::fixture::{chart, daily, limits};
    use crate::signal::run_lengths::Normals;

    /// Teeth of ten readings that climb by `slope` a day, with noise of 0.03.
    fn teeth(slope: f64, seed: u64) -> Vec<f64> {
        let mut normals = Normals::seeded(seed);
        (0..100)
            .map(|day| 6.7 + slope * f64::from(day % 10) + 0.03 * normals.next())
            .collect()
    }

    #[test]
    fn a_saw_tooth_is_told_with_its_period_and_slope_either_way_up() {
        for slope in [0.04, -0.04] {
            let series = daily("Curlew", Characteristic::Ph, &teeth(slope, 3));
            let found = saw_tooth(&chart(&series, limits(6.85, 0.06)), 100).unwrap();
            assert_eq!((found.period_days, found.jumps), (10.0, 9));
            assert!((found.per_day - slope).abs() < 0.01, "{found:?}");
            assert!((found.jump + 9.0 * slope).abs() < 0.05, "{found:?}");
            assert_eq!((found.first, found.last), (10, 90));
        }
    }

    #[test]
    fn noise_a_square_wave_and_irregular_falls_are_no_saw_tooth() {
        let none = |values: &[f64], sigma: f64| {
            let series = daily("Curlew", Characteristic::Ph, values);
            saw_tooth(&chart(&series, limits(6.85, sigma)), values.len())
        };
        for seed in 0..50 {
            assert_eq!(none(&teeth(0.0, seed), 0.02), None);
        }
        let square: Vec<f64> = (0..100).map(|i| 6.7 + 0.4 * f64::from(i / 5 % 2)).collect();
        assert_eq!(none(&square, 0.06), None);
        let mut irregular = vec![6.7; 100];
        for fall in [5, 9, 40, 46, 90] {
            irregular[fall] = 6.2;
        }
        assert_eq!(none(&irregular, 0.06), None);
        assert_eq!(none(&teeth(0.04, 3)[..35], 0.06), None);
    }
}
