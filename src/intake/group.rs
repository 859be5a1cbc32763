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

/// Rows of a sheet in their order, row after row.
#[derive(Debug, Default)]
pub(crate) struct Block {
    keys: Vec<Key>,
    /// The values of a row, then those of the next.
    values: Vec<f64>,
}

/// What a row is of.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Key {
    /// When the check was made.
    pub(crate) at: Instant,
    /// Index of its cabinet.
    pub(crate) cabinet: u32,
    /// Line of the row.
    pub(crate) line: u32,
}

impl Block {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.keys.len()
    }

    /// Adds a row; each has as many values as the first.
    #[inline]
    pub(crate) fn push(&mut self, key: Key, values: &[f64]) {
        self.keys.push(key);
        self.values.extend_from_slice(values);
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
    /// `places` are those of the measures of a row's values. Where the sheet is expected to
    /// have `rows` in all, room for a cabinet's share of them is set aside at once.
    pub(crate) fn take(&mut self, block: &mut Block, places: &[usize], rows: usize) {
        let Some(first) = block.keys.first() else {
            return;
        };
        let order = Order::of(&block.keys);
        if self.cabinets.len() < order.ranges.len() {
            self.cabinets
                .resize_with(order.ranges.len(), Growing::default);
        }
        for (growing, range) in self.cabinets.iter_mut().zip(&order.ranges) {
            let Some(of_cabinet) = order
                .rows
                .get(range.clone())
                .filter(|rows| !rows.is_empty())
            else {
                continue;
            };
            let share = rows / block.len() * of_cabinet.len();
            let expected = of_cabinet.len().max(share + share / SPARE);
            let before = growing.line.len();
            let key = |row: &u32| block.keys.get(*row as usize).unwrap_or(first);
            let keys = of_cabinet.iter().map(key);
            append(&mut growing.at, expected, keys.clone().map(|key| key.at));
            append(&mut growing.line, expected, keys.map(|key| key.line));
            growing.columns.resize_with(self.measures.len(), Vec::new);
            for (nth, place) in places.iter().enumerate() {
                if let Some(column) = growing.columns.get_mut(*place) {
                    column.resize(before, f64::NAN);
                    let value = |row: &u32| {
                        let at = *row as usize * places.len() + nth;
                        block.values.get(at).copied().unwrap_or(f64::NAN)
                    };
                    append(column, expected, of_cabinet.iter().map(value));
                }
            }
        }
        block.keys.clear();
        block.values.clear();
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

/// Appends values; the first ones with room for `expected`.
///
/// The iterator tells its length, so that room is not looked for value by value.
fn append<T>(to: &mut Vec<T>, expected: usize, values: impl ExactSizeIterator<Item = T>) {
    if to.capacity() == 0 {
        to.reserve_exact(expected);
    }
    to.extend(values);
}

/// The rows of a block, cabinet after cabinet.
struct Order {
    /// Rows, those of each cabinet in the order of the block.
    rows: Vec<u32>,
    /// Of each cabinet, its stretch of them.
    ranges: Vec<Range<usize>>,
}

impl Order {
    fn of(keys: &[Key]) -> Order {
        let cabinet = |key: &Key| key.cabinet as usize;
        let cabinets = keys.iter().map(cabinet).max().map_or(0, |most| most + 1);
        let mut counts = vec![0_usize; cabinets];
        for index in keys.iter().map(cabinet) {
            if let Some(count) = counts.get_mut(index) {
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
        let mut next: Vec<usize> = ranges.iter().map(|range| range.start).collect();
        let mut rows = vec![0; keys.len()];
        for (row, index) in (0..).zip(keys.iter().map(cabinet)) {
            if let Some(place) = next.get_mut(index) {
                if let Some(slot) = rows.get_mut(*place) {
                    *slot = row;
                }
                *place += 1;
            }
        }
        Order { rows, ranges }
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
        let measures = [Measure::CabinetTemperature, Measure::Ph];
        let places = measures.map(|measure| grouping.place_of(&measure));
        // Blocks of two, so that cabinets go on from one to the next.
        for pair in list.chunks(2) {
            for (cabinet, day, line, t, p) in pair {
                let known = names.iter().position(|name| &**name == *cabinet);
                let index = known.unwrap_or_else(|| {
                    names.push(Arc::from(*cabinet));
                    names.len() - 1
                });
                let key = Key {
                    at: Instant(0).plus_days(*day),
                    cabinet: index as u32,
                    line: *line,
                };
                block.push(key, &[*t, *p]);
            }
            grouping.take(&mut block, &places, list.len());
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
            let key = Key {
                at: Instant(i64::from(line)),
                cabinet: 0,
                line,
            };
            block.push(key, &[f64::from(line)]);
            grouping.take(&mut block, &[place], 1);
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
