//! What limits from a short, autocorrelated or rounded baseline leave unknown, as rules
//! allow for it.
//!
//! Three sigma from 30 readings is not three sigma: the centre line and sigma are
//! themselves estimates, and a limit set without regard to that alarms several times
//! as often as promised. Rules of a set with allowances ask for that much more; those
//! of a published set stay as published ([`Allowance::NONE`]).

use crate::chart::{Limits, SigmaMethod};

/// Lag-1 autocorrelation that cabinet logs show on average (common practice, no
/// source), and how many readings of the baseline that expectation is worth: φ from
/// 30 readings has a standard error near 0.18, too much to be taken at its word.
const EXPECTED_LAG1: f64 = 0.25;
const EXPECTED_LAG1_WEIGHT: f64 = 24.0;

/// Degrees of freedom of sigma from n − 1 overlapping moving ranges of two, for each of
/// them: their mean has the variance of a standard deviation from 0.605 times as many
/// readings (var of the mean moving range 0.826 σ²/(n − 1) after division by d2; Cryer &
/// Ryan, J Qual Technol 22 (1990) 187; from memory).
const FREEDOM_PER_RANGE: f64 = 0.605;

/// Normal quantile of the limits, in sigma: what is allowed for is its stand-in from an
/// estimated sigma.
const THREE: f64 = 3.0;

/// Fewest degrees of freedom for which the expansion of the quantile is used: below it
/// (baselines of 8 readings) it would no longer hold.
const LEAST_FREEDOM: f64 = 5.0;

/// Most by which sigma is raised for autocorrelation that its limits do not allow for.
const MOST_HIDDEN: f64 = 1.25;

/// What a rule allows for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// Lag-1 autocorrelation, within 0 to 0.9; 0 for independent readings.
    pub lag1: f64,
    /// Half a step of rounded readings in sigma, where the limits come from rounded
    /// readings; else 0. A reading may stand for any value that far away.
    pub rounding: f64,
    /// Factor on a distance of three sigma for what the baseline leaves unknown; 1 for
    /// none.
    pub widening: f64,
    /// Standard error of the centre line, in sigma.
    pub centre_error: f64,
    /// Readings of the baseline.
    pub readings: usize,
}

impl Allowance {
    /// Nothing is allowed for: limits are taken as known, readings as independent.
    pub const NONE: Allowance = Allowance {
        lag1: 0.0,
        rounding: 0.0,
        widening: 1.0,
        centre_error: 0.0,
        readings: 0,
    };

    /// What limits leave unknown.
    ///
    /// The widening is that of a prediction: Student's quantile with the degrees of freedom
    /// of sigma in place of 3, times √(1 + 1/m) for the centre line, where m independent
    /// readings tell as much of the mean as the baseline does, n(1 − φ)/(1 + φ). φ is the
    /// baseline's, drawn toward what cabinets show while it is short.
    pub fn of(limits: &Limits) -> Allowance {
        let n = limits.n.max(2) as f64;
        let lag1 = expected_lag1(limits);
        let independent = (n * (1.0 - lag1) / (1.0 + lag1)).max(2.0);
        let rounded = limits.sigma_method == SigmaMethod::IntervalCensored;
        let (scatter, hidden) = if rounded {
            // Counts of rounded values: a standard deviation from autocorrelated readings.
            let freedom = (n - 1.0) * (1.0 - lag1 * lag1) / (1.0 + lag1 * lag1);
            (0.5 / freedom.max(1.0), 1.0)
        } else {
            let of_ranges = 0.5 / (FREEDOM_PER_RANGE * (n - 1.0));
            // σ = plain σ / √(1 − φ): the error of φ goes through the derivative.
            let of_lag1 = 0.25 * (1.0 + lag1) / (n * (1.0 - lag1));
            let allowed_for = limits.plain_sigma / limits.sigma;
            let hidden = allowed_for / (1.0 - lag1).sqrt();
            (of_ranges + of_lag1, hidden.clamp(1.0, MOST_HIDDEN))
        };
        let freedom = (0.5 / scatter).max(LEAST_FREEDOM);
        Allowance {
            lag1,
            rounding: match limits.resolution {
                Some(step) if rounded => 0.5 * step / limits.sigma,
                _ => 0.0,
            },
            widening: student(THREE, freedom) / THREE * (1.0 + 1.0 / independent).sqrt() * hidden,
            centre_error: 1.0 / independent.sqrt(),
            readings: limits.n,
        }
    }

    /// The distance at which a reading is beyond `sigmas` for certain, in sigma.
    pub fn reach(&self, sigmas: f64) -> f64 {
        sigmas * self.widening + self.rounding
    }

    /// `rounding and limits from 30 readings`: what is allowed for; `None` for nothing.
    pub fn says(&self) -> Option<String> {
        let short =
            (self.widening > 1.0).then(|| format!("limits from {} readings", self.readings));
        match (self.rounding > 0.0, short) {
            (true, Some(short)) => Some(format!("rounding and {short}")),
            (false, Some(short)) => Some(short),
            (true, None) => Some("rounding".to_owned()),
            (false, None) => None,
        }
    }
}

/// The baseline's autocorrelation, drawn toward what cabinets show while it is short.
fn expected_lag1(limits: &Limits) -> f64 {
    let n = limits.n as f64;
    let lag1 = limits.lag1.map_or(EXPECTED_LAG1, |lag1| {
        (n * lag1 + EXPECTED_LAG1_WEIGHT * EXPECTED_LAG1) / (n + EXPECTED_LAG1_WEIGHT)
    });
    lag1.clamp(0.0, 0.9)
}

/// Student's quantile where the normal one is `z`, by its expansion in 1/`freedom`
/// (Abramowitz & Stegun 26.7.5, from memory).
fn student(z: f64, freedom: f64) -> f64 {
    let (z2, v) = (z * z, freedom);
    let one = z * (z2 + 1.0) / 4.0;
    let two = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0;
    let three = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0;
    z + one / v + two / (v * v) + three / (v * v * v)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::fixture::limits;
    use statrs::distribution::{ContinuousCDF, StudentsT};

    #[test]
    fn the_expansion_agrees_with_the_quantile_it_stands_for() {
        let tail = crate::drift::normal_tail(3.0);
        for freedom in [8.0, 12.0, 18.0, 40.0, 1000.0] {
            let exact = StudentsT::new(0.0, 1.0, freedom)
                .unwrap()
                .inverse_cdf(1.0 - tail);
            let found = student(3.0, freedom);
            assert!(
                (found / exact - 1.0).abs() < 0.01,
                "{freedom}: {found} {exact}"
            );
        }
    }

    #[test]
    fn a_longer_baseline_needs_less_allowance_and_rounding_counts_only_where_limits_know_it() {
        let of = |n, lag1| {
            Allowance::of(&Limits {
                n,
                lag1: Some(lag1),
                ..limits(0.0, 1.0)
            })
        };
        assert!(of(30, 0.0).widening > of(60, 0.0).widening);
        assert!(of(30, 0.5).widening > of(30, 0.0).widening);
        assert!((of(100_000, 0.0).widening - 1.0).abs() < 0.001);
        assert!((of(30, 0.0).widening - 1.3).abs() < 0.15);
        assert_eq!(of(30, 0.0).rounding, 0.0);
        assert_eq!(
            of(30, 0.0).says().as_deref(),
            Some("limits from 30 readings")
        );
        let rounded = Allowance::of(&Limits {
            sigma_method: SigmaMethod::IntervalCensored,
            resolution: Some(0.8),
            ..limits(0.0, 1.0)
        });
        assert_eq!(rounded.rounding, 0.4);
        assert_eq!(
            rounded.says().as_deref(),
            Some("rounding and limits from 30 readings")
        );
        assert_eq!(Allowance::NONE.says(), None);
    }
}
