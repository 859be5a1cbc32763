//! Published practice, as the trial's contestants: limits from the baseline's mean and
//! moving range, judged by three-sigma limits alone or by the Western Electric tests.

use super::cabinet::Cabinet;
use super::told::Told;
use crate::signal::{Allowance, Firing, RuleInput, RuleSet};

/// Mean moving range of two normal readings, in standard deviations: 2/√π.
const D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Readings of a cabinet after its baseline, standardised by the baseline.
fn standardised(cabinet: &Cabinet, baseline: usize) -> Vec<f64> {
    let first = cabinet.value.get(..baseline).unwrap_or(&[]);
    let n = first.len().max(2) as f64;
    let mean = first.iter().sum::<f64>() / n;
    let range = first
        .windows(2)
        .map(|pair| match pair {
            [a, b] => (b - a).abs(),
            _ => 0.0,
        })
        .sum::<f64>()
        / (n - 1.0);
    // A baseline of equal values has no limits; none are drawn, nothing is signalled.
    let sigma = if range > 0.0 {
        range / D2
    } else {
        f64::INFINITY
    };
    let judged = cabinet.value.get(baseline..).unwrap_or(&[]);
    judged.iter().map(|v| (v - mean) / sigma).collect()
}

/// Stretches in which any reading lies beyond three-sigma limits.
pub(super) fn three_sigma(cabinet: &Cabinet, baseline: usize) -> Vec<Told> {
    let z = standardised(cabinet, baseline);
    let beyond = z.iter().enumerate().filter(|(_, z)| z.abs() > 3.0);
    Told::of_checks(beyond.map(|(at, _)| at + baseline))
}

/// Stretches in which any of the four Western Electric tests fires (`set` holds them).
pub(super) fn pattern_tests(cabinet: &Cabinet, baseline: usize, set: &RuleSet) -> Vec<Told> {
    let z = standardised(cabinet, baseline);
    let value = cabinet.value.get(baseline..).unwrap_or(&[]);
    let none = vec![f64::NAN; z.len()];
    let unbroken = vec![false; z.len()];
    let even = vec![1.0; z.len()];
    let input = RuleInput {
        z: &z,
        value,
        range_ratio: &none,
        after_gap: &unbroken,
        spacing: &even,
        resolution: None,
        allowance: Allowance::NONE,
    };
    let mut firings: Vec<Firing> = Vec::new();
    for rule in &set.rules {
        rule.judge(&input, &mut firings);
    }
    Told::of_checks(firings.iter().map(|firing| firing.at + baseline))
}
