//! Literal drifts, shifts, signals and reviews for the tests of findings.

use crate::capability::Refusal;
use crate::chart::Chart;
use crate::drift::{Drift, ForecastBreach, Shift};
use crate::quantity::conformance::{Breach, Outcome};
use crate::review::{SeriesReview, State};
use crate::signal::fixture::MONDAY;
use crate::signal::{Direction, Signal};
use crate::time::{Instant, Zone};

/// Half past seven of the day that many days after Monday 2 March 2026.
pub(super) fn on_day(days: f64) -> Instant {
    MONDAY.plus_days(days)
}

/// A drift since the reading `since`, with an interval of a quarter either side.
pub(super) fn drift(slope: f64, since: usize, forecast: Option<(f64, f64, Option<f64>)>) -> Drift {
    Drift {
        slope_per_day: slope,
        low: slope - 0.25 * slope.abs(),
        high: slope + 0.25 * slope.abs(),
        level: 0.9,
        since: on_day(since as f64),
        since_index: since,
        now: 1.2,
        breach: forecast.map(|(earliest, likely, latest)| ForecastBreach {
            limit: 1.0,
            earliest: on_day(earliest),
            likely: on_day(likely),
            latest: latest.map(on_day),
            level: 0.8,
        }),
    }
}

/// A step at the reading `at`, dated to a day either side.
pub(super) fn shift(size: f64, at: usize) -> Shift {
    Shift {
        at: on_day(at as f64),
        at_index: at,
        earliest: on_day(at as f64 - 1.0),
        latest: on_day(at as f64 + 1.0),
        size,
        low: size - 0.25 * size.abs(),
        high: size + 0.25 * size.abs(),
        explained_by: None,
    }
}

/// A signal; `way` is 1, −1 or 0.
pub(super) fn signal(
    rule: &'static str,
    way: i8,
    start: usize,
    known: usize,
    last: usize,
) -> Signal {
    Signal {
        rule,
        direction: match way {
            1 => Direction::Up,
            -1 => Direction::Down,
            _ => Direction::Neither,
        },
        known,
        start,
        last,
        ongoing: false,
        explained_by: None,
        says: format!("Signal of {rule}."),
    }
}

/// A window of 1.0 to 2.0 with readings below it, some of them explained.
pub(super) fn outcome(unexplained: &[usize], explained: &[usize]) -> Outcome {
    let breach = |&index: &usize, why: Option<&str>| Breach {
        index,
        limit: 1.0,
        high: false,
        explained_by: why.map(str::to_owned),
    };
    let mut breaches: Vec<Breach> = unexplained.iter().map(|i| breach(i, None)).collect();
    breaches.extend(explained.iter().map(|i| breach(i, Some("heater replaced"))));
    Outcome {
        profile: "iso-9227-nss".into(),
        lower: Some(1.0),
        upper: Some(2.0),
        source: "ISO 9227 (from memory)".to_owned(),
        checked: 5,
        breaches,
        says: None,
    }
}

/// A review of which the last half is the period; state decided as always.
pub(super) fn review(
    chart: Chart<'_>,
    signals: Vec<Signal>,
    conformance: Option<Outcome>,
    drift: Option<Drift>,
    shift: Option<Shift>,
) -> SeriesReview<'_> {
    let len = chart.series.len();
    let period = len / 2..len;
    let (state, state_says): (State, String) = super::state::decide(&super::state::Found {
        chart: &chart,
        period: &period,
        signals: &signals,
        conformance: conformance.as_ref(),
        drift: drift.as_ref(),
        shift: shift.as_ref(),
        saw_tooth: None,
        copied: &[],
        zone: Zone::AS_WRITTEN,
    });
    SeriesReview {
        chart,
        period,
        signals,
        conformance,
        drift,
        began: None,
        not_claimed: String::new(),
        shift,
        saw_tooth: None,
        capability: Err(Refusal("not asked".to_owned())),
        state,
        state_says,
    }
}
