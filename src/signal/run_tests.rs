//! Running a rule set: stages, gaps, exclusions, causality, and signals told once.

use super::*;
use crate::characteristic::Characteristic;
use crate::chart::NoLimits;
use crate::series::{Exclusion, StageStart};
use crate::signal::fixture::{MONDAY, chart, daily, limits};
use crate::signal::run_lengths::Normals;
use proptest::prelude::*;

fn nelson() -> RuleSet {
    RuleSet::nelson_1984()
}

fn run(series: &Series, limits: Limits, set: &RuleSet, until: usize) -> Vec<Signal> {
    signals(&chart(series, limits), set, &[], until, Zone::AS_WRITTEN)
}

#[test]
fn a_rule_that_keeps_firing_is_told_once_with_its_dates() {
    let mut values = vec![1.45, 1.50];
    values.extend([1.51; 12]);
    let series = daily("Plover", Characteristic::CollectionRate, &values);
    let found = run(&series, limits(1.48, 0.05), &nelson(), 99);
    assert_eq!(found.len(), 1, "{found:?}");
    let signal = &found[0];
    // 1.50 is above the line too, so the run starts with it.
    assert_eq!((signal.start, signal.known, signal.last), (1, 9, 13));
    assert!(signal.ongoing);
    assert_eq!(signal.direction, Direction::Up);
    assert_eq!(
        signal.says,
        "9 readings in a row above the centre line 1.48 mL/h per 80 cm², from 3 to 11 March; \
         still so on 15 March."
    );
    assert_eq!(
        signal_id(&series, signal),
        "Plover/collection-rate/one-sided-run-up@9"
    );
}

#[test]
fn every_rule_speaks_of_numbers_in_the_unit_of_the_series() {
    let say = |values: &[f64], rule: &str| {
        let series = daily("Plover", Characteristic::Ph, values);
        let set = RuleSet {
            rules: crate::signal::registry::all(),
            ..nelson()
        };
        run(&series, limits(6.80, 0.05), &set, 99)
            .into_iter()
            .find(|s| s.rule == rule)
            .map(|s| s.says)
            .unwrap()
    };
    assert_eq!(
        say(&[6.80, 7.0], "beyond-limit"),
        "The reading 7.00 on 3 March is above the upper control limit 6.95."
    );
    assert_eq!(
        say(&[6.7, 6.72, 6.74, 6.78, 6.81, 6.83], "steady-climb"),
        "6 readings in a row rising, 6.70 to 6.83, from 2 to 7 March."
    );
    assert_eq!(
        say(&[6.69, 6.81, 6.68], "outer-pair"),
        "2 of 3 readings in a row below 6.70 (2 sigma from the centre line), from 2 to 4 March."
    );
    assert_eq!(
        say(&[6.86, 6.87, 6.81, 6.86, 6.87], "off-centre-cluster"),
        "4 of 5 readings in a row above 6.85 (1 sigma from the centre line), from 2 to 6 March."
    );
    assert_eq!(
        say(&[6.80, 6.81, 6.79].repeat(5), "hugging-centre"),
        "15 readings in a row between 6.75 and 6.85, within 1 sigma of the centre line, \
         from 2 to 16 March."
    );
    assert_eq!(
        say(&[6.80, 6.81].repeat(7), "see-saw"),
        "14 readings in a row going up and down in turn, from 2 to 15 March."
    );
    assert_eq!(
        say(&[6.87, 6.73].repeat(4), "avoiding-centre"),
        "8 readings in a row, none between 6.75 and 6.85 around the centre line, \
         from 2 to 9 March."
    );
    assert_eq!(
        say(&[6.80, 6.60], "range-beyond-limit"),
        "A jump of 0.20 to 6.60 on 3 March, more than the moving range's upper limit 0.18."
    );
    assert_eq!(
        say(&[6.80, 6.83, 6.83, 6.83, 6.83, 6.83], "repeat"),
        "The same reading 6.83 5 times in a row, from 3 to 7 March."
    );
}

#[test]
fn a_short_silence_does_not_split_a_signal_and_a_long_one_does() {
    let beyond = |quiet: usize| {
        let mut values = vec![0.0, 4.0];
        values.extend(vec![0.1; quiet]);
        values.push(4.0);
        let series = daily("Plover", Characteristic::Ph, &values);
        run(&series, limits(0.0, 1.0), &nelson(), 99)
            .iter()
            .filter(|s| s.rule == "beyond-limit")
            .count()
    };
    assert_eq!(beyond(2), 1);
    assert_eq!(beyond(3), 2);
}

#[test]
fn excluded_readings_are_skipped_and_gaps_end_a_pattern() {
    let values = [0.5, 0.6, 0.5, 0.6, -9.0, 0.5, 0.6, 0.5, 0.6, 0.5];
    let series = daily("Plover", Characteristic::Ph, &values);
    let excluded = series
        .clone()
        .with_marks(
            vec![Exclusion {
                index: 4,
                reason: "pump off".into(),
            }],
            vec![],
        )
        .unwrap();
    let found = run(&excluded, limits(0.0, 1.0), &nelson(), 99);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].start, found[0].known), (0, 9));

    let mut at: Vec<Instant> = (0..9).map(|i| MONDAY.plus_days(f64::from(i))).collect();
    let run_at = |at: Vec<Instant>| {
        let series = Series::new("Plover", Characteristic::Ph, "", at, vec![0.5; 9]).unwrap();
        run(&series, limits(0.0, 1.0), &nelson(), 99).len()
    };
    assert_eq!(run_at(at.clone()), 1);
    for late in at.iter_mut().skip(5) {
        *late = late.plus_days(7.5);
    }
    assert_eq!(run_at(at), 0);
}

#[test]
fn a_stage_is_judged_by_its_own_limits_from_its_first_judged_reading() {
    let series = daily("Plover", Characteristic::Ph, &[9.0, 0.0, 9.0, 10.0, 14.0])
        .with_marks(
            vec![],
            vec![StageStart {
                index: 2,
                at: Some(MONDAY),
                what: "new nozzle".into(),
            }],
        )
        .unwrap();
    let mut chart = chart(&series, limits(0.0, 1.0));
    chart.stages[0].readings = 0..2;
    chart.stages[0].judged_from = 1;
    let mut second = chart.stages[0].clone();
    second.readings = 2..5;
    second.judged_from = 3;
    second.limits = Ok(limits(10.0, 1.0));
    chart.stages.push(second);
    let found = signals(&chart, &nelson(), &[], 5, Zone::AS_WRITTEN);
    let known: Vec<usize> = found.iter().map(|s| s.known).collect();
    assert_eq!(known, [4], "{found:?}");
    assert!(found[0].ongoing);

    chart.stages[1].limits = Err(NoLimits::TooFew { n: 3 });
    assert!(signals(&chart, &nelson(), &[], 5, Zone::AS_WRITTEN).is_empty());
}

#[test]
fn a_signal_of_an_ended_stage_is_not_ongoing() {
    let series = daily("Plover", Characteristic::Ph, &[0.0, 9.0, 0.0, 0.0]);
    let mut chart = chart(&series, limits(0.0, 1.0));
    chart.stages[0].readings = 0..2;
    let found = signals(&chart, &nelson(), &[], 4, Zone::AS_WRITTEN);
    assert_eq!(found.len(), 1);
    assert!(!found[0].ongoing);
}

#[test]
fn an_event_within_three_days_explains_a_signal() {
    let series = daily(
        "Plover",
        Characteristic::Ph,
        &[0.0, 0.0, 0.0, 0.0, 0.0, 9.0],
    );
    let chart = chart(&series, limits(0.0, 1.0));
    let explained = |event: &Event| {
        signals(&chart, &nelson(), &[event], 99, Zone::AS_WRITTEN)[0]
            .explained_by
            .clone()
    };
    let note = Event {
        at: MONDAY.plus_days(2.5),
        cabinet: Some("Plover".into()),
        characteristic: None,
        kind: "salt-lot".into(),
        what: "salt lot 7 opened".into(),
        effect: EventEffect::Note,
    };
    assert_eq!(explained(&note).as_deref(), Some("salt lot 7 opened"));
    let for_all = Event {
        cabinet: None,
        effect: EventEffect::NewStage,
        ..note.clone()
    };
    assert!(explained(&for_all).is_some());
    for stranger in [
        Event {
            at: MONDAY.plus_days(1.9),
            ..note.clone()
        },
        Event {
            cabinet: Some("Dunlin".into()),
            ..note.clone()
        },
        Event {
            characteristic: Some(Characteristic::AirPressure),
            ..note.clone()
        },
        Event {
            effect: EventEffect::Exclude {
                until: MONDAY,
                reason: "pump off".into(),
            },
            ..note.clone()
        },
    ] {
        assert_eq!(explained(&stranger), None, "{stranger:?}");
    }
}

#[test]
fn a_signal_belongs_to_every_period_it_fired_in() {
    let series = daily(
        "Plover",
        Characteristic::Ph,
        &[0.0, 9.0, 9.0, 9.0, 0.0, 0.0],
    );
    let found = run(&series, limits(0.0, 1.0), &nelson(), 99);
    let signal = found.iter().find(|s| s.rule == "beyond-limit").unwrap();
    assert!(in_period(signal, &(3..6)));
    assert!(in_period(signal, &(0..2)));
    assert!(!in_period(signal, &(4..6)));
    assert!(!in_period(signal, &(0..1)));
    // It fired last at reading 3: over when the period had hardly begun.
    assert!(is_news(signal, &(1..6)));
    assert!(is_news(signal, &(0..2)));
    assert!(!is_news(signal, &(2..6)));
    assert!(!is_news(signal, &(4..6)));
}

/// Readings on a grid of 1/64 around a level that moves, so that sums and halves are exact.
fn walk(seed: u64, n: usize) -> Vec<f64> {
    let mut normals = Normals::seeded(seed);
    let mut level = 0.0;
    (0..n)
        .map(|_| {
            level += 0.15 * normals.next();
            (64.0 * (level + normals.next())).round() / 64.0
        })
        .collect()
}

/// Every rule of the registry and of the default set, so that properties hold for all.
fn every_rule() -> RuleSet {
    let mut set = RuleSet::patterns();
    set.rules.extend(crate::signal::registry::all());
    set
}

/// Levels that hold for up to 500 readings, steady slopes and stuck readings, one after
/// the other: signals that last for a few readings and for hundreds.
fn eventful(seed: u64, n: usize) -> Vec<f64> {
    let mut normals = Normals::seeded(seed);
    let mut values = Vec::with_capacity(n);
    while values.len() < n {
        let (level, length) = (1.5 * normals.next(), normals.next());
        let length = (400.0 * length * length).min(500.0) as usize + 1;
        let (noise, slope) = match values.len() % 4 {
            0 => (0.0, 0.0),
            1 => (0.0, 0.02),
            _ => (1.0, 0.0),
        };
        values.extend((0..length).map(|i| {
            let value = level + slope * i as f64 + noise * normals.next();
            (64.0 * value).round() / 64.0
        }));
    }
    values.truncate(n);
    values
}

/// What must not change when the readings change their unit.
fn gist(signals: &[Signal]) -> Vec<(&'static str, Direction, usize, usize, usize, bool)> {
    signals
        .iter()
        .map(|s| (s.rule, s.direction, s.start, s.known, s.last, s.ongoing))
        .collect()
}

fn with_resolution(centre: f64, sigma: f64, step: f64) -> Limits {
    Limits {
        resolution: Some(step),
        ..limits(centre, sigma)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn later_readings_never_change_what_was_known(seed in any::<u64>(), cut in 1_usize..160) {
        let values = walk(seed, 160);
        let series = daily("Plover", Characteristic::Ph, &values);
        let whole = run(&series, with_resolution(0.0, 1.0, 1.0 / 64.0), &every_rule(), 160);
        let short = daily("Plover", Characteristic::Ph, &values[..cut]);
        let early = run(&short, with_resolution(0.0, 1.0, 1.0 / 64.0), &every_rule(), cut);
        let until: Vec<_> = whole.iter().filter(|s| s.known < cut).collect();
        prop_assert_eq!(until.len(), early.len());
        for (a, b) in until.iter().zip(&early) {
            prop_assert_eq!((a.rule, a.direction, a.start, a.known), (b.rule, b.direction, b.start, b.known));
            // Told on the day, the sentence had the same opening.
            let opening = b.says.split("; still").next().unwrap_or("").trim_end_matches('.');
            prop_assert!(a.says.starts_with(opening));
        }
        // A period tells its own signals, the same as when all are told.
        let from = cut / 2;
        let told: Vec<Signal> = early.iter().filter(|s| in_period(s, &(from..cut))).cloned().collect();
        let limits = || with_resolution(0.0, 1.0, 1.0 / 64.0);
        prop_assert_eq!(
            signals_of_period(&chart(&series, limits()), &every_rule(), &[], &(from..cut), Zone::AS_WRITTEN),
            told
        );
        // Cutting the series and only looking so far are the same.
        prop_assert_eq!(run(&series, with_resolution(0.0, 1.0, 1.0 / 64.0), &every_rule(), cut), early);
    }

    #[test]
    fn readings_long_before_a_period_change_none_of_its_signals(seed in any::<u64>(), from in 300_usize..1500, excluded in 0_usize..1500) {
        let exclusion = Exclusion { index: excluded, reason: "calibration".into() };
        let series = daily("Plover", Characteristic::Ph, &eventful(seed, 1500));
        let series = series.with_marks(vec![exclusion], Vec::new()).unwrap();
        let limits = || with_resolution(0.0, 1.0, 1.0 / 64.0);
        let chart = chart(&series, limits());
        let period = from..(from + 30).min(1500);
        let all = signals(&chart, &every_rule(), &[], period.end, Zone::AS_WRITTEN);
        let told: Vec<Signal> = all.into_iter().filter(|s| in_period(s, &period)).collect();
        prop_assert_eq!(signals_of_period(&chart, &every_rule(), &[], &period, Zone::AS_WRITTEN), told);
    }

    #[test]
    fn another_unit_changes_no_signal(seed in any::<u64>(), shift in -64_i32..64, doublings in -3_i32..4) {
        let values = walk(seed, 160);
        let scale = 2_f64.powi(doublings);
        let moved: Vec<f64> = values.iter().map(|v| scale * (v + f64::from(shift))).collect();
        let here = run(
            &daily("Plover", Characteristic::Ph, &values),
            with_resolution(0.0, 1.0, 1.0 / 64.0), &every_rule(), 160,
        );
        let there = run(
            &daily("Plover", Characteristic::Ph, &moved),
            with_resolution(scale * f64::from(shift), scale, scale / 64.0), &every_rule(), 160,
        );
        prop_assume!(!here.is_empty());
        prop_assert_eq!(gist(&here), gist(&there));
    }

    #[test]
    fn a_mirrored_series_has_mirrored_signals(seed in any::<u64>()) {
        let values = walk(seed, 160);
        let mirrored: Vec<f64> = values.iter().map(|v| -v).collect();
        let limits = || with_resolution(0.0, 1.0, 1.0 / 64.0);
        let here = run(&daily("Plover", Characteristic::Ph, &values), limits(), &every_rule(), 160);
        let there = run(&daily("Plover", Characteristic::Ph, &mirrored), limits(), &every_rule(), 160);
        let mut turned = gist(&there);
        for (_, direction, ..) in &mut turned {
            *direction = match direction {
                Direction::Up => Direction::Down,
                Direction::Down => Direction::Up,
                Direction::Neither => Direction::Neither,
            };
        }
        prop_assert_eq!(gist(&here), turned);
    }
}
