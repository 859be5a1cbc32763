//! The readings of every cabinet in the days compared, by characteristic.
//!
//! Excluded readings are left out as they are from control limits. Levels are computed
//! here, side by side; nothing is compared yet.

use super::entrants::Field;
use crate::characteristic::Characteristic;
use crate::chart;
use crate::compare::level::{CarryOver, Level, LevelOptions, NoLevel, level};
use crate::issue::{Effect, Issue, Place};
use crate::progress::Progress;
use crate::quantity::conformance;
use crate::quantity::derive::derive;
use crate::review::Period;
use crate::series::Series;
use crate::time::{Instant, Zone};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::ops::Range;

/// One cabinet in one characteristic.
pub(super) struct Member {
    /// Index of the cabinet.
    pub(super) cabinet: usize,
    /// All its readings.
    series: Series,
    /// Readings of the days compared that are not excluded.
    pub(super) values: Vec<f64>,
    /// Their level, or why there is none.
    pub(super) level: Result<Level, NoLevel>,
    /// Readings outside the conformance limits, and readings judged.
    pub(super) outside: Option<(u64, u64)>,
    /// One letter a day, see [`crate::report::wire::Participant::calendar`].
    pub(super) calendar: String,
}

/// All cabinets in one characteristic.
pub(super) struct Measured {
    pub(super) characteristic: Characteristic,
    pub(super) unit: String,
    pub(super) members: Vec<Member>,
}

/// What the cabinets measured, in report order, and what stood in the way.
pub(super) struct Everything {
    pub(super) measured: Vec<Measured>,
    /// By lab.
    pub(super) issues: Vec<(usize, Issue)>,
}

/// Cabinets up to which each is drawn on its own.
pub(super) const MOST_DRAWN: usize = 60;

/// The readings of all cabinets with logs in `period`.
pub(super) fn everything(field: &Field<'_>, period: Period, progress: &dyn Progress) -> Everything {
    progress.begin("comparing", field.cabinets.len() as u64);
    let drawn = field.cabinets.len() <= MOST_DRAWN;
    let of_cabinets: Vec<OfCabinet> = (0..field.cabinets.len())
        .into_par_iter()
        .filter_map(|cabinet| {
            let found = of_cabinet(field, cabinet, period, drawn);
            progress.advance(1);
            found
        })
        .collect();
    progress.end();
    let mut issues = Vec::new();
    let mut by_characteristic: BTreeMap<Characteristic, Measured> = BTreeMap::new();
    for of_cabinet in of_cabinets {
        issues.extend(of_cabinet.issues);
        for member in of_cabinet.members {
            let characteristic = member.series.characteristic().clone();
            let unit = member.series.unit().to_owned();
            let measured = by_characteristic
                .entry(characteristic.clone())
                .or_insert_with(|| Measured {
                    characteristic,
                    unit,
                    members: Vec::new(),
                });
            if measured.unit == member.series.unit() {
                measured.members.push(member);
            } else {
                let lab = field.cabinets[member.cabinet].lab;
                issues.push((lab, other_unit(field, &member, measured)));
            }
        }
    }
    Everything {
        measured: by_characteristic.into_values().collect(),
        issues,
    }
}

struct OfCabinet {
    members: Vec<Member>,
    issues: Vec<(usize, Issue)>,
}

fn of_cabinet(field: &Field<'_>, cabinet: usize, period: Period, drawn: bool) -> Option<OfCabinet> {
    let entry = field.cabinets.get(cabinet)?;
    let entrant = field.labs.get(entry.lab)?.entrant?;
    let derived = derive(&entrant.intake.checks, entry.checks?, entrant.lab);
    let zone = entrant.lab.zone;
    let members = derived
        .series
        .into_iter()
        .map(|series| {
            let range = period.readings(&series, zone);
            let outcome =
                conformance::judge(&series, range.clone(), &derived.companions, entrant.lab);
            let breaches = outcome.as_ref().map(|o| o.breaches.iter().map(|b| b.index));
            let calendar = match drawn {
                true => calendar(&series, zone, range.clone(), period, breaches),
                false => String::new(),
            };
            let (days, values) = usable(&series, range);
            Member {
                cabinet,
                level: level(&days, &values, options(&values)),
                outside: outcome.map(|o| (o.breaches.len() as u64, o.checked as u64)),
                calendar,
                values,
                series,
            }
        })
        .collect();
    let issues = derived.issues.into_iter().map(|i| (entry.lab, i)).collect();
    Some(OfCabinet { members, issues })
}

impl Member {
    /// The level of the readings from `span`, which may lie outside the days compared.
    pub(super) fn level_during(&self, span: Range<Instant>) -> Result<Level, NoLevel> {
        let at = self.series.at();
        let first = at.partition_point(|&t| t < span.start);
        let end = at.partition_point(|&t| t < span.end);
        let (days, values) = usable(&self.series, first..end.max(first));
        level(&days, &values, options(&values))
    }
}

/// Times in days from the first reading, and values, of the readings not excluded.
fn usable(series: &Series, range: Range<usize>) -> (Vec<f64>, Vec<f64>) {
    let kept = || range.clone().filter(|&i| !series.is_excluded(i));
    let Some(&first) = kept().next().and_then(|i| series.at().get(i)) else {
        return (Vec::new(), Vec::new());
    };
    kept()
        .map(|i| (series.at()[i].days_since(first), series.values()[i]))
        .unzip()
}

fn options(values: &[f64]) -> LevelOptions {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    LevelOptions {
        resolution: chart::resolution::common_step(&sorted),
        carry_over: CarryOver::Estimated,
    }
}

/// One letter a day of the period.
fn calendar(
    series: &Series,
    zone: Zone,
    range: Range<usize>,
    period: Period,
    breaches: Option<impl Iterator<Item = usize>>,
) -> String {
    let days = usize::try_from((period.to() - period.from()).num_days() + 1).unwrap_or(0);
    let mut letters = vec![b'.'; days];
    let inside = if breaches.is_some() { b'i' } else { b'?' };
    let mut mark = |index: usize, letter: u8| {
        let date = series.at().get(index).map(|&at| zone.date(at));
        let day = date.and_then(|d| usize::try_from((d - period.from()).num_days()).ok());
        if let Some(slot) = day.and_then(|day| letters.get_mut(day)) {
            *slot = letter;
        }
    };
    for index in range.filter(|&i| !series.is_excluded(i)) {
        mark(index, inside);
    }
    for index in breaches.into_iter().flatten() {
        mark(index, b'o');
    }
    letters.into_iter().map(char::from).collect()
}

fn other_unit(field: &Field<'_>, member: &Member, measured: &Measured) -> Issue {
    Issue {
        place: Place {
            path: "lab.toml".to_owned(),
            ..Place::default()
        },
        found: Some(member.series.unit().to_owned()),
        problem: format!(
            "{} of {} is not compared: its unit is \"{}\", that of the others is \"{}\".",
            measured.characteristic.spoken(),
            field.cabinets[member.cabinet].name,
            member.series.unit(),
            measured.unit
        ),
        hint: Some("Give the characteristic the same unit in both labs.".to_owned()),
        effect: Effect::ColumnLeftOut,
        count: 1,
    }
}
