//! From the rows of all sheets to [`Checks`]: by cabinet, in time order.
//!
//! A cabinet that stands in one sheet, no time twice, is taken as it is there. Others are
//! joined out of their sheets, and rows that occur twice are settled.

use super::checks::{Checks, Part, PartRows, SheetName, SheetOf};
use super::group::GroupedRows;
use super::join::{self, Stretch};
use super::overlap::{self, Overlaps};
use crate::series::Times;
use crate::time::Zone;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Puts the rows of all sheets together; sheets come in the order of their path.
pub(crate) fn assemble(sheets: Vec<(SheetName, GroupedRows)>, zone: Zone) -> (Checks, Overlaps) {
    let mut stretches: BTreeMap<Arc<str>, Vec<Stretch>> = BTreeMap::new();
    let mut checks = Checks::default();
    for (part, (name, grouped)) in sheets.into_iter().enumerate() {
        let places = grouped.rows.into_iter().zip(grouped.at);
        for (cabinet, (rows, at)) in grouped.cabinets.into_iter().zip(places) {
            if !rows.is_empty() {
                let of_cabinet = stretches.entry(cabinet).or_default();
                let place = PartRows { part, rows };
                of_cabinet.push(Stretch { place, at });
            }
        }
        checks.sheets.push(name);
        checks.parts.push(Part {
            line: grouped.line,
            sheet: SheetOf::All(u32::try_from(part).unwrap_or(u32::MAX)),
            columns: grouped.columns,
        });
    }
    let stretches: Vec<(Arc<str>, Vec<Stretch>)> = stretches.into_iter().collect();
    let times: Vec<Option<Times>> = stretches
        .par_iter()
        .map(|(_, stretches)| ready_times(stretches))
        .collect();
    let (mut ready, mut open) = (Vec::new(), Vec::new());
    for ((cabinet, mut stretches), times) in stretches.into_iter().zip(times) {
        match (times, stretches.pop()) {
            (Some(times), Some(only)) => ready.push((cabinet, only.place, times)),
            (_, last) => {
                stretches.extend(last);
                open.push((cabinet, stretches));
            }
        }
    }
    let mut overlaps = Overlaps::default();
    if !open.is_empty() {
        let needed = ready.iter().map(|(_, place, _)| place.part).collect();
        let mut joined = join::join(open, &needed, &mut checks.parts);
        overlaps = overlap::resolve(&mut joined, &checks.sheets, zone);
        let part = checks.parts.len();
        checks.parts.push(joined.part);
        for (cabinet, rows) in joined.cabinets.into_iter().zip(joined.rows) {
            let times = joined.at.get(rows.clone()).unwrap_or_default();
            let place = PartRows { part, rows };
            ready.push((cabinet, place, Times::sorted(times.to_vec())));
        }
        ready.sort_by(|a, b| a.0.cmp(&b.0));
    }
    for (cabinet, place, times) in ready {
        checks.cabinets.push(cabinet);
        checks.places.push(place);
        checks.times.push(times);
    }
    (checks, overlaps)
}

/// The times of a cabinet whose checks can be taken as they stand: in one sheet, each later
/// than the one before.
fn ready_times(stretches: &[Stretch]) -> Option<Times> {
    match stretches {
        [only] => Times::ascending(&only.at),
        _ => None,
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
        let (checks, _) = assemble(
            vec![named("logs/a.csv", GroupedRows::default())],
            Zone::AS_WRITTEN,
        );
        assert!(checks.is_empty());
    }
}
