//! Newtypes for the quantities that are easily mistaken for one another.
//!
//! They carry the unit in the type and nothing else; columns of readings stay plain
//! slices whose unit their [`crate::intake::checks::Measure`] names.

/// A temperature, °C.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

/// A density, kg/m³.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Density(pub f64);

/// Mass of salt over mass of solution, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct MassFraction(pub f64);

/// A gauge pressure, kPa.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Kilopascals(pub f64);

impl MassFraction {
    /// The fraction of that many percent by mass.
    pub fn from_percent(percent: f64) -> MassFraction {
        MassFraction(percent / 100.0)
    }
    /// Percent by mass.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }
    /// Grams of salt in a litre of a solution of that density.
    ///
    /// Fraction times density in kg/m³, which is g/L.
    pub fn grams_per_litre(self, density: Density) -> f64 {
        self.0 * density.0
    }
}
