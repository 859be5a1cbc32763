//! Which series of a cabinet tell of the same happening.

use super::cabinet::Family;
use super::matching::Scene;
use super::weak::is_weak;
use crate::characteristic::Characteristic;
use crate::time::Instant;
use std::collections::BTreeMap;

/// Days beyond which the start of a change is known too loosely to link others with each
/// other: it joins a happening that it may belong to, but makes none.
const LOOSE_DAYS: f64 = 21.0;

/// A family that something happened to, and when its parts began.
struct Member {
    characteristics: Vec<Characteristic>,
    began: Vec<(Instant, Instant)>,
    group: usize,
    /// Whether it shows no more than chance may bring.
    weak: bool,
}

impl Member {
    fn is_loose(&self) -> bool {
        self.began.iter().all(|span| !is_close(span))
    }
}

fn is_close((from, to): &(Instant, Instant)) -> bool {
    to.days_since(*from) <= LOOSE_DAYS
}

fn overlap(a: &(Instant, Instant), b: &(Instant, Instant)) -> bool {
    a.0 <= b.1 && b.0 <= a.1
}

/// The characteristics that something happened to, grouped by happening: families whose
/// changes may have begun at the same time are one, and a family is never parted. One
/// that shows only a weak pattern joins a happening when a hint speaks of both: chance
/// brings weak patterns at any time.
pub(super) fn groups(scene: &Scene<'_>) -> Vec<Vec<Characteristic>> {
    let mut families: BTreeMap<Family, Member> = BTreeMap::new();
    for (characteristic, observation) in &scene.observed {
        if observation.happened() {
            let group = families.len();
            let member = families
                .entry(Family::of(characteristic))
                .or_insert(Member {
                    characteristics: Vec::new(),
                    began: Vec::new(),
                    group,
                    weak: true,
                });
            member.characteristics.push((*characteristic).clone());
            member.began.extend(observation.began());
            member.weak &= is_weak(observation);
        }
    }
    let mut members: Vec<Member> = families.into_values().collect();
    for i in 0..members.len() {
        for j in 0..i {
            let (Some(a), Some(b)) = (members.get(i), members.get(j)) else {
                continue;
            };
            let close = |m: &Member| -> Vec<(Instant, Instant)> {
                m.began.iter().copied().filter(is_close).collect()
            };
            let both_strong = !a.weak && !b.weak;
            if both_strong
                && close(a)
                    .iter()
                    .any(|x| close(b).iter().any(|y| overlap(x, y)))
            {
                let (into, from) = (b.group, a.group);
                for member in &mut members {
                    if member.group == from {
                        member.group = into;
                    }
                }
            }
        }
    }
    join_loose(&mut members);
    join_weak(scene, &mut members);
    let mut groups: BTreeMap<usize, Vec<Characteristic>> = BTreeMap::new();
    for member in members {
        groups
            .entry(member.group)
            .or_default()
            .extend(member.characteristics);
    }
    groups.into_values().collect()
}

/// Puts each family that is still alone and has a loosely dated change to the largest
/// happening that it may belong to.
fn join_loose(members: &mut [Member]) {
    for i in 0..members.len() {
        let Some(loose) = members.get(i) else {
            continue;
        };
        let size = |group: usize| members.iter().filter(|m| m.group == group).count();
        if size(loose.group) > 1 || !loose.began.iter().any(|span| !is_close(span)) {
            continue;
        }
        let into = members
            .iter()
            .enumerate()
            .filter(|(j, other)| *j != i && !other.is_loose() && !other.weak)
            .filter(|(_, other)| {
                let meets = |x| other.began.iter().any(|y| overlap(x, y));
                loose.began.iter().filter(|span| !is_close(span)).any(meets)
            })
            .map(|(_, other)| other.group)
            .max_by_key(|&group| (size(group), std::cmp::Reverse(group)));
        if let (Some(into), Some(member)) = (into, members.get_mut(i)) {
            member.group = into;
        }
    }
}

/// Puts each family with a weak pattern to a happening of the same time that a hint of
/// the table joins it with.
fn join_weak(scene: &Scene<'_>, members: &mut [Member]) {
    for i in 0..members.len() {
        let Some(weak) = members.get(i).filter(|m| m.weak) else {
            continue;
        };
        let into = members.iter().filter(|other| !other.weak).find(|other| {
            let meets = |x| other.began.iter().any(|y| overlap(x, y));
            let mut both = other.characteristics.clone();
            both.extend(weak.characteristics.iter().cloned());
            let joins = || {
                scene.hints(&both).iter().any(|hint| {
                    let cites =
                        |m: &Member| hint.cited.iter().any(|c| m.characteristics.contains(c));
                    cites(weak) && cites(other)
                })
            };
            weak.began.iter().any(meets) && joins()
        });
        if let (Some(into), Some(member)) = (into.map(|m| m.group), members.get_mut(i)) {
            member.group = into;
        }
    }
}
