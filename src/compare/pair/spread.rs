//! The ratio of two spreads with its simultaneous interval.
//!
//! It gives no verdict: a cabinet may be the steadier one without being the better one.

use super::factors::Factors;
use crate::compare::level::Level;
use crate::stats::Interval;
use statrs::function::gamma::digamma;

/// The ratio of the standard deviations of `a` and `b`; `None` where one has no spread.
///
/// ln s² is about normal with mean ln σ² + ψ(ν/2) − ln(ν/2) and variance ψ′(ν/2) (Bartlett
/// & Kendall, Suppl. J. R. Stat. Soc. 8 (1946) 128, from memory), ν allowing for carry-over;
/// the factor is the simultaneous one of the family at infinite degrees of freedom. The
/// point is the plain ratio. Readings far from normal make the interval too narrow.
pub(super) fn ratio(a: &Level, b: &Level, factors: &Factors) -> Option<Interval> {
    let (of_a, of_b) = (a.spread()?, b.spread()?);
    let centre = |variance: f64, freedom: f64| {
        let half = 0.5 * freedom;
        variance.ln() - digamma(half) + half.ln()
    };
    let middle = 0.5 * (centre(of_a.variance, of_a.freedom) - centre(of_b.variance, of_b.freedom));
    let error = 0.5 * (trigamma(0.5 * of_a.freedom) + trigamma(0.5 * of_b.freedom)).sqrt();
    let half = factors.simultaneous(f64::INFINITY) * error;
    let found = Interval {
        point: a.sd / b.sd,
        low: (middle - half).exp(),
        high: (middle + half).exp(),
        level: factors.level,
    };
    (found.point.is_finite() && found.low.is_finite() && found.high.is_finite()).then_some(found)
}

/// ψ′(x) for x above 0: recurrence to 8, then the asymptotic series (Abramowitz & Stegun
/// 6.4.6 and 6.4.12, from memory); ten digits.
fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < 8.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let y = 1.0 / (x * x);
    sum + 1.0 / x
        + 0.5 * y
        + y / x
            * (1.0 / 6.0 - y * (1.0 / 30.0 - y * (1.0 / 42.0 - y * (1.0 / 30.0 - y * 5.0 / 66.0))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trigamma_has_its_known_values() {
        let square = std::f64::consts::PI.powi(2);
        for (x, exact) in [
            (0.5, square / 2.0),
            (1.0, square / 6.0),
            (2.0, square / 6.0 - 1.0),
        ] {
            assert!((trigamma(x) / exact - 1.0).abs() < 1e-9, "{x}");
        }
    }
}
