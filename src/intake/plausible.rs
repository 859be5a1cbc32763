//! What a reading can be at all, and what it usually is.
//!
//! [`possible`] rejects a cell (a typing slip, a wrong column); `usual` only suggests
//! the unit of a column that states none. Both are common practice, no source: they are
//! not conformance limits, and lie far outside every standard's window.

use super::checks::Measure;
use super::role::Role;
use super::unit::{
    Density, Duration, MassConcentration, PercentBasis, Pressure, PressureReference, Temperature,
    Unit, Volume,
};

/// A closed range in a measure's canonical unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// The canonical unit, empty for pH and relative density.
    pub unit: &'static str,
}

impl Range {
    const fn new(low: f64, high: f64, unit: &'static str) -> Range {
        Range { low, high, unit }
    }

    /// Whether the value lies within; NaN does not.
    pub fn contains(&self, value: f64) -> bool {
        value >= self.low && value <= self.high
    }

    /// What is wrong with a value outside, as a sentence.
    pub fn problem(&self, value: f64) -> String {
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        format!(
            "{}{unit} cannot be: expected between {} and {}{unit}",
            rounded(value),
            self.low,
            self.high
        )
    }
}

/// Six significant digits: a converted value shows no binary noise.
fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// What to do about a cell outside its possible range.
pub const OUTSIDE_HINT: &str = "correct the cell, or the unit of the column in lab.toml";

/// What a reading of that measure can be at all, in canonical units; `None` where
/// anything can be (own characteristics).
///
/// ```
/// use steadyfog::intake::{checks::Measure, plausible::possible};
/// assert!(possible(&Measure::Ph).is_some_and(|r| r.contains(6.8) && !r.contains(68.0)));
/// ```
pub fn possible(measure: &Measure) -> Option<Range> {
    Some(match measure {
        // The hottest published regime runs at 50 °C; a cabinet that is off shows the room.
        Measure::CabinetTemperature => Range::new(0.0, 80.0, "°C"),
        Measure::TowerTemperature => Range::new(10.0, 110.0, "°C"),
        Measure::AirPressure => Range::new(0.0, 700.0, "kPa"),
        Measure::CaughtVolume(_) => Range::new(0.0, 1000.0, "mL"),
        Measure::CaughtRate(_) => Range::new(0.0, 50.0, "mL/h"),
        Measure::NormalisedRate(_) => Range::new(0.0, 50.0, "mL/h per 80 cm²"),
        Measure::CollectionHours => Range::new(0.0, 400.0, "h"),
        Measure::Ph => Range::new(0.0, 14.0, ""),
        Measure::SpecificGravity => Range::new(0.9, 1.3, ""),
        Measure::Density => Range::new(900.0, 1300.0, "kg/m³"),
        Measure::GravityTemperature => Range::new(0.0, 60.0, "°C"),
        // Saturated brine holds 26.4 % by mass, 318 g/L.
        Measure::SaltMassPercent => Range::new(0.0, 30.0, "% by mass"),
        Measure::SaltGramsPerLitre => Range::new(0.0, 360.0, "g/L"),
        Measure::Own(_) => return None,
    })
}

/// What readings of a role usually are in canonical units, by the unit they may be in.
fn usual(measure: &Measure) -> Option<Range> {
    Some(match measure {
        Measure::CabinetTemperature => Range::new(20.0, 58.0, "°C"),
        Measure::TowerTemperature => Range::new(30.0, 85.0, "°C"),
        Measure::AirPressure => Range::new(40.0, 300.0, "kPa"),
        Measure::CaughtVolume(_) => Range::new(8.0, 120.0, "mL"),
        Measure::CaughtRate(_) => Range::new(0.3, 5.0, "mL/h"),
        Measure::NormalisedRate(_) => Range::new(0.3, 5.0, "mL/h per 80 cm²"),
        Measure::CollectionHours => Range::new(1.0, 120.0, "h"),
        Measure::GravityTemperature => Range::new(15.0, 40.0, "°C"),
        Measure::SaltMassPercent => Range::new(2.0, 8.0, "% by mass"),
        Measure::SaltGramsPerLitre => Range::new(25.0, 80.0, "g/L"),
        Measure::SpecificGravity => Range::new(0.98, 1.1, ""),
        Measure::Density => Range::new(980.0, 1100.0, "kg/m³"),
        Measure::Ph => Range::new(2.0, 9.0, ""),
        Measure::Own(_) => return None,
    })
}

/// The units a role may be in, the commonest first.
fn candidates(role: &Role) -> Vec<Unit> {
    let pressure = |unit| Unit::Pressure(unit, PressureReference::Unstated);
    match role {
        Role::CabinetTemperature | Role::TowerTemperature | Role::GravityTemperature => vec![
            Unit::Temperature(Temperature::Celsius),
            Unit::Temperature(Temperature::Fahrenheit),
            Unit::Temperature(Temperature::Kelvin),
        ],
        Role::AirPressure => vec![
            pressure(Pressure::Kilopascal),
            pressure(Pressure::Bar),
            pressure(Pressure::Psi),
            pressure(Pressure::KilogramForcePerSquareCentimetre),
            pressure(Pressure::Megapascal),
            pressure(Pressure::Hectopascal),
        ],
        Role::Collection(_) => vec![
            Unit::Volume(Volume::Millilitre),
            Unit::Rate {
                volume: Volume::Millilitre,
                minutes: 60,
            },
            Unit::NormalisedRate {
                volume: Volume::Millilitre,
                minutes: 60,
                area_mm2: 8000,
            },
        ],
        Role::CollectionHours => vec![
            Unit::Duration(Duration::Hour),
            Unit::Duration(Duration::Minute),
        ],
        Role::SaltConcentration => vec![
            Unit::Percent(PercentBasis::Mass),
            Unit::MassConcentration(MassConcentration::GramPer100Millilitres),
            Unit::MassConcentration(MassConcentration::GramPerLitre),
        ],
        Role::SpecificGravity => vec![Unit::One, Unit::Density(Density::KilogramPerCubicMetre)],
        _ => Vec::new(),
    }
}

/// The unit a role is commonest in; `None` where it needs none.
pub(super) fn usual_unit(role: &Role) -> Option<Unit> {
    candidates(role)
        .first()
        .copied()
        .filter(|u| *u != Unit::One)
}

/// Units in which all but a tenth of the samples would be usual readings, the commonest
/// unit first; empty without samples or when none fits.
///
/// A suggestion for a person to confirm, never a decision.
pub fn likely_units(role: &Role, samples: &[f64]) -> Vec<Unit> {
    if samples.is_empty() {
        return Vec::new();
    }
    let fits = |unit: &Unit| -> bool {
        let Some(Ok((measure, conversion))) = role.measure(*unit) else {
            return false;
        };
        usual(&measure).is_some_and(|range| {
            let inside = samples
                .iter()
                .filter(|v| range.contains(conversion.apply(**v)))
                .count();
            inside * 10 >= samples.len() * 9
        })
    };
    candidates(role).into_iter().filter(fits).collect()
}

#[cfg(test)]
mod tests;
