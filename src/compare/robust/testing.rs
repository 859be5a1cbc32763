//! Data and helpers that several tests of the robust methods share.

use crate::stats::{normal, reference};
use rand::RngExt;

/// Copper in wholemeal flour, µg/g, 24 results: Analytical Methods Committee, Analyst 114,
/// 1693 (1989), from memory; statsmodels' documentation of Huber's proposal 2 holds the
/// same values.
pub(super) const COPPER: [f64; 24] = [
    2.9, 3.1, 3.4, 3.4, 3.7, 3.7, 2.8, 2.5, 2.4, 2.4, 2.7, 2.2, 5.28, 3.37, 3.03, 3.03, 28.95,
    3.77, 3.4, 2.2, 3.5, 3.6, 3.7, 3.7,
];

/// One laboratory of the antibody example.
pub(super) struct Laboratory {
    pub(super) mean: f64,
    pub(super) deviation: f64,
}

/// The antibody example of ISO 13528:2005, 8.6.2.
pub(super) fn antibody() -> Vec<Laboratory> {
    let table = include_str!("../../../tests/reference/interlab-robust/antibody.csv");
    let rows = reference::numbers(table);
    assert_eq!(rows.len(), 25);
    rows.iter()
        .map(|row| Laboratory {
            mean: row[1],
            deviation: row[2],
        })
        .collect()
}

/// A case computed by statsmodels and scipy.
pub(super) struct HuberCase {
    pub(super) name: String,
    pub(super) centre: f64,
    pub(super) spread: f64,
    pub(super) median: f64,
    pub(super) nmad: f64,
    pub(super) values: Vec<f64>,
}

/// All of them.
pub(super) fn huber_cases() -> Vec<HuberCase> {
    let table = include_str!("../../../tests/reference/interlab-robust/huber_proposal_2.csv");
    let number = |cell: &str| cell.parse::<f64>().unwrap();
    reference::rows(table)
        .iter()
        .map(|row| HuberCase {
            name: row[0].to_owned(),
            centre: number(row[1]),
            spread: number(row[2]),
            median: number(row[3]),
            nmad: number(row[4]),
            values: row[5].split(' ').map(number).collect(),
        })
        .collect()
}

/// Whether two numbers agree to a share of the second.
pub(super) fn near(found: f64, expected: f64, relative: f64) -> bool {
    (found - expected).abs() <= relative * expected.abs()
}

/// `n` draws from the standard normal distribution.
pub(super) fn normals(rng: &mut rand_chacha::ChaCha8Rng, n: usize) -> Vec<f64> {
    (0..n)
        .map(|_| normal::quantile(rng.random()).unwrap_or(0.0))
        .collect()
}
