//! The watch on generated series whose truth is known; seeds are fixed.

use super::watch::watch_with;
use super::{Almanac, Budget, Readings, Stretch, watch};
use crate::drift::fixtures::Noise;
use crate::signal::Direction;
use crate::time::Instant;

fn weekdays(n: usize) -> Vec<Instant> {
    (0_i64..)
        .filter(|day| day % 7 < 5)
        .take(n)
        .map(|day| Instant(day * 86_400))
        .collect()
}

/// Noise of one unit, rounded to 0.6, with a change added.
fn rounded(seed: u64, n: usize, phi: f64, change: impl Fn(usize) -> f64) -> Vec<f64> {
    let noise = Noise::new(seed).autoregressive(n, phi);
    noise
        .iter()
        .enumerate()
        .map(|(i, e)| ((e + change(i)) / 0.6).round() * 0.6)
        .collect()
}

fn watched(at: &[Instant], value: &[f64], from: usize) -> Vec<Stretch> {
    let readings = Readings {
        at,
        value,
        sigma: 1.0,
        resolution: Some(0.6),
        judged_from: 30,
    };
    watch(&readings, from, Budget::default())
}

#[test]
fn steady_series_signal_at_most_once_in_370_checks() {
    let at = weekdays(400);
    let mut signals = 0;
    for seed in 0..300 {
        let value = rounded(seed, 400, 0.1 * (seed % 6) as f64, |_| 0.0);
        let found = watched(&at, &value, 0);
        let listed = |s: &Stretch| super::RULES.iter().any(|(name, _)| *name == s.rule);
        assert!(found.iter().all(listed));
        signals += found.len();
    }
    let per_370 = signals as f64 / 300.0;
    assert!(per_370 <= 1.15, "{per_370}");
    assert!(per_370 >= 0.5, "{per_370}: the budget is wasted");
}

#[test]
fn changes_are_seen_dated_and_directed() {
    let at = weekdays(160);
    let (mut delays, mut dates) = (Vec::new(), Vec::new());
    for seed in 0..60 {
        let value = rounded(seed, 160, 0.25, |i| if i >= 80 { -2.0 } else { 0.0 });
        let found = watched(&at, &value, 0);
        let first = found
            .iter()
            .find(|s| s.rule == "ramp" && s.last >= 80)
            .unwrap();
        delays.push(first.known as f64 - 80.0);
        dates.push((first.start as f64 - 80.0).abs());
    }
    assert!(crate::drift::theil_sen::median(&delays) <= 7.0);
    assert!(crate::drift::theil_sen::median(&dates) <= 2.0);
}

#[test]
fn later_readings_and_the_period_change_no_known_date() {
    let at = weekdays(900);
    for seed in [3, 8, 21] {
        let value = rounded(seed, 900, 0.3, |i| match i {
            45..=100 => 3.0,
            300..=420 => 1.6,
            421.. => -0.02 * (i as f64 - 700.0).max(0.0),
            _ => 0.0,
        });
        let all = watched(&at, &value, 0);
        assert!(all.len() >= 2);
        for cut in [320, 500, 760, 899] {
            let early = watched(&at[..cut], &value[..cut], 0);
            let known: Vec<_> = early.iter().map(|s| (s.rule, s.known)).collect();
            let later = all.iter().filter(|s| s.known < cut);
            assert_eq!(known, later.map(|s| (s.rule, s.known)).collect::<Vec<_>>());
        }
        for from in [52, 60, 310, 640, 850] {
            let part = watched(&at, &value, from);
            let whole: Vec<_> = all.iter().filter(|s| s.last >= from).cloned().collect();
            assert_eq!(part, whole, "from {from}");
        }
    }
}

#[test]
fn units_offsets_and_mirrors_change_nothing_else() {
    let at = weekdays(300);
    let value = rounded(4, 300, 0.2, |i| 0.06 * (i as f64 - 200.0).max(0.0));
    let plain = watched(&at, &value, 0);
    let moved: Vec<f64> = value.iter().map(|v| 32.0 + 1.8 * v).collect();
    let readings = Readings {
        at: &at,
        value: &moved,
        sigma: 1.8,
        resolution: Some(1.08),
        judged_from: 30,
    };
    assert_eq!(watch(&readings, 0, Budget::default()), plain);
    let mirrored: Vec<f64> = value.iter().map(|v| -v).collect();
    let mut turned = watched(&at, &mirrored, 0);
    for stretch in &mut turned {
        stretch.direction = match stretch.direction {
            Direction::Up => Direction::Down,
            Direction::Down => Direction::Up,
            Direction::Neither => Direction::Neither,
        };
    }
    assert_eq!(turned, plain);
}

#[test]
fn a_typing_error_is_a_signal_and_blinds_nothing() {
    let at = weekdays(200);
    let mut value = rounded(9, 200, 0.1, |i| if i >= 120 { 2.5 } else { 0.0 });
    value[100] = 400.0;
    let found = watched(&at, &value, 0);
    assert!(
        found
            .iter()
            .any(|s| s.rule == "far-reading" && s.known == 100 && s.last == 100)
    );
    let step = found
        .iter()
        .find(|s| s.rule == "ramp" && s.last >= 120)
        .unwrap();
    assert!(step.known <= 126, "{step:?}");
}

#[test]
fn nothing_to_judge_gives_nothing() {
    let at = weekdays(40);
    assert!(
        watched(&at, &[1.0; 40], 0)
            .iter()
            .all(|s| s.rule == "repeat")
    );
    assert!(watched(&at[..20], &[1.0; 20], 0).is_empty());
    assert!(watched(&[], &[], 0).is_empty());
    let readings = Readings {
        at: &at,
        value: &[1.0; 40],
        sigma: f64::NAN,
        resolution: None,
        judged_from: 0,
    };
    assert!(watch(&readings, 0, Budget::default()).is_empty());
    let early = Readings {
        sigma: 1.0,
        ..readings
    };
    assert!(
        watch(&early, 0, Budget::default())
            .iter()
            .all(|s| s.rule == "repeat")
    );
}

#[test]
fn a_budget_for_a_fleet_is_kept() {
    // Ten cabinets of six series with 250 checks a year, four false alarms a year allowed.
    let budget = Budget::for_fleet(4.0, 15_000.0).unwrap();
    assert_eq!(budget.expected(15_000), 4.0);
    assert_eq!(Budget::for_fleet(0.0, 15_000.0), None);
    let at = weekdays(280);
    let signals: usize = (0..180)
        .map(|seed| {
            let value = rounded(5_000 + seed, 280, 0.25, |_| 0.0);
            let readings = Readings {
                at: &at,
                value: &value,
                sigma: 1.0,
                resolution: Some(0.6),
                judged_from: 30,
            };
            watch(&readings, 0, budget).len()
        })
        .sum();
    // 180 × 250 checks: 12 expected.
    assert!((3..=20).contains(&signals), "{signals}");
}

/// Whatever readings are asked for, those of the whole stage that touch them are told, also
/// where a change, far readings and a spell of scatter overlap.
#[test]
fn any_readings_asked_for_are_told_as_in_the_whole() {
    let at = weekdays(520);
    let mut value = rounded(2, 520, 0.2, |i| match i {
        200..=215 => 2.5,
        400..=430 => 1.8,
        450.. => 0.04 * (i as f64 - 450.0),
        _ => 0.0,
    });
    for (i, far) in [(360, 8.0), (402, 9.0), (404, 9.0), (452, -8.0), (455, -8.0)] {
        value[i] += far;
    }
    let all = watched(&at, &value, 0);
    let tells = |rule: &str, at: usize| all.iter().any(|s| s.rule == rule && s.known == at);
    assert!(tells("ramp", 202) && tells("far-reading", 360), "{all:?}");
    // Long after the first change, and at every turn of the others.
    for from in (200..400).step_by(20).chain(398..=410).chain(446..=470) {
        let whole: Vec<_> = all.iter().filter(|s| s.last >= from).cloned().collect();
        assert_eq!(watched(&at, &value, from), whole, "from {from}");
    }
}

#[test]
fn shared_times_change_nothing() {
    let (daily, mut gappy) = (weekdays(400), weekdays(402));
    gappy.remove(370);
    gappy.remove(12);
    let mut almanac = Almanac::default();
    for (seed, at) in [
        (1, &daily),
        (2, &gappy),
        (3, &daily),
        (4, &daily),
        (5, &gappy),
    ] {
        let value = rounded(seed, 400, 0.2, |i| if i > 370 { 2.0 } else { 0.0 });
        // Another stretch, then another beginning, then the same again.
        for (from, judged_from) in [(360, 30), (380, 30), (360, 40), (360, 30)] {
            let readings = Readings {
                at,
                value: &value,
                sigma: 1.0,
                resolution: Some(0.6),
                judged_from,
            };
            let budget = Budget::default();
            let shared = watch_with(&mut almanac, &readings, from, budget);
            assert_eq!(shared, watch(&readings, from, budget));
            assert!(!shared.is_empty());
        }
    }
}
