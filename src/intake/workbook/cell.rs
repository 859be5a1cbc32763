//! Cells of a workbook: serials to dates and times, durations, errors.

use crate::intake::grid::Cell;
use calamine::{CellErrorType, Data, DataRef, ExcelDateTime};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

pub(super) fn cell_of(value: &Data) -> Cell {
    match value {
        Data::Empty => Cell::Blank,
        Data::Int(value) => Cell::Number(*value as f64),
        Data::Float(value) => Cell::Number(*value),
        Data::String(text) => Cell::Text(text.as_str().into()),
        Data::Bool(value) => Cell::Bool(*value),
        Data::DateTime(at) => cell_of_date(at),
        Data::DateTimeIso(text) => cell_of_iso(text),
        Data::DurationIso(text) => cell_of_duration(text),
        Data::Error(error) => Cell::Error(error_text(error)),
    }
}

pub(super) fn cell_of_ref(value: &DataRef<'_>) -> Cell {
    match value {
        DataRef::Empty => Cell::Blank,
        DataRef::Int(value) => Cell::Number(*value as f64),
        DataRef::Float(value) => Cell::Number(*value),
        DataRef::String(text) => Cell::Text(text.as_str().into()),
        DataRef::SharedString(text) => Cell::Text((*text).into()),
        DataRef::Bool(value) => Cell::Bool(*value),
        DataRef::DateTime(at) => cell_of_date(at),
        DataRef::DateTimeIso(text) => cell_of_iso(text),
        DataRef::DurationIso(text) => cell_of_duration(text),
        DataRef::Error(error) => Cell::Error(error_text(error)),
    }
}

/// A serial with a date format: a length of time, a time of day, or a date.
fn cell_of_date(at: &ExcelDateTime) -> Cell {
    let serial = at.as_f64();
    if !serial.is_finite() || serial < 0.0 {
        return Cell::Number(serial);
    }
    if at.is_duration() {
        return Cell::Span(serial);
    }
    if serial < 1.0 {
        return clock(serial * 86_400.0);
    }
    // Serials carry the rounding of a double: a written minute comes back to the second.
    match at.as_datetime() {
        Some(time) => Cell::Time(to_second(time)),
        None => Cell::Number(serial),
    }
}

fn to_second(time: NaiveDateTime) -> NaiveDateTime {
    let half = chrono::Duration::milliseconds(500);
    let rounded = time.checked_add_signed(half).unwrap_or(time);
    chrono::Timelike::with_nanosecond(&rounded, 0).unwrap_or(rounded)
}

fn clock(seconds: f64) -> Cell {
    let seconds = seconds.round();
    if (0.0..86_400.0).contains(&seconds) {
        NaiveTime::from_num_seconds_from_midnight_opt(seconds as u32, 0)
            .map_or(Cell::Blank, Cell::Clock)
    } else {
        Cell::Span(seconds / 86_400.0)
    }
}

fn cell_of_iso(text: &str) -> Cell {
    if let Ok(date) = text.parse::<NaiveDate>() {
        return Cell::Time(date.and_time(NaiveTime::MIN));
    }
    match text.parse::<NaiveDateTime>() {
        Ok(at) => Cell::Time(to_second(at)),
        Err(_) => Cell::Text(text.into()),
    }
}

/// `PT07H30M00S`, as OpenDocument writes a time of day or a length of time.
pub(super) fn cell_of_duration(text: &str) -> Cell {
    let mut seconds = 0.0;
    let mut number = String::new();
    for c in text.trim_start_matches("PT").chars() {
        let unit = match c {
            'H' => 3600.0,
            'M' => 60.0,
            'S' => 1.0,
            _ => {
                number.push(if c == ',' { '.' } else { c });
                continue;
            }
        };
        let Ok(value) = number.parse::<f64>() else {
            return Cell::Text(text.into());
        };
        seconds += value * unit;
        number.clear();
    }
    if number.is_empty() {
        clock(seconds)
    } else {
        Cell::Text(text.into())
    }
}

fn error_text(error: &CellErrorType) -> &'static str {
    match error {
        CellErrorType::Div0 => "#DIV/0!",
        CellErrorType::NA => "#N/A",
        CellErrorType::Name => "#NAME?",
        CellErrorType::Null => "#NULL!",
        CellErrorType::Num => "#NUM!",
        CellErrorType::Ref => "#REF!",
        CellErrorType::Value => "#VALUE!",
        CellErrorType::GettingData => "#DATA!",
    }
}
