//! How numbers, dates and lists are written in sentences, the same everywhere.
//!
//! It rounds for the reader; the wire format keeps full precision beside every sentence.

use crate::chart::Limits;
use chrono::{Datelike, NaiveDate};

/// Decimals beyond which no reading of a cabinet means anything.
const MOST_DECIMALS: usize = 6;

/// Decimals that carry meaning in a number whose noise is `sigma` (above 0).
///
/// The last decimal is worth between 0.04 and 0.4 sigma, so that rounding never hides
/// a change that matters (common practice).
///
/// ```
/// use steadyfog::signal::wording::decimals_for;
/// assert_eq!(decimals_for(0.05), 2);
/// assert_eq!(decimals_for(0.5), 1);
/// assert_eq!(decimals_for(0.0008), 4);
/// ```
pub fn decimals_for(sigma: f64) -> usize {
    let digits = (0.4 - sigma.log10()).ceil();
    if digits.is_finite() {
        (digits.max(0.0) as usize).min(MOST_DECIMALS)
    } else {
        0
    }
}

/// Decimals that write a multiple of `resolution` without loss, at most four.
pub fn decimals_of_resolution(resolution: f64) -> usize {
    (0..4)
        .find(|&d| {
            let scaled = resolution * 10_f64.powi(d);
            (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1.0) && scaled.round() >= 1.0
        })
        .map_or(4, |d| d as usize)
}

/// Decimals of readings: those of their resolution, or of their noise where that is
/// finer than meaning goes (a volume of 0.5 mL over 16 h is a rate in steps of 0.03125).
pub fn decimals_of_readings(limits: &Limits) -> usize {
    let by_noise = decimals_for(limits.sigma);
    match limits.resolution {
        Some(step) => decimals_of_resolution(step).min(by_noise.max(2)),
        None => by_noise,
    }
}

/// Decimals of a centre line or limit: never fewer than the readings'.
pub fn decimals_of_levels(limits: &Limits) -> usize {
    decimals_for(limits.sigma).max(decimals_of_readings(limits))
}

/// The number with that many decimals and a true minus sign; never `−0`.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// The number with two significant digits and no exponent: for slopes and sizes.
///
/// ```
/// use steadyfog::signal::wording::two_digits;
/// assert_eq!(two_digits(0.0123), "0.012");
/// assert_eq!(two_digits(-14.2), "\u{2212}14");
/// assert_eq!(two_digits(0.0), "0");
/// ```
pub fn two_digits(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let decimals = (1.0 - value.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    number(value, decimals)
}

/// Both ends of an interval with the decimals that its width gives meaning to; where the
/// rounding would make them one, one decimal more.
///
/// ```
/// use steadyfog::signal::wording::interval;
/// let (low, high) = interval(-0.01073, -0.00862);
/// assert_eq!(format!("{low} to {high}"), "\u{2212}0.0107 to \u{2212}0.0086");
/// ```
pub fn interval(low: f64, high: f64) -> (String, String) {
    let decimals = decimals_for((high - low).abs().max(f64::MIN_POSITIVE));
    let written = |decimals| (number(low, decimals), number(high, decimals));
    let (a, b) = written(decimals);
    if a == b {
        written(decimals + 1)
    } else {
        (a, b)
    }
}

/// The number followed by its unit, where it has one.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}

/// Name of the month of a date.
fn month(date: NaiveDate) -> &'static str {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    MONTHS.get(date.month0() as usize).copied().unwrap_or("")
}

/// A date for the reader: `9 March`, with its year when that is not `year`.
pub fn day(date: NaiveDate, year: i32) -> String {
    if date.year() == year {
        format!("{} {}", date.day(), month(date))
    } else {
        format!("{} {} {}", date.day(), month(date), date.year())
    }
}

/// Two dates for the reader, without a leading word: `9 March`, `3 to 13 March`,
/// `28 February to 4 March`.
pub fn days(from: NaiveDate, to: NaiveDate, year: i32) -> String {
    if from == to {
        day(from, year)
    } else if (from.year(), from.month()) == (to.year(), to.month()) {
        format!("{} to {}", from.day(), day(to, year))
    } else {
        format!("{} to {}", day(from, year), day(to, year))
    }
}

/// A list in a sentence: `a, b and c`.
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", rest.join(", "), last.as_ref())
        }
    }
}

/// A count with its noun: `1 check`, `3 checks`.
pub fn count(n: usize, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn dates_are_short_and_carry_a_foreign_year() {
        assert_eq!(day(date(2026, 3, 9), 2026), "9 March");
        assert_eq!(day(date(2025, 12, 9), 2026), "9 December 2025");
        assert_eq!(
            days(date(2026, 3, 3), date(2026, 3, 13), 2026),
            "3 to 13 March"
        );
        assert_eq!(days(date(2026, 3, 3), date(2026, 3, 3), 2026), "3 March");
        assert_eq!(
            days(date(2025, 12, 30), date(2026, 1, 4), 2026),
            "30 December 2025 to 4 January"
        );
        assert_eq!(
            days(date(2025, 12, 3), date(2025, 12, 4), 2026),
            "3 to 4 December 2025"
        );
    }

    #[test]
    fn numbers_are_rounded_to_what_they_mean() {
        assert_eq!(number(-0.0004, 2), "0.00");
        assert_eq!(number(-1.206, 2), "\u{2212}1.21");
        assert_eq!(decimals_of_resolution(0.1), 1);
        assert_eq!(decimals_of_resolution(0.5), 1);
        assert_eq!(decimals_of_resolution(2.0), 0);
        assert_eq!(decimals_of_resolution(0.0005), 4);
        assert_eq!(decimals_of_resolution(0.03125), 4);
        assert_eq!(decimals_for(f64::NAN), 0);
        assert_eq!(two_digits(0.00456), "0.0046");
        assert_eq!(two_digits(123.4), "123");
    }

    #[test]
    fn lists_and_counts_read_as_english() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
        assert_eq!(count(1, "check"), "1 check");
        assert_eq!(count(0, "check"), "0 checks");
    }
}
