//! The findings of one cabinet: series that moved together make one finding.
//!
//! Series belong together when they measure the same thing (near, far, rate and spread
//! of the catch; gravity and salt) or when a hint rests on both. Wording is in
//! `sentences`, records in `records`.

use super::evidence;
use super::matching::{Matched, Scene};
use super::observe::Observation;
use super::sentences::{self, Kind};
use super::{CabinetContext, Change, Draft, Urgency, records};
use crate::characteristic::Characteristic;
use crate::review::SeriesReview;
use std::collections::BTreeMap;

/// What a characteristic is a measure of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Family {
    /// The catch of fog.
    Catch,
    /// Salt in the caught solution.
    Salt,
    /// Anything else stands alone.
    Alone(Characteristic),
}

impl Family {
    pub(super) fn of(characteristic: &Characteristic) -> Family {
        match characteristic {
            Characteristic::CollectionNear
            | Characteristic::CollectionFar
            | Characteristic::CollectionRate
            | Characteristic::CollectionSpread => Family::Catch,
            Characteristic::SpecificGravity | Characteristic::SaltConcentration => Family::Salt,
            other => Family::Alone(other.clone()),
        }
    }
}

/// The findings of a cabinet, in no particular order; [`super::rank`] orders them.
///
/// `reviews` are its series, one a characteristic. Signals and breaches that an event
/// explains bring no finding of a signal; explained breaches are told as such.
pub fn of_cabinet(cabinet: &CabinetContext<'_>, reviews: &[SeriesReview<'_>]) -> Vec<Draft> {
    let scene = Scene {
        observed: reviews
            .iter()
            .map(|review| {
                (
                    review.chart.series.characteristic(),
                    Observation::of(review),
                )
            })
            .collect(),
        events: &cabinet.events,
    };
    let mut drafts = Vec::new();
    let happened = scene.observed.values().any(Observation::happened);
    if happened {
        let hints = scene.hints();
        for group in groups(&scene, &hints) {
            drafts.extend(happening(cabinet, &scene, &group, &hints));
        }
    }
    for observation in scene.observed.values() {
        drafts.extend(explained_breaches(cabinet, observation));
    }
    drafts.extend(records::of_cabinet(cabinet, &scene));
    drafts
}

/// The characteristics that something happened to, grouped by happening.
fn groups(scene: &Scene<'_>, hints: &[Matched]) -> Vec<Vec<Characteristic>> {
    // A group number for each family; a hint over several families makes them one.
    let mut group_of: BTreeMap<Family, usize> = BTreeMap::new();
    for (characteristic, observation) in &scene.observed {
        if observation.happened() {
            let next = group_of.len();
            group_of.entry(Family::of(characteristic)).or_insert(next);
        }
    }
    for hint in hints {
        let joined: Vec<usize> = hint
            .cited
            .iter()
            .filter_map(|c| group_of.get(&Family::of(c)).copied())
            .collect();
        if let Some(&into) = joined.iter().min() {
            for group in group_of.values_mut() {
                if joined.contains(group) {
                    *group = into;
                }
            }
        }
    }
    let mut groups: BTreeMap<usize, Vec<Characteristic>> = BTreeMap::new();
    for (characteristic, observation) in &scene.observed {
        if observation.happened()
            && let Some(&group) = group_of.get(&Family::of(characteristic))
        {
            groups
                .entry(group)
                .or_default()
                .push((*characteristic).clone());
        }
    }
    groups.into_values().collect()
}

/// The finding about one happening.
fn happening(
    cabinet: &CabinetContext<'_>,
    scene: &Scene<'_>,
    group: &[Characteristic],
    hints: &[Matched],
) -> Option<Draft> {
    let mut seen: Vec<&Observation<'_>> =
        group.iter().filter_map(|c| scene.observed.get(c)).collect();
    // The most urgent leads; of the catch, the rate that the standard limits.
    seen.sort_by_key(|o| (Kind::of(o), lead_order(o.characteristic())));
    let lead = *seen.first()?;
    let kind = Kind::of(lead);
    let hints: Vec<&Matched> = hints
        .iter()
        .filter(|m| m.cited.iter().all(|c| group.contains(c)))
        .collect();

    let mut sentence = sentences::lead(cabinet, lead, kind);
    // What the first hint names need not be told twice.
    let told = hints.first().map_or(&[][..], |m| &m.cited);
    for more in [
        sentences::noted(cabinet, lead, kind),
        sentences::others(&seen, told),
        hints.first().map(|m| sentences::hint(scene, m.hint)),
    ]
    .into_iter()
    .flatten()
    {
        sentence.push(' ');
        sentence.push_str(&more);
    }
    let mut evidence: Vec<_> = seen
        .iter()
        .flat_map(|o| evidence::of_series(cabinet, o))
        .collect();
    if let Some(since) = lead.since() {
        evidence.extend(evidence::of_events(cabinet, lead, since));
    }
    let changes = seen
        .iter()
        .filter_map(|o| {
            o.level.map(|level| Change {
                characteristic: o.characteristic().clone(),
                up: level.up,
                since: level.since,
            })
        })
        .collect();
    let urgency = kind.urgency();
    Some(Draft {
        id: format!(
            "{}/{}/{}",
            cabinet.id,
            urgency.id(),
            lead.characteristic().id()
        ),
        urgency,
        order: order(lead, kind),
        cabinet: Some(cabinet.id.to_owned()),
        cabinet_name: Some(cabinet.name.to_owned()),
        characteristic: (seen.len() == 1).then(|| lead.characteristic().clone()),
        sentence,
        evidence,
        look_at: sentences::look_at(&hints),
        changes,
    })
}

/// Place in a group when equally urgent: the catch's rate before its parts.
fn lead_order(characteristic: &Characteristic) -> (u8, Characteristic) {
    let first = u8::from(*characteristic != Characteristic::CollectionRate);
    (first, characteristic.clone())
}

/// Place among findings of the same urgency.
fn order(lead: &Observation<'_>, kind: Kind) -> f64 {
    match kind {
        Kind::Breach => -(lead.breaches.len() as f64),
        Kind::Forecast => lead
            .review
            .drift
            .as_ref()
            .and_then(|drift| drift.breach.as_ref())
            .map_or(f64::MAX, |breach| breach.likely.0 as f64),
        Kind::Drift | Kind::Shift => lead.level.map_or(0.0, |level| -(level.since.0 as f64)),
        Kind::Level | Kind::Saw | Kind::Unsettled => -(lead.signals.len() as f64),
    }
}

/// Breaches that an event explains: still outside the window, so still told.
fn explained_breaches(
    cabinet: &CabinetContext<'_>,
    observation: &Observation<'_>,
) -> Option<Draft> {
    if observation.explained_breaches.is_empty() {
        return None;
    }
    let characteristic = observation.characteristic();
    Some(Draft {
        id: format!("{}/explained-breach/{}", cabinet.id, characteristic.id()),
        urgency: Urgency::Changed,
        order: f64::MIN,
        cabinet: Some(cabinet.id.to_owned()),
        cabinet_name: Some(cabinet.name.to_owned()),
        characteristic: Some(characteristic.clone()),
        sentence: sentences::explained_breach(cabinet, observation),
        evidence: evidence::of_breaches(cabinet, observation, &observation.explained_breaches),
        look_at: Vec::new(),
        changes: Vec::new(),
    })
}
