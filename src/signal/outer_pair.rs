//! `outer-pair`: two of three readings far out on the same side.
//!
//! Western Electric (1956) test 2; Nelson (1984) test 5.

use super::counting::count_in_zone;
use super::{Direction, Firing, Rule, RuleInput, Told};

/// `count` of `of` readings in a row beyond `beyond` sigma on the same side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OuterPair {
    /// Readings in the zone.
    pub count: u32,
    /// Length of the window, at most 32.
    pub of: u32,
    /// Inner edge of the zone, in sigma.
    pub beyond: f64,
}

impl Default for OuterPair {
    fn default() -> Self {
        OuterPair {
            count: 2,
            of: 3,
            beyond: 2.0,
        }
    }
}

impl Rule for OuterPair {
    fn name(&self) -> &'static str {
        "outer-pair"
    }

    fn asks(&self) -> String {
        format!(
            "{} of {} readings in a row more than {} sigma from the centre line, on the same side.",
            self.count, self.of, self.beyond
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        count_in_zone(input, self.count, self.of, self.beyond, firings);
    }

    fn says(&self, told: &Told<'_>) -> String {
        zone_sentence(told, self.count, self.of, self.beyond)
    }
}

/// The sentence of both zone rules: how many readings beyond which level, and when.
pub(super) fn zone_sentence(told: &Told<'_>, count: u32, of: u32, beyond: f64) -> String {
    let (side, level) = match told.direction {
        Direction::Down => ("below", told.limits.centre - beyond * told.limits.sigma),
        _ => ("above", told.limits.centre + beyond * told.limits.sigma),
    };
    format!(
        "{count} of {of} readings in a row {side} {} ({beyond} sigma from the centre line), {}",
        told.level(level),
        told.span()
    )
}
