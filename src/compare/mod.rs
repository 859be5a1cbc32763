//! Comparing cabinets and labs by published statistics.

pub mod precision;
