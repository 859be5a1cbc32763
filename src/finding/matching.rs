//! Which hints of the table hold for a cabinet.

use super::events::{EventKind, has_near};
use super::hints::{HINTS, Hint, When};
use super::observe::{Level, Observation, Pace};
use crate::characteristic::Characteristic;
use crate::lab::Event;
use crate::time::Instant;
use std::collections::BTreeMap;

/// Days within which changes of several characteristics count as one happening: a slow
/// change is dated to a week or two at best (common practice, no source).
const SAME_TIME_DAYS: f64 = 14.0;

/// The series of one cabinet, as hints see them.
pub(super) struct Scene<'a> {
    pub(super) observed: BTreeMap<&'a Characteristic, Observation<'a>>,
    pub(super) events: &'a [&'a Event],
}

/// A hint that holds, with the moving series it rests on.
pub(super) struct Matched {
    pub(super) hint: &'static Hint,
    /// In report order, without repetition.
    pub(super) cited: Vec<Characteristic>,
}

impl Scene<'_> {
    /// The hints that hold, in the order of the table; one whose series an earlier one
    /// covers is left out.
    pub(super) fn hints(&self) -> Vec<Matched> {
        let mut matched: Vec<Matched> = Vec::new();
        for hint in HINTS {
            let mut cited = Vec::new();
            if !hint.when.iter().all(|when| self.holds(when, &mut cited)) {
                continue;
            }
            cited.sort_unstable();
            cited.dedup();
            if cited.is_empty() || !self.together(&cited) {
                continue;
            }
            let covered = |m: &Matched| cited.iter().all(|c| m.cited.contains(c));
            if !matched.iter().any(covered) {
                matched.push(Matched { hint, cited });
            }
        }
        matched
    }

    fn level(&self, characteristic: &Characteristic) -> Option<Level> {
        self.observed.get(characteristic).and_then(|o| o.level)
    }

    /// Whether a condition holds; the series whose movement it rests on join `cited`.
    fn holds(&self, when: &When, cited: &mut Vec<Characteristic>) -> bool {
        let (characteristic, holds) = match when {
            When::Falls(c) => (c, self.level(c).is_some_and(|l| !l.up)),
            When::Rises(c) => (c, self.level(c).is_some_and(|l| l.up)),
            When::Moves(c) => (c, self.level(c).is_some()),
            When::Steps(c) => (c, self.level(c).is_some_and(|l| self.stepped(c, l))),
            When::Saws(c) => (c, self.observed.get(c).is_some_and(|o| o.saws)),
            When::Still(c) => return self.observed.get(c).is_some_and(|o| o.still),
            When::NotJudged(c) => {
                return self
                    .observed
                    .get(c)
                    .is_none_or(|o| !o.still && !o.happened());
            }
            When::Any(any) => {
                // Every one that holds is cited, so all are looked at.
                let mut held = false;
                for one in *any {
                    held |= self.holds(one, cited);
                }
                return held;
            }
            When::Event(kind) => {
                return cited.iter().any(|c| {
                    self.level(c)
                        .is_some_and(|level| has_near(self.events, *kind, c, level.since))
                });
            }
            When::AllElseStill(but) => {
                return self
                    .observed
                    .iter()
                    .all(|(c, o)| *c == but || !o.happened());
            }
        };
        if holds {
            cited.push(characteristic.clone());
        }
        holds
    }

    /// A step with evidence, or a level that left its centre line at a fill or new batch.
    fn stepped(&self, characteristic: &Characteristic, level: Level) -> bool {
        match level.pace {
            Pace::Step => true,
            Pace::Slow => false,
            Pace::Off => [EventKind::Fill, EventKind::SaltOrBatch, EventKind::Meter]
                .into_iter()
                .any(|kind| has_near(self.events, kind, characteristic, level.since)),
        }
    }

    /// Whether the changes began at about the same time.
    fn together(&self, cited: &[Characteristic]) -> bool {
        let since: Vec<Instant> = cited
            .iter()
            .filter_map(|c| self.observed.get(c).and_then(Observation::since))
            .collect();
        match (since.iter().min(), since.iter().max()) {
            (Some(first), Some(last)) => last.days_since(*first) <= SAME_TIME_DAYS,
            _ => false,
        }
    }
}
