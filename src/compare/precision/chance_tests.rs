//! How often equal laboratories are marked by chance, and how often a bad one is.
//!
//! The suite runs few sets. Large runs by hand (200,000 sets; 50,000 of 30 and 100
//! laboratories), equal numbers of results, marked at 5 % and 1 %, in per cent:
//!
//! | laboratories × results | Cochran | single Grubbs | double Grubbs | any left out |
//! |---|---|---|---|---|
//! | 4 × 3 | 5.00, 1.03 | 4.92, 1.02 | 4.89, 0.97 | 2.04 |
//! | 5 × 2 | 4.96, 1.02 | 4.99, 1.01 | 4.98, 1.00 | 2.02 |
//! | 8 × 3 | 4.90, 0.98 | 4.92, 0.97 | 4.92, 0.99 | 1.93 |
//! | 30 × 4 | 4.90, 0.91 | 4.96, 0.96 | 5.07, 1.00 | 2.42 |
//! | 100 × 2 | 4.84, 0.99 | 4.84, 0.96 | 4.93, 1.02 | 2.46 |
//!
//! Cochran with 3 to 5 results (most 3): 3.48, 0.62; with each its own degrees of freedom
//! (2 to 400 results): 5.01, 1.07.

use super::{Precision, Table, Test, Verdict, analyse, screen};
use crate::stats::normal;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha12Rng;

fn normals(rng: &mut ChaCha12Rng, n: usize) -> Vec<f64> {
    let mut one = || normal::quantile(rng.random_range(1e-12..1.0)).unwrap_or(0.0);
    (0..n).map(|_| one()).collect()
}

fn equal_laboratories(rng: &mut ChaCha12Rng, sizes: &[usize]) -> Vec<Vec<f64>> {
    sizes.iter().map(|n| normals(rng, *n)).collect()
}

fn beyond(precision: &Precision, tests: &[Test], least: Verdict) -> bool {
    let cochran = precision.cochran.iter().map(|cochran| &cochran.test);
    cochran
        .chain(&precision.grubbs)
        .any(|test| tests.contains(&test.test) && test.verdict >= least)
}

/// Shares of `sets` simulated experiments that a family of tests marks at 5 % and 1 %.
#[derive(Debug, Default)]
struct Rates {
    cochran: [f64; 2],
    single: [f64; 2],
    pair: [f64; 2],
    left_out: f64,
}

fn rates(sizes: &[usize], sets: usize) -> Rates {
    let mut rng = ChaCha12Rng::seed_from_u64(57_252);
    let mut found = Rates::default();
    let each = 1.0 / sets as f64;
    for _ in 0..sets {
        let table = Table::new(equal_laboratories(&mut rng, sizes)).unwrap();
        let precision = analyse(&table);
        for (i, least) in [Verdict::Straggler, Verdict::Outlier]
            .into_iter()
            .enumerate()
        {
            let rate = |tests: &[Test]| f64::from(beyond(&precision, tests, least)) * each;
            found.cochran[i] += rate(&[Test::Cochran]);
            found.single[i] += rate(&[Test::GrubbsLargest, Test::GrubbsSmallest]);
            found.pair[i] += rate(&[Test::GrubbsTwoLargest, Test::GrubbsTwoSmallest]);
        }
        found.left_out += f64::from(!screen(&table).left_out.is_empty()) * each;
    }
    found
}

#[test]
fn equal_laboratories_are_marked_as_often_as_the_level_says() {
    let found = rates(&[3; 8], 1500);
    // 1,500 sets: three standard errors are 0.017 at 5 % and 0.008 at 1 %.
    for [straggler, outlier] in [found.cochran, found.single, found.pair] {
        assert!((straggler - 0.05).abs() < 0.017, "{found:?}");
        assert!((outlier - 0.01).abs() < 0.008, "{found:?}");
    }
    assert!(found.left_out > 0.005 && found.left_out < 0.05, "{found:?}");
}

#[test]
fn very_unequal_numbers_keep_the_level_of_cochran_but_not_of_grubbs() {
    let found = rates(&[2, 12, 12, 60, 7, 9, 3, 12], 600);
    // 600 sets: three standard errors are 0.027 at 5 %.
    assert!((found.cochran[0] - 0.05).abs() < 0.027, "{found:?}");
    assert!(found.single[0] > 0.08, "{found:?}");
}

#[test]
fn a_laboratory_that_is_off_or_rough_is_found() {
    let mut rng = ChaCha12Rng::seed_from_u64(57_253);
    let (mut off, mut rough, sets) = (0, 0, 100);
    for _ in 0..sets {
        let mut results = equal_laboratories(&mut rng, &[4; 10]);
        results[2].iter_mut().for_each(|x| *x += 5.0);
        off += usize::from(
            screen(&Table::new(results.clone()).unwrap())
                .left_out
                .contains(&2),
        );
        results[2].iter_mut().for_each(|x| *x = (*x - 5.0) * 6.0);
        rough += usize::from(screen(&Table::new(results).unwrap()).left_out.contains(&2));
    }
    assert!(off >= 95 && rough >= 90, "{off} {rough}");
}
