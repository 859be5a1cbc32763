//! `range-beyond-limit`: a jump between two checks beyond the moving range's limit.
//!
//! The upper limit of the moving-range chart (NIST/SEMATECH e-Handbook 6.3.2.2).
//! Moving ranges are autocorrelated by construction, so no zone test applies to them.

use super::{Direction, Firing, Rule, RuleInput, Told};

/// One moving range more than `times` its upper limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeBeyondLimit {
    /// Multiple of the upper limit, normally 1.
    pub times: f64,
}

impl Default for RangeBeyondLimit {
    fn default() -> Self {
        RangeBeyondLimit { times: 1.0 }
    }
}

impl Rule for RangeBeyondLimit {
    fn name(&self) -> &'static str {
        "range-beyond-limit"
    }

    fn asks(&self) -> String {
        if self.times == 1.0 {
            "One moving range above its upper limit.".to_owned()
        } else {
            format!(
                "One moving range more than {} times its upper limit.",
                self.times
            )
        }
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        for (at, &ratio) in input.range_ratio.iter().enumerate() {
            // NaN (no range taken) compares false.
            if ratio > self.times {
                firings.push(Firing {
                    at,
                    start: at,
                    direction: Direction::Neither,
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let more_than = if self.times == 1.0 {
            "more than".to_owned()
        } else {
            format!("more than {} times", self.times)
        };
        format!(
            "A jump of {} to {} {}, {more_than} the moving range's upper limit {}",
            told.jump(),
            told.value(told.known),
            told.span(),
            told.level(told.limits.moving_range_upper)
        )
    }
}
