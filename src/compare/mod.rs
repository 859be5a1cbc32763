//! Cabinets and labs against each other.
//!
//! Pure functions over slices: no file is read here and no sentence of a report written.

pub mod robust;
pub mod score;
