//! What a fitted window claims: a drift, a shift, both or neither, with their uncertainty.
//!
//! The search has chosen the changes; here they are dated, sized, checked against ranks
//! and, if the slope is still there, carried forward.

use super::assess::{Assessment, SEARCH, Span};
use super::change_date::{ChangeDate, date_given};
use super::forecast::{Course, Forecast, HORIZON_DAYS, first_passage, slope_interval};
use super::segments::{Coefficients, Model, Term, basis_of, normal_square};
use super::theil_sen::line;
use super::whiten::{Kind, Whitened};
use super::{Drift, ForecastBreach, Shift, mann_kendall, normal_quantile_level};
use crate::time::Instant;

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

/// From scaled readings back to the series.
pub(super) struct Scale<'a> {
    pub(super) at: &'a [Instant],
    /// Readings of the stage before the window.
    pub(super) offset: usize,
    pub(super) centre: f64,
    pub(super) sigma: f64,
    pub(super) lower: Option<f64>,
    pub(super) upper: Option<f64>,
}

/// A fitted window with what the claims rest on.
pub(super) struct Judge<'a> {
    white: &'a Whitened,
    scaled: &'a [f64],
    terms: &'a [Term],
    fit: Coefficients,
    /// Noise variance and its degrees of freedom.
    noise: f64,
    freedom: f64,
}

impl<'a> Judge<'a> {
    pub(super) fn new(
        white: &'a Whitened,
        scaled: &'a [f64],
        model: &'a Model,
    ) -> Option<Judge<'a>> {
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

    pub(super) fn verdict(&self, scale: &Scale<'_>) -> Assessment {
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
            explained_by: None,
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
