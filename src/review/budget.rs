//! The false-alarm budget of a review: which readings the rules judge, and what the lab's
//! rate for the whole fleet comes to for each of them.

use super::ReviewOptions;
use super::run::{chart_of, chart_options, series_of};
use crate::chart::{Chart, ChartedStage};
use crate::detect::{Budget, together_judged};
use crate::intake::Intake;
use crate::lab::Lab;
use crate::signal::RuleSet;
use crate::time::Instant;
use rayon::prelude::*;
use std::borrow::Cow;
use std::ops::Range;

const YEAR: f64 = 365.0;
/// Logs shorter than this say too little of how often checks are made, days.
const SHORTEST: f64 = 30.0;

/// The rules with the false-alarm budget that the lab asks for (`alarms_per_year`); as
/// given when it asks for none, when they are pattern rules or when nothing is judged.
///
/// It is the rate of the 365 days before the end of the period; of a younger fleet, that
/// of its days since the first judged reading.
pub(super) fn rules_in_force<'a>(
    lab: &Lab,
    intake: &Intake,
    options: &ReviewOptions<'a>,
) -> Cow<'a, RuleSet> {
    let as_given = Cow::Borrowed(options.rules);
    let (Some(alarms), Some(_)) = (lab.settings.alarms_per_year, options.rules.watch) else {
        return as_given;
    };
    let end = options.period.instants(lab.zone).end;
    let fleet = fleet(lab, intake, end);
    let budget = fleet.and_then(|fleet| Budget::for_fleet(alarms, fleet.checks_a_year(end)));
    let budgeted = budget.and_then(|budget| {
        let source = source(alarms, budget);
        options.rules.clone().with_budget(budget, source)
    });
    budgeted.map_or(as_given, Cow::Owned)
}

/// Where a set with the lab's own rate comes from.
fn source(alarms: f64, budget: Budget) -> String {
    let checks = budget.checks_per_false_alarm;
    format!(
        "ours: rules that learn from every reading, calibrated together by simulation to one \
         false alarm in {checks:.0} checks of a steady series; for the fleet at its present rate of \
         checks that is at most {alarms} a year, as lab.toml asks (alarms_per_year)"
    )
}

/// What the rules judged in a year.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Fleet {
    /// Judged readings of all series, and checks judged as a combination.
    judged: u64,
    /// The first of them.
    first: Instant,
}

impl Fleet {
    /// Judged readings a year, for a year that ends at `end`.
    fn checks_a_year(self, end: Instant) -> f64 {
        let days = end.days_since(self.first).clamp(SHORTEST, YEAR);
        self.judged as f64 * YEAR / days
    }

    fn with(self, other: Fleet) -> Fleet {
        Fleet {
            judged: self.judged + other.judged,
            first: self.first.min(other.first),
        }
    }
}

/// Judged readings of the 365 days before `end`; `None` when there are none.
fn fleet(lab: &Lab, intake: &Intake, end: Instant) -> Option<Fleet> {
    let options = chart_options(lab);
    let start = end.plus_days(-YEAR);
    let of_cabinet = |cabinet: usize| -> Option<Fleet> {
        let derived = series_of(lab, intake, cabinet, end);
        let charts: Vec<Chart<'_>> = (derived.series.iter())
            .map(|series| chart_of(lab, series, &options))
            .collect();
        let of_series = |chart: &Chart<'_>| {
            let at = chart.series.at();
            let year = at.partition_point(|&t| t < start)..at.len();
            let first = stretches(chart, &year).map(|s| s.start).min();
            Some(Fleet {
                judged: judged(chart, &year),
                first: *at.get(first?)?,
            })
        };
        let mut fleet = charts.iter().filter_map(of_series).reduce(Fleet::with)?;
        let charts: Vec<&Chart<'_>> = charts.iter().collect();
        fleet.judged += together_judged(&charts, start..end);
        Some(fleet)
    };
    (0..intake.checks.cabinets().len())
        .into_par_iter()
        .filter_map(of_cabinet)
        .reduce_with(Fleet::with)
}

/// Readings within `span` (indices of the series) that rules judge: those of stages with
/// limits, after their baseline, excluded ones left out.
pub(super) fn judged(chart: &Chart<'_>, span: &Range<usize>) -> u64 {
    stretches(chart, span)
        .map(|stretch| {
            let excluded = chart.series.exclusions().iter().map(|e| e.index);
            let left_out = excluded.filter(|i| stretch.contains(i)).count();
            (stretch.len() - left_out) as u64
        })
        .sum()
}

/// The stretches within `span` after the baseline of a stage with limits; none is empty.
fn stretches<'a>(
    chart: &'a Chart<'_>,
    span: &'a Range<usize>,
) -> impl Iterator<Item = Range<usize>> + 'a {
    let stretch = move |stage: &ChartedStage| {
        stage.judged_from.max(span.start)..stage.readings.end.min(span.end)
    };
    let charted = chart.stages.iter().filter(|stage| stage.limits.is_ok());
    charted.map(stretch).filter(|stretch| !stretch.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::chart::{ChartOptions, chart};
    use crate::series::Series;
    use crate::series::{Exclusion, StageStart};

    #[test]
    fn judged_readings_are_those_after_each_baseline_that_are_not_excluded() {
        let at: Vec<Instant> = (0..120).map(|d| Instant(d * 86_400)).collect();
        let value = (0..120)
            .map(|i| 1.5 + 0.01 * f64::from(i * 7 % 5))
            .collect();
        let stage = StageStart {
            index: 70,
            at: Some(at[70]),
            what: "new nozzle".into(),
        };
        let excluded = Exclusion {
            index: 50,
            reason: "spilled".into(),
        };
        let series = Series::new("Plover", Characteristic::CollectionNear, "mL/h", at, value)
            .unwrap()
            .with_marks(vec![excluded], vec![stage])
            .unwrap();
        let options = ChartOptions {
            gap_days: 7.0,
            baseline_readings: 30,
            robust: false,
        };
        let chart = chart(&series, None, &options);
        // Readings 30 to 69 but one, then 100 to 119.
        assert_eq!(judged(&chart, &(0..120)), 39 + 20);
        assert_eq!(judged(&chart, &(45..55)), 9);
        assert_eq!(judged(&chart, &(70..100)), 0);
    }

    #[test]
    fn a_young_fleet_counts_by_its_rate() {
        let end = Instant(0).plus_days(1_000.0);
        let since = |days: f64| Fleet {
            judged: 730,
            first: end.plus_days(-days),
        };
        assert_eq!(since(365.0).checks_a_year(end), 730.0);
        assert_eq!(since(73.0).checks_a_year(end), 3_650.0);
        // A week of checks is no ground for a year's count.
        assert_eq!(
            since(7.0).checks_a_year(end),
            since(30.0).checks_a_year(end)
        );
    }

    #[test]
    fn the_source_tells_the_rate_in_force() {
        let budget = Budget::for_fleet(12.0, 15_000.0).unwrap();
        let told = source(12.0, budget);
        assert!(told.contains("one false alarm in 1250 checks"), "{told}");
        assert!(told.contains("at most 12 a year"), "{told}");
        let set = RuleSet::steadyfog().with_budget(budget, told).unwrap();
        assert_eq!(set.false_alarms, Some(1.0 / 1250.0));
        let patterns = RuleSet::patterns().with_budget(budget, String::new());
        assert!(patterns.is_none());
    }
}
