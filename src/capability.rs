//! Capability of a steady series against its conformance limits
//! (NIST/SEMATECH e-Handbook 6.1.6).
//!
//! It weighs what the cabinet does against what the standard asks, and refuses where the
//! indices would mean nothing. Whether the series is steady is decided by the review.

use crate::stats::{Interval, normal, sum, tails};
use std::sync::OnceLock;

/// Capability indices with their intervals.
#[derive(Debug, Clone, PartialEq)]
pub struct Capability {
    /// Cp (within sigma); `None` when a limit is missing.
    pub cp: Option<crate::stats::Interval>,
    /// Cpk (within sigma).
    pub cpk: crate::stats::Interval,
    /// Pp (overall s); `None` when a limit is missing.
    pub pp: Option<f64>,
    /// Ppk (overall s).
    pub ppk: f64,
    /// Expected fraction outside, under normality with the overall s.
    pub expected_outside: f64,
    /// Readings it rests on.
    pub n: usize,
}

/// Why capability is not given: one sentence for the reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal(pub String);

/// Readings below which capability is refused (common practice, no source).
pub const FEWEST_READINGS: usize = 20;

/// Level of the intervals.
const LEVEL: f64 = 0.95;

/// Degrees of freedom of a sigma from n moving ranges of two: their mean has a relative
/// variance of 0.826/n, that of a chi-square with 0.605 n degrees of freedom
/// (Cryer & Ryan, J. Qual. Technol. 22 (1990) 187, from memory; checked by simulation).
const FREEDOM_OF_A_MOVING_RANGE: f64 = 0.605;

/// Sigma from the control limits, which Cp and Cpk use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithinSigma {
    /// Standard deviation in the unit of the readings; above 0.
    pub value: f64,
    /// Moving ranges it was estimated from.
    pub moving_ranges: usize,
}

/// Capability of `values`, the valid readings of the period, in the unit of the limits.
///
/// Cp and Cpk use `sigma`, Pp and Ppk the standard deviation of `values` with n − 1.
/// Intervals (95 %) allow for the readings that sigma rests on: chi-square for Cp; normal,
/// with the variance 1/(9n) + Cpk²/(2ν), for Cpk (Bissell, Appl. Statist. 39 (1990) 331, from memory).
/// With one limit only that side counts, and Cp and Pp are left out.
/// `unsteady` is why the series is not steady, as the end of a sentence; `None` when it is.
///
/// # Errors
/// [`Refusal`] when there is no limit, the limits are crossed, the series is not steady,
/// there are fewer than 20 readings, or they have no spread.
pub fn capability(
    values: &[f64],
    sigma: WithinSigma,
    lower: Option<f64>,
    upper: Option<f64>,
    unsteady: Option<&str>,
) -> Result<Capability, Refusal> {
    let refuse = |why: String| Err(Refusal(format!("Capability is not given: {why}.")));
    let window = match Window::new(lower, upper) {
        Ok(window) => window,
        Err(why) => return refuse(why),
    };
    if let Some(why) = unsteady {
        return refuse(why.trim_end_matches('.').to_owned());
    }
    let n = values.len();
    if n < FEWEST_READINGS {
        return refuse(format!(
            "it rests on {n} reading{}, and {FEWEST_READINGS} are the fewest that say anything",
            if n == 1 { "" } else { "s" }
        ));
    }
    let Some((mean, overall)) = sum::mean_and_deviation(values) else {
        return refuse("there are no readings".to_owned());
    };
    let usable = |x: f64| x > 0.0 && x.is_finite();
    if !usable(overall) || !usable(sigma.value) {
        return refuse(
            "the readings are all equal, so nothing tells how much they vary".to_owned(),
        );
    }
    let freedom = freedom_of(sigma.moving_ranges);
    Ok(Capability {
        cp: window
            .width()
            .map(|w| ratio_interval(w / (6.0 * sigma.value), sigma.moving_ranges)),
        cpk: nearest_interval(window.nearest(mean) / (3.0 * sigma.value), n, freedom),
        pp: window.width().map(|w| w / (6.0 * overall)),
        ppk: window.nearest(mean) / (3.0 * overall),
        expected_outside: window.outside(mean, overall),
        n,
    })
}

impl Capability {
    /// What the indices rest on, in a sentence.
    pub fn says(&self) -> String {
        let which = if self.cp.is_some() {
            "both limits"
        } else {
            "its one limit"
        };
        format!(
            "Capability rests on {} readings of a steady series against {which} of the window; \
             Cpk lies between {:.2} and {:.2} with {:.0} % confidence.",
            self.n,
            self.cpk.low,
            self.cpk.high,
            100.0 * self.cpk.level
        )
    }
}

/// At least one limit, the lower below the upper.
#[derive(Debug, Clone, Copy)]
enum Window {
    Both(f64, f64),
    Lower(f64),
    Upper(f64),
}

impl Window {
    fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Window, String> {
        match (lower, upper) {
            (Some(low), Some(high)) if low < high => Ok(Window::Both(low, high)),
            (Some(low), Some(high)) => Err(format!(
                "the lower conformance limit {low} is not below the upper one {high}"
            )),
            (Some(low), None) => Ok(Window::Lower(low)),
            (None, Some(high)) => Ok(Window::Upper(high)),
            (None, None) => Err("no conformance limit is known for it".to_owned()),
        }
    }

    fn width(self) -> Option<f64> {
        match self {
            Window::Both(low, high) => Some(high - low),
            Window::Lower(_) | Window::Upper(_) => None,
        }
    }

    /// Distance from the mean to the nearer limit; below 0 when the mean is outside.
    fn nearest(self, mean: f64) -> f64 {
        match self {
            Window::Both(low, high) => (mean - low).min(high - mean),
            Window::Lower(low) => mean - low,
            Window::Upper(high) => high - mean,
        }
    }

    /// The normal probability outside.
    fn outside(self, mean: f64, sigma: f64) -> f64 {
        let under = |low: f64| normal::below((low - mean) / sigma);
        let over = |high: f64| normal::above((high - mean) / sigma);
        match self {
            Window::Both(low, high) => under(low) + over(high),
            Window::Lower(low) => under(low),
            Window::Upper(high) => over(high),
        }
    }
}

/// Degrees of freedom of a sigma from so many moving ranges.
fn freedom_of(moving_ranges: usize) -> f64 {
    (FREEDOM_OF_A_MOVING_RANGE * moving_ranges as f64).max(1.0)
}

/// By what a sigma's ratio to the true one may differ from 1, at both ends of its interval;
/// NaN where it cannot be told.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Factors {
    low: f64,
    high: f64,
}

impl Factors {
    fn of(moving_ranges: usize) -> Factors {
        let freedom = freedom_of(moving_ranges);
        let end = |p: f64| {
            let square = tails::chi_square_exceeded(p, freedom);
            square.map_or(f64::NAN, |x| (x / freedom).sqrt())
        };
        let tail = 0.5 * (1.0 - LEVEL);
        Factors {
            low: end(1.0 - tail),
            high: end(tail),
        }
    }

    /// Those of a count that baselines usually have are solved for once: a fleet has a
    /// thousand series of each, and solving takes longer than the whole index.
    fn known(moving_ranges: usize) -> Factors {
        static KNOWN: [OnceLock<Factors>; 64] = [const { OnceLock::new() }; 64];
        match KNOWN.get(moving_ranges) {
            Some(known) => *known.get_or_init(|| Factors::of(moving_ranges)),
            None => Factors::of(moving_ranges),
        }
    }
}

fn ratio_interval(point: f64, moving_ranges: usize) -> Interval {
    let factors = Factors::known(moving_ranges);
    Interval {
        point,
        low: point * factors.low,
        high: point * factors.high,
        level: LEVEL,
    }
}

fn nearest_interval(point: f64, n: usize, freedom: f64) -> Interval {
    let z = normal::quantile(0.5 * (1.0 + LEVEL)).unwrap_or(f64::NAN);
    let half = z * (1.0 / (9.0 * n as f64) + point * point / (2.0 * freedom)).sqrt();
    Interval {
        point,
        low: point - half,
        high: point + half,
        level: LEVEL,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::constants::D2_OF_TWO;
    use crate::stats::reference::assert_close;
    use rand::{RngExt, SeedableRng};

    /// Forty readings with exactly that mean and standard deviation (n − 1).
    fn exactly(mean: f64, s: f64) -> Vec<f64> {
        let half = s * (39.0_f64 / 40.0).sqrt();
        (0..40)
            .map(|i| if i % 2 == 0 { mean - half } else { mean + half })
            .collect()
    }

    fn within(value: f64) -> WithinSigma {
        WithinSigma {
            value,
            moving_ranges: 39,
        }
    }

    #[test]
    fn factors_kept_are_those_solved_for() {
        for moving_ranges in [0, 7, 29, 29, 63, 64, 400] {
            let kept = Factors::known(moving_ranges);
            assert_eq!(kept, Factors::of(moving_ranges));
            assert!(kept.low < 1.0 && kept.high > 1.0, "{kept:?}");
        }
    }

    #[test]
    fn published_examples_reproduce() {
        // NIST/SEMATECH e-Handbook 6.1.6: limits 8 and 20, mean 16, s 2.
        let c = capability(
            &exactly(16.0, 2.0),
            within(2.0),
            Some(8.0),
            Some(20.0),
            None,
        )
        .unwrap();
        assert_close(c.cp.unwrap().point, 1.0, 1e-12, "Cp");
        assert!((c.cpk.point - 0.6667).abs() < 5e-5);
        assert_close(c.pp.unwrap(), 1.0, 1e-12, "Pp");
        assert!((c.ppk - 0.6667).abs() < 5e-5);
        let upper = capability(&exactly(16.0, 2.0), within(2.0), None, Some(20.0), None).unwrap();
        let lower = capability(&exactly(16.0, 2.0), within(2.0), Some(8.0), None, None).unwrap();
        assert!((upper.cpk.point - 0.6667).abs() < 5e-5 && (lower.cpk.point - 1.3333).abs() < 5e-5);
        assert_eq!((upper.cp, lower.pp), (None, None));
        // Montgomery & Runger, section 16-7, exercises 16-18 and 16-20: ratio, centred ratio
        // and fraction outside (z rounded in the source).
        for (low, high, mean, s, cp, cpk, outside) in [
            (80.0, 120.0, 100.0, 6.0, 1.1111, 1.1111, 0.000858),
            (80.0, 120.0, 106.0, 6.0, 1.1111, 0.7778, 0.0098),
            (10.0, 30.0, 20.0, 2.0, 1.6667, 1.6667, 0.0),
            (10.0, 30.0, 23.0, 2.0, 1.6667, 1.1667, 0.00023),
        ] {
            let c = capability(&exactly(mean, s), within(s), Some(low), Some(high), None).unwrap();
            assert!((c.cp.unwrap().point - cp).abs() < 5e-5, "{c:?}");
            assert!((c.cpk.point - cpk).abs() < 5e-5, "{c:?}");
            assert!((c.expected_outside - outside).abs() < 2.5e-5, "{c:?}");
        }
    }

    #[test]
    fn what_would_mean_nothing_is_refused_with_the_reason() {
        let values = exactly(16.0, 2.0);
        let why = |result: Result<Capability, Refusal>| result.unwrap_err().0;
        let (low, high) = (Some(8.0), Some(20.0));
        assert_eq!(
            why(capability(
                &values,
                within(2.0),
                low,
                high,
                Some("it has drifted since 9 March.")
            )),
            "Capability is not given: it has drifted since 9 March."
        );
        assert!(
            why(capability(&values[..19], within(2.0), low, high, None))
                .contains("rests on 19 readings")
        );
        assert!(
            why(capability(&values, within(2.0), None, None, None))
                .contains("no conformance limit")
        );
        assert!(
            why(capability(&values, within(2.0), high, low, None))
                .contains("20 is not below the upper one 8")
        );
        assert!(why(capability(&[5.0; 30], within(2.0), low, high, None)).contains("all equal"));
        assert!(why(capability(&values, within(0.0), low, high, None)).contains("all equal"));
    }

    #[test]
    fn a_mean_outside_the_window_gives_a_negative_index() {
        let c = capability(
            &exactly(22.0, 1.0),
            within(1.0),
            Some(8.0),
            Some(20.0),
            None,
        )
        .unwrap();
        assert!(c.cpk.point < 0.0 && c.expected_outside > 0.97);
        assert!(
            c.says()
                .contains("40 readings of a steady series against both limits")
        );
    }

    #[test]
    fn intervals_hold_the_truth_as_often_as_they_say() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(9);
        let (mut cp_holds, mut cpk_holds) = (0, 0);
        let runs = 4_000;
        for _ in 0..runs {
            let values: Vec<f64> = (0..40)
                .map(|_| 0.5 + normal::quantile(rng.random()).unwrap_or(0.0))
                .collect();
            let range = values.windows(2).map(|p| (p[1] - p[0]).abs()).sum::<f64>() / 39.0;
            let c = capability(
                &values,
                within(range / D2_OF_TWO),
                Some(-4.0),
                Some(4.0),
                None,
            )
            .unwrap();
            let cp = c.cp.unwrap();
            cp_holds += i32::from(cp.low < 4.0 / 3.0 && 4.0 / 3.0 < cp.high);
            cpk_holds += i32::from(c.cpk.low < 3.5 / 3.0 && 3.5 / 3.0 < c.cpk.high);
        }
        let share = |holds: i32| f64::from(holds) / f64::from(runs);
        assert!(
            (share(cp_holds) - 0.95).abs() < 0.012,
            "{}",
            share(cp_holds)
        );
        assert!(
            (share(cpk_holds) - 0.95).abs() < 0.02,
            "{}",
            share(cpk_holds)
        );
    }
}
