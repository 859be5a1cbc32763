//! Parquet logs: typed columns with their names as headings.
//!
//! Columns stay typed; numbers become double precision, dates wall-clock times.
//! Nested and binary columns hold nothing a check could be and read as blank, told.

use super::grid::Field;
use crate::time::Instant;
use chrono::{DateTime, NaiveTime};
use polars::prelude::*;
use std::io::Cursor;

/// Most rows read: a damaged or hostile file may declare any number.
const MOST_ROWS: usize = 200_000_000;

/// The columns of a Parquet file, all of the same length.
#[derive(Debug)]
pub(crate) struct ColumnTable {
    names: Vec<String>,
    columns: Vec<Column>,
    height: usize,
    /// Names of columns of a type no check log has.
    pub(crate) unsupported: Vec<String>,
}

#[derive(Debug)]
enum Column {
    Number(Float64Chunked),
    Text(StringChunked),
    /// Milliseconds since 1970 on the wall clock.
    Wall(Int64Chunked),
    /// Milliseconds since 1970 in UTC.
    Utc(Int64Chunked),
    /// Nanoseconds since midnight.
    Clock(Int64Chunked),
    /// Milliseconds.
    Span(Int64Chunked),
    Bool(BooleanChunked),
    Unsupported,
}

impl ColumnTable {
    /// Reads a whole Parquet file.
    ///
    /// # Errors
    /// A sentence when it is damaged, no Parquet file, or declares too many rows.
    pub(crate) fn read(bytes: Vec<u8>) -> std::result::Result<ColumnTable, String> {
        let damaged = |error: PolarsError| {
            let text = error.to_string();
            let line = text.lines().next().unwrap_or_default();
            format!("The Parquet file is damaged or cut short ({line}).")
        };
        let mut reader = ParquetReader::new(Cursor::new(bytes));
        let rows = reader.num_rows().map_err(damaged)?;
        if rows > MOST_ROWS {
            return Err(format!(
                "The Parquet file declares {rows} rows; at most {MOST_ROWS} are read."
            ));
        }
        let frame = reader.set_rechunk(true).finish().map_err(damaged)?;
        ColumnTable::of_frame(&frame).map_err(damaged)
    }

    fn of_frame(frame: &DataFrame) -> PolarsResult<ColumnTable> {
        let mut table = ColumnTable {
            names: Vec::new(),
            columns: Vec::new(),
            height: frame.height(),
            unsupported: Vec::new(),
        };
        for column in frame.columns() {
            let series = column.as_materialized_series().rechunk();
            let name = series.name().to_string();
            let typed = typed(&series)?;
            if matches!(typed, Column::Unsupported) {
                table.unsupported.push(name.clone());
            }
            table.names.push(name);
            table.columns.push(typed);
        }
        Ok(table)
    }

    /// Names of the columns.
    pub(crate) fn names(&self) -> &[String] {
        &self.names
    }

    /// Number of columns.
    pub(crate) fn width(&self) -> usize {
        self.columns.len()
    }

    /// Number of rows.
    pub(crate) fn height(&self) -> usize {
        self.height
    }

    /// A cell; blank for null, NaN and out of range.
    pub(crate) fn field(&self, column: usize, row: usize) -> Field<'_> {
        // polars panics beyond the end of a column.
        if row >= self.height {
            return Field::Blank;
        }
        let Some(column) = self.columns.get(column) else {
            return Field::Blank;
        };
        let field = match column {
            Column::Number(values) => values.get(row).filter(|v| !v.is_nan()).map(Field::Number),
            Column::Text(values) => values.get(row).map(Field::of_text),
            Column::Bool(values) => values.get(row).map(Field::Bool),
            Column::Wall(values) => values
                .get(row)
                .and_then(DateTime::from_timestamp_millis)
                .map(|at| Field::Time(at.naive_utc())),
            Column::Utc(values) => values
                .get(row)
                .map(|at| Field::At(Instant(at.div_euclid(1000)))),
            Column::Clock(values) => values
                .get(row)
                .and_then(|at| u32::try_from(at / 1_000_000_000).ok())
                .and_then(|s| NaiveTime::from_num_seconds_from_midnight_opt(s, 0))
                .map(Field::Clock),
            Column::Span(values) => values
                .get(row)
                .map(|ms| Field::Span(ms as f64 / 86_400_000.0)),
            Column::Unsupported => None,
        };
        field.unwrap_or(Field::Blank)
    }
}

fn typed(series: &Series) -> PolarsResult<Column> {
    let milliseconds = |zone: Option<TimeZone>| -> PolarsResult<Int64Chunked> {
        series
            .cast(&DataType::Datetime(TimeUnit::Milliseconds, zone))?
            .to_physical_repr()
            .i64()
            .cloned()
    };
    Ok(match series.dtype() {
        DataType::String => Column::Text(series.str()?.clone()),
        DataType::Boolean => Column::Bool(series.bool()?.clone()),
        DataType::Date | DataType::Datetime(_, None) => Column::Wall(milliseconds(None)?),
        DataType::Datetime(_, zone @ Some(_)) => Column::Utc(milliseconds(zone.clone())?),
        DataType::Time => Column::Clock(series.to_physical_repr().i64()?.clone()),
        DataType::Duration(_) => Column::Span(
            series
                .cast(&DataType::Duration(TimeUnit::Milliseconds))?
                .to_physical_repr()
                .i64()?
                .clone(),
        ),
        dtype if dtype.is_primitive_numeric() => {
            Column::Number(series.cast(&DataType::Float64)?.f64()?.clone())
        }
        DataType::Null => Column::Number(Float64Chunked::full_null(
            series.name().clone(),
            series.len(),
        )),
        _ => match series.cast(&DataType::String) {
            Ok(text) => Column::Text(text.str()?.clone()),
            Err(_) => Column::Unsupported,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(crate) fn parquet(frame: &mut DataFrame) -> Vec<u8> {
        let mut bytes = Vec::new();
        ParquetWriter::new(&mut bytes).finish(frame).unwrap();
        bytes
    }

    #[test]
    fn reads_numbers_texts_and_dates() {
        let mut frame = df!(
            "Datum" => [20458_i32, 20459],
            "pH" => [Some(6.8), None],
            "cabinet" => ["Plover", "Dunlin"],
            "hours" => [16_i64, 24],
        )
        .unwrap();
        let dates = frame
            .column("Datum")
            .unwrap()
            .cast(&DataType::Date)
            .unwrap();
        frame.with_column(dates).unwrap();
        let table = ColumnTable::read(parquet(&mut frame)).unwrap();
        assert_eq!(table.names(), ["Datum", "pH", "cabinet", "hours"]);
        assert_eq!(table.field(0, 0).text(), "2026-01-05 00:00:00");
        assert_eq!(table.field(1, 0), Field::Number(6.8));
        assert!(table.field(1, 1).is_blank());
        assert_eq!(table.field(2, 1), Field::Text("Dunlin"));
        assert_eq!(table.field(3, 1), Field::Number(24.0));
        assert!(table.field(9, 0).is_blank() && table.field(0, 9).is_blank());
    }

    #[test]
    fn a_cut_file_is_told() {
        let mut frame = df!("pH" => [6.8]).unwrap();
        let mut bytes = parquet(&mut frame);
        bytes.truncate(bytes.len() / 2);
        let error = ColumnTable::read(bytes).unwrap_err();
        assert!(error.contains("damaged"), "{error}");
        assert!(ColumnTable::read(Vec::new()).is_err());
    }
}
