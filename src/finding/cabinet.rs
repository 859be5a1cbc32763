//! The findings of one cabinet: one happening, one finding.
//!
//! Series belong together when they measure the same thing (near, far, rate and spread
//! of the catch; gravity and salt) or when what they did began at the same time. Wording is
//! in `sentences`, weak patterns in `weak`, records in `records`.

use super::copied::Copied;
use super::evidence;
use super::groups::groups;
use super::matching::Scene;
use super::observe::Observation;
use super::sentences::{self, Kind};
use super::{CabinetContext, Change, Draft, Urgency, records, together, weak};
use crate::characteristic::Characteristic;
use crate::review::SeriesReview;

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
/// `reviews` are its series, one a characteristic; `copied` the stretches of copied entries
/// ([`super::copied()`]). Signals and breaches that an event explains bring no finding of a
/// signal; explained breaches are told as such. What began together is told together;
/// what chance may have brought is told in one finding; signals that rest on copied
/// entries are told with those.
pub fn of_cabinet(
    cabinet: &CabinetContext<'_>,
    reviews: &[SeriesReview<'_>],
    copied: &[Copied],
) -> Vec<Draft> {
    let scene = Scene {
        copied,
        observed: reviews
            .iter()
            .map(|review| {
                (
                    review.chart.series.characteristic(),
                    Observation::of(review, copied),
                )
            })
            .collect(),
        events: &cabinet.events,
    };
    let mut drafts = Vec::new();
    let mut weak_groups = Vec::new();
    for group in groups(&scene) {
        let mut seen: Vec<&Observation<'_>> =
            group.iter().filter_map(|c| scene.observed.get(c)).collect();
        // The most urgent leads; of the equally urgent, causes before what follows from them.
        seen.sort_by_key(|o| (Kind::of(o), lead_order(o.characteristic())));
        let families = weak::families(&seen);
        if families.len() == 1 && seen.iter().all(|o| weak::is_weak(o)) {
            weak_groups.extend(families);
        } else {
            drafts.extend(happening(cabinet, &scene, &group, &seen));
        }
    }
    drafts.extend(weak::of_cabinet(cabinet, &weak_groups));
    drafts.extend(together::of_cabinet(cabinet));
    for observation in scene.observed.values() {
        drafts.extend(explained_breaches(cabinet, observation));
    }
    drafts.extend(records::of_cabinet(cabinet, &scene));
    drafts
}

/// The finding about one happening.
fn happening(
    cabinet: &CabinetContext<'_>,
    scene: &Scene<'_>,
    group: &[Characteristic],
    seen: &[&Observation<'_>],
) -> Option<Draft> {
    let lead = *seen.first()?;
    let kind = Kind::of(lead);
    let hints = scene.hints(group);
    let mut sentence = sentences::lead(cabinet, lead, kind);
    for more in [
        sentences::noted(cabinet, lead, kind),
        sentences::others(seen, hints.first()),
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

/// Place in a group when equally urgent: what usually causes before what follows from it,
/// the rate that the standard limits before its parts, the measured before the computed.
fn lead_order(characteristic: &Characteristic) -> (u8, Characteristic) {
    let place = match characteristic {
        Characteristic::TowerTemperature => 0,
        Characteristic::AirPressure => 1,
        Characteristic::CabinetTemperature => 2,
        Characteristic::CollectionRate => 3,
        Characteristic::CollectionNear => 4,
        Characteristic::CollectionFar => 5,
        Characteristic::CollectionSpread => 6,
        Characteristic::SpecificGravity => 7,
        Characteristic::SaltConcentration => 8,
        _ => 9,
    };
    (place, characteristic.clone())
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
        // Explained steps come after those that nobody can account for.
        Kind::Shift if lead.explained_shift().is_some() => 1.0,
        Kind::Drift | Kind::Shift => lead.level.map_or(0.0, |level| -(level.since.0 as f64)),
        // What has been so since long is less pressing than what is new.
        Kind::Saw => 1.0,
        Kind::Level | Kind::Unsettled => -(lead.signals.len() as f64),
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
        sentence: super::breach::explained_breach(cabinet, observation),
        evidence: evidence::of_breaches(cabinet, observation, &observation.explained_breaches),
        look_at: Vec::new(),
        changes: Vec::new(),
    })
}
