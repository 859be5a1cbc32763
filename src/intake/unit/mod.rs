//! The units people write in logs, and how each becomes the canonical unit of a measure.
//!
//! A unit carries its dimension in its variant, so a temperature cannot be converted
//! as a pressure. How units are written is `parse`'s, the factors are `convert`'s.
//! It does not know headings: which column has which unit is `heading`'s.

mod convert;
mod parse;
mod spellings;

pub use convert::{Conversion, UnitMismatch};

use std::fmt;

/// A scale of temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Temperature {
    /// °C.
    Celsius,
    /// °F.
    Fahrenheit,
    /// K.
    Kelvin,
}

/// A unit of pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pressure {
    /// Pa.
    Pascal,
    /// hPa, the same as mbar.
    Hectopascal,
    /// kPa.
    Kilopascal,
    /// MPa.
    Megapascal,
    /// bar.
    Bar,
    /// Pound-force per square inch.
    Psi,
    /// Kilogram-force per square centimetre (technical atmosphere, `at`).
    KilogramForcePerSquareCentimetre,
    /// Standard atmosphere, 101.325 kPa.
    Atmosphere,
}

/// What a written pressure is measured from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PressureReference {
    /// Nothing is said: taken as what the gauge shows, and told.
    Unstated,
    /// Above the surrounding air.
    Gauge,
    /// Above vacuum: not usable as gauge pressure.
    Absolute,
}

/// A unit of volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Volume {
    /// mL, the same as cm³ and cc.
    Millilitre,
    /// L.
    Litre,
}

/// A unit of time, for durations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Duration {
    /// min.
    Minute,
    /// h.
    Hour,
    /// Day of 24 h.
    Day,
}

/// What a percentage of salt refers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PercentBasis {
    /// A bare `%`: taken as by mass, and told.
    Unstated,
    /// Grams of salt in 100 g of solution.
    Mass,
}

/// A unit of mass of salt per volume of solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MassConcentration {
    /// g/L; as a unit of density, the same as kg/m³.
    GramPerLitre,
    /// g per 100 mL, also written `% w/v`.
    GramPer100Millilitres,
}

/// A unit of density.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Density {
    /// g/cm³, the same as g/mL and kg/L.
    GramPerCubicCentimetre,
    /// kg/m³.
    KilogramPerCubicMetre,
}

/// A unit as a log states it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// Of temperature.
    Temperature(Temperature),
    /// Of pressure, with what it is measured from.
    Pressure(Pressure, PressureReference),
    /// Of volume.
    Volume(Volume),
    /// Of volume over a period, as `mL/h`, `mL/16 h`, by one collector.
    Rate {
        /// The volume.
        volume: Volume,
        /// The period, minutes.
        minutes: u32,
    },
    /// Of volume over a period and a horizontal area, as `mL/h per 80 cm²`.
    NormalisedRate {
        /// The volume.
        volume: Volume,
        /// The period, minutes.
        minutes: u32,
        /// The area, mm².
        area_mm2: u32,
    },
    /// Of volume over an area with no period, as `mL/80 cm²`: a rate once the period is known.
    VolumePerArea {
        /// The volume.
        volume: Volume,
        /// The area, mm².
        area_mm2: u32,
    },
    /// Of duration.
    Duration(Duration),
    /// Percent.
    Percent(PercentBasis),
    /// Of mass of salt per volume.
    MassConcentration(MassConcentration),
    /// Of density.
    Density(Density),
    /// None needed: pH, a relative density.
    One,
}

impl fmt::Display for Unit {
    /// The unit as reports and `lab.toml` write it; [`Unit::parse`] reads it back.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Unit::Temperature(Temperature::Celsius) => f.write_str("°C"),
            Unit::Temperature(Temperature::Fahrenheit) => f.write_str("°F"),
            Unit::Temperature(Temperature::Kelvin) => f.write_str("K"),
            Unit::Pressure(unit, reference) => {
                f.write_str(match unit {
                    Pressure::Pascal => "Pa",
                    Pressure::Hectopascal => "hPa",
                    Pressure::Kilopascal => "kPa",
                    Pressure::Megapascal => "MPa",
                    Pressure::Bar => "bar",
                    Pressure::Psi => "psi",
                    Pressure::KilogramForcePerSquareCentimetre => "kgf/cm²",
                    Pressure::Atmosphere => "atm",
                })?;
                f.write_str(match reference {
                    PressureReference::Unstated => "",
                    PressureReference::Gauge => "(g)",
                    PressureReference::Absolute => "(a)",
                })
            }
            Unit::Volume(volume) => write!(f, "{volume}"),
            Unit::Rate { volume, minutes } => write!(f, "{volume}/{}", Period(minutes)),
            Unit::NormalisedRate {
                volume,
                minutes,
                area_mm2,
            } => write!(
                f,
                "{volume}/{} per {} cm²",
                Period(minutes),
                f64::from(area_mm2) / 100.0
            ),
            Unit::VolumePerArea { volume, area_mm2 } => {
                write!(f, "{volume} per {} cm²", f64::from(area_mm2) / 100.0)
            }
            Unit::Duration(Duration::Minute) => f.write_str("min"),
            Unit::Duration(Duration::Hour) => f.write_str("h"),
            Unit::Duration(Duration::Day) => f.write_str("d"),
            Unit::Percent(PercentBasis::Unstated) => f.write_str("%"),
            Unit::Percent(PercentBasis::Mass) => f.write_str("% by mass"),
            Unit::MassConcentration(MassConcentration::GramPerLitre) => f.write_str("g/L"),
            Unit::MassConcentration(MassConcentration::GramPer100Millilitres) => {
                f.write_str("g/100 mL")
            }
            Unit::Density(Density::GramPerCubicCentimetre) => f.write_str("g/cm³"),
            Unit::Density(Density::KilogramPerCubicMetre) => f.write_str("kg/m³"),
            Unit::One => f.write_str("1"),
        }
    }
}

impl fmt::Display for Volume {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Volume::Millilitre => "mL",
            Volume::Litre => "L",
        })
    }
}

/// A period in minutes, written in hours where it is a whole number of them.
struct Period(u32);

impl fmt::Display for Period {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.0, self.0 % 60) {
            (1, _) => f.write_str("min"),
            (60, _) => f.write_str("h"),
            (minutes, 0) => write!(f, "{} h", minutes / 60),
            (minutes, _) => write!(f, "{minutes} min"),
        }
    }
}

#[cfg(test)]
mod tests;
