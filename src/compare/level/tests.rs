//! The level held against scipy, against dense matrices, and against simulated series.

use super::*;
use crate::drift::fixtures::{IRREGULAR_DAYS, IRREGULAR_VALUES, NILE};
use crate::stats::normal;
use crate::stats::reference::{assert_close, numbers};
use rand::{RngExt, SeedableRng};

const SERIES: &str = include_str!("../../../tests/reference/compare/pairs_series.csv");

/// Days and values of a cabinet of the reference series.
pub(crate) fn reference_series(cabinet: usize) -> (Vec<f64>, Vec<f64>) {
    numbers(SERIES)
        .into_iter()
        .filter(|row| row[0] == cabinet as f64)
        .map(|row| (row[1], row[2]))
        .unzip()
}

pub(crate) fn options(carry_over: CarryOver, resolution: Option<f64>) -> LevelOptions {
    LevelOptions {
        resolution,
        carry_over,
    }
}

/// Weekday checks of a stationary series: mean 0, standard deviation 1 before rounding.
pub(crate) fn weekdays(
    rng: &mut rand_chacha::ChaCha8Rng,
    n: usize,
    phi: f64,
    step: f64,
) -> (Vec<f64>, Vec<f64>) {
    let mut draw = || normal::quantile(rng.random()).unwrap_or(0.0);
    let (mut x, mut day) = (draw(), 0_u32);
    let (mut days, mut values) = (Vec::new(), Vec::new());
    while values.len() < n {
        if day % 7 < 5 {
            days.push(f64::from(day));
            values.push((x / step).round() * step);
        }
        x = phi * x + (1.0 - phi * phi).sqrt() * draw();
        day += 1;
    }
    (days, values)
}

#[test]
fn independent_readings_have_the_textbook_intervals() {
    let table = include_str!("../../../tests/reference/scipy/level_independent.csv");
    for row in numbers(table) {
        let (days, values) = reference_series(row[0] as usize);
        let found = level(&days, &values, options(CarryOver::Excluded, None)).unwrap();
        let n = values.len() as f64;
        assert_close(found.standard_error, found.sd / n.sqrt(), 1e-12, "error");
        assert_close(found.freedom, n - 1.0, 1e-9, "freedom");
        assert_close(found.n_effective, n, 1e-9, "effective");
        let sd = found.sd_interval.unwrap();
        assert_close(sd.low, row[1], 1e-9, "sd low");
        assert_close(sd.high, row[2], 1e-9, "sd high");
        let slope = found.slope_per_day.unwrap();
        assert_close(slope.point, row[3], 1e-9, "slope");
        assert_close(slope.low, row[4], 1e-8, "slope low");
        assert_close(slope.high, row[5], 1e-8, "slope high");
    }
}

/// Few evaluations of few sums against matrices written out, over many values of φ.
#[test]
fn sums_and_few_nodes_agree_with_dense_matrices() {
    let table = include_str!("../../../tests/reference/compare/level_dense.csv");
    for row in numbers(table) {
        let (days, values) = match row[0] as usize {
            4 => (IRREGULAR_DAYS.to_vec(), IRREGULAR_VALUES.to_vec()),
            5 => ((0..100).map(f64::from).collect(), NILE.to_vec()),
            cabinet => reference_series(cabinet),
        };
        let mean = sum::mean(&values).unwrap();
        let carried = Carried::new(&days, &values, mean, false);
        let error = carried.mean_error().unwrap();
        let slope = carried.slope_estimate().unwrap();
        assert!(
            (slope.point - row[5]).abs() < 5e-3 * row[6],
            "slope of {row:?}"
        );
        for (found, expected, what) in [
            (error.mean.point, row[1], "mean"),
            (error.mean.variance.sqrt(), row[2], "error"),
            (error.mean.freedom, row[3], "freedom"),
            (error.carry_over, row[4], "carry-over"),
            (slope.variance.sqrt(), row[6], "slope error"),
            (slope.freedom, row[7], "slope freedom"),
        ] {
            assert_close(
                found,
                expected,
                if what.contains("error") { 5e-3 } else { 2e-2 },
                &format!("{what} of series {}", row[0]),
            );
        }
    }
}

/// Two independent weekday series of one level, carry-over 0.6: a difference beyond the 5 %
/// point comes in at most 5 % of cases, and in far more when carry-over is left out.
#[test]
fn means_of_series_that_carry_over_are_as_sure_as_told() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    let runs = 600;
    let series: Vec<_> = (0..runs)
        .map(|_| weekdays(&mut rng, 40, 0.6, 0.25))
        .collect();
    let share_beyond = |how| {
        let levels: Vec<Level> = series
            .iter()
            .map(|(days, values)| level(days, values, options(how, Some(0.25))).unwrap())
            .collect();
        let beyond = (0..runs).filter(|&i| {
            let (a, b) = (&levels[i], &levels[(i + 1) % runs]);
            let (u, v) = (a.standard_error.powi(2), b.standard_error.powi(2));
            let freedom = (u + v).powi(2) / (u * u / a.freedom + v * v / b.freedom);
            let t = (a.mean - b.mean) / (u + v).sqrt();
            tails::t_two_sided(t, freedom).unwrap() < 0.05
        });
        beyond.count() as f64 / runs as f64
    };
    assert!(share_beyond(CarryOver::Estimated) <= 0.05);
    assert!(share_beyond(CarryOver::Excluded) > 0.2);
}

/// Readings with noise of their own on a slowly wandering cabinet: φ alone is deceived.
#[test]
fn a_wandering_cabinet_under_noise_is_said_to_be_less_sure() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let runs = 200;
    let beyond = (0..runs).filter(|_| {
        let (days, slow) = weekdays(&mut rng, 120, 0.9, 0.01);
        let (_, noise) = weekdays(&mut rng, 120, 0.0, 0.01);
        let values: Vec<f64> = slow.iter().zip(&noise).map(|(x, y)| x + y).collect();
        let found = level(&days, &values, options(CarryOver::Estimated, None)).unwrap();
        tails::t_two_sided(found.mean / found.standard_error, found.freedom).unwrap() < 0.01
    });
    let beyond = beyond.count();
    // 33 without the slowest waves, 13 with them: better, and not what is promised.
    assert!(beyond <= 16, "{beyond} of {runs}");
}

#[test]
fn spread_and_autocorrelation_come_out_right_on_average() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(6);
    let runs = 400;
    for phi in [0.0, 0.6] {
        let (mut outside, mut lag1) = (0, 0.0);
        for _ in 0..runs {
            let (days, values) = weekdays(&mut rng, 60, phi, 0.1);
            let found = level(&days, &values, options(CarryOver::Estimated, Some(0.1))).unwrap();
            let sd = found.sd_interval.unwrap();
            outside += usize::from(sd.low > 1.0 || sd.high < 1.0);
            lag1 += found.lag1_autocorrelation.unwrap() / f64::from(runs);
        }
        assert!(
            (4..=36).contains(&outside),
            "phi {phi}: {outside} of {runs}"
        );
        assert!((lag1 - phi).abs() < 0.03, "phi {phi}: {lag1}");
    }
}

#[test]
fn equal_readings_claim_no_more_than_their_rounding() {
    let days: Vec<f64> = (0..20).map(f64::from).collect();
    let found = level(&days, &[6.9; 20], options(CarryOver::Estimated, Some(0.1))).unwrap();
    assert_eq!((found.mean, found.sd, found.n_effective), (6.9, 0.0, 1.0));
    assert_close(found.standard_error, 0.1 / 12f64.sqrt(), 1e-12, "floor");
    assert_eq!(found.freedom, f64::INFINITY);
    assert!(found.sd_interval.is_none() && found.slope_per_day.is_none());
    assert_eq!(found.quantiles, vec![6.9; 21]);
    let unknown = level(&days, &[6.9; 20], options(CarryOver::Estimated, None)).unwrap();
    assert_eq!(unknown.standard_error, 0.0);
}

#[test]
fn rounding_counts_only_where_it_is_coarse() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(8);
    let (days, values) = weekdays(&mut rng, 60, 0.0, 0.5);
    let fine = level(&days, &values, options(CarryOver::Estimated, Some(0.5))).unwrap();
    assert!(fine.rounding_error < 1e-3 * fine.standard_error);
    // One reading in twenty a step higher: the mean may lie anywhere in the step.
    let values: Vec<f64> = (0..60).map(|i| f64::from(u8::from(i % 20 == 7))).collect();
    let coarse = level(&days, &values, options(CarryOver::Estimated, Some(1.0))).unwrap();
    assert!(coarse.rounding_error > 0.28 && coarse.standard_error > coarse.rounding_error);
}

#[test]
fn summary_of_a_known_series() {
    let days: Vec<f64> = (0..9).map(f64::from).collect();
    let values = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 90.0];
    let found = level(&days, &values, options(CarryOver::Excluded, None)).unwrap();
    assert_eq!((found.n, found.mean), (9, 14.0));
    assert!(
        found.robust_mean > 5.0 && found.robust_mean < 6.5,
        "{}",
        found.robust_mean
    );
    assert_eq!(found.quantiles.len(), 21);
    assert_eq!(
        (found.quantiles[0], found.quantiles[10], found.quantiles[20]),
        (1.0, 5.0, 90.0)
    );
    assert_close(found.quantiles[1], 1.4, 1e-12, "5 %");
}

#[test]
fn a_line_has_its_slope_and_a_perfect_one_no_interval() {
    let days: Vec<f64> = (0..30).map(|i| 2.0 * f64::from(i)).collect();
    let shaken: Vec<f64> = (0..30)
        .map(|i| 0.5 * f64::from(i) + f64::from(i * i % 5) * 0.1)
        .collect();
    let found = level(&days, &shaken, options(CarryOver::Estimated, None)).unwrap();
    let slope = found.slope_per_day.unwrap();
    assert!(
        slope.low < 0.25 && slope.high > 0.25 && slope.high - slope.low < 0.05,
        "{slope:?}"
    );
    let same_time = level(&[3.0; 30], &shaken, options(CarryOver::Estimated, None)).unwrap();
    assert_eq!(same_time.slope_per_day, None);
    assert!(same_time.standard_error > 0.0 && same_time.standard_error.is_finite());
}

#[test]
fn what_is_no_level_is_told_in_words() {
    let plain = options(CarryOver::Estimated, None);
    assert_eq!(level(&[], &[], plain), Err(NoLevel::NoReading));
    assert_eq!(level(&[1.0], &[1.0], plain), Err(NoLevel::TooFew { n: 1 }));
    let seven: Vec<f64> = (0..7).map(f64::from).collect();
    let few = level(&seven, &seven, plain).unwrap_err();
    assert_eq!(few, NoLevel::TooFew { n: 7 });
    assert!(few.to_string().starts_with("7 readings in the period"));
    assert!(
        level(&[1.0], &[1.0], plain)
            .unwrap_err()
            .to_string()
            .starts_with("1 reading in")
    );
    for (days, values) in [
        (vec![0.0, 1.0], vec![1.0]),
        (vec![1.0, 0.0], vec![1.0, 2.0]),
        (vec![0.0, f64::NAN], vec![1.0, 2.0]),
        (vec![0.0, 1.0], vec![1.0, f64::INFINITY]),
    ] {
        assert_eq!(level(&days, &values, plain), Err(NoLevel::NotASeries));
    }
}

#[test]
fn arithmetic_is_no_spread_and_huge_numbers_no_level() {
    let days: Vec<f64> = (0..20).map(f64::from).collect();
    let almost: Vec<f64> = (0..20)
        .map(|i| if i % 2 == 0 { 0.3 } else { 0.1 + 0.2 })
        .collect();
    let found = level(&days, &almost, options(CarryOver::Estimated, Some(0.1))).unwrap();
    assert_eq!((found.sd, found.n_effective), (0.0, 1.0));
    assert!(found.standard_error > 0.02);
    for scale in [1e200, 1e-200] {
        let far: Vec<f64> = (0..20).map(|i| scale * f64::from(i * i % 7)).collect();
        let found = level(&days, &far, options(CarryOver::Estimated, None));
        assert_eq!(found, Err(NoLevel::OutOfReach), "{scale}");
    }
}

/// Odd series: every number told is one.
#[test]
fn nothing_told_is_ever_not_a_number() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(9);
    for case in 0..300_u32 {
        let n = 8 + rng.random_range(0..20);
        let scale = 10f64.powi(rng.random_range(-12..12));
        let offset = [0.0, 1.0, 1e6][case as usize % 3];
        let mut day = 0.0;
        let (mut days, mut values) = (Vec::new(), Vec::new());
        for i in 0..n {
            day += f64::from(rng.random_range(0..4_u32)) * 0.5;
            days.push(day);
            values.push(
                offset
                    + scale
                        * match case % 4 {
                            0 => f64::from(i),
                            1 => f64::from(rng.random_range(0..2_u32)),
                            2 => {
                                if i == 3 {
                                    1.0
                                } else {
                                    0.0
                                }
                            }
                            _ => rng.random::<f64>(),
                        },
            );
        }
        let resolution = [None, Some(0.1), Some(0.0), Some(f64::NAN)][case as usize % 4];
        let found = level(&days, &values, options(CarryOver::Estimated, resolution)).unwrap();
        let told = [
            found.mean,
            found.sd,
            found.robust_mean,
            found.carry_over,
            found.n_effective,
            found.standard_error,
            found.rounding_error,
        ];
        assert!(
            told.iter().all(|x| x.is_finite() && *x >= 0.0),
            "{case}: {found:?}"
        );
        assert!(
            found.freedom > 0.0 && found.n_effective <= n as f64,
            "{case}: {found:?}"
        );
        for interval in [found.sd_interval, found.slope_per_day]
            .into_iter()
            .flatten()
        {
            assert!(interval.low <= interval.high, "{case}: {interval:?}");
        }
        assert!(found.quantiles.windows(2).all(|pair| pair[0] <= pair[1]));
    }
}

#[test]
fn copies_are_known_and_coincidences_are_not() {
    let (days, values) = reference_series(1);
    let plain = options(CarryOver::Estimated, None);
    let one = level(&days, &values, plain).unwrap();
    assert!(one.is_copy_of(&one.clone()));
    let mut other = values.clone();
    other[3] += 0.01;
    assert!(!one.is_copy_of(&level(&days, &other, plain).unwrap()));
    let flat = level(&days, &vec![7.0; days.len()], plain).unwrap();
    assert!(!flat.is_copy_of(&flat.clone()));
}
