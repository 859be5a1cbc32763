//! The level of a few independent results, as of the coupons of one cabinet.
//!
//! No carry-over and no slope: coupons have no order. Few results tell little of their own
//! spread, so a spread pooled over all cabinets may stand for it.

use super::{Level, NoLevel, Spread, sd_interval};
use crate::compare::robust::{Constants, algorithm_a};
use crate::stats::sum;

/// A standard deviation pooled over several participants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// The standard deviation, 0 or above.
    pub deviation: f64,
    /// Its degrees of freedom, above 0.
    pub freedom: f64,
}

/// The level of independent `results`, whose chance error is that of `pooled` where given.
///
/// One result has a mean, but a chance error only with a pooled spread: without one its
/// error is told as 0 with infinitely many degrees of freedom, and nothing can be said to
/// differ from it.
///
/// # Errors
///
/// [`NoLevel`] without a result, and for one that is not finite.
///
/// ```
/// use steadyfog::compare::level::{Pooled, level_of_results};
/// let pooled = Pooled { deviation: 2.0, freedom: 18.0 };
/// let level = level_of_results(&[69.0, 71.0, 70.0, 74.0], Some(pooled))?;
/// assert_eq!((level.mean, level.standard_error, level.freedom), (71.0, 1.0, 18.0));
/// # Ok::<(), steadyfog::compare::level::NoLevel>(())
/// ```
pub fn level_of_results(results: &[f64], pooled: Option<Pooled>) -> Result<Level, NoLevel> {
    if results.iter().any(|x| !x.is_finite()) {
        return Err(NoLevel::NotASeries);
    }
    let n = results.len();
    let mean = sum::mean(results).ok_or(NoLevel::NoReading)?;
    let own = sum::standard_deviation(results);
    let sd = own.unwrap_or(0.0);
    let spread = (own.filter(|sd| *sd > 0.0)).map(|sd| Spread {
        variance: sd * sd,
        freedom: n as f64 - 1.0,
    });
    let (variance, freedom) = match (pooled, spread) {
        (Some(pooled), _) if pooled.deviation > 0.0 && pooled.freedom > 0.0 => {
            (pooled.deviation.powi(2), pooled.freedom)
        }
        (_, Some(spread)) => (spread.variance, spread.freedom),
        _ => (0.0, f64::INFINITY),
    };
    Ok(Level {
        n,
        mean,
        sd,
        sd_interval: spread.and_then(sd_interval),
        robust_mean: algorithm_a(results, Constants::Exact).map_or(mean, |a| a.centre()),
        lag1_autocorrelation: None,
        carry_over: 0.0,
        n_effective: n as f64,
        n_effective_spread: spread.map(|_| n as f64),
        standard_error: (variance / n as f64).sqrt(),
        freedom,
        rounding_error: 0.0,
        slope_per_day: None,
        quantiles: Vec::new(),
        spread,
        fingerprint: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_spread_counts_where_none_is_pooled() {
        let level = level_of_results(&[69.0, 71.0], None).unwrap();
        assert_eq!((level.mean, level.freedom), (70.0, 1.0));
        assert!((level.standard_error - 1.0).abs() < 1e-12);
        let interval = level.sd_interval.unwrap();
        assert!(interval.low < level.sd && level.sd < interval.high);
    }

    #[test]
    fn one_result_has_a_mean_and_no_spread() {
        let alone = level_of_results(&[70.0], None).unwrap();
        assert_eq!((alone.mean, alone.standard_error), (70.0, 0.0));
        assert_eq!(alone.sd_interval, None);
        let pooled = Pooled {
            deviation: 2.0,
            freedom: 6.0,
        };
        let with = level_of_results(&[70.0], Some(pooled)).unwrap();
        assert_eq!((with.standard_error, with.freedom), (2.0, 6.0));
    }

    #[test]
    fn nothing_and_no_number_are_refused() {
        assert_eq!(level_of_results(&[], None), Err(NoLevel::NoReading));
        assert_eq!(
            level_of_results(&[70.0, f64::NAN], None),
            Err(NoLevel::NotASeries)
        );
    }
}
