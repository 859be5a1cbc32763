//! When the level would reach a conformance limit, from what is known of slope and level.
//!
//! Only a drift with evidence gets here; what counts as one, `assess` decides. The
//! forecast is about the true level, not about single readings, which scatter around it.

use super::{normal_quantile_level, normal_tail};

/// Longest wait that counts as "on its way", days.
pub const HORIZON_DAYS: f64 = 180.0;
/// Where the search for the late end of the interval stops, days.
const FARTHEST_DAYS: f64 = 3650.0;

/// One way the drift may run: a line known with normal uncertainty, and its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// Weight; the weights of all courses sum to 1.
    pub weight: f64,
    /// Level now.
    pub level: f64,
    /// Change a day.
    pub slope: f64,
    /// Variance of the level.
    pub level_variance: f64,
    /// Variance of the slope.
    pub slope_variance: f64,
    /// Covariance of level and slope.
    pub covariance: f64,
}

impl Course {
    /// Mean and standard deviation of the level `days` ahead.
    fn ahead(&self, days: f64) -> (f64, f64) {
        let variance =
            self.level_variance + days * (2.0 * self.covariance + days * self.slope_variance);
        (self.level + days * self.slope, variance.max(0.0).sqrt())
    }
}

/// What the forecast says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Forecast {
    /// Days from now, at the level asked for.
    Between {
        /// Early end; 0 when the level may be there already.
        earliest: f64,
        /// Median.
        likely: f64,
        /// Late end; `None` when not within ten years.
        latest: Option<f64>,
    },
    /// The early end lies beyond [`HORIZON_DAYS`].
    NotWithin,
}

/// Days until the level reaches `limit`, with a central interval of `level` (as 0.8).
///
/// `courses` are the weighted lines of one drift; `upward` says from which side the
/// limit is met. Levels in the unit of the limit, slopes a day.
///
/// The chance that the line has passed the limit by a day is a weighted sum of normal
/// tails, made never to fall with time; its quantiles are the answer. Closed form, no
/// simulation: own derivation.
pub fn first_passage(courses: &[Course], limit: f64, upward: bool, level: f64) -> Forecast {
    let sign = if upward { 1.0 } else { -1.0 };
    let chance_by = |days: f64| -> f64 {
        courses
            .iter()
            .map(|course| {
                let (mean, deviation) = course.ahead(days);
                let short = sign * (limit - mean);
                let chance = if deviation > 0.0 {
                    normal_tail(short / deviation)
                } else {
                    f64::from(short <= 0.0)
                };
                course.weight * chance
            })
            .sum()
    };
    let (early, late) = ((1.0 - level) / 2.0, (1.0 + level) / 2.0);
    let mut found = [None; 3];
    let targets = [early, 0.5, late];
    let (mut before_day, mut before, mut day) = (0.0, 0.0, 0.0);
    while day <= FARTHEST_DAYS {
        let chance = chance_by(day).max(before);
        for (slot, &target) in found.iter_mut().zip(&targets) {
            if slot.is_none() && chance >= target {
                let share = if chance > before {
                    (target - before) / (chance - before)
                } else {
                    1.0
                };
                *slot = Some(before_day + share * (day - before_day));
            }
        }
        if found.iter().all(Option::is_some) {
            break;
        }
        (before_day, before) = (day, chance);
        day += 0.25_f64.max(0.02 * day);
    }
    match found {
        [Some(earliest), Some(likely), latest] if earliest <= HORIZON_DAYS => Forecast::Between {
            earliest,
            likely,
            latest,
        },
        _ => Forecast::NotWithin,
    }
}

/// Central interval of the slope over the weighted courses, by bisection.
pub(crate) fn slope_interval(courses: &[Course], level: f64) -> (f64, f64) {
    let below = |x: f64| -> f64 {
        courses
            .iter()
            .map(|c| {
                let deviation = c.slope_variance.max(0.0).sqrt();
                if deviation > 0.0 {
                    c.weight * normal_tail((c.slope - x) / deviation)
                } else {
                    c.weight * f64::from(c.slope <= x)
                }
            })
            .sum()
    };
    let reach = 2.0 + normal_quantile_level(level);
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for c in courses {
        let deviation = c.slope_variance.max(0.0).sqrt();
        least = least.min(c.slope - reach * deviation);
        most = most.max(c.slope + reach * deviation);
    }
    let quantile = |target: f64| {
        let (mut low, mut high) = (least, most);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if below(middle) < target {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    };
    (quantile((1.0 - level) / 2.0), quantile((1.0 + level) / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(level: f64, slope: f64, level_sd: f64, slope_sd: f64) -> Course {
        Course {
            weight: 1.0,
            level,
            slope,
            level_variance: level_sd * level_sd,
            slope_variance: slope_sd * slope_sd,
            covariance: 0.0,
        }
    }

    /// A line known exactly meets the limit on one day.
    #[test]
    fn a_certain_line_has_one_answer() {
        let Forecast::Between {
            earliest,
            likely,
            latest,
        } = first_passage(&[course(1.5, -0.01, 0.0, 0.0)], 1.0, false, 0.8)
        else {
            panic!("no forecast");
        };
        assert!((earliest - 50.0).abs() < 1.1 && (likely - 50.0).abs() < 1.1);
        assert!((latest.unwrap() - 50.0).abs() < 1.1);
    }

    /// Level known exactly, slope normal: quantiles of distance / slope, by hand:
    /// 0.5 / (0.01 ± 1.2816 × 0.002).
    #[test]
    fn uncertain_slope_gives_the_quantiles_of_the_quotient() {
        let Forecast::Between {
            earliest,
            likely,
            latest,
        } = first_passage(&[course(1.5, 0.01, 0.0, 0.002)], 2.0, true, 0.8)
        else {
            panic!("no forecast");
        };
        assert!((earliest - 0.5 / 0.0125631).abs() < 0.3, "{earliest}");
        assert!((likely - 50.0).abs() < 0.3, "{likely}");
        assert!(
            (latest.unwrap() - 0.5 / 0.0074369).abs() < 0.5,
            "{latest:?}"
        );
    }

    #[test]
    fn far_limits_and_wrong_sides_are_not_within_the_horizon() {
        assert_eq!(
            first_passage(&[course(1.5, 0.001, 0.01, 0.0002)], 2.0, true, 0.8),
            Forecast::NotWithin
        );
        assert_eq!(
            first_passage(&[course(1.5, -0.01, 0.01, 0.0005)], 2.0, true, 0.8),
            Forecast::NotWithin
        );
    }

    #[test]
    fn slope_interval_of_one_course_is_normal() {
        let (low, high) = slope_interval(&[course(0.0, 0.01, 0.1, 0.002)], 0.9);
        assert!((low - (0.01 - 1.644854 * 0.002)).abs() < 1e-7);
        assert!((high - (0.01 + 1.644854 * 0.002)).abs() < 1e-7);
    }
}
