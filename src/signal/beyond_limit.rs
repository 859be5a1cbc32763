//! `beyond-limit`: one reading beyond the control limits.
//!
//! Shewhart's own rule; Western Electric (1956) test 1, Nelson (1984) test 1. In a set
//! with allowances a reading must be beyond for certain: every value that a rounded
//! reading may stand for, and with regard to how well a short baseline knows its limits.

use super::wording::with_unit;
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
        let reach = input.allowance.reach(self.sigmas);
        for (at, &z) in input.z.iter().enumerate() {
            if z.abs() > reach {
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
        let (side, end, way) = match told.direction {
            Direction::Down => ("below", "lower", -1.0),
            _ => ("above", "upper", 1.0),
        };
        let level = |sigmas: f64| told.limits.centre + way * sigmas * told.limits.sigma;
        let levels = [level(self.sigmas), level(told.allowance.reach(self.sigmas))];
        let (reading, levels) = told.compared(told.reading(), &levels);
        let unit = told.chart.series.unit();
        let [limit, allowed] = levels.as_slice() else {
            return String::new();
        };
        format!(
            "The reading {} {} is {side} the {end} control limit {}{}",
            with_unit(&reading, unit),
            told.span(),
            with_unit(limit, unit),
            told.allowing(allowed)
        )
    }
}
