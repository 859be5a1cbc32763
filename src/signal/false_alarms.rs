//! How often the default set alarms on steady cabinets that are like real ones, by
//! seeded simulation: readings carry over from check to check, are rounded, and the
//! limits come from 30 readings. The figures quoted in [`super::sets`] are these.

use super::fixture::{chart, daily, limits};
use super::run_lengths::Normals;
use super::{RuleSet, signals};
use crate::characteristic::Characteristic;
use crate::chart::Limits;
use crate::time::Zone;

const BASELINE: usize = 30;
const JUDGED: usize = 250;

/// A kind of cabinet.
#[derive(Debug, Clone, Copy)]
struct Case {
    /// Lag-1 autocorrelation.
    phi: f64,
    /// Step of the readings, in standard deviations.
    step: f64,
    /// Whether limits come from the first 30 readings (else they are the true ones).
    own_baseline: bool,
}

/// The twelve cases of the table.
fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for own_baseline in [false, true] {
        for phi in [0.0, 0.25, 0.5] {
            for step in [0.1, 0.8] {
                cases.push(Case {
                    phi,
                    step,
                    own_baseline,
                });
            }
        }
    }
    cases
}

/// A steady cabinet, then one that moves by `change(reading)` after its baseline.
fn readings(case: Case, normals: &mut Normals, change: impl Fn(usize) -> f64) -> Vec<f64> {
    let fresh = (1.0 - case.phi * case.phi).sqrt();
    let offset = case.step * normals.next();
    let mut level = normals.next();
    (0..BASELINE + JUDGED)
        .map(|i| {
            level = case.phi * level + fresh * normals.next();
            let moved = i.checked_sub(BASELINE).map_or(0.0, &change);
            ((level + offset + moved) / case.step).round() * case.step - offset
        })
        .collect()
}

/// Limits as the charts set them: mean and moving range of the baseline, sigma widened
/// by the bias-corrected autocorrelation where that is positive.
fn baseline_limits(case: Case, values: &[f64]) -> Limits {
    let resolution = Some(case.step);
    if !case.own_baseline {
        return Limits {
            n: 1000,
            lag1: Some(case.phi),
            resolution,
            ..limits(0.0, 1.0)
        };
    }
    let baseline = &values[..BASELINE];
    let n = BASELINE as f64;
    let mean = baseline.iter().sum::<f64>() / n;
    let variance: f64 = baseline.iter().map(|v| (v - mean).powi(2)).sum();
    let lagged: f64 = baseline
        .windows(2)
        .map(|w| (w[0] - mean) * (w[1] - mean))
        .sum();
    let r1 = lagged / variance;
    let lag1 = (r1 * n + 1.0) / (n - 4.0);
    let range: f64 = baseline
        .windows(2)
        .map(|w| (w[1] - w[0]).abs())
        .sum::<f64>()
        / (n - 1.0);
    let plain = range * std::f64::consts::PI.sqrt() / 2.0;
    let sigma = plain / (1.0 - lag1.clamp(0.0, 0.8)).sqrt();
    Limits {
        lag1: Some(lag1),
        resolution,
        moving_range_upper: 3.266_531_919 * range,
        ..limits(mean, sigma)
    }
}

/// Signals per 370 readings on steady cabinets.
fn alarms_per_370(set: &RuleSet, case: Case, cabinets: usize, seed: u64) -> f64 {
    let mut normals = Normals::seeded(seed);
    let told: usize = (0..cabinets)
        .map(|_| {
            let values = readings(case, &mut normals, |_| 0.0);
            judged(set, case, &values).len()
        })
        .sum();
    370.0 * told as f64 / (cabinets * JUDGED) as f64
}

/// Readings from the baseline's end to each signal's `known`.
fn judged(set: &RuleSet, case: Case, values: &[f64]) -> Vec<usize> {
    let series = daily("Plover", Characteristic::CollectionRate, values);
    let mut chart = chart(&series, baseline_limits(case, values));
    chart.stages[0].judged_from = BASELINE;
    signals(&chart, set, &[], values.len(), Zone::AS_WRITTEN)
        .iter()
        .map(|signal| signal.known - BASELINE)
        .collect()
}

/// Mean over the cases with that kind of limits.
fn mean_alarms(set: &RuleSet, own_baseline: bool) -> f64 {
    let cases: Vec<Case> = cases()
        .into_iter()
        .filter(|case| case.own_baseline == own_baseline)
        .collect();
    let total: f64 = cases.iter().map(|&c| alarms_per_370(set, c, 200, 5)).sum();
    total / cases.len() as f64
}

/// Median readings to the first signal after a change, own baseline, phi 0.25, coarse steps.
fn median_delay(set: &RuleSet, change: impl Fn(usize) -> f64) -> usize {
    let case = Case {
        phi: 0.25,
        step: 0.8,
        own_baseline: true,
    };
    let mut normals = Normals::seeded(77);
    let mut delays: Vec<usize> = (0..201)
        .map(|_| {
            let values = readings(case, &mut normals, &change);
            judged(set, case, &values)
                .first()
                .copied()
                .unwrap_or(JUDGED)
        })
        .collect();
    delays.sort_unstable();
    delays[100]
}

#[test]
fn the_default_set_alarms_as_rarely_as_its_description_says() {
    let quoted = [
        ("steadyfog", 2.01, 5.58),
        ("western-electric-1956", 10.10, 14.81),
        ("nelson-1984", 10.15, 15.21),
    ];
    for (name, known, own) in quoted {
        let set = RuleSet::named(name).unwrap();
        for (quoted, own_baseline) in [(known, false), (own, true)] {
            let found = mean_alarms(&set, own_baseline);
            // The seed fixes the result; the margin is for other mathematical libraries.
            assert!(
                (found - quoted).abs() < 0.15,
                "{name} {own_baseline}: {found}"
            );
        }
    }
}

#[test]
fn the_default_set_still_sees_changes_as_soon_as_its_description_says() {
    let set = RuleSet::steadyfog();
    assert_eq!(median_delay(&set, |_| 1.5), 7);
    assert_eq!(median_delay(&set, |_| 3.0), 1);
    assert_eq!(median_delay(&set, |i| 0.1 * i as f64), 17);
}
