//! The period a review is about: whole days of the lab's wall clock.

use crate::series::Series;
use crate::time::{Instant, Zone};
use chrono::{Datelike, Days, Months, NaiveDate, NaiveTime};
use std::ops::Range;

/// A period of whole days, both ends included, not empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    from: NaiveDate,
    to: NaiveDate,
}

impl Period {
    /// The days from `from` to `to`, both included; `None` when `to` comes first.
    pub fn new(from: NaiveDate, to: NaiveDate) -> Option<Period> {
        (from <= to).then_some(Period { from, to })
    }

    /// The calendar month that holds `day`.
    ///
    /// ```
    /// use chrono::NaiveDate;
    /// use steadyfog::review::Period;
    /// let day = NaiveDate::from_ymd_opt(2026, 2, 14).unwrap_or_default();
    /// assert_eq!(Period::month_of(day).to().to_string(), "2026-02-28");
    /// ```
    pub fn month_of(day: NaiveDate) -> Period {
        let from = day.with_day(1).unwrap_or(day);
        let to = from
            .checked_add_months(Months::new(1))
            .and_then(|next| next.checked_sub_days(Days::new(1)))
            .unwrap_or(day);
        Period { from, to }
    }

    /// First day.
    pub fn from(&self) -> NaiveDate {
        self.from
    }

    /// Last day.
    pub fn to(&self) -> NaiveDate {
        self.to
    }

    /// First and last day.
    pub fn days(&self) -> (NaiveDate, NaiveDate) {
        (self.from, self.to)
    }

    /// `2026-06` for a whole calendar month, else `2026-06-01-to-2026-06-14`.
    pub fn label(&self) -> String {
        if *self == Period::month_of(self.from) {
            self.from.format("%Y-%m").to_string()
        } else {
            format!("{}-to-{}", self.from, self.to)
        }
    }

    /// The instants of the period in that zone: from its first day's start to the start
    /// of the day after its last.
    pub fn instants(&self, zone: Zone) -> Range<Instant> {
        let start = |day: NaiveDate| zone.instant(day.and_time(NaiveTime::MIN)).instant();
        let after = self.to.checked_add_days(Days::new(1)).unwrap_or(self.to);
        start(self.from)..start(after)
    }

    /// Indices of the readings of `series` that fall in the period.
    pub fn readings(&self, series: &Series, zone: Zone) -> Range<usize> {
        let span = self.instants(zone);
        let first = series.at().partition_point(|&at| at < span.start);
        let end = series.at().partition_point(|&at| at < span.end);
        first..end
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_month_is_named_short_and_another_period_by_its_days() {
        assert_eq!(Period::month_of(day("2026-06-09")).label(), "2026-06");
        let other = Period::new(day("2026-06-01"), day("2026-06-14")).unwrap();
        assert_eq!(other.label(), "2026-06-01-to-2026-06-14");
        assert!(Period::new(day("2026-06-02"), day("2026-06-01")).is_none());
    }

    #[test]
    fn the_period_follows_the_wall_clock() {
        let zone = Zone::named("Europe/Lisbon").unwrap();
        let span = Period::month_of(day("2026-03-01")).instants(zone);
        // March 2026 has a spring change in that zone: an hour short of 31 days.
        assert_eq!(span.end.0 - span.start.0, 31 * 86_400 - 3_600);
    }
}
