//! `range-beyond-limit`: a jump between two checks beyond the moving range's limit.
//!
//! The upper limit of the moving-range chart (NIST/SEMATECH e-Handbook 6.3.2.2).
//! Moving ranges are autocorrelated by construction, so no zone test applies to them.

use super::wording::with_unit;
use super::{Allowance, Direction, Firing, Rule, RuleInput, Told};
use crate::chart::constants::{D2_OF_TWO, D3_OF_TWO};

/// Upper limit of the moving range of two, in sigma.
const LIMIT_IN_SIGMA: f64 = D2_OF_TWO + 3.0 * D3_OF_TWO;

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

impl RangeBeyondLimit {
    /// The multiple of the upper limit asked for with that allowance.
    ///
    /// Two rounded readings may both lie half a step nearer to each other than written;
    /// the upper limit is 3.686 sigma of independent readings (d2 + 3 d3).
    fn reach(&self, allowance: &Allowance) -> f64 {
        self.times * allowance.widening + 2.0 * allowance.rounding / LIMIT_IN_SIGMA
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
        let reach = self.reach(&input.allowance);
        for (at, &ratio) in input.range_ratio.iter().enumerate() {
            // NaN (no range taken) compares false.
            if ratio > reach {
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
        let limit = told.limits.moving_range_upper;
        let levels = [limit, limit * self.reach(&told.allowance)];
        let (jump, levels) = told.compared(told.range(), &levels);
        let [limit, allowed] = levels.as_slice() else {
            return String::new();
        };
        format!(
            "A jump of {jump} to {} {}, {more_than} the moving range's upper limit {}{}",
            told.value(told.known),
            told.span(),
            with_unit(limit, told.chart.series.unit()),
            told.allowing(allowed)
        )
    }
}
