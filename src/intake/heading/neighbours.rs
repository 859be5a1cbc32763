//! What the columns of one row tell about each other.

use super::row::Column;
use crate::intake::checks::{Collector, Measure};
use crate::intake::role::Role;
use crate::issue::shown;
use crate::stats::quantile::median_of_sorted;

/// Share by which the middle values of one quantity in two units may differ: either may
/// be rounded to its own whole numbers (98 kPa, 14 psi).
const SAME_VALUE: f64 = 0.03;

/// Settles what one heading leaves open and its neighbours do not.
pub(super) fn settle(columns: &mut [Column]) {
    let has = |columns: &[Column], role: &Role| {
        columns
            .iter()
            .any(|c| c.reading.role.as_ref() == Some(role))
    };
    let tower = has(columns, &Role::TowerTemperature);
    let cabinet_temperature = has(columns, &Role::CabinetTemperature);
    let dated = has(columns, &Role::Date) || has(columns, &Role::DateTime);
    let collectors = columns
        .iter()
        .any(|c| matches!(c.reading.role, Some(Role::Collection(_))));
    let bare_temperatures = count(columns, &BARE_TEMPERATURE);
    let bare_catches = columns.iter().filter(|c| is_bare_catch(c)).count();
    let cabinets = columns
        .iter()
        .filter(|c| c.reading.role == Some(Role::Cabinet))
        .count();

    for column in columns.iter_mut().filter(|c| !c.ruled) {
        if column.reading.alternatives == BARE_TEMPERATURE
            && tower
            && !cabinet_temperature
            && bare_temperatures == 1
        {
            decide(
                column,
                Role::CabinetTemperature,
                "it is a temperature, and another column is the tower's",
            );
        } else if column.reading.alternatives == [Role::Date, Role::Weekday] {
            if dated {
                decide(
                    column,
                    Role::Weekday,
                    "it names a day, and another column is the date",
                );
            } else {
                decide(
                    column,
                    Role::Date,
                    "it names a day, and no other column is a date",
                );
            }
        } else if is_bare_catch(column) && !collectors && bare_catches == 1 {
            decide(
                column,
                Role::Collection(Collector::Mean),
                "it is the only catch of the row, so it stands for all collectors",
            );
        } else if column.reading.role == Some(Role::Cabinet)
            && cabinets > 1
            && column
                .samples
                .is_some_and(|s| s.values.iter().any(|v| v.fract() != 0.0))
        {
            // `Cabinet` and `Chamber` side by side, the second over 35.1, 34.9, …
            column.reading.role = None;
            column.reading.alternatives = vec![Role::CabinetTemperature, Role::Cabinet];
            column.reading.why = "it may name the cabinet or hold its temperature".into();
        }
    }
}

const BARE_TEMPERATURE: [Role; 2] = [Role::CabinetTemperature, Role::TowerTemperature];

fn count(columns: &[Column], alternatives: &[Role]) -> usize {
    columns
        .iter()
        .filter(|c| c.reading.alternatives == alternatives)
        .count()
}

fn is_bare_catch(column: &Column) -> bool {
    column.reading.alternatives.first() == Some(&Role::Collection(Collector::Mean))
        && !column.reading.alternatives.contains(&Role::Ignore)
}

fn decide(column: &mut Column, role: Role, why: &str) {
    column.reading.role = Some(role);
    column.reading.alternatives.clear();
    why.clone_into(&mut column.reading.why);
}

/// Whether several columns may share a role.
fn may_repeat(role: &Role) -> bool {
    matches!(
        role,
        Role::Ignore | Role::Operator | Role::Remarks | Role::Weekday | Role::Sequence
    )
}

/// Parts columns that claim the same role: `lab.toml` wins; the same quantity in a second
/// unit is set aside; otherwise nobody gets it.
pub(super) fn part_claims(columns: &mut [Column]) {
    for index in 0..columns.len() {
        let Some(role) = columns
            .get(index)
            .and_then(|c| c.reading.role.clone())
            .filter(|role| !may_repeat(role))
        else {
            continue;
        };
        let rivals: Vec<usize> = columns
            .iter()
            .enumerate()
            .filter(|(_, c)| c.problem.is_none() && c.reading.role.as_ref() == Some(&role))
            .map(|(i, _)| i)
            .collect();
        if rivals.len() < 2 {
            continue;
        }
        let ruled: Vec<usize> = rivals
            .iter()
            .copied()
            .filter(|i| columns.get(*i).is_some_and(|c| c.ruled))
            .collect();
        if let [winner] = ruled.as_slice() {
            let why = format!(
                "lab.toml names the column {} for {}",
                name_of(columns, *winner),
                role.spoken()
            );
            set_aside(columns, &rivals, *winner, &why);
        } else if let Some(winner) = same_in_other_units(columns, &rivals) {
            let why = format!(
                "the column {} holds {} in another unit",
                name_of(columns, winner),
                role.spoken()
            );
            set_aside(columns, &rivals, winner, &why);
        } else {
            let names: Vec<String> = rivals.iter().map(|i| name_of(columns, *i)).collect();
            let problem = format!(
                "the columns {} claim to be {}, and nothing tells them apart",
                names.join(" and "),
                role.spoken()
            );
            for rival in rivals {
                if let Some(column) = columns.get_mut(rival) {
                    column.refuse(problem.clone());
                }
            }
        }
    }
}

fn name_of(columns: &[Column], index: usize) -> String {
    columns
        .get(index)
        .map(|c| format!("“{}”", shown(c.heading)))
        .unwrap_or_default()
}

/// The rival to keep, when all state units and no two the same one: the first, and of
/// catches the one stated furthest (a rate needs no period from elsewhere).
fn same_in_other_units(columns: &[Column], rivals: &[usize]) -> Option<usize> {
    let mut stated = rivals
        .iter()
        .map(|i| Some((columns.get(*i)?.reading.unit?, *i)))
        .collect::<Option<Vec<_>>>()?;
    stated.sort_unstable();
    let different = stated.windows(2).all(|pair| match pair {
        [(a, _), (b, _)] => a != b,
        _ => true,
    });
    let catch = rivals
        .first()
        .and_then(|i| columns.get(*i))
        .is_some_and(|c| matches!(c.reading.role, Some(Role::Collection(_))));
    let kept = if catch {
        stated.last().map(|(_, index)| *index)
    } else {
        rivals.first().copied()
    };
    kept.filter(|_| different && values_agree(columns, rivals))
}

/// Whether the values of columns that claim to be one quantity are the same once
/// converted; columns whose values cannot be compared are given the benefit of the doubt.
///
/// A barometer's 1013 hPa beside a gauge's 0.098 MPa is another quantity, not another unit.
fn values_agree(columns: &[Column], rivals: &[usize]) -> bool {
    let mut seen: Vec<(Measure, f64)> = Vec::with_capacity(rivals.len());
    for column in rivals.iter().filter_map(|i| columns.get(*i)) {
        let (Some(role), Some(unit), Some(samples)) =
            (&column.reading.role, column.reading.unit, column.samples)
        else {
            continue;
        };
        let Some(Ok((measure, conversion))) = role.measure(unit) else {
            continue;
        };
        let mut values: Vec<f64> = samples
            .values
            .iter()
            .map(|v| conversion.apply(*v))
            .collect();
        if values.is_empty() {
            continue;
        }
        values.sort_unstable_by(f64::total_cmp);
        if let Some(middle) = median_of_sorted(&values) {
            seen.push((measure, middle));
        }
    }
    seen.iter().all(|(measure, middle)| {
        seen.iter()
            .filter(|(other, _)| other == measure)
            .all(|(_, value)| (value - middle).abs() <= SAME_VALUE * middle.abs().max(1.0))
    })
}

/// Sets all rivals but the winner aside.
fn set_aside(columns: &mut [Column], rivals: &[usize], winner: usize, why: &str) {
    for rival in rivals.iter().filter(|i| **i != winner) {
        if let Some(column) = columns.get_mut(*rival) {
            decide(column, Role::Ignore, why);
        }
    }
}
