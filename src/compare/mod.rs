//! Cabinets and labs against each other.
//!
//! Pure functions over slices; no I/O, no clock.

pub mod level;
pub mod pair;
