//! The smoothed rule: known answers, one reading short, gaps, ties, spacing, allowances.

use super::*;
use crate::signal::Allowance;
use crate::signal::vectors::firings;

fn rule(weight: f64, width: f64) -> SmoothedBeyondLimit {
    SmoothedBeyondLimit { weight, width }
}

fn no_gap(n: usize) -> Vec<bool> {
    vec![false; n]
}

fn input<'a>(
    z: &'a [f64],
    gap: &'a [bool],
    spacing: &'a [f64],
    allowance: Allowance,
) -> RuleInput<'a> {
    RuleInput {
        z,
        value: z,
        range_ratio: &[],
        after_gap: gap,
        spacing,
        resolution: None,
        allowance,
    }
}

fn judged(rule: SmoothedBeyondLimit, input: &RuleInput<'_>) -> Vec<Firing> {
    let mut found = Vec::new();
    rule.judge(input, &mut found);
    found
}

/// NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, centre 50, s 2.0539, 20 values, all within
/// the limits 47.4115 and 52.5884; the last smoothed value printed is 51.99. A further
/// reading of 54.0 brings it to 52.59 and one of 53.9 to 52.56, by the recursion.
#[test]
fn the_handbooks_readings_are_in_control_and_the_next_need_not_be() {
    let values = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8,
        51.2, 52.6, 52.4, 53.6, 52.1,
    ];
    let with = |next: &[f64]| -> Vec<Firing> {
        let z: Vec<f64> = values
            .iter()
            .chain(next)
            .map(|v| (v - 50.0) / 2.0539)
            .collect();
        firings(&rule(0.3, 3.0), &z, &no_gap(z.len()))
    };
    assert!(with(&[]).is_empty());
    assert!(with(&[53.9]).is_empty());
    let fired = with(&[54.1]);
    // 50.05 at the 14th, 49.38 at the 15th, 49.92 at the 16th: above since the 17th.
    assert_eq!(
        fired,
        [Firing {
            at: 20,
            start: 16,
            direction: Direction::Up
        }]
    );
}

/// Weight 0.5, width 2, readings of 1: after i of them the value is 1 − 2^−i, the half width
/// 2·√((1 − 4^−i)/3). Readings of 2 first leave the limits at the first.
#[test]
fn it_fires_at_the_reading_that_arithmetic_says_and_not_one_earlier() {
    // 1.1 a reading: 0.55, 0.825, 0.9625, 1.03125 against 1, 1.118, 1.146, 1.152.
    assert!(firings(&rule(0.5, 2.0), &[1.1; 40], &no_gap(40)).is_empty());
    // 1.2 a reading: 0.6, 0.9, 1.05, 1.125, 1.1625 against …, 1.1524, 1.1541.
    assert!(firings(&rule(0.5, 2.0), &[1.2; 4], &no_gap(4)).is_empty());
    let fired = firings(&rule(0.5, 2.0), &[1.2; 5], &no_gap(5));
    assert_eq!((fired.len(), fired[0].start, fired[0].at), (1, 0, 4));
    // A reading below the line before them puts the start after it.
    let z = [-1.0, 1.4, 1.4, 1.4, 1.4, 1.4, 1.4];
    let fired = firings(&rule(0.5, 2.0), &z, &no_gap(7));
    assert_eq!(fired[0].start, 1);
    // Mirrored.
    let fired = firings(&rule(0.5, 2.0), &[-1.2; 5], &no_gap(5));
    assert_eq!((fired[0].at, fired[0].direction), (4, Direction::Down));
}

#[test]
fn a_value_on_its_limit_is_not_beyond_it() {
    // Weight 1, width 3: the readings themselves against three sigma.
    let fired = firings(&rule(1.0, 3.0), &[3.0, 3.0, -3.0, 3.01], &no_gap(4));
    assert_eq!((fired.len(), fired[0].start, fired[0].at), (1, 3, 3));
}

#[test]
fn nothing_is_remembered_across_a_gap() {
    let mut gap = no_gap(5);
    assert_eq!(firings(&rule(0.5, 2.0), &[1.2; 5], &gap).len(), 1);
    gap[4] = true;
    assert!(firings(&rule(0.5, 2.0), &[1.2; 5], &gap).is_empty());
    // What comes after it is judged from there on.
    let z = [1.2; 9];
    let mut gap = no_gap(9);
    gap[4] = true;
    let fired = firings(&rule(0.5, 2.0), &z, &gap);
    assert_eq!((fired.len(), fired[0].start, fired[0].at), (1, 4, 8));
}

#[test]
fn readings_are_weighed_by_time() {
    // After a pause of three spacings 1.7 counts with 1 − 0.5³: beyond; after one it does not.
    let z = [0.0, 1.7];
    let of = |pause: f64| {
        let spacing = [1.0, pause];
        judged(
            rule(0.5, 1.6),
            &input(&z, &[false; 2], &spacing, Allowance::NONE),
        )
        .len()
    };
    assert_eq!((of(1.0), of(3.0)), (0, 1));
}

#[test]
fn what_carries_over_is_taken_off_and_a_short_baseline_widens_the_limits() {
    let z = [1.2; 12];
    let (gap, spacing) = ([false; 12], [1.0; 12]);
    let of = |allowance| judged(rule(0.5, 2.0), &input(&z, &gap, &spacing, allowance)).len();
    let plain = of(Allowance::NONE);
    assert!(plain > 0);
    // (1.2 − 0.6)/√0.75 = 0.69 a reading never leaves the limits.
    let carried = Allowance {
        lag1: 0.5,
        ..Allowance::NONE
    };
    assert_eq!(of(carried), 0);
    for allowance in [
        Allowance {
            widening: 1.2,
            ..Allowance::NONE
        },
        Allowance {
            centre_error: 0.3,
            widening: 1.0 * (1.0_f64 + 0.09).sqrt(),
            ..Allowance::NONE
        },
        Allowance {
            rounding: 1.0,
            ..Allowance::NONE
        },
    ] {
        assert_eq!(of(allowance), 0, "{allowance:?}");
    }
}

#[test]
fn a_centre_line_that_may_be_off_dates_no_change() {
    // 0.1 a reading may be the centre line's own error of 0.2; 2 a reading is not.
    let mut z = vec![0.1; 20];
    z.extend([2.0; 6]);
    let (gap, spacing) = ([false; 26], [1.0; 26]);
    let start = |centre_error: f64| {
        let allowance = Allowance {
            centre_error,
            widening: (1.0 + centre_error * centre_error).sqrt(),
            ..Allowance::NONE
        };
        judged(rule(0.2, 3.0), &input(&z, &gap, &spacing, allowance))[0].start
    };
    assert_eq!((start(0.0), start(0.2)), (0, 20));
}

#[test]
fn readings_older_than_its_memory_change_nothing() {
    let mut z = vec![0.0; 100];
    z.extend([1.2; 8]);
    let quiet = firings(&rule(0.2, 2.5), &z, &no_gap(108));
    assert!(!quiet.is_empty());
    z[20] = -1e9;
    let after: Vec<Firing> = firings(&rule(0.2, 2.5), &z, &no_gap(108))
        .into_iter()
        .filter(|firing| firing.at >= 20 + MEMORY)
        .collect();
    assert_eq!(after, quiet);
}

#[test]
fn settings_out_of_range_and_nothing_to_judge_fire_nothing() {
    assert!(firings(&rule(0.0, 3.0), &[9.0; 9], &no_gap(9)).is_empty());
    assert!(firings(&rule(0.2, 0.0), &[9.0; 9], &no_gap(9)).is_empty());
    assert!(firings(&rule(0.2, 3.0), &[], &[]).is_empty());
}
