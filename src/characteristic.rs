//! What is measured: the characteristics of a cabinet and the unit each is charted in.
//!
//! It holds names and units only; how a characteristic is read from a log is the
//! intake's, how it is derived is `quantity`'s.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

/// One measured or derived characteristic of a cabinet.
///
/// The order of the variants is the order of rows in every report.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Characteristic {
    /// Exposure-zone temperature, °C.
    CabinetTemperature,
    /// Saturator-tower water temperature, °C.
    TowerTemperature,
    /// Atomising air gauge pressure, kPa.
    AirPressure,
    /// Fog caught near the nozzle, mL/h per 80 cm².
    CollectionNear,
    /// Fog caught far from the nozzle, mL/h per 80 cm².
    CollectionFar,
    /// Mean of all collectors of a check, mL/h per 80 cm².
    CollectionRate,
    /// Far minus near over their mean, percent.
    CollectionSpread,
    /// pH of the collected solution.
    Ph,
    /// Specific gravity of the collected solution, as written (see its reference).
    SpecificGravity,
    /// Salt in the collected solution, percent by mass.
    SaltConcentration,
    /// Mass loss of reference steel, g/m².
    CouponMassLoss,
    /// A characteristic the lab defined in `lab.toml`.
    Own(Arc<str>),
}

impl Characteristic {
    /// The built-in characteristics in report order.
    pub const BUILT_IN: [Characteristic; 11] = [
        Characteristic::CabinetTemperature,
        Characteristic::TowerTemperature,
        Characteristic::AirPressure,
        Characteristic::CollectionNear,
        Characteristic::CollectionFar,
        Characteristic::CollectionRate,
        Characteristic::CollectionSpread,
        Characteristic::Ph,
        Characteristic::SpecificGravity,
        Characteristic::SaltConcentration,
        Characteristic::CouponMassLoss,
    ];

    /// The identifier used in files, options and JSON.
    pub fn id(&self) -> &str {
        match self {
            Characteristic::CabinetTemperature => "cabinet-temperature",
            Characteristic::TowerTemperature => "tower-temperature",
            Characteristic::AirPressure => "air-pressure",
            Characteristic::CollectionNear => "collection-near",
            Characteristic::CollectionFar => "collection-far",
            Characteristic::CollectionRate => "collection-rate",
            Characteristic::CollectionSpread => "collection-spread",
            Characteristic::Ph => "ph",
            Characteristic::SpecificGravity => "specific-gravity",
            Characteristic::SaltConcentration => "salt-concentration",
            Characteristic::CouponMassLoss => "coupon-mass-loss",
            Characteristic::Own(id) => id,
        }
    }

    /// The unit a built-in is charted in; empty where it has none (pH, specific gravity).
    ///
    /// A characteristic of the lab's own carries the unit `lab.toml` gives it, so
    /// this returns an empty text for it.
    pub fn unit(&self) -> &'static str {
        match self {
            Characteristic::CabinetTemperature | Characteristic::TowerTemperature => "°C",
            Characteristic::AirPressure => "kPa",
            Characteristic::CollectionNear
            | Characteristic::CollectionFar
            | Characteristic::CollectionRate => "mL/h per 80 cm²",
            Characteristic::CollectionSpread => "%",
            Characteristic::SaltConcentration => "% by mass",
            Characteristic::CouponMassLoss => "g/m²",
            Characteristic::Ph | Characteristic::SpecificGravity | Characteristic::Own(_) => "",
        }
    }

    /// The name a sentence uses: "collection rate", "pH".
    pub fn spoken(&self) -> &str {
        match self {
            Characteristic::CabinetTemperature => "cabinet temperature",
            Characteristic::TowerTemperature => "tower temperature",
            Characteristic::AirPressure => "air pressure",
            Characteristic::CollectionNear => "catch near the nozzle",
            Characteristic::CollectionFar => "catch far from the nozzle",
            Characteristic::CollectionRate => "collection rate",
            Characteristic::CollectionSpread => "near/far spread",
            Characteristic::Ph => "pH",
            Characteristic::SpecificGravity => "specific gravity",
            Characteristic::SaltConcentration => "salt concentration",
            Characteristic::CouponMassLoss => "coupon mass loss",
            Characteristic::Own(id) => id,
        }
    }
}

impl fmt::Display for Characteristic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl FromStr for Characteristic {
    type Err = std::convert::Infallible;

    /// The built-in of that identifier, else one of the lab's own.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Ok(Self::BUILT_IN
            .iter()
            .find(|c| c.id() == text)
            .cloned()
            .unwrap_or_else(|| Characteristic::Own(text.into())))
    }
}

impl Serialize for Characteristic {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

impl<'de> Deserialize<'de> for Characteristic {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        match text.parse() {
            Ok(characteristic) => Ok(characteristic),
            Err(never) => match never {},
        }
    }
}
