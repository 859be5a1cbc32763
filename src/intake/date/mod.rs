//! Dates, times and date-times as logs write them, and the spreadsheet serials behind them.
//!
//! A written date becomes a wall-clock [`Stamp`]; its zone is the lab's. Which of day and
//! month comes first is `order`'s question, and 03/04 is never answered silently.

mod clock;
mod names;
mod order;
mod serial;
mod text;
mod written;

pub use clock::read_time;
pub use names::{is_month_name, weekday};
pub use order::{OrderEvidence, infer_order};
pub use serial::{Epoch, from_serial, time_from_serial};

use crate::lab::DateOrder;
use crate::time::{Instant, Zone};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};

/// When a cell says something happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stamp {
    /// A day without a time.
    Day(NaiveDate),
    /// A day and a wall-clock time.
    Wall(NaiveDateTime),
    /// A time with its offset from UTC: independent of the lab's zone.
    Fixed(Instant),
}

impl Stamp {
    /// The wall-clock date in that zone.
    pub fn date(&self, zone: Zone) -> NaiveDate {
        match self {
            Stamp::Day(day) => *day,
            Stamp::Wall(wall) => wall.date(),
            Stamp::Fixed(at) => zone.date(*at),
        }
    }
}

/// How the dates of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DateStyle {
    /// Order of day and month in dates of figures only; `None` when nothing told it, and
    /// then such dates are refused unless they can be read one way only.
    pub order: Option<DateOrder>,
    /// First day of spreadsheet serials.
    pub epoch: Epoch,
}

/// What a date cell turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateReading {
    /// Blank or a way of writing that there is nothing.
    Missing,
    /// When.
    Read(Stamp),
    /// Not used, with the reason.
    Refused(DateRefusal),
}

/// What a time cell turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeReading {
    /// Blank or a way of writing that there is nothing.
    Missing,
    /// The time of day.
    Read(NaiveTime),
    /// Not used, with the reason.
    Refused(DateRefusal),
}

/// Why a date or time is not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateRefusal {
    /// Nothing like a date.
    NotADate,
    /// Nothing like a time of day.
    NotATime,
    /// 31 February, month 13.
    NoSuchDay,
    /// 25:10, 12:75.
    NoSuchTime,
    /// 03/04: day and month can be exchanged.
    DayOrMonth,
    /// A date whose year is missing (`2 March`).
    NoYear,
    /// The weekday written in front is another one.
    OtherWeekday(Weekday),
    /// A spreadsheet serial outside 1900–2199, or the day 29 February 1900 that never was.
    Serial,
}

impl DateRefusal {
    /// What was found against what was expected, as a sentence.
    pub fn problem(self) -> String {
        match self {
            DateRefusal::NotADate => "not a date; expected one such as 2026-03-31".into(),
            DateRefusal::NotATime => "not a time of day; expected one such as 07:30".into(),
            DateRefusal::NoSuchDay => "no such day in the calendar".into(),
            DateRefusal::NoSuchTime => "no such time of day".into(),
            DateRefusal::DayOrMonth => {
                "day and month can be exchanged, and nothing tells which comes first".into()
            }
            DateRefusal::NoYear => {
                "a date without its year; expected one such as 2026-03-31".into()
            }
            DateRefusal::OtherWeekday(is) => {
                format!(
                    "the weekday does not belong to the date, which is a {}",
                    names::english(is)
                )
            }
            DateRefusal::Serial => {
                "a spreadsheet's day number that is no day between 1900 and 2199".into()
            }
        }
    }

    /// What to do about it; for [`DateRefusal::DayOrMonth`] the line for the log's
    /// `[[log]]` table of `lab.toml`.
    pub fn hint(self) -> &'static str {
        match self {
            DateRefusal::DayOrMonth => "dates = \"day-first\"",
            DateRefusal::OtherWeekday(_) => {
                "correct the date or the weekday; if all rows differ, set dates = \"day-first\" \
                 or dates = \"month-first\" for this log in lab.toml"
            }
            DateRefusal::NoYear => "write the year into the cell",
            _ => "correct the cell",
        }
    }
}

/// Doubt about a date that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateDoubt {
    /// Before 1980: usually an empty cell that a spreadsheet shows as a date.
    TooEarly,
    /// After the day of the review.
    InTheFuture,
}

impl DateDoubt {
    /// What was found against what was expected, as a sentence.
    pub fn problem(self) -> &'static str {
        match self {
            DateDoubt::TooEarly => {
                "a date before 1980: usually an empty cell shown as a date, or a slip in the year"
            }
            DateDoubt::InTheFuture => "a date in the future: a slip in the year, or a prepared row",
        }
    }
}

/// Doubt about a date, given today's; `None` when it is plausible. One day ahead is
/// allowed for zones that are ahead of the reviewer's.
pub fn doubt(date: NaiveDate, today: NaiveDate) -> Option<DateDoubt> {
    use chrono::Datelike;
    if date.year() < 1980 {
        Some(DateDoubt::TooEarly)
    } else if date.signed_duration_since(today).num_days() > 1 {
        Some(DateDoubt::InTheFuture)
    } else {
        None
    }
}

/// Reads a cell with a date, with or without a time.
///
/// ```
/// use steadyfog::intake::date::{read, DateReading, DateRefusal, DateStyle};
/// let unknown = DateStyle::default();
/// assert!(matches!(read("Mo 02.03.2026 07:30 Uhr", unknown), DateReading::Read(_)));
/// assert_eq!(read("03/04/2026", unknown), DateReading::Refused(DateRefusal::DayOrMonth));
/// ```
pub fn read(text: &str, style: DateStyle) -> DateReading {
    match read_iso(text.as_bytes()) {
        Some(stamp) => DateReading::Read(stamp),
        None => text::read(text, style),
    }
}

/// The stamp of `YYYY-MM-DD`, `YYYY-MM-DD HH:MM` and `YYYY-MM-DD HH:MM:SS` (or with `T`)
/// exactly; `None` for anything else, which [`read`] looks at closely.
#[inline]
pub fn read_iso(bytes: &[u8]) -> Option<Stamp> {
    fn two(bytes: &[u8], at: usize) -> Option<u32> {
        match (bytes.get(at), bytes.get(at + 1)) {
            (Some(a @ b'0'..=b'9'), Some(b @ b'0'..=b'9')) => {
                Some(u32::from(a - b'0') * 10 + u32::from(b - b'0'))
            }
            _ => None,
        }
    }
    if !matches!(bytes.len(), 10 | 16 | 19)
        || bytes.get(4) != Some(&b'-')
        || bytes.get(7) != Some(&b'-')
    {
        return None;
    }
    let year = two(bytes, 0)? * 100 + two(bytes, 2)?;
    let day = NaiveDate::from_ymd_opt(year as i32, two(bytes, 5)?, two(bytes, 8)?)?;
    if bytes.len() == 10 {
        return Some(Stamp::Day(day));
    }
    if !matches!(bytes.get(10), Some(b' ' | b'T')) || bytes.get(13) != Some(&b':') {
        return None;
    }
    let seconds = if bytes.len() == 19 {
        (bytes.get(16) == Some(&b':')).then(|| two(bytes, 17))??
    } else {
        0
    };
    day.and_hms_opt(two(bytes, 11)?, two(bytes, 14)?, seconds)
        .map(Stamp::Wall)
}

/// Date and time of separate columns together; a stamp that has a time already keeps it.
pub fn join(date: Stamp, time: Option<NaiveTime>) -> Stamp {
    match (date, time) {
        (Stamp::Day(day), Some(time)) => Stamp::Wall(day.and_time(time)),
        (stamp, _) => stamp,
    }
}

#[cfg(test)]
mod tests;
