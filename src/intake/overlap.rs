//! The same check written twice: once where the rows agree, told where they do not.
//!
//! Rows of one cabinet at one time are the same check when they stand in different
//! files or sheets, or when the time of day is given. Several rows of one date without
//! a time of day in one sheet are several checks of that day. Of contradicting cells
//! neither is used; cells that only one row has complete the check.

mod tell;
use tell::Teller;

use super::checks::{Measure, SheetName, Source};
use super::join::Joined;
use crate::issue::Issue;
use crate::time::{Instant, Zone};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// Contradictions told singly for each pair of sheets and measure.
const TOLD_SINGLY: u64 = 50;

/// What was found about rows that occur more than once.
#[derive(Debug, Default)]
pub(crate) struct Overlaps {
    /// Rows left out of each sheet because an earlier sheet (or line) has them.
    pub(crate) duplicates: BTreeMap<u32, u64>,
    /// Cells of each sheet not used because another row contradicts them.
    pub(crate) contradicted: BTreeMap<u32, u64>,
    /// What to tell.
    pub(crate) issues: Vec<Issue>,
}

/// A check put together from one row or more.
struct Group {
    row: usize,
    /// Sheets that have contributed a row.
    sheets: Vec<u32>,
    /// Where a cell came from that is not of `row`.
    filled: Vec<(usize, Source)>,
    /// Measures on which rows contradict each other.
    contradicted: BTreeSet<usize>,
}

/// How a row stands to a check.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Match {
    /// They share cells, all equal.
    Agrees,
    /// They share no cell.
    Completes,
    /// They share cells and some differ.
    Contradicts,
}

/// A reading that contradicts an earlier one.
#[derive(Debug)]
struct Contradiction {
    cabinet: Arc<str>,
    measure: Measure,
    earlier: Source,
    /// NaN where earlier rows contradict each other.
    earlier_value: f64,
    later: Source,
    later_value: f64,
}

/// What is found of overlaps, cabinet by cabinet.
#[derive(Debug)]
pub(crate) struct Found {
    zone: Zone,
    duplicates: BTreeMap<u32, u64>,
    contradicted: BTreeMap<u32, u64>,
    pairs: BTreeMap<(u32, u32, bool), (u64, u32)>,
    same_day: BTreeMap<u32, (u64, u32)>,
    told: BTreeMap<(u32, u32, Measure), u64>,
    singly: Vec<Contradiction>,
}

impl Found {
    /// Nothing so far, with the zone that tells days.
    pub(crate) fn new(zone: Zone) -> Found {
        Found {
            zone,
            duplicates: BTreeMap::new(),
            contradicted: BTreeMap::new(),
            pairs: BTreeMap::new(),
            same_day: BTreeMap::new(),
            told: BTreeMap::new(),
            singly: Vec::new(),
        }
    }

    /// Finds rows of a cabinet at one time and makes one check of those that are one.
    pub(crate) fn settle(&mut self, joined: &mut Joined) {
        let runs = runs(&joined.at);
        if runs.is_empty() {
            return;
        }
        let (measures, columns): (Vec<&Measure>, Vec<&mut Vec<f64>>) =
            joined.columns.iter_mut().unzip();
        let zone = self.zone;
        let mut resolver = Resolver {
            cabinet: &joined.cabinet,
            measures,
            columns,
            source: &joined.source,
            dropped: vec![false; joined.at.len()],
            found: self,
        };
        for run in runs {
            let at = joined.at.get(run.start);
            let timed = at.is_some_and(|at| zone.wall(*at).time() != chrono::NaiveTime::MIN);
            resolver.run(run, timed);
        }
        let dropped = resolver.dropped;
        for (place, is_dropped) in joined.source.iter().zip(&dropped) {
            if *is_dropped {
                *self.duplicates.entry(place.sheet).or_default() += 1;
            }
        }
        if dropped.contains(&true) {
            compact(joined, &dropped);
        }
    }

    /// What to tell; `sheets` are those that sources refer to.
    pub(crate) fn finish(self, sheets: &[SheetName]) -> Overlaps {
        let issues = Teller { sheets }.issues(&self);
        Overlaps {
            duplicates: self.duplicates,
            contradicted: self.contradicted,
            issues,
        }
    }
}

struct Resolver<'a> {
    cabinet: &'a Arc<str>,
    measures: Vec<&'a Measure>,
    columns: Vec<&'a mut Vec<f64>>,
    source: &'a [Source],
    dropped: Vec<bool>,
    found: &'a mut Found,
}

/// Stretches of at least two rows at one time.
fn runs(at: &[Instant]) -> Vec<Range<usize>> {
    let mut runs = Vec::new();
    if at.is_sorted_by(|a, b| a < b) {
        return runs;
    }
    let mut start = 0;
    for end in 1..=at.len() {
        if at.get(end) != at.get(start) {
            if end - start > 1 {
                runs.push(start..end);
            }
            start = end;
        }
    }
    runs
}

impl Resolver<'_> {
    fn value(&self, measure: usize, row: usize) -> f64 {
        self.columns
            .get(measure)
            .and_then(|column| column.get(row))
            .copied()
            .unwrap_or(f64::NAN)
    }

    fn set(&mut self, measure: usize, row: usize, value: f64) {
        if let Some(cell) = self.columns.get_mut(measure).and_then(|c| c.get_mut(row)) {
            *cell = value;
        }
    }

    fn place(&self, row: usize) -> Source {
        self.source
            .get(row)
            .copied()
            .unwrap_or(Source { sheet: 0, line: 0 })
    }

    fn run(&mut self, run: Range<usize>, timed: bool) {
        let mut groups: Vec<Group> = Vec::new();
        let mut start = run.start;
        while start < run.end {
            let sheet = self.place(start).sheet;
            let mut end = start + 1;
            // With a time of day, a second row of the same sheet is the same check too.
            while !timed && end < run.end && self.place(end).sheet == sheet {
                end += 1;
            }
            self.join(&mut groups, start..end, sheet, timed);
            start = end;
        }
    }

    /// Joins rows of one sheet to the checks that earlier sheets have: first those that
    /// agree, then those that complete, last those that contradict.
    fn join(&mut self, groups: &mut Vec<Group>, rows: Range<usize>, sheet: u32, timed: bool) {
        let mut left: Vec<usize> = rows.collect();
        for wanted in [Match::Agrees, Match::Completes, Match::Contradicts] {
            left.retain(|row| {
                let open = groups.iter().position(|g| {
                    (timed || !g.sheets.contains(&sheet)) && self.compare(g, *row) == wanted
                });
                match open.and_then(|at| groups.get_mut(at)) {
                    Some(group) => {
                        self.merge(group, *row, sheet);
                        false
                    }
                    None => true,
                }
            });
        }
        for row in left {
            if let Some(twin) = groups
                .iter()
                .find(|g| g.sheets.contains(&sheet) && self.is_same(g.row, row))
            {
                let _ = twin;
                let line = self.place(row).line;
                self.found.same_day.entry(sheet).or_insert((0, line)).0 += 1;
            }
            groups.push(Group {
                row,
                sheets: vec![sheet],
                filled: Vec::new(),
                contradicted: BTreeSet::new(),
            });
        }
    }

    fn is_same(&self, a: usize, b: usize) -> bool {
        (0..self.columns.len()).all(|m| {
            let (x, y) = (self.value(m, a), self.value(m, b));
            x == y || (x.is_nan() && y.is_nan())
        })
    }

    fn compare(&self, group: &Group, row: usize) -> Match {
        let mut shared = false;
        for measure in 0..self.columns.len() {
            let (a, b) = (self.value(measure, group.row), self.value(measure, row));
            if b.is_nan() {
                continue;
            }
            if group.contradicted.contains(&measure) || (!a.is_nan() && !is_equal(a, b)) {
                return Match::Contradicts;
            }
            shared |= !a.is_nan();
        }
        if shared {
            Match::Agrees
        } else {
            Match::Completes
        }
    }

    fn merge(&mut self, group: &mut Group, row: usize, sheet: u32) {
        let place = self.place(row);
        let first = self.place(group.row);
        let mut completes = false;
        for measure in 0..self.columns.len() {
            let (a, b) = (self.value(measure, group.row), self.value(measure, row));
            if b.is_nan() {
                continue;
            }
            let told_already = group.contradicted.contains(&measure);
            if a.is_nan() && !told_already {
                self.set(measure, group.row, b);
                group.filled.push((measure, place));
                completes = true;
            } else if told_already {
                *self.found.contradicted.entry(place.sheet).or_default() += 1;
                self.tell(first, place, measure, f64::NAN, b);
            } else if !is_equal(a, b) {
                let filled = group.filled.iter().find(|(m, _)| *m == measure);
                let earlier = filled.map_or(first, |(_, place)| *place);
                *self.found.contradicted.entry(earlier.sheet).or_default() += 1;
                *self.found.contradicted.entry(place.sheet).or_default() += 1;
                self.tell(earlier, place, measure, a, b);
                self.set(measure, group.row, f64::NAN);
                group.contradicted.insert(measure);
            }
        }
        let pair = (first.sheet, place.sheet, completes);
        self.found.pairs.entry(pair).or_insert((0, place.line)).0 += 1;
        group.sheets.push(sheet);
        if let Some(dropped) = self.dropped.get_mut(row) {
            *dropped = true;
        }
    }

    fn tell(&mut self, a: Source, b: Source, measure: usize, x: f64, y: f64) {
        let Some(measure) = self.measures.get(measure) else {
            return;
        };
        let key = (a.sheet, b.sheet, (*measure).clone());
        let told = self.found.told.entry(key).or_default();
        *told += 1;
        if *told <= TOLD_SINGLY {
            self.found.singly.push(Contradiction {
                cabinet: Arc::clone(self.cabinet),
                measure: (*measure).clone(),
                earlier: a,
                earlier_value: x,
                later: b,
                later_value: y,
            });
        }
    }
}

/// Equal but for the rounding of a unit conversion.
fn is_equal(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Removes the dropped rows from every column.
fn compact(joined: &mut Joined, dropped: &[bool]) {
    fn keep<T>(values: &mut Vec<T>, dropped: &[bool]) {
        let mut rows = dropped.iter();
        values.retain(|_| rows.next() != Some(&true));
    }
    keep(&mut joined.at, dropped);
    keep(&mut joined.source, dropped);
    for values in joined.columns.values_mut() {
        keep(values, dropped);
    }
}

#[cfg(test)]
mod tests {
    use super::super::assemble::assemble;
    use super::super::checks::Checks;
    use super::super::group::tests::{named, rows};
    use super::*;
    use crate::issue::Effect;

    const NAN: f64 = f64::NAN;

    fn two(
        a: &[(&str, f64, u32, f64, f64)],
        b: &[(&str, f64, u32, f64, f64)],
    ) -> (Checks, Overlaps) {
        assemble(
            vec![named("logs/a.csv", rows(a)), named("logs/b.csv", rows(b))],
            Zone::AS_WRITTEN,
        )
    }

    #[test]
    fn identical_rows_of_two_files_are_one_check() {
        let a = [("p", 1.0, 2, 35.1, 6.8), ("p", 2.0, 3, 35.2, 6.9)];
        let b = [("p", 2.0, 2, 35.2, 6.9), ("p", 3.0, 3, 35.3, 7.0)];
        let (checks, overlaps) = two(&a, &b);
        assert_eq!(checks.len(), 3);
        assert_eq!(overlaps.duplicates, BTreeMap::from([(1, 1)]));
        assert_eq!(overlaps.issues.len(), 1);
        assert_eq!(overlaps.issues[0].effect, Effect::Kept);
        assert_eq!(checks.of(0).unwrap().len(), 3);
    }

    #[test]
    fn of_contradicting_cells_neither_is_used_and_both_are_told() {
        let (checks, overlaps) = two(&[("p", 1.0, 2, 35.1, 6.8)], &[("p", 1.0, 9, 35.4, 6.8)]);
        assert_eq!(checks.len(), 1);
        assert_eq!(checks.of(0).unwrap().value(&Measure::Ph, 0), Some(6.8));
        assert_eq!(
            checks.of(0).unwrap().value(&Measure::CabinetTemperature, 0),
            None
        );
        assert_eq!(overlaps.contradicted, BTreeMap::from([(0, 1), (1, 1)]));
        let issue = overlaps
            .issues
            .iter()
            .find(|i| i.effect == Effect::CellRejected)
            .unwrap();
        assert_eq!(issue.place.line, Some(9));
        assert!(issue.problem.contains("35.4 °C") && issue.problem.contains("35.1 °C"));
        assert!(issue.problem.contains("logs/a.csv line 2"));
    }

    #[test]
    fn complementary_rows_complete_one_check() {
        let (checks, _) = two(&[("p", 1.0, 2, 35.1, NAN)], &[("p", 1.0, 2, NAN, 6.8)]);
        assert_eq!(checks.len(), 1);
        assert_eq!(checks.of(0).unwrap().value(&Measure::Ph, 0), Some(6.8));
    }

    #[test]
    fn two_rows_of_a_date_in_one_sheet_are_two_checks() {
        let a = [("p", 1.0, 2, 35.1, 6.8), ("p", 1.0, 3, 35.2, 6.9)];
        // The second file holds only the afternoon check: it must meet its equal.
        let (checks, overlaps) = two(&a, &[("p", 1.0, 2, 35.2, 6.9)]);
        assert_eq!(checks.len(), 2);
        assert!(overlaps.contradicted.is_empty());
        let twice = [("p", 1.0, 2, 35.1, 6.8), ("p", 1.0, 3, 35.1, 6.8)];
        let (checks, overlaps) = two(&twice, &[]);
        assert_eq!(checks.len(), 2);
        assert!(overlaps.issues[0].problem.contains("every reading equal"));
    }

    #[test]
    fn with_a_time_of_day_one_sheet_cannot_hold_a_check_twice() {
        let a = [("p", 1.3, 2, 35.1, 6.8), ("p", 1.3, 3, 35.1, 6.8)];
        let (checks, overlaps) = two(&a, &[]);
        assert_eq!(checks.len(), 1);
        assert_eq!(overlaps.duplicates, BTreeMap::from([(0, 1)]));
    }

    #[test]
    fn a_third_file_does_not_settle_a_contradiction() {
        let sheets = ["logs/a.csv", "logs/b.csv", "logs/c.csv"]
            .into_iter()
            .zip([35.1, 35.4, 35.1])
            .map(|(path, t)| named(path, rows(&[("p", 1.0, 2, t, 6.8)])))
            .collect();
        let (checks, overlaps) = assemble(sheets, Zone::AS_WRITTEN);
        assert_eq!(checks.len(), 1);
        assert_eq!(
            checks.of(0).unwrap().value(&Measure::CabinetTemperature, 0),
            None
        );
        assert_eq!(overlaps.contradicted.values().sum::<u64>(), 3);
    }
}
