//! The accumulated chart (tabular cumulative sum), with the estimated start of the change.
//!
//! A classical chart against given limits. The default set does not use it; the rule
//! [`crate::signal::accumulated_beyond_limit`] does.

/// Settings of an accumulated chart, in standard deviations of a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accumulating {
    /// Slack taken off every reading: half the shift to be seen; not below 0.
    pub slack: f64,
    /// Sum at which it signals; above 0.
    pub decision: f64,
    /// Sum both sides start from (a head start sees an early change sooner); not below 0.
    pub head_start: f64,
}

/// One point of the accumulated chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accumulated {
    /// Upper sum, not below 0.
    pub upper: f64,
    /// Lower sum, not below 0.
    pub lower: f64,
    /// Whether a sum is beyond the decision.
    pub fires: bool,
    /// First reading since the larger sum was last 0: the estimated start.
    pub start: usize,
}

/// The accumulated chart of standardised readings `z` (finite, in time order).
///
/// Empty when the settings are out of range.
///
/// Source: Page, Biometrika 41, 100 (1954); NIST/SEMATECH e-Handbook 6.3.2.3; head start:
/// Lucas & Crosier, Technometrics 24, 199 (1982), from memory.
pub fn chart(z: &[f64], settings: Accumulating) -> Vec<Accumulated> {
    let Accumulating {
        slack,
        decision,
        head_start,
    } = settings;
    if !(slack >= 0.0 && decision > 0.0 && head_start >= 0.0) {
        return Vec::new();
    }
    let (mut upper, mut lower) = (head_start, head_start);
    let (mut upper_start, mut lower_start) = (0, 0);
    let mut points = Vec::with_capacity(z.len());
    for (i, z) in z.iter().enumerate() {
        upper = (upper + z - slack).max(0.0);
        lower = (lower - z - slack).max(0.0);
        let start = if upper >= lower {
            upper_start
        } else {
            lower_start
        };
        points.push(Accumulated {
            upper,
            lower,
            fires: upper > decision || lower > decision,
            start,
        });
        if upper == 0.0 {
            upper_start = i + 1;
        }
        if lower == 0.0 {
            lower_start = i + 1;
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::Noise;

    const HALF: Accumulating = Accumulating {
        slack: 0.5,
        decision: 4.0,
        head_start: 0.0,
    };

    /// NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959 in the unit of the
    /// values; the first signal is at group 14.
    #[test]
    fn handbook_example() {
        let values = [
            324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6,
            324.625, 325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
        ];
        let upper = [
            0.0, 0.0, 0.0, 0.0, 0.03, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 3.01, 4.94, 7.45, 10.63,
            11.99, 14.44, 16.0, 19.04,
        ];
        let z: Vec<f64> = values.iter().map(|v| v - 325.0).collect();
        let settings = Accumulating {
            slack: 0.3175,
            decision: 4.1959,
            head_start: 0.0,
        };
        let points = chart(&z, settings);
        for (point, published) in points.iter().zip(upper) {
            assert!((point.upper - published).abs() < 5.1e-3);
        }
        assert!((points[7].lower - 0.72).abs() < 5.1e-3);
        assert_eq!(points.iter().position(|p| p.fires), Some(13));
        assert_eq!(points[13].start, 12);
    }

    /// Tabular sums with k 0.5: h 4 runs 168 readings without a shift and 8.38 with one of
    /// one sigma, h 5 465 and 10.4 (Lucas 1976 and Montgomery, from memory; reproduced by
    /// Markov chain). Simulated, seed fixed.
    #[test]
    fn run_lengths_as_published() {
        let mut noise = Noise::new(21);
        let mut mean_run = |decision: f64, shift: f64| {
            let settings = Accumulating { decision, ..HALF };
            let rounds = 500;
            let total: usize = (0..rounds)
                .map(|_| {
                    let z: Vec<f64> = (0..4000).map(|_| noise.normal() + shift).collect();
                    let points = chart(&z, settings);
                    points.iter().position(|p| p.fires).unwrap_or(4000) + 1
                })
                .sum();
            total as f64 / rounds as f64
        };
        for (decision, shift, published) in [
            (4.0, 0.0, 168.0),
            (4.0, 1.0, 8.38),
            (5.0, 0.0, 465.0),
            (5.0, 1.0, 10.4),
        ] {
            let found = mean_run(decision, shift);
            assert!(
                (found / published - 1.0).abs() < 0.12,
                "{decision} {shift}: {found}"
            );
        }
    }

    #[test]
    fn start_is_the_first_reading_after_the_sum_was_zero() {
        let points = chart(&[-1.0, 0.2, 2.0, 2.0, 2.0], HALF);
        assert_eq!(points[4].start, 2);
        assert!(points[4].fires && !points[3].fires);
        let head = Accumulating {
            head_start: 2.0,
            ..HALF
        };
        assert_eq!(chart(&[1.0], head)[0].upper, 2.5);
        assert!(
            chart(
                &[1.0],
                Accumulating {
                    decision: 0.0,
                    ..HALF
                }
            )
            .is_empty()
        );
    }
}
