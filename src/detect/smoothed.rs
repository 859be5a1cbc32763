//! The smoothed chart (exponentially weighted moving average), with exact variance.
//!
//! A classical chart against given limits. The default set does not use it; the rule
//! [`crate::signal::smoothed_beyond_limit`] does.

/// Settings of a smoothed chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Smoothing {
    /// Weight of the newest reading one usual spacing after the one before; inside (0, 1].
    pub weight: f64,
    /// Half width of the limits, in standard deviations of the smoothed value.
    pub width: f64,
}

/// One point of the smoothed chart, in the unit of its input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Smoothed {
    /// The smoothed value.
    pub value: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

impl Smoothed {
    /// Whether the point lies beyond a limit.
    pub fn is_beyond(&self) -> bool {
        self.value < self.lower || self.value > self.upper
    }
}

/// The smoothed chart of `values` around `centre` with noise `sigma`.
///
/// `spacings` holds, parallel to the values, the time since the reading before in usual
/// spacings (1 for an even log; the first counts as 1): after a long pause old readings
/// weigh less, (1 − weight)^spacing. The variance is that of independent readings with
/// these very weights. All finite; missing values left out beforehand. Empty when the
/// lengths differ or `sigma` or the settings are out of range.
///
/// Source: Roberts, Technometrics 1, 239 (1959); Lucas & Saccucci, Technometrics 32, 1 (1990); both from memory.
///
/// ```
/// use steadyfog::detect::smoothed::{Smoothing, chart};
/// let points = chart(&[1.0, 0.0], &[1.0, 1.0], 0.0, 1.0, Smoothing { weight: 0.5, width: 3.0 });
/// assert_eq!(points[1].value, 0.25);
/// assert_eq!(points[0].upper, 1.5);
/// ```
pub fn chart(
    values: &[f64],
    spacings: &[f64],
    centre: f64,
    sigma: f64,
    settings: Smoothing,
) -> Vec<Smoothed> {
    let Smoothing { weight, width } = settings;
    if values.len() != spacings.len() || sigma.is_nan() || sigma <= 0.0 {
        return Vec::new();
    }
    if !(weight > 0.0 && weight <= 1.0 && width > 0.0) {
        return Vec::new();
    }
    // `share` is the variance of the smoothed value in units of sigma².
    let (mut smoothed, mut share) = (centre, 0.0);
    let mut points = Vec::with_capacity(values.len());
    for (i, (value, spacing)) in values.iter().zip(spacings).enumerate() {
        let kept = (1.0 - weight).powf(if i == 0 { 1.0 } else { spacing.max(0.0) });
        smoothed = kept * smoothed + (1.0 - kept) * value;
        share = kept * kept * share + (1.0 - kept) * (1.0 - kept);
        let half = width * sigma * f64::sqrt(share);
        points.push(Smoothed {
            value: smoothed,
            lower: centre - half,
            upper: centre + half,
        });
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{NILE, Noise};

    /// NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, centre 50, s 2.0539, 20 values.
    #[test]
    fn handbook_example() {
        let values = [
            52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3,
            47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
        ];
        let published = [
            50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36,
            49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
        ];
        let settings = Smoothing {
            weight: 0.3,
            width: 3.0,
        };
        let points = chart(&values, &[1.0; 20], 50.0, 2.0539, settings);
        for (point, published) in points.iter().zip(published) {
            assert!((point.value - published).abs() < 5.1e-3);
        }
        assert!((points[19].upper - 52.5884).abs() < 1e-4);
        // The page cuts off where others round: 47.41157 is printed as 47.4115.
        assert!((points[19].lower - 47.4115).abs() < 1e-4);
    }

    /// Smoothed values of the Nile against statsmodels.
    #[test]
    fn values_are_those_of_statsmodels() {
        let table = include_str!("../../tests/reference/statsmodels/nile_smoothed.csv");
        let table = crate::stats::reference::numbers(table);
        for (column, weight) in [0.1, 0.3, 0.7].into_iter().enumerate() {
            let settings = Smoothing { weight, width: 3.0 };
            let points = chart(&NILE, &[1.0; 100], 900.0, 100.0, settings);
            assert_eq!(points.len(), table.len());
            for (point, row) in points.iter().zip(&table) {
                assert!((point.value - row[column]).abs() < 1e-9);
            }
        }
    }

    /// Exact variance: sigma²·λ/(2−λ)·(1−(1−λ)^(2i)).
    #[test]
    fn limits_widen_as_the_closed_form_says() {
        let settings = Smoothing {
            weight: 0.2,
            width: 2.962,
        };
        let points = chart(&[0.0; 12], &[1.0; 12], 0.0, 2.0, settings);
        for (i, point) in points.iter().enumerate() {
            let grown = 1.0 - 0.8_f64.powi(2 * (i as i32 + 1));
            let half = 2.962 * 2.0 * (0.2 / 1.8 * grown).sqrt();
            assert!((point.upper - half).abs() < 1e-12);
        }
    }

    /// Lucas & Saccucci (1990): weight 0.2, width 2.962 runs 500 readings without a shift
    /// and 10.5 with a shift of one sigma (from memory); simulated, seed fixed.
    #[test]
    fn run_lengths_as_published() {
        let mut noise = Noise::new(12);
        let settings = Smoothing {
            weight: 0.2,
            width: 2.962,
        };
        let spacings = [1.0; 4000];
        let mut mean_run = |shift: f64, rounds: usize| {
            let total: usize = (0..rounds)
                .map(|_| {
                    let values: Vec<f64> = (0..4000).map(|_| noise.normal() + shift).collect();
                    let points = chart(&values, &spacings, 0.0, 1.0, settings);
                    points.iter().position(Smoothed::is_beyond).unwrap_or(4000) + 1
                })
                .sum();
            total as f64 / rounds as f64
        };
        // Exact variance signals sooner at the start than the published steady-state limits.
        let (steady, shifted) = (mean_run(0.0, 400), mean_run(1.0, 400));
        assert!((430.0..560.0).contains(&steady), "{steady}");
        assert!((8.5..10.8).contains(&shifted), "{shifted}");
    }

    #[test]
    fn a_pause_forgets_and_bad_settings_give_nothing() {
        let settings = Smoothing {
            weight: 0.3,
            width: 3.0,
        };
        let points = chart(&[2.0, 0.0], &[1.0, 10.0], 0.0, 1.0, settings);
        assert!(points[1].value < 0.02);
        let wrong = Smoothing {
            weight: 0.0,
            width: 3.0,
        };
        assert!(chart(&[1.0], &[1.0], 0.0, 1.0, wrong).is_empty());
        assert!(chart(&[1.0], &[1.0], 0.0, 0.0, settings).is_empty());
    }
}
