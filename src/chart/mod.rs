//! Individuals and moving-range charts: where limits come from and what they are.
//!
//! Pure functions over a [`Series`]; no I/O, no clock. Whether a point is a signal is
//! `signal`'s.

mod autocorrelation;
mod censored;
pub mod constants;
pub mod individuals;
mod limits;
mod moving_range;
pub mod resolution;
mod say;

pub use individuals::{chart, gap_days_in_force, limits_of};
pub use limits::{FEWEST_FOR_USE, FEWEST_READINGS};
pub use moving_range::MovingRanges;
pub use resolution::decimals;
pub use say::{limits_say, no_limits_say};

use crate::series::Series;
use crate::time::Instant;
use std::ops::Range;
use std::sync::Arc;

/// Where limits come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// A baseline frozen in a file.
    Frozen,
    /// The first readings of the current stage, enough of them.
    OwnBaseline,
    /// 8 to 19 readings: shown, but too few to rely on.
    Trial,
}

impl Origin {
    /// The word of the wire format, as `own-baseline`.
    pub fn id(self) -> &'static str {
        match self {
            Origin::Frozen => "frozen",
            Origin::OwnBaseline => "own-baseline",
            Origin::Trial => "trial",
        }
    }
}

/// How sigma was estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SigmaMethod {
    /// Mean moving range over d2.
    MovingRange,
    /// Median moving range over 0.9539.
    MedianMovingRange,
    /// Moving range, corrected for lag-1 autocorrelation.
    MovingRangeAutocorrelated,
    /// Maximum likelihood for rounded (interval-censored) normal readings.
    IntervalCensored,
}

impl SigmaMethod {
    /// All methods.
    pub const ALL: [SigmaMethod; 4] = [
        SigmaMethod::MovingRange,
        SigmaMethod::MedianMovingRange,
        SigmaMethod::MovingRangeAutocorrelated,
        SigmaMethod::IntervalCensored,
    ];

    /// The word of the wire format and of baseline files, as `moving-range`.
    pub fn id(self) -> &'static str {
        match self {
            SigmaMethod::MovingRange => "moving-range",
            SigmaMethod::MedianMovingRange => "median-moving-range",
            SigmaMethod::MovingRangeAutocorrelated => "moving-range-autocorrelated",
            SigmaMethod::IntervalCensored => "interval-censored",
        }
    }
}

/// Control limits of one stage of one series, with how they came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Where they come from.
    pub origin: Origin,
    /// Readings used.
    pub n: usize,
    /// First reading used.
    pub from: Instant,
    /// Last reading used.
    pub to: Instant,
    /// Centre line, in the unit of the series.
    pub centre: f64,
    /// Standard deviation in force; above 0.
    pub sigma: f64,
    /// How it was estimated.
    pub sigma_method: SigmaMethod,
    /// Lower control limit: centre − 3 sigma.
    pub lower: f64,
    /// Upper control limit: centre + 3 sigma.
    pub upper: f64,
    /// Mean moving range, or its robust or modelled stand-in.
    pub moving_range_mean: f64,
    /// Upper limit of the moving range.
    pub moving_range_upper: f64,
    /// Bias-corrected lag-1 autocorrelation of the baseline; `None` when too few pairs.
    pub lag1: Option<f64>,
    /// Resolution of the readings; `None` when none could be told.
    pub resolution: Option<f64>,
    /// Sigma as mean moving range over d2, without allowances.
    pub plain_sigma: f64,
    /// Centre line without allowances (arithmetic mean).
    pub plain_centre: f64,
    /// Moving ranges used.
    pub moving_ranges: usize,
    /// Moving ranges not taken across gaps, exclusions and stages.
    pub moving_ranges_skipped: usize,
    /// Baseline readings outside their own screening limits: named, not dropped.
    pub screened: Vec<(Instant, f64)>,
}

/// Why a stage has no limits.
#[derive(Debug, Clone, PartialEq)]
pub enum NoLimits {
    /// Fewer than 8 valid readings.
    TooFew {
        /// Valid readings there are.
        n: usize,
    },
    /// All readings of the baseline are equal: no spread to set limits from.
    NoSpread {
        /// Readings, all equal.
        n: usize,
        /// Their value.
        value: f64,
    },
}

/// A stage with its limits.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartedStage {
    /// Indices of its readings in the series.
    pub readings: Range<usize>,
    /// The event that opened it; `None` for the first.
    pub opened_by: Option<Arc<str>>,
    /// Its limits, or why there are none.
    pub limits: Result<Limits, NoLimits>,
    /// Index of the first reading that rules may judge: the one after the baseline
    /// (readings.end while the baseline is still forming).
    pub judged_from: usize,
}

/// A series with its stages, limits and moving ranges.
#[derive(Debug, Clone)]
pub struct Chart<'a> {
    /// The readings.
    pub series: &'a Series,
    /// Stages in order; they cover the series without overlap.
    pub stages: Vec<ChartedStage>,
    /// Moving range of each reading to the valid reading before it.
    pub moving_ranges: MovingRanges<'a>,
}

/// How charts are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartOptions {
    /// Longest gap a moving range may span, days.
    pub gap_days: f64,
    /// Readings of an own baseline.
    pub baseline_readings: usize,
    /// Whether sigma comes from the median moving range.
    pub robust: bool,
}

#[cfg(test)]
pub(crate) mod tests_support {
    //! Series that several tests chart.

    use super::ChartOptions;
    use crate::characteristic::Characteristic;
    use crate::series::Series;
    use crate::stats::normal;
    use crate::time::Instant;
    use rand::{RngExt, SeedableRng};

    pub(crate) const OPTIONS: ChartOptions = ChartOptions {
        gap_days: 7.0,
        baseline_readings: 30,
        robust: false,
    };

    /// One reading a day from 1970-01-01 on, °C.
    pub(crate) fn daily(values: &[f64]) -> Series {
        let at = (0..values.len() as i64).map(|day| Instant(day * 86_400));
        let what = Characteristic::CabinetTemperature;
        Series::new("Plover", what, "°C", at.collect(), values.to_vec()).unwrap()
    }

    /// Normal readings about 35 with standard deviation 0.6 and lag-1 correlation `phi`.
    pub(crate) fn noisy(n: usize, phi: f64) -> Vec<f64> {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        let mut x = 0.0;
        (0..n)
            .map(|_| {
                let fresh = normal::quantile(rng.random()).unwrap_or(0.0);
                x = phi * x + f64::sqrt(1.0 - phi * phi) * fresh;
                35.0 + 0.6 * x
            })
            .collect()
    }
}
