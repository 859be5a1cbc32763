//! From the rows of all sheets to [`Checks`]: grouped by cabinet, in time order.
//!
//! A counting sort by cabinet, a sort by time only where a cabinet's rows are out of
//! order, and one scatter per column, each sheet's column freed as soon as it is
//! placed: the peak is the checks themselves plus a column or two.

use super::checks::{Checks, Measure, SheetName, Source};
use super::overlap::{self, Overlaps};
use crate::time::{Instant, Zone};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// The rows read from one sheet, as columns of equal length.
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

impl SheetRows {
    /// Number of rows.
    pub(crate) fn len(&self) -> usize {
        self.at.len()
    }

    /// Gives back the room that growing columns hold in reserve.
    pub(crate) fn shrink(&mut self) {
        self.cabinet.shrink_to_fit();
        self.at.shrink_to_fit();
        self.line.shrink_to_fit();
        for values in self.columns.values_mut() {
            values.shrink_to_fit();
        }
    }
}

/// Puts the rows of all sheets together; sheets come in the order of their path.
pub(crate) fn assemble(sheets: Vec<(SheetName, SheetRows)>, zone: Zone) -> (Checks, Overlaps) {
    let names: BTreeSet<Arc<str>> = sheets
        .iter()
        .flat_map(|(_, rows)| rows.cabinets.iter().cloned())
        .collect();
    let cabinets: Vec<Arc<str>> = names.into_iter().collect();
    let (sheet_names, mut parts): (Vec<_>, Vec<_>) = sheets.into_iter().unzip();
    let (ranges, position) = positions(&cabinets, &parts);
    let total = ranges.last().map_or(0, |range| range.end);
    let (mut at, mut source) = rayon::join(
        || {
            let mut at = vec![Instant(0); total];
            for (places, part) in position.iter().zip(&parts) {
                scatter(places, part.at.iter().copied(), &mut at);
            }
            at
        },
        || {
            let mut source = vec![Source { sheet: 0, line: 0 }; total];
            for (sheet, (places, part)) in position.iter().zip(&parts).enumerate() {
                let sheet = u32::try_from(sheet).unwrap_or(u32::MAX);
                let lines = part.line.iter().map(|&line| Source { sheet, line });
                scatter(places, lines, &mut source);
            }
            source
        },
    );
    for part in &mut parts {
        part.at = Vec::new();
        part.line = Vec::new();
        part.cabinet = Vec::new();
    }
    let position = in_time_order(&ranges, position, &mut at, &mut source);
    let columns = scatter_columns(&mut parts, total, &position);
    drop(position);
    let mut checks = Checks {
        cabinets,
        rows: ranges,
        at,
        source,
        columns,
        sheets: sheet_names,
    };
    let overlaps = overlap::resolve(&mut checks, zone);
    drop_empty(&mut checks);
    (checks, overlaps)
}

/// Rows of each cabinet, and for each sheet where its rows go.
fn positions(cabinets: &[Arc<str>], parts: &[SheetRows]) -> (Vec<Range<usize>>, Vec<Vec<u32>>) {
    // Of each sheet's cabinets: their place among all, and their rows.
    let occurring: Vec<Vec<(usize, usize)>> = parts
        .par_iter()
        .map(|part| {
            let mut rows = vec![0_usize; part.cabinets.len()];
            for index in &part.cabinet {
                if let Some(n) = rows.get_mut(*index as usize) {
                    *n += 1;
                }
            }
            let places = part.cabinets.iter();
            places
                .map(|name| cabinets.binary_search(name).unwrap_or(0))
                .zip(rows)
                .collect()
        })
        .collect();
    let mut counts = vec![0_usize; cabinets.len()];
    for (cabinet, rows) in occurring.iter().flatten() {
        if let Some(count) = counts.get_mut(*cabinet) {
            *count += rows;
        }
    }
    let mut ranges = Vec::with_capacity(cabinets.len());
    let mut start = 0;
    for count in &counts {
        ranges.push(start..start + count);
        start += count;
    }
    // Where the rows of each sheet begin within each of its cabinets.
    let mut next: Vec<usize> = ranges.iter().map(|range| range.start).collect();
    let begin: Vec<Vec<u32>> = occurring
        .iter()
        .map(|of_sheet| {
            let places = of_sheet.iter().map(|(cabinet, rows)| {
                let from = next.get(*cabinet).copied().unwrap_or(0);
                if let Some(slot) = next.get_mut(*cabinet) {
                    *slot += rows;
                }
                u32::try_from(from).unwrap_or(u32::MAX)
            });
            places.collect()
        })
        .collect();
    let position = parts
        .par_iter()
        .zip(begin)
        .map(|(part, mut next)| {
            let places = part.cabinet.iter().map(|index| {
                let Some(slot) = next.get_mut(*index as usize) else {
                    return u32::MAX;
                };
                let place = *slot;
                *slot = place.saturating_add(1);
                place
            });
            places.collect()
        })
        .collect();
    (ranges, position)
}

/// Sorts the rows of cabinets that are out of order; rows of equal time keep their order.
fn in_time_order(
    ranges: &[Range<usize>],
    mut position: Vec<Vec<u32>>,
    at: &mut [Instant],
    source: &mut [Source],
) -> Vec<Vec<u32>> {
    // Where each place moves to; empty until a cabinet needs it.
    let mut moved: Vec<u32> = Vec::new();
    for range in ranges {
        let Some(times) = at.get(range.clone()) else {
            continue;
        };
        if times.is_sorted() {
            continue;
        }
        if moved.is_empty() {
            moved = (0..u32::try_from(at.len()).unwrap_or(u32::MAX)).collect();
        }
        let mut rows: Vec<(Instant, u32, Source)> = range
            .clone()
            .filter_map(|row| Some((*at.get(row)?, u32::try_from(row).ok()?, *source.get(row)?)))
            .collect();
        rows.sort_by_key(|row| row.0);
        for (to, (time, from, place)) in range.clone().zip(rows) {
            if let (Some(a), Some(s), Some(m)) = (
                at.get_mut(to),
                source.get_mut(to),
                moved.get_mut(from as usize),
            ) {
                *a = time;
                *s = place;
                *m = u32::try_from(to).unwrap_or(u32::MAX);
            }
        }
    }
    if !moved.is_empty() {
        for place in position.iter_mut().flatten() {
            *place = moved.get(*place as usize).copied().unwrap_or(*place);
        }
    }
    position
}

/// Places each measure's values, freeing the sheets' columns on the way.
fn scatter_columns(
    parts: &mut [SheetRows],
    total: usize,
    position: &[Vec<u32>],
) -> BTreeMap<Measure, Vec<f64>> {
    let measures: BTreeSet<Measure> = parts
        .iter()
        .flat_map(|part| part.columns.keys().cloned())
        .collect();
    let work: Vec<(Measure, Vec<Option<Vec<f64>>>)> = measures
        .into_iter()
        .map(|measure| {
            let columns = parts
                .iter_mut()
                .map(|part| part.columns.remove(&measure))
                .collect();
            (measure, columns)
        })
        .collect();
    work.into_par_iter()
        .map(|(measure, columns)| {
            let mut all = vec![f64::NAN; total];
            for (values, places) in columns.into_iter().zip(position) {
                scatter(places, values.unwrap_or_default().into_iter(), &mut all);
            }
            (measure, all)
        })
        .collect()
}

fn scatter<T>(places: &[u32], values: impl Iterator<Item = T>, into: &mut [T]) {
    for (place, value) in places.iter().zip(values) {
        if let Some(slot) = into.get_mut(*place as usize) {
            *slot = value;
        }
    }
}

/// Removes measures without a value and cabinets without a row.
fn drop_empty(checks: &mut Checks) {
    checks
        .columns
        .retain(|_, values| values.iter().any(|v| !v.is_nan()));
    let kept: Vec<bool> = checks.rows.iter().map(|range| !range.is_empty()).collect();
    let mut keep = kept.iter();
    checks.cabinets.retain(|_| keep.next() == Some(&true));
    checks.rows.retain(|range| !range.is_empty());
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Rows as (cabinet, days since 1970, line, cabinet temperature, pH).
    pub(crate) fn rows(list: &[(&str, f64, u32, f64, f64)]) -> SheetRows {
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
        rows
    }

    pub(crate) fn named(path: &str, rows: SheetRows) -> (SheetName, SheetRows) {
        let name = SheetName {
            path: path.into(),
            sheet: None,
        };
        (name, rows)
    }

    #[test]
    fn rows_end_grouped_by_cabinet_and_in_time_order() {
        let a = rows(&[
            ("plover", 3.0, 2, 35.3, 6.8),
            ("dunlin", 1.0, 3, 34.1, f64::NAN),
            ("plover", 1.0, 4, 35.1, 6.9),
        ]);
        let b = rows(&[("plover", 2.0, 2, 35.2, 7.0), ("avocet", 9.0, 3, 36.0, 6.6)]);
        let (checks, _) = assemble(
            vec![named("logs/a.csv", a), named("logs/b.csv", b)],
            Zone::AS_WRITTEN,
        );
        let names: Vec<_> = checks.cabinets().iter().map(|c| c.to_string()).collect();
        assert_eq!(names, ["avocet", "dunlin", "plover"]);
        assert_eq!(checks.rows_of(2), 2..5);
        let t = checks.column(&Measure::CabinetTemperature).unwrap();
        assert_eq!(t, [36.0, 34.1, 35.1, 35.2, 35.3]);
        assert_eq!(checks.value(&Measure::Ph, 1), None);
        assert_eq!(checks.sources()[2], Source { sheet: 0, line: 4 });
        assert_eq!(checks.sources()[3], Source { sheet: 1, line: 2 });
        assert!(checks.at()[2..5].is_sorted());
    }

    #[test]
    fn nothing_makes_no_checks() {
        let (checks, _) = assemble(Vec::new(), Zone::AS_WRITTEN);
        assert!(checks.is_empty() && checks.cabinets().is_empty());
        let (checks, _) = assemble(
            vec![named("logs/a.csv", SheetRows::default())],
            Zone::AS_WRITTEN,
        );
        assert!(checks.is_empty());
    }
}
