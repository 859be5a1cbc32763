//! Headings: what a column is, in which unit, and why we think so.
//!
//! [`read`] looks at one heading; [`recognise_row`] at the whole row with samples, the
//! lab's own characteristics and the rules of `lab.toml`. Neither guesses: what stays
//! open is left out with the exact lines of `lab.toml` that settle it.

mod hint;
mod lexicon;
mod neighbours;
mod parts;
mod row;
mod sense;

pub use hint::snippet;
pub use row::{ColumnReading, Outcome, RowContext, Samples, recognise_row};

use super::role::Role;
use super::unit::Unit;
use crate::lab::GravityReference;

/// What one heading says by itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeadingReading {
    /// What the column is; `None` when unknown or ambiguous.
    pub role: Option<Role>,
    /// The unit stated.
    pub unit: Option<Unit>,
    /// The reference of a specific gravity, where the heading states it whole (`20/4`, or a
    /// unit of density).
    pub gravity: Option<GravityReference>,
    /// The temperature stated for a specific gravity, °C, also where nothing tells what
    /// the gravity is relative to (`SG @ 25 °C`) and `gravity` is therefore `None`.
    pub gravity_temperature: Option<f64>,
    /// Length of the collection period stated, h (`mL/16 h`, `16 h catch`). Where the
    /// unit is a rate over that period, the conversion to mL/h already accounts for it.
    pub collection_hours: Option<f64>,
    /// Collecting area of the funnel stated, or computed from a stated diameter, cm².
    pub funnel_area_cm2: Option<f64>,
    /// Why, as a sentence without its full stop.
    pub why: String,
    /// What it may be, when ambiguous.
    pub alternatives: Vec<Role>,
}

/// Reads one heading; the two rows of a two-row heading are joined by ` | `.
pub fn read(heading: &str) -> HeadingReading {
    sense::read(heading)
}

#[cfg(test)]
mod tests;
