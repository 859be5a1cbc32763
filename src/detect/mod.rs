//! The watch: rules that learn from every reading, with one false-alarm budget for all.
//!
//! Where `signal` holds the published pattern tests against limits of a baseline, the
//! rules here know how little a short baseline tells, how readings hang together in time
//! and how they are rounded, and are calibrated together: a steady series signals by
//! chance about once in the number of checks asked for (370 by default). Pure functions;
//! no I/O, no clock. Dating, sizing and forecasting a change is `drift`'s.
//!
//! The rules: `ramp` (lasting change, slope or step), `beyond-limit` (one reading),
//! `spread` (scatter), `repeat` (copied or stuck values). `smoothed` and `accumulated`
//! are the classical charts, offered beside the default set.

pub mod accumulated;
mod change;
mod outlier;
mod repeat;
pub mod smoothed;
mod spread;
mod sums;
#[cfg(test)]
mod tests;
mod told;
mod watch;

pub use watch::{Budget, Readings, Stretch, watch};
