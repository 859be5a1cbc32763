//! Properties that the analysis of any table must have.

use super::{Precision, Screening, Table, Test, Verdict, analyse, screen};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Tables of two to twelve participants with one to six results in hundredths, often equal.
fn tables() -> impl Strategy<Value = Vec<Vec<f64>>> {
    prop_oneof![2..5_i32, 20..2000_i32].prop_flat_map(|span| {
        let own = prop::collection::vec(0..span, 1..7);
        prop::collection::vec(own, 2..13).prop_map(|all| {
            let hundredths = |own: Vec<i32>| own.into_iter().map(|w| f64::from(w) / 100.0);
            all.into_iter()
                .map(|own| hundredths(own).collect())
                .collect()
        })
    })
}

fn screened(results: &[Vec<f64>]) -> Screening {
    screen(&Table::new(results.to_vec()).unwrap())
}

fn mapped(results: &[Vec<f64>], f: impl Fn(f64) -> f64) -> Vec<Vec<f64>> {
    let own = |own: &Vec<f64>| own.iter().map(|x| f(*x)).collect();
    results.iter().map(own).collect()
}

fn near(a: f64, b: f64, scale: f64) -> bool {
    (a - b).abs() <= 1e-9 * scale
}

/// Every number that has no unit, to compare two analyses by.
fn without_unit(precision: &Precision) -> Vec<f64> {
    let h = precision.cells.iter().filter_map(|cell| cell.h.ok());
    let k = precision.cells.iter().filter_map(|cell| cell.k.ok());
    let cochran = precision
        .cochran
        .iter()
        .map(|cochran| cochran.test.statistic);
    let grubbs = precision.grubbs.iter().map(|test| test.statistic);
    h.chain(k).chain(cochran).chain(grubbs).collect()
}

/// Every number with the unit of the results, shifted ones apart.
fn with_unit(precision: &Precision) -> Vec<f64> {
    let variances = precision.variances.iter().flat_map(|v| {
        [
            v.s_r,
            v.s_l,
            v.s_reproducibility,
            v.r_limit,
            v.reproducibility_limit,
        ]
    });
    let sd = precision.cells.iter().filter_map(|cell| cell.sd);
    variances
        .chain(sd)
        .chain([precision.spread_of_means])
        .collect()
}

fn all_near(a: &[f64], b: &[f64], factor: f64) -> bool {
    let largest = a.iter().fold(1e-3, |m: f64, x| m.max(x.abs()));
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .all(|(a, b)| near(a * factor, *b, largest * factor))
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        rng_seed: RngSeed::Fixed(20_261_125),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_shift_and_a_scale_change_nothing_but_the_unit(
        results in tables(),
        shift in -50..50_i32,
        scale in prop_oneof![Just(0.5), Just(5.0 / 9.0), Just(1e-200), Just(1e100)],
    ) {
        let moved = mapped(&results, |x| (x + f64::from(shift)) * scale);
        let (plain, moved) = (screened(&results), screened(&moved));
        prop_assert!(all_near(&without_unit(&plain.all), &without_unit(&moved.all), 1.0));
        prop_assert!(all_near(&with_unit(&plain.all), &with_unit(&moved.all), scale));
        prop_assert!(near((plain.all.mean + f64::from(shift)) * scale, moved.all.mean, 100.0 * scale));
        let verdicts = |s: &Screening| s.marks.iter().map(|m| (m.test.test, m.test.verdict)).collect::<Vec<_>>();
        // A statistic within rounding of its critical value may fall on either side.
        if plain.marks.iter().all(|m| m.test.statistic > 1e-6) {
            prop_assert_eq!(verdicts(&plain), verdicts(&moved));
            prop_assert_eq!(&plain.left_out, &moved.left_out);
        }
    }

    #[test]
    fn the_order_of_participants_and_results_does_not_matter(results in tables()) {
        let mut turned = results.clone();
        turned.reverse();
        turned.iter_mut().for_each(|own| own.reverse());
        let (plain, turned) = (analyse(&Table::new(results.clone()).unwrap()), analyse(&Table::new(turned).unwrap()));
        prop_assert!(all_near(&with_unit(&plain)[..1], &with_unit(&turned)[..1], 1.0));
        let sorted = |precision: &Precision| {
            let mut found = without_unit(precision);
            found.sort_by(f64::total_cmp);
            found
        };
        prop_assert!(all_near(&sorted(&plain), &sorted(&turned), 1.0));
        prop_assert!(near(plain.mean, turned.mean, 20.0));
        let last = results.len() - 1;
        for (a, b) in plain.cells.iter().zip(turned.cells.iter().rev()) {
            prop_assert_eq!(a.participant, last - b.participant);
            prop_assert!(near(a.mean, b.mean, 20.0));
        }
    }

    #[test]
    fn a_mirror_swaps_the_ends(results in tables()) {
        let mirrored = mapped(&results, |x| -x);
        let (plain, mirrored) = (screened(&results).all, screened(&mirrored).all);
        let of = |p: &Precision, test| p.grubbs.iter().find(|t| t.test == test).map(|t| t.statistic);
        for (a, b) in [(Test::GrubbsLargest, Test::GrubbsSmallest), (Test::GrubbsTwoLargest, Test::GrubbsTwoSmallest)] {
            for (a, b) in [(of(&plain, a), of(&mirrored, b)), (of(&plain, b), of(&mirrored, a))] {
                prop_assert_eq!(a.is_some(), b.is_some());
                prop_assert!(near(a.unwrap_or(0.0), b.unwrap_or(0.0), 1.0));
            }
        }
    }

    #[test]
    fn the_general_formula_is_the_balanced_one_when_numbers_are_equal(
        results in (1..6_usize, 2..10_usize).prop_flat_map(|(n, p)| {
            prop::collection::vec(prop::collection::vec(-900..900_i32, n), p)
        })
    ) {
        let results: Vec<Vec<f64>> = results.iter().map(|own| own.iter().map(|w| f64::from(*w) / 10.0).collect()).collect();
        let (p, n) = (results.len() as f64, results[0].len() as f64);
        let found = analyse(&Table::new(results.clone()).unwrap());
        // Straight from the formulas for equal numbers, with plain sums.
        let means: Vec<f64> = results.iter().map(|own| own.iter().sum::<f64>() / n).collect();
        let mean = means.iter().sum::<f64>() / p;
        let of_means = means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (p - 1.0);
        let within: f64 = results.iter().zip(&means).map(|(own, m)| own.iter().map(|x| (x - m).powi(2)).sum::<f64>()).sum();
        prop_assert!(near(found.mean, mean, 100.0));
        prop_assert!(near(found.mean_of_means, mean, 100.0));
        prop_assert!(near(found.spread_of_means.powi(2), of_means, 1e4));
        match found.variances {
            Err(_) => prop_assert_eq!(n, 1.0),
            Ok(variances) => {
                let s_r2 = within / (p * (n - 1.0));
                let s_l2 = of_means - s_r2 / n;
                prop_assert!(near(variances.mean_replicates, n, 10.0));
                prop_assert!(near(variances.s_r.powi(2), s_r2, 1e4));
                prop_assert!(near(variances.s_l_squared_estimate, s_l2, 1e4));
                prop_assert!(near(variances.s_reproducibility.powi(2), s_r2 + s_l2.max(0.0), 1e4));
                prop_assert_eq!(variances.s_l_negative, variances.s_l_squared_estimate < 0.0);
            }
        }
    }

    #[test]
    fn h_and_k_add_up_and_every_number_is_finite(results in tables()) {
        let found = screened(&results);
        let all = &found.all;
        let h: Vec<f64> = all.cells.iter().filter_map(|cell| cell.h.ok()).collect();
        if !h.is_empty() {
            prop_assert!(near(h.iter().sum(), 0.0, 10.0));
            prop_assert!(near(h.iter().map(|h| h * h).sum(), h.len() as f64 - 1.0, 10.0));
        }
        let with_k = || all.cells.iter().filter_map(|cell| Some(((cell.n - 1) as f64, cell.k.ok()?)));
        let freedom: f64 = with_k().map(|(own, _)| own).sum();
        prop_assert!(near(with_k().map(|(own, k)| own * k * k).sum(), freedom, 10.0 * freedom.max(1.0)));
        for precision in [Some(all), found.without_outliers.as_ref()].into_iter().flatten() {
            prop_assert!(without_unit(precision).iter().chain(&with_unit(precision)).all(|x| x.is_finite()));
        }
    }

    #[test]
    fn nothing_is_left_out_without_a_mark_and_enough_remain(results in tables()) {
        let found = screened(&results);
        let p = results.len();
        let mut marked: Vec<usize> = found.marks.iter().filter(|mark| mark.left_out).flat_map(|mark| mark.test.participants.clone()).collect();
        marked.sort_unstable();
        prop_assert_eq!(&marked, &found.left_out);
        prop_assert!(found.marks.iter().all(|mark| mark.test.verdict != Verdict::Nothing));
        prop_assert!(found.marks.iter().all(|mark| !mark.left_out || mark.test.verdict == Verdict::Outlier));
        let kept_outlier = found.marks.iter().any(|mark| !mark.left_out && mark.test.verdict == Verdict::Outlier);
        prop_assert_eq!(kept_outlier, found.stopped.is_some());
        prop_assert!(found.left_out.is_empty() || p - found.left_out.len() >= super::LEAST_REMAINING);
        prop_assert!(found.left_out.len() <= 1 || found.left_out.len() * 9 <= p * 2);
        prop_assert_eq!(found.without_outliers.map(|w| w.participants), (!marked.is_empty()).then(|| p - marked.len()));
    }
}

#[test]
fn the_ends_of_what_binary64_holds_do_no_harm() {
    for results in [
        vec![vec![9e149, -9e149], vec![9e149, 8e149], vec![0.0]],
        vec![vec![1e-320, 3e-320], vec![2e-320], vec![5e-324, 0.0]],
        vec![vec![1.0, 1.0 + 1e-15], vec![1.0 - 1e-15], vec![1.0, 1.0]],
        vec![vec![1e149], vec![1e-149, 2e-149], vec![-3.0]],
    ] {
        let found = screened(&results);
        let numbers = without_unit(&found.all);
        assert!(
            numbers.iter().all(|x| x.is_finite()),
            "{results:?}: {numbers:?}"
        );
    }
}

#[test]
fn a_thousand_participants_are_no_trouble() {
    let own = |i: usize| {
        (0..3)
            .map(|j| ((i * 7919 + j * 104_729) % 1009) as f64)
            .collect()
    };
    let mut results: Vec<Vec<f64>> = (0..1000).map(own).collect();
    results[500] = vec![9000.0, 9100.0, 9050.0];
    let found = screened(&results);
    assert_eq!(found.left_out, [500]);
    assert_eq!(found.all.grubbs.len(), 4);
}
