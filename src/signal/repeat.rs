//! `repeat`: the same value again and again, more often than rounding explains.
//!
//! Ours. Entries copied forward and stuck sensors leave equal values. How many are
//! too many depends on the resolution: at 1 °C steps a calm cabinet reads the same for
//! weeks, at 0.01 three equal pH readings are already odd. The rule computes how
//! likely one more equal reading is and asks for a run that unlikely.

use super::counting::kept;
use super::{Direction, Firing, Rule, RuleInput, Told};
use statrs::function::erf::erf;

/// A run of equal readings whose chance is below `chance`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeat {
    /// Chance that such a run begins at a given reading of a steady cabinet.
    pub chance: f64,
    /// Shortest run that may fire, however fine the resolution.
    pub at_least: usize,
    /// Longest run worth asking for: where resolution would need more, the rule is
    /// silent, since equal readings then say nothing.
    pub at_most: usize,
}

impl Default for Repeat {
    fn default() -> Self {
        Repeat {
            chance: 0.001,
            at_least: 5,
            at_most: 60,
        }
    }
}

impl Repeat {
    /// Readings in a row asked for, or `None` where the resolution is too coarse to tell.
    ///
    /// With step r (in sigma) and autocorrelation φ, the next reading given this one
    /// is normal with standard deviation √(1−φ²); it rounds to the same value with a
    /// probability of at most p = P(|N| < r / (2√(1−φ²))), which is reached when the
    /// value is where the next one is expected. A run of k therefore has a chance of
    /// at most p^(k−1).
    ///
    /// ```
    /// use steadyfog::signal::repeat::Repeat;
    /// let rule = Repeat::default();
    /// assert_eq!(rule.needed(Some(0.2), 0.0), Some(5)); // fine steps: the floor
    /// assert_eq!(rule.needed(Some(1.0), 0.0), Some(9)); // p 0.383
    /// assert_eq!(rule.needed(Some(6.0), 0.0), None); // a step as wide as the limits
    /// ```
    pub fn needed(&self, resolution: Option<f64>, lag1: f64) -> Option<usize> {
        let Some(step) = resolution.filter(|r| *r > 0.0) else {
            return Some(self.at_least);
        };
        let spread = (1.0 - lag1 * lag1).max(0.05).sqrt();
        let same = erf(step / (2.0 * spread) / std::f64::consts::SQRT_2);
        if same >= 1.0 {
            return None;
        }
        let steps = (self.chance.ln() / same.ln()).ceil();
        let needed = (1.0 + steps).max(self.at_least as f64);
        (needed <= self.at_most as f64).then_some(needed as usize)
    }
}

impl Rule for Repeat {
    fn name(&self) -> &'static str {
        "repeat"
    }

    fn asks(&self) -> String {
        format!(
            "A run of equal readings, at least {}, whose chance in a steady cabinet is below {} \
             given the resolution of the readings.",
            self.at_least, self.chance
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let Some(needed) = self.needed(input.resolution, input.lag1) else {
            return;
        };
        let needed = needed.max(2);
        let mut run = 0;
        let mut previous = f64::NAN;
        for (at, (&value, &after_gap)) in input.value.iter().zip(input.after_gap).enumerate() {
            run = kept(run, value == previous && !after_gap) + 1;
            previous = value;
            if run >= needed {
                firings.push(Firing {
                    at,
                    start: at + 1 - run,
                    direction: Direction::Neither,
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        format!(
            "The same reading {} {} times in a row, {}",
            told.value(told.known),
            told.readings,
            told.span()
        )
    }
}
