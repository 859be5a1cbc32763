//! From the rows of all sheets to [`Checks`]: by cabinet, in time order.
//!
//! A cabinet that stands in one sheet, no time twice, is taken as it is there. Others are
//! joined out of their sheets, and rows that occur twice are settled.

use super::checks::{Checks, Part, PartRows, SheetName, SheetOf};
use super::group::GroupedRows;
use super::join::{self, Joined};
use super::overlap::{self, Overlaps};
use crate::time::Zone;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Puts the rows of all sheets together; sheets come in the order of their path.
pub(crate) fn assemble(sheets: Vec<(SheetName, GroupedRows)>, zone: Zone) -> (Checks, Overlaps) {
    let mut stretches: BTreeMap<Arc<str>, Vec<PartRows>> = BTreeMap::new();
    let mut checks = Checks::default();
    for (part, (name, grouped)) in sheets.into_iter().enumerate() {
        for (cabinet, rows) in grouped.cabinets.into_iter().zip(grouped.rows) {
            if !rows.is_empty() {
                let of_cabinet = stretches.entry(cabinet).or_default();
                of_cabinet.push(PartRows { part, rows });
            }
        }
        checks.sheets.push(name);
        checks.parts.push(Part {
            at: grouped.at,
            line: grouped.line,
            sheet: SheetOf::All(u32::try_from(part).unwrap_or(u32::MAX)),
            columns: grouped.columns,
        });
    }
    let stretches: Vec<(Arc<str>, Vec<PartRows>)> = stretches.into_iter().collect();
    let is_ready: Vec<bool> = stretches
        .par_iter()
        .map(|(_, stretches)| is_ready(stretches, &checks.parts))
        .collect();
    let (mut ready, mut open) = (Vec::new(), Vec::new());
    for ((cabinet, stretches), is_ready) in stretches.into_iter().zip(is_ready) {
        if is_ready {
            ready.extend(
                stretches
                    .into_iter()
                    .map(|rows| (Arc::clone(&cabinet), rows)),
            );
        } else {
            open.push((cabinet, stretches));
        }
    }
    let mut overlaps = Overlaps::default();
    if !open.is_empty() {
        let mut joined = join::join(open, &ready, &mut checks.parts);
        overlaps = overlap::resolve(&mut joined, &checks.sheets, zone);
        let Joined {
            cabinets,
            rows,
            part,
        } = joined;
        let place = checks.parts.len();
        checks.parts.push(part);
        let rows = rows.into_iter().map(|rows| PartRows { part: place, rows });
        ready.extend(cabinets.into_iter().zip(rows));
        ready.sort_by(|a, b| a.0.cmp(&b.0));
    }
    (checks.cabinets, checks.places) = ready.into_iter().unzip();
    (checks, overlaps)
}

/// Whether the checks of a cabinet can be taken as they stand: in one sheet, each later
/// than the one before.
fn is_ready(stretches: &[PartRows], parts: &[Part]) -> bool {
    let [only] = stretches else {
        return false;
    };
    let at = parts
        .get(only.part)
        .and_then(|part| part.at.get(only.rows.clone()));
    at.is_some_and(|at| at.is_sorted_by(|a, b| a < b))
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
        let (checks, _) = assemble(
            vec![named("logs/a.csv", GroupedRows::default())],
            Zone::AS_WRITTEN,
        );
        assert!(checks.is_empty());
    }
}
