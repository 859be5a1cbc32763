//! The series of one cabinet from its checks: plain readings, collection rates per
//! 80 cm² and salt, with stages and exclusions.
//!
//! What a funnel's size, the hours of collection or the reference of a gravity are is
//! never assumed: without them the derived series is left out and the exact line for
//! `lab.toml` is told, once per cabinet. One pass per column; nothing is allocated per
//! reading.

use super::collection::{REFERENCE_AREA_CM2, spread_percent};
use super::gravity::GravityRead;
use super::{hints, marks, solution};
use crate::characteristic::Characteristic;
use crate::intake::checks::{CabinetChecks, Checks, Collector, Measure, SheetName};
use crate::issue::Issue;
use crate::lab::{HowWritten, Lab};
use crate::series::{Finite, Series, all_finite};
use crate::time::Instant;
use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// What the checks of a cabinet become.
#[derive(Debug, Default)]
pub struct Derived {
    /// The series, in report order; none is empty.
    pub series: Vec<Series>,
    /// What could not be derived, with the line that would settle it.
    pub issues: Vec<Issue>,
    /// What else is known of single readings and is needed to judge them.
    pub companions: Companions,
}

/// What conformance needs beside a series: parallel to the series it names.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Companions {
    /// Gauge pressure at each tower-temperature reading, kPa; NaN where not read.
    pub tower_pressure: Vec<f64>,
    /// Each specific-gravity reading understood; `None` where its reference is not known.
    pub gravity: Vec<Option<GravityRead>>,
    /// Whether each salt-concentration reading comes from the gravity of the same check.
    pub salt_from_gravity: Vec<bool>,
}

/// The rows of one cabinet with how they were written.
pub(super) struct Cabinet<'a> {
    pub(super) checks: &'a CabinetChecks,
    /// Files and sheets of the lab.
    pub(super) sheets: &'a [SheetName],
    pub(super) lab: &'a Lab,
    pub(super) id: &'a Arc<str>,
    /// Stretches of rows from the same file and sheet, in order.
    pub(super) runs: Vec<(Range<usize>, HowWritten)>,
}

impl<'a> Cabinet<'a> {
    fn new(checks: &'a Checks, index: usize, lab: &'a Lab) -> Option<Cabinet<'a>> {
        let id = checks.cabinets().get(index)?;
        let of_cabinet = checks.of(index)?;
        let mut known: Vec<(u32, HowWritten)> = Vec::new();
        let mut runs: Vec<(Range<usize>, HowWritten)> = Vec::new();
        for (sheet, rows) in of_cabinet.stretches() {
            let how = match known.iter().find(|(s, _)| *s == sheet) {
                Some((_, how)) => *how,
                None => {
                    let name = checks.sheets().get(sheet as usize);
                    let how = name.map_or_else(
                        || lab.how_written(id, "", None),
                        |n| lab.how_written(id, &n.path, n.sheet.as_deref()),
                    );
                    known.push((sheet, how));
                    how
                }
            };
            match runs.last_mut() {
                Some((range, last)) if *last == how => range.end = rows.end,
                _ => runs.push((rows, how)),
            }
        }
        Some(Cabinet {
            checks: of_cabinet,
            sheets: checks.sheets(),
            lab,
            id,
            runs,
        })
    }

    /// The cabinet's part of a column; `None` when no log has it or this cabinet never does.
    pub(super) fn column(&self, measure: &Measure) -> Option<&'a [f64]> {
        self.checks.column(measure)
    }

    pub(super) fn at(&self) -> &'a [Instant] {
        self.checks.at()
    }
}

/// Builds the series of the cabinet at that index of [`Checks::cabinets`].
///
/// Units are the characteristics' own; a check that lacks a value has no reading in
/// that series. An index past the end gives nothing.
pub fn derive(checks: &Checks, cabinet: usize, lab: &Lab) -> Derived {
    let mut out = Derived::default();
    let Some(cabinet) = Cabinet::new(checks, cabinet, lab) else {
        return out;
    };
    let plain = [
        (
            Measure::CabinetTemperature,
            Characteristic::CabinetTemperature,
        ),
        (Measure::TowerTemperature, Characteristic::TowerTemperature),
        (Measure::AirPressure, Characteristic::AirPressure),
    ];
    for (measure, characteristic) in plain {
        if let Some(column) = cabinet.column(&measure) {
            push(&cabinet, characteristic, column.into(), &mut out);
        }
    }
    if let Some(towers) = cabinet.column(&Measure::TowerTemperature) {
        let pressures = cabinet.column(&Measure::AirPressure);
        out.companions.tower_pressure = match pressures {
            Some(pressures) if all_finite(towers) => pressures.to_vec(),
            _ => beside(towers, pressures),
        };
    }
    collection(&cabinet, &mut out);
    if let Some(column) = cabinet.column(&Measure::Ph) {
        push(&cabinet, Characteristic::Ph, column.into(), &mut out);
    }
    solution::derive(&cabinet, &mut out);
    for measure in cabinet.checks.measures() {
        if let (Measure::Own(id), Some(column)) = (measure, cabinet.column(measure)) {
            push(
                &cabinet,
                Characteristic::Own(Arc::clone(id)),
                column.into(),
                &mut out,
            );
        }
    }
    out
}

/// Of `other` what stands beside each finite value of `column`; NaN where nothing does.
fn beside(column: &[f64], other: Option<&[f64]>) -> Vec<f64> {
    let mut other = other.into_iter().flatten().copied();
    let pairs = column.iter().map(|v| (v, other.next().unwrap_or(f64::NAN)));
    pairs
        .filter(|(v, _)| v.is_finite())
        .map(|(_, other)| other)
        .collect()
}

/// Appends the series of a column, NaN left out; nothing when all is.
pub(super) fn push(
    cabinet: &Cabinet<'_>,
    characteristic: Characteristic,
    column: Cow<'_, [f64]>,
    out: &mut Derived,
) {
    let id = Arc::clone(cabinet.id);
    let unit = cabinet.lab.unit_of(&characteristic);
    let series = match Finite::new(column) {
        Ok(whole) if whole.is_empty() => return,
        Ok(whole) => {
            // Every series without a missing reading shares the times of the checks.
            let times = cabinet.checks.times().clone();
            Series::at_times(id, characteristic.clone(), unit, times, whole)
        }
        Err(column) => {
            let finite = column.iter().filter(|v| v.is_finite()).count();
            if finite == 0 {
                return;
            }
            let mut at = Vec::with_capacity(finite);
            let mut value = Vec::with_capacity(finite);
            for (when, v) in cabinet.at().iter().zip(column.iter()) {
                if v.is_finite() {
                    at.push(*when);
                    value.push(*v);
                }
            }
            Series::new(id, characteristic.clone(), unit, at, value)
        }
    };
    let series = series.and_then(|series| marks::apply(series, cabinet.lab));
    match series {
        Ok(series) => out.series.push(series),
        Err(e) => out
            .issues
            .push(hints::not_a_series(cabinet, &characteristic, &e)),
    }
}

/// Readings of catch that could not be brought to 80 cm², and why.
#[derive(Debug, Default)]
pub(super) struct LeftOut {
    /// Checks whose funnel is not known, and the first of them.
    pub(super) area: Tally,
    /// Checks whose hours are not known, and the first of them.
    pub(super) hours: Tally,
    /// Checks that lack one side of near and far.
    pub(super) one_sided: Tally,
}

/// A count with the row it began at.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct Tally {
    pub(super) count: u64,
    pub(super) first: usize,
}

impl Tally {
    pub(super) fn add(&mut self, row: usize) {
        if self.count == 0 {
            self.first = row;
        }
        self.count += 1;
    }
}

fn collection(cabinet: &Cabinet<'_>, out: &mut Derived) {
    let mut collectors: Vec<Collector> = cabinet
        .checks
        .measures()
        .filter_map(|m| match m {
            Measure::CaughtVolume(c) | Measure::CaughtRate(c) | Measure::NormalisedRate(c) => {
                Some(*c)
            }
            _ => None,
        })
        .collect();
    collectors.sort_unstable();
    collectors.dedup();
    let mut left_out = LeftOut::default();
    let rates: Vec<(Collector, Cow<'_, [f64]>)> = collectors
        .into_iter()
        .filter_map(|c| Some((c, rate_of(cabinet, c, &mut left_out)?)))
        .collect();

    let side = |wanted: fn(&Collector) -> bool| {
        let of_side: Vec<&[f64]> = rates
            .iter()
            .filter(|(c, _)| wanted(c))
            .map(|(_, v)| v.as_ref())
            .collect();
        (!of_side.is_empty()).then(|| mean_of(&of_side, cabinet.checks.len()))
    };
    let near = side(|c| matches!(c, Collector::Near(_)));
    let far = side(|c| matches!(c, Collector::Far(_)));
    let all = side(|c| !matches!(c, Collector::Mean));
    let written = side(|c| matches!(c, Collector::Mean));

    let mut rate = all.map_or_else(|| vec![f64::NAN; cabinet.checks.len()], Cow::into_owned);
    if let (Some(near), Some(far)) = (&near, &far) {
        // Of a check with one side only, the mean would be that side: a false step.
        for (row, (rate, (n, f))) in rate.iter_mut().zip(near.iter().zip(far.iter())).enumerate() {
            if n.is_nan() != f.is_nan() {
                *rate = f64::NAN;
                left_out.one_sided.add(row);
            }
        }
    }
    if let Some(written) = written {
        for (rate, written) in rate.iter_mut().zip(written.iter()) {
            if rate.is_nan() {
                *rate = *written;
            }
        }
    }
    let spread: Option<Vec<f64>> = near.as_ref().zip(far.as_ref()).map(|(near, far)| {
        let both = near.iter().zip(far.iter());
        both.map(|(n, f)| spread_percent(*n, *f)).collect()
    });
    let in_order = [
        (Characteristic::CollectionNear, near),
        (Characteristic::CollectionFar, far),
        (Characteristic::CollectionRate, Some(rate.into())),
        (Characteristic::CollectionSpread, spread.map(Cow::from)),
    ];
    for (characteristic, column) in in_order {
        if let Some(column) = column {
            push(cabinet, characteristic, column, out);
        }
    }
    hints::collection(cabinet, &left_out, &mut out.issues);
}

/// A collector's catch per 80 cm² in every row; `None` when the cabinet never has it.
///
/// A rate the log gives per 80 cm² goes before a rate, a rate before a volume.
fn rate_of<'a>(
    cabinet: &Cabinet<'a>,
    collector: Collector,
    left_out: &mut LeftOut,
) -> Option<Cow<'a, [f64]>> {
    let ready = cabinet.column(&Measure::NormalisedRate(collector));
    let rates = cabinet.column(&Measure::CaughtRate(collector));
    let volumes = cabinet.column(&Measure::CaughtVolume(collector));
    if ready.is_none() && rates.is_none() && volumes.is_none() {
        return None;
    }
    if let Some(whole) = ready.filter(|ready| !ready.iter().any(|v| v.is_nan())) {
        return Some(whole.into());
    }
    let hours = cabinet.column(&Measure::CollectionHours);
    let pick = |column: Option<&[f64]>, row: usize| {
        column.and_then(|c| c.get(row)).copied().unwrap_or(f64::NAN)
    };
    let mut out = vec![f64::NAN; cabinet.checks.len()];
    for (run, how) in &cabinet.runs {
        let to_80 = how
            .funnel_area_cm2
            .map_or(f64::NAN, |a| REFERENCE_AREA_CM2 / a);
        let default_hours = how.collection_hours.unwrap_or(f64::NAN);
        for row in run.clone() {
            let Some(slot) = out.get_mut(row) else {
                continue;
            };
            *slot = pick(ready, row);
            if !slot.is_nan() {
                continue;
            }
            let mut caught = pick(rates, row);
            let volume = pick(volumes, row);
            if caught.is_nan() && !volume.is_nan() {
                let written = pick(hours, row);
                let hours = if written > 0.0 {
                    written
                } else {
                    default_hours
                };
                caught = volume / hours;
                if hours.is_nan() {
                    left_out.hours.add(row);
                }
            }
            *slot = caught * to_80;
            if to_80.is_nan() && !(pick(rates, row).is_nan() && volume.is_nan()) {
                left_out.area.add(row);
            }
        }
    }
    Some(out.into())
}

/// The mean of those columns that have a value in a row; NaN where none has.
fn mean_of<'a>(columns: &[&'a [f64]], rows: usize) -> Cow<'a, [f64]> {
    if let [only] = columns {
        return Cow::Borrowed(only);
    }
    let known = |value: f64| if value.is_nan() { 0.0 } else { value };
    let counts = |value: f64| f64::from(u8::from(!value.is_nan()));
    // Of none, 0 by 0: NaN.
    if let [one, other] = columns {
        let both = one.iter().zip(*other);
        let mean = both.map(|(a, b)| (0.0 + known(*a) + known(*b)) / (counts(*a) + counts(*b)));
        return mean.collect();
    }
    let (mut sum, mut count) = (vec![0.0; rows], vec![0.0; rows]);
    for column in columns {
        for ((sum, count), value) in sum.iter_mut().zip(&mut count).zip(*column) {
            *sum += known(*value);
            *count += counts(*value);
        }
    }
    let mean = sum.into_iter().zip(count).map(|(sum, count)| sum / count);
    mean.collect()
}

#[cfg(test)]
#[path = "derive_tests.rs"]
pub(in crate::quantity) mod tests;
