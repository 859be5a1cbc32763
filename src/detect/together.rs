//! The `unusual-together` rule: readings of one check that do not go together as usual.
//!
//! Every characteristic may lie within its own limits while their combination breaks the
//! way they usually move with each other. What each reading adds to the one before it
//! (one-step residuals under its own autocorrelation, so that slow wandering is no
//! surprise) is judged for all characteristics at once by Hotelling's T² of a future
//! observation (see `hotelling`).
//!
//! A check is compared with up to 250 checks at least 20 checks older, so that a change that
//! stays does not soon pass for usual; while fewer are known, with those of the baseline. A
//! check that lacks some readings is judged by the rest. Where a characteristic's own
//! signal already tells of a check, the others are judged without it.
//!
//! A reading that is by itself more unusual than the combination is left to the rules on
//! its own series, so that wild readings, of which logs have more than the normal
//! distribution, bring few alarms here.
//!
//! The promise is the cabinet's own: about one false alarm in the number of checks asked
//! for, beside those of its series. Measured with seeded simulation (150 cabinets a row, 2 to 6
//! characteristics that share none to nine tenths of their course, limits from the first 30
//! readings as charts set them): 0.6 to 1.0 alarms per 370 checks at autocorrelation 0 to 0.3,
//! 0.7 to 1.1 at 0.6; 0.1 where rounding is two standard deviations. With heavy tails
//! (Student t with 5 degrees) 1.5 to 2.5 where the characteristics are independent and up to 5
//! where they are not. Association, not cause: which reading is wrong, if any, it does not know.

use super::hotelling::{Distance, Floor, Moments};
use super::residuals::{Reference, Whitened};
use super::told::QUIET;
use crate::time::Instant;

/// Name of the rule.
pub const NAME: &str = "unusual-together";
/// Most checks that make the reference: a year of working days.
pub(super) const MEMORY: usize = 250;
/// Checks before the one judged that are not yet part of its reference.
pub(super) const DELAY: usize = 20;
/// Complete checks before the first one judged that a view of a stage needs: the reference,
/// and a few that give its first residuals.
pub(super) const LEAST_VIEW: usize = MEMORY + DELAY + 8;
/// Fewest members of a combination.
pub(super) const FEWEST_MEMBERS: usize = 2;
/// Step of rounding, in standard deviations, up to which rounded readings pass for normal.
const FINE: f64 = 1.0;

/// One characteristic of the combination.
#[derive(Debug, Clone)]
pub struct Member {
    /// Readings, parallel to the checks; NaN where a check has none that is valid.
    pub value: Vec<f64>,
    /// Centre line of its baseline.
    pub centre: f64,
    /// Standard deviation in force; above 0.
    pub sigma: f64,
    /// Lag-1 autocorrelation believed, in [0, 1).
    pub phi: f64,
    /// Step of rounding; `None` when none could be told.
    pub resolution: Option<f64>,
}

/// A stretch of checks of one cabinet in which nothing was changed on purpose.
#[derive(Debug, Clone)]
pub struct Checks {
    /// When; never decreasing.
    pub at: Vec<Instant>,
    /// Days that usually lie between two checks; above 0.
    pub spacing: f64,
    /// At least two characteristics.
    pub members: Vec<Member>,
    /// First check that is judged; those before it are the baseline.
    pub judged_from: usize,
    /// Whether the stretch starts where the stage does.
    pub complete: bool,
}

/// One member's part in an unusual combination.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// Index of the member.
    pub member: usize,
    /// Share of the statistic that goes when it is left out; shares need not sum to 1.
    pub share: f64,
    /// Its reading, in the unit of its series.
    pub value: f64,
    /// The reading that the other members and its reading before lead to expect.
    pub expected: f64,
}

/// A stretch of unusual combinations, told once.
#[derive(Debug, Clone, PartialEq)]
pub struct Unusual {
    /// First unusual check.
    pub start: usize,
    /// The check told: the first that no single signal accounts for, else the first.
    pub known: usize,
    /// Last unusual check.
    pub last: usize,
    /// Whether the last check is unusual too.
    pub ongoing: bool,
    /// Unusual checks in it.
    pub checks: usize,
    /// T² at the check told.
    pub statistic: f64,
    /// What it is held against.
    pub limit: f64,
    /// Chance of as unusual a check in a steady cabinet.
    pub chance: f64,
    /// Members judged at the check told, the largest share first.
    pub contributions: Vec<Contribution>,
    /// Members whose own signals tell of that check.
    pub told: Vec<usize>,
    /// Whether those signals account for every check of the stretch.
    pub accounted_for: bool,
}

/// A check found unusual.
struct Firing {
    distance: Distance,
    told: Vec<usize>,
    accounted_for: bool,
}

impl Checks {
    /// Stretches that touch the checks from `from` on, in order.
    ///
    /// `chance` is that of a false alarm at one check; `told` says whether a member's own
    /// signal tells of a check. `known` rests on no later reading except through `told`.
    /// `None` when a stretch may have begun before this view of the stage, or the view holds
    /// too little of what came before.
    pub fn unusual(
        &self,
        from: usize,
        chance: f64,
        told: &dyn Fn(usize, usize) -> bool,
    ) -> Option<Vec<Unusual>> {
        let len = self.at.len();
        let from = from.max(self.judged_from);
        if from >= len {
            return Some(Vec::new());
        }
        let first = self.judged_from.max(from.saturating_sub(2 * QUIET + 2));
        let white = Whitened::of(self);
        let floor: Vec<Floor> = self.members.iter().map(Member::floor).collect();
        let mut reference = Reference::new(&white, self.members.len());
        if !self.complete && white.complete_before(first) < LEAST_VIEW {
            return None;
        }
        let mut found: Vec<Unusual> = Vec::new();
        for check in first..len {
            let known = reference.at(check, self.judged_from, self.complete);
            let Some(firing) = self.fires(check, known, &white, &floor, chance, told) else {
                continue;
            };
            let oldest = first > self.judged_from || !self.complete;
            if oldest && check <= first + QUIET {
                return self.earlier(from, first, chance, told);
            }
            match found.last_mut() {
                Some(open) if check - open.last <= QUIET + 1 => {
                    open.last = check;
                    open.checks += 1;
                    if open.accounted_for && !firing.accounted_for {
                        self.tell(open, check, &firing, chance);
                    }
                }
                _ => {
                    let mut opened = Unusual {
                        start: check,
                        known: check,
                        last: check,
                        ongoing: false,
                        checks: 1,
                        statistic: 0.0,
                        limit: 0.0,
                        chance: 1.0,
                        contributions: Vec::new(),
                        told: Vec::new(),
                        accounted_for: true,
                    };
                    self.tell(&mut opened, check, &firing, chance);
                    found.push(opened);
                }
            }
        }
        found.retain(|stretch| stretch.last >= from);
        if let Some(open) = found.last_mut() {
            open.ongoing = open.last + 1 == len;
        }
        Some(found)
    }

    /// The same from further back, when the view allows.
    fn earlier(
        &self,
        from: usize,
        first: usize,
        chance: f64,
        told: &dyn Fn(usize, usize) -> bool,
    ) -> Option<Vec<Unusual>> {
        let earlier = first.saturating_sub(3 * (from - first) + 8);
        if first == 0 || first <= self.judged_from {
            return None;
        }
        let all = self.unusual(earlier, chance, told)?;
        Some(all.into_iter().filter(|s| s.last >= from).collect())
    }

    /// Checks from `from` on that are judged: those with at least two readings.
    pub fn judged(&self, from: usize) -> u64 {
        (from.max(self.judged_from)..self.at.len())
            .filter(|&check| self.present(check).count() >= FEWEST_MEMBERS)
            .count() as u64
    }

    /// Members that have a reading at a check.
    fn present(&self, check: usize) -> impl Iterator<Item = usize> {
        let has = move |m: &Member| m.value.get(check).is_some_and(|v| !v.is_nan());
        let members = self.members.iter().enumerate();
        members.filter(move |(_, m)| has(m)).map(|(i, _)| i)
    }

    fn fires(
        &self,
        check: usize,
        known: &Moments,
        white: &Whitened,
        floor: &[Floor],
        chance: f64,
        told: &dyn Fn(usize, usize) -> bool,
    ) -> Option<Firing> {
        let vector = white.row(&white.raw, check)?;
        let present: Vec<usize> = self.present(check).collect();
        if present.len() < FEWEST_MEMBERS {
            return None;
        }
        // Beyond the limit, and more so than its most unusual reading is by itself: a lone far
        // reading is for the rules on its own series.
        let judge = |members: &[usize]| {
            let all = Distance::unless_ordinary(known, vector, members, floor)?;
            let alone = |m: &usize| Distance::of(known, vector, &[*m], floor);
            let together = |own: f64| all.chance < own * members.len() as f64;
            let fires = all.chance <= chance
                && members
                    .iter()
                    .filter_map(alone)
                    .all(|own| together(own.chance));
            fires.then_some(all)
        };
        let all = judge(&present)?;
        let (signalled, rest): (Vec<usize>, Vec<usize>) =
            present.into_iter().partition(|&m| told(m, check));
        if signalled.is_empty() {
            return Some(Firing {
                distance: all,
                told: signalled,
                accounted_for: false,
            });
        }
        let of_rest = (rest.len() >= FEWEST_MEMBERS)
            .then(|| judge(&rest))
            .flatten();
        Some(Firing {
            accounted_for: of_rest.is_none(),
            distance: of_rest.unwrap_or(all),
            told: signalled,
        })
    }

    fn tell(&self, stretch: &mut Unusual, check: usize, firing: &Firing, chance: f64) {
        let distance = &firing.distance;
        stretch.known = check;
        stretch.statistic = distance.statistic;
        stretch.limit = distance.limit(chance).unwrap_or(distance.statistic);
        stretch.chance = distance.chance;
        stretch.told.clone_from(&firing.told);
        stretch.accounted_for = firing.accounted_for;
        let parts = distance.parts().into_iter().filter_map(|part| {
            let member = self.members.get(part.member)?;
            let value = *member.value.get(check)?;
            let scale = member.sigma / self.step(member, check).scale;
            Some(Contribution {
                member: part.member,
                share: part.share,
                value,
                expected: value - part.beyond_expected * scale,
            })
        });
        stretch.contributions = parts.collect();
        let largest_first = |a: &Contribution, b: &Contribution| b.share.total_cmp(&a.share);
        stretch.contributions.sort_by(largest_first);
    }
}

impl Member {
    /// What rounding does to the variance of a residual, in squared sigma: the least is that of
    /// the rules on single series.
    fn floor(&self) -> Floor {
        let step = self.resolution.unwrap_or(0.0) / self.sigma;
        Floor {
            least: (step * step / 6.0).max(0.01),
            added: (step - FINE).clamp(0.0, 1.0) * step * step / 12.0,
        }
    }
}

#[cfg(test)]
#[path = "together_tests.rs"]
mod tests;
