//! Which hints of the table hold for a cabinet.

use super::copied::Copied;
use super::events::{EventKind, has_near};
use super::hints::{HINTS, Hint, When};
use super::observe::{Level, Observation, Pace};
use crate::characteristic::Characteristic;
use crate::lab::Event;
use std::collections::BTreeMap;

/// The series of one cabinet, as hints see them.
pub(super) struct Scene<'a> {
    /// Stretches of copied entries.
    pub(super) copied: &'a [Copied],
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
    /// The hints that hold for the happening that `group` shares, in the order of the
    /// table; one whose series an earlier one covers is left out.
    pub(super) fn hints(&self, group: &[Characteristic]) -> Vec<Matched> {
        let happening = Happening { scene: self, group };
        let mut matched: Vec<Matched> = Vec::new();
        for hint in HINTS {
            let mut cited = Vec::new();
            if !hint
                .when
                .iter()
                .all(|when| happening.holds(when, &mut cited))
            {
                continue;
            }
            cited.sort_unstable();
            cited.dedup();
            let covered = |m: &Matched| cited.iter().all(|c| m.cited.contains(c));
            if !cited.is_empty() && !matched.iter().any(covered) {
                matched.push(Matched { hint, cited });
            }
        }
        matched
    }
}

/// A happening and the cabinet around it.
struct Happening<'s> {
    scene: &'s Scene<'s>,
    group: &'s [Characteristic],
}

impl Happening<'_> {
    fn observed(&self, characteristic: &Characteristic) -> Option<&Observation<'_>> {
        self.scene.observed.get(characteristic)
    }

    fn level(&self, characteristic: &Characteristic) -> Option<Level> {
        let observed = self.observed(characteristic)?;
        self.group
            .contains(characteristic)
            .then_some(observed.level)?
    }

    /// Whether a condition holds; the series whose movement it rests on join `cited`.
    fn holds(&self, when: &When, cited: &mut Vec<Characteristic>) -> bool {
        let (characteristic, holds) = match when {
            When::Falls(c) => (c, self.level(c).is_some_and(|l| !l.up)),
            When::Rises(c) => (c, self.level(c).is_some_and(|l| l.up)),
            When::Moves(c) => (c, self.level(c).is_some()),
            When::Steps(c) => (c, self.level(c).is_some_and(|l| self.stepped(c, l))),
            When::Saws(c) => (
                c,
                self.group.contains(c) && self.observed(c).is_some_and(|o| o.saws),
            ),
            When::Still(c) => return self.observed(c).is_some_and(|o| o.still),
            When::NotJudged(c) => {
                return self.observed(c).is_none_or(|o| !o.still && !o.happened());
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
                        .is_some_and(|level| has_near(self.scene.events, *kind, c, level.since))
                });
            }
            When::AllElseStill(but) => {
                return self
                    .scene
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
                .any(|kind| has_near(self.scene.events, kind, characteristic, level.since)),
        }
    }
}
