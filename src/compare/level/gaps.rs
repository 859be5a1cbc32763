//! Neighbouring readings by the gap between them, and the sums that a likelihood needs of them.
//!
//! It estimates nothing.

use crate::drift::whiten::GAP_EXPONENT;

/// A gap of up to a weekend carries over as much as a day; a longer one as that many
/// weekends to the power [`GAP_EXPONENT`], that of drift detection.
///
/// Noise that ages with the checks, which logs have beside noise that ages with the
/// calendar, carries over a weekend undiminished; to say that it does not would make a mean
/// look surer than it is. Measured on both kinds of noise.
const WEEKEND: f64 = 3.0;
/// Gaps are told apart to this share of the usual spacing; none counts as shorter.
pub(super) const GAP_STEP: f64 = 0.25;

/// Sums of products of the columns one, day and value.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Products {
    pub(super) one_one: f64,
    pub(super) one_day: f64,
    pub(super) one_value: f64,
    pub(super) day_day: f64,
    pub(super) day_value: f64,
    pub(super) value_value: f64,
}

impl Products {
    /// Adds `weight` times the symmetric products of two rows (day, value).
    pub(super) fn add(&mut self, (day_a, a): (f64, f64), (day_b, b): (f64, f64), weight: f64) {
        self.one_one += weight;
        self.one_day += weight * 0.5 * (day_a + day_b);
        self.one_value += weight * 0.5 * (a + b);
        self.day_day += weight * day_a * day_b;
        self.day_value += weight * 0.5 * (day_a * b + day_b * a);
        self.value_value += weight * a * b;
    }

    pub(super) fn add_scaled(&mut self, other: &Products, weight: f64) {
        self.one_one += weight * other.one_one;
        self.one_day += weight * other.one_day;
        self.one_value += weight * other.one_value;
        self.day_day += weight * other.day_day;
        self.day_value += weight * other.day_value;
        self.value_value += weight * other.value_value;
    }
}

/// The neighbours that lie one gap apart.
#[derive(Debug, Clone, Default)]
pub(super) struct Gap {
    /// What φ is raised to across this gap.
    pub(super) power: f64,
    pub(super) pairs: f64,
    pub(super) now: Products,
    pub(super) cross: Products,
    pub(super) before: Products,
}

/// What φ is raised to across a gap of so many usual spacings.
pub(super) fn power(spacings: f64) -> f64 {
    let counted = if spacings < 1.0 {
        spacings
    } else {
        (spacings / WEEKEND).max(1.0)
    };
    counted.powf(GAP_EXPONENT)
}
