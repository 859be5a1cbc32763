//! A small trial end to end; the full one is the command's.

use super::{Contestant, Settings, run, text};
use crate::characteristic::Characteristic;
use crate::chart::{ChartOptions, chart};
use crate::progress::{Progress, Silent};
use crate::series::Series;
use crate::signal::{RuleSet, signals};
use crate::time::Zone;
use std::sync::atomic::{AtomicU64, Ordering};

/// Counts steps against what was announced.
#[derive(Default)]
struct Steps {
    announced: AtomicU64,
    done: AtomicU64,
}

impl Progress for Steps {
    fn begin(&self, _what: &str, total: u64) {
        self.announced.store(total, Ordering::Relaxed);
    }
    fn advance(&self, steps: u64) {
        self.done.fetch_add(steps, Ordering::Relaxed);
    }
    fn end(&self) {
        assert_eq!(
            self.announced.load(Ordering::Relaxed),
            self.done.load(Ordering::Relaxed)
        );
    }
}

fn small() -> Settings {
    Settings {
        seed: 5,
        cabinets: 60,
        checks: 250,
        slopes: vec![0.01],
        ..Settings::default()
    }
}

#[test]
fn the_default_set_alarms_seldom_and_sees_every_change() {
    let outcome = run(&small(), &Steps::default());
    let alarms = |who| {
        outcome
            .steady
            .iter()
            .find(|row| row.contestant == who)
            .unwrap()
            .per_370
    };
    // 60 × 250 checks: about 40 alarms expected at one in 370.
    assert!(
        alarms(Contestant::Steadyfog) <= 1.35,
        "{:?}",
        outcome.steady
    );
    assert!(alarms(Contestant::ThreeSigma) > 3.0);
    assert!(alarms(Contestant::WesternElectric) > 12.0);
    let ours = &outcome.ramps[0];
    assert_eq!(ours.contestant, Contestant::Steadyfog);
    assert_eq!(ours.caught, 1.0);
    assert!(ours.way_left.unwrap() >= 0.72, "{ours:?}");
    let oracle = outcome.ramps.last().unwrap();
    assert_eq!(oracle.contestant, Contestant::Oracle);
    assert!(oracle.way_left.unwrap() >= ours.way_left.unwrap() - 0.03);
    assert!(outcome.steps[0].caught >= 0.95 && outcome.steps[0].days.unwrap() <= 14.0);
    assert!(outcome.dates.of_shift.unwrap() <= 4.0 && outcome.dates.of_signal.unwrap() <= 4.0);
    let forecast = &outcome.forecasts[0];
    assert!(
        forecast.told > 0.6 && (0.6..=0.97).contains(&forecast.covered.unwrap()),
        "{forecast:?}"
    );
    assert!(
        forecast.width.unwrap() <= 1.3 * forecast.oracle_width.unwrap(),
        "{forecast:?}"
    );
}

#[test]
fn same_settings_same_outcome_and_the_text_fits_a_terminal() {
    let settings = Settings {
        cabinets: 8,
        checks: 60,
        ..small()
    };
    let outcome = run(&settings, &Silent);
    assert_eq!(outcome, run(&settings, &Silent));
    let other = run(
        &Settings {
            seed: 6,
            ..settings
        },
        &Silent,
    );
    assert_ne!(outcome.steady, other.steady);
    let text = text(&outcome);
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    assert!(text.contains("seed 5") && text.contains("Western Electric"));
    let json = serde_json::to_value(&outcome).unwrap();
    assert_eq!(json["schema"], "steadyfog.trial/1");
    assert_eq!(json["steady"][0]["contestant"], "steadyfog");
}

/// The figure that the set `with-memory` tells of itself: signals per 370 checks of the
/// trial's steady cabinets, charted as the review does.
#[test]
fn the_set_with_a_memory_alarms_as_often_as_it_says() {
    use super::cabinet::{Cabinet, Change};
    let settings = Settings {
        seed: 21,
        cabinets: 400,
        ..Settings::default()
    };
    let options = ChartOptions {
        gap_days: 7.0,
        baseline_readings: settings.baseline,
        robust: false,
    };
    let set = RuleSet::with_memory();
    let checks = settings.baseline + settings.checks;
    let found: usize = (0..settings.cabinets)
        .map(|index| {
            let Cabinet { at, value, .. } =
                Cabinet::new(&settings, 9, index, |_| checks, |_| Change::None);
            let rate = Characteristic::CollectionRate;
            let unit = rate.unit();
            let series = Series::new("Plover", rate, unit, at, value).unwrap();
            let chart = chart(&series, None, &options);
            signals(&chart, &set, &[], checks, Zone::AS_WRITTEN).len()
        })
        .sum();
    let per_370 = found as f64 / settings.cabinets as f64;
    let promised = 370.0 * set.false_alarms.unwrap();
    // Four standard errors of 400 cabinets whose signals come in bunches.
    assert!((per_370 - promised).abs() < 0.3, "{per_370} of {promised}");
}
