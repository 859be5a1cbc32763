//! What all robust methods must keep: moving and scaling the results moves and scales the
//! estimates, normal results give their standard deviation, gross errors hardly count.
//! Seeds are fixed.

use super::testing::{COPPER, near, normals};
use super::*;
use rand::{RngExt, SeedableRng};

type Estimator = fn(&[f64]) -> Result<RobustEstimate, Refused>;

const ALL: [Estimator; 3] = [
    |values| algorithm_a(values, Constants::Exact),
    |values| median_nmad(values, Constants::Exact),
    q_hampel,
];

#[test]
fn moving_and_scaling_the_results_moves_and_scales_the_estimates() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(41);
    for round in 0..150 {
        let mut values = normals(&mut rng, 3 + round % 40);
        if round % 3 == 0 {
            values[0] *= 50.0;
        }
        if round % 5 == 0 {
            values
                .iter_mut()
                .for_each(|x| *x = (*x * 5.0).round() / 5.0);
        }
        let shift = rng.random_range(-100.0..100.0);
        let scale = [-3.7, 0.01, 2.0, 1e6][round % 4];
        let moved: Vec<f64> = values.iter().rev().map(|x| shift + scale * x).collect();
        for estimator in ALL {
            let (plain, found) = (estimator(&values).unwrap(), estimator(&moved).unwrap());
            let allowed = 1e-9 * (plain.spread() * scale.abs()) + 1e-12 * shift.abs();
            let expected = shift + scale * plain.centre();
            let what = format!("round {round}: {plain:?} {found:?}");
            assert!((found.centre() - expected).abs() <= allowed, "{what}");
            let expected = scale.abs() * plain.spread();
            assert!((found.spread() - expected).abs() <= allowed, "{what}");
            assert!(found.centre().is_finite() && found.spread() >= 0.0);
        }
    }
}

/// On normal results each spread estimates the standard deviation: within 1 % on average
/// over 400 rounds of 200 participants (its own standard error is below 0.4 %).
#[test]
fn normal_results_give_their_standard_deviation() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(42);
    let mut means = [0.0; 3];
    let mut centres = [0.0; 3];
    let rounds = 400;
    for _ in 0..rounds {
        let values = normals(&mut rng, 200);
        for (k, estimator) in ALL.iter().enumerate() {
            let found = estimator(&values).unwrap();
            means[k] += found.spread() / f64::from(rounds);
            centres[k] += found.centre() / f64::from(rounds);
        }
    }
    for (mean, centre) in means.iter().zip(centres) {
        assert!((mean - 1.0).abs() < 0.01, "{means:?}");
        assert!(centre.abs() < 0.015, "{centres:?}");
    }
}

/// With five participants the spreads are off by what the module's page says (5,000 rounds
/// here, 100,000 for the page; ours, no published figure at hand).
#[test]
fn five_participants_give_the_bias_that_is_stated() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(44);
    let rounds = 5_000;
    let mut means = [0.0; 3];
    for _ in 0..rounds {
        let values = normals(&mut rng, 5);
        for (mean, estimator) in means.iter_mut().zip(ALL) {
            *mean += estimator(&values).unwrap().spread() / f64::from(rounds);
        }
    }
    for (mean, expected) in means.iter().zip([1.05, 0.82, 1.19]) {
        assert!((mean - expected).abs() < 0.025, "{means:?}");
    }
}

/// Twenty participants, four of them wild on one side. The centre's error (root mean square
/// over 500 rounds, in standard deviations of a good result) stays within a bound for each
/// method, however wild the errors are; the plain mean is off by 2 with errors of 10.
#[test]
fn a_fifth_of_gross_errors_leaves_the_centre_within_a_bound() {
    for (off, bounds) in [(10.0, [0.86, 0.48, 0.29]), (1000.0, [0.86, 0.48, 0.29])] {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(43);
        let rounds = 500;
        let mut squares = [0.0; 3];
        for _ in 0..rounds {
            let mut values = normals(&mut rng, 20);
            values.iter_mut().take(4).for_each(|x| *x += off);
            for (k, estimator) in ALL.iter().enumerate() {
                let found = estimator(&values).unwrap();
                squares[k] += found.centre().powi(2) / f64::from(rounds);
            }
        }
        let errors = squares.map(f64::sqrt);
        for (error, bound) in errors.iter().zip(bounds) {
            assert!(error < &bound, "errors of {off}: {errors:?}");
        }
    }
}

#[test]
fn order_does_not_count_and_names_are_stable() {
    let mut turned = COPPER;
    turned.reverse();
    for estimator in ALL {
        assert_eq!(estimator(&COPPER), estimator(&turned));
    }
    let named: Vec<&str> = ALL
        .iter()
        .map(|estimator| estimator(&COPPER).unwrap().method().id())
        .collect();
    assert_eq!(named, ["algorithm-a", "median-nmad", "q-hampel"]);
}

#[test]
fn extreme_sizes_stay_finite() {
    for scale in [1e-300, 1e-150, 1.0, 1e150, 5e306] {
        let values: Vec<f64> = COPPER.iter().map(|x| x * scale).collect();
        for estimator in ALL {
            let (found, plain) = (estimator(&values).unwrap(), estimator(&COPPER).unwrap());
            assert!(
                near(found.centre(), scale * plain.centre(), 1e-11),
                "{found:?}"
            );
            assert!(
                near(found.spread(), scale * plain.spread(), 1e-9),
                "{found:?}"
            );
        }
    }
}
