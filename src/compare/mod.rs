//! Cabinets and labs against each other.
//!
//! Pure statistics over numbers that others prepared; it reads no files and no clock.

pub mod mismatch;
