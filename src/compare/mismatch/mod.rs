//! Mismatch explained: how much of a coupon difference goes with which measured difference.
//!
//! Two cabinets (or labs) give coupons a different mass loss, and their daily checks
//! differ too. [`sensitivities`] says how much mass loss goes with one unit of each
//! characteristic, and how that is known; [`explain`] multiplies it by the measured
//! differences of a pair, ranks what goes with most, lays nothing to what the instruments
//! explain, and states the rest. Association, not cause.
//!
//! It does not read coupons or logs, does not compare levels (the differences come in with
//! their uncertainty), and does not say what is at fault.

mod check_next;
mod cholesky;
mod coupons;
mod draws;
mod explain;
mod input;
mod model;
mod needs;
mod regress;
mod say;
mod say_method;
mod sensitivity;
mod table;

pub use coupons::coupon_difference;
pub use draws::Ends;
pub use explain::{Amount, COVERAGE, PairExplanation, Part, explain};
pub use input::{
    CouponDifference, Difference, Level, MismatchError, Named, Observation, StatedSensitivity,
};
pub use sensitivity::{
    FEWEST_BETWEEN, FEWEST_DEGREES, Method, Sensitivities, Sensitivity, sensitivities,
};

#[cfg(test)]
mod explain_tests;
#[cfg(test)]
mod reference_tests;
#[cfg(test)]
mod sensitivity_tests;
#[cfg(test)]
mod simulation;
