//! Whether a series drifts or has shifted, decided once, from the readings up to a date.
//!
//! The last readings (at most 400 of the current stage) are searched for steps and slopes
//! under autocorrelated noise; a claim needs more evidence than chance offers over all
//! dates searched. Signals (that something is seen at all) are the rules'; here it is
//! dated, sized and, if it is a drift, carried forward to the conformance limit.

use super::change_date::{ChangeDate, date_given};
use super::forecast::{Course, Forecast, HORIZON_DAYS, first_passage, slope_interval};
use super::segments::{Coefficients, Model, Search, Term, basis_of, normal_square};
use super::theil_sen::{LONGEST, line, median};
use super::whiten::{Kind, Whitened, usual_spacing};
use super::{Drift, ForecastBreach, Shift, mann_kendall, normal_quantile_level};
use crate::time::Instant;

/// Fewest readings in which anything is claimed.
const FEWEST: usize = 12;
/// Lag-1 autocorrelation of daily checks believed before any is seen, and the readings it counts for.
const USUAL_PHI: f64 = 0.25;
const USUAL_PHI_READINGS: f64 = 20.0;
/// Strongest autocorrelation believed: beyond it a level and a wander cannot be told apart.
const LARGEST_PHI: f64 = 0.85;
/// Level of the intervals of slope, size and dates.
const LEVEL: f64 = 0.9;
/// Level of the forecast.
const FORECAST_LEVEL: f64 = 0.8;
/// Least change worth a claim, in standard deviations of a reading.
const LEAST_CHANGE: f64 = 0.5;
/// Least evidence (squared normal score) that a slope is still there at the end.
const STILL_SLOPING: f64 = 9.0;
/// Largest probability of the Mann–Kendall test on the drifting stretch.
const RANK_TEST_P: f64 = 0.1;

/// Evidence asked for over all dates of a window of 400: about one steady series in 300
/// passes it by chance (seeded simulation, see the tests).
const SEARCH: Search = Search {
    enter_first: 17.0,
    enter_next: 14.0,
    most: 3,
    after_step: 3,
    after_ramp: 5,
    before: 5,
    noise_floor: 0.1,
};

/// A stretch of time that holds a date with some level of confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Early end.
    pub earliest: Instant,
    /// Late end.
    pub latest: Instant,
    /// Level, as 0.9.
    pub level: f64,
}

/// What is claimed of a series, and what is not.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Slow change that still goes on at the last reading.
    pub drift: Option<Drift>,
    /// Step change that still stands at the last reading.
    pub shift: Option<Shift>,
    /// Confidence set for the start of the drift.
    pub began: Option<Span>,
    /// What is not claimed, and why, in words; empty when there is nothing to add.
    pub not: String,
}

impl Assessment {
    fn nothing(why: String) -> Assessment {
        Assessment {
            drift: None,
            shift: None,
            began: None,
            not: why,
        }
    }
}

/// Decides whether there is a drift, a shift, both (one after the other) or neither.
///
/// `at` (never decreasing) and `values` (finite, in the unit of the series) are the valid
/// readings of the current stage up to the end of the period, of equal length; `sigma`
/// is the standard deviation in force (above 0), `phi` the lag-1 autocorrelation of the
/// baseline, which is the first `baseline_end` of them. `lower` and `upper` are the
/// conformance limits for the forecast; `None` where there is none. Only the last 400
/// readings are searched. Most steady series cost one pass over them.
pub fn assess(
    at: &[Instant],
    values: &[f64],
    sigma: f64,
    phi: f64,
    baseline_end: usize,
    lower: Option<f64>,
    upper: Option<f64>,
) -> Assessment {
    let len = at.len().min(values.len());
    let skipped = len.saturating_sub(LONGEST);
    let (Some(at), Some(values)) = (at.get(skipped..len), values.get(skipped..len)) else {
        return Assessment::nothing(String::new());
    };
    if len < FEWEST {
        return Assessment::nothing(format!(
            "{len} readings: too few to tell a change from scatter"
        ));
    }
    if !(sigma > 0.0 && sigma.is_finite()) {
        return Assessment::nothing("no spread to judge a change against".to_owned());
    }
    let Some(&first) = at.first() else {
        return Assessment::nothing(String::new());
    };
    let days: Vec<f64> = at.iter().map(|t| t.days_since(first)).collect();
    let centre = median(values);
    let mut scaled: Vec<f64> = values.iter().map(|v| (v - centre) / sigma).collect();
    rein_in_lone_outliers(&mut scaled);

    let known = baseline_end.min(len) as f64;
    let usable_phi = if phi.is_finite() { phi } else { USUAL_PHI };
    let phi = believed_phi(usable_phi, known, USUAL_PHI);
    let white = Whitened::new(&days, &scaled, phi);
    let glance = SEARCH.glance(&white);
    // The autocorrelation is estimated again below and may turn out weaker, which adds evidence.
    if glance < 0.75 * SEARCH.enter_first {
        return Assessment::nothing(weak(glance));
    }
    let model = SEARCH.run(&white);
    let phi = residual_phi(&days, &scaled, &white, &model.terms, phi);
    let white = Whitened::new(&days, &scaled, phi);
    let model = SEARCH.run(&white);
    if model.terms.is_empty() {
        return Assessment::nothing(weak(SEARCH.glance(&white)));
    }
    let scale = Scale {
        at,
        offset: skipped,
        centre,
        sigma,
        lower,
        upper,
    };
    Judge::new(&white, &scaled, &model).map_or_else(
        || Assessment::nothing(weak(glance)),
        |judge| judge.verdict(&scale),
    )
}

fn weak(evidence: f64) -> String {
    format!(
        "no step or slope stands out: the strongest reaches {:.1} standard errors of the {:.1} asked for over all dates searched",
        evidence.max(0.0).sqrt(),
        SEARCH.enter_first.sqrt()
    )
}

/// From scaled readings back to the series.
struct Scale<'a> {
    at: &'a [Instant],
    /// Readings of the stage before the window.
    offset: usize,
    centre: f64,
    sigma: f64,
    lower: Option<f64>,
    upper: Option<f64>,
}

/// A fitted window with what the claims rest on.
struct Judge<'a> {
    white: &'a Whitened,
    scaled: &'a [f64],
    terms: &'a [Term],
    fit: Coefficients,
    /// Noise variance and its degrees of freedom.
    noise: f64,
    freedom: f64,
}

impl<'a> Judge<'a> {
    fn new(white: &'a Whitened, scaled: &'a [f64], model: &'a Model) -> Option<Judge<'a>> {
        let fit = Coefficients::of(white, &model.terms)?;
        let freedom = white.len() as f64 - 1.0 - 2.0 * model.terms.len() as f64;
        (freedom >= 3.0).then(|| Judge {
            noise: (model.residual_square / freedom).max(SEARCH.noise_floor),
            white,
            scaled,
            terms: &model.terms,
            fit,
            freedom,
        })
    }

    fn verdict(&self, scale: &Scale<'_>) -> Assessment {
        let mut verdict = Assessment::nothing(String::new());
        let slope = self.fit.combine(&self.slope_weights(self.terms));
        let slope_variance = self.variance(&self.slope_weights(self.terms));
        let still = normal_square(slope * slope / slope_variance, self.freedom) >= STILL_SLOPING;
        let ramps = self.terms.iter().filter(|t| t.kind == Kind::Ramp).count();
        if ramps > 0 && still {
            self.claim_drift(scale, slope, &mut verdict);
        } else if ramps > 1 {
            self.claim_ended_slope(scale, &mut verdict);
        }
        self.claim_step(scale, &mut verdict);
        verdict
    }

    fn claim_drift(&self, scale: &Scale<'_>, slope: f64, verdict: &mut Assessment) {
        let Some(began) = self.began(slope) else {
            return;
        };
        if !self.ranks_agree(began.at, slope) {
            verdict.not = "a slope was fitted, but the ranks of the readings do not bear it out: not called a drift".to_owned();
            return;
        }
        let set = self.date(began);
        let courses = self.courses();
        let (low, high) = slope_interval(&courses, LEVEL);
        let point = courses.iter().map(|c| c.weight * c.slope).sum::<f64>();
        let now = courses.iter().map(|c| c.weight * c.level).sum::<f64>();
        let (Some(&since), Some(&last)) = (scale.at.get(began.at), scale.at.last()) else {
            return;
        };
        if (point * last.days_since(since)).abs() < LEAST_CHANGE {
            verdict.not = format!(
                "a slope is there, but it moved the level by less than {LEAST_CHANGE} standard deviations of a reading"
            );
            return;
        }
        if let Some(set) = set {
            verdict.began = scale.span(set.earliest, set.latest);
        }
        let limit = if point > 0.0 {
            scale.upper
        } else {
            scale.lower
        };
        let breach = limit.and_then(|limit| {
            let target = (limit - scale.centre) / scale.sigma;
            match first_passage(&courses, target, point > 0.0, FORECAST_LEVEL) {
                Forecast::Between {
                    earliest,
                    likely,
                    latest,
                } => Some(ForecastBreach {
                    limit,
                    earliest: last.plus_days(earliest),
                    likely: last.plus_days(likely),
                    latest: latest.map(|days| last.plus_days(days)),
                    level: FORECAST_LEVEL,
                }),
                Forecast::NotWithin => {
                    verdict.not = format!(
                        "no limit is reached within {HORIZON_DAYS:.0} days of the last reading at this pace"
                    );
                    None
                }
            }
        });
        if limit.is_none() {
            verdict.not = "no conformance limit lies on the side it drifts to".to_owned();
        }
        verdict.drift = Some(Drift {
            slope_per_day: point * scale.sigma,
            low: low * scale.sigma,
            high: high * scale.sigma,
            level: LEVEL,
            since,
            since_index: scale.index(began.at),
            now: scale.centre + now * scale.sigma,
            breach,
        });
    }

    /// A slope that has ended left the level elsewhere: told as a shift that took a while.
    fn claim_ended_slope(&self, scale: &Scale<'_>, verdict: &mut Assessment) {
        let mut ramps = self.terms.iter().filter(|t| t.kind == Kind::Ramp);
        let (Some(first), Some(last)) = (ramps.next(), ramps.next_back()) else {
            return;
        };
        let mut weights = self.now_weights(self.terms);
        if let Some(level) = weights.first_mut() {
            *level = 0.0;
        }
        let steps = self.terms.iter().map(|t| t.kind == Kind::Step);
        for (weight, is_step) in weights.iter_mut().skip(1).zip(steps) {
            if is_step {
                *weight = 0.0;
            }
        }
        if let Some(span) = scale.span(first.at, last.at) {
            verdict.shift = self.shift(scale, &weights, first.at, span);
            if verdict.shift.is_none() {
                verdict.not = "a slope came and went; the level is back where it was".to_owned();
            }
        }
    }

    fn claim_step(&self, scale: &Scale<'_>, verdict: &mut Assessment) {
        let Some(step) = self.terms.iter().rev().find(|t| t.kind == Kind::Step) else {
            return;
        };
        let steps = self.terms.iter().filter(|t| t.kind == Kind::Step).count();
        let mut all = vec![0.0];
        all.extend(self.terms.iter().map(|t| f64::from(t.kind == Kind::Step)));
        let total = self.fit.combine(&all);
        if steps > 1 && total * total < 4.0 * self.variance(&all) {
            verdict.not = "the level stepped away and came back".to_owned();
            return;
        }
        let mut one = vec![0.0];
        one.extend(self.terms.iter().map(|t| f64::from(t == step)));
        let Some(set) = self.date(*step) else {
            return;
        };
        if let Some(span) = scale.span(set.earliest, set.latest)
            && let Some(shift) = self.shift(scale, &one, step.at, span)
        {
            verdict.shift = Some(shift);
        }
    }

    fn shift(&self, scale: &Scale<'_>, weights: &[f64], at: usize, span: Span) -> Option<Shift> {
        let size = self.fit.combine(weights);
        if size.abs() < LEAST_CHANGE {
            return None;
        }
        let half = normal_quantile_level(LEVEL) * self.variance(weights).sqrt();
        Some(Shift {
            at: *scale.at.get(at)?,
            at_index: scale.index(at),
            earliest: span.earliest,
            latest: span.latest,
            size: size * scale.sigma,
            low: (size - half) * scale.sigma,
            high: (size + half) * scale.sigma,
        })
    }

    /// The change of slope with which the present run of one direction began.
    fn began(&self, slope_now: f64) -> Option<Term> {
        let mut slope = slope_now;
        let mut began = None;
        let sizes = self.fit.value.iter().skip(1);
        for (term, size) in self.terms.iter().zip(sizes).rev() {
            if term.kind == Kind::Ramp {
                began = Some(*term);
                slope -= size;
                if slope * slope_now <= 0.0 || slope.abs() < 0.25 * slope_now.abs() {
                    break;
                }
            }
        }
        began
    }

    fn others(&self, than: Term) -> Vec<Term> {
        self.terms.iter().copied().filter(|t| *t != than).collect()
    }

    fn date(&self, term: Term) -> Option<ChangeDate> {
        let basis = basis_of(self.white, &self.others(term));
        let apart = SEARCH.before.min(SEARCH.after_step);
        date_given(self.white, &basis, term.kind, apart, LEVEL)
    }

    /// The lines the drift may follow: one for each date its last bend may have.
    fn courses(&self) -> Vec<Course> {
        let Some(bend) = self.terms.iter().rev().find(|t| t.kind == Kind::Ramp) else {
            return Vec::new();
        };
        let shares = self.date(*bend).map_or(vec![(bend.at, 1.0)], |d| d.shares);
        let others = self.others(*bend);
        let noise = self.noise * self.freedom / (self.freedom - 2.0).max(1.0);
        let mut courses = Vec::with_capacity(shares.len());
        for (at, weight) in shares {
            let mut terms = others.clone();
            terms.push(Term {
                kind: Kind::Ramp,
                at,
            });
            let Some(fit) = Coefficients::of(self.white, &terms) else {
                continue;
            };
            let (now, slope) = (self.now_weights(&terms), self.slope_weights(&terms));
            courses.push(Course {
                weight,
                level: fit.combine(&now),
                slope: fit.combine(&slope),
                level_variance: noise * fit.covariance_of(&now, &now),
                slope_variance: noise * fit.covariance_of(&slope, &slope),
                covariance: noise * fit.covariance_of(&now, &slope),
            });
        }
        let sum: f64 = courses.iter().map(|c| c.weight).sum();
        courses.iter_mut().for_each(|c| c.weight /= sum);
        courses
    }

    fn slope_weights(&self, terms: &[Term]) -> Vec<f64> {
        let mut weights = vec![0.0];
        weights.extend(terms.iter().map(|t| f64::from(t.kind == Kind::Ramp)));
        weights
    }

    fn now_weights(&self, terms: &[Term]) -> Vec<f64> {
        let day = |i: usize| self.white.days.get(i).copied().unwrap_or(0.0);
        let last = day(self.white.len() - 1);
        let mut weights = vec![1.0];
        weights.extend(terms.iter().map(|t| match t.kind {
            Kind::Step => 1.0,
            Kind::Ramp => last - day(t.at),
        }));
        weights
    }

    fn variance(&self, weights: &[f64]) -> f64 {
        (self.noise * self.fit.covariance_of(weights, weights)).max(f64::MIN_POSITIVE)
    }

    /// Whether a straight line through the medians and the rank test see the slope too.
    fn ranks_agree(&self, from: usize, slope: f64) -> bool {
        let days = self.white.days.get(from..).unwrap_or(&[]);
        let mut values = self.scaled.get(from..).unwrap_or(&[]).to_vec();
        for (term, size) in self.terms.iter().zip(self.fit.value.iter().skip(1)) {
            if term.kind == Kind::Step {
                let after = term.at.saturating_sub(from);
                values.iter_mut().skip(after).for_each(|v| *v -= size);
            }
        }
        let factor = if values.len() >= 30 {
            mann_kendall::autocorrelation_factor(days, &values).max(1.0)
        } else {
            1.0
        };
        let trend = line(days, &values, LEVEL, factor);
        let test = mann_kendall::test(&values, factor);
        trend.is_some_and(|l| l.slope.point * slope > 0.0)
            && test.is_some_and(|t| t.s * slope > 0.0 && t.p <= RANK_TEST_P)
    }
}

impl Scale<'_> {
    fn span(&self, earliest: usize, latest: usize) -> Option<Span> {
        Some(Span {
            earliest: *self.at.get(earliest)?,
            latest: *self.at.get(latest)?,
            level: LEVEL,
        })
    }

    /// Index in the caller's slices.
    fn index(&self, in_window: usize) -> usize {
        self.offset + in_window
    }
}

/// A single reading far from its neighbours is moved in to 4.5 standard deviations from
/// their median: it is a signal of its own, and must not pass for a step or bend a slope.
fn rein_in_lone_outliers(scaled: &mut [f64]) {
    const FAR: f64 = 4.5;
    let original = scaled.to_vec();
    for (i, slot) in scaled.iter_mut().enumerate() {
        let from = i.saturating_sub(3).min(original.len().saturating_sub(7));
        let around = original
            .get(from..(from + 7).min(original.len()))
            .unwrap_or(&[]);
        let middle = middle_of(around);
        let off = *slot - middle;
        if off.abs() <= FAR {
            continue;
        }
        let follows = |j: usize| {
            original
                .get(j)
                .is_some_and(|v| (v - middle) * off.signum() > 0.5 * FAR)
        };
        if !follows(i + 1) && !follows(i.wrapping_sub(1)) {
            *slot = middle + FAR * off.signum();
        }
    }
}

/// Median of at most seven numbers, without allocation.
fn middle_of(numbers: &[f64]) -> f64 {
    let mut sorted = [f64::INFINITY; 7];
    for (slot, v) in sorted.iter_mut().zip(numbers) {
        *slot = *v;
    }
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.get(numbers.len() / 2).copied().unwrap_or(0.0)
}

/// Autocorrelation believed after `readings` showed `estimate`.
fn believed_phi(estimate: f64, readings: f64, before: f64) -> f64 {
    let weighed =
        (readings * estimate + USUAL_PHI_READINGS * before) / (readings + USUAL_PHI_READINGS);
    weighed.clamp(0.0, LARGEST_PHI)
}

/// Lag-1 autocorrelation of what the model leaves, corrected for small-sample bias and
/// weighed with what was believed before.
fn residual_phi(
    days: &[f64],
    scaled: &[f64],
    white: &Whitened,
    terms: &[Term],
    before: f64,
) -> f64 {
    let Some(fit) = Coefficients::of(white, terms) else {
        return before;
    };
    let residuals: Vec<f64> = days
        .iter()
        .enumerate()
        .map(|(i, day)| {
            let sizes = fit.value.iter().skip(1).zip(terms);
            let changes: f64 = sizes
                .map(|(size, term)| match term.kind {
                    Kind::Step if i >= term.at => *size,
                    Kind::Ramp => size * (day - days.get(term.at).unwrap_or(day)).max(0.0),
                    Kind::Step => 0.0,
                })
                .sum();
            scaled.get(i).unwrap_or(&0.0) - fit.value.first().unwrap_or(&0.0) - changes
        })
        .collect();
    let near = 1.5 * usual_spacing(days);
    let (mut product, mut square, mut pairs) = (0.0, 0.0, 0.0);
    for ((e, day), (e_before, day_before)) in residuals
        .iter()
        .zip(days)
        .skip(1)
        .zip(residuals.iter().zip(days))
    {
        if day - day_before <= near {
            product += e * e_before;
            square += 0.5 * (e * e + e_before * e_before);
            pairs += 1.0;
        }
    }
    if pairs < 5.0 || square <= 0.0 {
        return before;
    }
    let plain: f64 = product / square;
    // Kendall (1954): the mean costs (1 + 3 phi) / n; each fitted change costs about as much as a mean.
    let corrected = plain + (1.0 + 3.0 * plain + terms.len() as f64) / pairs;
    believed_phi(corrected, pairs, before)
}
