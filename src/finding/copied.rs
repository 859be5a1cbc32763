//! Entries copied forward: a stretch in which several characteristics repeat at once.
//!
//! A single characteristic that repeats may be a stuck sensor; several together were
//! not read anew. Nothing in such a stretch tells of the cabinet, so signals that rest
//! on it are evidence of the copying and of nothing else. It accuses nobody.

use super::cabinet::Family;
use crate::characteristic::Characteristic;
use crate::series::Series;
use crate::signal::wording::{count, days, list};
use crate::signal::{Signal, is_news};
use crate::time::{Instant, Zone};
use chrono::Datelike;
use std::collections::BTreeSet;
use std::ops::Range;

/// Independent characteristics that must repeat together.
const FEWEST_TOGETHER: usize = 2;

/// A stretch of checks that repeat each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Copied {
    /// First check of the stretch.
    pub from: Instant,
    /// Last check of the stretch.
    pub to: Instant,
    /// Checks in it.
    pub checks: usize,
    /// Measured characteristics (none that is computed from others) equal throughout.
    pub equal: Vec<Characteristic>,
    /// Measured characteristics with readings in the stretch that do vary.
    pub varying: Vec<Characteristic>,
}

/// What is looked at of one series: its readings, its signals and the period.
pub type Judged<'a> = (&'a Series, &'a [Signal], &'a Range<usize>);

/// The stretches of the period in which entries of a cabinet were copied, in time order.
///
/// They are where `repeat` fires on at least two independent characteristics at once.
pub fn copied(judged: &[Judged<'_>]) -> Vec<Copied> {
    let mut repeats: Vec<(Instant, Instant, Family)> = judged
        .iter()
        .flat_map(|(series, signals, period)| {
            let family = Family::of(series.characteristic());
            signals
                .iter()
                .filter(|s| s.rule == "repeat" && s.explained_by.is_none() && is_news(s, period))
                .filter_map(move |s| {
                    let at = series.at();
                    Some((*at.get(s.start)?, *at.get(s.last)?, family.clone()))
                })
        })
        .collect();
    repeats.sort();
    let mut found = Vec::new();
    let mut rest = repeats.as_slice();
    while let Some(first) = rest.first() {
        // Those that overlap the ones before them, one after the other.
        let mut end = first.1;
        let together = rest
            .iter()
            .take_while(|(from, to, _)| {
                let overlaps = *from <= end;
                if overlaps {
                    end = end.max(*to);
                }
                overlaps
            })
            .count();
        let (cluster, later) = rest.split_at(together);
        rest = later;
        let families: BTreeSet<&Family> = cluster.iter().map(|r| &r.2).collect();
        if families.len() >= FEWEST_TOGETHER {
            found.extend(stretch(cluster, judged));
        }
    }
    found
}

/// The stretch that most of the repeats agree on, and which columns are equal in it.
fn stretch(cluster: &[(Instant, Instant, Family)], judged: &[Judged<'_>]) -> Option<Copied> {
    let middle = |mut at: Vec<Instant>| {
        at.sort_unstable();
        at.get(at.len() / 2).copied()
    };
    // One characteristic may have stood still before or after by chance.
    let from = middle(cluster.iter().map(|r| r.0).collect())?;
    let to = middle(cluster.iter().map(|r| r.1).collect())?;
    let (mut equal, mut varying, mut checks) = (Vec::new(), Vec::new(), 0);
    for (series, ..) in judged {
        let characteristic = series.characteristic();
        let values = readings_within(series, from, to);
        if computed(characteristic) || values.is_empty() {
            continue;
        }
        checks = checks.max(values.len());
        if all_equal(values) {
            equal.push(characteristic.clone());
        } else {
            varying.push(characteristic.clone());
        }
    }
    (checks > 1 && !equal.is_empty()).then_some(Copied {
        from,
        to,
        checks,
        equal,
        varying,
    })
}

fn readings_within(series: &Series, from: Instant, to: Instant) -> &[f64] {
    let first = series.at().partition_point(|at| *at < from);
    let end = series.at().partition_point(|at| *at <= to);
    series.values().get(first..end).unwrap_or(&[])
}

fn all_equal(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[0] == pair[1])
}

/// Whether a characteristic is computed from others of the same check.
fn computed(characteristic: &Characteristic) -> bool {
    matches!(
        characteristic,
        Characteristic::CollectionRate
            | Characteristic::CollectionSpread
            | Characteristic::SaltConcentration
    )
}

impl Copied {
    /// Whether a signal rests on the stretch: it began before its end and was not yet known
    /// before its start.
    pub(super) fn bears(&self, series: &Series, signal: &Signal) -> bool {
        let at = |index: usize| series.at().get(index).copied();
        match (at(signal.start), at(signal.known)) {
            (Some(start), Some(known)) => start <= self.to && known >= self.from,
            _ => false,
        }
    }

    /// Whether a series, measured or computed, has readings in the stretch, all equal.
    pub(super) fn touches(&self, series: &Series) -> bool {
        let values = readings_within(series, self.from, self.to);
        !values.is_empty() && all_equal(values)
    }

    /// `The 10 checks of 8 to 19 June are equal in every column`, without its full stop.
    pub(super) fn says(&self, zone: Zone, year: i32) -> String {
        let when = days(zone.date(self.from), zone.date(self.to), year);
        let columns = if self.varying.is_empty() {
            "every column".to_owned()
        } else {
            let names: Vec<&str> = self.equal.iter().map(Characteristic::spoken).collect();
            list(&names)
        };
        format!(
            "The {} of {when} are equal in {columns}",
            count(self.checks, "check")
        )
    }

    /// Why a series that has readings in the stretch is not judged steady.
    pub(super) fn reason(&self, zone: Zone) -> String {
        let year = zone.date(self.to).year();
        format!(
            "{}: copied or not read anew, so they tell nothing.",
            self.says(zone, year)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic as C;
    use crate::finding::testing::signal;
    use crate::signal::fixture::{MONDAY, daily};

    /// Twenty days; the readings from `from` on, ten of them, are one value.
    fn column(characteristic: C, from: usize) -> Series {
        let values: Vec<f64> = (0..20)
            .map(|i| {
                if (from..from + 10).contains(&i) {
                    6.5
                } else {
                    6.0 + 0.01 * i as f64
                }
            })
            .collect();
        daily("Avocet", characteristic, &values)
    }

    fn found(columns: &[(Series, Vec<Signal>)]) -> Vec<Copied> {
        let period = 0..20;
        let judged: Vec<Judged<'_>> = columns
            .iter()
            .map(|(series, signals)| (series, signals.as_slice(), &period))
            .collect();
        copied(&judged)
    }

    #[test]
    fn columns_that_repeat_together_are_one_stretch_and_its_signals_rest_on_it() {
        let repeat = vec![signal("repeat", 0, 5, 9, 14)];
        let columns = [
            (column(C::CabinetTemperature, 5), repeat.clone()),
            (column(C::Ph, 5), repeat.clone()),
            (column(C::CollectionRate, 5), repeat),
            // Too coarse for the rule, but equal as well.
            (column(C::SpecificGravity, 5), vec![]),
        ];
        let stretches = found(&columns);
        assert_eq!(stretches.len(), 1);
        let stretch = &stretches[0];
        assert_eq!(
            (stretch.from, stretch.to, stretch.checks),
            (MONDAY.plus_days(5.0), MONDAY.plus_days(14.0), 10)
        );
        assert_eq!(
            stretch.says(Zone::AS_WRITTEN, 2026),
            "The 10 checks of 7 to 16 March are equal in every column"
        );
        assert_eq!(
            stretch.reason(Zone::AS_WRITTEN),
            "The 10 checks of 7 to 16 March are equal in every column: copied or not read anew, so they tell nothing."
        );
        let ph = &columns[1].0;
        assert!(stretch.bears(ph, &signal("one-sided-run", 1, 2, 10, 16)));
        assert!(!stretch.bears(ph, &signal("one-sided-run", 1, 0, 4, 16)));
        assert!(!stretch.bears(ph, &signal("outer-pair", 1, 15, 16, 16)));
        assert!(columns.iter().all(|(series, _)| stretch.touches(series)));
    }

    #[test]
    fn one_column_or_columns_at_different_times_were_not_copied() {
        let at = |characteristic, from: usize| {
            (
                column(characteristic, from),
                vec![signal("repeat", 0, from, from + 4, from + 9)],
            )
        };
        assert!(found(&[at(C::Ph, 5)]).is_empty());
        // Gravity and salt are one measure.
        assert!(found(&[at(C::SpecificGravity, 5), at(C::SaltConcentration, 5)]).is_empty());
        assert!(found(&[at(C::Ph, 0), at(C::AirPressure, 10)]).is_empty());
    }

    #[test]
    fn a_column_that_varies_is_not_named() {
        let repeat = vec![signal("repeat", 0, 5, 9, 14)];
        let stretches = found(&[
            (column(C::CabinetTemperature, 5), repeat.clone()),
            (column(C::Ph, 5), repeat),
            (column(C::AirPressure, 9), vec![]),
        ]);
        assert_eq!(
            stretches[0].says(Zone::AS_WRITTEN, 2026),
            "The 10 checks of 7 to 16 March are equal in cabinet temperature and pH"
        );
        assert_eq!(stretches[0].varying, [C::AirPressure]);
    }
}
