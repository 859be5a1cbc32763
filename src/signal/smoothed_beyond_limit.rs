//! `smoothed-beyond-limit`: the smoothed readings beyond their own limits.
//!
//! The exponentially weighted moving average of Roberts, Technometrics 1 (1959) 239, with
//! the exact variance of Lucas & Saccucci, Technometrics 32 (1990) 1 (both from memory; the
//! chart is that of NIST/SEMATECH e-Handbook 6.3.2.4). It sees small lasting shifts that no
//! single reading shows. The change is taken to begin where the smoothed value last left the
//! centre line (Nishina, Qual Reliab Eng Int 8 (1992) 537, from memory).
//!
//! Ours: it runs on readings less what carried over from the one before; it starts anew
//! after a gap; the change begins no earlier than where the value came out of one standard
//! error of a centre line that is itself estimated; what is older than 63 readings is forgotten (it would weigh less than a
//! millionth at weight 0.2 and even spacing); and in a set with allowances the limits are
//! wider for a centre line and a sigma from few, or rounded, readings.

use super::carry_over::{self, MEMORY, centre_error, fresh, scatter, stretches};
use super::{Direction, Firing, Rule, RuleInput, Told};
use crate::detect::smoothed::{Smoothing, chart};

/// The smoothed value more than `width` of its standard deviations from the centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothedBeyondLimit {
    /// Weight of a reading one usual spacing after the one before; inside (0, 1], else the
    /// rule never fires.
    pub weight: f64,
    /// Half width of the limits, in standard deviations of the smoothed value; above 0.
    pub width: f64,
}

impl Default for SmoothedBeyondLimit {
    /// One false alarm in 500 independent readings with known limits (Lucas & Saccucci
    /// 1990, from memory).
    fn default() -> Self {
        SmoothedBeyondLimit {
            weight: 0.2,
            width: 2.962,
        }
    }
}

/// One point of the chart: the smoothed value and the half width of its limits.
#[derive(Debug, Clone, Copy)]
struct Point {
    value: f64,
    half: f64,
}

/// What a judged reading is compared with.
struct Judged<'a> {
    settings: Smoothing,
    /// Factor on sigma, and standard error of the centre line in sigma.
    scatter: f64,
    centre_error: f64,
    fresh: &'a [f64],
    spacing: &'a [f64],
}

impl Judged<'_> {
    /// The chart of those readings, from nothing.
    fn points(&self, readings: std::ops::Range<usize>) -> Vec<Point> {
        let values = self.fresh.get(readings.clone()).unwrap_or(&[]);
        let spacing = self.spacing.get(readings).unwrap_or(&[]);
        let Smoothing { weight, width } = self.settings;
        // Share of the weight that no reading has yet; the library counts the first
        // reading as one usual spacing after the centre line.
        let mut unused = 1.0;
        chart(values, spacing, 0.0, self.scatter, self.settings)
            .iter()
            .zip(spacing)
            .enumerate()
            .map(|(i, (point, spacing))| {
                unused *= (1.0 - weight).powf(if i == 0 { 1.0 } else { *spacing });
                // A centre line that is off moves the smoothed value by the weight used.
                let off = width * self.centre_error * (1.0 - unused);
                Point {
                    value: point.value,
                    half: point.upper.hypot(off),
                }
            })
            .collect()
    }
}

impl Rule for SmoothedBeyondLimit {
    fn name(&self) -> &'static str {
        "smoothed-beyond-limit"
    }

    fn asks(&self) -> String {
        format!(
            "The exponentially weighted mean of the readings since the last gap (weight {} for \
             the newest, what carries over from reading to reading taken off) more than {} of \
             its standard deviations from the centre line.",
            self.weight, self.width
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let fresh = fresh(input);
        let judged = Judged {
            settings: Smoothing {
                weight: self.weight,
                width: self.width,
            },
            scatter: scatter(&input.allowance),
            centre_error: centre_error(&input.allowance),
            fresh: &fresh,
            spacing: input.spacing,
        };
        for stretch in stretches(input.after_gap) {
            let whole = judged.points(stretch.clone());
            // Usual spacings since the start of the stretch.
            let mut passed = 0.0;
            let age: Vec<f64> = input
                .spacing
                .get(stretch.clone())
                .unwrap_or(&[])
                .iter()
                .map(|spacing| {
                    passed += spacing;
                    passed
                })
                .collect();
            for (i, point) in whole.iter().enumerate() {
                let at = stretch.start + i;
                let first = (at + 1).saturating_sub(MEMORY).max(stretch.start);
                // The most by which the forgotten readings can have moved the value: most
                // readings are far enough inside to need no second look.
                let oldest = first - stretch.start;
                let forgotten = match (whole.get(oldest), age.get(i), age.get(oldest)) {
                    (Some(then), Some(now), Some(before)) if oldest > 0 => {
                        let moved = then.value.abs() + fresh.get(first).map_or(0.0, |z| z.abs());
                        moved * (1.0 - self.weight).powf(now - before)
                    }
                    _ => 0.0,
                };
                if point.value.abs() + forgotten < 0.99 * point.half {
                    continue;
                }
                let window = if oldest == 0 {
                    whole.get(..=i).map(<[Point]>::to_vec).unwrap_or_default()
                } else {
                    judged.points(first..at + 1)
                };
                let Some(last) = window.last().filter(|p| p.value.abs() > p.half) else {
                    continue;
                };
                let side = last.value.signum();
                // Nearer to the centre line than that, nothing says which side it is on.
                let same_side = window
                    .iter()
                    .rev()
                    .take_while(|p| p.value * side > judged.centre_error);
                firings.push(Firing {
                    at,
                    start: at + 1 - same_side.count().max(1),
                    direction: if side > 0.0 {
                        Direction::Up
                    } else {
                        Direction::Down
                    },
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let side = match told.direction {
            Direction::Down => "below its lower",
            _ => "above its upper",
        };
        format!(
            "The smoothed level (weight {}) is {side} limit, {}",
            self.weight,
            carry_over::says(told)
        )
    }
}

#[cfg(test)]
#[path = "smoothed_beyond_limit_tests.rs"]
mod tests;
