//! Run lengths of the classical charts, exactly, against the published tables.
//!
//! The run length of a chart whose next state depends on its present one solves an integral
//! equation; the transitions and limits that enter it are read off the charts themselves.

use super::accumulated::{self, Accumulating};
use super::smoothed::{self, Smoothed, Smoothing};
use crate::drift::fixtures::Noise;
use crate::stats::normal;
use crate::stats::reference::{assert_close, numbers};

/// Nodes of the quadrature; 96 agree with them to eleven digits on every row.
const NODES: usize = 64;

/// Gauss–Legendre nodes and weights on `low` to `high`.
fn gauss_legendre(low: f64, high: f64) -> Vec<(f64, f64)> {
    let n = NODES as f64;
    (0..NODES)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..50 {
                let (mut before, mut p) = (1.0, x);
                for k in 2..=NODES {
                    let k = k as f64;
                    (before, p) = (p, ((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k);
                }
                slope = n * (x * p - before) / (x * x - 1.0);
                x -= p / slope;
            }
            let half = (high - low) / 2.0;
            let weight = 2.0 / ((1.0 - x * x) * slope * slope);
            ((low + high) / 2.0 + half * x, half * weight)
        })
        .collect()
}

/// Solves `matrix · x = 1`; the matrix is the identity less one whose rows sum to below 1,
/// so that no pivoting is needed.
fn solve_ones(mut matrix: Vec<Vec<f64>>) -> Vec<f64> {
    let n = matrix.len();
    let mut x = vec![1.0; n];
    for pivot in 0..n {
        let (above, below) = matrix.split_at_mut(pivot + 1);
        let top = &above[pivot];
        for (row, lower) in below.iter_mut().enumerate() {
            let factor = lower[pivot] / top[pivot];
            for (cell, of_top) in lower[pivot..].iter_mut().zip(&top[pivot..]) {
                *cell -= factor * of_top;
            }
            x[pivot + 1 + row] -= factor * x[pivot];
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n)
            .map(|column| matrix[row][column] * x[column])
            .sum();
        x[row] = (x[row] - known) / matrix[row][row];
    }
    x
}

/// Readings on the centre after which the exact limits are the asymptotic ones.
const RUN_IN: usize = 400;

/// The last point after the run-in and `readings`.
fn smoothed_after(readings: &[f64], settings: Smoothing) -> Smoothed {
    let mut values = vec![0.0; RUN_IN];
    values.extend_from_slice(readings);
    let points = smoothed::chart(&values, &vec![1.0; values.len()], 0.0, 1.0, settings);
    *points.last().unwrap()
}

/// Mean run length of the smoothed chart from its centre, with asymptotic limits.
fn smoothed_run_length(settings: Smoothing, shift: f64) -> f64 {
    // A state is kept · (the one before) + gain · (the reading).
    let gain = smoothed_after(&[1.0], settings).value;
    let kept = smoothed_after(&[1.0, 0.0], settings).value / gain;
    let limits = smoothed_after(&[], settings);
    let nodes = gauss_legendre(limits.lower, limits.upper);
    let density = |from: f64, to: f64| normal::density((to - kept * from) / gain - shift) / gain;
    let matrix: Vec<Vec<f64>> = (0..NODES)
        .map(|i| {
            (0..NODES)
                .map(|j| f64::from(i == j) - nodes[j].1 * density(nodes[i].0, nodes[j].0))
                .collect()
        })
        .collect();
    let lengths = solve_ones(matrix);
    let onward = nodes.iter().zip(lengths);
    1.0 + onward
        .map(|((to, weight), length)| weight * density(0.0, *to) * length)
        .sum::<f64>()
}

#[test]
fn smoothed_run_lengths_are_those_published() {
    let table = numbers(include_str!(
        "../../tests/reference/run-length/smoothed.csv"
    ));
    for row in &table {
        let [weight, width, shift, published, recomputed] = row[..] else {
            panic!("{row:?}");
        };
        let found = smoothed_run_length(Smoothing { weight, width }, shift);
        assert_close(found, recomputed, 1e-4, &format!("{row:?}"));
        assert_published(found, published, row);
    }
}

/// Fails unless `found` is within 0.5 % and half a digit of a value printed to two or three digits.
#[track_caller]
fn assert_published(found: f64, published: f64, row: &[f64]) {
    let last_digit = match published {
        100.0.. => 1.0,
        10.0.. => 0.1,
        _ if (published * 10.0).fract() == 0.0 => 0.1,
        _ => 0.01,
    };
    let allowed = 0.005 * published + last_digit / 2.0;
    assert!((found - published).abs() <= allowed, "{row:?}: {found}");
}

/// The chart itself, run on seeded readings, agrees with the equation within four standard
/// errors.
#[test]
fn smoothed_run_lengths_simulated_on_the_chart_agree() {
    let mut noise = Noise::new(31);
    for (weight, width, shift) in [(0.2, 2.962, 1.0), (0.1, 2.814, 1.0), (0.4, 3.054, 0.5)] {
        let settings = Smoothing { weight, width };
        let runs: Vec<f64> = (0..2000)
            .map(|_| {
                let mut values = vec![0.0; 100];
                values.extend((0..800).map(|_| noise.normal() + shift));
                let points = smoothed::chart(&values, &vec![1.0; 900], 0.0, 1.0, settings);
                (points.iter().position(Smoothed::is_beyond).unwrap() - 99) as f64
            })
            .collect();
        let mean = runs.iter().sum::<f64>() / 2000.0;
        let square: f64 = runs.iter().map(|run| (run - mean).powi(2)).sum();
        let error = (square / 1999.0 / 2000.0).sqrt();
        let exact = smoothed_run_length(settings, shift);
        assert!(
            (mean - exact).abs() < 4.0 * error,
            "{mean} ± {error}: {exact}"
        );
    }
}

/// Mean run length of the upper side of the accumulated chart from 0, and of both sides
/// together (1/L = 1/L⁺ + 1/L⁻; Kemp, J. R. Statist. Soc. B 23, 149 (1961)).
fn accumulated_run_lengths(settings: Accumulating, shift: f64) -> (f64, f64) {
    let upper = accumulated_side(settings, shift);
    let lower = accumulated_side(settings, -shift);
    (upper, 1.0 / (1.0 / upper + 1.0 / lower))
}

fn accumulated_side(settings: Accumulating, shift: f64) -> f64 {
    // A sum is that before, plus the reading, plus `less` (negative), not below 0.
    let from = Accumulating {
        head_start: settings.decision / 2.0,
        ..settings
    };
    let point = |reading: f64| accumulated::chart(&[reading], from)[0];
    let less = point(0.25).upper - from.head_start - 0.25;
    assert_eq!(point(-settings.decision).upper, 0.0);
    let to_limit = settings.decision - from.head_start - less;
    assert!(!point(to_limit - 1e-9).fires && point(to_limit + 1e-9).fires);
    let nodes = gauss_legendre(0.0, settings.decision);
    // State 0 has a probability of its own; it is the last row and column.
    let density = |from: f64, to: f64| normal::density(to - from - less - shift);
    let to_zero = |from: f64| normal::below(-from - less - shift);
    let starts: Vec<f64> = nodes.iter().map(|node| node.0).chain([0.0]).collect();
    let matrix: Vec<Vec<f64>> = starts
        .iter()
        .enumerate()
        .map(|(i, &start)| {
            let within = nodes
                .iter()
                .map(|(to, weight)| weight * density(start, *to));
            within
                .chain([to_zero(start)])
                .enumerate()
                .map(|(j, chance)| f64::from(i == j) - chance)
                .collect()
        })
        .collect();
    *solve_ones(matrix).last().unwrap()
}

#[test]
fn accumulated_run_lengths_are_those_published() {
    let table = numbers(include_str!(
        "../../tests/reference/run-length/accumulated.csv"
    ));
    for row in &table {
        let [decision, shift, published, two_sided, one_sided] = row[..] else {
            panic!("{row:?}");
        };
        let settings = Accumulating {
            slack: 0.5,
            decision,
            head_start: 0.0,
        };
        let (upper, both) = accumulated_run_lengths(settings, shift);
        assert_close(upper, one_sided, 1e-4, &format!("{row:?}"));
        assert_close(both, two_sided, 1e-4, &format!("{row:?}"));
        assert_published(both, published, row);
    }
}
