//! How the readings of a period stand against the standard's window.
//!
//! A reading is judged as it is, excluded or not: an exclusion is about control limits,
//! and explains a breach without undoing it. What the limits of a reading are is
//! `limits`'.

use super::derive::Companions;
use super::limits::of_period;
use crate::lab::{Event, EventEffect, Lab};
use crate::series::Series;
use crate::time::{Instant, SECONDS_PER_DAY};
use std::ops::Range;

/// The period against the conformance limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Profile the limits come from.
    pub profile: std::sync::Arc<str>,
    /// Lower limit in the charted unit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Source of the limits.
    pub source: String,
    /// Readings judged.
    pub checked: usize,
    /// Readings outside, in time order.
    pub breaches: Vec<Breach>,
    /// How it was judged where a fixed window does not say it.
    pub says: Option<String>,
}

/// A reading outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    /// Index in the series.
    pub index: usize,
    /// The limit passed.
    pub limit: f64,
    /// Whether it lies above the upper limit (else below the lower).
    pub high: bool,
    /// Event (in the lab's words) that explains it.
    pub explained_by: Option<String>,
}

/// Days around a breach within which an event may explain it.
const EXPLAINS_DAYS: f64 = 3.0;

/// Share of a limit by which a reading may pass it and still lie on it: a value that
/// was written in other units (97 °F, 18 psi) comes out of the conversion with a
/// rounding of about 1e-16, constants of eight digits with 1e-9.
const ON_THE_LIMIT: f64 = 2e-9;

/// Judges the readings of `period` (indices into the series) against the cabinet's profile.
///
/// `companions` are those that [`super::derive::derive`] gave with the series. A value
/// exactly on a limit conforms. `None` when the cabinet has no profile or its profile
/// no limits for this characteristic.
pub fn judge(
    series: &Series,
    period: Range<usize>,
    companions: &Companions,
    lab: &Lab,
) -> Option<Outcome> {
    let profile = lab.profile_of(series.cabinet())?;
    let period = period.start.min(series.len())..period.end.min(series.len());
    let limits = of_period(series, period.clone(), companions, profile)?;
    let mut breaches = Vec::new();
    let readings = series.values().get(period.clone()).unwrap_or(&[]);
    for ((value, bounds), index) in readings.iter().zip(&limits.each).zip(period) {
        let Some(bounds) = bounds else { continue };
        let passed = match (bounds.lower, bounds.upper) {
            (Some(lower), _) if below(*value, lower) => Some((lower, false)),
            (_, Some(upper)) if below(-*value, -upper) => Some((upper, true)),
            _ => None,
        };
        if let Some((limit, high)) = passed {
            breaches.push(Breach {
                index,
                limit,
                high,
                explained_by: None,
            });
        }
    }
    if !breaches.is_empty() {
        let events: Vec<&Event> = lab
            .events_for(series.cabinet(), series.characteristic())
            .collect();
        for breach in &mut breaches {
            let at = series.at().get(breach.index);
            breach.explained_by = at.and_then(|at| explanation(*at, &events));
        }
    }
    Some(Outcome {
        profile: std::sync::Arc::clone(&profile.id),
        lower: limits.shown.lower,
        upper: limits.shown.upper,
        source: limits.source,
        checked: limits.each.iter().flatten().count(),
        breaches,
        says: limits.says,
    })
}

/// Whether a value lies below a limit by more than rounding.
fn below(value: f64, limit: f64) -> bool {
    value < limit - ON_THE_LIMIT * limit.abs()
}

/// An exclusion that covers the reading, else the nearest event within three days.
fn explanation(at: Instant, events: &[&Event]) -> Option<String> {
    let covering = events.iter().find_map(|e| match &e.effect {
        EventEffect::Exclude { until, reason } if e.at <= at && at < *until => {
            Some(reason.to_string())
        }
        _ => None,
    });
    covering.or_else(|| {
        let distance = |e: &Event| (e.at.0 - at.0).unsigned_abs();
        let reach = (EXPLAINS_DAYS * SECONDS_PER_DAY) as u64;
        events
            .iter()
            .filter(|e| distance(e) <= reach)
            .min_by_key(|e| distance(e))
            .map(|e| e.what.to_string())
    })
}

#[cfg(test)]
#[path = "conformance_tests.rs"]
mod tests;
