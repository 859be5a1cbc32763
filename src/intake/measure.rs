//! Names and canonical units of measures, for sentences and tables.

use super::checks::Measure;

/// The name of a measure, as its column in `lab.toml` is called.
pub(crate) fn measure_name(measure: &Measure) -> String {
    use super::checks::Collector::{Far, Mean, Near, Numbered};
    let text = match measure {
        Measure::CabinetTemperature => "cabinet-temperature",
        Measure::TowerTemperature => "tower-temperature",
        Measure::AirPressure => "air-pressure",
        Measure::CaughtVolume(c) | Measure::CaughtRate(c) | Measure::NormalisedRate(c) => {
            return match c {
                Near(1) => "collection-near".into(),
                Near(n) => format!("collection-near-{n}"),
                Far(1) => "collection-far".into(),
                Far(n) => format!("collection-far-{n}"),
                Numbered(n) => format!("collection-{n}"),
                Mean => "collection-rate".into(),
            };
        }
        Measure::CollectionHours => "collection-hours",
        Measure::Ph => "ph",
        Measure::SpecificGravity => "specific-gravity",
        Measure::Density => "density",
        Measure::GravityTemperature => "gravity-temperature",
        Measure::SaltMassPercent | Measure::SaltGramsPerLitre => "salt-concentration",
        Measure::Own(id) => id,
    };
    text.to_owned()
}

/// The canonical unit of a measure; empty where it has none.
pub(crate) fn measure_unit(measure: &Measure) -> &'static str {
    match measure {
        Measure::CabinetTemperature | Measure::TowerTemperature | Measure::GravityTemperature => {
            "°C"
        }
        Measure::AirPressure => "kPa",
        Measure::CaughtVolume(_) => "mL",
        Measure::CaughtRate(_) => "mL/h",
        Measure::NormalisedRate(_) => "mL/h per 80 cm²",
        Measure::CollectionHours => "h",
        Measure::Density => "kg/m³",
        Measure::SaltMassPercent => "% by mass",
        Measure::SaltGramsPerLitre => "g/L",
        Measure::Ph | Measure::SpecificGravity | Measure::Own(_) => "",
    }
}
