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

use super::odds::{LAGS, Odds, Score, Shape};
use super::sums::{Ladder, Rows};
use super::times::{PHI, Times};
use std::cell::OnceCell;
use std::ops::Range;

/// Weights, beforehand, of the strengths of lag-1 autocorrelation, which are averaged over.
const WEIGHT: [f64; PHI.len()] = [1.0, 1.0, 1.0, 0.4];
/// Which of them the quick look uses.
const QUICK: usize = 1;
/// Readings whose level and noise are the reference; a year of working days.
pub(super) const MEMORY: usize = 250;
/// Least readings before a start.
const LEAST_BEFORE: usize = 15;
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
    times: &'a Times,
    values: &'a [f64],
    /// One for each of [`PHI`], made when first asked for: some series need the quick one only.
    ladders: [OnceCell<Ladder>; PHI.len()],
    /// Least noise variance believed.
    floor: f64,
}

/// The readings up to one, at most [`MEMORY`]: their level, and what it leaves.
#[derive(Clone, Copy)]
struct Window {
    /// Whitened mean.
    mean: f64,
    /// Sum of squared whitened ones, and its inverse.
    one_one: f64,
    per_one: f64,
    /// Residual sum of squares about the level, not below the floor.
    residual: f64,
    freedom: f64,
    log_scale: f64,
    /// Most readings since a start.
    reach: usize,
}

impl Window {
    fn of(rows: &Rows<'_>, at: usize, floor: f64) -> Option<Window> {
        let from = (at + 1).saturating_sub(MEMORY);
        let readings = at + 1 - from;
        let sum = |row: &[f64]| Some(row.get(at + 1)? - row.get(from)?);
        let (one_one, one_value) = (sum(rows.one_one)?, sum(rows.one_value)?);
        let residual = sum(rows.value_value)? - one_value * one_value / one_one;
        let per_one = one_one.recip();
        Some(Window {
            mean: one_value * per_one,
            one_one,
            per_one,
            residual: residual.max(floor * readings as f64),
            freedom: readings as f64 - 1.0,
            log_scale: sum(rows.log_scale)?,
            reach: readings.saturating_sub(LEAST_BEFORE),
        })
    }
}

/// Sums over the readings since a start, and what its first adds for a step; of one strength.
#[derive(Clone, Copy)]
struct Since {
    one_one: f64,
    one_day: f64,
    day_day: f64,
    one_value: f64,
    day_value: f64,
    onset_square: f64,
    onset_one: f64,
    onset_value: f64,
    /// Day of the last reading before.
    knot: f64,
}

impl Since {
    /// `None` where the rows do not reach.
    fn of(rows: &Rows<'_>, days: &[f64], first: usize, at: usize) -> Option<Since> {
        let sum = |row: &[f64]| Some(row.get(at + 1)? - row.get(first)?);
        Some(Since {
            one_one: sum(rows.one_one)?,
            one_day: sum(rows.one_day)?,
            day_day: sum(rows.day_day)?,
            one_value: sum(rows.one_value)?,
            day_value: sum(rows.day_value)?,
            onset_square: *rows.onset_square.get(first)?,
            onset_one: *rows.onset_one.get(first)?,
            onset_value: *rows.onset_value.get(first)?,
            knot: *days.get(first.checked_sub(1)?)?,
        })
    }

    #[inline]
    fn step(&self, mean: f64, per_one: f64) -> Score {
        let with_one = self.one_one + self.onset_one;
        Score {
            length: self.one_one + self.onset_square - with_one * with_one * per_one,
            product: self.one_value + self.onset_value - with_one * mean,
        }
    }

    #[inline]
    fn ramp(&self, mean: f64, per_one: f64) -> Score {
        let knot = self.knot;
        let square = self.day_day + knot * (knot * self.one_one - 2.0 * self.one_day);
        let with_one = self.one_day - knot * self.one_one;
        Score {
            length: square - with_one * with_one * per_one,
            product: self.day_value - knot * self.one_value - with_one * mean,
        }
    }
}

/// Readings looked at side by side: fewer are not compiled into instructions for two numbers
/// at once, which makes the look twice as quick.
const LANES: usize = 8;
/// First reading that every start is within reach of.
const ALL_LAGS_FROM: usize = LAGS[LAGS.len() - 1] + LEAST_BEFORE - 1;

fn lanes<const N: usize>(row: &[f64], from: usize) -> Option<[f64; N]> {
    row.get(from..from + N)?.try_into().ok()
}

#[inline]
fn larger(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

impl<'a> Evidence<'a> {
    /// Prepares `values`, read at `times`; `floor` is the least noise variance believed.
    pub(super) fn new(times: &'a Times, values: &'a [f64], floor: f64) -> Evidence<'a> {
        Evidence {
            times,
            values,
            ladders: Default::default(),
            floor,
        }
    }

    fn rows(&self, place: usize) -> Option<Rows<'_>> {
        let white = self.times.whitening(place)?;
        let ladder = self.ladders.get(place)?;
        let ladder = ladder.get_or_init(|| Ladder::new(white, self.values));
        Some(ladder.rows(white))
    }

    /// For each of the readings `judged`, whether any single start stands out enough to look
    /// closer.
    pub(super) fn worth_a_look(&self, judged: Range<usize>) -> Vec<bool> {
        let mut worth = vec![false; judged.len()];
        let Some(rows) = self.rows(QUICK) else {
            return worth;
        };
        let mut place = 0;
        while place < worth.len() {
            // Several readings side by side are twice as quick; the last ones together with
            // some already looked at.
            let several = place.min(worth.len().saturating_sub(LANES));
            let (at, single) = (judged.start + several, judged.start + place);
            if at >= ALL_LAGS_FROM
                && let Some(found) = self.stand_out::<LANES>(&rows, at)
                && let Some(slots) = worth.get_mut(several..several + LANES)
            {
                slots.copy_from_slice(&found);
                place = several + LANES;
            } else {
                let [found] = self.stand_out(&rows, single).unwrap_or([false]);
                worth[place] = found;
                place += 1;
            }
        }
        worth
    }

    /// Whether any start within reach of reading `at` stands out, for it and the next ones.
    fn stand_out<const N: usize>(&self, rows: &Rows<'_>, at: usize) -> Option<[bool; N]> {
        let mut level = [(0.0, 0.0); N];
        let mut bar = [0.0; N];
        let mut reach = 0;
        for (i, (level, bar)) in level.iter_mut().zip(&mut bar).enumerate().rev() {
            let window = Window::of(rows, at + i, self.floor)?;
            *level = (window.mean, window.per_one);
            *bar = QUICK_SCORE * window.residual / window.freedom;
            reach = window.reach;
        }
        let after = |row| lanes::<N>(row, at + 1);
        let (one_one, one_day, day_day) = (
            after(rows.one_one)?,
            after(rows.one_day)?,
            after(rows.day_day)?,
        );
        let (one_value, day_value) = (after(rows.one_value)?, after(rows.day_value)?);
        let mut most = [0.0; N];
        for lag in LAGS.iter().take_while(|lag| **lag <= reach) {
            let first = at + 1 - lag;
            let before = |row| lanes::<N>(row, first);
            let (one_one_before, one_day_before, day_day_before) = (
                before(rows.one_one)?,
                before(rows.one_day)?,
                before(rows.day_day)?,
            );
            let (one_value_before, day_value_before) =
                (before(rows.one_value)?, before(rows.day_value)?);
            let onset_square = before(rows.onset_square)?;
            let onset_one = before(rows.onset_one)?;
            let onset_value = before(rows.onset_value)?;
            let knot = lanes::<N>(&self.times.days, first - 1)?;
            for i in 0..N {
                let since = Since {
                    one_one: one_one[i] - one_one_before[i],
                    one_day: one_day[i] - one_day_before[i],
                    day_day: day_day[i] - day_day_before[i],
                    one_value: one_value[i] - one_value_before[i],
                    day_value: day_value[i] - day_value_before[i],
                    onset_square: onset_square[i],
                    onset_one: onset_one[i],
                    onset_value: onset_value[i],
                    knot: knot[i],
                };
                let (mean, per_one) = level[i];
                let step = since.step(mean, per_one).beyond(bar[i]);
                let ramp = since.ramp(mean, per_one).beyond(bar[i]);
                most[i] = larger(larger(most[i], step), ramp);
            }
        }
        Some(most.map(|most| most > 0.0))
    }

    /// Logarithm of the statistic at reading `at`; `None` while too few readings are known.
    pub(super) fn at(&self, at: usize) -> Option<f64> {
        let mut plain = [0.0; PHI.len()];
        let mut changed = [f64::NEG_INFINITY; PHI.len()];
        for (place, weight) in WEIGHT.into_iter().enumerate() {
            let rows = self.rows(place)?;
            let window = Window::of(&rows, at, self.floor)?;
            if window.reach < LAGS[0] {
                return None;
            }
            let fit = weight.ln() + window.log_scale
                - 0.5 * (window.one_one.ln() + window.freedom * window.residual.ln());
            plain[place] = fit;
            changed[place] = fit
                + self
                    .odds(&rows, &window, at)
                    .ln_sum(window.residual, window.freedom as usize);
        }
        let top = changed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (mut with, mut phi) = (0.0, 0.0);
        for (log, strength) in changed.iter().zip(PHI) {
            let share = (log - top).exp();
            with += share;
            phi += share * strength;
        }
        let base = plain.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let without: f64 = plain.iter().map(|log| (log - base).exp()).sum();
        let price = PHI_PRICE * (phi / with - 0.25);
        Some(top - base + (with / without).ln() - price)
    }

    /// Odds of every start within reach of reading `at`, for one strength.
    fn odds(&self, rows: &Rows<'_>, window: &Window, at: usize) -> Odds {
        let mut odds = Odds::new();
        let lags = LAGS.iter().take_while(|lag| **lag <= window.reach);
        for since in lags.filter_map(|lag| Since::of(rows, &self.times.days, at + 1 - lag, at)) {
            odds.add(
                since.step(window.mean, window.per_one),
                since.ramp(window.mean, window.per_one),
            );
        }
        odds
    }

    /// The most likely start of a change seen at `at`, over every reading within reach.
    pub(super) fn start(&self, at: usize) -> Option<Start> {
        let rows = self.rows(QUICK)?;
        let window = Window::of(&rows, at, self.floor)?;
        let longest = LAGS[LAGS.len() - 1];
        let mut best: Option<(f64, Start)> = None;
        for lag in LAGS[0]..=window.reach.min(longest) {
            let first = at + 1 - lag;
            let Some(since) = Since::of(&rows, &self.times.days, first, at) else {
                continue;
            };
            for (score, shape, index) in [
                (since.step(window.mean, window.per_one), Shape::Step, first),
                (
                    since.ramp(window.mean, window.per_one),
                    Shape::Ramp,
                    first - 1,
                ),
            ] {
                let odds = score.log_odds(shape, window.residual, window.freedom);
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
#[path = "change_tests.rs"]
mod tests;
