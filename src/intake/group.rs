//! The rows of one sheet, cabinet by cabinet.
//!
//! Rows come in blocks small enough to stay in the processor's cache until they are shared out
//! to their cabinets: what is put together later is whole columns, moved as they are.

use super::checks::Measure;
use crate::time::Instant;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// Rows of a block.
pub(crate) const BLOCK: usize = 4096;
/// Room beyond the rows expected of a cabinet: one part in this many.
const SPARE: usize = 50;

/// The checks of one cabinet in one sheet, in the order of the sheet.
#[derive(Debug, Clone, Default)]
pub(crate) struct CabinetRows {
    /// The cabinet as written, later its identifier.
    pub(crate) cabinet: Arc<str>,
    /// When each check was made; one list for neighbours that were checked at the same times,
    /// as the cabinets of a site mostly are.
    pub(crate) at: Arc<Vec<Instant>>,
    /// Line of each check.
    pub(crate) line: Vec<u32>,
    /// Values, parallel to `line`; NaN where missing.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

/// Rows of a sheet in their order, all columns but those of values.
#[derive(Debug, Default)]
pub(crate) struct Block {
    /// Index of each row's cabinet.
    pub(crate) cabinet: Vec<u32>,
    /// When each check was made.
    pub(crate) at: Vec<Instant>,
    /// Line of each row.
    pub(crate) line: Vec<u32>,
}

impl Block {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.cabinet.len()
    }

    fn clear(&mut self) {
        self.cabinet.clear();
        self.at.clear();
        self.line.clear();
    }
}

/// The rows of a sheet while they are shared out to their cabinets.
#[derive(Debug, Default)]
pub(crate) struct Grouping {
    /// The measures met so far.
    measures: Vec<Measure>,
    cabinets: Vec<Growing>,
}

/// What a cabinet has so far.
#[derive(Debug, Default)]
struct Growing {
    at: Vec<Instant>,
    line: Vec<u32>,
    /// Parallel to the measures met; shorter than `line` where a table lacks the measure.
    columns: Vec<Vec<f64>>,
}

impl Grouping {
    /// The place of that measure among the columns of a block.
    pub(crate) fn place_of(&mut self, measure: &Measure) -> usize {
        let known = self.measures.iter().position(|known| known == measure);
        known.unwrap_or_else(|| {
            self.measures.push(measure.clone());
            self.measures.len() - 1
        })
    }

    /// Whether any row is of that cabinet.
    pub(crate) fn has(&self, cabinet: u32) -> bool {
        let growing = self.cabinets.get(cabinet as usize);
        growing.is_some_and(|growing| !growing.line.is_empty())
    }

    /// Shares the rows of a block out to their cabinets and empties it.
    ///
    /// Each of `columns` is parallel to the block and comes with the place of its measure.
    /// Where the sheet is expected to have `rows` in all, room for a cabinet's share of
    /// them is set aside at once.
    pub(crate) fn take(
        &mut self,
        block: &mut Block,
        columns: &mut [(usize, Vec<f64>)],
        rows: usize,
    ) {
        let order = Order::of(&block.cabinet);
        if self.cabinets.len() < order.ranges.len() {
            self.cabinets
                .resize_with(order.ranges.len(), Growing::default);
        }
        for (growing, range) in self.cabinets.iter_mut().zip(&order.ranges) {
            if range.is_empty() {
                continue;
            }
            let share = rows / block.len().max(1) * range.len();
            let expected = range.len().max(share + share / SPARE);
            let before = growing.line.len();
            growing.columns.resize_with(self.measures.len(), Vec::new);
            order.append(range, &block.at, &mut growing.at, expected);
            order.append(range, &block.line, &mut growing.line, expected);
            for (place, column) in &*columns {
                if let Some(growing) = growing.columns.get_mut(*place) {
                    growing.resize(before, f64::NAN);
                    order.append(range, column, growing, expected);
                }
            }
        }
        block.clear();
        for (_, column) in columns {
            column.clear();
        }
    }

    /// The rows of each of the cabinets, whose names are in the order of their indices.
    pub(crate) fn finish(self, names: Vec<Arc<str>>) -> Vec<CabinetRows> {
        let mut growing = self.cabinets.into_iter();
        let mut all: Vec<CabinetRows> = Vec::with_capacity(names.len());
        for cabinet in names {
            let Growing { at, line, columns } = growing.next().unwrap_or_default();
            let same = all.last().filter(|last| *last.at == at);
            let at = same.map_or_else(|| Arc::new(at), |last| Arc::clone(&last.at));
            let columns = self.measures.iter().cloned().zip(columns);
            let columns = columns.map(|(measure, mut column)| {
                column.resize(line.len(), f64::NAN);
                (measure, column)
            });
            all.push(CabinetRows {
                cabinet,
                at,
                columns: columns.collect(),
                line,
            });
        }
        all
    }
}

/// The rows of a block, cabinet after cabinet.
struct Order {
    /// Rows, those of each cabinet in the order of the block; empty where that is theirs.
    rows: Vec<u32>,
    /// Of each cabinet, its stretch of them.
    ranges: Vec<Range<usize>>,
}

impl Order {
    fn of(cabinet: &[u32]) -> Order {
        let cabinets = cabinet.iter().max().map_or(0, |most| *most as usize + 1);
        let mut counts = vec![0_usize; cabinets];
        for index in cabinet {
            if let Some(count) = counts.get_mut(*index as usize) {
                *count += 1;
            }
        }
        let mut start = 0;
        let ranges: Vec<Range<usize>> = counts
            .into_iter()
            .map(|count| {
                start += count;
                start - count..start
            })
            .collect();
        let mut rows = Vec::new();
        if !cabinet.is_sorted() {
            rows.resize(cabinet.len(), 0);
            let mut next: Vec<usize> = ranges.iter().map(|range| range.start).collect();
            for (row, index) in (0..).zip(cabinet) {
                if let Some(place) = next.get_mut(*index as usize) {
                    if let Some(slot) = rows.get_mut(*place) {
                        *slot = row;
                    }
                    *place += 1;
                }
            }
        }
        Order { rows, ranges }
    }

    /// Appends the values of a stretch of rows; the first ones with room for `expected`.
    fn append<T: Copy>(&self, range: &Range<usize>, from: &[T], to: &mut Vec<T>, expected: usize) {
        if to.capacity() == 0 {
            to.reserve_exact(expected);
        }
        match (self.rows.get(range.clone()), from.first()) {
            // An iterator that tells its length: room is not looked for value by value.
            (Some(rows), Some(first)) => {
                let value = |row: &u32| *from.get(*row as usize).unwrap_or(first);
                to.extend(rows.iter().map(value));
            }
            _ => to.extend_from_slice(from.get(range.clone()).unwrap_or_default()),
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::super::checks::SheetName;
    use super::*;

    /// Rows as (cabinet, days since 1970, line, cabinet temperature, pH).
    pub(crate) fn rows(list: &[(&str, f64, u32, f64, f64)]) -> Vec<CabinetRows> {
        let mut grouping = Grouping::default();
        let mut names: Vec<Arc<str>> = Vec::new();
        let mut block = Block::default();
        let mut columns: Vec<(usize, Vec<f64>)> = [Measure::CabinetTemperature, Measure::Ph]
            .iter()
            .map(|measure| (grouping.place_of(measure), Vec::new()))
            .collect();
        // Blocks of two, so that cabinets go on from one to the next.
        for pair in list.chunks(2) {
            for (cabinet, day, line, t, p) in pair {
                let known = names.iter().position(|name| &**name == *cabinet);
                let index = known.unwrap_or_else(|| {
                    names.push(Arc::from(*cabinet));
                    names.len() - 1
                });
                block.cabinet.push(index as u32);
                block.at.push(Instant(0).plus_days(*day));
                block.line.push(*line);
                columns[0].1.push(*t);
                columns[1].1.push(*p);
            }
            grouping.take(&mut block, &mut columns, list.len());
            assert_eq!(block.len(), 0);
        }
        grouping.finish(names)
    }

    pub(crate) fn named(path: &str, rows: Vec<CabinetRows>) -> (SheetName, Vec<CabinetRows>) {
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
            ("plover", 4.0, 6, 35.0, 7.0),
        ]);
        let names: Vec<&str> = all.iter().map(|of| &*of.cabinet).collect();
        assert_eq!(names, ["plover", "dunlin", "avocet"]);
        assert_eq!(all[0].line, [2, 4, 6]);
        assert_eq!(all[0].columns[&Measure::Ph], [6.8, 6.9, 7.0]);
        let days = [3.0, 1.0, 4.0].map(|day| Instant(0).plus_days(day));
        assert_eq!(*all[0].at, days);
        assert_eq!((&all[1].line[..], &all[2].line[..]), (&[3][..], &[5][..]));
    }

    #[test]
    fn a_measure_that_a_table_lacks_is_missing_there() {
        let mut grouping = Grouping::default();
        let mut block = Block::default();
        for (line, measure) in [
            (2, Measure::Ph),
            (3, Measure::TowerTemperature),
            (4, Measure::Ph),
        ] {
            let place = grouping.place_of(&measure);
            block.cabinet.push(0);
            block.at.push(Instant(i64::from(line)));
            block.line.push(line);
            grouping.take(&mut block, &mut [(place, vec![f64::from(line)])], 1);
        }
        assert!(grouping.has(0) && !grouping.has(1));
        let all = grouping.finish(vec!["plover".into(), "dunlin".into()]);
        let bits = |measure: &Measure| -> Vec<Option<f64>> {
            let column = all[0].columns[measure].iter();
            column.map(|v| (!v.is_nan()).then_some(*v)).collect()
        };
        assert_eq!(bits(&Measure::Ph), [Some(2.0), None, Some(4.0)]);
        assert_eq!(bits(&Measure::TowerTemperature), [None, Some(3.0), None]);
        assert!(all[1].line.is_empty() && all[1].columns.is_empty());
    }
}
