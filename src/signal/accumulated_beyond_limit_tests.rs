//! The accumulated rule: known answers, one reading short, gaps, ties, allowances.

use super::*;
use crate::signal::Allowance;
use crate::signal::vectors::firings;

fn rule(slack: f64, decision: f64) -> AccumulatedBeyondLimit {
    AccumulatedBeyondLimit { slack, decision }
}

fn no_gap(n: usize) -> Vec<bool> {
    vec![false; n]
}

fn with(z: &[f64], allowance: Allowance) -> Vec<Firing> {
    let mut found = Vec::new();
    rule(0.5, 4.0).judge(
        &RuleInput {
            z,
            value: z,
            range_ratio: &[],
            after_gap: &no_gap(z.len()),
            spacing: &vec![1.0; z.len()],
            resolution: None,
            allowance,
        },
        &mut found,
    );
    found
}

/// NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959; the first signal is at
/// group 14, where the sum had last been 0 at group 12.
#[test]
fn the_handbooks_groups_signal_at_the_fourteenth() {
    let values = [
        324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6,
        324.625, 325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
    ];
    let z: Vec<f64> = values.iter().map(|v| v - 325.0).collect();
    let rule = rule(0.3175, 4.1959);
    let fired = firings(&rule, &z, &no_gap(20));
    assert_eq!(
        fired[0],
        Firing {
            at: 13,
            start: 12,
            direction: Direction::Up
        }
    );
    assert_eq!(fired.len(), 7);
    assert!(firings(&rule, &z[..13], &no_gap(13)).is_empty());
    // Mirrored.
    let mirrored: Vec<f64> = z.iter().map(|z| -z).collect();
    let fired = firings(&rule, &mirrored, &no_gap(20));
    assert_eq!((fired[0].at, fired[0].direction), (13, Direction::Down));
}

#[test]
fn a_sum_on_its_limit_is_not_beyond_it_and_ties_add_up() {
    // Equal readings of 1.5 add 1 each: 4 after four of them, beyond at the fifth.
    assert!(firings(&rule(0.5, 4.0), &[1.5; 4], &no_gap(4)).is_empty());
    let fired = firings(&rule(0.5, 4.0), &[1.5; 5], &no_gap(5));
    assert_eq!((fired.len(), fired[0].start, fired[0].at), (1, 0, 4));
    // Readings no further out than the slack never do.
    assert!(firings(&rule(0.5, 4.0), &[0.5; 500], &no_gap(500)).is_empty());
}

#[test]
fn nothing_is_accumulated_across_a_gap() {
    let mut gap = no_gap(10);
    gap[4] = true;
    assert!(firings(&rule(0.5, 4.0), &[1.5; 8], &gap[..8]).is_empty());
    let fired = firings(&rule(0.5, 4.0), &[1.5; 10], &gap);
    let at: Vec<(usize, usize)> = fired.iter().map(|f| (f.start, f.at)).collect();
    assert_eq!(at, [(4, 8), (4, 9)]);
}

#[test]
fn what_carries_over_is_taken_off_and_a_short_baseline_asks_for_more() {
    let z = [1.5; 6];
    let at = |allowance| with(&z, allowance).first().map(|f| f.at);
    assert_eq!(at(Allowance::NONE), Some(4));
    // 1.5, then (1.5 − 0.75)/√0.75 = 0.87 a reading.
    let carried = Allowance {
        lag1: 0.5,
        ..Allowance::NONE
    };
    assert_eq!(at(carried), None);
    let longer = [1.5; 12];
    // 1 + 0.366·n is beyond 4 with the ninth after the first.
    assert_eq!(with(&longer, carried).first().map(|f| f.at), Some(9));
    // A slack of 0.7: 0.8 a reading, beyond 4 with the sixth (4.8), not with the fifth.
    let centre = Allowance {
        centre_error: 0.2,
        widening: 1.04_f64.sqrt(),
        ..Allowance::NONE
    };
    assert_eq!(at(centre), Some(5));
    // 1.5/1.2 − 0.5 = 0.75 a reading.
    let wide = Allowance {
        widening: 1.2,
        ..Allowance::NONE
    };
    assert_eq!(at(wide), Some(5));
}

#[test]
fn readings_older_than_its_memory_change_nothing() {
    let mut z = vec![0.0; 100];
    z.extend([1.5; 8]);
    let quiet = firings(&rule(0.5, 4.0), &z, &no_gap(108));
    assert_eq!(quiet[0].start, 100);
    z[20] = 1e6;
    let after: Vec<Firing> = firings(&rule(0.5, 4.0), &z, &no_gap(108))
        .into_iter()
        .filter(|firing| firing.at >= 20 + MEMORY)
        .collect();
    assert_eq!(after, quiet);
    // A sum that never was 0 within the memory begins where the memory does.
    let fired = firings(&rule(0.5, 4.0), &[1.5; 200], &no_gap(200));
    let last = fired.last().unwrap();
    assert_eq!((last.at, last.start), (199, 200 - MEMORY));
}

#[test]
fn settings_out_of_range_and_nothing_to_judge_fire_nothing() {
    assert!(firings(&rule(-0.1, 4.0), &[9.0; 9], &no_gap(9)).is_empty());
    assert!(firings(&rule(0.5, 0.0), &[9.0; 9], &no_gap(9)).is_empty());
    assert!(firings(&rule(0.5, 4.0), &[], &[]).is_empty());
}
