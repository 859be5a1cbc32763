//! What became of each file: for `steadyfog intake` and the list of inputs.
//!
//! Counts and sentences only; the checks themselves are in [`super::checks`].

use std::sync::Arc;

/// What became of the cells below the headings.
///
/// Every cell is in exactly one of the counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CellCounts {
    /// Gave a reading, a date, a time or a cabinet.
    pub used: u64,
    /// Held nothing, or a way of writing that there is nothing.
    pub blank: u64,
    /// Not used, by themselves or with their row.
    pub rejected: u64,
    /// Of columns left out until `lab.toml` settles them.
    pub left_out: u64,
    /// Of no use to the review: remarks, initials, totals rows, notes, repeated headings.
    pub aside: u64,
}

impl CellCounts {
    /// All cells.
    pub fn total(&self) -> u64 {
        self.used + self.blank + self.rejected + self.left_out + self.aside
    }

    /// Adds the counts of another sheet.
    pub fn add(&mut self, other: &CellCounts) {
        self.used += other.used;
        self.blank += other.blank;
        self.rejected += other.rejected;
        self.left_out += other.left_out;
        self.aside += other.aside;
    }
}

/// What became of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ColumnUse {
    /// Readings, in that canonical unit (empty where it has none).
    Readings(&'static str),
    /// Date, time or cabinet.
    Context,
    /// Of no use to the review.
    Aside,
    /// Left out until `lab.toml` settles it: the problem, and the lines that do.
    LeftOut {
        /// What was found against what was expected.
        problem: String,
        /// What to do.
        hint: String,
    },
}

/// What was understood of one column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnOutcome {
    /// Heading as written, shown safely; the column's letter where it has none.
    pub heading: String,
    /// Role by the name `lab.toml` uses; `None` when unknown.
    pub role: Option<String>,
    /// Unit stated; `None` when none is.
    pub unit: Option<String>,
    /// Why it is read so, as a sentence.
    pub why: String,
    /// What became of it.
    pub outcome: ColumnUse,
    /// Cells that gave a value.
    pub used: u64,
    /// Cells rejected by themselves.
    pub rejected: u64,
}

/// A table of a sheet: a heading and the rows below it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableOutcome {
    /// Line of the (last) heading row; `None` for Parquet.
    pub heading_line: Option<u64>,
    /// Its columns from left to right.
    pub columns: Vec<ColumnOutcome>,
}

/// A sheet, or the whole of a text log or Parquet file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SheetOutcome {
    /// Name, for workbooks.
    pub name: Option<Arc<str>>,
    /// Whether the workbook hides it.
    pub hidden: bool,
    /// Its tables from top to bottom.
    pub tables: Vec<TableOutcome>,
    /// Where the cabinet was taken from, when no column says it.
    pub cabinet_from: Option<String>,
    /// Rows with readings.
    pub rows: u64,
    /// Checks of the analysis that stand here first.
    pub checks: u64,
    /// Rows that repeat a check written elsewhere.
    pub duplicates: u64,
    /// Rows of which nothing was used.
    pub rejected_rows: u64,
    /// What became of the cells.
    pub cells: CellCounts,
}

/// A file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileOutcome {
    /// Path relative to the lab folder.
    pub path: String,
    /// SHA-256 of its bytes, hexadecimal; empty when it could not be read from disk.
    pub sha256: String,
    /// How it is written: format, encoding, delimiter.
    pub dialect: String,
    /// Its sheets.
    pub sheets: Vec<SheetOutcome>,
}

impl FileOutcome {
    /// Rows with readings.
    pub fn rows(&self) -> u64 {
        self.sheets.iter().map(|s| s.rows).sum()
    }
    /// Checks of the analysis that stand in this file first.
    pub fn checks(&self) -> u64 {
        self.sheets.iter().map(|s| s.checks).sum()
    }
    /// Rows that repeat a check written elsewhere.
    pub fn duplicates(&self) -> u64 {
        self.sheets.iter().map(|s| s.duplicates).sum()
    }
    /// Cells not used, by themselves or with their row.
    pub fn rejected_cells(&self) -> u64 {
        self.sheets.iter().map(|s| s.cells.rejected).sum()
    }
}
