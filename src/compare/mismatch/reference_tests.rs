//! Checks of the regression and of the ratio against results from outside this program.

use super::draws::{ends, of_fit};
use super::model::{Cell, Prior, fit, node_at};
use super::*;
use crate::stats::reference::{assert_close, numbers, rows};

const CELLS: &str = include_str!("../../../tests/reference/mismatch/cells.csv");
const FIXED: &str =
    include_str!("../../../tests/reference/mismatch/posterior_at_fixed_spreads.csv");
const AVERAGED: &str = include_str!("../../../tests/reference/mismatch/posterior_averaged.csv");
const LONGLEY: &str = include_str!("../../../tests/reference/mismatch/longley.csv");
const CERTIFIED: &str = include_str!("../../../tests/reference/mismatch/longley_certified.csv");
const FIELLER: &str = include_str!("../../../tests/reference/mismatch/fieller.csv");

const PRIORS: [Prior; 2] = [Prior { mean: 0.5, sd: 0.3 }, Prior { mean: 0.0, sd: 1.0 }];

fn cells() -> Vec<Cell> {
    numbers(CELLS)
        .iter()
        .map(|row| Cell {
            round: row[0] as usize,
            participant: row[1] as usize,
            y: row[2],
            x: row[3..].to_vec(),
        })
        .collect()
}

#[test]
fn the_posterior_at_fixed_spreads_is_the_textbook_formula() {
    let mut offset = None;
    for row in numbers(FIXED) {
        let node = node_at(&cells(), 3, &PRIORS, row[0], row[1]).unwrap();
        let covariance = node.precision.inverse();
        assert_close(node.mean[0], row[2], 1e-9, "first mean");
        assert_close(node.mean[1], row[3], 1e-9, "second mean");
        assert_close(covariance[0][0], row[4], 1e-9, "variance");
        assert_close(covariance[0][1], row[5], 1e-9, "covariance");
        assert_close(covariance[1][1], row[6], 1e-9, "variance");
        // Logarithmic weights agree up to one constant for all.
        let difference = node.weight - row[7];
        let first = *offset.get_or_insert(difference);
        assert!((difference - first).abs() < 1e-9, "{difference} {first}");
    }
}

#[test]
fn the_averaged_posterior_is_that_of_a_fine_grid() {
    let found = fit(&cells(), 3, &PRIORS).unwrap();
    let draws = of_fit(&found);
    for (k, row) in numbers(AVERAGED).iter().enumerate() {
        // Nine ratios stand for all: good to a twentieth of the deviation.
        assert!(
            (found.mean[k] - row[1]).abs() < 0.05 * row[2],
            "{} {}",
            found.mean[k],
            row[1]
        );
        assert_close(found.sd[k], row[2], 0.04, "deviation");
        let interval = ends(draws[k].clone()).unwrap();
        assert!(
            (interval.low - row[3]).abs() < 0.15 * row[2],
            "{interval:?} {row:?}"
        );
        assert!(
            (interval.high - row[4]).abs() < 0.15 * row[2],
            "{interval:?} {row:?}"
        );
    }
}

/// The Longley data as one round: years are the cabinets.
fn longley() -> (Vec<Observation>, Vec<Named>) {
    let names: Vec<&str> = rows(CERTIFIED).iter().map(|row| row[0]).collect();
    let named = |id: &&str| Named {
        id: (*id).into(),
        spoken: (*id).into(),
        unit: String::new(),
    };
    let observations = numbers(LONGLEY)
        .iter()
        .enumerate()
        .map(|(i, row)| Observation {
            round: "only".into(),
            participant: format!("{i}"),
            hours: 48.0,
            mass_loss: row[0],
            u: None,
            values: names
                .iter()
                .zip(&row[1..])
                .map(|(id, &mean)| {
                    let level = Level {
                        mean,
                        u_chance: 0.0,
                        u_instrument: 0.0,
                    };
                    ((*id).into(), level)
                })
                .collect(),
        })
        .collect();
    (observations, names.iter().map(named).collect())
}

#[test]
fn with_a_flat_prior_it_is_ordinary_least_squares() {
    // NIST StRD, Longley: six collinear predictors. Normal equations of centred, scaled
    // columns lose about half of the digits to the collinearity.
    let (observations, names) = longley();
    let flat: Vec<StatedSensitivity> = names
        .iter()
        .map(|named| StatedSensitivity {
            characteristic: named.id.clone(),
            per_unit: 0.0,
            uncertainty: 1e12,
            hours: 48.0,
            source: "flat".into(),
        })
        .collect();
    let found = sensitivities(&observations, &flat, &names, 48.0);
    assert_eq!(found.method, Method::Rounds, "{}", found.method_says);
    for row in rows(CERTIFIED) {
        let (estimate, deviation): (f64, f64) = (row[1].parse().unwrap(), row[2].parse().unwrap());
        let one = &found.known[row[0]];
        assert_close(one.value, estimate, 1e-8, row[0]);
        // The posterior is Student's t with 9 degrees of freedom: variance 9/7.
        assert_close(one.u, deviation * (9.0_f64 / 7.0).sqrt(), 0.01, row[0]);
        // 97.5 % point of t with 9 degrees of freedom, printed tables: 2.262.
        assert_close(one.ends.high - one.value, 2.262 * deviation, 0.08, row[0]);
    }
}

#[test]
fn with_an_exact_prior_it_is_the_stated_value() {
    let (observations, names) = longley();
    let exact = StatedSensitivity {
        characteristic: "unemp".into(),
        per_unit: -1.25,
        uncertainty: 0.0,
        hours: 24.0,
        source: "exact".into(),
    };
    let found = sensitivities(&observations, &[exact], &names, 48.0);
    assert_close(
        found.known["unemp"].value,
        -2.5,
        1e-6,
        "stated, for twice the hours",
    );
}

#[test]
fn the_share_has_fiellers_interval() {
    for row in numbers(FIELLER) {
        let [n, un, d, ud, low, high] = row[..] else {
            panic!("six columns")
        };
        let catch = Named {
            id: "catch".into(),
            spoken: "catch".into(),
            unit: String::new(),
        };
        let stated = StatedSensitivity {
            characteristic: "catch".into(),
            per_unit: n,
            uncertainty: un,
            hours: 48.0,
            source: String::new(),
        };
        let known = sensitivities(&[], &[stated], std::slice::from_ref(&catch), 48.0);
        let coupons = CouponDifference {
            a: "a".into(),
            a_name: "A".into(),
            b: "b".into(),
            b_name: "B".into(),
            rounds: vec![],
            hours: 48.0,
            difference: d,
            u: Some(ud),
            df: None,
        };
        let difference = Difference {
            characteristic: catch,
            difference: 1.0,
            u_chance: 0.0,
            u_instruments: 0.0,
        };
        let told = explain(&coupons, &[difference], &known).unwrap();
        let share = told.parts[0].share.unwrap();
        // 8192 draws: a few percent of the width.
        let width = high - low;
        assert_close(share.point, n / d, 1e-12, "share");
        assert!(
            (share.ends.low - low).abs() < 0.05 * width,
            "{share:?} {low}"
        );
        assert!(
            (share.ends.high - high).abs() < 0.05 * width,
            "{share:?} {high}"
        );
    }
}

#[test]
fn draws_of_a_fit_keep_their_correlation() {
    let found = fit(&cells(), 3, &PRIORS).unwrap();
    let draws = of_fit(&found);
    let mean_of =
        |f: &dyn Fn(usize) -> f64| (0..draws[0].len()).map(f).sum::<f64>() / draws[0].len() as f64;
    let product = mean_of(&|j| (draws[0][j] - found.mean[0]) * (draws[1][j] - found.mean[1]));
    let mut expected = 0.0;
    for node in &found.nodes {
        let shift = (node.mean[0] - found.mean[0]) * (node.mean[1] - found.mean[1]);
        expected += node.weight * (node.precision.inverse()[0][1] + shift);
    }
    assert!(
        expected < -0.01,
        "the fixture must be correlated: {expected}"
    );
    assert!(
        (product - expected).abs() < 0.1 * found.sd[0] * found.sd[1],
        "{product} {expected}"
    );
}
