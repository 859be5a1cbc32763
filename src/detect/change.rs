//! The `ramp` rule: a lasting change, slope or step, of unknown start and size.
//!
//! For every reading, the evidence that a slope or a step began at some earlier one is
//! summed over all starts: the Shiryaev–Roberts statistic (Shiryaev, Theory Probab. Appl.
//! 8, 22 (1963); Roberts, Technometrics 8, 411 (1966), from memory), which loses little against
//! knowing the start. Level, noise and size are integrated out and the autocorrelation is
//! averaged over, so a short baseline costs evidence, not false alarms: under no change the
//! statistic's mean does not depend on how much was seen before. Recent starts weigh more.
//!
//! It sees that something lasting began; `drift` dates, sizes and forecasts it.

use super::sums::{Ladder, Sums, gaps};
use std::cell::OnceCell;

/// Strengths of lag-1 autocorrelation averaged over, with their weights beforehand.
const PHI: [(f64, f64); 4] = [(0.0, 1.0), (0.2, 1.0), (0.4, 1.0), (0.6, 0.4)];
/// Which of them the quick look uses.
const QUICK: usize = 1;
/// Starts considered, in readings before the next one; between them starts are alike. A
/// single reading is never a lasting change.
const LAGS: [usize; 16] = [2, 3, 4, 5, 6, 7, 9, 11, 14, 18, 23, 29, 37, 48, 62, 80];
/// A start this many readings ago weighs half as much as one just now.
const HALF_WEIGHT_LAG: f64 = 10.0;
/// Readings whose level and noise are the reference; a year of working days.
pub(super) const MEMORY: usize = 250;
/// Least readings before a start.
const LEAST_BEFORE: usize = 15;
/// Standard deviation of step sizes expected, in units of the noise.
const STEP_SCALE: f64 = 1.5;
/// Standard deviation of slopes expected, in units of the noise per day.
const RAMP_SCALE: f64 = 0.25;
/// How much dearer strong autocorrelation makes a signal: evens out the false alarms.
const PHI_PRICE: f64 = 1.0;
/// Squared score of the best single start below which there is nothing to see: the quick
/// look is enough, and a signal is over.
const QUICK_SCORE: f64 = 6.0;

/// Shape and start of the most likely change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Start {
    /// Index of the first changed reading of a step, or of the last unchanged one of a slope.
    pub(super) index: usize,
    pub(super) upward: bool,
}

/// Readings prepared for the rule.
pub(super) struct Evidence<'a> {
    days: &'a [f64],
    values: &'a [f64],
    gaps: Vec<f64>,
    /// One for each of [`PHI`], made when first asked for: most series need the quick one only.
    ladders: [OnceCell<Ladder>; PHI.len()],
    /// Least noise variance believed.
    floor: f64,
}

/// The level of a window: its whitened mean, and what one squared whitened one is worth.
#[derive(Clone, Copy)]
struct Level {
    mean: f64,
    per_one: f64,
}

impl Level {
    fn of(all: &Sums) -> Level {
        let per_one = all.one_one.recip();
        Level {
            mean: all.one_value * per_one,
            per_one,
        }
    }
}

/// Odds of one start, too large for a number when a change explains nearly all there is.
#[derive(Clone, Copy)]
struct Odds {
    exponent: f64,
    divisor: f64,
}

/// A weighted sum of odds that never overflows: `sum` times the exponential of `scale`.
#[derive(Clone, Copy, Default)]
struct SumOfOdds {
    sum: f64,
    scale: f64,
}

impl SumOfOdds {
    /// Exponent beyond the scale up to which odds are added as they are.
    const ROOM: f64 = 600.0;

    fn add(&mut self, weight: f64, odds: Odds) {
        if odds.exponent - self.scale > Self::ROOM {
            self.sum *= (self.scale - odds.exponent).exp();
            self.scale = odds.exponent;
        }
        self.sum += weight * (odds.exponent - self.scale).exp() / odds.divisor;
    }

    fn ln(self) -> f64 {
        self.scale + self.sum.ln()
    }
}

/// Scores of one start: length and inner product of its column beyond the level.
#[derive(Clone, Copy)]
struct Score {
    length: f64,
    product: f64,
}

impl Score {
    fn beyond_level(level: Level, column: f64, with_one: f64, with_value: f64) -> Score {
        Score {
            length: column - with_one * with_one * level.per_one,
            product: with_value - with_one * level.mean,
        }
    }

    /// Scale of a score once a change of normal size with variance `spread` (in noise
    /// variances) is allowed for, and the share of `residual` that it explains.
    fn explained(self, spread: f64, residual: f64) -> (f64, f64) {
        let widened = 1.0 + spread * self.length;
        let explained = self.product * self.product * spread / (widened * residual);
        (widened, explained.min(0.999_999))
    }

    /// Odds for a change of that size: their exponent, and what divides their exponential.
    fn odds(self, spread: f64, residual: f64, freedom: f64) -> Odds {
        let (widened, explained) = self.explained(spread, residual);
        Odds {
            exponent: -0.5 * freedom * (1.0 - explained).ln(),
            // A root costs less than the logarithm that it stands for.
            divisor: widened.sqrt(),
        }
    }

    /// Their logarithm.
    fn log_odds(self, spread: f64, residual: f64, freedom: f64) -> f64 {
        let (widened, explained) = self.explained(spread, residual);
        -0.5 * (widened.ln() + freedom * (-explained).ln_1p())
    }

    /// Whether the squared score, the product's square over the length, exceeds `bar`.
    fn exceeds(self, bar: f64) -> bool {
        self.length > 0.0 && self.product * self.product > bar * self.length
    }
}

impl<'a> Evidence<'a> {
    /// Prepares `values` on ascending `days`; `floor` is the least noise variance believed.
    pub(super) fn new(days: &'a [f64], values: &'a [f64], floor: f64) -> Evidence<'a> {
        Evidence {
            days,
            values,
            gaps: gaps(days),
            ladders: Default::default(),
            floor,
        }
    }

    fn ladder(&self, place: usize) -> Option<&Ladder> {
        let (phi, _) = PHI.get(place)?;
        let cell = self.ladders.get(place)?;
        Some(cell.get_or_init(|| Ladder::new(self.days, self.values, &self.gaps, *phi)))
    }

    /// Step and slope scores of a start `lag` readings before the one after `at`.
    fn scores(
        &self,
        ladder: &Ladder,
        level: Level,
        at: usize,
        lag: usize,
    ) -> Option<(Score, Score)> {
        let first = (at + 1).checked_sub(lag)?;
        let after = ladder.before.get(at + 1)?.minus(ladder.before.get(first)?);
        let onset = ladder.onset.get(first)?;
        let knot = *self.days.get(first.checked_sub(1)?)?;
        let step = Score::beyond_level(
            level,
            after.one_one + onset.jump * (2.0 * onset.one + onset.jump),
            after.one_one + onset.one * onset.jump,
            after.one_value + onset.jump * onset.value,
        );
        let ramp = Score::beyond_level(
            level,
            after.day_day + knot * (knot * after.one_one - 2.0 * after.one_day),
            after.one_day - knot * after.one_one,
            after.day_value - knot * after.one_value,
        );
        Some((step, ramp))
    }

    fn window(&self, ladder: &Ladder, at: usize) -> Option<(Sums, f64, f64, usize)> {
        let from = (at + 1).saturating_sub(MEMORY);
        let readings = at + 1 - from;
        let all = ladder.before.get(at + 1)?.minus(ladder.before.get(from)?);
        let residual = all.value_value - all.one_value * all.one_value / all.one_one;
        let freedom = readings as f64 - 1.0;
        let lags = readings.saturating_sub(LEAST_BEFORE);
        Some((
            all,
            residual.max(self.floor * readings as f64),
            freedom,
            lags,
        ))
    }

    /// Whether any single start stands out enough to look closer.
    fn worth_a_look(&self, at: usize) -> bool {
        let Some(ladder) = self.ladder(QUICK) else {
            return false;
        };
        let Some((all, residual, freedom, reach)) = self.window(ladder, at) else {
            return false;
        };
        let level = Level::of(&all);
        let bar = QUICK_SCORE * residual / freedom;
        LAGS.iter()
            .take_while(|lag| **lag <= reach)
            .filter_map(|lag| self.scores(ladder, level, at, *lag))
            .any(|(step, ramp)| step.exceeds(bar) || ramp.exceeds(bar))
    }

    /// Logarithm of the statistic at reading `at`; `None` while too few readings are known.
    fn at(&self, at: usize) -> Option<f64> {
        let mut plain = [0.0; PHI.len()];
        let mut changed = [f64::NEG_INFINITY; PHI.len()];
        for (place, (_, weight)) in PHI.into_iter().enumerate() {
            let ladder = self.ladder(place)?;
            let (all, residual, freedom, reach) = self.window(ladder, at)?;
            if reach < LAGS[0] {
                return None;
            }
            let fit =
                weight.ln() + all.log_scale - 0.5 * (all.one_one.ln() + freedom * residual.ln());
            let level = Level::of(&all);
            let (mut sum, mut before) = (SumOfOdds::default(), 0);
            for lag in LAGS {
                if lag > reach {
                    break;
                }
                let width = (lag - before) as f64 / (1.0 + lag as f64 / HALF_WEIGHT_LAG);
                before = lag;
                let Some((step, ramp)) = self.scores(ladder, level, at, lag) else {
                    continue;
                };
                let half = 0.5 * width;
                sum.add(half, step.odds(STEP_SCALE * STEP_SCALE, residual, freedom));
                sum.add(half, ramp.odds(RAMP_SCALE * RAMP_SCALE, residual, freedom));
            }
            plain[place] = fit;
            changed[place] = fit + sum.ln();
        }
        let top = changed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (mut with, mut phi) = (0.0, 0.0);
        for (log, (strength, _)) in changed.iter().zip(PHI) {
            let share = (log - top).exp();
            with += share;
            phi += share * strength;
        }
        let base = plain.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let without: f64 = plain.iter().map(|log| (log - base).exp()).sum();
        let price = PHI_PRICE * (phi / with - 0.25);
        Some(top - base + (with / without).ln() - price)
    }

    /// Logarithm of the statistic at reading `at`; `None` when too few readings are known or
    /// no single start stands out.
    pub(super) fn at_if_worth(&self, at: usize) -> Option<f64> {
        if self.worth_a_look(at) {
            self.at(at)
        } else {
            None
        }
    }

    /// The most likely start of a change seen at `at`, over every reading within reach.
    pub(super) fn start(&self, at: usize) -> Option<Start> {
        let ladder = self.ladder(QUICK)?;
        let (all, residual, freedom, reach) = self.window(ladder, at)?;
        let level = Level::of(&all);
        let longest = LAGS[LAGS.len() - 1];
        let mut best: Option<(f64, Start)> = None;
        for lag in LAGS[0]..=reach.min(longest) {
            let Some((step, ramp)) = self.scores(ladder, level, at, lag) else {
                continue;
            };
            let first = at + 1 - lag;
            for (score, spread, index) in [
                (step, STEP_SCALE * STEP_SCALE, first),
                (ramp, RAMP_SCALE * RAMP_SCALE, first - 1),
            ] {
                let odds = score.log_odds(spread, residual, freedom);
                if best.is_none_or(|(most, _)| odds > most) {
                    let upward = score.product > 0.0;
                    best = Some((odds, Start { index, upward }));
                }
            }
        }
        best.map(|(_, start)| start)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings that alternate by `noise` about a level that `change` moves from reading 170 on.
    fn evidence_of(noise: f64, change: impl Fn(f64) -> f64) -> Vec<Option<f64>> {
        let days: Vec<f64> = (0..260).map(f64::from).collect();
        let values: Vec<f64> = (0..260)
            .map(|i| noise * f64::from(i % 2) + change(f64::from(i - 169).max(0.0)))
            .collect();
        let evidence = Evidence::new(&days, &values, 1e-4);
        (0..260).map(|at| evidence.at(at)).collect()
    }

    #[test]
    fn a_change_that_explains_everything_is_finite_and_seen_at_once() {
        let step = |since: f64| if since > 0.0 { 50.0 } else { 0.0 };
        for (noise, changed) in [
            (0.0, evidence_of(0.0, |since| 5.0 * since)),
            (0.0, evidence_of(0.0, step)),
            (0.01, evidence_of(0.01, |since| 5.0 * since)),
            (0.01, evidence_of(0.01, step)),
        ] {
            let known = changed.iter().flatten();
            assert!(known.clone().all(|log| log.is_finite()), "noise {noise}");
            assert_eq!(known.count(), 260 - LEAST_BEFORE - LAGS[0] + 1);
            // From the second changed reading on it is far beyond any threshold.
            let since = changed[171..].iter().flatten();
            assert!(since.clone().all(|log| *log > 20.0), "noise {noise}");
            // A number that its exponential could not hold.
            let most = since.fold(0.0_f64, |most, log| most.max(*log));
            assert!(most > 300.0, "noise {noise}: {most}");
        }
    }
}
