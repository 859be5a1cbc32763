//! Properties that charts of any readings must have, and how often limits are passed by chance.

use super::{excluded, only_limits};
use crate::chart::chart;
use crate::chart::tests_support::{OPTIONS, daily};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Hundredths, so that scaling and shifting leave the readings on a grid.
fn readings() -> impl Strategy<Value = Vec<f64>> {
    let span = prop_oneof![3..6_i32, 20..400_i32];
    span.prop_flat_map(|span| prop::collection::vec(0..span, 8..70))
        .prop_map(|whole| whole.into_iter().map(|w| f64::from(w) / 100.0).collect())
}

fn same(a: f64, b: f64, scale: f64) -> bool {
    (a - b).abs() <= 1e-6 * scale
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        rng_seed: RngSeed::Fixed(20_260_301),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn limits_follow_a_shift_and_a_scale(values in readings(), shift in -50..50_i32, scale in prop_oneof![Just(0.5), Just(5.0 / 9.0), Just(10.0)]) {
        let moved: Vec<f64> = values.iter().map(|v| (v + f64::from(shift)) * scale).collect();
        let (plain, moved) = (daily(&values), daily(&moved));
        let (plain, moved) = (chart(&plain, None, &OPTIONS), chart(&moved, None, &OPTIONS));
        prop_assert_eq!(plain.stages[0].judged_from, moved.stages[0].judged_from);
        match (&plain.stages[0].limits, &moved.stages[0].limits) {
            (Ok(a), Ok(b)) => {
                prop_assert_eq!(a.sigma_method, b.sigma_method);
                prop_assert!(same(a.sigma * scale, b.sigma, b.sigma), "{a:?} {b:?}");
                prop_assert!(same((a.upper + f64::from(shift)) * scale, b.upper, b.sigma));
                prop_assert!(same((a.lower + f64::from(shift)) * scale, b.lower, b.sigma));
                prop_assert!(same(a.moving_range_upper * scale, b.moving_range_upper, b.sigma));
                prop_assert_eq!(a.screened.len(), b.screened.len());
            }
            (Err(_), Err(_)) => {}
            other => prop_assert!(false, "{other:?}"),
        }
    }

    #[test]
    fn excluded_readings_never_matter(values in readings(), which in prop::collection::btree_set(0..60_usize, 1..6), junk in -1e6..1e6_f64) {
        let which: Vec<usize> = which.into_iter().filter(|i| *i < values.len()).collect();
        let mut changed = values.clone();
        which.iter().for_each(|i| changed[*i] = junk);
        let mark = |v: &[f64]| daily(v).with_marks(excluded(&which), vec![]).unwrap();
        let (a, b) = (mark(&values), mark(&changed));
        let (a, b) = (chart(&a, None, &OPTIONS), chart(&b, None, &OPTIONS));
        prop_assert_eq!(&a.stages, &b.stages);
        for index in 0..values.len() {
            let (x, y) = (a.moving_ranges.at(index), b.moving_ranges.at(index));
            prop_assert!(x == y || (x.is_nan() && y.is_nan()));
        }
    }

    #[test]
    fn limits_are_sound_whatever_the_readings(values in readings()) {
        let series = daily(&values);
        let charted = chart(&series, None, &OPTIONS);
        prop_assert!(charted.moving_ranges.at(0).is_nan());
        prop_assert!(charted.moving_ranges.at(values.len()).is_nan());
        if let Ok(l) = &charted.stages[0].limits {
            prop_assert!(l.sigma > 0.0 && l.lower < l.centre && l.centre < l.upper);
            prop_assert!(l.moving_range_upper > l.moving_range_mean);
            prop_assert!(l.resolution.is_none_or(|r| r > 0.0));
        }
    }
}

/// Readings per 370 that lie beyond limits (a rounded one when all it may stand for does).
fn beyond_per_370(values: &[f64], lower: f64, upper: f64, half_step: f64) -> f64 {
    let beyond = values
        .iter()
        .filter(|v| **v - half_step > upper || **v + half_step < lower);
    370.0 * beyond.count() as f64 / values.len() as f64
}

#[test]
fn steady_cabinets_stay_inside_however_they_carry_over_or_are_rounded() {
    use crate::stats::normal;
    use rand::{RngExt, SeedableRng};
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(77);
    for (phi, step) in [(0.0, 0.01), (0.6, 0.01), (0.0, 1.5), (0.6, 1.5)] {
        let (mut used, mut plain) = (0.0, 0.0);
        let cabinets = 400;
        for _ in 0..cabinets {
            let mut draw = || normal::quantile(rng.random()).unwrap_or(0.0);
            let mut x = draw();
            let values: Vec<f64> = (0..330)
                .map(|_| {
                    x = phi * x + f64::sqrt(1.0 - phi * phi) * draw();
                    (x / step).round() * step
                })
                .collect();
            let series = daily(&values);
            let l = only_limits(&chart(&series, None, &OPTIONS));
            let half = if step > 1.0 { step / 2.0 } else { 0.0 };
            let reach = 3.0 * l.plain_sigma;
            used += beyond_per_370(&values[30..], l.lower, l.upper, half) / f64::from(cabinets);
            let (low, high) = (l.plain_centre - reach, l.plain_centre + reach);
            plain += beyond_per_370(&values[30..], low, high, 0.0) / f64::from(cabinets);
        }
        // One in 370 is what known limits give; 30 readings do not know them that well.
        assert!(
            used < 8.0,
            "phi {phi} step {step}: {used} beyond, {plain} beyond plain limits"
        );
        assert!(
            phi == 0.0 || plain > 3.0 * used,
            "phi {phi} step {step}: {used} {plain}"
        );
    }
}
