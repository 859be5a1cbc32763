//! `beyond-limit`: one reading beyond the control limits.
//!
//! Shewhart's own rule; Western Electric (1956) test 1, Nelson (1984) test 1.

use super::{Direction, Firing, Rule, RuleInput, Told};

/// One reading more than `sigmas` from the centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeyondLimit {
    /// Distance of the limit from the centre line, in sigma.
    pub sigmas: f64,
}

impl Default for BeyondLimit {
    fn default() -> Self {
        BeyondLimit { sigmas: 3.0 }
    }
}

impl Rule for BeyondLimit {
    fn name(&self) -> &'static str {
        "beyond-limit"
    }

    fn asks(&self) -> String {
        format!(
            "One reading more than {} sigma from the centre line.",
            self.sigmas
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        for (at, &z) in input.z.iter().enumerate() {
            if z.abs() > self.sigmas {
                let direction = if z > 0.0 {
                    Direction::Up
                } else {
                    Direction::Down
                };
                firings.push(Firing {
                    at,
                    start: at,
                    direction,
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let (side, end, limit) = match told.direction {
            Direction::Down => (
                "below",
                "lower",
                told.limits.centre - self.sigmas * told.limits.sigma,
            ),
            _ => (
                "above",
                "upper",
                told.limits.centre + self.sigmas * told.limits.sigma,
            ),
        };
        format!(
            "The reading {} {} is {side} the {end} control limit {}",
            told.value(told.known),
            told.span(),
            told.level(limit)
        )
    }
}
