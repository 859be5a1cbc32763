//! The rows of one sheet, first as they stand, then grouped by cabinet.
//!
//! Grouping happens where the sheet was read, while its columns are still at hand: what is
//! put together later is then long stretches, moved or copied as a whole.

use super::checks::Measure;
use crate::time::Instant;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// The rows read from one sheet in their order, as columns of equal length.
#[derive(Debug, Default)]
pub(crate) struct SheetRows {
    /// Cabinet identifiers that occur.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Index into `cabinets` of each row.
    pub(crate) cabinet: Vec<u32>,
    /// When each check was made.
    pub(crate) at: Vec<Instant>,
    /// Line of each row.
    pub(crate) line: Vec<u32>,
    /// Values; NaN where missing.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

/// The rows read from one sheet, cabinet after cabinet, as columns of equal length.
#[derive(Debug, Default)]
pub(crate) struct GroupedRows {
    /// Cabinet identifiers that occur.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Rows of each cabinet in the order of the sheet, parallel to `cabinets`; together all rows.
    pub(crate) rows: Vec<Range<usize>>,
    /// When the checks of each cabinet were made, parallel to `cabinets`; one list for
    /// neighbours that were checked at the same times, as the cabinets of a site mostly are.
    pub(crate) at: Vec<Arc<Vec<Instant>>>,
    /// Line of each row.
    pub(crate) line: Vec<u32>,
    /// Values; NaN where missing.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

impl SheetRows {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.at.len()
    }

    /// The rows cabinet after cabinet; each column's old memory goes when it has moved.
    pub(crate) fn grouped(mut self) -> GroupedRows {
        let mut counts = vec![0_usize; self.cabinets.len()];
        for index in &self.cabinet {
            if let Some(count) = counts.get_mut(*index as usize) {
                *count += 1;
            }
        }
        let mut start = 0;
        let rows: Vec<Range<usize>> = counts
            .into_iter()
            .map(|count| {
                start += count;
                start - count..start
            })
            .collect();
        if self.cabinet.is_sorted() {
            // Columns that grew hold room in reserve.
            self.line.shrink_to_fit();
            self.columns.values_mut().for_each(Vec::shrink_to_fit);
        } else {
            let places = places(&self.cabinet, &rows);
            self.at = moved(&places, &self.at, Instant(0));
            self.line = moved(&places, &self.line, 0);
            for column in self.columns.values_mut() {
                *column = moved(&places, column, 0.0);
            }
        }
        GroupedRows {
            cabinets: self.cabinets,
            at: times(&self.at, &rows),
            rows,
            line: self.line,
            columns: self.columns,
        }
    }
}

/// The times of each range of rows, neighbours that are alike as one.
fn times(at: &[Instant], rows: &[Range<usize>]) -> Vec<Arc<Vec<Instant>>> {
    let mut all: Vec<Arc<Vec<Instant>>> = Vec::with_capacity(rows.len());
    for range in rows {
        let here = at.get(range.clone()).unwrap_or_default();
        let same = all.last().filter(|last| ***last == *here);
        let same = same.map(Arc::clone);
        all.push(same.unwrap_or_else(|| Arc::new(here.to_vec())));
    }
    all
}

/// Where each row goes, when each cabinet's fill its range.
fn places(cabinet: &[u32], rows: &[Range<usize>]) -> Vec<u32> {
    let start = |range: &Range<usize>| u32::try_from(range.start).unwrap_or(u32::MAX);
    let mut next: Vec<u32> = rows.iter().map(start).collect();
    let place = |index: &u32| {
        let Some(slot) = next.get_mut(*index as usize) else {
            return u32::MAX;
        };
        *slot += 1;
        *slot - 1
    };
    cabinet.iter().map(place).collect()
}

/// The values at their places, which are each taken once.
fn moved<T: Copy>(places: &[u32], values: &[T], before: T) -> Vec<T> {
    let mut all = vec![before; values.len()];
    for (place, value) in places.iter().zip(values) {
        if let Some(slot) = all.get_mut(*place as usize) {
            *slot = *value;
        }
    }
    all
}

impl GroupedRows {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.line.len()
    }

    /// Index of each row's cabinet, in the order of the rows.
    pub(crate) fn cabinet_of_rows(&self) -> impl Iterator<Item = usize> + use<> {
        let rows: Vec<usize> = self.rows.iter().map(ExactSizeIterator::len).collect();
        let cabinets = rows.into_iter().enumerate();
        cabinets.flat_map(|(cabinet, rows)| std::iter::repeat_n(cabinet, rows))
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::super::checks::SheetName;
    use super::*;

    /// Rows as (cabinet, days since 1970, line, cabinet temperature, pH).
    pub(crate) fn rows(list: &[(&str, f64, u32, f64, f64)]) -> GroupedRows {
        let mut rows = SheetRows::default();
        let (mut temperature, mut ph) = (Vec::new(), Vec::new());
        for (cabinet, day, line, t, p) in list {
            let known = rows.cabinets.iter().position(|c| &**c == *cabinet);
            let index = known.unwrap_or_else(|| {
                rows.cabinets.push(Arc::from(*cabinet));
                rows.cabinets.len() - 1
            });
            rows.cabinet.push(index as u32);
            rows.at.push(Instant(0).plus_days(*day));
            rows.line.push(*line);
            temperature.push(*t);
            ph.push(*p);
        }
        rows.columns
            .insert(Measure::CabinetTemperature, temperature);
        rows.columns.insert(Measure::Ph, ph);
        rows.grouped()
    }

    pub(crate) fn named(path: &str, rows: GroupedRows) -> (SheetName, GroupedRows) {
        let name = SheetName {
            path: path.into(),
            sheet: None,
        };
        (name, rows)
    }

    #[test]
    fn rows_of_a_cabinet_come_together_in_their_order() {
        let all = rows(&[
            ("plover", 3.0, 2, 35.3, 6.8),
            ("dunlin", 1.0, 3, 34.1, 6.6),
            ("plover", 1.0, 4, 35.1, 6.9),
            ("avocet", 2.0, 5, 36.0, 6.7),
        ]);
        assert_eq!(all.rows, [0..2, 2..3, 3..4]);
        assert_eq!(all.line, [2, 4, 3, 5]);
        let day = |n: f64| Instant(0).plus_days(n);
        let at: Vec<&[Instant]> = all.at.iter().map(|at| at.as_slice()).collect();
        assert_eq!(at, [&[day(3.0), day(1.0)][..], &[day(1.0)], &[day(2.0)]]);
        assert_eq!(all.columns[&Measure::Ph], [6.8, 6.9, 6.6, 6.7]);
        assert_eq!(all.cabinet_of_rows().collect::<Vec<_>>(), [0, 0, 1, 2]);
    }
}
