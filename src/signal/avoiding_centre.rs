//! `avoiding-centre`: readings on both sides of the centre line, none near it.
//!
//! Nelson (1984) test 8; Western Electric (1956) calls the pattern mixture. Two
//! operators, two meters or two funnels written in one column look like this. A
//! rounded reading counts only when every value it may stand for is outside.

use super::counting::runs_of;
use super::{Firing, Rule, RuleInput, Told};

/// `at_least` readings in a row beyond `beyond` sigma, on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AvoidingCentre {
    /// Readings in a row.
    pub at_least: usize,
    /// Edge of the empty zone, in sigma.
    pub beyond: f64,
}

impl Default for AvoidingCentre {
    fn default() -> Self {
        AvoidingCentre {
            at_least: 8,
            beyond: 1.0,
        }
    }
}

impl Rule for AvoidingCentre {
    fn name(&self) -> &'static str {
        "avoiding-centre"
    }

    fn asks(&self) -> String {
        format!(
            "At least {} readings in a row more than {} sigma from the centre line, on either side.",
            self.at_least, self.beyond
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let edge = self.beyond + 0.5 * input.resolution.unwrap_or(0.0);
        runs_of(input, self.at_least, |z| z.abs() > edge, firings);
    }

    fn says(&self, told: &Told<'_>) -> String {
        let reach = self.beyond * told.limits.sigma;
        format!(
            "{} readings in a row, none between {} and {} around the centre line, {}",
            told.readings,
            told.bare_level(told.limits.centre - reach),
            told.level(told.limits.centre + reach),
            told.span()
        )
    }
}
