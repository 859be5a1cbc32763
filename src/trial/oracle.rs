//! The oracle: a likelihood ratio that knows level, noise, autocorrelation and the size
//! of the change, but neither its sign nor its start. The physical limit to compare with.

use super::cabinet::{Cabinet, Change, LEVEL};
use super::told::Told;
use crate::drift::forecast::{Course, Forecast, first_passage};

/// Starts looked back for, in checks.
const REACH: usize = 120;

/// Kind and size of the change it knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Knows {
    /// Change a day, in the unit of the values.
    Slope(f64),
    /// Change at once, in standard deviations.
    Step(f64),
}

impl Knows {
    /// What it knows of a changed cabinet.
    pub(super) fn of(change: Change) -> Option<Knows> {
        match change {
            Change::None => None,
            Change::Ramp { slope, .. } => Some(Knows::Slope(slope)),
            Change::Step { sds, .. } => Some(Knows::Step(sds)),
        }
    }
}

/// Running sums of the whitened readings, level taken off, in true standard deviations.
struct Whitened {
    /// Before each reading: one·one, one·day, day·day, one·value, day·value.
    sums: Vec<[f64; 5]>,
    /// Each reading's whitened one and value, and the jump of a step.
    onset: Vec<[f64; 3]>,
    /// Standard deviation, rounding included.
    sd: f64,
}

impl Whitened {
    fn new(cabinet: &Cabinet, resolution: f64) -> Whitened {
        let sd = (cabinet.sd * cabinet.sd + resolution * resolution / 12.0).sqrt();
        let mut sums = vec![[0.0; 5]];
        let mut onset = Vec::with_capacity(cabinet.value.len());
        let mut total = [0.0; 5];
        let mut before: Option<(f64, f64)> = None;
        for (&day, &value) in cabinet.days.iter().zip(&cabinet.value) {
            let value = (value - LEVEL) / sd;
            let (day_before, value_before, rho) = match before {
                None => (0.0, 0.0, 0.0),
                Some((d, v)) => (d, v, cabinet.phi.powf((day - d).powf(cabinet.ageing))),
            };
            let scale = (1.0 - rho * rho).sqrt().recip();
            let one = (1.0 - rho) * scale;
            let white_day = (day - rho * day_before) * scale;
            let white = (value - rho * value_before) * scale;
            let terms = [
                one * one,
                one * white_day,
                white_day * white_day,
                one * white,
                white_day * white,
            ];
            for (slot, term) in total.iter_mut().zip(terms) {
                *slot += term;
            }
            sums.push(total);
            onset.push([one, white, rho * scale]);
            before = Some((day, value));
        }
        Whitened { sums, onset, sd }
    }

    fn after(&self, first: usize, at: usize) -> Option<[f64; 5]> {
        let (now, then) = (self.sums.get(at + 1)?, self.sums.get(first)?);
        let mut between = *now;
        for (slot, earlier) in between.iter_mut().zip(then) {
            *slot -= earlier;
        }
        Some(between)
    }

    /// Inner products column·column and column·value of a slope that is 0 at check `first`.
    fn slope(&self, days: &[f64], first: usize, at: usize) -> Option<(f64, f64)> {
        let knot = *days.get(first)?;
        let [one_one, one_day, day_day, one_value, day_value] = self.after(first + 1, at)?;
        let length = day_day + knot * (knot * one_one - 2.0 * one_day);
        Some((length, day_value - knot * one_value))
    }

    fn step(&self, first: usize, at: usize) -> Option<(f64, f64)> {
        let [one_one, _, _, one_value, _] = self.after(first, at)?;
        let [one, value, jump] = *self.onset.get(first)?;
        let length = one_one + jump * (2.0 * one + jump);
        Some((length, one_value + jump * value))
    }
}

/// Largest log likelihood ratio over starts and signs, at every check.
pub(super) fn evidence(cabinet: &Cabinet, knows: Knows, resolution: f64) -> Vec<f64> {
    let white = Whitened::new(cabinet, resolution);
    (0..cabinet.value.len())
        .map(|at| {
            (at.saturating_sub(REACH)..=at)
                .filter_map(|first| {
                    let (size, (length, product)) = match knows {
                        Knows::Slope(a_day) => {
                            (a_day / white.sd, white.slope(&cabinet.days, first, at)?)
                        }
                        Knows::Step(sds) => (sds * cabinet.sd / white.sd, white.step(first, at)?),
                    };
                    Some(size * product.abs() - 0.5 * size * size * length)
                })
                .fold(0.0, f64::max)
        })
        .collect()
}

/// Threshold at which the oracle's signals on steady cabinets come at `per_cabinet` each.
pub(super) fn threshold(steady: &[Vec<f64>], judged_from: usize, per_cabinet: f64) -> f64 {
    let (mut low, mut high) = (1.0, 20.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let signals: usize = steady
            .iter()
            .map(|evidence| Told::of_evidence(evidence, judged_from, middle).len())
            .sum();
        if signals as f64 > per_cabinet * steady.len() as f64 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// Width in days of the forecast interval of one who knows level before, noise and
/// autocorrelation, but neither start nor slope; `None` when nothing is in reach.
pub(super) fn forecast_width(cabinet: &Cabinet, resolution: f64, limits: [f64; 2]) -> Option<f64> {
    let white = Whitened::new(cabinet, resolution);
    let at = cabinet.value.len().checked_sub(1)?;
    let now = *cabinet.days.get(at)?;
    let lines: Vec<(f64, f64, f64, f64)> = (0..at.saturating_sub(2))
        .filter_map(|first| {
            let (length, product) = white.slope(&cabinet.days, first, at)?;
            (length > 0.0).then(|| {
                let likelihood = 0.5 * product * product / length;
                let run = now - cabinet.day(first);
                (likelihood, product / length, length.recip(), run)
            })
        })
        .collect();
    let most = lines.iter().map(|l| l.0).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = lines.iter().map(|l| (l.0 - most).exp()).sum();
    let courses: Vec<Course> = lines
        .iter()
        .map(|&(likelihood, slope, variance, run)| Course {
            weight: (likelihood - most).exp() / total,
            level: slope * run,
            slope,
            level_variance: variance * run * run,
            slope_variance: variance,
            covariance: variance * run,
        })
        .filter(|course| course.weight > 1e-4)
        .collect();
    let upward = courses.iter().map(|c| c.weight * c.slope).sum::<f64>() > 0.0;
    let [lower, upper] = limits;
    let limit = (if upward { upper } else { lower } - LEVEL) / white.sd;
    match first_passage(&courses, limit, upward, 0.8) {
        Forecast::Between {
            earliest,
            latest: Some(latest),
            ..
        } => Some(latest - earliest),
        _ => None,
    }
}
