//! Values that several settings files share: temperatures with units, the reference of
//! a specific gravity, conformance limits in convertible units.

use super::error::LabError;
use super::reader::{Field, Table};
use super::{GravityKind, GravityReference};
use crate::characteristic::Characteristic;
use crate::quantity::brine::BrineAt;
use crate::quantity::units::Celsius;
use std::f64::consts::PI;

/// Pascals of one pound-force per square inch (exact by its definition).
const KPA_PER_PSI: f64 = 6.894_757_293_168_361;

const RELATIVE_TO: &str =
    "\"density\" (g/cm³), \"water at 4 °C\" (any temperature) or \"water at same temperature\"";

/// A temperature in °C from a text such as `25 °C` or `77 °F`.
fn celsius(text: &str) -> Option<f64> {
    let text = text.trim();
    let split = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))?;
    let (number, unit) = text.split_at_checked(split)?;
    let number: f64 = number.parse().ok()?;
    match unit.trim() {
        "°C" | "C" | "ºC" | "℃" => Some(number),
        "°F" | "F" | "ºF" | "℉" => Some((number - 32.0) / 1.8),
        "K" => Some(number - 273.15),
        _ => None,
    }
    .filter(|t| t.is_finite())
}

fn temperature(field: &Field<'_>) -> Result<f64, LabError> {
    celsius(field.string()?).ok_or_else(|| field.bad("a temperature with its unit, as \"25 °C\""))
}

/// `{ temperature = "25 °C", relative_to = "density" }`; `extra` keys are left to the caller.
pub(crate) fn gravity(field: &Field<'_>, extra: &[&str]) -> Result<GravityReference, LabError> {
    let table = field.table()?;
    let mut known = vec!["temperature", "relative_to"];
    known.extend(extra);
    table.only(&known)?;
    let relative = table.need("relative_to", RELATIVE_TO)?;
    let written = relative.string()?;
    let relative_to = match written {
        "density" => GravityKind::Density,
        "water at same temperature" => GravityKind::WaterAtSame,
        _ => written
            .strip_prefix("water at ")
            .and_then(celsius)
            .filter(|t| (0.0..=40.0).contains(t))
            .map(GravityKind::Water)
            .ok_or_else(|| relative.bad(RELATIVE_TO))?,
    };
    Ok(GravityReference {
        temperature: table.opt("temperature", temperature)?,
        relative_to,
    })
}

/// The collecting area that a table gives by area or diameter, cm²; at most one way.
pub(crate) fn funnel_area(table: &Table<'_>) -> Result<Option<f64>, LabError> {
    let disc = |diameter_cm: f64| PI / 4.0 * diameter_cm * diameter_cm;
    let mut given = None;
    for key in FUNNEL_KEYS {
        let Some(field) = table.get(key) else {
            continue;
        };
        if given.is_some() {
            return Err(field.bad("the funnel's size given once, by area or by diameter"));
        }
        let number = field.positive()?;
        let area = match key {
            "funnel_diameter_mm" => disc(number / 10.0),
            "funnel_diameter_in" => disc(number * 2.54),
            _ => number,
        };
        if !(5.0..=2000.0).contains(&area) {
            return Err(field.bad("a funnel of 5 to 2000 cm² (80 cm² is the usual size)"));
        }
        given = Some(area);
    }
    Ok(given)
}

/// The keys that give a funnel's size.
pub(crate) const FUNNEL_KEYS: [&str; 3] = [
    "funnel_area_cm2",
    "funnel_diameter_mm",
    "funnel_diameter_in",
];

/// The length of the collection period, h.
pub(crate) fn hours(field: &Field<'_>) -> Result<f64, LabError> {
    let hours = field.positive()?;
    if hours <= 24.0 * 14.0 {
        Ok(hours)
    } else {
        Err(field.bad("hours of a collection period, at most 336"))
    }
}

/// A limit as the files give it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Bound {
    /// The key is absent.
    Unsaid,
    /// `"none"`: no limit on this side.
    None,
    /// A limit in the charted unit.
    At(f64),
}

impl Bound {
    /// This bound, or the earlier one where it says nothing.
    pub(crate) fn over(self, earlier: Option<f64>) -> Option<f64> {
        match self {
            Bound::Unsaid => earlier,
            Bound::None => None,
            Bound::At(limit) => Some(limit),
        }
    }
}

/// Reads `lower` and `upper` in the `unit` the table names, converted to the charted unit.
pub(crate) fn bounds(
    table: &Table<'_>,
    characteristic: &Characteristic,
) -> Result<(Bound, Bound), LabError> {
    let unit = table
        .get("unit")
        .map(|f| f.string().map(|u| (f, u)))
        .transpose()?;
    let read = |key: &str| -> Result<Bound, LabError> {
        let Some(field) = table.get(key) else {
            return Ok(Bound::Unsaid);
        };
        if field.is_text() {
            field.word(&["none"])?;
            return Ok(Bound::None);
        }
        let number = field.number()?;
        let Some((unit_field, unit)) = unit else {
            return Ok(Bound::At(number));
        };
        charted(number, unit, characteristic)
            .map(Bound::At)
            .ok_or_else(|| unit_field.bad(format!("one of: {}", units_of(characteristic))))
    };
    let (lower, upper) = (read("lower")?, read("upper")?);
    if let (Bound::At(l), Bound::At(u)) = (lower, upper)
        && l >= u
        && let Some(field) = table.get("upper")
    {
        return Err(field.bad("an upper limit above the lower one"));
    }
    Ok((lower, upper))
}

fn units_of(characteristic: &Characteristic) -> &'static str {
    match characteristic {
        Characteristic::CabinetTemperature | Characteristic::TowerTemperature => "°C, °F, K",
        Characteristic::AirPressure => "kPa, bar, psi, MPa",
        Characteristic::SaltConcentration => "% by mass, g/L (at 25 °C)",
        Characteristic::Ph | Characteristic::SpecificGravity => "no unit: leave the key out",
        Characteristic::Own(_) => "the characteristic's own unit: leave the key out",
        other => other.unit(),
    }
}

/// A value in the unit the characteristic is charted in; `None` for a unit that does not fit.
fn charted(value: f64, unit: &str, characteristic: &Characteristic) -> Option<f64> {
    match (characteristic, unit) {
        (Characteristic::CabinetTemperature | Characteristic::TowerTemperature, unit) => match unit
        {
            "°C" => Some(value),
            "°F" => Some((value - 32.0) / 1.8),
            "K" => Some(value - 273.15),
            _ => None,
        },
        (Characteristic::AirPressure, "kPa") => Some(value),
        (Characteristic::AirPressure, "bar") => Some(value * 100.0),
        (Characteristic::AirPressure, "MPa") => Some(value * 1000.0),
        (Characteristic::AirPressure, "psi") => Some(value * KPA_PER_PSI),
        (Characteristic::SaltConcentration, "g/L") => mass_percent(value),
        (Characteristic::Own(_) | Characteristic::Ph | Characteristic::SpecificGravity, _) => None,
        (other, unit) if unit == other.unit() => Some(value),
        _ => None,
    }
}

/// Percent by mass of a solution at 25 °C with that many grams of salt a litre.
pub(crate) fn mass_percent(grams_per_litre: f64) -> Option<f64> {
    crate::quantity::brine::fraction_of_grams_per_litre(
        &BrineAt::new(Celsius(25.0)).ok()?,
        grams_per_litre,
    )
    .ok()
    .map(|w| w.percent())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_need_their_unit() {
        assert_eq!(celsius("25 °C"), Some(25.0));
        assert_eq!(celsius("77°F"), Some(25.0));
        assert_eq!(celsius("25"), None);
        assert_eq!(celsius("warm"), None);
    }

    #[test]
    fn fifty_grams_a_litre_is_4_84_percent_by_mass() {
        let percent = mass_percent(50.0).unwrap();
        assert!((percent - 4.847).abs() < 0.003, "{percent}");
    }
}
