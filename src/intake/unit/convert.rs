//! Exact conversion of a written unit to the canonical unit of a measure.
//!
//! Factors are definitions, not measurements: the pound-force per square inch from the
//! international pound (0.453 592 37 kg), the inch (25.4 mm) and standard gravity
//! (9.806 65 m/s²); see NIST Special Publication 811, appendix B.8 (from memory).

use super::{Density, Duration, MassConcentration, PercentBasis, Pressure, PressureReference};
use super::{Temperature, Unit, Volume};
use crate::intake::checks::Measure;
use thiserror::Error;

/// 1 psi in kPa: 0.453 592 37 × 9.806 65 / 0.0254² / 1000.
const KPA_PER_PSI: f64 = 6.894_757_293_168_361;

/// The collecting area that rates are stated for, cm² (ISO 9227 and ASTM B117).
const REFERENCE_AREA_CM2: f64 = 80.0;

/// From a written number to the canonical unit: subtract, multiply, then divide.
///
/// Three steps instead of one factor, because `(x − 32) × 5 / 9` is exact at the
/// values people set cabinets to (95 °F is 35 °C) and a rounded factor is not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    minus: f64,
    times: f64,
    over: f64,
}

impl Conversion {
    /// The written number is canonical already.
    pub const SAME: Conversion = Conversion::new(0.0, 1.0, 1.0);

    const fn new(minus: f64, times: f64, over: f64) -> Conversion {
        Conversion { minus, times, over }
    }

    const fn ratio(times: f64, over: f64) -> Conversion {
        Conversion::new(0.0, times, over)
    }

    /// The canonical value of a written one; NaN stays NaN.
    ///
    /// ```
    /// use steadyfog::intake::{checks::Measure, unit::Unit};
    /// let to_celsius = Unit::parse("°F").map(|unit| unit.to(&Measure::CabinetTemperature));
    /// assert!(matches!(to_celsius, Some(Ok(c)) if c.apply(95.0) == 35.0));
    /// ```
    #[inline]
    pub fn apply(&self, written: f64) -> f64 {
        let moved = written - self.minus;
        // Exact either way, and a division costs more than all the rest.
        if self.times == 1.0 && self.over == 1.0 {
            moved
        } else {
            moved * self.times / self.over
        }
    }

    /// The written value of a canonical one.
    pub fn invert(&self, canonical: f64) -> f64 {
        canonical * self.over / self.times + self.minus
    }

    /// Whether numbers pass through unchanged.
    pub fn is_same(&self) -> bool {
        *self == Conversion::SAME
    }
}

/// Why a unit cannot serve a measure.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum UnitMismatch {
    /// The dimensions differ.
    #[error("{unit} is not a unit of {what}; expected {expected}")]
    Dimension {
        /// The unit.
        unit: Unit,
        /// What the column holds.
        what: &'static str,
        /// Units that would do.
        expected: &'static str,
    },
    /// Absolute pressure where gauge pressure is needed.
    #[error(
        "{unit} is absolute pressure, but the standards' windows are gauge pressure; \
         the surrounding air pressure, about 101 kPa at sea level, would have to be subtracted"
    )]
    Absolute {
        /// The unit.
        unit: Unit,
    },
    /// A catch per area without the period it was caught in.
    #[error("{unit} does not say over which period it was caught")]
    NoPeriod {
        /// The unit.
        unit: Unit,
    },
}

impl Temperature {
    /// To °C.
    pub fn to_celsius(self) -> Conversion {
        match self {
            Temperature::Celsius => Conversion::SAME,
            Temperature::Fahrenheit => Conversion::new(32.0, 5.0, 9.0),
            Temperature::Kelvin => Conversion::new(273.15, 1.0, 1.0),
        }
    }
}

impl Pressure {
    /// To kPa, whatever it is measured from.
    pub fn to_kilopascal(self) -> Conversion {
        match self {
            Pressure::Pascal => Conversion::ratio(1.0, 1000.0),
            Pressure::Hectopascal => Conversion::ratio(1.0, 10.0),
            Pressure::Kilopascal => Conversion::SAME,
            Pressure::Megapascal => Conversion::ratio(1000.0, 1.0),
            Pressure::Bar => Conversion::ratio(100.0, 1.0),
            Pressure::Psi => Conversion::ratio(KPA_PER_PSI, 1.0),
            Pressure::KilogramForcePerSquareCentimetre => Conversion::ratio(98.0665, 1.0),
            Pressure::Atmosphere => Conversion::ratio(101.325, 1.0),
        }
    }
}

impl Volume {
    /// Millilitres in one.
    fn millilitres(self) -> f64 {
        match self {
            Volume::Millilitre => 1.0,
            Volume::Litre => 1000.0,
        }
    }
}

impl Unit {
    /// How numbers in this unit become the canonical unit of a measure.
    ///
    /// A pressure that does not say so is taken as gauge pressure, and a bare `%` of
    /// salt as by mass: [`Unit::assumption`] has the sentence that tells it.
    ///
    /// # Errors
    /// When the dimensions differ, the pressure is absolute, or a catch per area has
    /// no period.
    pub fn to(&self, measure: &Measure) -> Result<Conversion, UnitMismatch> {
        let unit = *self;
        match (measure, unit) {
            (
                Measure::CabinetTemperature
                | Measure::TowerTemperature
                | Measure::GravityTemperature,
                Unit::Temperature(scale),
            ) => Ok(scale.to_celsius()),
            (Measure::AirPressure, Unit::Pressure(_, PressureReference::Absolute)) => {
                Err(UnitMismatch::Absolute { unit })
            }
            (Measure::AirPressure, Unit::Pressure(unit, _)) => Ok(unit.to_kilopascal()),
            (Measure::CaughtVolume(_), Unit::Volume(volume)) => {
                Ok(Conversion::ratio(volume.millilitres(), 1.0))
            }
            (Measure::CaughtRate(_), Unit::Rate { volume, minutes }) => Ok(Conversion::ratio(
                volume.millilitres() * 60.0,
                f64::from(minutes),
            )),
            (
                Measure::NormalisedRate(_),
                Unit::NormalisedRate {
                    volume,
                    minutes,
                    area_mm2,
                },
            ) => Ok(Conversion::ratio(
                volume.millilitres() * 60.0 * REFERENCE_AREA_CM2 * 100.0,
                f64::from(minutes) * f64::from(area_mm2),
            )),
            (Measure::NormalisedRate(_), Unit::VolumePerArea { .. }) => {
                Err(UnitMismatch::NoPeriod { unit })
            }
            (Measure::CollectionHours, Unit::Duration(duration)) => Ok(match duration {
                Duration::Minute => Conversion::ratio(1.0, 60.0),
                Duration::Hour => Conversion::SAME,
                Duration::Day => Conversion::ratio(24.0, 1.0),
            }),
            (Measure::Ph, Unit::One) | (Measure::SpecificGravity, Unit::One) => {
                Ok(Conversion::SAME)
            }
            (Measure::SpecificGravity, Unit::Density(Density::GramPerCubicCentimetre)) => {
                Ok(Conversion::SAME)
            }
            (
                Measure::SpecificGravity,
                Unit::Density(Density::KilogramPerCubicMetre)
                | Unit::MassConcentration(MassConcentration::GramPerLitre),
            ) => Ok(Conversion::ratio(1.0, 1000.0)),
            (Measure::Density, Unit::Density(Density::GramPerCubicCentimetre)) => {
                Ok(Conversion::ratio(1000.0, 1.0))
            }
            (
                Measure::Density,
                Unit::Density(Density::KilogramPerCubicMetre)
                | Unit::MassConcentration(MassConcentration::GramPerLitre),
            ) => Ok(Conversion::SAME),
            (
                Measure::SaltMassPercent,
                Unit::Percent(PercentBasis::Unstated | PercentBasis::Mass),
            ) => Ok(Conversion::SAME),
            (Measure::SaltGramsPerLitre, Unit::MassConcentration(concentration)) => {
                Ok(match concentration {
                    MassConcentration::GramPerLitre => Conversion::SAME,
                    MassConcentration::GramPer100Millilitres => Conversion::ratio(10.0, 1.0),
                })
            }
            (Measure::Own(_), _) => Ok(Conversion::SAME),
            _ => {
                let (what, expected) = wanted(measure);
                Err(UnitMismatch::Dimension {
                    unit,
                    what,
                    expected,
                })
            }
        }
    }

    /// What [`Unit::to`] takes for granted in this unit, as a sentence; `None` when nothing.
    pub fn assumption(&self) -> Option<&'static str> {
        match self {
            Unit::Pressure(_, PressureReference::Unstated) => Some(
                "the heading does not say gauge or absolute: taken as gauge pressure, \
                 as an atomising gauge shows it",
            ),
            Unit::Percent(PercentBasis::Unstated) => {
                Some("the heading does not say by mass or per volume: taken as % by mass")
            }
            _ => None,
        }
    }
}

/// What a measure is called in a sentence, and the units it takes.
fn wanted(measure: &Measure) -> (&'static str, &'static str) {
    match measure {
        Measure::CabinetTemperature | Measure::TowerTemperature | Measure::GravityTemperature => {
            ("temperature", "°C, °F or K")
        }
        Measure::AirPressure => ("gauge pressure", "kPa, bar, mbar, MPa, psi or kgf/cm²"),
        Measure::CaughtVolume(_) => ("caught volume", "mL"),
        Measure::CaughtRate(_) => ("caught volume over time", "mL/h or mL/16 h"),
        Measure::NormalisedRate(_) => ("rate per area", "mL/h per 80 cm²"),
        Measure::CollectionHours => ("duration", "h or min"),
        Measure::Ph => ("pH", "no unit"),
        Measure::SpecificGravity | Measure::Density => {
            ("density", "no unit (relative), g/cm³, kg/L or kg/m³")
        }
        Measure::SaltMassPercent => ("salt by mass", "% by mass"),
        Measure::SaltGramsPerLitre => ("salt per volume", "g/L or g/100 mL"),
        Measure::Own(_) => (
            "a characteristic of the lab's own",
            "the unit lab.toml gives",
        ),
    }
}
