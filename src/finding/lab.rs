//! Findings about the whole lab: cabinets that changed together, input not used.

use super::cabinet::Family;
use super::{Change, Draft, LabContext, Urgency};
use crate::characteristic::Characteristic;
use crate::issue::Effect;
use crate::report::wire::Evidence;
use crate::signal::wording::{count, day, days, list};
use crate::time::Instant;
use chrono::Datelike;
use std::collections::{BTreeMap, BTreeSet};

/// Days within which cabinets count as having changed together.
const TOGETHER_DAYS: f64 = 3.0;

/// Least share of the lab's cabinets: among hundreds, two always coincide by chance
/// (common practice, no source).
const LEAST_SHARE: f64 = 0.1;

/// Cabinets named in a sentence; the rest are counted.
const CABINETS_NAMED: usize = 6;

/// A change and the cabinet it belongs to.
struct Seen<'a> {
    cabinet: &'a str,
    name: &'a str,
    change: &'a Change,
}

/// The findings of the lab, given those of its cabinets.
///
/// Changes of the same kind and direction that began within three days in at least two
/// cabinets, and in at least a tenth of them, suggest a cause they share.
pub fn of_lab(lab: &LabContext<'_>, drafts: &[Draft]) -> Vec<Draft> {
    let mut kinds: BTreeMap<(Family, bool), Vec<Seen<'_>>> = BTreeMap::new();
    for draft in drafts {
        let (Some(cabinet), Some(name)) = (&draft.cabinet, &draft.cabinet_name) else {
            continue;
        };
        for change in &draft.changes {
            // The spread has no direction in common with the catch itself.
            if change.characteristic == Characteristic::CollectionSpread {
                continue;
            }
            let family = Family::of(&change.characteristic);
            kinds.entry((family, change.up)).or_default().push(Seen {
                cabinet,
                name,
                change,
            });
        }
    }
    let mut found = Vec::new();
    for ((family, up), mut seen) in kinds {
        seen.sort_by_key(|s| (s.change.since, s.cabinet));
        let mut rest = seen.as_slice();
        while let Some(first) = rest.first() {
            let start = first.change.since;
            let end = rest.partition_point(|s| s.change.since.days_since(start) <= TOGETHER_DAYS);
            let (together, later) = rest.split_at(end);
            match shared(lab, &family, up, together) {
                Some(draft) => {
                    found.push(draft);
                    rest = later;
                }
                None => rest = rest.get(1..).unwrap_or_default(),
            }
        }
    }
    found.extend(not_used(lab));
    found
}

/// The finding about cabinets that changed together, when they are enough.
fn shared(lab: &LabContext<'_>, family: &Family, up: bool, seen: &[Seen<'_>]) -> Option<Draft> {
    let cabinets: BTreeMap<&str, &str> = seen.iter().map(|s| (s.cabinet, s.name)).collect();
    let enough = (LEAST_SHARE * lab.cabinets as f64).max(2.0);
    if (cabinets.len() as f64) < enough {
        return None;
    }
    let (from, to) = (seen.first()?.change.since, seen.last()?.change.since);
    let names: Vec<&str> = cabinets.values().copied().collect();
    let named = if names.len() <= CABINETS_NAMED {
        list(&names)
    } else {
        let shown: Vec<&str> = names.iter().take(CABINETS_NAMED).copied().collect();
        format!(
            "{} and {} more",
            shown.join(", "),
            names.len() - CABINETS_NAMED
        )
    };
    let about: BTreeSet<&Characteristic> = seen.iter().map(|s| &s.change.characteristic).collect();
    let (spoken, look) = shared_cause(family);
    let way = if up { "up" } else { "down" };
    let dated = dated(lab, from, to);
    let evidence = seen
        .iter()
        .map(|s| Evidence {
            says: format!(
                "{}: {} {way} since about {}",
                s.name,
                s.change.characteristic.spoken(),
                lab_day(lab, s.change.since)
            ),
            signal: None,
            chart: Some(format!("{}/{}", s.cabinet, s.change.characteristic.id())),
        })
        .collect();
    Some(Draft {
        id: format!(
            "lab/shared-change/{}-{way}/{}",
            about.first()?.id(),
            lab.zone.date(from)
        ),
        urgency: Urgency::Changed,
        order: -(cabinets.len() as f64),
        cabinet: None,
        cabinet_name: None,
        characteristic: match about.into_iter().collect::<Vec<_>>().as_slice() {
            [one] => Some((*one).clone()),
            _ => None,
        },
        sentence: format!(
            "{spoken} went {way} in {} at about the same time ({dated}): {named}. \
             A cause they share is likely: look at {look} first.",
            count(cabinets.len(), "cabinet")
        ),
        evidence,
        look_at: vec![format!(
            "{}{} (common practice)",
            look[..1].to_uppercase(),
            &look[1..]
        )],
        changes: Vec::new(),
    })
}

/// What is spoken of, and what cabinets have in common that moves it.
fn shared_cause(family: &Family) -> (String, &'static str) {
    match family {
        Family::Catch => (
            "The catch".to_owned(),
            "the common air supply, and the cylinder and funnels that are used",
        ),
        Family::Salt => (
            "The density".to_owned(),
            "the hydrometer, the salt lot and the water",
        ),
        Family::Alone(characteristic) => {
            let look = match characteristic {
                Characteristic::Ph => "the pH meter and its buffers, the salt lot and the water",
                Characteristic::AirPressure => "the compressor, its filter and the air line",
                Characteristic::CabinetTemperature => {
                    "the room's temperature and the thermometer that is used"
                }
                Characteristic::TowerTemperature => {
                    "the water supply, the room's temperature and the thermometer that is used"
                }
                Characteristic::CouponMassLoss => "the coupon lot and its cleaning",
                _ => "the instrument and the supplies that they share",
            };
            (format!("The {}", characteristic.spoken()), look)
        }
    }
}

fn lab_day(lab: &LabContext<'_>, at: Instant) -> String {
    day(lab.zone.date(at), lab.period.1.year())
}

fn dated(lab: &LabContext<'_>, from: Instant, to: Instant) -> String {
    days(lab.zone.date(from), lab.zone.date(to), lab.period.1.year())
}

/// Input that was not used as written.
fn not_used(lab: &LabContext<'_>) -> Option<Draft> {
    let of = |effect: Effect| -> u64 {
        let issues = lab.issues.iter().filter(|issue| issue.effect == effect);
        issues.map(|issue| issue.count).sum()
    };
    let parts: Vec<String> = [
        (Effect::FileUnreadable, "file or sheet", "files or sheets"),
        (Effect::ColumnLeftOut, "column", "columns"),
        (Effect::RowRejected, "row", "rows"),
        (Effect::CellRejected, "cell", "cells"),
    ]
    .into_iter()
    .filter_map(|(effect, one, many)| match of(effect) {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    })
    .collect();
    if parts.is_empty() {
        return None;
    }
    let mut by_path: BTreeMap<&str, u64> = BTreeMap::new();
    for issue in lab.issues.iter().filter(|i| i.effect != Effect::Kept) {
        *by_path.entry(&issue.place.path).or_default() += issue.count;
    }
    let be = if parts.len() == 1 && parts.iter().all(|p| p.starts_with("1 ")) {
        "was"
    } else {
        "were"
    };
    Some(Draft {
        id: "lab/records/not-used".to_owned(),
        urgency: Urgency::Records,
        order: -1.0,
        cabinet: None,
        cabinet_name: None,
        characteristic: None,
        sentence: format!(
            "Of the input, {} {be} not used; the list of issues says where and what to do.",
            list(&parts)
        ),
        evidence: by_path
            .into_iter()
            .map(|(path, n)| Evidence {
                says: format!("{path}: {n}"),
                signal: None,
                chart: None,
            })
            .collect(),
        look_at: Vec::new(),
        changes: Vec::new(),
    })
}

#[cfg(test)]
#[path = "lab_tests.rs"]
mod tests;
