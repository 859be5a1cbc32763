//! Dates and times as `events.csv`, `exposures.csv` and frozen limits give them.
//!
//! ISO 8601 first; other orders only where they cannot be mistaken. 03/04/2026 is told,
//! not guessed. The dates of check logs are the intake's.

use crate::time::{Instant, Zone};
use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime};

/// A written moment: a time, or a whole day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Moment {
    /// The moment, or the start of the day.
    pub(crate) start: Instant,
    /// The start of the next day where only a date was written; else the moment itself.
    pub(crate) end: Instant,
}

/// Why a text is no moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum MomentError {
    /// Two readings: day first and month first.
    Ambiguous(NaiveDate, NaiveDate),
    /// No date, or one outside 1970 to 2100.
    NotADate,
}

/// Reads a date with or without a time of day in the lab's zone.
pub(crate) fn read(written: &str, zone: &Zone) -> Result<Moment, MomentError> {
    let written = written.trim();
    if let Ok(exact) = DateTime::parse_from_rfc3339(written) {
        let at = Instant(exact.timestamp());
        return in_range(Moment { start: at, end: at }, exact.date_naive());
    }
    let (day_text, time_text) = match written.split_once(['T', ' ']) {
        Some((d, t)) if t.trim().starts_with(|c: char| c.is_ascii_digit()) && t.contains(':') => {
            (d, Some(t.trim()))
        }
        _ => match written.rsplit_once(' ') {
            Some((d, t)) if t.contains(':') => (d, Some(t)),
            _ => (written, None),
        },
    };
    let day = date(day_text.trim())?;
    let wall = |d: NaiveDate, t: NaiveTime| zone.instant(NaiveDateTime::new(d, t)).instant();
    match time_text {
        Some(text) => {
            let time = ["%H:%M:%S", "%H:%M"]
                .iter()
                .find_map(|f| NaiveTime::parse_from_str(text, f).ok())
                .ok_or(MomentError::NotADate)?;
            let at = wall(day, time);
            in_range(Moment { start: at, end: at }, day)
        }
        None => {
            let next = day
                .checked_add_days(Days::new(1))
                .ok_or(MomentError::NotADate)?;
            let moment = Moment {
                start: wall(day, NaiveTime::MIN),
                end: wall(next, NaiveTime::MIN),
            };
            in_range(moment, day)
        }
    }
}

fn in_range(moment: Moment, day: NaiveDate) -> Result<Moment, MomentError> {
    use chrono::Datelike;
    if (1970..=2100).contains(&day.year()) {
        Ok(moment)
    } else {
        Err(MomentError::NotADate)
    }
}

fn date(text: &str) -> Result<NaiveDate, MomentError> {
    // chrono's %Y takes any number of digits: a two-digit year must not pass as year 26.
    let year_first = text.len() >= 8 && text.bytes().take(4).all(|b| b.is_ascii_digit());
    if year_first {
        for format in ["%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d"] {
            if let Ok(day) = NaiveDate::parse_from_str(text, format) {
                return Ok(day);
            }
        }
        return Err(MomentError::NotADate);
    }
    let year_last = text.len() >= 8
        && text
            .as_bytes()
            .get(text.len() - 4..)
            .is_some_and(|year| year.iter().all(u8::is_ascii_digit));
    if !year_last {
        return Err(MomentError::NotADate);
    }
    // Points between the numbers mean day first wherever they are used.
    for format in [
        "%d.%m.%Y",
        "%d %b %Y",
        "%d %B %Y",
        "%d-%b-%Y",
        "%B %d, %Y",
        "%b %d, %Y",
    ] {
        if let Ok(day) = NaiveDate::parse_from_str(text, format) {
            return Ok(day);
        }
    }
    let text = text.replace('-', "/");
    let day_first = NaiveDate::parse_from_str(&text, "%d/%m/%Y").ok();
    let month_first = NaiveDate::parse_from_str(&text, "%m/%d/%Y").ok();
    match (day_first, month_first) {
        (Some(a), Some(b)) if a != b => Err(MomentError::Ambiguous(a, b)),
        (Some(day), _) | (_, Some(day)) => Ok(day),
        (None, None) => Err(MomentError::NotADate),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn start(text: &str) -> Option<String> {
        let moment = read(text, &Zone::AS_WRITTEN).ok()?;
        Some(Zone::AS_WRITTEN.rfc3339(moment.start))
    }

    #[test]
    fn unmistakable_dates_read() {
        for text in [
            "2026-03-14",
            "2026/03/14",
            "20260314",
            "14.3.2026",
            "14/03/2026",
            "3/14/2026",
            "14 Mar 2026",
            "14 March 2026",
            "March 14, 2026",
            "2026-03-14 00:00",
            "2026-03-14T00:00:00Z",
            "2026-03-14T01:00:00+01:00",
            " 14.03.2026 00:00:00 ",
        ] {
            assert_eq!(
                start(text).as_deref(),
                Some("2026-03-14T00:00:00Z"),
                "{text}"
            );
        }
        assert_eq!(
            start("14 Mar 2026 07:30").as_deref(),
            Some("2026-03-14T07:30:00Z")
        );
    }

    #[test]
    fn mistakable_dates_are_told_apart_from_nonsense() {
        let day = |m, d| NaiveDate::from_ymd_opt(2026, m, d).unwrap();
        assert_eq!(
            read("03/04/2026", &Zone::AS_WRITTEN),
            Err(MomentError::Ambiguous(day(4, 3), day(3, 4)))
        );
        assert!(start("04/04/2026").is_some());
        for text in [
            "",
            "soon",
            "2026-02-30",
            "14.3.26",
            "1899-12-31",
            "2026-03-14 25:00",
        ] {
            assert_eq!(
                read(text, &Zone::AS_WRITTEN),
                Err(MomentError::NotADate),
                "{text}"
            );
        }
    }

    #[test]
    fn a_day_ends_where_the_next_begins_even_when_clocks_change() {
        let zone = Zone::named("Europe/Lisbon").unwrap();
        let day = read("2026-03-29", &zone).unwrap();
        assert_eq!(day.end.0 - day.start.0, 23 * 3600);
    }
}
