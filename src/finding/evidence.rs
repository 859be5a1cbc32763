//! The evidence of a finding: numbers, dates, signals and the chart each is seen on.

use super::CabinetContext;
use super::events::near;
use super::observe::Observation;
use super::sentences::interval;
use crate::quantity::conformance::Breach;
use crate::report::wire::Evidence;
use crate::signal::wording::{count, two_digits, with_unit};
use crate::signal::{Signal, signal_id};
use crate::time::Instant;

/// Signals of one series that are listed; the rest are counted.
const SIGNALS_LISTED: usize = 5;

/// Everything that speaks for a series' part in a finding.
pub(super) fn of_series(cabinet: &CabinetContext<'_>, seen: &Observation<'_>) -> Vec<Evidence> {
    let spoken = seen.characteristic().spoken();
    let unit = seen.review.chart.series.unit();
    let mut evidence = of_breaches(cabinet, seen, &seen.breaches);
    if let Some(drift) = &seen.review.drift {
        let (low, high) = interval(drift.low, drift.high);
        let mut says = format!(
            "{spoken}: {} a day ({low} to {high}, {}), since about {}",
            with_unit(&two_digits(drift.slope_per_day), unit),
            percent(drift.level),
            cabinet.day(drift.since)
        );
        if let Some(breach) = &drift.breach {
            let latest = breach
                .latest
                .map_or("no end".to_owned(), |at| cabinet.day(at));
            says.push_str(&format!(
                "; reaches {} on {} at the earliest, most likely about {}, at the latest {latest} ({})",
                with_unit(&two_or_more(breach.limit), unit),
                cabinet.day(breach.earliest),
                cabinet.day(breach.likely),
                percent(breach.level)
            ));
        }
        evidence.push(on_chart(seen, says, None));
    }
    if let Some(shift) = &seen.review.shift {
        let (low, high) = interval(shift.low, shift.high);
        let says = format!(
            "{spoken}: step of {} ({low} to {high}) about {}, dated {}",
            with_unit(&two_digits(shift.size), unit),
            cabinet.day(shift.at),
            cabinet.days(shift.earliest, shift.latest)
        );
        evidence.push(on_chart(seen, says, None));
    }
    evidence.extend(of_signals(seen, &seen.signals));
    evidence
}

/// The signals of a series, the first few in full.
pub(super) fn of_signals(seen: &Observation<'_>, signals: &[&Signal]) -> Vec<Evidence> {
    let spoken = seen.characteristic().spoken();
    let series = seen.review.chart.series;
    let mut evidence: Vec<Evidence> = signals
        .iter()
        .take(SIGNALS_LISTED)
        .map(|signal| {
            let says = format!("{spoken}, {}: {}", signal.rule, signal.says);
            on_chart(seen, says, Some(signal_id(series, signal)))
        })
        .collect();
    if signals.len() > SIGNALS_LISTED {
        let rest = count(signals.len() - SIGNALS_LISTED, "more signal");
        evidence.push(on_chart(seen, format!("{spoken}: {rest}"), None));
    }
    evidence
}

/// The readings outside the window.
pub(super) fn of_breaches(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    breaches: &[&Breach],
) -> Vec<Evidence> {
    let (Some(outcome), Some(first), Some(last)) =
        (&seen.review.conformance, breaches.first(), breaches.last())
    else {
        return Vec::new();
    };
    let at = |b: &Breach| {
        let at = seen.review.chart.series.at().get(b.index).copied();
        at.unwrap_or(Instant(0))
    };
    let mut says = format!(
        "{}: {} of {} outside, {}; limits from {}",
        seen.characteristic().spoken(),
        breaches.len(),
        count(outcome.checked, "reading"),
        cabinet.days(at(first), at(last)),
        outcome.source
    );
    if let Some(how) = &outcome.says {
        says.push_str(&format!("; {how}"));
    }
    vec![on_chart(seen, says, None)]
}

/// The lab's events near the time that may touch the series.
pub(super) fn of_events(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    at: Instant,
) -> Vec<Evidence> {
    near(&cabinet.events, seen.characteristic(), at)
        .into_iter()
        .map(|event| Evidence {
            says: format!("event of {}: {}", cabinet.day(event.at), event.what),
            signal: None,
            chart: None,
        })
        .collect()
}

fn on_chart(seen: &Observation<'_>, says: String, signal: Option<String>) -> Evidence {
    let series = seen.review.chart.series;
    Evidence {
        says,
        signal,
        chart: Some(format!(
            "{}/{}",
            series.cabinet(),
            series.characteristic().id()
        )),
    }
}

fn percent(level: f64) -> String {
    format!("{:.0} %", 100.0 * level)
}

/// A limit with at least its own decimals.
fn two_or_more(value: f64) -> String {
    let plain = format!("{value}");
    if plain.len() <= 8 {
        plain
    } else {
        two_digits(value)
    }
}
