//! Weak patterns: single ones in one characteristic, such as chance brings now and then.
//!
//! All of a cabinet make one finding, which says how often chance brings one about.

use super::cabinet::Family;
use super::observe::{Observation, patterns};
use super::{CabinetContext, Draft, Urgency, evidence};
use crate::signal::wording::list;
use crate::signal::{Direction, Signal};

/// Distance from the centre line, in sigma, from which one reading is no matter of chance.
const FAR_OUT: f64 = 5.0;
/// Multiple of the moving range's upper limit from which a jump is no matter of chance.
const FAR_JUMP: f64 = 2.0;
/// Readings after its first firing over which a signal that goes on is no matter of chance.
const LASTING: usize = 8;

/// Whether what was seen of one characteristic is a single pattern that chance may bring.
pub(super) fn is_weak(seen: &Observation<'_>) -> bool {
    seen.breaches.is_empty()
        && seen.review.drift.is_none()
        && seen.review.shift.is_none()
        && seen.saw_tooth().is_none()
        && patterns(&seen.signals) <= 1
        && !seen.signals.iter().any(|signal| is_strong(seen, signal))
}

/// Whether a signal is too much for chance on its own.
fn is_strong(seen: &Observation<'_>, signal: &Signal) -> bool {
    let chart = &seen.review.chart;
    let stage = chart
        .stages
        .iter()
        .find(|stage| stage.readings.contains(&signal.known));
    let Some(Ok(limits)) = stage.map(|stage| &stage.limits) else {
        return false;
    };
    let far = (signal.start..=signal.last).any(|index| {
        let value = chart.series.values().get(index);
        match signal.rule {
            "beyond-limit" | "far-reading" => {
                value.is_some_and(|v| (v - limits.centre).abs() > FAR_OUT * limits.sigma)
            }
            "range-beyond-limit" => {
                chart.moving_ranges.at(index) > FAR_JUMP * limits.moving_range_upper
            }
            _ => false,
        }
    });
    far || signal.last - signal.known >= LASTING
}

/// The finding about the weak patterns of a cabinet; `None` when there is none.
///
/// Each member of `groups` is one family of characteristics, most telling first.
pub(super) fn of_cabinet(
    cabinet: &CabinetContext<'_>,
    groups: &[Vec<&Observation<'_>>],
) -> Option<Draft> {
    let first = *groups.first()?.first()?;
    let told: Vec<String> = groups
        .iter()
        .filter_map(|group| {
            let seen = group.first()?;
            let signal = seen.signals.first()?;
            let at = seen.review.chart.series.at();
            let way = match signal.direction {
                Direction::Up => "high",
                Direction::Down => "low",
                Direction::Neither => "unsettled",
            };
            let days = match (at.get(signal.start), at.get(signal.last)) {
                (Some(&from), Some(&to)) => cabinet.days(from, to),
                _ => String::new(),
            };
            Some(format!("{} {way} ({days})", seen.characteristic().spoken()))
        })
        .collect();
    let (patterns, each) = match told.len() {
        1 => ("1 weak pattern".to_owned(), ", such as"),
        n => (format!("{n} weak patterns"), ", each of which"),
    };
    let often = match cabinet.checks_per_false_alarm {
        Some(checks) => format!(
            "{each} chance brings about once in {:.0} checks of a series",
            10.0 * (checks / 10.0).round()
        ),
        None => String::new(),
    };
    let single = match groups {
        [group] => group.len() == 1,
        _ => false,
    };
    Some(Draft {
        id: format!("{}/unusual/weak-patterns", cabinet.id),
        urgency: Urgency::Unusual,
        order: ORDER,
        cabinet: Some(cabinet.id.to_owned()),
        cabinet_name: Some(cabinet.name.to_owned()),
        characteristic: single.then(|| first.characteristic().clone()),
        sentence: format!(
            "{}: {patterns}{often}: {}. Watch whether it comes again.",
            cabinet.title(),
            list(&told)
        ),
        evidence: groups
            .iter()
            .flatten()
            .flat_map(|seen| evidence::of_signals(seen, &seen.signals))
            .collect(),
        look_at: Vec::new(),
        changes: Vec::new(),
    })
}

/// The series by what they measure, in their order.
pub(super) fn families<'a, 'b>(seen: &[&'b Observation<'a>]) -> Vec<Vec<&'b Observation<'a>>> {
    let mut families: Vec<(Family, Vec<&Observation<'_>>)> = Vec::new();
    for &observation in seen {
        let family = Family::of(observation.characteristic());
        match families.iter_mut().find(|(known, _)| *known == family) {
            Some((_, members)) => members.push(observation),
            None => families.push((family, vec![observation])),
        }
    }
    families.into_iter().map(|(_, members)| members).collect()
}

/// Place among unusual findings: after those with more behind them.
const ORDER: f64 = 2.0;
