//! Cabinets made up for the trial: catches whose noise, change and breach are known.
//!
//! Every cabinet comes from its own stream of a seeded generator, so one more cabinet
//! changes none of the others.

use super::Settings;
use crate::time::Instant;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Level that every cabinet starts from, mL/h per 80 cm².
pub(super) const LEVEL: f64 = 1.5;
/// Conformance limits, mL/h per 80 cm²: those of the usual catch window.
pub(super) const LOWER: f64 = 1.0;
/// As [`LOWER`], above.
pub(super) const UPPER: f64 = 2.0;
/// Share of working days on which nobody wrote anything.
const MISSED: f64 = 0.05;
/// Chance a working day begins a week without checks.
const HOLIDAY: f64 = 0.004;

/// What happens to a cabinet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// Nothing.
    None,
    /// From check `at` on the level moves by `slope` mL/h a day, up or down.
    Ramp { at: usize, slope: f64 },
    /// From check `at` on the level is off by `sds` standard deviations, up or down.
    Step { at: usize, sds: f64 },
}

impl Change {
    /// The first check that it touches; `usize::MAX` for none.
    pub(super) fn at(self) -> usize {
        match self {
            Change::None => usize::MAX,
            Change::Ramp { at, .. } | Change::Step { at, .. } => at,
        }
    }
}

/// One cabinet with what only its maker knows.
#[derive(Debug, Clone)]
pub(super) struct Cabinet {
    pub(super) at: Vec<Instant>,
    /// Days since the first Monday, parallel to `at`.
    pub(super) days: Vec<f64>,
    /// Catches, rounded.
    pub(super) value: Vec<f64>,
    /// Standard deviation before rounding.
    pub(super) sd: f64,
    /// Lag-1 autocorrelation of checks on successive days.
    pub(super) phi: f64,
    /// Exponent with which a gap ages the noise: 1 with the calendar, 0 with the checks.
    pub(super) ageing: f64,
    pub(super) change: Change,
}

impl Cabinet {
    /// Cabinet number `index` of a scenario, with `checks` checks.
    pub(super) fn new(
        settings: &Settings,
        scenario: u64,
        index: usize,
        checks: impl Fn(Change) -> usize,
        change: impl Fn(&mut Dice) -> Change,
    ) -> Cabinet {
        let mut dice = Dice::new(settings.seed, scenario, index);
        let sd = dice.between(settings.noise);
        let phi = dice.between(settings.phi);
        let ageing = if index.is_multiple_of(2) { 1.0 } else { 0.0 };
        let sign = if dice.uniform() < 0.5 { 1.0 } else { -1.0 };
        let change = change(&mut dice);
        let checks = checks(change);
        let mut cabinet = Cabinet {
            at: Vec::with_capacity(checks),
            days: Vec::with_capacity(checks),
            value: Vec::with_capacity(checks),
            sd,
            phi,
            ageing,
            change,
        };
        let (mut day, mut noise, mut began) = (0_i64, dice.normal(), 0.0);
        while cabinet.days.len() < checks {
            let working = day % 7 < 5;
            if working && dice.uniform() < HOLIDAY {
                day += 7;
                continue;
            }
            if working && dice.uniform() >= MISSED {
                let now = day as f64;
                if let Some(before) = cabinet.days.last() {
                    let rho = phi.powf((now - before).powf(ageing));
                    noise = rho * noise + (1.0 - rho * rho).sqrt() * dice.normal();
                }
                let check = cabinet.days.len();
                if check == change.at() {
                    began = now;
                }
                let moved = match change {
                    Change::Ramp { at, slope } if check >= at => slope * (now - began),
                    Change::Step { at, sds } if check >= at => sds * sd,
                    _ => 0.0,
                };
                let value = LEVEL + sign * moved + sd * noise;
                cabinet
                    .value
                    .push((value / settings.resolution).round() * settings.resolution);
                cabinet.days.push(now);
                cabinet.at.push(Instant(day * 86_400 + 28_800));
            }
            day += 1;
        }
        cabinet
    }

    /// Day of check `index`.
    pub(super) fn day(&self, index: usize) -> f64 {
        self.days.get(index).copied().unwrap_or(f64::NAN)
    }

    /// Day on which the true level of a ramp meets its limit.
    pub(super) fn breach_day(&self) -> f64 {
        match self.change {
            Change::Ramp { at, slope } => self.day(at) + (UPPER - LEVEL) / slope,
            _ => f64::INFINITY,
        }
    }

    /// The same cabinet as it stood before check `end`.
    pub(super) fn before(&self, end: usize) -> Cabinet {
        let mut early = self.clone();
        early.at.truncate(end);
        early.days.truncate(end);
        early.value.truncate(end);
        early
    }
}

/// Seeded chance.
pub(super) struct Dice(ChaCha8Rng);

impl Dice {
    fn new(seed: u64, scenario: u64, index: usize) -> Dice {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream((scenario << 32) | index as u64);
        Dice(rng)
    }

    /// Uniform on [0, 1).
    pub(super) fn uniform(&mut self) -> f64 {
        self.0.random()
    }

    /// Uniform between two ends.
    pub(super) fn between(&mut self, ends: [f64; 2]) -> f64 {
        let [low, high] = ends;
        low + (high - low) * self.uniform()
    }

    /// Standard normal (Box & Muller, Ann. Math. Stat. 29, 610 (1958)).
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cabinet(index: usize, change: Change) -> Cabinet {
        Cabinet::new(&Settings::default(), 1, index, |_| 4000, |_| change)
    }

    #[test]
    fn noise_is_as_planted() {
        let cabinet = cabinet(7, Change::None);
        assert_eq!(cabinet.ageing, 0.0);
        let n = cabinet.value.len() as f64;
        let mean = cabinet.value.iter().sum::<f64>() / n;
        let off: Vec<f64> = cabinet.value.iter().map(|v| v - mean).collect();
        let variance = off.iter().map(|x| x * x).sum::<f64>() / n;
        let lagged = off.windows(2).map(|p| p[0] * p[1]).sum::<f64>() / n;
        let rounding = Settings::default().resolution.powi(2) / 12.0;
        assert!((mean - LEVEL).abs() < 0.01);
        assert!((variance / (cabinet.sd.powi(2) + rounding) - 1.0).abs() < 0.12);
        let correlation = lagged / (variance - rounding);
        assert!(
            (correlation - cabinet.phi).abs() < 0.06,
            "{correlation} {}",
            cabinet.phi
        );
    }

    #[test]
    fn checks_fall_on_working_days_with_gaps() {
        let cabinet = cabinet(2, Change::None);
        assert!(cabinet.days.iter().all(|d| d % 7.0 < 5.0));
        assert!(cabinet.days.windows(2).any(|p| p[1] - p[0] > 7.0));
    }

    #[test]
    fn a_ramp_meets_its_limit_when_it_says() {
        let cabinet = cabinet(
            3,
            Change::Ramp {
                at: 100,
                slope: 0.01,
            },
        );
        assert!((cabinet.breach_day() - cabinet.day(100) - 50.0).abs() < 1e-9);
        let far = cabinet
            .days
            .iter()
            .position(|d| *d > cabinet.breach_day() + 30.0)
            .unwrap();
        assert!((cabinet.value[far] - LEVEL).abs() > 0.5);
        assert_eq!(cabinet.before(50).value.len(), 50);
    }
}
