//! Moving ranges: how far each reading lies from the valid one before it.
//!
//! They are taken when asked for, since a review of a month looks at few of a series'
//! thousands. What they tell is `limits`' and the rules' to say.

use super::{ChartOptions, gap_days_in_force};
use crate::series::Series;
use crate::time::SECONDS_PER_DAY;
use std::ops::Range;

/// The moving ranges of a series, parallel to its readings.
///
/// A moving range never spans an excluded reading, the start of a stage, or a gap longer
/// than [`gap_days_in_force`] in its stage.
#[derive(Debug, Clone)]
pub struct MovingRanges<'a> {
    series: &'a Series,
    stages: Vec<Stage>,
}

/// A stage as far as moving ranges need it.
#[derive(Debug, Clone, Copy)]
struct Stage {
    /// Index of its first reading.
    start: usize,
    /// The longest gap that a moving range may span, seconds.
    longest: i64,
}

impl<'a> MovingRanges<'a> {
    /// The moving ranges of a series under the lab's `gap_days`.
    pub fn new(series: &'a Series, options: &ChartOptions) -> MovingRanges<'a> {
        let stages = super::individuals::stage_ranges(series)
            .map(|readings| {
                let start = readings.start;
                let gap = gap_days_in_force(series, readings, options) * SECONDS_PER_DAY;
                // A gap of NaN or below 0 becomes 0 seconds or less: no moving range, no panic.
                let longest = gap.round() as i64;
                Stage { start, longest }
            })
            .collect();
        MovingRanges { series, stages }
    }

    /// The moving range at a reading, in the unit of the series; NaN where none is taken
    /// (first of a stage, after a gap, excluded) and past the end.
    pub fn at(&self, index: usize) -> f64 {
        self.taken(index).unwrap_or(f64::NAN)
    }

    fn taken(&self, index: usize) -> Option<f64> {
        let before = index.checked_sub(1)?;
        let later = self.stages.partition_point(|stage| stage.start <= index);
        let stage = self.stages.get(later.checked_sub(1)?)?;
        let at = self.series.at();
        let near = at.get(index)?.0 - at.get(before)?.0 <= stage.longest;
        let excluded = self.series.is_excluded(index) || self.series.is_excluded(before);
        if index == stage.start || !near || excluded {
            return None;
        }
        let values = self.series.values();
        Some((values.get(index)? - values.get(before)?).abs())
    }

    /// Those of a stretch of readings as by [`MovingRanges::at`], in one pass; what lies
    /// past the end is left out.
    pub fn of(&self, readings: Range<usize>) -> Vec<f64> {
        let end = readings.end.min(self.series.len());
        let mut ranges: Vec<f64> = Vec::with_capacity(end.saturating_sub(readings.start));
        let ends = self.stages.iter().skip(1).map(|stage| stage.start);
        for (stage, stage_end) in self.stages.iter().zip(ends.chain([end])) {
            let (mut from, end) = (stage.start.max(readings.start), stage_end.min(end));
            if from >= end {
                continue;
            }
            if from == stage.start {
                ranges.push(f64::NAN);
                from += 1;
            }
            let at = self.series.at().get(from - 1..end).unwrap_or_default();
            let values = self.series.values().get(from - 1..end).unwrap_or_default();
            let pairs = at.windows(2).zip(values.windows(2));
            ranges.extend(pairs.map(|(at, value)| {
                if at[1].0 - at[0].0 <= stage.longest {
                    (value[1] - value[0]).abs()
                } else {
                    f64::NAN
                }
            }));
        }
        for exclusion in self.series.exclusions() {
            for index in [exclusion.index, exclusion.index + 1] {
                let place = index.checked_sub(readings.start);
                if let Some(range) = place.and_then(|place| ranges.get_mut(place)) {
                    *range = f64::NAN;
                }
            }
        }
        ranges
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::chart::tests_support::{OPTIONS, noisy};
    use crate::series::{Exclusion, StageStart};
    use crate::time::Instant;
    use rand::{RngExt, SeedableRng};

    #[test]
    fn a_stretch_has_the_ranges_of_its_readings() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(9);
        for _ in 0..60 {
            let n = rng.random_range(1..60_usize);
            let mut day = 0;
            let mut next_day = || {
                day += if rng.random_bool(0.1) { 20 } else { 1 };
                Instant(day * 86_400)
            };
            let at = (0..n).map(|_| next_day()).collect();
            let excluded = (0..n).filter(|_| rng.random_bool(0.1));
            let exclusions = excluded.map(|index| Exclusion {
                index,
                reason: "lid".into(),
            });
            let exclusions: Vec<Exclusion> = exclusions.collect();
            let starts = (1..n).filter(|_| rng.random_bool(0.1));
            let stages = starts.map(|index| StageStart {
                index,
                at: None,
                what: "nozzle".into(),
            });
            let stages: Vec<StageStart> = stages.collect();
            let series = Series::new("Plover", Characteristic::Ph, "", at, noisy(n, 0.2))
                .and_then(|series| series.with_marks(exclusions, stages))
                .unwrap();
            let ranges = MovingRanges::new(&series, &OPTIONS);
            let from = rng.random_range(0..n);
            let to = rng.random_range(from..n + 3);
            let one_by_one: Vec<f64> = (from..to.min(n)).map(|i| ranges.at(i)).collect();
            let found = ranges.of(from..to);
            assert_eq!(format!("{found:?}"), format!("{one_by_one:?}"));
        }
    }
}
