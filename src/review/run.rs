//! The review of a whole lab: every cabinet on its own, then what they share.
//!
//! Cabinets are independent, so they are reviewed in parallel and put together in
//! their fixed order; the result does not depend on the number of threads.

use super::assemble::{CabinetReview, assemble};
use super::to_wire::{self, Points, Texts};
use super::{Period, SeriesReview, State, says};
use crate::capability::{Capability, Refusal, WithinSigma, capability};
use crate::chart::{self, Chart, ChartOptions};
use crate::drift::{self, Assessment};
use crate::finding::{self, CabinetContext, state};
use crate::intake::Intake;
use crate::lab::{Event, Lab, Window};
use crate::progress::Progress;
use crate::quantity::conformance;
use crate::quantity::derive::{Companions, derive};
use crate::report::wire;
use crate::series::Series;
use crate::signal::{self, RuleSet};
use crate::time::Instant;
use rayon::prelude::*;
use std::ops::Range;

/// What a review is made with.
#[derive(Debug)]
pub struct ReviewOptions<'a> {
    /// The days reviewed.
    pub period: Period,
    /// The clock.
    pub now: Instant,
    /// The rules in force.
    pub rules: &'a RuleSet,
    /// Which readings the result lists.
    pub points: Points,
}

/// Reviews every cabinet of the intake and puts the lab's review together.
///
/// Readings after the period are not looked at: the review of a past month says what
/// it would have said then.
pub fn review(
    lab: &Lab,
    intake: &Intake,
    options: &ReviewOptions<'_>,
    progress: &dyn Progress,
) -> wire::Review {
    let cabinets = intake.checks.cabinets().len();
    progress.begin("reviewing", cabinets as u64);
    let reviewed: Vec<CabinetReview> = (0..cabinets)
        .into_par_iter()
        .map(|cabinet| {
            let review = review_cabinet(lab, intake, cabinet, options);
            progress.advance(1);
            review
        })
        .collect();
    progress.end();
    assemble(lab, intake, options, reviewed)
}

/// How charts are made in this lab.
pub(crate) fn chart_options(lab: &Lab) -> ChartOptions {
    ChartOptions {
        gap_days: lab.settings.gap_days,
        baseline_readings: lab.settings.baseline_readings,
        robust: lab.settings.robust,
    }
}

fn review_cabinet(
    lab: &Lab,
    intake: &Intake,
    cabinet: usize,
    options: &ReviewOptions<'_>,
) -> CabinetReview {
    let zone = lab.zone;
    let end = options.period.instants(zone).end;
    let derived = derive(&intake.checks, cabinet, lab);
    let all: Vec<Series> = derived
        .series
        .into_iter()
        .map(|series| series.before(end))
        .filter(|series| !series.is_empty())
        .collect();
    let chart_options = chart_options(lab);
    let mut reviews = Vec::with_capacity(all.len());
    let mut on_wire = Vec::with_capacity(all.len());
    for series in &all {
        let review = review_series(lab, series, &derived.companions, &chart_options, options);
        on_wire.push(series_on_wire(&review, lab, &chart_options, options.points));
        reviews.push(review);
    }
    let cabinet = super::assemble::cabinet_on_wire(lab, intake, cabinet, options.period);
    let context = CabinetContext::new(lab, &cabinet, options.period.days());
    let findings = finding::of_cabinet(&context, &reviews);
    CabinetReview {
        findings,
        cabinet,
        series: on_wire,
        issues: derived.issues,
    }
}

fn review_series<'a>(
    lab: &Lab,
    series: &'a Series,
    companions: &Companions,
    chart_options: &ChartOptions,
    options: &ReviewOptions<'_>,
) -> SeriesReview<'a> {
    let frozen = lab
        .baselines
        .get(series.cabinet())
        .and_then(|of_cabinet| of_cabinet.get(series.characteristic()))
        .map(|frozen| &frozen.limits);
    let chart = chart::chart(series, frozen, chart_options);
    let period = options.period.readings(series, lab.zone);
    let events: Vec<&Event> = lab
        .events_for(series.cabinet(), series.characteristic())
        .collect();
    let signals = signal::signals_of_period(&chart, options.rules, &events, &period, lab.zone);
    let outcome = conformance::judge(series, period.clone(), companions, lab);
    let window = lab.window(series.cabinet(), series.characteristic());
    let Assessment { drift, shift, .. } = if period.is_empty() {
        Assessment::nothing(String::new())
    } else {
        assess(&chart, window)
    };
    let (state, state_says) = state::decide(&state::Found {
        chart: &chart,
        period: &period,
        signals: &signals,
        conformance: outcome.as_ref(),
        drift: drift.as_ref(),
        shift: shift.as_ref(),
        zone: lab.zone,
    });
    let capability = capability_of(&chart, &period, window, state, &state_says);
    SeriesReview {
        chart,
        period,
        signals,
        conformance: outcome,
        drift,
        shift,
        capability,
        state,
        state_says,
    }
}

/// What is claimed of the current stage: drift, shift or neither.
fn assess(chart: &Chart<'_>, window: Option<&Window>) -> Assessment {
    let Some(stage) = chart.stages.last() else {
        return Assessment::nothing(String::new());
    };
    let Ok(limits) = &stage.limits else {
        return Assessment::nothing(String::new());
    };
    let series = chart.series;
    let (at, values) = valid(series, stage.readings.clone());
    let baseline_end = at.partition_point(|&t| t <= limits.to);
    drift::assess(
        &at,
        &values,
        limits.sigma,
        limits.lag1.unwrap_or(f64::NAN),
        baseline_end,
        window.and_then(|w| w.lower),
        window.and_then(|w| w.upper),
    )
}

/// Times and values of the readings of a stretch that are not excluded.
fn valid(series: &Series, readings: Range<usize>) -> (Vec<Instant>, Vec<f64>) {
    readings
        .filter(|&index| !series.is_excluded(index))
        .map(|index| (series.at()[index], series.values()[index]))
        .unzip()
}

/// Capability of the current stage, when the series is steady.
fn capability_of(
    chart: &Chart<'_>,
    period: &Range<usize>,
    window: Option<&Window>,
    state: State,
    state_says: &str,
) -> Result<Capability, Refusal> {
    let Some(stage) = chart.stages.last() else {
        return Err(Refusal(
            "Capability is not given: there are no readings.".to_owned(),
        ));
    };
    let Ok(limits) = &stage.limits else {
        return Err(Refusal(
            "Capability is not given: there are no control limits to take sigma from.".to_owned(),
        ));
    };
    // A month alone is too few for an index; the whole current stage up to its end is used.
    let (_, values) = valid(chart.series, stage.readings.start..period.end);
    let unsteady = (state != State::Steady).then(|| says::as_end_of_sentence(state_says));
    capability(
        &values,
        WithinSigma {
            value: limits.sigma,
            moving_ranges: limits.moving_ranges,
        },
        window.and_then(|w| w.lower),
        window.and_then(|w| w.upper),
        unsteady.as_deref(),
    )
}

fn series_on_wire(
    review: &SeriesReview<'_>,
    lab: &Lab,
    chart_options: &ChartOptions,
    points: Points,
) -> wire::Series {
    let chart = &review.chart;
    let series = chart.series;
    let stage = chart.stages.last();
    let limits = stage.and_then(|stage| stage.limits.as_ref().ok());
    let decimals = chart::decimals(series, limits);
    let frozen = lab
        .baselines
        .get(series.cabinet())
        .and_then(|of_cabinet| of_cabinet.get(series.characteristic()));
    let texts = Texts {
        limits_say: stage
            .map(|stage| chart::limits_say(chart, stage, chart_options, &lab.zone))
            .unwrap_or_default(),
        capability_says: review
            .capability
            .as_ref()
            .map(Capability::says)
            .unwrap_or_default(),
        drift_says: review
            .drift
            .as_ref()
            .map(|drift| says::drift(drift, series.unit(), lab.zone))
            .unwrap_or_default(),
        shift_says: review
            .shift
            .as_ref()
            .map(|shift| says::shift(shift, series.unit(), lab.zone))
            .unwrap_or_default(),
        decimals,
        approved_by: frozen.map(|frozen| frozen.approved_by.clone()),
    };
    let mut on_wire = to_wire::series(review, texts, lab.zone);
    if points != Points::None {
        on_wire.points = to_wire::points(review, lab.zone);
        to_wire::keep_points(&mut on_wire, points);
    }
    on_wire
}
