//! A literal cabinet built from its parts, for the tests of findings and hints.

use super::testing::{drift, on_day, review, shift, signal};
use super::{CabinetContext, of_cabinet, rank};
use crate::characteristic::Characteristic as C;
use crate::drift::{Drift, Shift};
use crate::lab::{Event, EventEffect, Exposure};
use crate::quantity::conformance::Outcome;
use crate::report::wire::Finding;
use crate::review::SeriesReview;
use crate::series::Series;
use crate::signal::Signal;
use crate::signal::fixture::{chart, daily, limits};
use crate::time::Zone;
use chrono::NaiveDate;

/// One series of a cabinet: what it is and what was found of it.
#[derive(Clone)]
pub(super) struct Part {
    pub(super) characteristic: C,
    pub(super) signals: Vec<Signal>,
    pub(super) conformance: Option<Outcome>,
    pub(super) drift: Option<Drift>,
    pub(super) shift: Option<Shift>,
}

pub(super) fn still(characteristic: C) -> Part {
    Part {
        characteristic,
        signals: Vec::new(),
        conformance: None,
        drift: None,
        shift: None,
    }
}

pub(super) fn slow(characteristic: C, slope: f64) -> Part {
    Part {
        drift: Some(drift(slope, 7, None)),
        ..still(characteristic)
    }
}

pub(super) fn stepped(characteristic: C, size: f64) -> Part {
    Part {
        shift: Some(shift(size, 7)),
        ..still(characteristic)
    }
}

pub(super) fn signalled(characteristic: C, signals: &[Signal]) -> Part {
    Part {
        signals: signals.to_vec(),
        ..still(characteristic)
    }
}

/// A saw-tooth: up, down, up.
pub(super) fn sawing(characteristic: C) -> Part {
    signalled(
        characteristic,
        &[
            signal("one-sided-run", 1, 10, 12, 12),
            signal("one-sided-run", -1, 14, 16, 16),
            signal("one-sided-run", 1, 17, 18, 19),
        ],
    )
}

pub(super) fn event(kind: &str, what: &str, day: f64) -> Event {
    Event {
        at: on_day(day),
        cabinet: Some("Plover".into()),
        characteristic: None,
        kind: kind.to_owned(),
        what: what.into(),
        effect: EventEffect::Note,
    }
}

pub(super) fn exposure(job: &str, start: f64, end: Option<f64>) -> Exposure {
    Exposure {
        job: job.to_owned(),
        cabinet: "Plover".into(),
        start: on_day(start),
        end: end.map(on_day),
        standard: "ISO 9227 NSS".to_owned(),
    }
}

/// Builds the reviews of a cabinet, ten of twenty days of March 2026 in the period, and
/// hands them with its context to `with`.
pub(super) fn cabinet<T>(
    parts: &[Part],
    events: &[Event],
    exposures: &[Exposure],
    missing: &[NaiveDate],
    with: impl FnOnce(&CabinetContext<'_>, &[SeriesReview<'_>]) -> T,
) -> T {
    let values: Vec<f64> = (0..20).map(|i| 1.5 - 0.03 * f64::from(i)).collect();
    let series: Vec<Series> = parts
        .iter()
        .map(|p| daily("Plover", p.characteristic.clone(), &values))
        .collect();
    let reviews: Vec<SeriesReview<'_>> = parts
        .iter()
        .zip(&series)
        .map(|(p, s)| {
            let chart = chart(s, limits(1.5, 0.05));
            let p = p.clone();
            review(chart, p.signals, p.conformance, p.drift, p.shift)
        })
        .collect();
    let context = CabinetContext {
        id: "Plover",
        name: "Plover",
        profile: Some("ISO 9227 NSS"),
        zone: Zone::AS_WRITTEN,
        period: (
            NaiveDate::from_ymd_opt(2026, 3, 1).unwrap(),
            NaiveDate::from_ymd_opt(2026, 3, 31).unwrap(),
        ),
        exposures: exposures.iter().collect(),
        events: events.iter().collect(),
        missing_days: missing.to_vec(),
        together: &[],
        checks_per_false_alarm: Some(185.0),
    };
    with(&context, &reviews)
}

pub(super) fn findings(parts: &[Part]) -> Vec<Finding> {
    cabinet(parts, &[], &[], &[], |context, reviews| {
        rank(of_cabinet(context, reviews, &[]))
    })
}
