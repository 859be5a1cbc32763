//! Cabinets that stand in several sheets, or out of order: their rows made one.
//!
//! Rows come in order of time, those of one time in the order of sheets and lines. Whether
//! rows of one time are the same check is `overlap`'s to say.

use super::checks::{CabinetChecks, Measure, SheetOf, Source};
use super::group::CabinetRows;
use crate::series::Times;
use crate::time::Instant;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The rows of a cabinet in the sheet of that index.
#[derive(Debug)]
pub(crate) struct OfSheet {
    pub(crate) sheet: u32,
    pub(crate) rows: CabinetRows,
}

/// The checks of a cabinet, whatever sheets they stand in.
#[derive(Debug)]
pub(crate) struct Joined {
    pub(crate) cabinet: Arc<str>,
    /// When each check was made; never decreasing.
    pub(crate) at: Vec<Instant>,
    /// Where each check was written.
    pub(crate) source: Vec<Source>,
    /// Values; NaN where a check lacks one.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

impl Joined {
    /// Joins the rows of a cabinet; each part's columns go as they are joined.
    pub(crate) fn of(cabinet: Arc<str>, of_sheets: Vec<OfSheet>) -> Joined {
        let (mut at, mut source) = (Vec::new(), Vec::new());
        let mut columns: BTreeMap<Measure, Vec<f64>> = BTreeMap::new();
        for OfSheet { sheet, rows } in of_sheets {
            for (measure, values) in rows.columns {
                let column = columns.entry(measure).or_default();
                column.resize(at.len(), f64::NAN);
                column.extend(values);
            }
            at.extend_from_slice(&rows.at);
            source.extend(rows.line.iter().map(|&line| Source { sheet, line }));
        }
        for column in columns.values_mut() {
            column.resize(at.len(), f64::NAN);
        }
        let key = |row: &usize| (at.get(*row), source.get(*row));
        let mut from: Vec<usize> = (0..at.len()).collect();
        if !from.is_sorted_by_key(key) {
            from.sort_by_key(key);
            at = reordered(&at, &from);
            source = reordered(&source, &from);
            for column in columns.values_mut() {
                *column = reordered(column, &from);
            }
        }
        Joined {
            cabinet,
            at,
            source,
            columns,
        }
    }

    /// The checks, under the name of their cabinet.
    pub(crate) fn checks(self) -> (Arc<str>, CabinetChecks) {
        let checks = CabinetChecks {
            times: Times::sorted(self.at),
            line: self.source.iter().map(|source| source.line).collect(),
            sheet: SheetOf::Each(self.source.iter().map(|source| source.sheet).collect()),
            columns: self.columns,
        };
        (self.cabinet, checks)
    }
}

/// The values in the order of the places they come from.
fn reordered<T: Copy>(values: &[T], from: &[usize]) -> Vec<T> {
    let sorted = from.iter().filter_map(|row| values.get(*row));
    sorted.copied().collect()
}
