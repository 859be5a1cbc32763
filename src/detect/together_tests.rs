//! The combined rule on generated cabinets whose truth is known; seeds are fixed.

use super::*;
use crate::drift::fixtures::Noise;

/// What a made-up cabinet is like.
#[derive(Clone, Copy)]
struct Made {
    members: usize,
    baseline: usize,
    judged: usize,
    phi: f64,
    /// Correlation of every two members.
    together: f64,
    /// Step of rounding in standard deviations.
    step: f64,
    /// Share of readings that are missing.
    missing: f64,
}

const USUAL: Made = Made {
    members: 4,
    baseline: 40,
    judged: 370,
    phi: 0.25,
    together: 0.6,
    step: 0.5,
    missing: 0.0,
};

/// Readings of unit variance on weekdays, with `change` (check, member) added; centre, spread and
/// autocorrelation as estimated from the baseline.
fn made(seed: u64, made: Made, change: impl Fn(usize, usize) -> f64) -> Checks {
    let len = made.baseline + made.judged;
    let mut noise = Noise::new(seed);
    let shared = noise.autoregressive(len, made.phi);
    let (common, own) = (made.together.sqrt(), (1.0 - made.together).sqrt());
    let members: Vec<Member> = (0..made.members)
        .map(|m| {
            let alone = noise.autoregressive(len, made.phi);
            let value: Vec<f64> = (0..len)
                .map(|i| {
                    let x = common * shared[i] + own * alone[i] + change(i, m);
                    if made.missing > 0.0
                        && noise.normal() < crate::drift::normal_quantile(made.missing)
                    {
                        f64::NAN
                    } else if made.step > 0.0 {
                        (x / made.step).round() * made.step
                    } else {
                        x
                    }
                })
                .collect();
            let first: Vec<f64> = value[..made.baseline]
                .iter()
                .copied()
                .filter(|v| !v.is_nan())
                .collect();
            let n = first.len() as f64;
            let centre = first.iter().sum::<f64>() / n;
            let square: f64 = first.iter().map(|v| (v - centre).powi(2)).sum();
            let product: f64 = first
                .windows(2)
                .map(|p| (p[0] - centre) * (p[1] - centre))
                .sum();
            let lag1 = product / square + (1.0 + 3.0 * product / square) / n;
            Member {
                centre,
                sigma: (square / (n - 1.0)).sqrt().max(0.3 * made.step),
                phi: crate::drift::believed_phi(lag1, n),
                resolution: (made.step > 0.0).then_some(made.step),
                value,
            }
        })
        .collect();
    let at: Vec<Instant> = (0_i64..)
        .filter(|day| day % 7 < 5)
        .take(len)
        .map(|day| Instant(day * 86_400))
        .collect();
    Checks {
        spacing: spacing_of(&at[..made.baseline]),
        at,
        members,
        judged_from: made.baseline,
        complete: true,
    }
}

const CHANCE: f64 = 1.0 / 370.0;

fn found(checks: &Checks, from: usize) -> Vec<Unusual> {
    checks.unusual(from, CHANCE, &|_, _| false).unwrap()
}

/// Stretches told in 370 checks.
fn per_370(seeds: std::ops::Range<u64>, what: Made) -> f64 {
    let checks = seeds.clone().count() * what.judged;
    let told: usize = seeds
        .map(|seed| found(&made(seed, what, |_, _| 0.0), 0).len())
        .sum();
    370.0 * told as f64 / checks as f64
}

#[test]
fn steady_cabinets_signal_at_most_once_in_370_checks() {
    let usual = per_370(0..40, USUAL);
    assert!((0.5..=1.3).contains(&usual), "{usual}");
    let missing = per_370(
        100..120,
        Made {
            missing: 0.02,
            ..USUAL
        },
    );
    assert!((0.4..=1.5).contains(&missing), "{missing}");
    // Coarse rounding of members that are all but one makes them hop apart.
    let coarse = per_370(
        200..220,
        Made {
            step: 2.0,
            together: 0.95,
            ..USUAL
        },
    );
    assert!(coarse <= 1.0, "{coarse}");
}

/// From check 100 on two members go apart by 1.5 standard deviations each, which no single
/// reading shows.
fn apart(check: usize, member: usize) -> f64 {
    match member {
        0 if check >= 100 => 1.5,
        1 if check >= 100 => -1.5,
        _ => 0.0,
    }
}

const CLOSE: Made = Made {
    together: 0.9,
    judged: 90,
    ..USUAL
};

#[test]
fn a_broken_correlation_is_seen_and_the_two_that_break_it_are_named() {
    let (mut at_once, mut named) = (0, 0);
    for seed in 0..40 {
        let checks = made(seed, CLOSE, apart);
        let all = found(&checks, 0);
        let seen = all.iter().find(|u| u.last >= 100).unwrap();
        at_once += usize::from(seen.known == 100);
        assert!(seen.statistic > seen.limit && seen.chance <= CHANCE);
        let mut two: Vec<usize> = seen.contributions[..2].iter().map(|c| c.member).collect();
        two.sort_unstable();
        named += usize::from(two == [0, 1]);
        for contribution in &seen.contributions[..2] {
            let above = contribution.value > contribution.expected;
            assert!(two != [0, 1] || above == (contribution.member == 0));
        }
    }
    assert!(at_once >= 34 && named >= 36, "{at_once} {named}");
}

#[test]
fn a_stretch_is_told_once_and_goes_on() {
    let checks = made(3, CLOSE, |i, m| 2.0 * apart(i, m));
    let all = found(&checks, 0);
    let last = all.last().unwrap();
    assert!(
        last.start.abs_diff(100) <= 1 && last.checks > 10,
        "{last:?}"
    );
    assert!(all.len() <= 2, "{all:?}");
}

#[test]
fn later_checks_and_the_period_change_nothing_known() {
    for seed in [1, 2, 5] {
        let checks = made(
            seed,
            Made {
                judged: 200,
                ..CLOSE
            },
            |i, m| {
                if i < 110 { 2.0 * apart(i, m) } else { 0.0 }
            },
        );
        let all = found(&checks, 0);
        assert!(!all.is_empty());
        for cut in [60, 102, 109, 150] {
            let mut early = checks.clone();
            early.at.truncate(cut);
            for member in &mut early.members {
                member.value.truncate(cut);
            }
            let known = |stretches: &[Unusual]| -> Vec<(usize, f64)> {
                let before = stretches.iter().filter(|u| u.known < cut);
                before.map(|u| (u.known, u.statistic)).collect()
            };
            assert_eq!(known(&found(&early, 0)), known(&all), "cut at {cut}");
        }
        for from in [90, 103, 108, 112, 180] {
            let late: Vec<usize> = found(&checks, from).iter().map(|u| u.known).collect();
            let still = all.iter().filter(|u| u.last >= from);
            assert_eq!(
                late,
                still.map(|u| u.known).collect::<Vec<_>>(),
                "from {from}"
            );
        }
    }
}

/// A view that begins later in the stage gives what the whole stage gives, or says that it cannot.
#[test]
fn a_view_of_the_stage_is_enough() {
    let checks = made(
        4,
        Made {
            judged: 500,
            ..CLOSE
        },
        |i, m| {
            if (470..476).contains(&i) {
                2.0 * apart(i, m)
            } else {
                0.0
            }
        },
    );
    let first = 100;
    let mut view = Checks {
        at: checks.at[first..].to_vec(),
        judged_from: 0,
        complete: false,
        ..checks.clone()
    };
    for member in &mut view.members {
        member.value.drain(..first);
    }
    assert!(view.unusual(200, CHANCE, &|_, _| false).is_none());
    for from in [420, 472, 500] {
        let part = view.unusual(from - first, CHANCE, &|_, _| false).unwrap();
        let whole = found(&checks, from);
        assert_eq!(part.len(), whole.len());
        for (a, b) in part.iter().zip(&whole) {
            assert_eq!((a.known + first, a.last + first), (b.known, b.last));
            assert!((a.statistic / b.statistic - 1.0).abs() < 1e-9);
        }
    }
}

#[test]
fn units_offsets_and_the_order_of_members_change_nothing() {
    let plain = made(9, CLOSE, apart);
    let expected = found(&plain, 0);
    let mut changed = plain.clone();
    for (member, (factor, offset)) in
        changed
            .members
            .iter_mut()
            .zip([(1.8, 32.0), (-0.01, 5.0), (1.0, 0.0), (1000.0, -7.0)])
    {
        for value in &mut member.value {
            *value = offset + factor * *value;
        }
        member.centre = offset + factor * member.centre;
        member.sigma *= f64::abs(factor);
        member.resolution = member.resolution.map(|step| step * f64::abs(factor));
    }
    changed.members.reverse();
    let same = found(&changed, 0);
    assert!(!same.is_empty());
    assert_eq!(same.len(), expected.len());
    for (a, b) in same.iter().zip(&expected) {
        assert_eq!((a.start, a.known, a.last), (b.start, b.known, b.last));
        assert!((a.statistic / b.statistic - 1.0).abs() < 1e-9);
        let members: Vec<usize> = a.contributions.iter().map(|c| 3 - c.member).collect();
        let shares = b.contributions.iter().map(|c| c.member);
        assert_eq!(members, shares.collect::<Vec<_>>());
    }
}

#[test]
fn what_a_single_signal_tells_is_not_told_again() {
    // One member jumps far out; its own signal tells of it.
    let alone = |i: usize, m: usize| if m == 2 && i >= 100 { 8.0 } else { 0.0 };
    let checks = made(6, CLOSE, alone);
    let told = |m: usize, check: usize| m == 2 && check >= 100;
    let all = checks.unusual(90, CHANCE, &told).unwrap();
    let jump = all.iter().find(|u| u.start == 100).unwrap();
    assert!(jump.accounted_for && jump.told == [2], "{jump:?}");
    // Two others go apart later: that is told, without the one already told.
    let both = |i: usize, m: usize| alone(i, m) + if i >= 105 { 2.0 * apart(i, m) } else { 0.0 };
    let checks = made(6, CLOSE, both);
    let all = checks.unusual(90, CHANCE, &told).unwrap();
    let more = all.iter().find(|u| u.start == 100).unwrap();
    assert!(!more.accounted_for && more.known == 105, "{more:?}");
    assert!(more.contributions.iter().all(|c| c.member != 2));
}

#[test]
fn nothing_to_judge_gives_nothing() {
    let few = made(1, Made { judged: 0, ..USUAL }, |_, _| 0.0);
    assert_eq!(found(&few, 0), []);
    let mut still = made(1, CLOSE, |_, _| 0.0);
    for value in &mut still.members[0].value {
        *value = 1.0;
    }
    still.members[0].centre = 1.0;
    assert!(found(&still, 0).iter().all(|u| u.statistic.is_finite()));
    let mut alone = made(1, CLOSE, apart);
    for member in &mut alone.members[1..] {
        member.value.fill(f64::NAN);
    }
    assert_eq!(found(&alone, 0), []);
    assert_eq!(alone.judged(0), 0);
}
