//! Plain statistics over slices of finite numbers.

/// A point estimate with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The estimate.
    pub point: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Level, as 0.95.
    pub level: f64,
}
