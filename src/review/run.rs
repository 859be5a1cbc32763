//! The review of a whole lab: every cabinet on its own, then what they share.
//!
//! Cabinets are independent, so they are reviewed in parallel and put together in
//! their fixed order; the result does not depend on the number of threads.

use super::assemble::{CabinetReview, Counts, assemble};
use super::to_wire::{self, Points, Texts};
use super::{Period, SeriesReview, State, budget, says};
use crate::capability::{Capability, Refusal, WithinSigma, capability};
use crate::chart::{self, Chart, ChartOptions};
use crate::detect::{self, Almanac};
use crate::drift::{self, Assessment, Drift, Shift, Span};
use crate::finding::{self, CabinetContext, Copied, copied, state};
use crate::intake::Intake;
use crate::lab::{Event, Lab, Window};
use crate::progress::Progress;
use crate::quantity::conformance;
use crate::quantity::derive::{Companions, Derived, derive};
use crate::report::wire;
use crate::series::Series;
use crate::signal::{self, RuleSet, SawTooth, Signal};
use crate::time::Instant;
use rayon::prelude::*;
use std::borrow::Cow;
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

/// Cabinets that a thread takes at a time: few, so that none is left with many of a fleet's
/// when the others have done theirs.
const CABINETS_AT_ONCE: usize = 4;

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
    let rules = budget::rules_in_force(lab, intake, options);
    let options = &ReviewOptions {
        rules: &rules,
        ..*options
    };
    let cabinets = intake.checks.cabinets().len();
    progress.begin("reviewing", cabinets as u64);
    let reviewed: Vec<CabinetReview> = (0..cabinets)
        .into_par_iter()
        .with_max_len(CABINETS_AT_ONCE)
        // Cabinets of one site are mostly checked on the same days.
        .map_init(Almanac::default, |almanac, cabinet| {
            let review = review_cabinet(lab, intake, cabinet, options, almanac);
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
    almanac: &mut Almanac,
) -> CabinetReview {
    let zone = lab.zone;
    let end = options.period.instants(zone).end;
    let derived = series_of(lab, intake, cabinet, end);
    let chart_options = chart_options(lab);
    let seen: Vec<Seen<'_>> = derived
        .series
        .iter()
        .map(|series| {
            see(
                lab,
                series,
                &derived.companions,
                &chart_options,
                options,
                almanac,
            )
        })
        .collect();
    // Copied entries show only in all the columns of a check together.
    let columns: Vec<copied::Judged<'_>> = seen
        .iter()
        .map(|s| (s.chart.series, s.signals.as_slice(), &s.period))
        .collect();
    let copied = finding::copied(&columns);
    let mut judged: u64 = seen.iter().map(Seen::judged).sum();
    let mut cabinet = super::assemble::cabinet_on_wire(lab, intake, cabinet, options.period);
    if let Some(budget) = options.rules.watch {
        let span = options.period.instants(zone);
        let (found, checks) = super::together::of_cabinet(lab, &seen, &copied, budget, span);
        cabinet.together = found;
        judged += checks;
    }
    let mut reviews = Vec::with_capacity(derived.series.len());
    let mut on_wire = Vec::with_capacity(derived.series.len());
    for seen in seen {
        let review = decide(lab, seen, &copied);
        on_wire.push(series_on_wire(&review, lab, &chart_options, options.points));
        reviews.push(review);
    }
    let context = CabinetContext::new(lab, &cabinet, options.period.days(), options.rules);
    let findings = finding::of_cabinet(&context, &reviews, &copied);
    CabinetReview {
        findings,
        counts: Counts::of(&cabinet, &on_wire),
        cabinet,
        series: on_wire,
        issues: derived.issues,
        judged,
    }
}

/// What is seen of one series, before its state is decided.
pub(super) struct Seen<'a> {
    pub(super) chart: Chart<'a>,
    period: Range<usize>,
    pub(super) signals: Vec<Signal>,
    conformance: Option<conformance::Outcome>,
    pub(super) drift: Option<Drift>,
    began: Option<Span>,
    not_claimed: String,
    pub(super) shift: Option<Shift>,
    saw_tooth: Option<SawTooth>,
}

impl Seen<'_> {
    /// Readings of the period that rules judged.
    fn judged(&self) -> u64 {
        budget::judged(&self.chart, &self.period)
    }
}

/// The chart of a series, with the limits the lab has frozen for it.
pub(super) fn chart_of<'a>(lab: &Lab, series: &'a Series, options: &ChartOptions) -> Chart<'a> {
    let frozen = lab
        .baselines
        .get(series.cabinet())
        .and_then(|of_cabinet| of_cabinet.get(series.characteristic()))
        .map(|frozen| &frozen.limits);
    chart::chart(series, frozen, options)
}

/// The series of a cabinet up to `end`, what they go with, and what could not be used.
pub(super) fn series_of(lab: &Lab, intake: &Intake, cabinet: usize, end: Instant) -> Derived {
    let mut derived = derive(&intake.checks, cabinet, lab);
    derived.series = (derived.series.into_iter())
        .map(|series| series.before(end))
        .filter(|series| !series.is_empty())
        .collect();
    derived
}

fn see<'a>(
    lab: &Lab,
    series: &'a Series,
    companions: &Companions,
    chart_options: &ChartOptions,
    options: &ReviewOptions<'_>,
    almanac: &mut Almanac,
) -> Seen<'a> {
    let chart = chart_of(lab, series, chart_options);
    let period = options.period.readings(series, lab.zone);
    let events: Vec<&Event> = lab
        .events_for(series.cabinet(), series.characteristic())
        .collect();
    let signals = match options.rules.watch {
        Some(budget) => {
            detect::signals_of_period(almanac, &chart, budget, &events, &period, lab.zone)
        }
        None => signal::signals_of_period(&chart, options.rules, &events, &period, lab.zone),
    };
    let conformance = conformance::judge(series, period.clone(), companions, lab);
    let window = lab.window(series.cabinet(), series.characteristic());
    let (mut assessment, mut saw_tooth) = (Assessment::nothing(String::new()), None);
    if !period.is_empty() {
        assessment = assess(&chart, window);
        saw_tooth = signal::saw_tooth(&chart, period.end);
    }
    let Assessment {
        drift,
        mut shift,
        began,
        not,
    } = assessment;
    if let Some(shift) = &mut shift {
        shift.explained_by = signal::explanation(series, &events, shift.at);
    }
    Seen {
        chart,
        period,
        signals,
        conformance,
        drift,
        began,
        not_claimed: not,
        shift,
        saw_tooth,
    }
}

/// The verdict on a series, given the copied entries of its cabinet.
fn decide<'a>(lab: &Lab, seen: Seen<'a>, copied: &[Copied]) -> SeriesReview<'a> {
    let (state, state_says) = state::decide(&state::Found {
        chart: &seen.chart,
        period: &seen.period,
        signals: &seen.signals,
        conformance: seen.conformance.as_ref(),
        drift: seen.drift.as_ref(),
        shift: seen.shift.as_ref(),
        saw_tooth: seen.saw_tooth.as_ref(),
        copied,
        zone: lab.zone,
    });
    let series = seen.chart.series;
    let window = lab.window(series.cabinet(), series.characteristic());
    let capability = capability_of(&seen.chart, &seen.period, window, state, &state_says);
    SeriesReview {
        chart: seen.chart,
        period: seen.period,
        signals: seen.signals,
        conformance: seen.conformance,
        drift: seen.drift,
        began: seen.began,
        not_claimed: seen.not_claimed,
        shift: seen.shift,
        saw_tooth: seen.saw_tooth,
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

/// Times and values of the readings of a stretch that are not excluded; borrowed where
/// none is.
fn valid(series: &Series, readings: Range<usize>) -> (Cow<'_, [Instant]>, Cow<'_, [f64]>) {
    let at = series.at().get(readings.clone()).unwrap_or_default();
    let values = series.values().get(readings.clone()).unwrap_or_default();
    let exclusions = series.exclusions();
    if !exclusions.iter().any(|e| readings.contains(&e.index)) {
        return (Cow::Borrowed(at), Cow::Borrowed(values));
    }
    let (at, values): (Vec<Instant>, Vec<f64>) = readings
        .zip(at.iter().zip(values))
        .filter(|(index, _)| !series.is_excluded(*index))
        .map(|(_, (at, value))| (*at, *value))
        .unzip();
    (Cow::Owned(at), Cow::Owned(values))
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
) -> Box<wire::Series> {
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
            .map(|drift| {
                let not = &review.not_claimed;
                says::drift(drift, review.began, not, series.unit(), lab.zone)
            })
            .unwrap_or_default(),
        shift_says: review
            .shift
            .as_ref()
            .map(|shift| says::shift(shift, series.unit(), lab.zone))
            .unwrap_or_default(),
        decimals,
        approved_by: frozen.map(|frozen| frozen.approved_by.clone()),
    };
    let mut on_wire = Box::new(to_wire::series(review, texts, lab.zone));
    if points != Points::None {
        on_wire.points = to_wire::points(review, lab.zone);
        to_wire::keep_points(&mut on_wire, points);
    }
    on_wire
}
