//! The best breaks of the Nile's level, by an exact dynamic programme, against the published
//! ones; and this module's fit and search against those.

use super::fixtures::NILE;
use super::segments::{Coefficients, Search, Term, basis_of};
use super::whiten::{Kind, Whitened};
use crate::stats::reference::{assert_close, numbers};

/// Residual sum of squares and Bayesian criterion of the best 0 to 5 breaks with at least
/// 15 years a stretch, and the last year before each break: Zeileis, Kleiber, Krämer &
/// Hornik, Comput. Statist. Data Anal. 44, 109 (2003), from memory.
const PUBLISHED: [(f64, f64, &[usize]); 6] = [
    (2_835_157.0, 1318.0, &[]),
    (1_597_457.0, 1270.0, &[1898]),
    (1_552_924.0, 1276.0, &[1898, 1953]),
    (1_538_097.0, 1285.0, &[1898, 1938, 1953]),
    (1_507_888.0, 1292.0, &[1898, 1915, 1938, 1953]),
    (1_659_994.0, 1311.0, &[1885, 1900, 1915, 1938, 1953]),
];

const FEWEST: usize = 15;

/// Sum of squares about its mean of the readings `from..until`.
fn scatter(from: usize, until: usize) -> f64 {
    let stretch = &NILE[from..until];
    let mean = stretch.iter().sum::<f64>() / stretch.len() as f64;
    stretch.iter().map(|v| (v - mean).powi(2)).sum()
}

/// Least residual sum of squares with so many breaks, and the first reading after each
/// (Bellman's recursion over the end of the last stretch but one).
fn best_breaks(breaks: usize) -> (f64, Vec<usize>) {
    let n = NILE.len();
    let mut best: Vec<Option<(f64, Vec<usize>)>> = (0..=n)
        .map(|until| (until >= FEWEST).then(|| (scatter(0, until), Vec::new())))
        .collect();
    for _ in 0..breaks {
        best = (0..=n)
            .map(|until| {
                (FEWEST..=until.saturating_sub(FEWEST))
                    .filter_map(|at| {
                        let (before, dates) = best[at].as_ref()?;
                        Some((before + scatter(at, until), at, dates))
                    })
                    .min_by(|a, b| a.0.total_cmp(&b.0))
                    .map(|(square, at, dates)| (square, [dates.as_slice(), &[at]].concat()))
            })
            .collect();
    }
    best[n].clone().unwrap()
}

/// Bayesian criterion of a level with breaks: each break costs a level and a date.
fn criterion(square: f64, breaks: usize) -> f64 {
    let n = NILE.len() as f64;
    let likelihood = n * ((2.0 * std::f64::consts::PI * square / n).ln() + 1.0);
    likelihood + (2 * breaks + 2) as f64 * n.ln()
}

#[test]
fn the_fit_of_the_best_breaks_is_the_published_one() {
    let days: Vec<f64> = (0..NILE.len()).map(|year| year as f64).collect();
    let white = Whitened::new(&days, &NILE, 0.0);
    for (breaks, (square, bic, years)) in PUBLISHED.into_iter().enumerate() {
        let (least, dates) = best_breaks(breaks);
        let last_before: Vec<usize> = dates.iter().map(|at| 1870 + at).collect();
        assert_eq!(last_before, years);
        assert!((least - square).abs() < 0.51, "{breaks}: {least}");
        assert!((criterion(least, breaks) - bic).abs() < 0.51, "{breaks}");
        let step = |at: usize| Term {
            kind: Kind::Step,
            at,
        };
        let terms: Vec<Term> = dates.into_iter().map(step).collect();
        let fitted = basis_of(&white, &terms).residual_square();
        assert!((fitted / least - 1.0).abs() < 1e-9, "{breaks}: {fitted}");
    }
}

#[test]
fn the_search_stops_where_the_criterion_is_least() {
    let least = (0..PUBLISHED.len()).min_by(|&a, &b| {
        let of = |breaks| criterion(best_breaks(breaks).0, breaks);
        of(a).total_cmp(&of(b))
    });
    assert_eq!(least, Some(1));
    let days: Vec<f64> = (0..NILE.len()).map(|year| year as f64).collect();
    let search = Search {
        enter_first: 17.0,
        enter_next: 14.0,
        most: 5,
        after_step: FEWEST,
        after_ramp: FEWEST,
        before: FEWEST,
        noise_floor: 0.0,
    };
    let model = search.run(&Whitened::new(&days, &NILE, 0.0));
    assert_eq!(model.terms.len(), 1);
    assert!((model.residual_square - best_breaks(1).0).abs() < 1e-3);
}

/// Level and step under autoregressive noise, against statsmodels' generalised least squares.
#[test]
fn a_step_under_autocorrelation_is_fitted_as_by_statsmodels() {
    let days: Vec<f64> = (0..NILE.len()).map(|year| year as f64).collect();
    let step = Term {
        kind: Kind::Step,
        at: 28,
    };
    let table = include_str!("../../tests/reference/statsmodels/nile_autoregressive.csv");
    for row in numbers(table) {
        let white = Whitened::new(&days, &NILE, row[0]);
        let fit = Coefficients::of(&white, &[step]).unwrap();
        let square = basis_of(&white, &[step]).residual_square();
        let found = [
            fit.value[0],
            fit.value[1],
            square,
            fit.covariance[0][0],
            fit.covariance[0][1],
            fit.covariance[1][1],
        ];
        for (found, expected) in found.into_iter().zip(&row[1..]) {
            assert_close(found, *expected, 1e-9, &format!("{row:?}"));
        }
    }
}
