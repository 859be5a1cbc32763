//! Plain statistics over slices of finite numbers.
//!
//! Sums, quantiles, the normal, t, chi-square, F and studentized range distributions and numerical
//! integration. What the numbers mean for a cabinet is the callers' business.

pub mod integrate;
pub mod normal;
pub mod p_value;
pub mod quantile;
pub mod studentized_range;
pub mod sum;
pub mod tails;

pub use p_value::p_text;

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

#[cfg(test)]
pub(crate) mod reference {
    //! Reads the reference tables: `#` lines are provenance, then a heading row.

    /// The rows of a reference table, each a list of cells; the heading is dropped.
    pub(crate) fn rows(text: &str) -> Vec<Vec<&str>> {
        let rows: Vec<Vec<&str>> = text
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
            .skip(1)
            .map(|line| line.split(',').collect())
            .collect();
        assert!(!rows.is_empty(), "an empty reference table checks nothing");
        rows
    }

    /// The same rows as numbers.
    pub(crate) fn numbers(text: &str) -> Vec<Vec<f64>> {
        rows(text)
            .into_iter()
            .map(|row| row.into_iter().map(|cell| cell.parse().unwrap()).collect())
            .collect()
    }

    /// Fails unless `found` is within `relative` of `expected`.
    #[track_caller]
    pub(crate) fn assert_close(found: f64, expected: f64, relative: f64, what: &str) {
        let off = (found - expected).abs();
        assert!(
            off <= relative * expected.abs(),
            "{what}: found {found:e}, expected {expected:e}, relative difference {:e}",
            off / expected.abs()
        );
    }
}
