//! Parquet logs: typed columns with their names as headings.
//!
//! Columns stay typed; numbers become double precision, dates wall-clock times.
//! Nested and binary columns hold nothing a check could be and read as blank, told.

use super::grid::Field;
use super::guarded::guarded;
use crate::time::Instant;
use chrono::{DateTime, NaiveTime};
use polars_arrow::array::{Array, BooleanArray, PrimitiveArray, Utf8ViewArray};
use polars_arrow::datatypes::{ArrowDataType, Field as ArrowField, TimeUnit};
use polars_arrow::types::NativeType;
use polars_parquet::parquet::page::CompressedPage;
use polars_parquet::read::{
    BasicDecompressor, ColumnChunkMetadata, FileMetadata, PageReader, column_iter_to_arrays,
    infer_schema, read_metadata,
};
use std::fmt::Display;
use std::io::Cursor;

/// Most rows read: a damaged or hostile file may declare any number.
const MOST_ROWS: usize = 200_000_000;
/// Largest page read, bytes unpacked; writers aim at one or two million.
const LARGEST_PAGE: usize = 512 << 20;
/// Decimals have at most this many digits after the sign.
const MOST_DECIMALS: usize = 38;

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
    /// NaN where there is none.
    Number(Vec<f64>),
    Text(Chunks<Utf8ViewArray>),
    Bool(Chunks<BooleanArray>),
    /// Milliseconds since 1970 on the wall clock.
    Wall(Vec<Option<i64>>),
    /// Milliseconds since 1970 in UTC.
    Utc(Vec<Option<i64>>),
    /// Seconds since midnight.
    Clock(Vec<Option<i64>>),
    /// Milliseconds.
    Span(Vec<Option<i64>>),
    Unsupported,
}

/// A column kept as the pieces it was stored in.
#[derive(Debug)]
struct Chunks<A> {
    /// First row of each piece.
    starts: Vec<usize>,
    pieces: Vec<A>,
}

impl<A: Array> Chunks<A> {
    fn new() -> Chunks<A> {
        Chunks {
            starts: Vec::new(),
            pieces: Vec::new(),
        }
    }

    fn push(&mut self, piece: A) {
        let start = match (self.starts.last(), self.pieces.last()) {
            (Some(start), Some(piece)) => start + piece.len(),
            _ => 0,
        };
        self.starts.push(start);
        self.pieces.push(piece);
    }

    fn len(&self) -> usize {
        self.pieces.iter().map(A::len).sum()
    }

    /// The piece that holds `row`, and the row within it.
    fn at(&self, row: usize) -> Option<(&A, usize)> {
        let piece = self
            .starts
            .partition_point(|&start| start <= row)
            .checked_sub(1)?;
        let within = row - self.starts[piece];
        let piece = &self.pieces[piece];
        (within < piece.len()).then_some((piece, within))
    }
}

impl ColumnTable {
    /// Reads a whole Parquet file.
    ///
    /// # Errors
    /// A sentence when it is damaged, no Parquet file, or declares too many rows.
    pub(crate) fn read(bytes: Vec<u8>) -> Result<ColumnTable, String> {
        guarded(|| ColumnTable::decode(&bytes))
            .unwrap_or_else(|| Err(damaged(&"its structure makes no sense")))
    }

    fn decode(bytes: &[u8]) -> Result<ColumnTable, String> {
        let metadata = read_metadata(&mut Cursor::new(bytes)).map_err(|e| damaged(&e))?;
        let rows = metadata.num_rows;
        let declared = metadata.row_groups.iter().map(|group| group.num_rows());
        if declared.fold(0, usize::saturating_add) != rows {
            return Err(damaged(&"its parts do not add up to its rows"));
        }
        if rows > MOST_ROWS {
            return Err(format!(
                "The Parquet file declares {rows} rows; at most {MOST_ROWS} are read."
            ));
        }
        let schema = infer_schema(&metadata).map_err(|e| damaged(&e))?;
        let mut table = ColumnTable {
            names: Vec::new(),
            columns: Vec::new(),
            height: rows,
            unsupported: Vec::new(),
        };
        for (name, field) in schema.iter() {
            let column = read_column(bytes, &metadata, field)?;
            if column.len().is_some_and(|length| length != rows) {
                return Err(damaged(&"its columns differ in length"));
            }
            if matches!(column, Column::Unsupported) {
                table.unsupported.push(name.to_string());
            }
            table.names.push(name.to_string());
            table.columns.push(column);
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
        let Some(column) = self.columns.get(column) else {
            return Field::Blank;
        };
        let whole = |values: &[Option<i64>]| values.get(row).copied().flatten();
        let field = match column {
            Column::Number(values) => values
                .get(row)
                .filter(|v| !v.is_nan())
                .copied()
                .map(Field::Number),
            Column::Text(values) => values
                .at(row)
                .and_then(|(piece, within)| piece.get(within))
                .map(Field::of_text),
            Column::Bool(values) => values
                .at(row)
                .and_then(|(piece, within)| piece.get(within))
                .map(Field::Bool),
            Column::Wall(values) => whole(values)
                .and_then(DateTime::from_timestamp_millis)
                .map(|at| Field::Time(at.naive_utc())),
            Column::Utc(values) => whole(values).map(|at| Field::At(Instant(at.div_euclid(1000)))),
            Column::Clock(values) => whole(values)
                .and_then(|seconds| u32::try_from(seconds).ok())
                .and_then(|s| NaiveTime::from_num_seconds_from_midnight_opt(s, 0))
                .map(Field::Clock),
            Column::Span(values) => whole(values).map(|ms| Field::Span(ms as f64 / 86_400_000.0)),
            Column::Unsupported => None,
        };
        field.unwrap_or(Field::Blank)
    }
}

impl Column {
    /// Rows read; `None` for a column that was not.
    fn len(&self) -> Option<usize> {
        match self {
            Column::Number(values) => Some(values.len()),
            Column::Text(values) => Some(values.len()),
            Column::Bool(values) => Some(values.len()),
            Column::Wall(values)
            | Column::Utc(values)
            | Column::Clock(values)
            | Column::Span(values) => Some(values.len()),
            Column::Unsupported => None,
        }
    }

    /// An empty column for values of that type; [`Column::Unsupported`] for what no check
    /// log has.
    fn for_type(dtype: &ArrowDataType) -> Column {
        use ArrowDataType as Type;
        match dtype {
            Type::Null | Type::Float32 | Type::Float64 | Type::Decimal(..) => {
                Column::Number(Vec::new())
            }
            Type::Int8 | Type::Int16 | Type::Int32 | Type::Int64 => Column::Number(Vec::new()),
            Type::UInt8 | Type::UInt16 | Type::UInt32 | Type::UInt64 => Column::Number(Vec::new()),
            Type::Utf8View => Column::Text(Chunks::new()),
            Type::Boolean => Column::Bool(Chunks::new()),
            Type::Date32 | Type::Date64 | Type::Timestamp(_, None) => Column::Wall(Vec::new()),
            Type::Timestamp(_, Some(_)) => Column::Utc(Vec::new()),
            Type::Time32(_) | Type::Time64(_) => Column::Clock(Vec::new()),
            Type::Duration(_) => Column::Span(Vec::new()),
            _ => Column::Unsupported,
        }
    }

    /// Adds a piece of the type that the column was made for; `None` for another one.
    fn add(&mut self, array: &dyn Array) -> Option<()> {
        match self {
            Column::Number(values) => numbers(array, values)?,
            Column::Text(values) => {
                values.push(array.as_any().downcast_ref::<Utf8ViewArray>()?.clone());
            }
            Column::Bool(values) => {
                values.push(array.as_any().downcast_ref::<BooleanArray>()?.clone());
            }
            Column::Wall(values) | Column::Utc(values) | Column::Span(values) => {
                times(array, 1000, values)?;
            }
            Column::Clock(values) => times(array, 1, values)?,
            Column::Unsupported => {}
        }
        Some(())
    }
}

/// The decoder's message, of which the first line is for a reader.
fn damaged(error: &dyn Display) -> String {
    let text = error.to_string();
    let line = text.lines().next().unwrap_or_default();
    format!("The Parquet file is damaged or cut short ({line}).")
}

/// Decimals and texts in the one form each that is read here; other types as they are.
fn asked_for(field: &ArrowField) -> ArrowField {
    let mut field = field.clone();
    field.dtype = match field.dtype {
        // Repeated texts stored once: read as plain texts.
        ArrowDataType::Dictionary(_, values, _) if *values == ArrowDataType::Utf8View => {
            ArrowDataType::Utf8View
        }
        ArrowDataType::Decimal32(digits, decimals) | ArrowDataType::Decimal64(digits, decimals) => {
            ArrowDataType::Decimal(digits, decimals)
        }
        ArrowDataType::Utf8 | ArrowDataType::LargeUtf8 => ArrowDataType::Utf8View,
        other => other,
    };
    field
}

fn read_column(
    bytes: &[u8],
    metadata: &FileMetadata,
    field: &ArrowField,
) -> Result<Column, String> {
    let field = asked_for(field);
    let mut column = Column::for_type(&field.dtype);
    if matches!(column, Column::Unsupported) {
        return Ok(column);
    }
    for group in &metadata.row_groups {
        let Some(mut stored) = group.columns_under_root_iter(&field.name) else {
            return Err(damaged(&"a column is missing from a part of it"));
        };
        let (Some(chunk), None) = (stored.next(), stored.next()) else {
            return Ok(Column::Unsupported);
        };
        let arrays = decode(bytes, chunk, group.num_rows(), &field)?;
        for array in arrays {
            if column.add(array.as_ref()).is_none() {
                return Ok(Column::Unsupported);
            }
        }
    }
    Ok(column)
}

fn decode(
    bytes: &[u8],
    chunk: &ColumnChunkMetadata,
    rows: usize,
    field: &ArrowField,
) -> Result<Vec<Box<dyn Array>>, String> {
    let range = chunk.byte_range();
    let within = usize::try_from(range.start)
        .ok()
        .zip(usize::try_from(range.end).ok())
        .and_then(|(start, end)| bytes.get(start..end))
        .ok_or_else(|| damaged(&"it ends before its data"))?;
    let (scanned, read) = twice(within.to_vec().into());
    let pages = |data| PageReader::new(Cursor::new(data), chunk, Vec::new(), LARGEST_PAGE);
    sound_pages(pages(scanned), rows)?;
    let pages = BasicDecompressor::new(pages(read), Vec::new());
    let stored_as = &chunk.descriptor().descriptor.primitive_type;
    column_iter_to_arrays(vec![pages], vec![stored_as], field.clone(), None)
        .map(|(arrays, _)| arrays)
        .map_err(|e| damaged(&e))
}

/// A value and its copy: the type of the decoder's bytes has no name that is public here.
fn twice<T: Clone>(value: T) -> (T, T) {
    (value.clone(), value)
}

/// Looks through the heads of the pages before they are decoded: the decoder makes room
/// for as many values as a head declares, and an allocation that fails ends the program.
fn sound_pages(pages: PageReader, rows: usize) -> Result<(), String> {
    let mut values = 0_usize;
    for page in pages {
        if let CompressedPage::Data(page) = page.map_err(|e| damaged(&e))? {
            values = values.saturating_add(page.num_values());
            if page.uncompressed_size() > LARGEST_PAGE || values > rows {
                return Err(damaged(&"a page declares more than there is"));
            }
        }
    }
    if values != rows {
        return Err(damaged(&"a column has fewer values than rows"));
    }
    Ok(())
}

/// Appends the numbers of `array`, NaN for null; `None` when it holds none.
fn numbers(array: &dyn Array, out: &mut Vec<f64>) -> Option<()> {
    use ArrowDataType as Type;
    fn append<T: NativeType>(
        array: &dyn Array,
        out: &mut Vec<f64>,
        number: impl Fn(T) -> f64,
    ) -> Option<()> {
        let array = array.as_any().downcast_ref::<PrimitiveArray<T>>()?;
        out.extend(array.iter().map(|v| v.map_or(f64::NAN, |v| number(*v))));
        Some(())
    }
    match array.dtype() {
        Type::Null => {
            out.resize(out.len() + array.len(), f64::NAN);
            Some(())
        }
        Type::Int8 => append(array, out, |v: i8| f64::from(v)),
        Type::Int16 => append(array, out, |v: i16| f64::from(v)),
        Type::Int32 => append(array, out, |v: i32| f64::from(v)),
        Type::Int64 => append(array, out, |v: i64| v as f64),
        Type::UInt8 => append(array, out, |v: u8| f64::from(v)),
        Type::UInt16 => append(array, out, |v: u16| f64::from(v)),
        Type::UInt32 => append(array, out, |v: u32| f64::from(v)),
        Type::UInt64 => append(array, out, |v: u64| v as f64),
        Type::Float32 => append(array, out, |v: f32| f64::from(v)),
        Type::Float64 => append(array, out, |v: f64| v),
        Type::Decimal(_, decimals) => {
            let scale = 10_f64.powi(i32::try_from(*decimals.min(&MOST_DECIMALS)).ok()?);
            append(array, out, |v: i128| v as f64 / scale)
        }
        _ => None,
    }
}

/// Appends times in units of a second over `per_second`; `None` when it holds none.
fn times(array: &dyn Array, per_second: i64, out: &mut Vec<Option<i64>>) -> Option<()> {
    use ArrowDataType as Type;
    let unit = match array.dtype() {
        Type::Date32 => {
            let array = array.as_any().downcast_ref::<PrimitiveArray<i32>>()?;
            let day = 86_400 * per_second;
            out.extend(array.iter().map(|v| v.map(|v| i64::from(*v) * day)));
            return Some(());
        }
        Type::Date64 => TimeUnit::Millisecond,
        Type::Timestamp(unit, _) | Type::Duration(unit) | Type::Time64(unit) => *unit,
        Type::Time32(unit) => {
            let array = array.as_any().downcast_ref::<PrimitiveArray<i32>>()?;
            let whole = in_units(*unit, per_second);
            out.extend(array.iter().map(|v| v.map(|v| whole(i64::from(*v)))));
            return Some(());
        }
        _ => return None,
    };
    let array = array.as_any().downcast_ref::<PrimitiveArray<i64>>()?;
    let whole = in_units(unit, per_second);
    out.extend(array.iter().map(|v| v.map(|v| whole(*v))));
    Some(())
}

/// From `unit` to a second over `per_second`, rounded down.
fn in_units(unit: TimeUnit, per_second: i64) -> impl Fn(i64) -> i64 {
    let stored = match unit {
        TimeUnit::Second => 1,
        TimeUnit::Millisecond => 1_000,
        TimeUnit::Microsecond => 1_000_000,
        TimeUnit::Nanosecond => 1_000_000_000_i64,
    };
    let (times, over) = if stored < per_second {
        (per_second / stored, 1)
    } else {
        (1, stored / per_second)
    };
    move |v| v.saturating_mul(times).div_euclid(over)
}

#[cfg(test)]
mod tests;
