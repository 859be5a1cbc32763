//! From the watch's stretches to the signals of a review: stages, exclusions, events, words.
//!
//! It decides nothing: what fires is `watch`'s, what explains it is `signal`'s.

use super::watch::watch_with;
use super::{Almanac, Budget, Readings, Stretch};
use crate::chart::{Chart, ChartedStage, Limits};
use crate::lab::Event;
use crate::series::Series;
use crate::signal::run::explanation;
use crate::signal::wording::{day, days, decimals_of_readings, number, with_unit};
use crate::signal::{Direction, Signal};
use crate::time::{Instant, Zone};
use chrono::Datelike;
use std::borrow::Cow;
use std::ops::Range;

/// Signals of the watch that fired in `period` (indices of the series), by `known`.
///
/// Every stage that has limits is watched from the reading after its baseline, excluded
/// readings left out, no reading at or after `period.end` looked at; a new stage starts
/// afresh. `events` may be those of the whole lab; a note or new stage within three days of
/// a signal's start explains it. `zone` sets the dates in the sentences. For a period at
/// the end of a long series the cost is that of about a year of readings; `almanac` makes it
/// less for series read at the same times, and changes nothing else.
pub fn signals_of_period(
    almanac: &mut Almanac,
    chart: &Chart<'_>,
    budget: Budget,
    events: &[&Event],
    period: &Range<usize>,
    zone: Zone,
) -> Vec<Signal> {
    let series = chart.series;
    let until = period.end.min(series.len());
    let Some(&last) = series.at().get(until.saturating_sub(1)) else {
        return Vec::new();
    };
    let words = Words {
        series,
        zone,
        year: zone.date(last).year(),
    };
    let mut found = Vec::new();
    for stage in &chart.stages {
        let Ok(limits) = &stage.limits else { continue };
        let end = stage.readings.end.min(until);
        if end <= period.start.max(stage.readings.start) {
            continue;
        }
        let valid = Valid::of(series, stage, end);
        let readings = Readings {
            at: &valid.at,
            value: &valid.value,
            sigma: limits.sigma,
            resolution: limits.resolution,
            judged_from: valid.place(stage.judged_from),
        };
        // A stage that later readings follow has ended, and its signals with it.
        let is_last = stage.readings.end >= until;
        for stretch in watch_with(almanac, &readings, valid.place(period.start), budget) {
            let signal = words.signal(&stretch, &valid, limits, events, is_last);
            found.extend(signal);
        }
    }
    found.sort_by_key(|signal: &Signal| signal.known);
    found
}

/// The valid readings of a stage, and where they stand in the series.
struct Valid<'a> {
    at: Cow<'a, [Instant]>,
    value: Cow<'a, [f64]>,
    index: Index,
}

/// Where the valid readings stand in the series.
enum Index {
    /// All of a stretch are valid.
    From(Range<usize>),
    /// Some are left out.
    At(Vec<usize>),
}

impl<'a> Valid<'a> {
    fn of(series: &'a Series, stage: &ChartedStage, end: usize) -> Valid<'a> {
        let stretch = stage.readings.start..end;
        let at = series.at().get(stretch.clone()).unwrap_or(&[]);
        let values = series.values().get(stretch.clone()).unwrap_or(&[]);
        if !series
            .exclusions()
            .iter()
            .any(|e| stretch.contains(&e.index))
        {
            return Valid {
                at: Cow::Borrowed(at),
                value: Cow::Borrowed(values),
                index: Index::From(stretch),
            };
        }
        let kept = || {
            stretch
                .clone()
                .filter(move |index| !series.is_excluded(*index))
        };
        let offset = stretch.start;
        Valid {
            at: kept().filter_map(|i| at.get(i - offset).copied()).collect(),
            value: kept()
                .filter_map(|i| values.get(i - offset).copied())
                .collect(),
            index: Index::At(kept().collect()),
        }
    }

    /// The first valid reading at or after an index of the series.
    fn place(&self, index: usize) -> usize {
        match &self.index {
            Index::From(stretch) => index.clamp(stretch.start, stretch.end) - stretch.start,
            Index::At(places) => places.partition_point(|i| *i < index),
        }
    }

    /// The index in the series of a valid reading.
    fn in_series(&self, place: usize) -> Option<usize> {
        match &self.index {
            Index::From(stretch) => stretch.clone().nth(place),
            Index::At(places) => places.get(place).copied(),
        }
    }
}

/// What sentences need.
struct Words<'a> {
    series: &'a Series,
    zone: Zone,
    year: i32,
}

impl Words<'_> {
    fn signal(
        &self,
        stretch: &Stretch,
        valid: &Valid<'_>,
        limits: &Limits,
        events: &[&Event],
        is_last: bool,
    ) -> Option<Signal> {
        let in_series = |place: usize| valid.in_series(place);
        let (known, start) = (in_series(stretch.known)?, in_series(stretch.start)?);
        let last = in_series(stretch.last)?;
        let mut says = self.says(stretch, known, start, limits);
        if last > known {
            says.push_str("; still so on ");
            says.push_str(&self.day(last));
        }
        says.push('.');
        Some(Signal {
            rule: stretch.rule,
            direction: stretch.direction,
            known,
            start,
            last,
            ongoing: is_last && stretch.ongoing,
            explained_by: (self.series.at().get(start))
                .and_then(|at| explanation(self.series, events, *at)),
            says,
        })
    }

    fn says(&self, stretch: &Stretch, known: usize, start: usize, limits: &Limits) -> String {
        let value = self.series.values().get(known).copied().unwrap_or(f64::NAN);
        let value = number(value, decimals_of_readings(limits));
        let value = with_unit(&value, self.series.unit());
        match stretch.rule {
            "ramp" => {
                let way = match stretch.direction {
                    Direction::Down => "down",
                    _ => "up",
                };
                format!(
                    "The level went {way}, by a slope or a step, from about {}; known on {}",
                    self.day(start),
                    self.day(known)
                )
            }
            "spread" => {
                let how = match stretch.direction {
                    Direction::Down => "less",
                    _ => "more",
                };
                format!(
                    "Readings scatter {how} than before, {}",
                    self.span(start, known)
                )
            }
            "repeat" => format!(
                "The same reading {value} {} times in a row, {}",
                stretch.known - stretch.start + 1,
                self.span(start, known)
            ),
            _ => format!(
                "{value} on {} is too far from the readings before it",
                self.day(known)
            ),
        }
    }

    fn day(&self, index: usize) -> String {
        let at = self.series.at().get(index);
        at.map_or_else(String::new, |&at| day(self.zone.date(at), self.year))
    }

    fn span(&self, from: usize, to: usize) -> String {
        match (self.series.at().get(from), self.series.at().get(to)) {
            (Some(&from), Some(&to)) => {
                let dates = days(self.zone.date(from), self.zone.date(to), self.year);
                format!("from {dates}")
            }
            _ => String::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::chart::{ChartOptions, chart};
    use crate::drift::fixtures::Noise;
    use crate::series::{Exclusion, StageStart};

    const OPTIONS: ChartOptions = ChartOptions {
        gap_days: 7.0,
        baseline_readings: 30,
        robust: false,
    };

    /// Daily catches from 1 January 2026 that fall from day 70 on, with one excluded
    /// reading and, when asked, a new stage at day 100.
    fn falling(new_stage: bool) -> Series {
        let noise = Noise::new(3).autoregressive(130, 0.2);
        let at: Vec<Instant> = (0..130)
            .map(|d| Instant(1_767_225_600 + d * 86_400))
            .collect();
        let mut value: Vec<f64> = noise
            .iter()
            .enumerate()
            .map(|(i, e)| {
                let fall = if new_stage && i >= 100 {
                    0.0
                } else {
                    (i as f64 - 70.0).max(0.0)
                };
                ((1.5 + 0.05 * e - 0.01 * fall) * 32.0).round() / 32.0
            })
            .collect();
        value[60] = 9.0;
        let excluded = Exclusion {
            index: 60,
            reason: "spilled".into(),
        };
        let stages = new_stage.then(|| StageStart {
            index: 100,
            at: Some(at[100]),
            what: "new nozzle".into(),
        });
        let near = Characteristic::CollectionNear;
        Series::new("Plover", near, "mL/h", at, value)
            .unwrap()
            .with_marks(vec![excluded], stages.into_iter().collect())
            .unwrap()
    }

    fn told(series: &Series, period: Range<usize>) -> Vec<Signal> {
        let chart = chart(series, None, &OPTIONS);
        let mut almanac = Almanac::default();
        let budget = Budget::default();
        signals_of_period(&mut almanac, &chart, budget, &[], &period, Zone::AS_WRITTEN)
    }

    #[test]
    fn a_fall_is_told_with_its_date_and_in_the_indices_of_the_series() {
        let series = falling(false);
        let signals = told(&series, 100..130);
        let ramp = signals.iter().find(|s| s.rule == "ramp").unwrap();
        assert_eq!(ramp.direction, Direction::Down);
        assert!(ramp.ongoing && ramp.last == 129);
        assert!((75..=95).contains(&ramp.known), "{ramp:?}");
        assert!(ramp.start.abs_diff(70) <= 8, "{ramp:?}");
        assert!(
            ramp.says.starts_with("The level went down"),
            "{}",
            ramp.says
        );
        assert!(
            ramp.says.ends_with("; still so on 10 May."),
            "{}",
            ramp.says
        );
        assert!(
            signals.iter().all(|s| s.known != 60),
            "the excluded reading is not judged"
        );
    }

    #[test]
    fn the_period_and_later_readings_change_no_known_date() {
        let series = falling(false);
        let all = told(&series, 0..130);
        let late = told(&series, 120..130);
        let known =
            |signals: &[Signal]| -> Vec<usize> { signals.iter().map(|s| s.known).collect() };
        let still: Vec<usize> = all
            .iter()
            .filter(|s| s.last >= 120)
            .map(|s| s.known)
            .collect();
        assert_eq!(known(&late), still);
        let early = told(&series, 0..110);
        let before: Vec<usize> = all.iter().map(|s| s.known).filter(|k| *k < 110).collect();
        assert_eq!(known(&early), before);
    }

    #[test]
    fn a_new_stage_starts_afresh_and_ends_the_signal() {
        let series = falling(true);
        let signals = told(&series, 0..130);
        let ramp = signals.iter().find(|s| s.rule == "ramp").unwrap();
        assert!(
            ramp.known < 100 && ramp.last < 100 && !ramp.ongoing,
            "{ramp:?}"
        );
        assert!(told(&series, 101..130).is_empty());
    }
}
