//! Sentences of a review about single numbers; verdicts are `finding`'s.

use crate::drift::{Drift, Shift};
use crate::signal::wording::{day, days, two_digits, with_unit};
use crate::time::Zone;
use chrono::Datelike;

/// A drift in a sentence: its slope with interval, since when, and the forecast.
pub(super) fn drift(drift: &Drift, unit: &str, zone: Zone) -> String {
    let year = zone.date(drift.since).year();
    let way = if drift.slope_per_day < 0.0 {
        "Falls"
    } else {
        "Rises"
    };
    let (small, large) = (
        drift.low.abs().min(drift.high.abs()),
        drift.low.abs().max(drift.high.abs()),
    );
    let mut text = format!(
        "{way} by {} a day since about {} ({:.0} % interval {} to {}).",
        with_unit(&two_digits(drift.slope_per_day.abs()), unit),
        day(zone.date(drift.since), year),
        100.0 * drift.level,
        two_digits(small),
        two_digits(large),
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
        None => text.push_str(" No date of a breach is forecast."),
    }
    text
}

/// A step in a sentence: its size with interval and when it happened.
pub(super) fn shift(shift: &Shift, unit: &str, zone: Zone) -> String {
    let year = zone.date(shift.at).year();
    let way = if shift.size < 0.0 { "down" } else { "up" };
    let (small, large) = (
        shift.low.abs().min(shift.high.abs()),
        shift.low.abs().max(shift.high.abs()),
    );
    format!(
        "Stepped {way} by {} ({} to {}) on about {} (between {}).",
        with_unit(&two_digits(shift.size.abs()), unit),
        two_digits(small),
        two_digits(large),
        day(zone.date(shift.at), year),
        days(zone.date(shift.earliest), zone.date(shift.latest), year),
    )
}

/// A sentence made to stand after a colon or a comma: small initial, no full stop.
pub(super) fn as_end_of_sentence(sentence: &str) -> String {
    let mut chars = sentence.trim_end_matches('.').chars();
    match chars.next() {
        Some(first) => first.to_lowercase().chain(chars).collect(),
        None => String::new(),
    }
}
