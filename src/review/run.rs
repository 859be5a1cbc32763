//! The review of a whole lab: every cabinet on its own, then what they share.
//!
//! Cabinets are independent, so they are reviewed in parallel and put together in
//! their fixed order; the result does not depend on the number of threads.

use super::to_wire::{self, Points, Texts};
use super::{Period, SeriesReview};
use crate::capability::{self, Refusal};
use crate::chart::{self, ChartOptions};
use crate::drift;
use crate::finding;
use crate::intake::Intake;
use crate::issue::Issue;
use crate::lab::Lab;
use crate::progress::Progress;
use crate::quantity::{conformance, derive};
use crate::report::wire;
use crate::series::Series;
use crate::signal;
use crate::time::Instant;
use rayon::prelude::*;

/// What a review is made with.
#[derive(Debug)]
pub struct ReviewOptions<'a> {
    /// The days reviewed.
    pub period: Period,
    /// The clock.
    pub now: Instant,
    /// The rules in force.
    pub rules: &'a signal::RuleSet,
    /// Which readings the result lists.
    pub points: Points,
}

/// One cabinet, reviewed.
struct CabinetReview {
    cabinet: wire::Cabinet,
    series: Vec<wire::Series>,
    findings: Vec<finding::Draft>,
    issues: Vec<Issue>,
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
    let checks = &intake.checks;
    progress.begin("reviewing", checks.cabinets().len() as u64);
    let reviewed: Vec<CabinetReview> = (0..checks.cabinets().len())
        .into_par_iter()
        .map(|cabinet| {
            let review = review_cabinet(lab, intake, cabinet, options);
            progress.step();
            review
        })
        .collect();
    progress.end();
    assemble(lab, intake, options, reviewed)
}

fn review_cabinet(
    lab: &Lab,
    intake: &Intake,
    cabinet: usize,
    options: &ReviewOptions<'_>,
) -> CabinetReview {
    let zone = lab.zone;
    let id = &intake.checks.cabinets()[cabinet];
    let span = options.period.instants(zone);
    let derived = derive::derive(&intake.checks, cabinet, lab);
    let all: Vec<Series> = derived
        .series
        .into_iter()
        .map(|series| series.before(span.end))
        .filter(|series| !series.is_empty())
        .collect();
    let chart_options = ChartOptions {
        gap_days: lab.settings.gap_days,
        baseline_readings: lab.settings.baseline_readings,
        robust: lab.settings.robust,
    };
    let mut reviews = Vec::with_capacity(all.len());
    let mut on_wire = Vec::with_capacity(all.len());
    for series in &all {
        let review = review_series(lab, series, &all, &chart_options, options);
        let texts = texts_of(&review, &chart_options, lab);
        let mut wire_series = to_wire::series(&review, texts, zone);
        wire_series.points = to_wire::points(&review, options.points, zone);
        on_wire.push(wire_series);
        reviews.push(review);
    }
    let cabinet_on_wire = cabinet_on_wire(lab, intake, cabinet, options);
    let context = finding::CabinetContext::new(lab, id, options.period, &cabinet_on_wire);
    CabinetReview {
        findings: finding::of_cabinet(&context, &reviews),
        cabinet: cabinet_on_wire,
        series: on_wire,
        issues: derived.issues,
    }
}

fn review_series<'a>(
    lab: &Lab,
    series: &'a Series,
    all: &'a [Series],
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
    let events: Vec<&crate::lab::Event> = lab.events.iter().collect();
    let signals: Vec<signal::Signal> =
        signal::signals(&chart, options.rules, &events, series.len(), lab.zone)
            .into_iter()
            .filter(|signal| signal::in_period(signal, &period))
            .collect();
    let outcome = conformance::judge(series, period.clone(), all, lab);
    let window = lab.window(series.cabinet(), series.characteristic());
    let assessment = assess(&chart, window);
    let (state, state_says) = finding::state::decide();
    let capability = capability_of(&chart, &period, window, state);
    SeriesReview {
        chart,
        period,
        signals,
        conformance: outcome,
        drift: assessment.drift,
        shift: assessment.shift,
        capability,
        state,
        state_says,
    }
}
