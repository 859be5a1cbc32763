//! Renderers: each turns the wire format into bytes and computes nothing.
//!
//! They round, lay out and word what [`wire::Review`] holds. No renderer decides a
//! verdict, derives a statistic, reads a file or looks at the clock, so the same review
//! gives the same bytes.

pub mod compare;
pub mod format;
pub mod html;
pub mod json;
pub mod plot;
pub mod terminal;
pub mod wire;

#[cfg(test)]
pub(crate) mod fixture;
