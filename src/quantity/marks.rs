//! Stages and exclusions of a series, from the events that concern it.

use crate::lab::{EventEffect, Lab};
use crate::series::{Exclusion, Series, SeriesError, StageStart};
use std::sync::Arc;

/// The series under the lab's events.
///
/// A new stage begins at the first reading at or after its event; events between the
/// same two readings open one stage together. A reading that several events exclude
/// keeps the reason of the first. Events before the first reading or after the last
/// open no stage.
pub(super) fn apply(series: Series, lab: &Lab) -> Result<Series, SeriesError> {
    let mut exclusions: Vec<Exclusion> = Vec::new();
    let mut stages: Vec<StageStart> = Vec::new();
    for event in lab.events_for(series.cabinet(), series.characteristic()) {
        let first = series.at().partition_point(|at| *at < event.at);
        match &event.effect {
            EventEffect::Note => {}
            EventEffect::NewStage if first == 0 || first == series.len() => {}
            EventEffect::NewStage => match stages.last_mut() {
                Some(last) if last.index == first => {
                    last.what = format!("{}; {}", last.what, event.what).into();
                }
                _ => stages.push(StageStart {
                    index: first,
                    at: Some(event.at),
                    what: Arc::clone(&event.what),
                }),
            },
            EventEffect::Exclude { until, reason } => {
                let end = series.at().partition_point(|at| at < until);
                exclusions.extend((first..end).map(|index| Exclusion {
                    index,
                    reason: Arc::clone(reason),
                }));
            }
        }
    }
    if exclusions.is_empty() && stages.is_empty() {
        return Ok(series);
    }
    // A stable sort keeps the earlier event's reason in front.
    exclusions.sort_by_key(|e| e.index);
    exclusions.dedup_by_key(|e| e.index);
    series.with_marks(exclusions, stages)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::lab::Event;
    use crate::time::Instant;

    const DAY: i64 = 86_400;

    fn event(day: i64, what: &str, effect: EventEffect) -> Event {
        Event {
            at: Instant(day * DAY),
            cabinet: None,
            characteristic: None,
            kind: String::new(),
            what: what.into(),
            effect,
        }
    }

    fn exclude(day: i64, until: i64, reason: &str) -> Event {
        let effect = EventEffect::Exclude {
            until: Instant(until * DAY),
            reason: reason.into(),
        };
        event(day, reason, effect)
    }

    #[test]
    fn events_become_stages_and_exclusions() {
        let at = (0..10).map(|d| Instant(d * DAY + 3600)).collect();
        let series = Series::new("plover", Characteristic::Ph, "", at, vec![6.8; 10]).unwrap();
        let mut lab = Lab::bare("lab");
        let elsewhere = Event {
            cabinet: Some("knot".into()),
            ..event(5, "other cabinet", EventEffect::NewStage)
        };
        lab.events = vec![
            event(0, "before all", EventEffect::NewStage),
            exclude(2, 4, "probe"),
            exclude(3, 5, "lid"),
            event(6, "nozzle", EventEffect::NewStage),
            event(6, "salt lot", EventEffect::NewStage),
            elsewhere,
            event(8, "seen", EventEffect::Note),
            event(20, "after all", EventEffect::NewStage),
        ];
        let marked = apply(series, &lab).unwrap();
        let stages: Vec<(usize, &str)> = marked
            .stages()
            .iter()
            .map(|s| (s.index, &*s.what))
            .collect();
        assert_eq!(stages, [(0, ""), (6, "nozzle; salt lot")]);
        let excluded: Vec<(usize, &str)> = marked
            .exclusions()
            .iter()
            .map(|e| (e.index, &*e.reason))
            .collect();
        assert_eq!(excluded, [(2, "probe"), (3, "probe"), (4, "lid")]);
    }
}
