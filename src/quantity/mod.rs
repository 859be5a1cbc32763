//! Quantities with units, and what is derived from the checks.

pub mod brine;
pub mod conformance;
pub mod units;
