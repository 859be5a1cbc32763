//! From the charts of a cabinet to the combinations that `together` judges: which
//! characteristics, over which stretch, after which baseline; and back to their readings.
//!
//! It decides nothing about a check: what is unusual is `together`'s.

use super::Budget;
use super::columns::{Merge, member};
use super::residuals::spacing_of;
use super::together::{Checks, Contribution, FEWEST_MEMBERS, LEAST_VIEW, Member, Unusual};
use crate::characteristic::Characteristic;
use crate::chart::Chart;
use crate::series::Series;
use crate::time::Instant;
use std::ops::Range;

/// How often the limits may be passed, in false alarms asked for: a lone far reading is not
/// told, so that fewer alarms come than passes (seeded simulation, see `together`).
const PASSES: f64 = 1.1;
/// Checks of a stage, from its start, before its combinations are judged.
const LEAST_BASELINE: usize = 30;
/// Further checks in which a characteristic that is read less often may end its baseline.
const GRACE: usize = 10;
/// Checks of the baseline that must have every characteristic, beside two for each.
const LEAST_COMPLETE: usize = 20;

/// An unusual combination in the terms of the series.
#[derive(Debug, Clone)]
pub struct TogetherSignal<'a> {
    /// First unusual check.
    pub starts_at: Instant,
    /// The check told.
    pub known_at: Instant,
    /// Last unusual check.
    pub last_at: Instant,
    /// Whether the last check of the period is unusual too, in a stage that goes on.
    pub ongoing: bool,
    /// Unusual checks.
    pub checks: usize,
    /// T² at the check told.
    pub statistic: f64,
    /// What it is held against.
    pub limit: f64,
    /// Chance of as unusual a check in a steady cabinet.
    pub chance: f64,
    /// Each characteristic judged with its part, the largest share first.
    pub parts: Vec<(&'a Chart<'a>, Contribution)>,
    /// Characteristics whose own signals tell of that check.
    pub told: Vec<&'a Series>,
    /// Whether those signals account for every check of it.
    pub accounted_for: bool,
}

/// What was judged of a cabinet's combinations in a period, and what was found.
#[derive(Debug, Clone, Default)]
pub struct TogetherOfPeriod<'a> {
    /// In time order.
    pub signals: Vec<TogetherSignal<'a>>,
    /// Checks of the period that were judged.
    pub judged: u64,
}

/// Unusual combinations of a cabinet that fired in `period` (its end not included).
///
/// `charts` are those of its series; characteristics that are computed from others beside
/// them are left out, and gravity where the salt concentration is known. Everything starts
/// afresh where a stage of any member starts. `told` says whether a characteristic's own
/// signal tells of a moment. Excluded readings are missing ones.
pub fn together_of_period<'a>(
    charts: &[&'a Chart<'a>],
    budget: Budget,
    period: Range<Instant>,
    told: &dyn Fn(&Characteristic, Instant) -> bool,
) -> TogetherOfPeriod<'a> {
    let chance = PASSES / budget.checks_per_false_alarm.max(1.0);
    let mut out = TogetherOfPeriod::default();
    for stretch in stretches(charts, &period) {
        let tells = |checks: &Checks, member: usize, check: usize| {
            let chart = stretch.charts.get(member);
            let at = checks.at.get(check);
            chart
                .zip(at)
                .is_some_and(|(c, at)| told(c.series.characteristic(), *at))
        };
        let mut view = LEAST_VIEW + 16;
        let (checks, unusual) = loop {
            let checks = stretch.checks(period.start, view);
            let from = checks.at.partition_point(|at| *at < period.start);
            let found = checks.unusual(from, chance, &|m, check| tells(&checks, m, check));
            match found {
                Some(found) => {
                    out.judged += checks.judged(from);
                    break (checks, found);
                }
                // The whole stage always answers.
                None if checks.complete => break (checks, Vec::new()),
                None => view *= 4,
            }
        };
        let signals = unusual
            .into_iter()
            .filter_map(|u| stretch.signal(&checks, u));
        out.signals.extend(signals);
    }
    out
}

/// Checks of `period` whose combination is judged.
pub fn together_judged<'a>(charts: &[&'a Chart<'a>], period: Range<Instant>) -> u64 {
    stretches(charts, &period)
        .map(|stretch| {
            let checks = stretch.checks(period.start, 0);
            checks.judged(checks.at.partition_point(|at| *at < period.start))
        })
        .sum()
}

/// Whether a characteristic is measured apart from the others: the rate and the spread stand
/// for the funnels, and coupons are no part of a check.
fn stands_alone(characteristic: &Characteristic) -> bool {
    !matches!(
        characteristic,
        Characteristic::CollectionNear
            | Characteristic::CollectionFar
            | Characteristic::CouponMassLoss
    )
}

/// A stretch of one stage in all of its members.
struct StretchOfStage<'a> {
    charts: Vec<&'a Chart<'a>>,
    /// Readings of each member's series.
    readings: Vec<Range<usize>>,
    judged_from: Instant,
    spacing: f64,
    /// Whether no later stage has begun.
    is_last: bool,
}

/// The stretches between the starts of stages that reach into `period` and can be judged.
fn stretches<'a>(
    charts: &[&'a Chart<'a>],
    period: &Range<Instant>,
) -> impl Iterator<Item = StretchOfStage<'a>> {
    let members: Vec<&Chart<'_>> = charts
        .iter()
        .copied()
        .filter(|c| stands_alone(c.series.characteristic()) && !c.series.is_empty())
        .collect();
    let mut cuts: Vec<Instant> = members
        .iter()
        .flat_map(|c| c.stages.iter().skip(1).map(move |s| (c, s.readings.start)))
        .filter_map(|(chart, start)| chart.series.at().get(start).copied())
        .collect();
    cuts.push(Instant(i64::MIN));
    cuts.sort_unstable();
    cuts.dedup();
    let ends: Vec<Instant> = cuts.iter().skip(1).copied().chain([period.end]).collect();
    let start_of_period = period.start;
    let end_of_period = period.end;
    cuts.into_iter()
        .zip(ends)
        .filter(move |(start, end)| *end > start_of_period && *start < end_of_period)
        .filter_map(move |(start, end)| {
            let is_last = end >= end_of_period;
            StretchOfStage::of(&members, start..end.min(end_of_period), is_last)
        })
}

impl<'a> StretchOfStage<'a> {
    /// `None` where the baseline is not complete, or fewer than two members can be told apart.
    fn of(
        charts: &[&'a Chart<'a>],
        span: Range<Instant>,
        is_last: bool,
    ) -> Option<StretchOfStage<'a>> {
        let within = |chart: &Chart<'_>| {
            let at = chart.series.at();
            at.partition_point(|t| *t < span.start)..at.partition_point(|t| *t < span.end)
        };
        let readings: Vec<Range<usize>> = charts.iter().map(|c| within(c)).collect();
        // When each characteristic ends its baseline, as far as it does.
        let ready: Vec<Option<Instant>> = charts
            .iter()
            .zip(&readings)
            .map(|(chart, readings)| {
                let stage = (chart.stages.iter()).find(|s| s.readings.contains(&readings.start))?;
                stage.limits.as_ref().ok()?;
                let first = stage.judged_from.max(readings.start);
                (first < readings.end).then(|| chart.series.at().get(first).copied())?
            })
            .collect();
        let earliest = ready.iter().flatten().min()?;
        let head = Merge::new(charts, &readings);
        let mut at: Vec<Instant> = Vec::new();
        let mut after_ready = 0;
        for row in head {
            after_ready += usize::from(row >= *earliest);
            at.push(row);
            if at.len() > LEAST_BASELINE + GRACE && after_ready > GRACE {
                break;
            }
        }
        if at.len() <= LEAST_BASELINE + GRACE || after_ready <= GRACE {
            return None;
        }
        let judged_from = *at.last()?;
        let spacing = spacing_of(&at);
        let mut stretch = StretchOfStage {
            charts: Vec::new(),
            readings: Vec::new(),
            judged_from,
            spacing,
            is_last,
        };
        for ((chart, readings), ready) in charts.iter().zip(readings).zip(ready) {
            if ready.is_some_and(|at| at <= judged_from) {
                stretch.charts.push(chart);
                stretch.readings.push(readings);
            }
        }
        stretch.drop_gravity_beside_salt();
        stretch.drop_the_seldom_read();
        (stretch.charts.len() >= FEWEST_MEMBERS).then_some(stretch)
    }

    fn drop_gravity_beside_salt(&mut self) {
        let place = |wanted| {
            let of = |c: &&Chart<'_>| *c.series.characteristic() == wanted;
            self.charts.iter().position(of)
        };
        if place(Characteristic::SaltConcentration).is_some()
            && let Some(gravity) = place(Characteristic::SpecificGravity)
        {
            self.drop(gravity);
        }
    }

    /// Leaves out what is read least until the baseline has enough checks with everything.
    fn drop_the_seldom_read(&mut self) {
        while self.charts.len() >= FEWEST_MEMBERS {
            let baseline = self.rows(Instant(i64::MIN)..self.judged_from);
            let read = |m: &Member| m.value.iter().filter(|v| !v.is_nan()).count();
            let complete = (0..baseline.at.len())
                .filter(|&i| {
                    let mut values = baseline.members.iter().map(|m| m.value.get(i));
                    values.all(|v| v.is_some_and(|v| !v.is_nan()))
                })
                .count();
            if complete >= LEAST_COMPLETE + 2 * self.charts.len() {
                return;
            }
            let least = baseline.members.iter().map(read).enumerate();
            let Some((least, _)) = least.min_by_key(|(_, n)| *n) else {
                return;
            };
            self.drop(least);
        }
    }

    fn drop(&mut self, member: usize) {
        self.charts.remove(member);
        self.readings.remove(member);
    }

    /// The checks of the stretch from (at most) `view` readings before `start` on.
    fn checks(&self, start: Instant, view: usize) -> Checks {
        let before = |chart: &Chart<'_>, readings: &Range<usize>| {
            let at = chart.series.at();
            let first = at.partition_point(|t| *t < start).saturating_sub(view);
            (first > readings.start).then(|| at.get(first).copied())?
        };
        let firsts = self.charts.iter().zip(&self.readings);
        // All members must have begun before, else the view is the whole.
        let firsts: Option<Vec<Instant>> = firsts.map(|(c, r)| before(c, r)).collect();
        let first = firsts.and_then(|all| all.into_iter().min());
        match first.filter(|first| *first > self.judged_from) {
            Some(first) => Checks {
                complete: false,
                judged_from: 0,
                ..self.rows(first..Instant(i64::MAX))
            },
            None => self.rows(Instant(i64::MIN)..Instant(i64::MAX)),
        }
    }

    /// The checks within `span`.
    fn rows(&self, span: Range<Instant>) -> Checks {
        let within = |(chart, readings): (&&Chart<'_>, &Range<usize>)| {
            let at = chart.series.at();
            let place = |t: Instant| at.partition_point(|x| *x < t);
            place(span.start).max(readings.start)..place(span.end).min(readings.end)
        };
        let readings: Vec<Range<usize>> =
            self.charts.iter().zip(&self.readings).map(within).collect();
        let at = Merge::new(&self.charts, &readings).times();
        let members = self
            .charts
            .iter()
            .zip(readings)
            .filter_map(|(chart, readings)| member(chart, readings, &at))
            .collect();
        Checks {
            spacing: self.spacing,
            members,
            judged_from: at.partition_point(|t| *t < self.judged_from),
            complete: true,
            at,
        }
    }

    fn signal(&self, checks: &Checks, unusual: Unusual) -> Option<TogetherSignal<'a>> {
        let at = |check: usize| checks.at.get(check).copied();
        let chart = |member: usize| self.charts.get(member).copied();
        let parts = unusual.contributions.iter();
        let told = unusual.told.iter();
        Some(TogetherSignal {
            starts_at: at(unusual.start)?,
            known_at: at(unusual.known)?,
            last_at: at(unusual.last)?,
            ongoing: unusual.ongoing && self.is_last,
            checks: unusual.checks,
            statistic: unusual.statistic,
            limit: unusual.limit,
            chance: unusual.chance,
            parts: parts.filter_map(|c| Some((chart(c.member)?, *c))).collect(),
            told: told.filter_map(|m| Some(chart(*m)?.series)).collect(),
            accounted_for: unusual.accounted_for,
        })
    }
}

#[cfg(test)]
#[path = "combination_tests.rs"]
mod tests;
