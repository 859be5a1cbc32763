//! What a column of a log is: its role, and the name `lab.toml` uses for it.
//!
//! One table maps both ways. A role does not know its unit; role and unit together
//! make a [`Measure`].

use super::checks::{Collector, Measure};
use super::unit::{Conversion, Unit, UnitMismatch};
use crate::lab::OwnCharacteristic;
use std::fmt;
use std::sync::Arc;

/// What a column is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Which cabinet the row is about.
    Cabinet,
    /// The date of the check.
    Date,
    /// The time of day of the check.
    Time,
    /// Date and time in one cell.
    DateTime,
    /// Temperature of the exposure zone.
    CabinetTemperature,
    /// Temperature of the tower's water.
    TowerTemperature,
    /// Atomising air pressure.
    AirPressure,
    /// Fog caught by a collector, or the mean of all.
    Collection(Collector),
    /// Length of the collection period.
    CollectionHours,
    /// pH of the collected solution.
    Ph,
    /// Specific gravity or density of the collected solution.
    SpecificGravity,
    /// Temperature at which the gravity was read.
    GravityTemperature,
    /// Salt concentration.
    SaltConcentration,
    /// Who made the check.
    Operator,
    /// Remarks.
    Remarks,
    /// Day of the week.
    Weekday,
    /// Running number of the row.
    Sequence,
    /// Known, but not used.
    Ignore,
    /// A characteristic of the lab's own.
    Own(Arc<str>),
}

/// Roles with a fixed name; collectors and own characteristics are named by rule.
const NAMES: [(&str, Role); 18] = [
    ("cabinet", Role::Cabinet),
    ("date", Role::Date),
    ("time", Role::Time),
    ("date-time", Role::DateTime),
    ("cabinet-temperature", Role::CabinetTemperature),
    ("tower-temperature", Role::TowerTemperature),
    ("air-pressure", Role::AirPressure),
    ("collection-near", Role::Collection(Collector::Near(1))),
    ("collection-far", Role::Collection(Collector::Far(1))),
    ("collection-rate", Role::Collection(Collector::Mean)),
    ("collection-hours", Role::CollectionHours),
    ("ph", Role::Ph),
    ("specific-gravity", Role::SpecificGravity),
    ("gravity-temperature", Role::GravityTemperature),
    ("salt-concentration", Role::SaltConcentration),
    ("operator", Role::Operator),
    ("remarks", Role::Remarks),
    ("ignore", Role::Ignore),
];

/// Names that are read and written but not offered, being of no use to the review.
const QUIET_NAMES: [(&str, Role); 2] = [("weekday", Role::Weekday), ("sequence", Role::Sequence)];

impl Role {
    /// The role of that name: built in, else the own characteristic of that identifier.
    ///
    /// # Errors
    /// Up to three known names nearest to it, the nearest first.
    pub fn named(name: &str, own: &[OwnCharacteristic]) -> Result<Role, Vec<String>> {
        let name = name.trim().to_lowercase();
        if let Some((_, role)) = NAMES.iter().chain(&QUIET_NAMES).find(|(n, _)| *n == name) {
            return Ok(role.clone());
        }
        if let Some(collector) = numbered_collector(&name) {
            return Ok(Role::Collection(collector));
        }
        own.iter()
            .find(|o| o.id.eq_ignore_ascii_case(&name))
            .map(|o| Role::Own(Arc::clone(&o.id)))
            .ok_or_else(|| nearest_names(&name, own))
    }

    /// The name `lab.toml` uses for it; [`Role::named`] reads it back.
    pub fn name(&self) -> String {
        match self {
            Role::Own(id) => id.to_string(),
            Role::Collection(Collector::Near(n)) if *n > 1 => format!("collection-near-{n}"),
            Role::Collection(Collector::Far(n)) if *n > 1 => format!("collection-far-{n}"),
            Role::Collection(Collector::Numbered(n)) => format!("collection-{n}"),
            other => NAMES
                .iter()
                .chain(&QUIET_NAMES)
                .find(|(_, role)| role == other)
                .map_or_else(String::new, |(name, _)| (*name).to_owned()),
        }
    }

    /// What a sentence calls it: "the cabinet temperature".
    pub fn spoken(&self) -> String {
        match self {
            Role::Cabinet => "which cabinet it is".into(),
            Role::Date => "the date".into(),
            Role::Time => "the time of day".into(),
            Role::DateTime => "date and time".into(),
            Role::CabinetTemperature => "the cabinet temperature".into(),
            Role::TowerTemperature => "the tower temperature".into(),
            Role::AirPressure => "the air pressure".into(),
            Role::Collection(Collector::Near(1)) => "the catch near the nozzle".into(),
            Role::Collection(Collector::Near(n)) => format!("near catch no. {n}"),
            Role::Collection(Collector::Far(1)) => "the catch far from the nozzle".into(),
            Role::Collection(Collector::Far(n)) => format!("far catch no. {n}"),
            Role::Collection(Collector::Numbered(n)) => format!("catch no. {n}"),
            Role::Collection(Collector::Mean) => "the mean catch".into(),
            Role::CollectionHours => "the length of the collection period".into(),
            Role::Ph => "the pH".into(),
            Role::SpecificGravity => "the specific gravity".into(),
            Role::GravityTemperature => "the temperature of the gravity reading".into(),
            Role::SaltConcentration => "the salt concentration".into(),
            Role::Operator => "who made the check".into(),
            Role::Remarks => "remarks".into(),
            Role::Weekday => "the day of the week".into(),
            Role::Sequence => "a running number".into(),
            Role::Ignore => "not used".into(),
            Role::Own(id) => format!("{id}, a characteristic of the lab's own"),
        }
    }

    /// Whether the column holds readings (and not dates, names or remarks).
    pub fn is_measured(&self) -> bool {
        matches!(
            self,
            Role::CabinetTemperature
                | Role::TowerTemperature
                | Role::AirPressure
                | Role::Collection(_)
                | Role::CollectionHours
                | Role::Ph
                | Role::SpecificGravity
                | Role::GravityTemperature
                | Role::SaltConcentration
                | Role::Own(_)
        )
    }

    /// Whether numbers mean something without a unit stated.
    pub fn needs_no_unit(&self) -> bool {
        matches!(self, Role::Ph | Role::SpecificGravity | Role::Own(_)) || !self.is_measured()
    }

    /// The measure of this role in that unit, and the way there; `None` for a role that
    /// is not measured.
    ///
    /// # Errors
    /// When the unit is of another dimension or does not say enough.
    pub fn measure(&self, unit: Unit) -> Option<Result<(Measure, Conversion), UnitMismatch>> {
        let measure = match (self, unit) {
            (Role::CabinetTemperature, _) => Measure::CabinetTemperature,
            (Role::TowerTemperature, _) => Measure::TowerTemperature,
            (Role::AirPressure, _) => Measure::AirPressure,
            (Role::Collection(c), Unit::Rate { .. }) => Measure::CaughtRate(*c),
            (Role::Collection(c), Unit::NormalisedRate { .. } | Unit::VolumePerArea { .. }) => {
                Measure::NormalisedRate(*c)
            }
            (Role::Collection(c), _) => Measure::CaughtVolume(*c),
            (Role::CollectionHours, _) => Measure::CollectionHours,
            (Role::Ph, _) => Measure::Ph,
            (Role::SpecificGravity, _) => Measure::SpecificGravity,
            (Role::GravityTemperature, _) => Measure::GravityTemperature,
            (Role::SaltConcentration, Unit::MassConcentration(_)) => Measure::SaltGramsPerLitre,
            (Role::SaltConcentration, _) => Measure::SaltMassPercent,
            (Role::Own(id), _) => Measure::Own(Arc::clone(id)),
            _ => return None,
        };
        Some(unit.to(&measure).map(|conversion| (measure, conversion)))
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

/// `collection-3`, `collection-near-2`.
fn numbered_collector(name: &str) -> Option<Collector> {
    let rest = name.strip_prefix("collection-")?;
    let number = |text: &str| text.parse::<u8>().ok().filter(|n| *n > 0);
    match rest.split_once('-') {
        Some(("near", n)) => number(n).map(Collector::Near),
        Some(("far", n)) => number(n).map(Collector::Far),
        Some(_) => None,
        None => number(rest).map(Collector::Numbered),
    }
}

/// Names of all roles that `lab.toml` may use, built in first, then the lab's own.
pub fn known_names(own: &[OwnCharacteristic]) -> Vec<String> {
    NAMES
        .iter()
        .map(|(name, _)| (*name).to_owned())
        .chain(["collection-1".to_owned(), "collection-2".to_owned()])
        .chain(own.iter().map(|o| o.id.to_string()))
        .collect()
}

/// Up to three known names that resemble the given one, the nearest first.
pub fn nearest_names(name: &str, own: &[OwnCharacteristic]) -> Vec<String> {
    const ALIKE: f64 = 0.6;
    let mut scored: Vec<(f64, String)> = known_names(own)
        .into_iter()
        .map(|known| (strsim::jaro_winkler(name, &known), known))
        .filter(|(score, _)| *score >= ALIKE)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    scored.into_iter().take(3).map(|(_, known)| known).collect()
}

#[cfg(test)]
mod tests;
