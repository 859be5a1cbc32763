//! One cabinet's readings of one characteristic over a period: level, spread and slope,
//! each with what chance leaves uncertain.
//!
//! Readings carry over from check to check, which makes a mean less sure than its count
//! says; that is allowed for everywhere, and so is that the carry-over itself is known
//! poorly. What an instrument adds and what two cabinets' difference means is `pair`'s.

mod carry;
mod gaps;
mod plain;
mod results;
#[cfg(test)]
pub(crate) mod tests;
mod wander;

pub use results::{Pooled, level_of_results};

use crate::compare::robust::{Constants, algorithm_a};
use crate::stats::{Interval, quantile, sum, tails};
use carry::Carried;
use thiserror::Error;

/// Fewest readings of which a level is told.
pub const FEWEST_READINGS: usize = 8;
/// Level of the intervals of spread and slope.
const LEVEL: f64 = 0.95;
/// Quantiles told: 0 % to 100 % in steps of 5 %.
const QUANTILES: usize = 21;
/// Readings closer than this to each other, relatively, are equal: what separates them is
/// the arithmetic that made them, not a cabinet.
const SAME: f64 = 1e-12;
/// Different values from which on two equal series cannot be equal by chance.
const FEWEST_TO_RECOGNISE: usize = 4;

/// Whether readings may carry over from check to check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarryOver {
    /// Estimated from the readings and allowed for.
    Estimated,
    /// The readings are known to be independent of each other, as those of coupons.
    Excluded,
}

/// What is known of the readings beside their values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelOptions {
    /// Step in which the readings were written, in their unit; `None` when unknown.
    pub resolution: Option<f64>,
    /// Whether they may carry over.
    pub carry_over: CarryOver,
}

/// Level, spread and slope of one series; values in the unit of the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Readings.
    pub n: usize,
    /// Mean.
    pub mean: f64,
    /// Standard deviation of the readings (n − 1), 0 when all are equal.
    pub sd: f64,
    /// 95 % interval of the standard deviation that the cabinet shows in the long run;
    /// carry-over makes the point inside it larger than `sd`. `None` when all are equal.
    pub sd_interval: Option<Interval>,
    /// Huber's robust mean (Algorithm A of ISO 13528, from memory).
    pub robust_mean: f64,
    /// Lag-1 autocorrelation over the usual spacing, bias-corrected, −0.99 to 0.99; `None`
    /// with fewer than 8 such neighbours or no spread.
    pub lag1_autocorrelation: Option<f64>,
    /// The carry-over allowed for, 0 to 0.95: φ averaged over what the readings leave possible.
    pub carry_over: f64,
    /// Independent readings that would tell as much of the mean: (sd / its chance error)²,
    /// at most `n`; 1 when all are equal.
    pub n_effective: f64,
    /// Independent readings that would tell as much of the spread; `None` when all are equal.
    pub n_effective_spread: Option<f64>,
    /// Chance standard error of the mean, rounding counted.
    pub standard_error: f64,
    /// Its degrees of freedom; infinite when it is rounding alone.
    pub freedom: f64,
    /// The part of `standard_error` that more readings do not make smaller: rounding in
    /// steps that are coarse beside the spread.
    pub rounding_error: f64,
    /// Change per day with its 95 % interval; `None` without spread in time or about the line.
    pub slope_per_day: Option<Interval>,
    /// 21 quantiles, 0 % to 100 % in steps of 5 %.
    pub quantiles: Vec<f64>,
    /// The plain variance's moments; `None` when all are equal.
    spread: Option<Spread>,
    /// Equal for equal series; `None` when equality might be chance.
    fingerprint: Option<u64>,
}

/// How the plain variance estimates the true one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spread {
    /// Estimate of the true variance.
    pub(crate) variance: f64,
    /// Its degrees of freedom.
    pub(crate) freedom: f64,
}

impl Level {
    pub(crate) fn spread(&self) -> Option<Spread> {
        self.spread
    }

    /// Whether the two were made from the same readings, and that is no accident.
    pub(crate) fn is_copy_of(&self, other: &Level) -> bool {
        self.fingerprint.is_some() && self.fingerprint == other.fingerprint
    }
}

/// Why there is no level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoLevel {
    /// No reading at all.
    #[error("there is no reading in the period compared")]
    NoReading,
    /// Too few readings.
    #[error("{n} {} in the period compared; a level needs at least {FEWEST_READINGS}", if *n == 1 { "reading" } else { "readings" })]
    TooFew {
        /// Readings there are.
        n: usize,
    },
    /// Numbers whose squares are no numbers.
    #[error(
        "the readings are too large, or too close to nothing, to compute with; look for a wrong unit"
    )]
    OutOfReach,
    /// Something that is no series.
    #[error(
        "the readings are not a series: times and values must be finite numbers, as many of the one as of the other, and times must not run backwards"
    )]
    NotASeries,
}

/// The level of `values` (any unit) on ascending `days` (times in days, any origin).
///
/// Missing readings must be left out beforehand. Two readings at one time are allowed.
///
/// The error of the plain mean is that of a first-order autoregression: for each φ the
/// restricted likelihood and the variance of the mean that goes with it; over φ it is
/// averaged with a flat prior on 0 to 0.95, and the t distribution of the same variance
/// and kurtosis is told. Slow wandering beyond that, found in the slowest waves of the
/// period, makes it larger still. No published source for the whole; the parts are common
/// practice.
///
/// # Errors
///
/// [`NoLevel`] below 8 readings and for what is no ordered, finite series of usable numbers.
///
/// ```
/// use steadyfog::compare::level::{CarryOver, LevelOptions, level};
/// let days: Vec<f64> = (0..12).map(f64::from).collect();
/// let values = [7.1, 7.3, 7.2, 7.0, 7.2, 7.4, 7.1, 7.2, 7.3, 7.1, 7.2, 7.3];
/// let options = LevelOptions { resolution: Some(0.1), carry_over: CarryOver::Estimated };
/// let found = level(&days, &values, options)?;
/// assert_eq!(found.n, 12);
/// assert!((found.mean - 7.2).abs() < 1e-9);
/// // Nobody can rule out carry-over from twelve readings.
/// assert!(found.standard_error > found.sd / 12f64.sqrt());
/// # Ok::<(), steadyfog::compare::level::NoLevel>(())
/// ```
pub fn level(days: &[f64], values: &[f64], options: LevelOptions) -> Result<Level, NoLevel> {
    let n = values.len();
    let finite = days.iter().chain(values).all(|x| x.is_finite());
    if days.len() != n || !finite || days.windows(2).any(|pair| pair[1] < pair[0]) {
        return Err(NoLevel::NotASeries);
    }
    if n == 0 {
        return Err(NoLevel::NoReading);
    }
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let (true, Some((mean, sd)), Some(robust)) = (
        n >= FEWEST_READINGS,
        sum::mean_and_deviation(values),
        algorithm_a(&sorted, Constants::Exact).ok(),
    ) else {
        return Err(NoLevel::TooFew { n });
    };
    let quantiles = (0..QUANTILES)
        .filter_map(|i| quantile::quantile_of_sorted(&sorted, i as f64 / (QUANTILES - 1) as f64))
        .collect();
    let resolution = options.resolution.filter(|r| r.is_finite() && *r > 0.0);
    let all_equal = match (sorted.first(), sorted.last()) {
        (Some(low), Some(high)) => high - low <= SAME * low.abs().max(high.abs()),
        _ => true,
    };
    let mut found = Level {
        n,
        mean: if all_equal { robust.centre() } else { mean },
        sd: if all_equal { 0.0 } else { sd },
        sd_interval: None,
        robust_mean: robust.centre(),
        lag1_autocorrelation: None,
        carry_over: 0.0,
        n_effective: 1.0,
        n_effective_spread: None,
        standard_error: 0.0,
        freedom: f64::INFINITY,
        rounding_error: resolution.map_or(0.0, |step| plain::rounding_error(step, 0.0)),
        slope_per_day: None,
        quantiles,
        spread: None,
        fingerprint: plain::fingerprint(days, values, &sorted, FEWEST_TO_RECOGNISE),
    };
    found.standard_error = found.rounding_error;
    if all_equal {
        return Ok(found);
    }
    let independent = options.carry_over == CarryOver::Excluded;
    let carried = Carried::new(days, values, mean, independent);
    let Some(mut error) = carried.mean_error() else {
        return Err(NoLevel::OutOfReach);
    };
    let wander = wander::wander(values, mean, error.mean.variance, error.carry_over);
    if let Some(wander) = wander.filter(|_| !independent) {
        error.mean.variance *= wander.factor;
        error.mean.freedom = error.mean.freedom.min(wander.freedom);
    }
    let spread = carried.spread(&error);
    found.carry_over = error.carry_over;
    found.n_effective = (sd * sd / error.mean.variance).min(n as f64);
    found.n_effective_spread = Some((spread.freedom + 1.0).min(n as f64));
    found.rounding_error = resolution.map_or(0.0, |step| plain::rounding_error(step, sd));
    let rounding = found.rounding_error * found.rounding_error;
    let variance = error.mean.variance + rounding;
    found.standard_error = variance.sqrt();
    // Welch–Satterthwaite; rounding has infinitely many degrees of freedom.
    found.freedom = error.mean.freedom * (variance / error.mean.variance).powi(2);
    found.lag1_autocorrelation = plain::lag1(days, values, mean);
    let estimate = Spread {
        variance: sd * sd / spread.kept,
        freedom: spread.freedom,
    };
    found.sd_interval = sd_interval(estimate);
    found.spread = Some(estimate);
    found.slope_per_day = carried.slope_estimate().and_then(|slope| {
        let half = tails::t_exceeded(0.5 * (1.0 - LEVEL), slope.freedom)? * slope.variance.sqrt();
        Some(Interval {
            point: slope.point,
            low: slope.point - half,
            high: slope.point + half,
            level: LEVEL,
        })
    });
    Ok(found)
}

/// The chi-square interval of a standard deviation.
fn sd_interval(spread: Spread) -> Option<Interval> {
    let tail = 0.5 * (1.0 - LEVEL);
    let end = |p: f64| {
        let chi = tails::chi_square_exceeded(p, spread.freedom)?;
        Some((spread.variance * spread.freedom / chi).sqrt())
    };
    Some(Interval {
        point: spread.variance.sqrt(),
        low: end(tail)?,
        high: end(1.0 - tail)?,
        level: LEVEL,
    })
}
