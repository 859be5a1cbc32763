//! The default set over one stage: runs its rules and tells each stretch of firing once.

use super::change::{Evidence, MEMORY};
use super::tame::{FAR_REACH, Tamed};
use super::times::{Almanac, Times};
use super::told::{self, JudgedView, QUIET};
use super::{outlier, repeat, spread};
use crate::drift::normal_quantile;
use crate::signal::Direction;
use crate::time::Instant;
use std::rc::Rc;

/// One stage as the watch reads it: its valid readings, in time order.
#[derive(Debug, Clone, Copy)]
pub struct Readings<'a> {
    /// When; never decreasing, as long as `value`.
    pub at: &'a [Instant],
    /// What was read; finite.
    pub value: &'a [f64],
    /// Standard deviation in force, from the baseline; above 0.
    pub sigma: f64,
    /// Step of rounding in the unit of the values; `None` when none could be told.
    pub resolution: Option<f64>,
    /// First reading that is judged: the one after the baseline.
    pub judged_from: usize,
}

/// How often chance may signal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Budget {
    /// Checks of a steady series for one false alarm of the whole set; at least 20.
    pub checks_per_false_alarm: f64,
}

impl Default for Budget {
    /// One in 370 checks: what a single reading beyond three sigma of a known process costs.
    fn default() -> Budget {
        Budget {
            checks_per_false_alarm: 370.0,
        }
    }
}

impl Budget {
    /// At most `alarms_a_year` false alarms in a whole fleet whose series together have
    /// `checks_a_year` judged readings a year; `None` unless both are above 0.
    ///
    /// Measured on simulated steady cabinets: between one in 100 and one in 5,000 checks the
    /// alarms that come are 0.7 to 1.2 times those asked for.
    pub fn for_fleet(alarms_a_year: f64, checks_a_year: f64) -> Option<Budget> {
        let checks = checks_a_year / alarms_a_year;
        (alarms_a_year > 0.0 && checks_a_year > 0.0 && checks.is_finite()).then(|| Budget {
            checks_per_false_alarm: checks.max(FEWEST_CHECKS),
        })
    }

    /// False alarms expected by chance in `checks` judged readings.
    pub fn expected(&self, checks: usize) -> f64 {
        checks as f64 / self.checks_per_false_alarm
    }
}

/// A stretch of readings over which a rule keeps firing, told once.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Name of the rule.
    pub rule: &'static str,
    /// Direction of the change.
    pub direction: Direction,
    /// Reading at which it first fired, using it and earlier ones only.
    pub known: usize,
    /// Estimated start of the change.
    pub start: usize,
    /// Last reading at which it fires.
    pub last: usize,
    /// Whether it still fires at the last reading.
    pub ongoing: bool,
}

/// Most frequent false alarms that can be asked for.
const FEWEST_CHECKS: f64 = 20.0;
/// Logarithm of the change statistic that signals at one false alarm in 370 checks for the
/// whole set: from seeded simulation (see `trial`). The statistic's mean run length is
/// proportional to its threshold, so other budgets shift the logarithm.
const CHANGE_AT_370: f64 = 4.52;
/// A change signal ends when the evidence has fallen by this factor (as a logarithm).
const CHANGE_RELEASE: f64 = 2.2;
/// Shares of the budget, in false alarms per false alarm of the whole set.
const OUTLIER_SHARE: f64 = 0.06;
const SPREAD_SHARE: f64 = 0.03;
const REPEAT_SHARE: f64 = 0.02;
/// Neighbouring stretches of one spread statistic are alike: fewer chances than readings.
const SPREAD_CHANCES: f64 = 0.2;
/// A reading counts for at most this many standard deviations from the median of the seven
/// before for the rules on level and scatter, whose patience one reading must not use up.
const REACH: f64 = 3.5;

/// Every stretch of firing that touches the readings from `from` on, by `known`, then rule.
///
/// A stretch's `known`, `start` and `direction` do not depend on `from`, nor on later
/// readings except for the choice of `start`, which is dated where the evidence is strongest. With
/// `from` near the end the cost is that of the last year, not of the whole series. Empty
/// when nothing is judged or `sigma` is not above 0.
pub fn watch(readings: &Readings<'_>, from: usize, budget: Budget) -> Vec<Stretch> {
    watch_with(&mut Almanac::default(), readings, from, budget)
}

/// The same with the times that an earlier look may have prepared.
pub(super) fn watch_with(
    almanac: &mut Almanac,
    readings: &Readings<'_>,
    from: usize,
    budget: Budget,
) -> Vec<Stretch> {
    let len = readings.at.len().min(readings.value.len());
    let from = from.max(readings.judged_from);
    if from >= len {
        return Vec::new();
    }
    // Most often the few readings before those asked for are quiet, or the few before them.
    let mut lead = 3 * (QUIET + 1);
    loop {
        // The reference of the first reading judged, and a few for the medians of its first.
        let first = from.saturating_sub(MEMORY + 16 + lead);
        let view = View::of(almanac, readings, first, len);
        let judged = readings.judged_from.max(from.saturating_sub(lead)) - first;
        let complete = judged + first == readings.judged_from;
        let judged = JudgedView {
            from: judged,
            asked: from - first,
            len: len - first,
            complete,
        };
        if let Some(mut stretches) = view.run(judged, budget) {
            stretches.retain(|s| s.last + first >= from);
            for stretch in &mut stretches {
                stretch.known += first;
                stretch.start += first;
                stretch.last += first;
            }
            stretches.sort_by(|a, b| a.known.cmp(&b.known).then(a.rule.cmp(b.rule)));
            return stretches;
        }
        lead *= 4;
    }
}

/// A stretch of readings prepared for every rule.
struct View<'a> {
    times: Rc<Times>,
    /// As read.
    value: &'a [f64],
    /// With wild readings reined in.
    tame: Tamed,
    sigma: f64,
    resolution: Option<f64>,
}

impl<'a> View<'a> {
    fn of(almanac: &mut Almanac, readings: &Readings<'a>, first: usize, len: usize) -> View<'a> {
        let at = readings.at.get(first..len).unwrap_or(&[]);
        let value = readings.value.get(first..len).unwrap_or(&[]);
        // From the first readings of the stage, so that later ones change nothing.
        let early = readings.judged_from.max(30).min(len);
        let times = almanac.times(at, readings.at.get(..early).unwrap_or(&[]));
        let least = readings
            .resolution
            .map_or(0.0, |step| step / 12.0_f64.sqrt());
        let sigma = readings.sigma.max(least);
        let tame = Tamed::of(value, REACH * sigma, FAR_REACH * sigma);
        View {
            times,
            value,
            tame,
            sigma,
            resolution: readings.resolution,
        }
    }

    /// Stretches of all rules; `None` when one may have begun before the view.
    fn run(&self, view: JudgedView, budget: Budget) -> Option<Vec<Stretch>> {
        let mut stretches = Vec::new();
        if self.sigma.is_nan() || self.sigma <= 0.0 {
            return Some(stretches);
        }
        self.outlier(view, budget, &mut stretches)?;
        self.ramp(view, budget, &mut stretches)?;
        self.spread(view, budget, &mut stretches)?;
        self.repeat(view, budget, &mut stretches)?;
        Some(stretches)
    }

    fn outlier(&self, view: JudgedView, budget: Budget, out: &mut Vec<Stretch>) -> Option<()> {
        let bar = score_for(OUTLIER_SHARE / budget.checks_per_false_alarm);
        let bounded = self.tame.far.as_deref().unwrap_or(self.value);
        let scores = outlier::scores(bounded, MEMORY, self.floor(), view.from);
        let scored = scores
            .iter()
            .copied()
            .map(|score| (score, score.abs() > bar, 1));
        told::firings("far-reading", scored, view, out)?;
        out.retain(|far| far.last >= view.asked);
        Some(())
    }

    /// Adds the changes to the far readings `out`, of which those that are part of a change go.
    fn ramp(&self, view: JudgedView, budget: Budget, out: &mut Vec<Stretch>) -> Option<()> {
        let evidence = Evidence::new(&self.times, &self.tame.near, self.floor());
        let fires = CHANGE_AT_370 + (budget.checks_per_false_alarm.max(FEWEST_CHECKS) / 370.0).ln();
        let far = std::mem::take(out);
        // Those asked for are also the ones that may tell of a far reading.
        let asked = far.iter().map(|far| far.known).chain([view.asked]).min();
        let view = JudgedView {
            asked: asked.unwrap_or(view.asked),
            ..view
        };
        told::changes(&evidence, fires, fires - CHANGE_RELEASE, view, out)?;
        // While a change is being told, readings beyond the limit on its side are part of it.
        let apart = |far: &Stretch| {
            !out.iter()
                .any(|t| t.direction == far.direction && t.known < far.known && far.known <= t.last)
        };
        let apart: Vec<Stretch> = far.into_iter().filter(apart).collect();
        out.extend(apart);
        Some(())
    }

    fn spread(&self, view: JudgedView, budget: Budget, out: &mut Vec<Stretch>) -> Option<()> {
        let bar = spread_bar(budget.checks_per_false_alarm);
        let floor = 2.0 * self.floor();
        let scores = spread::scores(&self.tame.near, self.sigma, MEMORY, floor, view.from);
        let scored = scores
            .into_iter()
            .map(|(score, stretch)| (score, score.abs() > bar, stretch));
        told::firings("spread", scored, view, out)
    }

    fn repeat(&self, view: JudgedView, budget: Budget, out: &mut Vec<Stretch>) -> Option<()> {
        let rate = REPEAT_SHARE / budget.checks_per_false_alarm;
        let usual = repeat::Usual {
            noise: self.sigma * std::f64::consts::SQRT_2,
            resolution: self.resolution.unwrap_or(0.0),
            rate,
            memory: MEMORY,
        };
        let runs = repeat::runs(self.value, &usual, view.from);
        let scored = runs
            .iter()
            .map(|run| (0.0, run.length >= run.too_long, run.length));
        told::firings("repeat", scored, view, out)
    }

    /// Least variance of a reading believed: twice that of rounding, since readings that hop
    /// between two values are far from normal, or a hundredth of the
    /// baseline's, so that a spell of equal readings does not make the next one a wonder.
    fn floor(&self) -> f64 {
        let rounding = self.resolution.map_or(0.0, |step| step * step / 6.0);
        rounding.max(0.01 * self.sigma * self.sigma)
    }
}

/// Score of spread that signals.
pub(super) fn spread_bar(checks_per_false_alarm: f64) -> f64 {
    let checks = checks_per_false_alarm.max(FEWEST_CHECKS);
    score_for(SPREAD_SHARE / (SPREAD_CHANCES * checks))
}

/// Two-sided normal score of probability `p`.
fn score_for(p: f64) -> f64 {
    -normal_quantile((0.5 * p).clamp(1e-12, 0.25))
}
