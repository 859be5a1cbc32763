//! Rows of cells, whatever file they came from: what readers hand to the layout.
//!
//! A text log is walked record by record and never held as cells; a workbook is held
//! as cells; a Parquet file stays in its typed columns. All three are seen through
//! [`Row`] and [`Field`]. Nothing here knows what a cell means.

use super::parquet_log::ColumnTable;
use super::plain::Line;
use super::text_log::TextTable;
use crate::time::Instant;
use chrono::{NaiveDateTime, NaiveTime};
use std::borrow::Cow;
use std::ops::ControlFlow;
use std::sync::Arc;

/// A cell as it stands in its file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Field<'a> {
    /// Nothing, or white space only.
    Blank,
    /// Text, trimmed.
    Text(&'a str),
    /// A number cell of a typed format.
    Number(f64),
    /// A date-time cell of a typed format, on the lab's wall clock.
    Time(NaiveDateTime),
    /// A time cell that knows its offset from UTC.
    At(Instant),
    /// A time of day.
    Clock(NaiveTime),
    /// A length of time, in days.
    Span(f64),
    /// A tick box.
    Bool(bool),
    /// An error of a workbook, as `#N/A`.
    Error(&'static str),
}

impl<'a> Field<'a> {
    /// The text trimmed; blank when nothing is left.
    #[inline]
    pub(crate) fn of_text(text: &'a str) -> Field<'a> {
        // Most cells have nothing to trim, which their first and last bytes tell.
        if let [first, .., last] | [first @ last] = text.as_bytes()
            && first.is_ascii_graphic()
            && last.is_ascii_graphic()
        {
            return Field::Text(text);
        }
        match text.trim_matches(is_blank_char) {
            "" => Field::Blank,
            trimmed => Field::Text(trimmed),
        }
    }

    /// Whether the cell holds nothing.
    pub(crate) fn is_blank(&self) -> bool {
        matches!(self, Field::Blank)
    }

    /// The cell as a reader would see it; empty when blank.
    pub(crate) fn text(&self) -> Cow<'a, str> {
        match *self {
            Field::Blank => Cow::Borrowed(""),
            Field::Text(text) => Cow::Borrowed(text),
            Field::Number(value) => Cow::Owned(value.to_string()),
            Field::Time(at) => Cow::Owned(at.format("%Y-%m-%d %H:%M:%S").to_string()),
            Field::At(at) => Cow::Owned(crate::time::Zone::AS_WRITTEN.rfc3339(at)),
            Field::Clock(time) => Cow::Owned(time.format("%H:%M:%S").to_string()),
            Field::Span(days) => Cow::Owned(format!("{:.2} h", days * 24.0)),
            Field::Bool(true) => Cow::Borrowed("TRUE"),
            Field::Bool(false) => Cow::Borrowed("FALSE"),
            Field::Error(text) => Cow::Borrowed(text),
        }
    }
}

/// White space, the no-break space that spreadsheets paste, and stray marks of byte order.
fn is_blank_char(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{feff}' | '\u{200b}')
}

/// A cell of a workbook, owned.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) enum Cell {
    /// Nothing.
    #[default]
    Blank,
    /// Text, untrimmed.
    Text(Arc<str>),
    /// A number.
    Number(f64),
    /// A date and time.
    Time(NaiveDateTime),
    /// A time of day.
    Clock(NaiveTime),
    /// A length of time, in days.
    Span(f64),
    /// A tick box.
    Bool(bool),
    /// An error, as `#N/A`.
    Error(&'static str),
}

impl Cell {
    /// The cell seen as a field.
    pub(crate) fn field(&self) -> Field<'_> {
        match self {
            Cell::Blank => Field::Blank,
            Cell::Text(text) => Field::of_text(text),
            Cell::Number(value) => Field::Number(*value),
            Cell::Time(at) => Field::Time(*at),
            Cell::Clock(time) => Field::Clock(*time),
            Cell::Span(days) => Field::Span(*days),
            Cell::Bool(value) => Field::Bool(*value),
            Cell::Error(text) => Field::Error(text),
        }
    }
}

/// One row, borrowed from its table.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Row<'a> {
    /// A record of a text log.
    Record(&'a csv::StringRecord),
    /// A record of a text log without quotation marks.
    Plain(Line<'a>),
    /// A row of a workbook.
    Cells(&'a [Cell]),
    /// A row of typed columns.
    Columns(&'a ColumnTable, usize),
}

impl<'a> Row<'a> {
    /// Number of cells, trailing blank ones included.
    pub(crate) fn len(&self) -> usize {
        match self {
            Row::Record(record) => record.len(),
            Row::Plain(line) => line.len(),
            Row::Cells(cells) => cells.len(),
            Row::Columns(table, _) => table.width(),
        }
    }

    /// The cell of that column, blank beyond the row's end.
    #[inline]
    pub(crate) fn field(&self, column: usize) -> Field<'a> {
        match self {
            Row::Record(record) => record.get(column).map_or(Field::Blank, Field::of_text),
            Row::Plain(line) => line.get(column).map_or(Field::Blank, Field::of_text),
            Row::Cells(cells) => cells.get(column).map_or(Field::Blank, Cell::field),
            Row::Columns(table, row) => table.field(column, *row),
        }
    }

    /// All cells from left to right.
    pub(crate) fn fields(self) -> impl Iterator<Item = Field<'a>> {
        (0..self.len()).map(move |column| self.field(column))
    }

    /// Number of cells that hold something.
    pub(crate) fn filled(&self) -> usize {
        self.fields().filter(|field| !field.is_blank()).count()
    }

    /// Whether no cell holds anything.
    pub(crate) fn is_blank(&self) -> bool {
        self.fields().all(|field| field.is_blank())
    }

    /// All cells as texts.
    pub(crate) fn texts(&self) -> Vec<String> {
        self.fields()
            .map(|field| field.text().into_owned())
            .collect()
    }
}

/// A row of a workbook with its number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CellRow {
    /// Row of the sheet, from 1.
    pub(crate) line: u64,
    /// Its cells from the first column on.
    pub(crate) cells: Vec<Cell>,
}

/// Who looks at the rows of a table.
pub(crate) trait RowVisitor {
    /// Whether it looks at rows to the last unless one ends the table; others look at a few.
    const WANTS_ALL: bool;

    /// Takes the row of that line at the start of `rest`, the rest of a text log in which
    /// no quotation mark has a meaning, and gives its length; `None` to have it split.
    fn quick(&mut self, line: u64, rest: &str) -> Option<usize>;

    /// Takes the row of that line.
    fn row(&mut self, line: u64, row: Row<'_>) -> ControlFlow<()>;
}

/// A visitor that looks at every row alike.
pub(crate) struct EachRow<'a>(pub(crate) &'a mut dyn FnMut(u64, Row<'_>) -> ControlFlow<()>);

impl RowVisitor for EachRow<'_> {
    const WANTS_ALL: bool = false;

    fn quick(&mut self, _line: u64, _rest: &str) -> Option<usize> {
        None
    }

    fn row(&mut self, line: u64, row: Row<'_>) -> ControlFlow<()> {
        (self.0)(line, row)
    }
}

/// One table of a file: a text log, a sheet of a workbook, a Parquet file.
#[derive(Debug)]
pub(crate) struct Sheet {
    /// Name of the sheet, for workbooks.
    pub(crate) name: Option<Arc<str>>,
    /// Whether the workbook hides it.
    pub(crate) hidden: bool,
    /// Whether plain numbers as dates count from 1904.
    pub(crate) since_1904: bool,
    /// Cells that were not read because they stand too far right or are too many.
    pub(crate) beyond: u64,
    /// Its rows.
    pub(crate) body: Body,
}

/// The rows of a [`Sheet`].
#[derive(Debug)]
pub(crate) enum Body {
    /// A text log.
    Text(TextTable),
    /// Rows of a workbook, ascending in line.
    Cells(Vec<CellRow>),
    /// Typed columns with their names as headings.
    Columns(ColumnTable),
}

impl Body {
    /// About how many rows there are.
    pub(crate) fn about_rows(&self) -> usize {
        match self {
            Body::Text(table) => table.about_rows(),
            Body::Cells(rows) => rows.len(),
            Body::Columns(table) => table.height(),
        }
    }

    /// Hands every row with its line to `visit` until it breaks; can be called again.
    pub(crate) fn visit(&self, visit: &mut dyn FnMut(u64, Row<'_>) -> ControlFlow<()>) {
        self.walk(&mut EachRow(visit));
    }

    /// As [`Body::visit`], for a visitor that may take rows of a text log before they are split.
    pub(crate) fn walk(&self, visitor: &mut impl RowVisitor) {
        match self {
            Body::Text(table) => table.walk(visitor),
            Body::Cells(rows) => {
                for row in rows {
                    if visitor.row(row.line, Row::Cells(&row.cells)).is_break() {
                        return;
                    }
                }
            }
            Body::Columns(table) => {
                for row in 0..table.height() {
                    // Row 1 of a Parquet file is its first row: it has no heading line.
                    let line = row as u64 + 1;
                    if visitor.row(line, Row::Columns(table, row)).is_break() {
                        return;
                    }
                }
            }
        }
    }
}

/// The letter or letters of a column, as spreadsheets name it: 0 is `A`, 27 is `AB`.
pub(crate) fn column_letter(index: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = index + 1;
    while rest > 0 {
        let digit = (rest - 1) % 26;
        letters.push(char::from(b'A' + u8::try_from(digit).unwrap_or(0)));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_are_told_from_text() {
        assert!(Field::of_text(" \u{a0}\t").is_blank());
        assert_eq!(Field::of_text("\u{a0}6.8 "), Field::Text("6.8"));
    }

    #[test]
    fn columns_are_lettered_as_in_a_spreadsheet() {
        assert_eq!(column_letter(0), "A");
        assert_eq!(column_letter(25), "Z");
        assert_eq!(column_letter(26), "AA");
        assert_eq!(column_letter(701), "ZZ");
        assert_eq!(column_letter(702), "AAA");
    }
}
