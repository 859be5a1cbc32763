//! The days on which the demo labs work.

use super::plants::{CLOSED, FIRST_DAY, LAST_DAY};
use chrono::{Datelike, NaiveDate, Weekday};

/// Year, month and day.
pub(super) type Day = (i32, u32, u32);

/// The date of a day written in this module's constants.
pub(super) fn date((year, month, day): Day) -> NaiveDate {
    // The constants are dates that exist (tested); the fallback is never taken.
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or(NaiveDate::MAX)
}

/// Whether `on` lies in the stretch, both ends included.
pub(super) fn within(on: NaiveDate, (first, last): (Day, Day)) -> bool {
    (date(first)..=date(last)).contains(&on)
}

/// Days from `day` to `on`; negative before it.
pub(super) fn days_since(on: NaiveDate, day: Day) -> f64 {
    (on - date(day)).num_days() as f64
}

/// The home lab: Monday to Friday from the first day to the last, closed days left out.
pub(super) fn working_days() -> Vec<NaiveDate> {
    use Weekday::{Fri, Mon, Thu, Tue, Wed};
    open_days((FIRST_DAY, LAST_DAY), &[Mon, Tue, Wed, Thu, Fri], &CLOSED)
}

/// The given weekdays of a stretch, both ends included, closed stretches left out.
pub(super) fn open_days(
    (first, last): (Day, Day),
    weekdays: &[Weekday],
    closed: &[(Day, Day)],
) -> Vec<NaiveDate> {
    date(first)
        .iter_days()
        .take_while(|on| *on <= date(last))
        .filter(|on| weekdays.contains(&on.weekday()))
        .filter(|on| !closed.iter().any(|stretch| within(*on, *stretch)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_days_and_weekends_have_no_check() {
        let days = working_days();
        assert_eq!(days.first(), Some(&date((2025, 10, 1))));
        assert_eq!(days.last(), Some(&date((2026, 6, 30))));
        assert!(!days.contains(&date((2025, 12, 25))));
        assert!(!days.contains(&date((2026, 6, 6))));
        // 195 Mondays to Fridays from 2025-10-01 to 2026-06-30, less 8 and 1 closed ones.
        assert_eq!(days.len(), 195 - 9);
    }
}
