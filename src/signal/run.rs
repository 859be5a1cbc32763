//! Runs a rule set over the stages of a chart and turns firings into signals.
//!
//! Each stage is judged from its `judged_from` on, excluded readings left out, and no
//! pattern reaches across a gap. A rule that keeps firing is told once. Which signals
//! belong to the period under review is decided by [`in_period`]; nothing here knows
//! conformance limits.

use super::{Allowance, Direction, Firing, RuleInput, RuleSet, Signal, Told};
use crate::chart::{Chart, ChartOptions, ChartedStage, Limits, gap_days_in_force};
use crate::lab::{Event, EventEffect};
use crate::series::Series;
use crate::time::{Instant, Zone};
use chrono::Datelike;
use std::ops::Range;

/// Valid readings within which a rule that fires again is still the same signal.
const QUIET_READINGS: usize = 3;

/// Readings, itself included, on which it rests at most whether a rule fires at a reading.
/// A run that goes on may be longer, but was long enough by then.
pub const LONGEST_PATTERN: usize = 64;

/// Shortest spacing of readings that counts, in usual spacings: two checks on one day, or
/// logged without an hour, are two checks.
pub const LEAST_SPACING: f64 = 0.5;

/// Readings before the period that are judged first. Only where a signal of the period
/// began that far back is the whole stage judged.
const LOOK_BACK: usize = 256;

/// Days on either side of a change within which an event explains it.
pub const EVENT_DAYS: f64 = 3.0;

/// The signals of a series, by the reading at which they became known, then in the
/// order of the rules.
///
/// Readings with index `judge_until` and above are not looked at, so a series cut
/// there has the same signals. `events` may be those of the whole lab; the ones that
/// touch this series are picked out. A note or new stage within three days of a
/// signal's start explains it. `zone` sets the dates in the sentences. A stage without
/// limits has no signals; a gap longer than `set.gap_days` ends every pattern.
pub fn signals(
    chart: &Chart<'_>,
    set: &RuleSet,
    events: &[&Event],
    judge_until: usize,
    zone: Zone,
) -> Vec<Signal> {
    signals_of_period(chart, set, events, &(0..judge_until), zone)
}

/// The signals of [`signals`] that belong to a period ([`in_period`]), judged to its end.
///
/// Years of readings before the period cost nothing where no signal reaches back to them.
pub fn signals_of_period(
    chart: &Chart<'_>,
    set: &RuleSet,
    events: &[&Event],
    period: &Range<usize>,
    zone: Zone,
) -> Vec<Signal> {
    let series = chart.series;
    let until = period.end.min(series.len());
    let asked = Asked {
        set,
        from: period.start,
        until,
        zone,
        year: series
            .at()
            .get(until.saturating_sub(1))
            .map_or(0, |&at| zone.date(at).year()),
    };
    let mut found = Vec::new();
    let mut scratch = Scratch::default();
    for stage in &chart.stages {
        let Ok(limits) = &stage.limits else { continue };
        let judged = stage.judged_from.max(stage.readings.start)..stage.readings.end.min(until);
        if judged.is_empty() {
            continue;
        }
        let allowance = if set.allowances {
            Allowance::of(limits)
        } else {
            Allowance::NONE
        };
        let gap_days = gap_days_of(set, series, stage);
        let recent = asked.from.saturating_sub(LOOK_BACK);
        if recent > judged.start {
            let told = found.len();
            let view = scratch.view(chart, limits, recent..judged.end, gap_days, allowance);
            let settled = LONGEST_PATTERN + QUIET_READINGS + 1;
            if judge_stage(chart, stage, limits, &view, &asked, settled, &mut found) {
                continue;
            }
            found.truncate(told);
        }
        let view = scratch.view(chart, limits, judged, gap_days, allowance);
        judge_stage(chart, stage, limits, &view, &asked, 0, &mut found);
    }
    // Stable: within one reading the rules keep their order.
    found.sort_by_key(|signal: &Signal| signal.known);
    for signal in &mut found {
        let start = series.at().get(signal.start).copied();
        signal.explained_by = start.and_then(|at| explanation(series, events, at));
    }
    found
}

/// The longest gap that a pattern of this stage may span, days: the one that its moving
/// ranges may span.
fn gap_days_of(set: &RuleSet, series: &Series, stage: &ChartedStage) -> f64 {
    let options = ChartOptions {
        gap_days: set.gap_days,
        baseline_readings: 0,
        robust: false,
    };
    gap_days_in_force(series, stage.readings.clone(), &options)
}

/// Usual days between readings: the mean of the baseline; 1 where that is not known.
fn usual_spacing(limits: &Limits) -> f64 {
    let days = limits.to.days_since(limits.from) / limits.n.saturating_sub(1).max(1) as f64;
    if days > 0.0 { days } else { 1.0 }
}

/// Whether a signal belongs to a period: it still fired in it.
pub fn in_period(signal: &Signal, period: &Range<usize>) -> bool {
    signal.last >= period.start && signal.known < period.end
}

/// Whether a signal that belongs to a period is news in it: it became known there, or went
/// on for longer than its first few readings. What ended in those was told with the
/// period before.
pub fn is_news(signal: &Signal, period: &Range<usize>) -> bool {
    in_period(signal, period)
        && (signal.known >= period.start || signal.last >= period.start + QUIET_READINGS)
}

/// Identifier of a signal: unique in a review and the same on every run.
///
/// One rule fires at most once per reading and direction, so the reading settles it.
pub fn signal_id(series: &Series, signal: &Signal) -> String {
    let direction = match signal.direction {
        Direction::Up => "-up",
        Direction::Down => "-down",
        Direction::Neither => "",
    };
    format!(
        "{}/{}/{}{direction}@{}",
        series.cabinet(),
        series.characteristic().id(),
        signal.rule,
        signal.known
    )
}

/// The event, in the lab's words, that explains a change beginning at `start`: the nearest
/// within three days that holds for this series and is a note or a new stage.
pub fn explanation(series: &Series, events: &[&Event], start: Instant) -> Option<String> {
    events
        .iter()
        .filter(|event| !matches!(event.effect, EventEffect::Exclude { .. }))
        .filter(|event| concerns(event, series))
        .map(|event| (event.at.days_since(start).abs(), event))
        .filter(|(days, _)| *days <= EVENT_DAYS)
        .min_by(|(a, _), (b, _)| a.total_cmp(b))
        .map(|(_, event)| event.what.to_string())
}

/// Whether an event holds for a series: its cabinet or all, its characteristic or all.
fn concerns(event: &Event, series: &Series) -> bool {
    event
        .cabinet
        .as_deref()
        .is_none_or(|cabinet| cabinet == series.cabinet())
        && event
            .characteristic
            .as_ref()
            .is_none_or(|characteristic| characteristic == series.characteristic())
}

/// What is asked of every stage alike.
struct Asked<'a> {
    set: &'a RuleSet,
    /// Signals that ended before this reading are not told.
    from: usize,
    until: usize,
    zone: Zone,
    /// Year that dates leave out.
    year: i32,
}

/// Buffers for the standardised readings of a stage, used again for the next.
#[derive(Default)]
struct Scratch {
    z: Vec<f64>,
    value: Vec<f64>,
    range_ratio: Vec<f64>,
    after_gap: Vec<bool>,
    spacing: Vec<f64>,
    index: Vec<usize>,
}

/// The valid readings of a stage as rules see them, and where they stand in the series.
struct View<'a> {
    input: RuleInput<'a>,
    first: usize,
    /// Index in the series of each reading; empty when none is excluded, since then
    /// they follow `first`.
    index: &'a [usize],
}

impl View<'_> {
    fn in_series(&self, valid: usize) -> usize {
        self.index.get(valid).copied().unwrap_or(self.first + valid)
    }
}

impl Scratch {
    fn view<'a>(
        &'a mut self,
        chart: &'a Chart<'_>,
        limits: &Limits,
        judged: Range<usize>,
        gap_days: f64,
        allowance: Allowance,
    ) -> View<'a> {
        let series = chart.series;
        let values = series.values().get(judged.clone()).unwrap_or(&[]);
        let at = series.at().get(judged.clone()).unwrap_or(&[]);
        let exclusions = series.exclusions();
        let begin = exclusions.partition_point(|e| e.index < judged.start);
        let end = exclusions.partition_point(|e| e.index < judged.end);
        let mut excluded = exclusions.get(begin..end).unwrap_or(&[]).iter().peekable();
        let any_excluded = excluded.peek().is_some();

        self.index.clear();
        self.value.clear();
        if any_excluded {
            for (index, &value) in judged.clone().zip(values) {
                if excluded.next_if(|e| e.index == index).is_none() {
                    self.index.push(index);
                    self.value.push(value);
                }
            }
        }
        let per_sigma = 1.0 / limits.sigma;
        let per_limit = 1.0 / limits.moving_range_upper;
        let gap = (gap_days * crate::time::SECONDS_PER_DAY) as i64;
        let is_gap = |from: &Instant, to: &Instant| to.0.saturating_sub(from.0) > gap;
        let value = if any_excluded { &self.value } else { values };
        self.z.clear();
        self.z
            .extend(value.iter().map(|v| (v - limits.centre) * per_sigma));
        self.range_ratio.clear();
        self.after_gap.clear();
        self.after_gap.push(false);
        self.spacing.clear();
        self.spacing.push(1.0);
        let per_usual = 1.0 / usual_spacing(limits);
        let spacing =
            |from: &Instant, to: &Instant| (to.days_since(*from) * per_usual).max(LEAST_SPACING);
        if any_excluded {
            let valid = |of: usize| of - judged.start;
            let range = |&index: &usize| chart.moving_ranges.at(index) * per_limit;
            self.range_ratio.extend(self.index.iter().map(range));
            self.after_gap.extend(self.index.windows(2).map(|w| {
                let time = |i: usize| at.get(valid(i));
                matches!((time(w[0]), time(w[1])), (Some(a), Some(b)) if is_gap(a, b))
            }));
            self.spacing.extend(self.index.windows(2).map(|w| {
                match (at.get(valid(w[0])), at.get(valid(w[1]))) {
                    (Some(a), Some(b)) => spacing(a, b),
                    _ => 1.0,
                }
            }));
        } else {
            let ranges = chart.moving_ranges.of(judged.clone());
            self.range_ratio
                .extend(ranges.iter().map(|r| r * per_limit));
            self.after_gap
                .extend(at.windows(2).map(|w| is_gap(&w[0], &w[1])));
            self.spacing
                .extend(at.windows(2).map(|w| spacing(&w[0], &w[1])));
        }
        View {
            input: RuleInput {
                z: &self.z,
                value,
                range_ratio: &self.range_ratio,
                after_gap: &self.after_gap,
                spacing: &self.spacing,
                resolution: limits.resolution.map(|step| step * per_sigma),
                allowance,
            },
            first: judged.start,
            index: &self.index,
        }
    }
}

/// Runs every rule over (the last part of) one stage and appends its signals; false where
/// one of them starts before reading `settled` of the view and so may have started earlier.
///
/// From [`LONGEST_PATTERN`] on rules fire as they would with all readings in view, and
/// [`QUIET_READINGS`] later no firing continues a stretch from before: a signal that starts
/// there is the one that the whole stage gives.
fn judge_stage(
    chart: &Chart<'_>,
    stage: &ChartedStage,
    limits: &Limits,
    view: &View<'_>,
    asked: &Asked<'_>,
    settled: usize,
    found: &mut Vec<Signal>,
) -> bool {
    // A stage that later readings follow has ended, and its signals with it.
    let is_last = stage.readings.end >= asked.until;
    let last_valid = view.input.z.len().saturating_sub(1);
    let mut firings = Vec::new();
    for rule in &asked.set.rules {
        firings.clear();
        rule.judge(&view.input, &mut firings);
        for stretch in stretches(&firings) {
            let last = view.in_series(stretch.last);
            if last < asked.from {
                continue;
            }
            if stretch.first.start < settled {
                return false;
            }
            let told = Told {
                chart,
                limits,
                allowance: view.input.allowance,
                zone: asked.zone,
                year: asked.year,
                direction: stretch.first.direction,
                start: view.in_series(stretch.first.start),
                known: view.in_series(stretch.first.at),
                readings: stretch.first.at - stretch.first.start + 1,
            };
            let mut says = rule.says(&told);
            if last > told.known
                && let Some(&at) = chart.series.at().get(last)
            {
                let day = super::wording::day(asked.zone.date(at), asked.year);
                says.push_str(&format!("; still so on {day}"));
            }
            says.push('.');
            found.push(Signal {
                rule: rule.name(),
                direction: told.direction,
                known: told.known,
                start: told.start,
                last,
                ongoing: is_last && stretch.last == last_valid,
                explained_by: None,
                says,
            });
        }
    }
    true
}

/// Consecutive firings of one rule in one direction.
#[derive(Clone, Copy)]
struct Stretch {
    first: Firing,
    last: usize,
}

/// Firings merged into stretches, in the order in which they began.
///
/// A firing belongs to the stretch of its direction when its pattern overlaps or abuts
/// the latest firing, or comes within [`QUIET_READINGS`] of it. Whether a firing
/// opens a stretch rests on earlier firings only.
fn stretches(firings: &[Firing]) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut open: [Option<usize>; 3] = [None; 3];
    for firing in firings {
        let slot = match firing.direction {
            Direction::Up => &mut open[0],
            Direction::Down => &mut open[1],
            Direction::Neither => &mut open[2],
        };
        if let Some(stretch) = slot.and_then(|i| stretches.get_mut(i))
            && (firing.start <= stretch.last + 1 || firing.at - stretch.last <= QUIET_READINGS)
        {
            stretch.last = firing.at;
            continue;
        }
        *slot = Some(stretches.len());
        stretches.push(Stretch {
            first: *firing,
            last: firing.at,
        });
    }
    stretches
}

#[cfg(test)]
#[path = "run_tests.rs"]
mod tests;
