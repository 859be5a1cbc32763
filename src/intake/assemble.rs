//! From the rows of all sheets to [`Checks`]: by cabinet, in time order.
//!
//! A cabinet that stands in one sheet, no time twice, is taken as it is there. Others are
//! joined out of their sheets, and rows that occur twice are settled.

use super::checks::{CabinetChecks, Checks, SheetName, SheetOf};
use super::group::CabinetRows;
use super::join::{Joined, OfSheet};
use super::overlap::{Found, Overlaps};
use crate::series::Times;
use crate::time::Zone;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Puts the rows of all sheets together; sheets come in the order of their path.
pub(crate) fn assemble(
    sheets: Vec<(SheetName, Vec<CabinetRows>)>,
    zone: Zone,
) -> (Checks, Overlaps) {
    let mut all: BTreeMap<Arc<str>, Vec<OfSheet>> = BTreeMap::new();
    let mut checks = Checks::default();
    for (sheet, (name, cabinets)) in (0..).zip(sheets) {
        for rows in cabinets.into_iter().filter(|rows| !rows.line.is_empty()) {
            let of_cabinet = all.entry(Arc::clone(&rows.cabinet)).or_default();
            of_cabinet.push(OfSheet { sheet, rows });
        }
        checks.sheets.push(name);
    }
    let all: Vec<(Arc<str>, Vec<OfSheet>)> = all.into_iter().collect();
    let times: Vec<Option<Times>> = all.par_iter().map(|(_, of)| ready_times(of)).collect();
    let (mut ready, mut open) = (Vec::new(), Vec::new());
    for ((cabinet, mut of_cabinet), times) in all.into_iter().zip(times) {
        match (times, of_cabinet.pop()) {
            (Some(times), Some(only)) => ready.push((cabinet, as_it_is(only, times))),
            (_, last) => {
                of_cabinet.extend(last);
                open.push((cabinet, of_cabinet));
            }
        }
    }
    let open = open.into_par_iter();
    let joined: Vec<Joined> = open.map(|(cabinet, of)| Joined::of(cabinet, of)).collect();
    let mut found = Found::new(zone);
    for mut joined in joined {
        found.settle(&mut joined);
        ready.push(joined.checks());
    }
    ready.sort_by(|a, b| a.0.cmp(&b.0));
    (checks.cabinets, checks.checks) = ready.into_iter().unzip();
    let overlaps = found.finish(&checks.sheets);
    (checks, overlaps)
}

/// The times of a cabinet whose checks can be taken as they stand: in one sheet, each later
/// than the one before.
fn ready_times(of_cabinet: &[OfSheet]) -> Option<Times> {
    match of_cabinet {
        [only] => Times::ascending(&only.rows.at),
        _ => None,
    }
}

fn as_it_is(only: OfSheet, times: Times) -> CabinetChecks {
    CabinetChecks {
        times,
        line: only.rows.line,
        sheet: SheetOf::All(only.sheet),
        columns: only.rows.columns,
    }
}

#[cfg(test)]
mod tests {
    use super::super::checks::{Measure, Source};
    use super::super::group::tests::{named, rows};
    use super::*;

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
        assert_eq!(checks.len(), 5);
        let of = |cabinet: usize| checks.of(cabinet).unwrap();
        let t = |cabinet: usize| of(cabinet).column(&Measure::CabinetTemperature).unwrap();
        assert_eq!((t(0), t(1)), (&[36.0][..], &[34.1][..]));
        assert_eq!(t(2), [35.1, 35.2, 35.3]);
        assert_eq!(of(1).column(&Measure::Ph), None);
        assert_eq!(of(1).source(0), Some(Source { sheet: 0, line: 3 }));
        assert_eq!(of(2).source(0), Some(Source { sheet: 0, line: 4 }));
        assert_eq!(of(2).source(1), Some(Source { sheet: 1, line: 2 }));
        assert_eq!(of(2).stretches(), [(0, 0..1), (1, 1..2), (0, 2..3)]);
        assert!(of(2).at().is_sorted());
        assert!(checks.of(3).is_none());
    }

    #[test]
    fn nothing_makes_no_checks() {
        let (checks, _) = assemble(Vec::new(), Zone::AS_WRITTEN);
        assert!(checks.is_empty() && checks.cabinets().is_empty());
        let (checks, _) = assemble(vec![named("logs/a.csv", Vec::new())], Zone::AS_WRITTEN);
        assert!(checks.is_empty());
    }
}
