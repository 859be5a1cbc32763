//! Sentences of a review about single numbers; verdicts are `finding`'s.

use crate::drift::{Drift, Shift, Span};
use crate::signal::wording::{count, day, two_digits, with_unit};
use crate::time::Zone;
use chrono::Datelike;

/// A drift in a sentence: its slope with interval, since when, and the forecast.
pub(super) fn drift(
    drift: &Drift,
    began: Option<Span>,
    not: &str,
    unit: &str,
    zone: Zone,
) -> String {
    let year = zone.date(drift.since).year();
    let way = if drift.slope_per_day < 0.0 {
        "Falls"
    } else {
        "Rises"
    };
    let (one, other) = (drift.low.abs(), drift.high.abs());
    let (small, large) = crate::signal::wording::interval(one.min(other), one.max(other));
    let mut text = format!(
        "{way} by {} a day since about {} ({:.0} % interval {} to {}).",
        with_unit(&two_digits(drift.slope_per_day.abs()), unit),
        day(zone.date(drift.since), year),
        100.0 * drift.level,
        small,
        large,
    );
    match &drift.breach {
        Some(breach) => {
            let limit = with_unit(&breach.limit.to_string(), unit);
            let when = match breach.latest {
                Some(latest) => format!(
                    "between {} and {}",
                    day(zone.date(breach.earliest), year),
                    day(zone.date(latest), year)
                ),
                None => format!("not before {}", day(zone.date(breach.earliest), year)),
            };
            text.push_str(&format!(
                " At this pace it reaches {limit} {when} ({:.0} % interval), most likely on {}.",
                100.0 * breach.level,
                day(zone.date(breach.likely), year)
            ));
        }
        None if not.is_empty() => text.push_str(" No date of a breach is forecast."),
        None => text.push_str(&format!(" No date of a breach is forecast: {not}.")),
    }
    if let Some(began) = began {
        text.push_str(&format!(
            " It began between {} and {} ({:.0} % confidence).",
            day(zone.date(began.earliest), year),
            day(zone.date(began.latest), year),
            100.0 * began.level
        ));
    }
    text
}

/// What is not claimed, as a sentence; `None` when there is nothing to add.
pub(super) fn not_claimed(why: &str) -> Option<String> {
    let mut rest = why.chars();
    let first = rest.next()?;
    Some(format!("{}{}.", first.to_uppercase(), rest.as_str()))
}

/// A step in a sentence: its size with interval and when it happened.
pub(super) fn shift(shift: &Shift, unit: &str, zone: Zone) -> String {
    let year = zone.date(shift.at).year();
    let way = if shift.size < 0.0 { "down" } else { "up" };
    let (small, large) = (
        shift.low.abs().min(shift.high.abs()),
        shift.low.abs().max(shift.high.abs()),
    );
    let (from, to) = (zone.date(shift.earliest), zone.date(shift.latest));
    let dated = if from == to {
        String::new()
    } else {
        format!(" (between {} and {})", day(from, year), day(to, year))
    };
    let explained = match &shift.explained_by {
        Some(event) => format!(" Explained by: {}.", event.trim_end_matches('.')),
        None => String::new(),
    };
    format!(
        "Stepped {way} by {} ({} to {}) on about {}{dated}.{explained}",
        with_unit(&two_digits(shift.size.abs()), unit),
        two_digits(small),
        two_digits(large),
        day(zone.date(shift.at), year),
    )
}

/// Signals found against those that chance would bring, in a sentence.
pub(super) fn signals(found: u64, readings: u64, expected: Option<f64>, rules: &str) -> String {
    let found = count(found as usize, "signal");
    let judged = count(readings as usize, "reading");
    match expected {
        Some(expected) => format!(
            "{found} without an explanation in {judged} judged by the set {rules}; in steady cabinets chance \
             alone would bring about {expected:.1}."
        ),
        None => format!(
            "{found} without an explanation in {judged} judged by the set {rules}; how many chance alone would \
             bring is not known for it."
        ),
    }
}

/// A sentence made to stand after a colon or a comma: small initial, no full stop.
pub(super) fn as_end_of_sentence(sentence: &str) -> String {
    let mut chars = sentence.trim_end_matches('.').chars();
    match chars.next() {
        Some(first) => first.to_lowercase().chain(chars).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Instant;

    #[test]
    fn a_step_is_dated_and_its_event_named() {
        let at = Instant(1_781_172_000);
        let mut step = Shift {
            at,
            at_index: 0,
            earliest: at,
            latest: at,
            size: -1.6,
            low: -1.8,
            high: -1.4,
            explained_by: None,
        };
        assert_eq!(
            shift(&step, "°C", Zone::AS_WRITTEN),
            "Stepped down by 1.6 °C (1.4 to 1.8) on about 11 June."
        );
        step.latest = at.plus_days(2.0);
        step.explained_by = Some("new thermostat".to_owned());
        assert_eq!(
            shift(&step, "°C", Zone::AS_WRITTEN),
            "Stepped down by 1.6 °C (1.4 to 1.8) on about 11 June (between 11 June and 13 June). Explained by: \
             new thermostat."
        );
    }

    #[test]
    fn signals_are_told_beside_what_chance_would_bring() {
        assert_eq!(
            signals(1, 740, Some(3.96), "steadyfog"),
            "1 signal without an explanation in 740 readings judged by the set steadyfog; in steady cabinets chance \
             alone would bring about 4.0."
        );
        assert!(signals(2, 9, None, "own").ends_with("is not known for it."));
    }
}
