//! Times of day as written: `07:30`, `7.30 Uhr`, `7h30`, `7:30 PM`.

use super::{DateRefusal, TimeReading, serial};
use crate::intake::{number, words};
use chrono::NaiveTime;

/// Reads a cell with a time of day, seconds optional and their fractions dropped.
pub fn read_time(text: &str) -> TimeReading {
    if number::is_missing(text) {
        return TimeReading::Missing;
    }
    match clock(&words::fold(text)) {
        Ok(time) => TimeReading::Read(time),
        Err(refusal) => TimeReading::Refused(refusal),
    }
}

/// Half of the day that is written.
#[derive(Clone, Copy, PartialEq)]
enum Half {
    Morning,
    Afternoon,
}

/// The time of a folded text.
pub(super) fn clock(folded: &str) -> Result<NaiveTime, DateRefusal> {
    let mut text = folded.trim();
    for lead in [
        "um ", "at ", "a las ", "a la ", "a ", "as ", "kl ", "kl. ", "om ", "alle ",
    ] {
        if let Some(rest) = text.strip_prefix(lead) {
            text = rest.trim();
        }
    }
    let (text, half) = split_half(text);
    let text = ["uhr", "hrs", "h", "hs", "std", "o'clock", "uur"]
        .iter()
        .find_map(|tail| text.strip_suffix(tail))
        .unwrap_or(text)
        .trim();
    // A day's fraction that an export left as a number; two decimals are `7.30` instead.
    if let Some((_, decimals)) = text.split_once('.')
        && text.starts_with("0.")
        && decimals.len() > 2
        && let Ok(fraction) = text.parse::<f64>()
    {
        return serial::time_from_serial(fraction);
    }
    let parts = split_parts(text).ok_or(DateRefusal::NotATime)?;
    let (hour, minute, second) = match parts.as_slice() {
        [hour] if hour.len() == 4 => {
            let (h, m) = hour.split_at_checked(2).ok_or(DateRefusal::NotATime)?;
            (figure(h)?, figure(m)?, 0)
        }
        // A bare number is an hour only with a word beside it.
        [hour] if half.is_some() || folded.len() > hour.len() => (figure(hour)?, 0, 0),
        [hour, minute] => (figure(hour)?, figure(minute)?, 0),
        [hour, minute, second] => (figure(hour)?, figure(minute)?, figure(second)?),
        _ => return Err(DateRefusal::NotATime),
    };
    let hour = match (half, hour) {
        (None, hour) => hour,
        (Some(_), 0 | 13..) => return Err(DateRefusal::NoSuchTime),
        (Some(Half::Morning), 12) => 0,
        (Some(Half::Afternoon), 12) => 12,
        (Some(Half::Morning), hour) => hour,
        (Some(Half::Afternoon), hour) => hour + 12,
    };
    NaiveTime::from_hms_opt(hour, minute, second).ok_or(DateRefusal::NoSuchTime)
}

/// Takes `am`, `p.m.` off the end.
fn split_half(text: &str) -> (&str, Option<Half>) {
    let halves = [
        ("a.m.", Half::Morning),
        ("a. m.", Half::Morning),
        ("a.m", Half::Morning),
        ("am", Half::Morning),
        ("p.m.", Half::Afternoon),
        ("p. m.", Half::Afternoon),
        ("p.m", Half::Afternoon),
        ("pm", Half::Afternoon),
    ];
    for (tail, half) in halves {
        if let Some(rest) = text.strip_suffix(tail) {
            return (rest.trim(), Some(half));
        }
    }
    (text, None)
}

/// Hour, minute and second as written, with the signs between them checked.
fn split_parts(text: &str) -> Option<Vec<&str>> {
    let mut parts = Vec::new();
    let mut rest = text;
    loop {
        let end = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        let (digits, after) = rest.split_at_checked(end)?;
        if digits.is_empty() {
            return None;
        }
        // Fractions of a second are dropped: a check is not timed that closely.
        if parts.len() < 3 {
            parts.push(digits);
        }
        if after.is_empty() {
            return Some(parts);
        }
        let next = after
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(after.len());
        let (sign, after) = after.split_at_checked(next)?;
        let known = matches!(
            (parts.len(), sign.trim()),
            (1, ":" | "." | "h" | "u" | "uhr" | "h:")
                | (2, ":" | "." | "m" | "min" | "'" | "m:")
                | (3, "." | "," | "s" | "\"")
        );
        if !known {
            return None;
        }
        if after.is_empty() {
            // `7h30m`, `07:30:15s` end with their unit.
            return sign
                .trim()
                .chars()
                .all(char::is_alphabetic)
                .then_some(parts);
        }
        if parts.len() == 3 && !matches!(sign, "." | ",") {
            return None;
        }
        rest = after;
    }
}

/// A figure of at most two digits.
fn figure(digits: &str) -> Result<u32, DateRefusal> {
    if digits.len() > 2 {
        return Err(DateRefusal::NotATime);
    }
    digits.parse().map_err(|_| DateRefusal::NotATime)
}
