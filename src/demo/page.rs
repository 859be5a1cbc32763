//! A generated file of the demo lab, and the dirt that was put into it on purpose.

use super::DemoError;
use super::daily::Check;
use crate::quantity::brine::BrineAt;
use crate::quantity::units::{Celsius, Density, MassFraction};
use serde::Serialize;

/// A file of the demo lab.
#[derive(Debug)]
pub(super) struct Page {
    /// Path relative to the lab folder.
    pub(super) path: String,
    /// Its content.
    pub(super) bytes: Vec<u8>,
    /// What is dirty in it.
    pub(super) dirt: Vec<Dirt>,
}

/// Something in a log that is not a plain reading.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Dirt {
    /// Path relative to the lab folder.
    pub(super) path: String,
    /// Sheet of a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) sheet: Option<String>,
    /// Line or row, from 1.
    pub(super) line: u64,
    /// Heading of the column; none when the whole row is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) column: Option<String>,
    /// What stands there.
    pub(super) found: String,
    /// What it is.
    pub(super) kind: DirtKind,
}

/// Kinds of dirt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum DirtKind {
    /// `n/a`, `-`: nothing was read.
    NotAvailable,
    /// `<1`: below what could be read.
    BelowRange,
    /// `6.8*`: a number with a mark.
    Marked,
    /// `68` for 6.8.
    Typo,
    /// `118 F`: the unit beside the number.
    UnitBeside,
    /// A row without content.
    BlankRow,
    /// The heading once more.
    RepeatedHeading,
    /// Averages below the checks.
    TotalsRow,
    /// A check written twice with different values.
    Contradiction,
    /// A coupon whose edges were not all written down.
    MissingArea,
    /// A coupon that lost far more than its neighbours.
    Outlier,
}

/// The value rounded to a multiple of `step`, as an instrument or a person rounds it.
pub(super) fn to_step(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

/// The value rounded to `step` and written with that many decimals.
pub(super) fn written(value: f64, step: f64, decimals: usize) -> String {
    format!("{:.*}", decimals, to_step(value, step))
}

/// Density of the catch as the hydrometer showed it at `celsius`, kg/m³.
///
/// # Errors
/// [`DemoError::Brine`] when the scenario leaves the range of the brine model.
pub(super) fn density(check: &Check, celsius: f64) -> Result<f64, DemoError> {
    let Density(true_density) =
        BrineAt::new(Celsius(celsius))?.density(MassFraction(check.salt))?;
    Ok(true_density + check.hydrometer_error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_follows_the_step() {
        assert_eq!(written(35.24, 0.5, 1), "35.0");
        assert_eq!(written(35.26, 0.5, 1), "35.5");
        assert_eq!(written(0.976, 0.05, 2), "1.00");
    }
}
