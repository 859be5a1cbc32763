//! Samples of a logger reduced to one subgroup per cabinet, measure and day.
//!
//! One pass, memory in the number of days and not of samples. Means and sums of squares
//! are updated sample by sample (Welford 1962, Technometrics 4, 419; from memory), which
//! loses no digits where a plain sum of squares would.

use super::checks::Measure;
use super::group::CabinetRows;
use super::plan::Plan;
use crate::time::Instant;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// The samples of one measure of one cabinet on one day, in canonical units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subgroup {
    /// Number of samples.
    pub n: u64,
    /// Their mean.
    pub mean: f64,
    /// Smallest sample.
    pub min: f64,
    /// Largest sample.
    pub max: f64,
    /// First sample of the day.
    pub first: f64,
    /// Last sample of the day.
    pub last: f64,
    /// When the first was taken.
    pub first_at: Instant,
    /// When the last was taken.
    pub last_at: Instant,
    /// Sum of squared distances from the mean.
    squares: f64,
}

impl Subgroup {
    fn one(at: Instant, value: f64) -> Subgroup {
        Subgroup {
            n: 1,
            mean: value,
            min: value,
            max: value,
            first: value,
            last: value,
            first_at: at,
            last_at: at,
            squares: 0.0,
        }
    }

    fn add(&mut self, at: Instant, value: f64) {
        self.n += 1;
        let before = value - self.mean;
        self.mean += before / self.n as f64;
        self.squares += before * (value - self.mean);
        self.min = self.min.min(value);
        self.max = self.max.max(value);
        if at < self.first_at {
            (self.first, self.first_at) = (value, at);
        }
        if at >= self.last_at {
            (self.last, self.last_at) = (value, at);
        }
    }

    /// Standard deviation with n − 1; `None` below two samples.
    pub fn standard_deviation(&self) -> Option<f64> {
        (self.n > 1).then(|| (self.squares / (self.n - 1) as f64).sqrt())
    }
}

/// The subgroups of one sheet under construction.
#[derive(Debug, Default)]
pub(crate) struct Daily {
    days: HashMap<(u32, i64), usize>,
    last: Option<((u32, i64), usize)>,
    /// Cabinet and day of each subgroup.
    keys: Vec<(u32, i64)>,
    groups: BTreeMap<Measure, Vec<Option<Subgroup>>>,
}

impl Daily {
    /// Adds the readings of one row; `values` is parallel to the plan's measured columns.
    pub(crate) fn add(&mut self, plan: &Plan, cabinet: u32, day: i64, at: Instant, values: &[f64]) {
        let key = (cabinet, day);
        let index = match self.last {
            Some((known, index)) if known == key => index,
            _ => {
                let next = self.keys.len();
                let index = *self.days.entry(key).or_insert(next);
                if index == next {
                    self.keys.push(key);
                }
                self.last = Some((key, index));
                index
            }
        };
        for (measured, value) in plan.measured.iter().zip(values) {
            if value.is_nan() {
                continue;
            }
            // A map of at most a handful of measures: the search costs less than hashing.
            if !self.groups.contains_key(&measured.measure) {
                self.groups.insert(measured.measure.clone(), Vec::new());
            }
            let Some(groups) = self.groups.get_mut(&measured.measure) else {
                continue;
            };
            if groups.len() <= index {
                groups.resize(index + 1, None);
            }
            match groups.get_mut(index) {
                Some(Some(group)) => group.add(at, *value),
                Some(slot) => *slot = Some(Subgroup::one(at, *value)),
                None => {}
            }
        }
    }

    /// Indices of the cabinets that have subgroups.
    pub(crate) fn cabinets(&self) -> BTreeSet<u32> {
        self.keys.iter().map(|key| key.0).collect()
    }

    /// All subgroups: cabinet index, measure, subgroup, by measure, cabinet and day.
    fn all(&self) -> impl Iterator<Item = (u32, i64, &Measure, &Subgroup)> {
        self.groups.iter().flat_map(|(measure, groups)| {
            let mut of_measure: Vec<_> = self
                .keys
                .iter()
                .zip(groups)
                .filter_map(|((cabinet, day), group)| {
                    Some((*cabinet, *day, measure, group.as_ref()?))
                })
                .collect();
            of_measure.sort_by_key(|(cabinet, day, ..)| (*cabinet, *day));
            of_measure
        })
    }
}

/// Subgroups by cabinet and measure, in order of time.
pub type DailySubgroups = BTreeMap<Arc<str>, BTreeMap<Measure, Vec<Subgroup>>>;

/// When the row of a day stands, and its readings.
type DayRow = (Instant, Vec<(Measure, f64)>);

/// Turns a sheet's subgroups into rows, one per cabinet and day, of the measures that no
/// check log has for that cabinet; tells which those are. The answer is parallel to `cabinets`.
///
/// A row stands at the time of its last sample: before that its mean was not known.
pub(crate) fn rows_of(
    daily: &Daily,
    cabinets: &[Arc<str>],
    in_logs: &BTreeSet<(Arc<str>, Measure)>,
    all: &mut DailySubgroups,
) -> (Vec<CabinetRows>, BTreeSet<(Arc<str>, Measure)>) {
    let mut used = BTreeSet::new();
    let mut rows: BTreeMap<(u32, i64), DayRow> = BTreeMap::new();
    for (cabinet, day, measure, group) in daily.all() {
        let Some(id) = cabinets.get(cabinet as usize) else {
            continue;
        };
        all.entry(Arc::clone(id))
            .or_default()
            .entry(measure.clone())
            .or_default()
            .push(*group);
        let key = (Arc::clone(id), measure.clone());
        if in_logs.contains(&key) {
            continue;
        }
        used.insert(key);
        let row = rows
            .entry((cabinet, day))
            .or_insert((group.last_at, Vec::new()));
        row.0 = row.0.max(group.last_at);
        row.1.push((measure.clone(), group.mean));
    }
    let of_cabinet = |(index, id): (u32, &Arc<str>)| {
        let mut of_cabinet = CabinetRows {
            cabinet: Arc::clone(id),
            ..CabinetRows::default()
        };
        let mut at = Vec::new();
        let days = (index, i64::MIN)..=(index, i64::MAX);
        for (row, (_, (last_at, values))) in rows.range(days).enumerate() {
            at.push(*last_at);
            // A mean of many lines has no line of its own.
            of_cabinet.line.push(0);
            for (measure, value) in values {
                let column = of_cabinet.columns.entry(measure.clone()).or_default();
                column.resize(row, f64::NAN);
                column.push(*value);
            }
        }
        for column in of_cabinet.columns.values_mut() {
            column.resize(at.len(), f64::NAN);
        }
        of_cabinet.at = Arc::new(at);
        of_cabinet
    };
    ((0..).zip(cabinets).map(of_cabinet).collect(), used)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_subgroup_holds_what_its_samples_say() {
        let values = [35.0, 35.4, 34.9, 35.1];
        let mut group = Subgroup::one(Instant(0), values[0]);
        for (second, value) in values.iter().enumerate().skip(1) {
            group.add(Instant(second as i64), *value);
        }
        assert_eq!((group.n, group.min, group.max), (4, 34.9, 35.4));
        assert_eq!((group.first, group.last), (35.0, 35.1));
        assert!((group.mean - 35.1).abs() < 1e-12);
        // Squared distances 0.01 + 0.09 + 0.04 + 0.00, over 3.
        let sd = group.standard_deviation().unwrap();
        assert!((sd - (0.14_f64 / 3.0).sqrt()).abs() < 1e-12, "{sd}");
        assert_eq!(Subgroup::one(Instant(0), 1.0).standard_deviation(), None);
    }

    #[test]
    fn a_large_offset_loses_no_digits() {
        // NIST StRD, univariate, NumAcc3 in its structure: mean 1 000 000.2, sd 0.1.
        let mut group = Subgroup::one(Instant(0), 1_000_000.2);
        for pair in 0..500 {
            group.add(Instant(pair), 1_000_000.1);
            group.add(Instant(pair), 1_000_000.3);
        }
        assert!((group.mean - 1_000_000.2).abs() < 1e-9);
        assert!((group.standard_deviation().unwrap() - 0.1).abs() < 1e-9);
    }
}
