//! The verdict on generated series whose truth is known; seeds are fixed.

use super::fixtures::Noise;
use super::{Assessment, assess};
use crate::time::Instant;

/// Weekday checks from day 0 on.
fn weekdays(n: usize) -> Vec<Instant> {
    (0_i64..)
        .filter(|day| day % 7 < 5)
        .take(n)
        .map(|day| Instant(day * 86_400))
        .collect()
}

fn day(at: Instant) -> f64 {
    at.days_since(Instant(0))
}

/// Catches around 1.5 mL/h with noise of 0.05, rounded to a thirty-second.
fn catches(seed: u64, n: usize, phi: f64, change: impl Fn(f64) -> f64) -> (Vec<Instant>, Vec<f64>) {
    let at = weekdays(n);
    let noise = Noise::new(seed).autoregressive(n, phi);
    let values = at
        .iter()
        .zip(noise)
        .map(|(at, e)| ((1.5 + change(day(*at)) + 0.05 * e) * 32.0).round() / 32.0)
        .collect();
    (at, values)
}

fn judged((at, values): &(Vec<Instant>, Vec<f64>)) -> Assessment {
    assess(at, values, 0.05, 0.2, 30, Some(1.0), Some(2.0))
}

#[test]
fn steady_series_are_left_alone() {
    let claims = (0..400)
        .filter(|&seed| {
            let n = 40 + (seed as usize * 7) % 400;
            let verdict = judged(&catches(seed, n, 0.2 + 0.1 * (seed % 3) as f64, |_| 0.0));
            verdict.drift.is_some() || verdict.shift.is_some()
        })
        .count();
    assert!(
        claims <= 8,
        "{claims} of 400 steady series claimed to have changed"
    );
}

/// What is said of a steady series is what a glance from its median sees.
#[test]
fn a_level_far_from_zero_or_wild_readings_do_not_blur_the_glance() {
    for seed in 0..20 {
        let (at, values) = catches(seed, 150, 0.2, |_| 0.0);
        let plain = judged(&(at.clone(), values.clone()));
        // Whole numbers, so that the level is added without rounding.
        let raised = values.iter().map(|v| v + 1024.0).collect();
        assert_eq!(judged(&(at.clone(), raised)).not, plain.not);
        let wild = |to: f64| {
            let mut values = values.clone();
            values[0] = to;
            values[149] = to;
            judged(&(at.clone(), values)).not
        };
        // However far off, they are reined in to the same place.
        assert_eq!(wild(1e17), wild(1e6));
    }
}

#[test]
fn a_drift_is_dated_sized_and_carried_to_its_limit() {
    // From day 140 at 0.006 mL/h a day: 1.0 mL/h is reached on day 223.3.
    let verdict = judged(&catches(3, 140, 0.2, |t| -0.006 * (t - 140.0).max(0.0)));
    let drift = verdict.drift.unwrap();
    assert!(drift.low <= -0.006 && -0.006 <= drift.high, "{drift:?}");
    assert!((day(drift.since) - 140.0).abs() < 15.0, "{drift:?}");
    assert_eq!(drift.since, weekdays(140)[drift.since_index]);
    let began = verdict.began.unwrap();
    assert!(day(began.earliest) <= 140.0 && 140.0 <= day(began.latest));
    let breach = drift.breach.unwrap();
    assert_eq!(breach.limit, 1.0);
    assert!(day(breach.earliest) <= 223.3 && 223.3 <= day(breach.latest.unwrap()));
    assert!(breach.earliest < breach.likely && breach.likely < breach.latest.unwrap());
    assert!(verdict.shift.is_none());
}

#[test]
fn a_step_is_dated_and_sized_and_is_no_drift() {
    let verdict = judged(&catches(
        4,
        120,
        0.3,
        |t| if t >= 98.0 { 0.09 } else { 0.0 },
    ));
    let shift = verdict.shift.unwrap();
    assert!(day(shift.earliest) <= 98.0 && 98.0 <= day(shift.latest));
    assert!((day(shift.at) - 98.0).abs() <= 6.0);
    assert!(shift.low <= 0.09 && 0.09 <= shift.high);
    assert!(verdict.drift.is_none());
}

#[test]
fn a_step_and_a_later_drift_are_both_told() {
    let change = |t: f64| {
        let step = if t >= 84.0 { 0.2 } else { 0.0 };
        step - 0.006 * (t - 182.0).max(0.0)
    };
    let mut right = 0;
    for seed in 20..40 {
        let verdict = judged(&catches(seed, 180, 0.2, change));
        let (Some(drift), Some(shift)) = (verdict.drift, verdict.shift) else {
            continue;
        };
        let dated = (day(shift.at) - 84.0).abs() <= 4.0 && (day(drift.since) - 182.0).abs() <= 20.0;
        right += u32::from(dated && drift.slope_per_day < 0.0);
    }
    assert!(right >= 18, "{right} of 20 told as planted");
}

#[test]
fn a_lone_outlier_or_a_spell_that_ended_is_neither() {
    let mut series = catches(6, 90, 0.1, |_| 0.0);
    series.1[87] = 3.0;
    series.1[40] = 0.2;
    let verdict = judged(&series);
    assert_eq!((verdict.drift, verdict.shift), (None, None));
    let spell = judged(&catches(7, 140, 0.1, |t| {
        if (70.0..112.0).contains(&t) { 0.2 } else { 0.0 }
    }));
    assert_eq!((spell.drift, spell.shift), (None, None));
    assert!(spell.not.contains("came back"), "{}", spell.not);
}

#[test]
fn a_drift_that_stopped_has_no_forecast() {
    let verdict = judged(&catches(8, 220, 0.2, |t| {
        -0.005 * (t - 100.0).clamp(0.0, 60.0)
    }));
    assert!(verdict.drift.is_none());
    let shift = verdict.shift.unwrap();
    assert!((shift.size + 0.3).abs() < 0.06, "{shift:?}");
}

#[test]
fn slow_drifts_far_from_the_limit_have_no_date() {
    let series = catches(9, 300, 0.2, |t| 0.0008 * t - 0.35);
    let verdict = judged(&series);
    assert!(verdict.drift.unwrap().breach.is_none());
    assert!(verdict.not.contains("within 180 days"), "{}", verdict.not);
    let open = assess(&series.0, &series.1, 0.05, 0.2, 30, Some(1.0), None);
    assert!(open.drift.unwrap().breach.is_none());
}

#[test]
fn too_few_no_spread_and_uneven_input_claim_nothing() {
    let (at, values) = catches(1, 11, 0.0, |t| 0.05 * t);
    assert!(
        assess(&at, &values, 0.05, 0.0, 11, None, None)
            .not
            .contains("too few")
    );
    let (at, values) = (weekdays(60), vec![1.5; 60]);
    for sigma in [0.0, 0.05, f64::NAN] {
        let verdict = assess(&at, &values, sigma, f64::NAN, 30, Some(1.0), Some(2.0));
        assert_eq!((verdict.drift, verdict.shift), (None, None));
    }
    let same_time = vec![Instant(0); 60];
    let verdict = assess(&same_time, &values, 0.05, 0.3, 30, None, None);
    assert_eq!(verdict.drift, None);
    assert_eq!(assess(&[], &[], 0.05, 0.3, 0, None, None).drift, None);
}

/// Mirroring the readings mirrors the claim; a change of unit scales it.
#[test]
fn mirrored_and_rescaled_readings_give_the_same_claim() {
    let (at, values) = catches(3, 140, 0.2, |t| -0.006 * (t - 140.0).max(0.0));
    let plain = judged(&(at.clone(), values.clone())).drift.unwrap();
    let mirrored: Vec<f64> = values.iter().map(|v| 3.0 - v).collect();
    let up = judged(&(at.clone(), mirrored)).drift.unwrap();
    assert_eq!(plain.since, up.since);
    assert!((plain.slope_per_day + up.slope_per_day).abs() < 1e-12);
    let fahrenheit: Vec<f64> = values.iter().map(|v| v * 1.8 + 32.0).collect();
    let limits = (Some(1.0 * 1.8 + 32.0), Some(2.0 * 1.8 + 32.0));
    let scaled = assess(&at, &fahrenheit, 0.05 * 1.8, 0.2, 30, limits.0, limits.1);
    let scaled = scaled.drift.unwrap();
    assert_eq!(plain.since, scaled.since);
    assert!((plain.slope_per_day * 1.8 - scaled.slope_per_day).abs() < 1e-12);
    let (a, b) = (plain.breach.unwrap(), scaled.breach.unwrap());
    assert!((a.likely.0 - b.likely.0).abs() <= 1);
}

/// The 80 % interval must hold the truth 75 to 85 times in 100.
#[test]
fn the_forecast_interval_is_honest() {
    let (mut held, mut told) = (0, 0);
    for seed in 0..400 {
        let slope = if seed % 2 == 0 { -0.004 } else { 0.008 };
        let start = 112.0;
        let n = if seed % 2 == 0 { 125 } else { 105 };
        let series = catches(1000 + seed, n, 0.3, |t| slope * (t - start).max(0.0));
        if let Some(breach) = judged(&series).drift.and_then(|d| d.breach) {
            let truth = start + 0.5 / slope.abs();
            told += 1;
            let late = breach.latest.map_or(f64::INFINITY, day);
            held += usize::from(day(breach.earliest) <= truth && truth <= late);
        }
    }
    let share = held as f64 / told as f64;
    assert!(told > 250, "{told}");
    assert!((0.75..=0.86).contains(&share), "{share} of {told}");
}
