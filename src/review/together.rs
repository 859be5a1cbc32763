//! Combinations of readings in the review: what a single series tells already, the words
//! and the wire format. What is unusual is `detect`'s.

use super::run::Seen;
use crate::characteristic::Characteristic;
use crate::chart::Chart;
use crate::detect::together::NAME;
use crate::detect::{Budget, TogetherOfPeriod, TogetherSignal, together_of_period};
use crate::finding::Copied;
use crate::lab::{Event, Lab};
use crate::report::wire;
use crate::signal::explanation;
use crate::signal::wording::{
    count, day, decimals_of_levels, decimals_of_readings, list, number, with_unit,
};
use crate::time::{Instant, Zone};
use chrono::Datelike;
use std::ops::Range;

/// Share of the statistic from which a characteristic is named.
const NAMED: f64 = 0.25;
/// Characteristics that are named at most.
const MOST_NAMED: usize = 3;
/// Days for which a step tells of the checks after it: until it has become usual.
const STEP_DAYS: f64 = 30.0;

/// The unusual combinations of a cabinet in the period, and the checks judged.
pub(super) fn of_cabinet(
    lab: &Lab,
    seen: &[Seen<'_>],
    copied: &[Copied],
    budget: Budget,
    period: Range<Instant>,
) -> (Vec<wire::Together>, u64) {
    let charts: Vec<&Chart<'_>> = seen.iter().map(|s| &s.chart).collect();
    let told: Vec<(&Characteristic, Range<Instant>)> = seen.iter().flat_map(told_alone).collect();
    let tells = |of: &Characteristic, at: Instant| {
        let spans = told
            .iter()
            .filter(|(characteristic, _)| *characteristic == of);
        spans.into_iter().any(|(_, span)| span.contains(&at))
    };
    let TogetherOfPeriod { signals, judged } = together_of_period(&charts, budget, period, &tells);
    let on_wire = signals.iter().map(|s| on_wire(s, lab, copied)).collect();
    (on_wire, judged)
}

/// The spans of time that a series' own signals, drift and step tell of.
fn told_alone<'a>(seen: &'a Seen<'_>) -> Vec<(&'a Characteristic, Range<Instant>)> {
    let series = seen.chart.series;
    let at = |index: usize| series.at().get(index).copied();
    let signals = seen
        .signals
        .iter()
        .filter_map(|s| Some(at(s.start)?..Instant(at(s.last)?.0 + 1)));
    let drift = seen.drift.iter().map(|d| d.since..Instant(i64::MAX));
    let shift = seen
        .shift
        .iter()
        .map(|s| s.earliest..s.at.plus_days(STEP_DAYS));
    signals
        .chain(drift)
        .chain(shift)
        .map(|span| (series.characteristic(), span))
        .collect()
}

fn on_wire(signal: &TogetherSignal<'_>, lab: &Lab, copied: &[Copied]) -> wire::Together {
    let zone = lab.zone;
    let known_at = zone.rfc3339(signal.known_at);
    let cabinet = (signal.parts.first()).map_or("", |(chart, _)| chart.series.cabinet());
    wire::Together {
        id: format!("{cabinet}/{NAME}@{known_at}"),
        rule: NAME.to_owned(),
        known_at,
        starts_at: zone.rfc3339(signal.starts_at),
        last_at: zone.rfc3339(signal.last_at),
        ongoing: signal.ongoing,
        checks: signal.checks as u64,
        statistic: signal.statistic,
        limit: signal.limit,
        chance: signal.chance,
        contributions: signal
            .parts
            .iter()
            .map(|(chart, part)| wire::Contribution {
                characteristic: chart.series.characteristic().id().to_owned(),
                spoken: chart.series.characteristic().spoken().to_owned(),
                share: part.share,
                direction: if part.value > part.expected {
                    "up"
                } else {
                    "down"
                }
                .to_owned(),
                value: part.value,
                expected: part.expected,
                unit: chart.series.unit().to_owned(),
            })
            .collect(),
        says: says(signal, zone),
        explained_by: explained_by(signal, lab, copied),
    }
}

fn explained_by(signal: &TogetherSignal<'_>, lab: &Lab, copied: &[Copied]) -> Option<String> {
    let event = named(signal).find_map(|(chart, _)| {
        let series = chart.series;
        let events: Vec<&Event> = lab
            .events_for(series.cabinet(), series.characteristic())
            .collect();
        explanation(series, &events, signal.starts_at)
    });
    let rests_on = |c: &&Copied| c.from <= signal.known_at && signal.starts_at <= c.to;
    event
        .or_else(|| {
            let copied = copied.iter().find(rests_on)?;
            Some(format!("{} copied entries", copied.checks))
        })
        .or_else(|| signal.accounted_for.then(|| own_signals(signal)))
}

/// `the signals of pH and air pressure`.
fn own_signals(signal: &TogetherSignal<'_>) -> String {
    let names: Vec<&str> = signal
        .told
        .iter()
        .map(|series| series.characteristic().spoken())
        .collect();
    format!("what is told of {}", list(&names))
}

/// The characteristics that are named: those with a large share, the first at least.
fn named<'a, 'b>(
    signal: &'b TogetherSignal<'a>,
) -> impl Iterator<Item = &'b (&'a Chart<'a>, crate::detect::together::Contribution)> {
    let parts = signal.parts.iter().enumerate();
    parts
        .filter(|(place, (_, part))| *place == 0 || part.share >= NAMED)
        .map(|(_, part)| part)
        .take(MOST_NAMED)
}

/// The combination in a sentence.
fn says(signal: &TogetherSignal<'_>, zone: Zone) -> String {
    let year = zone.date(signal.last_at).year();
    let on = |at: Instant| day(zone.date(at), year);
    let parts: Vec<String> = named(signal)
        .filter_map(|(chart, part)| {
            let series = chart.series;
            let stage = chart.stages.iter().rev().find(|s| s.limits.is_ok())?;
            let limits = stage.limits.as_ref().ok()?;
            let value = number(part.value, decimals_of_readings(limits));
            let expected = number(part.expected, decimals_of_levels(limits));
            let spoken = series.characteristic().spoken();
            let value = with_unit(&value, series.unit());
            Some(format!(
                "{spoken} {value} where {expected} was to be expected"
            ))
        })
        .collect();
    let mut text = format!(
        "On {} the readings did not go together as usual: beside the others, {}",
        on(signal.known_at),
        list(&parts)
    );
    if signal.checks > 1 {
        let standing = if signal.ongoing {
            "and it goes on"
        } else {
            "the last"
        };
        text.push_str(&format!(
            "; {} were so, {standing} on {}",
            count(signal.checks, "check"),
            on(signal.last_at)
        ));
    }
    text.push('.');
    if !signal.accounted_for && !signal.told.is_empty() {
        text.push_str(&format!(" This is apart from {}.", own_signals(signal)));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detect::together::Contribution;
    use crate::signal::fixture::{MONDAY, chart, daily, limits};

    #[test]
    fn a_combination_is_told_with_its_main_parts_and_what_each_was_to_be() {
        let rate = daily("Plover", Characteristic::CollectionRate, &[1.5; 10]);
        let ph = daily("Plover", Characteristic::Ph, &[6.8; 10]);
        let pressure = daily("Plover", Characteristic::AirPressure, &[98.0; 10]);
        let charts = [
            chart(&rate, limits(1.5, 0.05)),
            chart(&ph, limits(6.8, 0.04)),
            chart(&pressure, limits(98.0, 2.0)),
        ];
        let part = |member: usize, share, value, expected| Contribution {
            member,
            share,
            value,
            expected,
        };
        let mut signal = TogetherSignal {
            starts_at: MONDAY,
            known_at: MONDAY,
            last_at: MONDAY.plus_days(2.0),
            ongoing: false,
            checks: 3,
            statistic: 20.0,
            limit: 15.0,
            chance: 1e-4,
            parts: vec![
                (&charts[0], part(0, 0.9, 1.62, 1.4512)),
                (&charts[1], part(1, 0.8, 6.7, 6.85)),
                (&charts[2], part(2, 0.1, 98.0, 99.0)),
            ],
            told: Vec::new(),
            accounted_for: false,
        };
        assert_eq!(
            says(&signal, Zone::AS_WRITTEN),
            "On 2 March the readings did not go together as usual: beside the others, collection rate 1.62 \
             mL/h per 80 cm² where 1.45 was to be expected and pH 6.70 where 6.85 was to be expected; 3 \
             checks were so, the last on 4 March."
        );
        signal.told = vec![&pressure];
        signal.checks = 1;
        let text = says(&signal, Zone::AS_WRITTEN);
        assert!(
            text.ends_with("expected. This is apart from what is told of air pressure."),
            "{text}"
        );
    }
}
