//! Cabinets that stand in several sheets, or out of order: their rows made one.
//!
//! Rows come in order of time, those of one time in the order of sheets and lines. Whether
//! rows of one time are the same check is `overlap`'s to say.

use super::checks::{CabinetChecks, Measure, SheetOf, Source};
use super::group::CabinetRows;
use crate::series::Times;
use crate::time::Instant;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// The rows of a cabinet in the sheet of that index.
#[derive(Debug)]
pub(crate) struct OfSheet {
    pub(crate) sheet: u32,
    pub(crate) rows: CabinetRows,
}

/// The checks of some cabinets, one cabinet after the other.
#[derive(Debug, Default)]
pub(crate) struct Joined {
    /// Cabinet identifiers, ascending.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Rows of each cabinet, parallel to `cabinets`.
    pub(crate) rows: Vec<Range<usize>>,
    /// When each check was made; never decreasing within a cabinet.
    pub(crate) at: Vec<Instant>,
    /// Where each check was written.
    pub(crate) source: Vec<Source>,
    /// Values; NaN where a check lacks one.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

/// Joins the rows of each cabinet.
///
/// Columns are freed as they are joined, so that at the peak the checks are held once, with
/// a column or two beside them.
pub(crate) fn join(open: Vec<(Arc<str>, Vec<OfSheet>)>) -> Joined {
    let mut joined = Joined::default();
    // Of each stretch of rows, its length and its columns.
    let mut parts: Vec<(usize, BTreeMap<Measure, Vec<f64>>)> = Vec::new();
    for (cabinet, of_cabinet) in open {
        let start = joined.at.len();
        for OfSheet { sheet, rows } in of_cabinet {
            joined.at.extend_from_slice(&rows.at);
            let source = rows.line.iter().map(|&line| Source { sheet, line });
            joined.source.extend(source);
            parts.push((rows.line.len(), rows.columns));
        }
        joined.cabinets.push(cabinet);
        joined.rows.push(start..joined.at.len());
    }
    let moves = moves(&joined);
    for (range, from) in &moves {
        reorder(&mut joined.at, range, from);
        reorder(&mut joined.source, range, from);
    }
    let measures: BTreeSet<Measure> = parts
        .iter()
        .flat_map(|(_, columns)| columns.keys().cloned())
        .collect();
    // Of every part, its rows and its column of the measure.
    type OfParts = Vec<(usize, Option<Vec<f64>>)>;
    let work: Vec<(Measure, OfParts)> = measures
        .into_iter()
        .map(|measure| {
            let of_parts = parts.iter_mut();
            let of_parts = of_parts.map(|(rows, columns)| (*rows, columns.remove(&measure)));
            let of_parts = of_parts.collect();
            (measure, of_parts)
        })
        .collect();
    joined.columns = work
        .into_par_iter()
        .map(|(measure, of_parts)| {
            let mut all: Vec<f64> = Vec::with_capacity(joined.at.len());
            for (rows, column) in of_parts {
                let end = all.len() + rows;
                all.extend(column.unwrap_or_default());
                all.resize(end, f64::NAN);
            }
            for (range, from) in &moves {
                reorder(&mut all, range, from);
            }
            (measure, all)
        })
        .collect();
    joined
}

/// Ranges of rows that are out of order, each with the places its rows come from.
type Moves = Vec<(Range<usize>, Vec<usize>)>;

fn moves(joined: &Joined) -> Moves {
    let key = |row: &usize| (joined.at.get(*row), joined.source.get(*row));
    let of_cabinet = |range: &Range<usize>| {
        let mut from: Vec<usize> = range.clone().collect();
        if from.is_sorted_by_key(key) {
            return None;
        }
        from.sort_by_key(key);
        Some((range.clone(), from))
    };
    joined.rows.par_iter().filter_map(of_cabinet).collect()
}

/// Puts the values of a range in the order of the places they come from.
fn reorder<T: Copy>(values: &mut [T], range: &Range<usize>, from: &[usize]) {
    let sorted = from.iter().filter_map(|row| values.get(*row)).copied();
    let sorted: Vec<T> = sorted.collect();
    for (slot, value) in values.iter_mut().skip(range.start).zip(sorted) {
        *slot = value;
    }
}

impl Joined {
    /// The checks of each cabinet by themselves.
    pub(crate) fn split(self) -> Vec<(Arc<str>, CabinetChecks)> {
        let mut all: Vec<(Arc<str>, CabinetChecks)> = self
            .cabinets
            .into_iter()
            .zip(&self.rows)
            .map(|(cabinet, rows)| {
                let at = self.at.get(rows.clone()).unwrap_or_default();
                let source = self.source.get(rows.clone()).unwrap_or_default();
                let checks = CabinetChecks {
                    times: Times::sorted(at.to_vec()),
                    line: source.iter().map(|source| source.line).collect(),
                    sheet: SheetOf::Each(source.iter().map(|source| source.sheet).collect()),
                    columns: BTreeMap::new(),
                };
                (cabinet, checks)
            })
            .collect();
        // Each column's memory goes before the next is taken apart.
        for (measure, column) in self.columns {
            for ((_, checks), rows) in all.iter_mut().zip(&self.rows) {
                let values = column.get(rows.clone()).unwrap_or_default();
                checks.columns.insert(measure.clone(), values.to_vec());
            }
        }
        all
    }
}
