//! The evidence against its plain definition, and where numbers might overflow.

use super::super::sums::Ladder;
use super::*;
use crate::drift::fixtures::Noise;
use crate::drift::whiten::{Kind, Whitened, dot};

/// Readings that alternate by `noise` about a level that `change` moves from reading 170 on.
fn evidence_of(noise: f64, change: impl Fn(f64) -> f64) -> Vec<Option<f64>> {
    let times = Times::new((0..260).map(f64::from).collect());
    let values: Vec<f64> = (0..260)
        .map(|i| noise * f64::from(i % 2) + change(f64::from(i - 169).max(0.0)))
        .collect();
    let evidence = Evidence::new(&times, &values, 1e-4);
    (0..260).map(|at| evidence.at(at)).collect()
}

#[test]
fn a_change_that_explains_everything_is_finite_and_seen_at_once() {
    let step = |since: f64| if since > 0.0 { 50.0 } else { 0.0 };
    for (noise, changed) in [
        (0.0, evidence_of(0.0, |since| 5.0 * since)),
        (0.0, evidence_of(0.0, step)),
        (0.01, evidence_of(0.01, |since| 5.0 * since)),
        (0.01, evidence_of(0.01, step)),
    ] {
        let known = changed.iter().flatten();
        assert!(known.clone().all(|log| log.is_finite()), "noise {noise}");
        assert_eq!(known.count(), 260 - LEAST_BEFORE - LAGS[0] + 1);
        // From the second changed reading on it is far beyond any threshold.
        let since = changed[171..].iter().flatten();
        assert!(since.clone().all(|log| *log > 20.0), "noise {noise}");
        // A number that its exponential could not hold.
        let most = since.fold(0.0_f64, |most, log| most.max(*log));
        assert!(most > 300.0, "noise {noise}: {most}");
    }
}

/// Days on which readings come in weeks, with a pause now and then.
fn days_with_gaps(n: usize) -> Vec<f64> {
    (0_u32..)
        .filter(|day| day % 7 < 5 && day % 61 > 2)
        .take(n)
        .map(f64::from)
        .collect()
}

/// The best squared score of any single start, over the noise of the level, from columns
/// written out and regressed one by one.
fn best_by_regression(white: &Whitened, at: usize, floor: f64) -> f64 {
    let from = (at + 1).saturating_sub(MEMORY);
    let window = |column: &[f64]| column[from..=at].to_vec();
    let (one, reading) = (window(&white.one), window(&white.reading));
    let without_level = |column: &[f64]| -> Vec<f64> {
        let along = dot(column, &one) / dot(&one, &one);
        column
            .iter()
            .zip(&one)
            .map(|(x, o)| x - along * o)
            .collect()
    };
    let left = without_level(&reading);
    let readings = (at + 1 - from) as f64;
    let noise = dot(&left, &left).max(floor * readings) / (readings - 1.0);
    let lags = LAGS
        .iter()
        .filter(|lag| at + 1 >= from + **lag + LEAST_BEFORE);
    let mut best = 0.0_f64;
    for lag in lags {
        let first = at + 1 - lag;
        for (kind, start) in [(Kind::Step, first), (Kind::Ramp, first - 1)] {
            let column = without_level(&window(&white.column(kind, start)));
            let score = dot(&column, &left).powi(2) / dot(&column, &column);
            best = best.max(score / noise);
        }
    }
    best
}

#[test]
fn the_quick_look_sees_what_a_regression_on_every_start_sees() {
    let (mut seen, mut looked) = (0, 0);
    for (seed, phi) in [(1, 0.0), (2, 0.3), (3, 0.6)] {
        let mut values = Noise::new(seed).autoregressive(330, phi);
        for (i, value) in values.iter_mut().enumerate().skip(200) {
            *value += 0.01 * (i as f64 - 200.0);
        }
        let days = days_with_gaps(330);
        let white = Whitened::new(&days, &values, PHI[QUICK]);
        let times = Times::new(days);
        let evidence = Evidence::new(&times, &values, 1e-4);
        let whole = evidence.worth_a_look(0..330);
        for (at, worth) in whole.iter().enumerate() {
            let best = best_by_regression(&white, at, 1e-4);
            assert_eq!(*worth, best > QUICK_SCORE, "seed {seed} at {at}: {best}");
            seen += usize::from(*worth);
            looked += 1;
        }
        // Wherever the look begins and ends.
        for judged in [0..7, 3..20, 90..99, 95..126, 280..330, 329..330, 40..40] {
            assert_eq!(evidence.worth_a_look(judged.clone()), whole[judged]);
        }
    }
    assert!(
        seen > looked / 10 && seen < looked / 2,
        "{seen} of {looked}"
    );
}

#[test]
fn sums_of_shared_times_equal_columns_written_out() {
    let days = days_with_gaps(120);
    let values = Noise::new(7).autoregressive(120, 0.4);
    let times = Times::new(days.clone());
    for (place, phi) in PHI.into_iter().enumerate() {
        let columns = Whitened::new(&days, &values, phi);
        let white = times.whitening(place).unwrap();
        let ladder = Ladder::new(white, &values);
        let rows = ladder.rows(white);
        let close = |row: &[f64], a: &[f64], b: &[f64]| {
            for end in [0, 1, 2, 50, 120] {
                let plain = dot(&a[..end], &b[..end]);
                assert!(
                    (row[end] - plain).abs() <= 1e-9 * (1.0 + plain.abs()),
                    "{phi} {end}"
                );
            }
        };
        close(rows.one_one, &columns.one, &columns.one);
        close(rows.one_day, &columns.one, &columns.day);
        close(rows.day_day, &columns.day, &columns.day);
        close(rows.one_value, &columns.one, &columns.reading);
        close(rows.day_value, &columns.day, &columns.reading);
        close(rows.value_value, &columns.reading, &columns.reading);
    }
}
