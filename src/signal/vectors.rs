//! Each pattern test on short sequences with a known first signal.

use super::registry::all;
use super::{Allowance, Firing, Rule, RuleInput};
use std::sync::Arc;

const VECTORS: &str = include_str!("../../tests/reference/run-length/pattern_test_vectors.csv");

/// The rule that a test number of the reference file stands for.
fn rule(test: &str) -> Arc<dyn Rule> {
    let name = match test {
        "1" => "beyond-limit",
        "2" => "one-sided-run",
        "3" => "steady-climb",
        "4" => "see-saw",
        "5" => "outer-pair",
        "6" => "off-centre-cluster",
        "7" => "hugging-centre",
        "8" => "avoiding-centre",
        other => panic!("no rule for test {other}"),
    };
    all().into_iter().find(|r| r.name() == name).unwrap()
}

/// All firings on readings given in sigma, neither rounded nor autocorrelated.
pub(super) fn firings(rule: &dyn Rule, z: &[f64], after_gap: &[bool]) -> Vec<Firing> {
    rounded_firings(rule, z, after_gap, None)
}

/// All firings on readings in sigma with that resolution.
fn rounded_firings(
    rule: &dyn Rule,
    z: &[f64],
    after_gap: &[bool],
    resolution: Option<f64>,
) -> Vec<Firing> {
    let range_ratio: Vec<f64> = (0..z.len())
        .map(|i| {
            if i == 0 || after_gap[i] {
                f64::NAN
            } else {
                (z[i] - z[i - 1]).abs() / (3.266_531_919 * 2.0 / std::f64::consts::PI.sqrt())
            }
        })
        .collect();
    let mut found = Vec::new();
    rule.judge(
        &RuleInput {
            z,
            value: z,
            range_ratio: &range_ratio,
            after_gap,
            spacing: &vec![1.0; z.len()],
            resolution,
            allowance: Allowance::NONE,
        },
        &mut found,
    );
    found
}

#[test]
fn every_published_pattern_first_fires_where_it_should() {
    let mut reader = csv::Reader::from_reader(VECTORS.as_bytes());
    let mut seen = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let z: Vec<f64> = record[2]
            .split(',')
            .map(|v| v.trim().parse().unwrap())
            .collect();
        let expected: Option<usize> = record[3].trim().parse().ok();
        let found = firings(rule(&record[0]).as_ref(), &z, &vec![false; z.len()]);
        assert_eq!(found.first().map(|f| f.at + 1), expected, "{}", &record[1]);
        seen += 1;
    }
    assert_eq!(seen, 15);
}

#[test]
fn no_pattern_of_neighbours_reaches_across_a_gap() {
    let patterns: [(&str, Vec<f64>); 8] = [
        ("2", vec![0.5; 9]),
        ("3", (0..6).map(f64::from).collect()),
        ("4", (0..14).map(|i| f64::from(i % 2)).collect()),
        ("5", vec![2.5, 0.0, 2.5]),
        ("6", vec![1.5, 1.5, 0.0, 1.5, 1.5]),
        ("7", vec![0.4; 15]),
        ("8", (0..8).map(|i| 1.5 - 3.0 * f64::from(i % 2)).collect()),
        ("3", (0..6).map(|i| f64::from(-i)).collect()),
    ];
    for (test, z) in patterns {
        let rule = rule(test);
        let mut after_gap = vec![false; z.len()];
        assert_eq!(firings(rule.as_ref(), &z, &after_gap).len(), 1, "{test}");
        after_gap[z.len() - 1] = true;
        assert!(firings(rule.as_ref(), &z, &after_gap).is_empty(), "{test}");
    }
}

#[test]
fn equal_rounded_values_beside_the_centre_line_are_no_run() {
    // Steps of 1 sigma, the centre line 0.4 of a step away from the value read each day.
    let z = [0.4; 20];
    let run = rule("2");
    assert!(!firings(run.as_ref(), &z, &[false; 20]).is_empty());
    assert!(rounded_firings(run.as_ref(), &z, &[false; 20], Some(1.0)).is_empty());
    // The next value up is plainly above the line.
    let z = [1.4; 20];
    let fired = rounded_firings(run.as_ref(), &z, &[false; 20], Some(1.0));
    assert_eq!(fired[0].at, 8);
}

#[test]
fn a_value_copied_forward_is_told_by_the_resolution() {
    let repeat = all().into_iter().find(|r| r.name() == "repeat").unwrap();
    let z = [0.3, 0.1, 0.1, 0.1, 0.1, 0.1, -0.2];
    let fired = rounded_firings(repeat.as_ref(), &z, &[false; 7], Some(0.1));
    assert_eq!((fired.len(), fired[0].start, fired[0].at), (1, 1, 5));
    assert!(rounded_firings(repeat.as_ref(), &z, &[false; 7], Some(1.0)).is_empty());
}

#[test]
fn a_jump_beyond_the_moving_range_limit_fires_at_the_jump() {
    let range = all()
        .into_iter()
        .find(|r| r.name() == "range-beyond-limit")
        .unwrap();
    let fired = firings(range.as_ref(), &[0.0, 1.9, -1.9, -1.8], &[false; 4]);
    assert_eq!(fired.iter().map(|f| f.at).collect::<Vec<_>>(), [2]);
    assert!(firings(range.as_ref(), &[0.0, 1.9, -1.9], &[false, false, true]).is_empty());
}
