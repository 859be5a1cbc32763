//! From a reviewed series to the wire format; it decides nothing.

use super::SeriesReview;
use crate::capability::Refusal;
use crate::chart::{ChartedStage, Limits, Origin};
use crate::quantity::conformance::Outcome;
use crate::report::wire;
use crate::series::Series;
use crate::signal::{Signal, signal_id};
use crate::stats::sum;
use crate::time::Zone;
use std::collections::BTreeSet;

/// Sigma multiples of the control limits (ISO 7870-2: three-sigma limits).
const LIMIT_SIGMAS: f64 = 3.0;

/// Texts that the wire format carries beside the numbers of a series.
#[derive(Debug)]
pub(super) struct Texts {
    pub(super) limits_say: String,
    pub(super) capability_says: String,
    pub(super) drift_says: String,
    pub(super) shift_says: String,
    pub(super) decimals: u32,
    pub(super) approved_by: Option<String>,
}

/// The series on the wire, without its points.
pub(super) fn series(review: &SeriesReview<'_>, texts: Texts, zone: Zone) -> wire::Series {
    let chart = &review.chart;
    let source = chart.series;
    let at = |index: usize| zone.rfc3339(source.at()[index]);
    let stages: Vec<wire::Stage> = chart
        .stages
        .iter()
        .filter(|stage| !stage.readings.is_empty())
        .map(|stage| wire::Stage {
            from: at(stage.readings.start),
            to: at(stage.readings.end - 1),
            n: stage.readings.len() as u64,
            opened_by: stage.opened_by.as_deref().map(str::to_owned),
            limits: limits_of(stage, texts.approved_by.as_deref(), zone),
        })
        .collect();
    wire::Series {
        cabinet: source.cabinet().to_owned(),
        characteristic: source.characteristic().id().to_owned(),
        spoken: source.characteristic().spoken().to_owned(),
        unit: source.unit().to_owned(),
        decimals: texts.decimals,
        n: source.len() as u64,
        n_period: review.period.len() as u64,
        from: source.at().first().map(|&t| zone.rfc3339(t)),
        to: source.at().last().map(|&t| zone.rfc3339(t)),
        state: review.state.id().to_owned(),
        state_says: review.state_says.clone(),
        period_summary: period_summary(review),
        limits: stages.last().and_then(|stage| stage.limits.clone()),
        limits_say: texts.limits_say,
        stages,
        conformance: review
            .conformance
            .as_ref()
            .map(|outcome| conformance(outcome, review, zone)),
        points: Vec::new(),
        signals: review
            .signals
            .iter()
            .map(|signal| signal_on_wire(signal, source, zone))
            .collect(),
        drift: review.drift.as_ref().map(|drift| wire::Drift {
            slope_per_day: drift.slope_per_day,
            low: drift.low,
            high: drift.high,
            level: drift.level,
            now: drift.now,
            since: zone.rfc3339(drift.since),
            began: review.began.map(|span| wire::Began {
                earliest: zone.rfc3339(span.earliest),
                latest: zone.rfc3339(span.latest),
                level: span.level,
            }),
            breach: drift.breach.as_ref().map(|breach| wire::ForecastBreach {
                limit: breach.limit,
                earliest: zone.rfc3339(breach.earliest),
                likely: zone.rfc3339(breach.likely),
                latest: breach.latest.map(|t| zone.rfc3339(t)),
                level: breach.level,
            }),
            says: texts.drift_says,
        }),
        not_claimed: super::says::not_claimed(&review.not_claimed),
        shift: review.shift.as_ref().map(|shift| wire::Shift {
            at: zone.rfc3339(shift.at),
            earliest: zone.rfc3339(shift.earliest),
            latest: zone.rfc3339(shift.latest),
            size: shift.size,
            low: shift.low,
            high: shift.high,
            explained_by: shift.explained_by.clone(),
            says: texts.shift_says,
        }),
        capability: review.capability.as_ref().ok().map(|c| wire::Capability {
            cp: c.cp.map(|i| i.point),
            cpk: c.cpk.point,
            pp: c.pp,
            ppk: c.ppk,
            cpk_low: c.cpk.low,
            cpk_high: c.cpk.high,
            cp_low: c.cp.map(|i| i.low),
            cp_high: c.cp.map(|i| i.high),
            level: c.cpk.level,
            expected_outside: c.expected_outside,
            n: c.n as u64,
        }),
        capability_says: match &review.capability {
            Ok(_) => texts.capability_says,
            Err(Refusal(reason)) => reason.clone(),
        },
    }
}

/// Which readings go on the wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Points {
    /// None.
    None,
    /// Those that signals and breaches refer to.
    Signals,
    /// All.
    All,
}

/// The readings of a series on the wire, in time order.
pub(super) fn points(review: &SeriesReview<'_>, zone: Zone) -> Vec<wire::Point> {
    let chart = &review.chart;
    let source = chart.series;
    let mut stage = 0;
    let mut exclusions = source.exclusions().iter().peekable();
    let ranges = chart.moving_ranges.of(0..source.len());
    (ranges.into_iter().enumerate())
        .map(|(index, range)| {
            while chart
                .stages
                .get(stage + 1)
                .is_some_and(|next| next.readings.start <= index)
            {
                stage += 1;
            }
            wire::Point {
                at: zone.rfc3339(source.at()[index]),
                value: source.values()[index],
                moving_range: (!range.is_nan()).then_some(range),
                excluded: exclusions
                    .next_if(|e| e.index == index)
                    .map(|e| e.reason.as_ref().to_owned()),
                stage: stage as u64,
            }
        })
        .collect()
}

/// Drops the readings that `which` does not ask for.
///
/// Indices in signals keep their meaning: they count all readings of the series.
pub fn keep_points(series: &mut wire::Series, which: Points) {
    match which {
        Points::All => {}
        Points::None => series.points.clear(),
        Points::Signals => {
            let indices: BTreeSet<u64> = series
                .signals
                .iter()
                .flat_map(|s| [s.starts_index, s.known_index, s.last_index])
                .collect();
            let breaches: BTreeSet<&str> = series
                .conformance
                .iter()
                .flat_map(|c| c.breaches.iter().map(|b| b.at.as_str()))
                .collect();
            let mut index = 0;
            series.points.retain(|point| {
                let keep = indices.contains(&index) || breaches.contains(point.at.as_str());
                index += 1;
                keep
            });
        }
    }
}

fn period_summary(review: &SeriesReview<'_>) -> Option<wire::PeriodSummary> {
    let source = review.chart.series;
    let valid: Vec<f64> = review
        .period
        .clone()
        .filter(|&index| !source.is_excluded(index))
        .map(|index| source.values()[index])
        .collect();
    let mean = sum::mean(&valid)?;
    let min = valid.iter().copied().reduce(f64::min)?;
    let max = valid.iter().copied().reduce(f64::max)?;
    Some(wire::PeriodSummary {
        n: valid.len() as u64,
        mean,
        sd: sum::standard_deviation(&valid),
        min,
        max,
    })
}

fn limits_of(stage: &ChartedStage, approved_by: Option<&str>, zone: Zone) -> Option<wire::Limits> {
    let limits = stage.limits.as_ref().ok()?;
    Some(limits_on_wire(limits, approved_by, zone))
}

/// Control limits on the wire.
pub(crate) fn limits_on_wire(
    limits: &Limits,
    approved_by: Option<&str>,
    zone: Zone,
) -> wire::Limits {
    wire::Limits {
        origin: limits.origin.id().to_owned(),
        n: limits.n as u64,
        from: zone.rfc3339(limits.from),
        to: zone.rfc3339(limits.to),
        centre: limits.centre,
        sigma: limits.sigma,
        sigma_method: limits.sigma_method.id().to_owned(),
        lower: limits.lower,
        upper: limits.upper,
        moving_range_mean: limits.moving_range_mean,
        moving_range_upper: limits.moving_range_upper,
        lag1_autocorrelation: limits.lag1,
        resolution: limits.resolution,
        plain_sigma: limits.plain_sigma,
        plain_lower: limits.plain_centre - LIMIT_SIGMAS * limits.plain_sigma,
        plain_upper: limits.plain_centre + LIMIT_SIGMAS * limits.plain_sigma,
        moving_ranges: limits.moving_ranges as u64,
        moving_ranges_skipped: limits.moving_ranges_skipped as u64,
        screened: limits
            .screened
            .iter()
            .map(|&(at, value)| wire::ScreenedReading {
                at: zone.rfc3339(at),
                value,
            })
            .collect(),
        approved_by: approved_by
            .filter(|_| limits.origin == Origin::Frozen)
            .map(str::to_owned),
    }
}

fn conformance(outcome: &Outcome, review: &SeriesReview<'_>, zone: Zone) -> wire::Conformance {
    let series = review.chart.series;
    wire::Conformance {
        profile: outcome.profile.as_ref().to_owned(),
        lower: outcome.lower,
        upper: outcome.upper,
        outside: outcome.breaches.len() as u64,
        checked: outcome.checked as u64,
        source: outcome.source.clone(),
        says: outcome.says.clone(),
        breaches: outcome
            .breaches
            .iter()
            .map(|breach| wire::Breach {
                at: zone.rfc3339(series.at()[breach.index]),
                value: series.values()[breach.index],
                limit: breach.limit,
                side: if breach.high { "high" } else { "low" }.to_owned(),
                explained_by: breach.explained_by.clone(),
            })
            .collect(),
    }
}

fn signal_on_wire(signal: &Signal, series: &Series, zone: Zone) -> wire::Signal {
    let at = |index: usize| zone.rfc3339(series.at()[index]);
    wire::Signal {
        id: signal_id(series, signal),
        rule: signal.rule.to_owned(),
        direction: signal.direction.id().to_owned(),
        known_at: at(signal.known),
        starts_at: at(signal.start),
        last_at: at(signal.last),
        known_index: signal.known as u64,
        starts_index: signal.start as u64,
        last_index: signal.last as u64,
        ongoing: signal.ongoing,
        explained_by: signal.explained_by.clone(),
        says: signal.says.clone(),
    }
}
