//! Cabinets and labs against each other.
//!
//! Everything below `whole` is pure functions over slices: no file is read here and no
//! sentence of a report written but those that a verdict needs.

pub mod level;
pub mod mismatch;
pub mod pair;
pub mod precision;
pub mod robust;
pub mod score;
mod whole;

pub use whole::{CompareOptions, Entrant, NotComparable, compare};
