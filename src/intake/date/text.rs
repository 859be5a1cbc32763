//! Dates written in figures and words, with weekday, time and offset around them.

use super::written::{self, Written};
use super::{DateReading, DateRefusal, DateStyle, Stamp, clock, names, serial};
use crate::intake::{number, words};
use crate::lab::DateOrder;
use crate::time::Instant;
use chrono::{Datelike, NaiveDate, NaiveTime, Weekday};

/// Longest text that can be a date; anything longer is a remark.
const LONGEST: usize = 80;

/// Reads a cell that is not plain ISO.
pub(super) fn read(text: &str, style: DateStyle) -> DateReading {
    let text = words::trim(text);
    if number::is_missing(text) {
        return DateReading::Missing;
    }
    if text.len() > LONGEST {
        return DateReading::Refused(DateRefusal::NotADate);
    }
    match stamp(text, style) {
        Ok(stamp) => DateReading::Read(stamp),
        Err(refusal) => DateReading::Refused(refusal),
    }
}

fn stamp(text: &str, style: DateStyle) -> Result<Stamp, DateRefusal> {
    if let Some(serial) = as_serial(text) {
        return serial::from_serial(serial, style.epoch);
    }
    let folded = words::fold(text);
    let Some((weekdays, written, rest)) = written::split(&folded) else {
        return time_first(&folded, style);
    };
    let (weekdays, rest) = match rest.trim_matches([' ', ',', '(', ')', '.']) {
        // A weekday may also follow the date.
        tail if weekdays.is_empty() && !names::weekday(tail).is_empty() => {
            (names::weekday(tail), "")
        }
        _ => (weekdays, rest),
    };
    let day = resolve(&written, &weekdays, style.order)?;
    with_time(day, rest)
}

/// The stamp of a day and what stands behind it.
fn with_time(day: NaiveDate, rest: &str) -> Result<Stamp, DateRefusal> {
    let rest = rest.trim_matches([' ', ',', ';', '|', '-', '\'']);
    let rest = rest.strip_prefix('t').unwrap_or(rest).trim();
    if rest.is_empty() {
        return Ok(Stamp::Day(day));
    }
    let (time, offset) = split_offset(rest);
    let time = match time {
        // ISO 8601 allows 24:00 for the end of a day.
        "24:00" | "24:00:00" => {
            let next = day.succ_opt().ok_or(DateRefusal::NoSuchDay)?;
            next.and_time(NaiveTime::MIN)
        }
        time => day.and_time(clock::clock(time)?),
    };
    Ok(match offset {
        None => Stamp::Wall(time),
        Some(seconds) => Stamp::Fixed(Instant(time.and_utc().timestamp() - seconds)),
    })
}

/// `07:30 02.03.2026`.
fn time_first(folded: &str, style: DateStyle) -> Result<Stamp, DateRefusal> {
    let (time, date) = folded.split_once(' ').ok_or(DateRefusal::NotADate)?;
    if !time.contains(':') {
        return Err(DateRefusal::NotADate);
    }
    let time = clock::clock(time.trim_end_matches(','))?;
    let (weekdays, written, rest) = written::split(date.trim()).ok_or(DateRefusal::NotADate)?;
    if !rest.trim().is_empty() {
        return Err(DateRefusal::NotADate);
    }
    Ok(Stamp::Wall(
        resolve(&written, &weekdays, style.order)?.and_time(time),
    ))
}

/// Spreadsheet serials that an export left as numbers: five digits, 1954 to 2173.
fn as_serial(text: &str) -> Option<f64> {
    let (whole, decimals) = text
        .split_once(['.', ','])
        .map_or((text, ""), |(whole, decimals)| (whole, decimals));
    let figures = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if whole.len() != 5 || !figures(whole) || !figures(decimals) || whole < "20000" {
        return None;
    }
    text.replace(',', ".").parse().ok()
}

/// Takes an offset from UTC off the end of a time; seconds east.
fn split_offset(text: &str) -> (&str, Option<i64>) {
    for tail in ["utc", "gmt", "z"] {
        if let Some(time) = text.strip_suffix(tail) {
            return (time.trim(), Some(0));
        }
    }
    let Some(at) = text.rfind(['+', '-', '−']) else {
        return (text, None);
    };
    let (time, offset) = text.split_at(at);
    let east = offset.starts_with('+');
    let digits: String = offset.chars().filter(char::is_ascii_digit).collect();
    let others = offset
        .chars()
        .skip(1)
        .all(|c| c.is_ascii_digit() || c == ':');
    let (hours, minutes) = match (digits.len(), digits.split_at_checked(2)) {
        (2 | 4, Some((h, m))) if others => (h, if m.is_empty() { "0" } else { m }),
        _ => return (text, None),
    };
    match (hours.parse::<i64>(), minutes.parse::<i64>()) {
        (Ok(h), Ok(m)) if h <= 14 && m < 60 => {
            let seconds = h * 3600 + m * 60;
            let time = time.trim();
            let time = time.strip_suffix("utc").or(time.strip_suffix("gmt"));
            let time = time.unwrap_or_else(|| text.split_at(at).0).trim();
            (time, Some(if east { seconds } else { -seconds }))
        }
        _ => (text, None),
    }
}

/// The day that a written date means.
fn resolve(
    written: &Written,
    weekdays: &[Weekday],
    order: Option<DateOrder>,
) -> Result<NaiveDate, DateRefusal> {
    let candidates = match order {
        Some(order) if written.allows(order) => vec![written.as_order(order)],
        _ => written
            .orders()
            .iter()
            .map(|o| written.as_order(*o))
            .collect(),
    };
    if candidates.is_empty() {
        return Err(DateRefusal::NoYear);
    }
    let mut days: Vec<NaiveDate> = candidates.into_iter().flatten().collect();
    days.sort_unstable();
    days.dedup();
    let Some(any) = days.first().copied() else {
        return Err(DateRefusal::NoSuchDay);
    };
    if !weekdays.is_empty() {
        days.retain(|day| weekdays.contains(&day.weekday()));
    }
    match days.as_slice() {
        [] => Err(DateRefusal::OtherWeekday(any.weekday())),
        [day] => Ok(*day),
        _ => Err(DateRefusal::DayOrMonth),
    }
}
