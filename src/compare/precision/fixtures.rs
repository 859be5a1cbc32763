//! Reads the published experiments for the tests.

use super::Table;
use crate::stats::reference::rows;
use std::collections::BTreeMap;

const GLUCOSE: &str = include_str!("../../../tests/reference/interlab-precision/glucose.csv");
const SULFUR: &str = include_str!("../../../tests/reference/interlab-precision/sulfur_in_coal.csv");
const CREOSOTE: &str = include_str!("../../../tests/reference/interlab-precision/creosote.csv");

/// The table of one level, by the name of its file; participants in the order of their
/// numbers, those in `left_out` (numbered from 1) not taken.
pub(super) fn level(data: &str, level: &str, left_out: &[usize]) -> Table {
    let text = match data {
        "glucose" => GLUCOSE,
        "sulfur_in_coal" => SULFUR,
        "creosote" => CREOSOTE,
        other => panic!("no data {other}"),
    };
    let mut by_participant: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for row in rows(text).iter().filter(|row| row[0] == level) {
        let participant = row[1].parse().unwrap();
        let result = row.last().unwrap().parse().unwrap();
        by_participant.entry(participant).or_default().push(result);
    }
    by_participant.retain(|participant, _| !left_out.contains(participant));
    Table::new(by_participant.into_values().collect()).unwrap()
}

/// A table of groups and results, as NIST and the e-Handbook give them.
pub(super) fn groups(text: &str) -> Table {
    let mut groups: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for row in rows(text) {
        let group = groups.entry(row[0].parse().unwrap()).or_default();
        group.push(row[1].parse().unwrap());
    }
    Table::new(groups.into_values().collect()).unwrap()
}

/// Glucose, material C, with the result that the published figures follow from.
pub(super) fn glucose_c_as_published() -> Table {
    let mut results = level("glucose", "C", &[]).results().to_vec();
    let wrong = results[3].iter_mut().find(|y| **y == 148.30).unwrap();
    *wrong = 138.30;
    Table::new(results).unwrap()
}
