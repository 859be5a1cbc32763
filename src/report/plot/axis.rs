//! Axes: real dates along the time axis, round values up the other.

use chrono::{Datelike, Days, Months, NaiveDate, NaiveDateTime};
use plotters::coord::ranged1d::{BoldPoints, Ranged};
use plotters::coord::types::RangedCoordf64;

/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// A straight map from a range of values to a stretch of pixels.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct Scale {
    pub(in crate::report) low: f64,
    pub(in crate::report) high: f64,
    from: f64,
    to: f64,
}

impl Scale {
    /// `low` falls on pixel `from`, `high` on pixel `to`; an empty range is widened.
    pub(in crate::report) fn new((low, high): (f64, f64), from: f64, to: f64) -> Scale {
        let pad = if high > low {
            0.0
        } else {
            (low.abs() * 0.05).max(0.5)
        };
        Scale {
            low: low - pad,
            high: high + pad,
            from,
            to,
        }
    }

    /// The pixel of a value; values beyond the range fall beyond the stretch.
    pub(in crate::report) fn px(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.from + share * (self.to - self.from)
    }

    /// The pixel of a value, kept within the stretch.
    pub(in crate::report) fn clamped(&self, value: f64) -> f64 {
        self.px(value.clamp(self.low, self.high))
    }

    /// Whether the value lies in the range.
    pub(in crate::report) fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// Round values in the range, and the decimals that tell them apart.
    pub(in crate::report) fn ticks(&self, most: usize) -> (Vec<f64>, u32) {
        let axis = RangedCoordf64::from(self.low..self.high);
        let ticks: Vec<f64> = axis
            .key_points(BoldPoints(most))
            .into_iter()
            .filter(|&v| self.holds(v))
            .collect();
        let step = match ticks.as_slice() {
            [a, b, ..] => b - a,
            _ => self.high - self.low,
        };
        (ticks, crate::report::format::decimals_of(step, 0).min(6))
    }
}

/// A wall-clock time in days since 1970-01-01.
pub(in crate::report) fn days(at: NaiveDateTime) -> f64 {
    at.and_utc().timestamp() as f64 / DAY
}

/// A mark on the time axis.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::report) struct DateTick {
    /// Where, in days.
    pub(in crate::report) day: f64,
    /// "9 Mar" or "Mar".
    pub(in crate::report) label: String,
    /// The year, at the first mark and at the first one of each year.
    pub(in crate::report) year: Option<String>,
}

/// Steps between dates that a reader can count in, finest first.
#[derive(Debug, Clone, Copy)]
enum Step {
    Days(u64),
    Weeks(u64),
    Months(u32),
}

const STEPS: [Step; 10] = [
    Step::Days(1),
    Step::Days(2),
    Step::Weeks(1),
    Step::Weeks(2),
    Step::Months(1),
    Step::Months(2),
    Step::Months(3),
    Step::Months(6),
    Step::Months(12),
    Step::Months(60),
];

/// Dates between `low` and `high` (days since 1970), at most about `most` of them.
pub(in crate::report) fn date_ticks(low: f64, high: f64, most: usize) -> Vec<DateTick> {
    let Some(first) = NaiveDate::from_epoch_days(low.ceil() as i32) else {
        return Vec::new();
    };
    let span = high - low;
    let length = |step: &Step| match step {
        Step::Days(n) => *n as f64,
        Step::Weeks(n) => *n as f64 * 7.0,
        Step::Months(n) => f64::from(*n) * 30.4,
    };
    let step = STEPS
        .iter()
        .find(|s| span / length(s) <= most as f64)
        .copied()
        .unwrap_or(Step::Months(120));
    let mut ticks = Vec::new();
    let mut at = start(first, step);
    let mut told_year = None;
    while let Some(date) = at {
        let day = f64::from(date.to_epoch_days());
        if day > high {
            break;
        }
        if day >= low {
            let form = match step {
                Step::Months(_) => "%b",
                _ => "%-d %b",
            };
            let year = (told_year != Some(date.year())).then(|| date.year().to_string());
            told_year = Some(date.year());
            ticks.push(DateTick {
                day,
                label: date.format(form).to_string(),
                year,
            });
        }
        at = next(date, step);
    }
    ticks
}

/// The first date of the step's own grid at or before `first` (weeks begin on Monday).
fn start(first: NaiveDate, step: Step) -> Option<NaiveDate> {
    match step {
        Step::Days(_) => Some(first),
        Step::Weeks(_) => {
            first.checked_sub_days(Days::new(first.weekday().num_days_from_monday().into()))
        }
        Step::Months(n) => {
            let years = (n / 12).max(1) as i32;
            let year = first.year() - first.year().rem_euclid(years);
            let month = if n >= 12 {
                1
            } else {
                first.month0() / n * n + 1
            };
            NaiveDate::from_ymd_opt(year, month, 1)
        }
    }
}

fn next(date: NaiveDate, step: Step) -> Option<NaiveDate> {
    match step {
        Step::Days(n) => date.checked_add_days(Days::new(n)),
        Step::Weeks(n) => date.checked_add_days(Days::new(n * 7)),
        Step::Months(n) => date.checked_add_months(Months::new(n)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> f64 {
        days(crate::report::format::wall(text).unwrap())
    }

    fn labels(from: &str, to: &str, most: usize) -> Vec<String> {
        date_ticks(day(from), day(to), most)
            .into_iter()
            .map(|t| match t.year {
                Some(year) => format!("{} {year}", t.label),
                None => t.label,
            })
            .collect()
    }

    #[test]
    fn dates_fall_on_days_mondays_and_firsts() {
        assert_eq!(
            labels("2026-03-01", "2026-03-04", 8),
            ["1 Mar 2026", "2 Mar", "3 Mar", "4 Mar"]
        );
        assert_eq!(
            labels("2026-03-01", "2026-03-31", 8),
            ["2 Mar 2026", "9 Mar", "16 Mar", "23 Mar", "30 Mar"]
        );
        assert_eq!(
            labels("2025-11-10", "2026-02-20", 5),
            ["Dec 2025", "Jan 2026", "Feb"]
        );
        assert_eq!(
            labels("2016-05-01", "2026-02-20", 4),
            ["Jan 2020", "Jan 2025"]
        );
    }

    #[test]
    fn a_value_axis_is_round_and_an_empty_range_is_widened() {
        let scale = Scale::new((1.0, 2.0), 100.0, 0.0);
        assert_eq!(scale.px(1.5), 50.0);
        assert_eq!(scale.clamped(9.0), 0.0);
        let (ticks, decimals) = scale.ticks(5);
        assert!(ticks.contains(&1.0) && ticks.contains(&2.0) && ticks.len() <= 6);
        assert_eq!(decimals, 1);
        let flat = Scale::new((5.0, 5.0), 100.0, 0.0);
        assert_eq!(flat.px(5.0), 50.0);
    }
}
