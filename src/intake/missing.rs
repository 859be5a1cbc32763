//! Working days on which a cabinet was not checked.

use super::checks::{CabinetChecks, Checks};
use crate::series::Times;
use crate::time::{Instant, Zone};
use chrono::{Datelike, NaiveDate};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// For each cabinet the working days between its first and last check without one.
///
/// `working_days` are weekdays with Monday = 0. A cabinet that misses none is absent.
/// Only checks of the first `log_sheets` sheets count: a logger is no visit.
pub(crate) fn missing_days(
    checks: &Checks,
    log_sheets: usize,
    working_days: &[u8],
    zone: Zone,
) -> BTreeMap<Arc<str>, Vec<NaiveDate>> {
    let mut works = [false; 7];
    for day in working_days {
        if let Some(slot) = works.get_mut(usize::from(*day)) {
            *slot = true;
        }
    }
    checks
        .cabinets()
        .par_iter()
        .enumerate()
        .map_init(Known::default, |known, (index, cabinet)| {
            let of_cabinet = checks.of(index)?;
            let missing = known.missing_of(of_cabinet, log_sheets, works, zone);
            (!missing.is_empty()).then(|| (Arc::clone(cabinet), missing))
        })
        .flatten()
        .collect()
}

/// What was found for the last cabinet all of whose checks are visits: the next one of its
/// site mostly has the same times.
#[derive(Default)]
struct Known(Option<(Times, Vec<NaiveDate>)>);

impl Known {
    fn missing_of(
        &mut self,
        of_cabinet: &CabinetChecks,
        log_sheets: usize,
        works: [bool; 7],
        zone: Zone,
    ) -> Vec<NaiveDate> {
        let mut stretches = of_cabinet.stretches();
        let all = stretches.len();
        stretches.retain(|(sheet, _)| (*sheet as usize) < log_sheets);
        let times = of_cabinet.times();
        if let Some((known, missing)) = &self.0
            && stretches.len() == all
            && known.is_shared_with(times)
        {
            return missing.clone();
        }
        let visits = stretches.iter();
        let visits = visits.filter_map(|(_, rows)| of_cabinet.at().get(rows.clone()));
        let missing = between(visits.flatten().copied(), works, zone);
        if stretches.len() == all {
            self.0 = Some((times.clone(), missing.clone()));
        }
        missing
    }
}

fn between(at: impl Iterator<Item = Instant>, works: [bool; 7], zone: Zone) -> Vec<NaiveDate> {
    let mut missing = Vec::new();
    let mut before: Option<i64> = None;
    for at in at {
        let today = zone.day_number(at);
        if let Some(before) = before {
            for skipped in before + 1..today {
                // 1 January 1970 was a Thursday, Monday being 0.
                let weekday = usize::try_from((skipped + 3).rem_euclid(7)).unwrap_or(0);
                if works.get(weekday) == Some(&true) {
                    let date = i32::try_from(skipped)
                        .ok()
                        .and_then(NaiveDate::from_epoch_days);
                    missing.extend(date);
                }
            }
        }
        before = Some(today);
    }
    debug_assert!(missing.iter().all(|d| works[d.weekday() as usize]));
    missing
}

#[cfg(test)]
mod tests {
    use super::super::assemble::assemble;
    use super::super::group::tests::{named, rows};
    use super::*;

    #[test]
    fn tells_working_days_without_a_check() {
        // 5 January 2026 is a Monday, 20458 days after 1970-01-01.
        let monday = 20_458.0;
        let list = [
            ("plover", monday, 2, 35.0, 6.8),
            ("plover", monday + 2.3, 3, 35.0, 6.8),
            ("plover", monday + 7.0, 4, 35.0, 6.8),
            ("dunlin", monday, 5, 35.0, 6.8),
        ];
        let sheets = vec![named("logs/a.csv", rows(&list))];
        let (checks, _) = assemble(sheets, Zone::AS_WRITTEN);
        let missing = missing_days(&checks, 1, &[0, 1, 2, 3, 4], Zone::AS_WRITTEN);
        let days: Vec<_> = missing["plover"].iter().map(|d| d.to_string()).collect();
        assert_eq!(days, ["2026-01-06", "2026-01-08", "2026-01-09"]);
        assert!(!missing.contains_key("dunlin"));
    }
}
