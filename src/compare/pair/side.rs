//! One side of a pair, reduced to what a difference needs, and how it would look after
//! more checks.
//!
//! Nothing here looks at the other side.

use crate::compare::level::Level;

/// A mean with its chance error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Side {
    pub(super) mean: f64,
    /// Chance variance of the mean.
    pub(super) variance: f64,
    /// Its degrees of freedom; infinite when it is rounding alone.
    pub(super) freedom: f64,
    /// How it shrinks with more checks; `None` when they would not help.
    pub(super) plan: Option<Plan>,
}

/// What the chance error of a level is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plan {
    n: f64,
    /// Long-run variance of a reading.
    reading: f64,
    carry_over: f64,
    /// The part of the mean's variance that stays: rounding.
    stays: f64,
}

impl Side {
    pub(super) fn of(level: &Level) -> Side {
        let plan = level.spread().map(|spread| Plan {
            n: level.n as f64,
            reading: spread.variance,
            carry_over: level.carry_over,
            stays: level.rounding_error * level.rounding_error,
        });
        Side {
            mean: level.mean,
            variance: level.standard_error * level.standard_error,
            freedom: level.freedom,
            plan,
        }
    }

    /// A mean without any error: no other side has smaller factors.
    pub(super) fn exact() -> Side {
        Side {
            mean: 0.0,
            variance: 0.0,
            freedom: f64::INFINITY,
            plan: None,
        }
    }

    /// The side after `more` checks, its mean, spread and carry-over being the present ones.
    ///
    /// The variance of the mean goes toward (1 + φ)/(1 − φ)·σ²/n and its degrees of freedom
    /// toward n(1 − φ)/(3 + φ), which the information on σ and φ gives for long series;
    /// what the present ones have beyond that fades as present over future checks.
    pub(super) fn after(self, more: f64) -> Side {
        let Some(plan) = self.plan else {
            return self;
        };
        let present = self.variance - plan.stays;
        if present <= 0.0 {
            return self;
        }
        let phi = plan.carry_over;
        let later = plan.n + more;
        let fades = plan.n / later;
        let planned = |n: f64| plan.reading * (1.0 + phi) / (1.0 - phi) / n;
        let freedom_planned = |n: f64| n * (1.0 - phi) / (3.0 + phi);
        let freedom = self.freedom * (present / self.variance).powi(2);
        let shrunk = planned(later) * (present / planned(plan.n)).powf(fades);
        let freer = freedom_planned(later) * (freedom / freedom_planned(plan.n)).powf(fades);
        let variance = shrunk + plan.stays;
        Side {
            variance,
            freedom: freer * (variance / shrunk).powi(2),
            ..self
        }
    }

    /// The side after checks without end: only what stays.
    pub(super) fn at_last(self) -> Side {
        match self.plan {
            None => self,
            Some(plan) => Side {
                variance: plan.stays.min(self.variance),
                freedom: f64::INFINITY,
                ..self
            },
        }
    }
}
