//! Quantities with units, and what is derived from the checks.
//!
//! `brine`, `gravity`, `collection`, `mass_loss`, `silver_nitrate` and `tower` are the physics and
//! arithmetic of single readings; `derive` turns the checks of a cabinet into series
//! with `marks` from the lab's events; `conformance` holds a period against the
//! standard's windows, whose `limits` for a single reading may depend on its check. No I/O, no clock.

pub mod brine;
pub mod collection;
pub mod conformance;
pub mod derive;
pub mod gravity;
mod hints;
mod limits;
mod marks;
pub mod mass_loss;
pub mod silver_nitrate;
mod solution;
pub mod tower;
pub mod units;
