//! Times of day as written.

use super::{DateRefusal, TimeReading};

/// Reads a cell with a time of day.
pub fn read_time(text: &str) -> TimeReading {
    let _ = text;
    TimeReading::Refused(DateRefusal::NotATime)
}
