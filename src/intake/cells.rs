//! One cell at a time: a reading in canonical units, a time, or the reason why not.

use super::date::{self, DateReading, DateRefusal, DateStyle, Stamp, TimeReading};
use super::grid::Field;
use super::number::{self, Marked, Reading, Refusal};
use super::plan::Measured;
use super::plausible;
use crate::intake::checks::Measure;
use crate::time::{Instant, WallTime, Zone};
use chrono::{NaiveDate, NaiveTime};

/// What a cell of readings gave.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    /// Nothing is there.
    Missing,
    /// A reading, canonical.
    Read(f64),
    /// A reading, canonical, with something to tell of it.
    Noted(f64, String),
    /// Not used: kind, problem, hint.
    Rejected(&'static str, String, String),
}

/// The reading of a cell that is a plain number and possible; `None` for any other, which
/// [`value`] looks at closely.
#[inline]
pub(crate) fn plain_value(field: Field<'_>, column: &Measured) -> Option<f64> {
    let Field::Text(text) = field else {
        return None;
    };
    possible(number::read_plain(text.as_bytes(), column.style)?, column)
}

/// The canonical value of a number as written, where such a reading can be.
#[inline]
pub(super) fn possible(written: f64, column: &Measured) -> Option<f64> {
    let value = column.conversion.apply(written);
    let possible = match &column.range {
        Some(range) => range.contains(value),
        None => value.is_finite(),
    };
    possible.then_some(value)
}

/// Reads a cell of a measured column.
pub(crate) fn value(field: Field<'_>, column: &Measured) -> Value {
    match plain_value(field, column) {
        Some(value) => Value::Read(value),
        None => value_of_other(field, column),
    }
}

fn value_of_other(field: Field<'_>, column: &Measured) -> Value {
    let reading = match field {
        Field::Blank => return Value::Missing,
        Field::Text(text) => number::read(text, column.style),
        Field::Error(text) => match number::read(text, column.style) {
            Reading::Missing => Reading::Missing,
            _ => Reading::Refused(Refusal::FormulaError),
        },
        Field::Number(value) => number::from_float(value),
        Field::Span(days) if column.measure == Measure::CollectionHours => {
            return in_range(days * 24.0, column, None);
        }
        Field::Clock(time) if column.measure == Measure::CollectionHours => {
            let hours = time.signed_duration_since(NaiveTime::MIN).num_seconds();
            return in_range(hours as f64 / 3600.0, column, None);
        }
        Field::Time(_) | Field::At(_) | Field::Clock(_) | Field::Span(_) => {
            Reading::Refused(Refusal::Date)
        }
        Field::Bool(_) => Reading::Refused(Refusal::Words),
    };
    match reading {
        Reading::Missing => Value::Missing,
        Reading::Value(written) => in_range(column.conversion.apply(written), column, None),
        Reading::Marked(marked) => marked_value(&marked, column),
        Reading::Refused(refusal) => Value::Rejected(
            refusal_kind(refusal),
            sentence(refusal.problem()),
            sentence(refusal.hint()),
        ),
    }
}

fn marked_value(marked: &Marked, column: &Measured) -> Value {
    let says = marked.says().map(|text| sentence(&text));
    let Some(unit) = marked.unit.filter(|unit| Some(*unit) != column.unit) else {
        return in_range(column.conversion.apply(marked.value), column, says);
    };
    match column.role.measure(unit) {
        Some(Ok((measure, conversion))) if measure == column.measure => {
            let told = match column.unit {
                Some(of_column) => format!(
                    "The unit beside the number, {unit}, is not the column's, {of_column}; the cell was read in {unit}."
                ),
                None => format!("The cell was read in {unit}, the unit beside the number."),
            };
            in_range(conversion.apply(marked.value), column, Some(told))
        }
        Some(Err(mismatch)) => Value::Rejected(
            "unit",
            sentence(&mismatch.to_string()),
            "Correct the unit in the cell.".into(),
        ),
        _ => Value::Rejected(
            "unit",
            format!("The unit beside the number, {unit}, does not belong to this column."),
            "Correct the unit in the cell.".into(),
        ),
    }
}

#[inline]
fn in_range(value: f64, column: &Measured, note: Option<String>) -> Value {
    match &column.range {
        Some(range) if !range.contains(value) => Value::Rejected(
            "range",
            sentence(&range.problem(value)),
            sentence(plausible::OUTSIDE_HINT),
        ),
        _ if !value.is_finite() => Value::Rejected(
            "not-finite",
            sentence(Refusal::NotFinite.problem()),
            sentence(Refusal::NotFinite.hint()),
        ),
        _ => match note {
            None => Value::Read(value),
            Some(note) => Value::Noted(value, note),
        },
    }
}

fn refusal_kind(refusal: Refusal) -> &'static str {
    match refusal {
        Refusal::Below => "below",
        Refusal::Above => "above",
        Refusal::Words => "words",
        Refusal::NumberAndWords => "number-and-words",
        Refusal::SeveralNumbers => "several-numbers",
        Refusal::Date => "date",
        Refusal::FormulaError => "formula-error",
        Refusal::NotFinite => "not-finite",
        Refusal::TooLarge => "too-large",
        Refusal::ThousandsOrDecimal => "thousands-or-decimal",
        Refusal::Grouping => "grouping",
    }
}

/// Reads a date cell.
#[inline]
pub(crate) fn stamp(field: Field<'_>, style: DateStyle) -> DateReading {
    match field {
        Field::Blank => DateReading::Missing,
        Field::Text(text) => date::read(text, style),
        Field::Number(serial) => match date::from_serial(serial, style.epoch) {
            Ok(stamp) => DateReading::Read(stamp),
            Err(refusal) => DateReading::Refused(refusal),
        },
        Field::Time(at) if at.time() == NaiveTime::MIN => DateReading::Read(Stamp::Day(at.date())),
        Field::Time(at) => DateReading::Read(Stamp::Wall(at)),
        Field::At(at) => DateReading::Read(Stamp::Fixed(at)),
        Field::Clock(_) | Field::Span(_) | Field::Bool(_) | Field::Error(_) => {
            DateReading::Refused(DateRefusal::NotADate)
        }
    }
}

/// Reads a time-of-day cell.
pub(crate) fn clock(field: Field<'_>) -> TimeReading {
    let of_serial = |serial: f64| match date::time_from_serial(serial) {
        Ok(time) => TimeReading::Read(time),
        Err(refusal) => TimeReading::Refused(refusal),
    };
    match field {
        Field::Blank => TimeReading::Missing,
        Field::Text(text) => date::read_time(text),
        Field::Clock(time) => TimeReading::Read(time),
        Field::Time(at) => TimeReading::Read(at.time()),
        Field::Number(serial) | Field::Span(serial) if (0.0..1.0).contains(&serial) => {
            of_serial(serial)
        }
        _ => TimeReading::Refused(DateRefusal::NotATime),
    }
}

/// From stamps to instants, remembering days already looked up in the zone.
#[derive(Debug)]
pub(crate) struct Clockwork {
    zone: Zone,
    days: Vec<Option<(NaiveDate, Instant)>>,
}

impl Clockwork {
    const SLOTS: usize = 4096;

    /// For that zone.
    pub(crate) fn new(zone: Zone) -> Clockwork {
        let slots = zone.name().map_or(0, |_| Clockwork::SLOTS);
        Clockwork {
            zone,
            days: vec![None; slots],
        }
    }

    /// The instant, and what to tell where the clock changed.
    #[inline]
    pub(crate) fn instant(&mut self, stamp: Stamp) -> (Instant, Option<&'static str>) {
        match stamp {
            Stamp::Fixed(at) => (at, None),
            Stamp::Day(day) => (self.midnight(day), None),
            Stamp::Wall(wall) => match self.zone.instant(wall) {
                WallTime::Single(at) => (at, None),
                WallTime::Twice(at) => (
                    at,
                    Some(
                        "The clock showed this time twice, before and after it was put back; the first was taken.",
                    ),
                ),
                WallTime::Skipped(at) => (
                    at,
                    Some(
                        "The clock never showed this time, because it was put forward; it was read as if it had not been.",
                    ),
                ),
            },
        }
    }

    fn midnight(&mut self, day: NaiveDate) -> Instant {
        let wall = day.and_time(NaiveTime::MIN);
        if self.days.is_empty() {
            return Instant(wall.and_utc().timestamp());
        }
        let number = chrono::Datelike::num_days_from_ce(&day);
        let slot = usize::try_from(number.rem_euclid(Clockwork::SLOTS as i32)).unwrap_or(0);
        if let Some(Some((known, at))) = self.days.get(slot)
            && *known == day
        {
            return *at;
        }
        let at = self.zone.instant(wall).instant();
        if let Some(entry) = self.days.get_mut(slot) {
            *entry = Some((day, at));
        }
        at
    }
}

/// The text as a sentence: a capital first, a full stop last.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let mut out: String = match chars.next() {
        // `pH` and lines of `lab.toml` keep their small letter.
        Some(first) if !text.starts_with("pH") && !text.contains(" = ") => {
            first.to_uppercase().chain(chars).collect()
        }
        _ => text.to_owned(),
    };
    if !out.ends_with(['.', '!', '?', '"']) {
        out.push('.');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::number::Style;
    use crate::intake::role::Role;
    use crate::intake::unit::{Temperature, Unit};

    fn column(unit: Temperature) -> Measured {
        let unit = Unit::Temperature(unit);
        let role = Role::CabinetTemperature;
        let (measure, conversion) = role.measure(unit).unwrap().unwrap();
        Measured {
            column: 0,
            range: plausible::possible(&measure),
            measure,
            conversion,
            style: Style::POINT,
            unit: Some(unit),
            role,
        }
    }

    #[test]
    fn readings_become_canonical_or_say_why_not() {
        let celsius = column(Temperature::Celsius);
        let fahrenheit = column(Temperature::Fahrenheit);
        assert_eq!(value(Field::Text("35.1"), &celsius), Value::Read(35.1));
        assert_eq!(value(Field::Number(95.0), &fahrenheit), Value::Read(35.0));
        assert_eq!(value(Field::Blank, &celsius), Value::Missing);
        for (field, kind) in [
            (Field::Text("351"), "range"),
            (Field::Text("x<br>"), "words"),
            (Field::Number(f64::INFINITY), "not-finite"),
            (Field::Number(1e308), "too-large"),
            (Field::Bool(true), "words"),
            (Field::Error("#DIV/0!"), "formula-error"),
        ] {
            match value(field, &celsius) {
                Value::Rejected(found, problem, hint) => {
                    assert_eq!(found, kind, "{field:?}");
                    assert!(
                        problem.ends_with('.') && hint.ends_with('.'),
                        "{problem} {hint}"
                    );
                }
                other => panic!("{field:?} gave {other:?}"),
            }
        }
    }

    #[test]
    fn a_workbook_duration_is_a_collection_period() {
        let role = Role::CollectionHours;
        let unit = Unit::Duration(crate::intake::unit::Duration::Hour);
        let (measure, conversion) = role.measure(unit).unwrap().unwrap();
        let hours = Measured {
            column: 0,
            range: plausible::possible(&measure),
            measure,
            conversion,
            style: Style::POINT,
            unit: Some(unit),
            role,
        };
        assert_eq!(value(Field::Span(1.0), &hours), Value::Read(24.0));
        let sixteen = NaiveTime::from_hms_opt(16, 0, 0).unwrap();
        assert_eq!(value(Field::Clock(sixteen), &hours), Value::Read(16.0));
    }

    #[test]
    fn clock_changes_are_told() {
        let mut berlin = Clockwork::new(Zone::named("Europe/Berlin").unwrap());
        let wall = |text: &str| Stamp::Wall(text.parse().unwrap());
        let (_, twice) = berlin.instant(wall("2026-10-25T02:30:00"));
        assert!(twice.unwrap().contains("twice"));
        let (_, never) = berlin.instant(wall("2026-03-29T02:30:00"));
        assert!(never.unwrap().contains("never"));
        let day = NaiveDate::from_ymd_opt(2026, 7, 1).unwrap();
        let first = berlin.instant(Stamp::Day(day));
        assert_eq!(first, berlin.instant(Stamp::Day(day)));
        assert_eq!(
            first.0.utc().unwrap().to_rfc3339(),
            "2026-06-30T22:00:00+00:00"
        );
    }
}
