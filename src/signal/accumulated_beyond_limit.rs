//! `accumulated-beyond-limit`: distances from the centre line, accumulated, beyond a limit.
//!
//! The tabular cumulative sum of Page, Biometrika 41 (1954) 100, from memory (the chart is that
//! of NIST/SEMATECH e-Handbook 6.3.2.3): every reading adds its distance from the centre
//! line less a slack, on either side, and never below 0. The change is taken to begin at
//! the first reading since the sum was last 0. One far reading raises the sum too and wears
//! off by the slack a reading; it is `beyond-limit`'s to tell.
//!
//! Ours: it runs on readings less what carried over from the one before; it starts anew
//! after a gap; what is older than 63 readings is forgotten; and in a set with allowances
//! the slack grows by the standard error of the centre line and sigma is larger for what a
//! short or rounded baseline leaves unknown of it.

use super::carry_over::{self, MEMORY, centre_error, fresh, scatter, stretches};
use super::{Direction, Firing, Rule, RuleInput, Told};
use crate::detect::accumulated::{Accumulated, Accumulating, chart};

/// The sum of distances less `slack` beyond `decision`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AccumulatedBeyondLimit {
    /// Slack taken off every distance, in sigma: half the shift to be seen; not below 0,
    /// else the rule never fires.
    pub slack: f64,
    /// Sum beyond which it fires, in sigma; above 0.
    pub decision: f64,
}

impl Default for AccumulatedBeyondLimit {
    /// One false alarm in 465 independent readings with known limits (Lucas 1976, from
    /// memory).
    fn default() -> Self {
        AccumulatedBeyondLimit {
            slack: 0.5,
            decision: 5.0,
        }
    }
}

impl Rule for AccumulatedBeyondLimit {
    fn name(&self) -> &'static str {
        "accumulated-beyond-limit"
    }

    fn asks(&self) -> String {
        format!(
            "The accumulated distance of the readings since the last gap from the centre line \
             (less {} sigma each, what carries over from reading to reading taken off) more than \
             {} sigma.",
            self.slack, self.decision
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let scatter = scatter(&input.allowance);
        let settings = Accumulating {
            slack: self.slack + centre_error(&input.allowance) / scatter,
            decision: self.decision,
            head_start: 0.0,
        };
        let fresh: Vec<f64> = fresh(input).iter().map(|z| z / scatter).collect();
        for stretch in stretches(input.after_gap) {
            let values = fresh.get(stretch.clone()).unwrap_or(&[]);
            for (i, point) in chart(values, settings).iter().enumerate() {
                if !point.fires {
                    continue;
                }
                let first = (i + 1).saturating_sub(MEMORY);
                // A sum that was 0 since then is the same without the readings before; no
                // sum is larger without them, so one that does not fire needs no second look.
                let fired = if point.start >= first {
                    Some((*point, 0))
                } else {
                    let window = values.get(first..=i).unwrap_or(&[]);
                    chart(window, settings).last().map(|point| (*point, first))
                };
                let Some((point, before)) = fired.filter(|(point, _)| point.fires) else {
                    continue;
                };
                firings.push(Firing {
                    at: stretch.start + i,
                    start: stretch.start + before + point.start,
                    direction: direction(&point),
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let side = match told.direction {
            Direction::Down => "below",
            _ => "above",
        };
        format!(
            "The accumulated distance {side} the centre line is beyond {} sigma, {}",
            self.decision,
            carry_over::says(told)
        )
    }
}

/// The side of the larger sum, whose start the point holds.
fn direction(point: &Accumulated) -> Direction {
    if point.upper >= point.lower {
        Direction::Up
    } else {
        Direction::Down
    }
}

#[cfg(test)]
#[path = "accumulated_beyond_limit_tests.rs"]
mod tests;
