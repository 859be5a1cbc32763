//! How numbers, units and dates are written for a reader, in one place.
//!
//! Every renderer rounds through here, so the page, the charts and the terminal never
//! show one number in two ways. British English; a true minus sign; no-break spaces
//! between a number and its unit. Nothing here decides what a number means.

use crate::characteristic::Characteristic;
use crate::issue::is_unsafe_to_show;
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, Timelike};

/// Keeps a number and its unit on one line.
const NO_BREAK_SPACE: char = '\u{a0}';

/// The decimals beyond which binary64 has nothing to say to a reader.
const MOST_DECIMALS: u32 = 12;

/// The text without characters that could rewrite a terminal line or a page.
///
/// Line breaks and tabs become spaces; other control and direction-changing
/// characters become U+FFFD. The length is kept.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if is_unsafe_to_show(c) => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// The text cut to at most `longest` characters, with an ellipsis where it was cut.
pub fn shortened(text: &str, longest: usize) -> String {
    if text.chars().count() <= longest {
        return text.to_owned();
    }
    let kept: String = text.chars().take(longest.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// A number with that many decimals and a true minus sign; never `-0.0`.
///
/// What is not finite (never in a review) reads "–".
///
/// ```
/// use steadyfog::report::format::number;
/// assert_eq!(number(-1.256, 2), "\u{2212}1.26");
/// assert_eq!(number(-0.001, 2), "0.00");
/// ```
pub fn number(value: f64, decimals: u32) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let decimals = decimals.min(MOST_DECIMALS) as usize;
    let size = format!("{:.decimals$}", value.abs());
    let is_zero = size.chars().all(|c| matches!(c, '0' | '.'));
    if value < 0.0 && !is_zero {
        format!("\u{2212}{size}")
    } else {
        size
    }
}

/// A number with its sign, plus included: a change.
pub fn signed(value: f64, decimals: u32) -> String {
    let text = number(value, decimals);
    if value > 0.0 && number(value, decimals) != number(0.0, decimals) {
        format!("+{text}")
    } else {
        text
    }
}

/// A number to so many significant digits, written out in decimals.
///
/// ```
/// use steadyfog::report::format::significant;
/// assert_eq!(significant(-0.012345, 2), "\u{2212}0.012");
/// assert_eq!(significant(1234.6, 2), "1235");
/// ```
pub fn significant(value: f64, digits: u32) -> String {
    if value == 0.0 || !value.is_finite() {
        return number(value, 0);
    }
    let magnitude = value.abs().log10().floor() as i64;
    let decimals = (i64::from(digits) - 1 - magnitude).clamp(0, i64::from(MOST_DECIMALS));
    number(value, decimals as u32)
}

/// A number with its unit, kept on one line; the number alone where there is no unit.
pub fn with_unit(value: f64, decimals: u32, unit: &str) -> String {
    attach(number(value, decimals), unit)
}

/// A written number or range with its unit.
pub fn attach(number: String, unit: &str) -> String {
    if unit.is_empty() {
        number
    } else {
        format!("{number}{NO_BREAK_SPACE}{unit}")
    }
}

/// A window: "1.0 to 2.0", "at least 1.0", "at most 2.0", "no limit".
pub fn window(lower: Option<f64>, upper: Option<f64>, decimals: u32, unit: &str) -> String {
    let text = match (lower, upper) {
        (Some(lower), Some(upper)) => {
            format!("{} to {}", number(lower, decimals), number(upper, decimals))
        }
        (Some(lower), None) => format!("at least {}", number(lower, decimals)),
        (None, Some(upper)) => format!("at most {}", number(upper, decimals)),
        (None, None) => return "no limit".to_owned(),
    };
    attach(text, unit)
}

/// The fewest decimals that write the value without loss, at least `at_least`; one more
/// than that for a value that needs more than six.
///
/// For values that people set (conformance limits): 1.0255 keeps its four decimals
/// where the readings have three. One read off between two rows of a table has no end
/// of decimals, and none of them mean anything.
pub fn decimals_of(value: f64, at_least: u32) -> u32 {
    (at_least..=6)
        .find(|&d| {
            let scaled = value * 10_f64.powi(d as i32);
            (scaled - scaled.round()).abs() < 1e-6
        })
        .unwrap_or(at_least + 1)
}

/// A fraction as a percentage that never reads zero unless it is.
///
/// ```
/// use steadyfog::report::format::percent;
/// assert_eq!(percent(0.8), "80\u{a0}%");
/// assert_eq!(percent(1e-9), "under 0.01\u{a0}%");
/// ```
pub fn percent(fraction: f64) -> String {
    let value = fraction * 100.0;
    if value != 0.0 && value.abs() < 0.01 {
        return format!("under 0.01{NO_BREAK_SPACE}%");
    }
    let decimals = if value.abs() >= 10.0 || value == value.round() {
        0
    } else if value.abs() >= 1.0 {
        1
    } else {
        2
    };
    with_unit(value, decimals, "%")
}

/// "no signals", "1 signal", "12 signals"; `plural` is the noun's plural.
pub fn count(n: u64, singular: &str, plural: &str) -> String {
    match n {
        0 => format!("no {plural}"),
        1 => format!("1 {singular}"),
        n => format!("{n} {plural}"),
    }
}

/// The wall-clock time that a wire time shows, its offset set aside; `None` when it is none.
///
/// Takes RFC 3339, the same without offset, and a date alone (read as its midnight).
pub fn wall(text: &str) -> Option<NaiveDateTime> {
    DateTime::parse_from_rfc3339(text)
        .map(|t| t.naive_local())
        .or_else(|_| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M:%S"))
        .or_else(|_| {
            NaiveDate::parse_from_str(text, "%Y-%m-%d").map(|d| d.and_time(NaiveTime::MIN))
        })
        .ok()
}

/// "9 March 2026"; the text itself, cleaned, when it is no date.
///
/// ```
/// assert_eq!(steadyfog::report::format::date("2026-03-09T07:30:00+01:00"), "9 March 2026");
/// ```
pub fn date(text: &str) -> String {
    wall(text).map_or_else(|| clean(text), |t| t.format("%-d %B %Y").to_string())
}

/// "9 Mar 2026 07:30"; without the time at midnight, when only a date was written.
pub fn moment(text: &str) -> String {
    wall(text).map_or_else(
        || clean(text),
        |t| {
            let whole_day = t.hour() == 0 && t.minute() == 0;
            let form = if whole_day {
                "%-d\u{a0}%b\u{a0}%Y"
            } else {
                "%-d\u{a0}%b\u{a0}%Y %H:%M"
            };
            t.format(form).to_string()
        },
    )
}

/// "1 to 31 March 2026", "28 February to 3 March 2026": both ends, nothing said twice.
pub fn dates(from: &str, to: &str) -> String {
    let (Some(a), Some(b)) = (wall(from), wall(to)) else {
        return format!("{} to {}", clean(from), clean(to));
    };
    let end = b.format("%-d %B %Y");
    if a.date() == b.date() {
        return end.to_string();
    }
    let form = match (a.year() == b.year(), a.month() == b.month()) {
        (true, true) => "%-d",
        (true, false) => "%-d %B",
        (false, _) => "%-d %B %Y",
    };
    format!("{} to {end}", a.format(form))
}

/// A name as it begins a line: "Collection rate"; "pH" stays as it is.
pub fn capital(text: &str) -> String {
    let text = clean(text);
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            let rest = text.get(first.len_utf8()..).unwrap_or_default();
            first.to_uppercase().chain(rest.chars()).collect()
        }
        _ => text,
    }
}

/// A state as a reader sees it: `too-few` is "too few".
pub fn words(identifier: &str) -> String {
    clean(identifier).replace('-', " ")
}

/// The name of a characteristic in a sentence, from its identifier.
pub fn spoken(id: &str) -> String {
    match id.parse::<Characteristic>() {
        Ok(known) => known.spoken().to_owned(),
        Err(never) => match never {},
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_round_without_a_negative_zero() {
        assert_eq!(number(1.005, 1), "1.0");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(-12.0, 0), "\u{2212}12");
        assert_eq!(number(f64::NAN, 2), "–");
        assert_eq!(signed(0.25, 1), "+0.2");
        assert_eq!(signed(0.001, 1), "0.0");
        assert_eq!(with_unit(35.0, 1, "°C"), "35.0\u{a0}°C");
        assert_eq!(with_unit(6.8, 1, ""), "6.8");
    }

    #[test]
    fn significant_digits_follow_the_size() {
        assert_eq!(significant(0.00012345, 2), "0.00012");
        assert_eq!(significant(0.0, 2), "0");
        assert_eq!(significant(9.96, 2), "10.0");
    }

    #[test]
    fn windows_may_be_one_sided() {
        assert_eq!(window(Some(1.0), Some(2.0), 1, ""), "1.0 to 2.0");
        assert_eq!(window(Some(1.0), None, 1, ""), "at least 1.0");
        assert_eq!(window(None, Some(2.0), 1, "%"), "at most 2.0\u{a0}%");
        assert_eq!(window(None, None, 1, "%"), "no limit");
        assert_eq!(decimals_of(1.0255, 3), 4);
        assert_eq!(decimals_of(1.04, 3), 3);
        assert_eq!(decimals_of(46.0 + 1.0 / 7.0, 1), 2);
    }

    #[test]
    fn dates_say_nothing_twice() {
        assert_eq!(dates("2026-03-01", "2026-03-31"), "1 to 31 March 2026");
        assert_eq!(
            dates("2026-02-28", "2026-03-03T07:00:00Z"),
            "28 February to 3 March 2026"
        );
        assert_eq!(
            dates("2025-12-31", "2026-01-02"),
            "31 December 2025 to 2 January 2026"
        );
        assert_eq!(dates("2026-01-02", "2026-01-02"), "2 January 2026");
        assert_eq!(moment("2026-03-09T00:00:00Z"), "9\u{a0}Mar\u{a0}2026");
        assert_eq!(date("soon\u{1b}[2J"), "soon\u{fffd}[2J");
    }

    #[test]
    fn small_fractions_never_read_zero() {
        assert_eq!(percent(0.0), "0\u{a0}%");
        assert_eq!(percent(0.00004), "under 0.01\u{a0}%");
        assert_eq!(percent(0.0132), "1.3\u{a0}%");
    }

    #[test]
    fn hostile_characters_are_replaced_one_for_one() {
        let text = "a\u{1b}b\u{202e}c\nd\u{7f}\u{85}\u{2028}";
        let cleaned = clean(text);
        assert_eq!(cleaned, "a\u{fffd}b\u{fffd}c d\u{fffd}\u{fffd}\u{fffd}");
        assert_eq!(
            (capital("collection rate").as_str(), capital("pH").as_str()),
            ("Collection rate", "pH")
        );
        assert_eq!(shortened("new nozzle fitted", 8), "new noz…");
    }
}
