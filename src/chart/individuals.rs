//! The chart of single readings: stages, baselines and moving ranges of a series.
//!
//! It decides which readings make each baseline and from where rules may judge; how
//! limits follow from a baseline is `limits`'.

use super::limits::{Baseline, FEWEST_READINGS, limits_from};
use super::{Chart, ChartOptions, ChartedStage, Limits, MovingRanges, NoLimits, Origin};
use crate::series::{Exclusion, Series};
use crate::time::{Instant, SECONDS_PER_DAY};
use std::ops::Range;

/// Spacings from which the usual distance of checks is told.
const SPACINGS: usize = 30;

/// Charts a series: individuals and moving ranges with the limits of every stage.
///
/// `frozen` limits hold for the stage in which their last reading falls; every other stage
/// gets its own from its first `baseline_readings` valid readings (at least 8), and is
/// judged only after them: while they are still coming in, limits are shown (a trial from 8
/// of them) and `judged_from` is the end of the stage. Limits never depend on later
/// readings. Excluded readings take no part. A moving range never spans an excluded
/// reading, the start of a stage, or a gap longer than [`gap_days_in_force`].
/// The time it takes does not grow with the readings after the baselines.
///
/// Source: ISO 7870-2; NIST/SEMATECH e-Handbook 6.3.2.2.
pub fn chart<'a>(series: &'a Series, frozen: Option<&Limits>, options: &ChartOptions) -> Chart<'a> {
    let frozen_stage = frozen.map(|limits| stage_at(series, limits.to));
    let moving_ranges = MovingRanges::new(series, options);
    let mut buffer = Buffer::default();
    let stages = stage_ranges(series)
        .enumerate()
        .map(|(number, readings)| {
            let opened_by = series.stages().get(number).filter(|s| !s.what.is_empty());
            let (limits, judged_from) = match frozen {
                Some(limits) if frozen_stage == Some(number) => {
                    let times = series.at().get(readings.clone()).unwrap_or_default();
                    let covered = times.partition_point(|at| *at <= limits.to);
                    let limits = Limits {
                        origin: Origin::Frozen,
                        ..limits.clone()
                    };
                    (Ok(limits), readings.start + covered)
                }
                _ => own_limits(series, &readings, &moving_ranges, options, &mut buffer),
            };
            ChartedStage {
                readings,
                opened_by: opened_by.map(|s| s.what.clone()),
                limits,
                judged_from,
            }
        })
        .collect();
    Chart {
        series,
        stages,
        moving_ranges,
    }
}

/// Limits from all valid readings in `readings`, however many: what a baseline is frozen from.
///
/// `readings` are indices of the series; what lies past its end is left out. The origin is
/// told as for a stage's own baseline.
///
/// # Errors
/// [`NoLimits`] with fewer than 8 valid readings (or 7 moving ranges) or no spread.
pub fn limits_of(
    series: &Series,
    readings: Range<usize>,
    options: &ChartOptions,
) -> Result<Limits, NoLimits> {
    let end = readings.end.min(series.len());
    let readings = readings.start.min(end)..end;
    let moving_ranges = MovingRanges::new(series, options);
    let mut buffer = Buffer::default();
    buffer.gather(series, &readings, &moving_ranges, usize::MAX);
    buffer.limits(series, &readings, options)
}

/// The longest gap that a moving range of `readings` may span, days.
///
/// The lab's `gap_days`; where checks are usually farther apart than half of it (weekly
/// checks, coupons), twice their usual distance: the median of the first 30 spacings.
pub fn gap_days_in_force(series: &Series, readings: Range<usize>, options: &ChartOptions) -> f64 {
    let times = series.at().get(readings).unwrap_or_default();
    let mut spacings = [0_i64; SPACINGS];
    let mut count = 0;
    for (slot, pair) in spacings.iter_mut().zip(times.windows(2)) {
        *slot = pair[1].0 - pair[0].0;
        count += 1;
    }
    if count < FEWEST_READINGS - 1 {
        return options.gap_days;
    }
    let known = spacings.get_mut(..count).unwrap_or_default();
    let (_, usual, _) = known.select_nth_unstable(count / 2);
    options.gap_days.max(2.0 * *usual as f64 / SECONDS_PER_DAY)
}

/// The stages as index ranges, in order, covering the series.
pub(super) fn stage_ranges(series: &Series) -> impl Iterator<Item = Range<usize>> + '_ {
    let stages = series.stages();
    stages.iter().enumerate().map(move |(number, stage)| {
        let end = stages
            .get(number + 1)
            .map_or(series.len(), |next| next.index);
        stage.index..end
    })
}

/// The number of the stage that a moment falls in: the last that had begun by then.
fn stage_at(series: &Series, at: Instant) -> usize {
    let later = series.stages().iter().skip(1);
    later
        .take_while(|stage| {
            let first_reading = series.at().get(stage.index).copied();
            stage.at.or(first_reading).is_some_and(|start| start <= at)
        })
        .count()
}

/// The exclusions whose index lies in `readings`.
fn exclusions_in<'s>(series: &'s Series, readings: &Range<usize>) -> &'s [Exclusion] {
    let all = series.exclusions();
    let first = all.partition_point(|e| e.index < readings.start);
    let last = all.partition_point(|e| e.index < readings.end);
    all.get(first..last).unwrap_or_default()
}

/// The limits of a stage from its own first readings, and where judging starts.
fn own_limits(
    series: &Series,
    readings: &Range<usize>,
    moving_ranges: &MovingRanges<'_>,
    options: &ChartOptions,
    buffer: &mut Buffer,
) -> (Result<Limits, NoLimits>, usize) {
    let wanted = options.baseline_readings.max(FEWEST_READINGS);
    let next = buffer.gather(series, readings, moving_ranges, wanted);
    let complete = buffer.values.len() == wanted;
    let judged_from = if complete { next } else { readings.end };
    (buffer.limits(series, readings, options), judged_from)
}

/// The valid readings of a baseline, kept from stage to stage to spare allocations.
#[derive(Default)]
struct Buffer {
    at: Vec<Instant>,
    values: Vec<f64>,
    ranges: Vec<f64>,
    scratch: Vec<f64>,
}

impl Buffer {
    /// Takes the first `wanted` valid readings; returns the index after the last taken.
    fn gather(
        &mut self,
        series: &Series,
        readings: &Range<usize>,
        moving_ranges: &MovingRanges<'_>,
        wanted: usize,
    ) -> usize {
        self.at.clear();
        self.values.clear();
        self.ranges.clear();
        let most = wanted.min(readings.len());
        self.at.reserve(most);
        self.values.reserve(most);
        self.ranges.reserve(most);
        let mut excluded = exclusions_in(series, readings)
            .iter()
            .map(|e| e.index)
            .peekable();
        let columns = series.at().iter().zip(series.values()).enumerate();
        let within = columns.skip(readings.start).take(readings.len());
        for (index, (at, value)) in within {
            if excluded.next_if_eq(&index).is_some() {
                continue;
            }
            self.at.push(*at);
            self.values.push(*value);
            // The first reading of the stretch may have a neighbour outside it.
            let is_first = index == readings.start;
            let range = moving_ranges.at(index);
            self.ranges.push(if is_first { f64::NAN } else { range });
            if self.values.len() == wanted {
                return index + 1;
            }
        }
        readings.end
    }

    fn limits(
        &mut self,
        series: &Series,
        readings: &Range<usize>,
        options: &ChartOptions,
    ) -> Result<Limits, NoLimits> {
        let opens_series = readings.start == 0 && !series.is_excluded(0);
        let baseline = Baseline {
            at: &self.at,
            values: &self.values,
            ranges: &self.ranges,
            opens_series,
        };
        limits_from(baseline, options, &mut self.scratch)
    }
}

#[cfg(test)]
#[path = "individuals_tests.rs"]
mod tests;
