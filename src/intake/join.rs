//! Cabinets that stand in several sheets, or out of order: their stretches made one.
//!
//! Rows come in order of time, those of one time in the order of sheets and lines. Whether
//! rows of one time are the same check is `overlap`'s to say.

use super::checks::{Measure, Part, PartRows, SheetOf, Source};
use crate::time::Instant;
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// The checks of a cabinet in one sheet.
#[derive(Debug)]
pub(crate) struct Stretch {
    pub(crate) place: PartRows,
    /// When each check was made.
    pub(crate) at: Arc<Vec<Instant>>,
}

/// The checks of some cabinets, joined into one part.
#[derive(Debug)]
pub(crate) struct Joined {
    /// Cabinet identifiers, ascending.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Rows of each cabinet, parallel to `cabinets`.
    pub(crate) rows: Vec<Range<usize>>,
    /// When each check was made; never decreasing within a cabinet.
    pub(crate) at: Vec<Instant>,
    pub(crate) part: Part,
}

impl Joined {
    /// Where the check of that row was written.
    pub(crate) fn source(&self, row: usize) -> Source {
        Source {
            sheet: self.part.sheet.get(row),
            line: self.part.line.get(row).copied().unwrap_or(0),
        }
    }
}

/// Joins the stretches of each of the `open` cabinets.
///
/// Parts that are not `needed` otherwise are emptied column by column on the way, so that
/// at the peak the checks are held once, with a column or two beside them.
pub(crate) fn join(
    open: Vec<(Arc<str>, Vec<Stretch>)>,
    needed: &BTreeSet<usize>,
    parts: &mut [Part],
) -> Joined {
    let (cabinets, stretches): (Vec<Arc<str>>, Vec<Vec<Stretch>>) = open.into_iter().unzip();
    let mut rows = Vec::with_capacity(stretches.len());
    let mut start = 0;
    for of_cabinet in &stretches {
        let count: usize = of_cabinet
            .iter()
            .map(|stretch| stretch.place.rows.len())
            .sum();
        rows.push(start..start + count);
        start += count;
    }
    let stretches: Vec<Stretch> = stretches.into_iter().flatten().collect();
    let mut at: Vec<Instant> = Vec::with_capacity(start);
    for stretch in &stretches {
        at.extend_from_slice(&stretch.at);
    }
    let stretches: Vec<PartRows> = stretches.into_iter().map(|stretch| stretch.place).collect();
    let mut line: Vec<u32> = gathered(&stretches, |part| parts.get(part).map(|p| &p.line[..]));
    let sheets = stretches.iter().flat_map(|stretch| {
        let sheet = parts.get(stretch.part).map(|part| &part.sheet);
        let rows = stretch.rows.clone();
        rows.map(move |row| sheet.map_or(u32::MAX, |sheet| sheet.get(row)))
    });
    let mut sheet: Vec<u32> = sheets.collect();
    let mut given: Vec<Columns> = Vec::with_capacity(parts.len());
    for (index, part) in parts.iter_mut().enumerate() {
        given.push(if needed.contains(&index) {
            Columns::new()
        } else {
            std::mem::take(part).columns
        });
    }
    let moves = moves(&rows, &at, &sheet, &line);
    for (range, from) in &moves {
        reorder(&mut at, range, from);
        reorder(&mut sheet, range, from);
        reorder(&mut line, range, from);
    }
    let columns = join_columns(&stretches, parts, given, &moves);
    Joined {
        cabinets,
        rows,
        at,
        part: Part {
            line,
            sheet: SheetOf::Each(sheet),
            columns,
        },
    }
}

type Columns = BTreeMap<Measure, Vec<f64>>;

/// Ranges of rows that are out of order, each with the places its rows come from.
type Moves = Vec<(Range<usize>, Vec<usize>)>;

fn moves(rows: &[Range<usize>], at: &[Instant], sheet: &[u32], line: &[u32]) -> Moves {
    let key = |row: &usize| (at.get(*row), sheet.get(*row), line.get(*row));
    let of_cabinet = |range: &Range<usize>| {
        let mut from: Vec<usize> = range.clone().collect();
        if from.is_sorted_by_key(key) {
            return None;
        }
        from.sort_by_key(key);
        Some((range.clone(), from))
    };
    rows.par_iter().filter_map(of_cabinet).collect()
}

/// Puts the values of a range in the order of the places they come from.
fn reorder<T: Copy>(values: &mut [T], range: &Range<usize>, from: &[usize]) {
    let sorted: Vec<T> = from
        .iter()
        .filter_map(|row| values.get(*row))
        .copied()
        .collect();
    for (slot, value) in values.iter_mut().skip(range.start).zip(sorted) {
        *slot = value;
    }
}

/// The stretches one after the other, of a column that each part gives.
fn gathered<'a, T: Copy + 'a>(
    stretches: &[PartRows],
    of_part: impl Fn(usize) -> Option<&'a [T]>,
) -> Vec<T> {
    let mut all = Vec::with_capacity(stretches.iter().map(|s| s.rows.len()).sum());
    for stretch in stretches {
        let values = of_part(stretch.part).and_then(|values| values.get(stretch.rows.clone()));
        all.extend_from_slice(values.unwrap_or_default());
    }
    all
}

/// Joins each measure's columns: those `given`, which are freed on the way, and those that
/// stay with their parts.
fn join_columns(
    stretches: &[PartRows],
    parts: &[Part],
    mut given: Vec<Columns>,
    moves: &Moves,
) -> Columns {
    let kept = parts.iter().map(|part| &part.columns);
    let measures: BTreeSet<Measure> = given
        .iter()
        .chain(kept)
        .flat_map(|columns| columns.keys().cloned())
        .collect();
    // Of each measure, the column of every part, where it has one.
    type OfParts<'a> = Vec<Option<Cow<'a, [f64]>>>;
    let work: Vec<(Measure, OfParts<'_>)> = measures
        .into_iter()
        .map(|measure| {
            let columns = given.iter_mut().zip(parts).map(|(given, part)| {
                let given = given.remove(&measure).map(Cow::Owned);
                given.or_else(|| Some(Cow::Borrowed(&part.columns.get(&measure)?[..])))
            });
            let columns = columns.collect();
            (measure, columns)
        })
        .collect();
    work.into_par_iter()
        .map(|(measure, columns)| {
            let total = stretches.iter().map(|s| s.rows.len()).sum();
            let mut all: Vec<f64> = Vec::with_capacity(total);
            for stretch in stretches {
                let column = columns.get(stretch.part).and_then(Option::as_deref);
                let here = all.len();
                let values = column.and_then(|column| column.get(stretch.rows.clone()));
                all.extend_from_slice(values.unwrap_or_default());
                all.resize(here + stretch.rows.len(), f64::NAN);
            }
            drop(columns);
            for (range, from) in moves {
                reorder(&mut all, range, from);
            }
            (measure, all)
        })
        .collect()
}
