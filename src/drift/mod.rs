//! Slow change (drift), step change (shift), and when a limit would be reached.
//!
//! Pure functions over slices of times and values; no I/O, no clock.

mod assess;
pub mod change_date;
#[cfg(test)]
pub(crate) mod fixtures;
pub mod forecast;
mod judge;
pub mod mann_kendall;
#[cfg(test)]
mod nile_breaks;
mod prepare;
pub(crate) mod segments;
#[cfg(test)]
mod tests;
pub mod theil_sen;
pub(crate) mod whiten;

pub use assess::{Assessment, Span, assess};

/// Lag-1 autocorrelation believed of daily checks after `readings` showed `estimate`, which is
/// not a number where it could not be told.
pub(crate) fn believed_phi(estimate: f64, readings: f64) -> f64 {
    let estimate = if estimate.is_finite() {
        estimate
    } else {
        prepare::USUAL_PHI
    };
    prepare::believed_phi(estimate, readings, prepare::USUAL_PHI)
}

use crate::time::Instant;
use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::erf::erfc;

/// P(Z > z) of a standard normal Z.
pub(crate) fn normal_tail(z: f64) -> f64 {
    0.5 * erfc(z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Quantile of the standard normal at `probability`, kept inside (0, 1).
pub(crate) fn normal_quantile(probability: f64) -> f64 {
    let inside = probability.clamp(1e-300, 1.0 - 1e-16);
    Normal::standard().inverse_cdf(inside)
}

/// Half width, in standard deviations, of the central normal interval of `level`.
pub(crate) fn normal_quantile_level(level: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * level)
}

/// A slow change with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Change per day, in the unit of the series.
    pub slope_per_day: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// Level of the interval, as 0.9.
    pub level: f64,
    /// When it began, estimated.
    pub since: Instant,
    /// Index of the reading at which it began.
    pub since_index: usize,
    /// Present level: the fitted line at the last reading.
    pub now: f64,
    /// When it would reach a conformance limit.
    pub breach: Option<ForecastBreach>,
}

/// When a drift would reach a conformance limit.
#[derive(Debug, Clone, PartialEq)]
pub struct ForecastBreach {
    /// The limit it would reach.
    pub limit: f64,
    /// Early end of the interval.
    pub earliest: Instant,
    /// Most likely date.
    pub likely: Instant,
    /// Late end; `None` when open (not within the horizon).
    pub latest: Option<Instant>,
    /// Level of the interval, as 0.8.
    pub level: f64,
}

/// A step change with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Shift {
    /// When, estimated: the first reading after the step.
    pub at: Instant,
    /// Index of that reading.
    pub at_index: usize,
    /// Early end of the confidence set for the date.
    pub earliest: Instant,
    /// Late end of the confidence set for the date.
    pub latest: Instant,
    /// Size, in the unit of the series.
    pub size: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// The event (in the lab's words) that explains it; `assess` knows of none.
    pub explained_by: Option<String>,
}
