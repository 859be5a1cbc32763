//! `hugging-centre`: readings that stay closer to the centre line than chance allows.
//!
//! Nelson (1984) test 7; Western Electric (1956) calls the pattern stratification.
//! It speaks of limits that are too wide, or of readings written down from habit. A
//! rounded reading counts only when every value it may stand for is inside.

use super::counting::runs_of;
use super::{Firing, Rule, RuleInput, Told};

/// `at_least` readings in a row within `within` sigma of the centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HuggingCentre {
    /// Readings in a row.
    pub at_least: usize,
    /// Edge of the zone, in sigma.
    pub within: f64,
}

impl Default for HuggingCentre {
    fn default() -> Self {
        HuggingCentre {
            at_least: 15,
            within: 1.0,
        }
    }
}

impl Rule for HuggingCentre {
    fn name(&self) -> &'static str {
        "hugging-centre"
    }

    fn asks(&self) -> String {
        format!(
            "At least {} readings in a row within {} sigma of the centre line.",
            self.at_least, self.within
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let edge = self.within - 0.5 * input.resolution.unwrap_or(0.0);
        runs_of(input, self.at_least, |z| z.abs() < edge, firings);
    }

    fn says(&self, told: &Told<'_>) -> String {
        let reach = self.within * told.limits.sigma;
        format!(
            "{} readings in a row between {} and {}, within {} sigma of the centre line, {}",
            told.readings,
            told.bare_level(told.limits.centre - reach),
            told.level(told.limits.centre + reach),
            self.within,
            told.span()
        )
    }
}
