//! Control limits from the readings of one baseline.
//!
//! One place decides how sigma is estimated: plainly from the mean moving range; from the
//! median one; widened for carry-over; or from the rounded readings themselves. Which
//! readings make the baseline is `individuals`' to say.

use super::autocorrelation::carry_over;
use super::censored::fit_rounded;
use super::constants::{D2_OF_TWO, D3_OF_TWO, D4_OF_TWO, MEDIAN_RANGE_OF_TWO};
use super::resolution::common_step;
use super::{ChartOptions, Limits, NoLimits, Origin, SigmaMethod};
use crate::stats::{quantile, sum};
use crate::time::Instant;

/// Valid readings below which there are no limits (common practice, no source).
pub const FEWEST_READINGS: usize = 8;
/// Valid readings below which limits are only shown as a trial (common practice, no source).
pub const FEWEST_FOR_USE: usize = 20;
/// Values a moving range must be able to take from 0 to its upper limit, else the
/// resolution is coarse (common practice, no source).
const FEWEST_RANGE_VALUES: f64 = 5.0;

/// The valid readings of a baseline: parallel slices, in time order.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Baseline<'a> {
    pub(crate) at: &'a [Instant],
    pub(crate) values: &'a [f64],
    /// Moving range to the valid reading before; NaN where none is taken.
    pub(crate) ranges: &'a [f64],
    /// Whether its first reading is the first of the series, which has nothing before it.
    pub(crate) opens_series: bool,
}

/// Centre and spread as finally used.
struct Estimate {
    method: SigmaMethod,
    centre: f64,
    sigma: f64,
    range_mean: f64,
    range_upper: f64,
}

impl Estimate {
    /// The moving-range line and limit that go with sigma of neighbouring readings.
    fn from_sigma(method: SigmaMethod, centre: f64, sigma: f64, range_sigma: f64) -> Estimate {
        Estimate {
            method,
            centre,
            sigma,
            range_mean: D2_OF_TWO * range_sigma,
            range_upper: (D2_OF_TWO + 3.0 * D3_OF_TWO) * range_sigma,
        }
    }
}

/// Limits from a baseline; `scratch` is overwritten.
///
/// # Errors
/// [`NoLimits::TooFew`] with fewer than 8 readings or 7 moving ranges;
/// [`NoLimits::NoSpread`] when all readings are equal.
pub(crate) fn limits_from(
    baseline: Baseline<'_>,
    options: &ChartOptions,
    scratch: &mut Vec<f64>,
) -> Result<Limits, NoLimits> {
    let values = baseline.values;
    let n = values.len();
    let (Some(from), Some(to)) = (baseline.at.first(), baseline.at.last()) else {
        return Err(NoLimits::TooFew { n });
    };
    if n < FEWEST_READINGS {
        return Err(NoLimits::TooFew { n });
    }
    scratch.clear();
    scratch.extend_from_slice(values);
    scratch.sort_unstable_by(f64::total_cmp);
    let (Some(least), Some(most), Some(median)) = (
        scratch.first().copied(),
        scratch.last().copied(),
        quantile::median_of_sorted(scratch),
    ) else {
        return Err(NoLimits::TooFew { n });
    };
    // Equal readings may differ by the rounding of a unit conversion.
    if most - least <= 1e-12 * most.abs().max(least.abs()) {
        return Err(NoLimits::NoSpread { n, value: median });
    }
    let taken = baseline.ranges.iter().filter(|r| !r.is_nan());
    let (count, total) = taken.fold((0_usize, 0.0), |(n, t), r| (n + 1, t + r));
    if count < FEWEST_READINGS - 1 {
        return Err(NoLimits::TooFew { n });
    }
    let mean = sum::sum(values) / n as f64;
    let carried = carry_over(
        values,
        baseline.ranges,
        mean,
        sum::squares_about_mean(values),
    );
    let widening = carried.map_or(1.0, |c| c.widening());
    let independent = n as f64 * carried.map_or(1.0, |c| c.independent_share());
    let range_mean = total / count as f64;
    let plain_sigma = range_mean / D2_OF_TWO;
    let resolution = common_step(scratch);
    let coarse = resolution
        .filter(|step| (D4_OF_TWO * range_mean / step).floor() + 1.0 < FEWEST_RANGE_VALUES)
        .and_then(|step| fit_rounded(scratch, step));

    scratch.clear();
    scratch.extend(baseline.ranges.iter().filter(|r| !r.is_nan()));
    let median_range = quantile::median(scratch).unwrap_or(0.0);
    let robust_sigma = median_range / MEDIAN_RANGE_OF_TWO;

    let used = match coarse {
        // The counts of rounded values show the whole spread, carry-over included; the
        // moving range has that part taken out again. Maximum likelihood divides by n, where
        // the mean has used up one independent reading.
        Some(fit) => {
            let sigma = fit.sigma * (independent / (independent - 1.0)).sqrt();
            let method = SigmaMethod::IntervalCensored;
            Estimate::from_sigma(method, fit.centre, sigma, sigma / widening)
        }
        None => {
            let robust = options.robust && robust_sigma > 0.0;
            let (centre, sigma) = if robust {
                (median, robust_sigma)
            } else {
                (mean, plain_sigma)
            };
            let method = match (widening > 1.0, robust) {
                (true, _) => SigmaMethod::MovingRangeAutocorrelated,
                (false, true) => SigmaMethod::MedianMovingRange,
                (false, false) => SigmaMethod::MovingRange,
            };
            Estimate::from_sigma(method, centre, sigma * widening, sigma)
        }
    };
    if !(used.sigma > 0.0 && used.sigma.is_finite()) {
        return Err(NoLimits::NoSpread { n, value: median });
    }

    let screen_sigma = match used.method {
        SigmaMethod::IntervalCensored => used.sigma,
        _ if robust_sigma > 0.0 => robust_sigma * widening,
        _ => used.sigma,
    };
    let reach = 3.0 * screen_sigma + 0.5 * resolution.unwrap_or(0.0);
    let screened = baseline.at.iter().zip(values);
    let screened = screened.filter(|(_, value)| (**value - median).abs() > reach);
    Ok(Limits {
        origin: if n < FEWEST_FOR_USE {
            Origin::Trial
        } else {
            Origin::OwnBaseline
        },
        n,
        from: *from,
        to: *to,
        centre: used.centre,
        sigma: used.sigma,
        sigma_method: used.method,
        lower: used.centre - 3.0 * used.sigma,
        upper: used.centre + 3.0 * used.sigma,
        moving_range_mean: used.range_mean,
        moving_range_upper: used.range_upper,
        lag1: carried.map(|c| c.estimate),
        resolution,
        plain_sigma,
        plain_centre: mean,
        moving_ranges: count,
        moving_ranges_skipped: n - count - usize::from(baseline.opens_series),
        screened: screened.map(|(at, value)| (*at, *value)).collect(),
    })
}
