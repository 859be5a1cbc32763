//! Quantities with units, and what is derived from the checks.

pub mod conformance;
