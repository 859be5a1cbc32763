//! `[[sensitivity]]` of `lab.toml`: how much more a coupon loses for one unit more of a
//! characteristic, as the lab states it, with its uncertainty and its source.
//!
//! Nothing is shipped: no published value holds for every cabinet. What a difference then
//! explains is not reckoned here.

use super::Lab;
use super::config::characteristic_in;
use super::difference::{Difference, fitting, of};
use super::error::LabError;
use super::reader::{Field, Table};
use crate::characteristic::Characteristic;

/// A stated sensitivity of coupon mass loss.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// What the mass loss goes with.
    pub characteristic: Characteristic,
    /// g/m² more for one charted unit more; negative where it takes off.
    pub per_unit: f64,
    /// Its standard uncertainty, in the same unit.
    pub uncertainty: f64,
    /// Hours of exposure it holds for.
    pub hours: f64,
    /// Where it comes from, in the lab's words.
    pub source: String,
}

/// Fills the lab's sensitivities; its own characteristics must be there already.
pub(super) fn read(root: &Table<'_>, lab: &mut Lab) -> Result<(), LabError> {
    let Some(field) = root.get("sensitivity") else {
        return Ok(());
    };
    let mut all: Vec<Sensitivity> = Vec::new();
    for table in field.tables()? {
        table.only(&[
            "characteristic",
            "per_unit",
            "unit",
            "uncertainty",
            "hours",
            "source",
        ])?;
        let named = table.need("characteristic", "what the mass loss goes with, as \"ph\"")?;
        let one = one(&table, &named, lab)?;
        let same =
            |s: &&Sensitivity| s.characteristic == one.characteristic && s.hours == one.hours;
        if let Some(twin) = all.iter().find(same) {
            return Err(LabError::Duplicate {
                at: named.at(),
                what: "sensitivity to",
                name: one.characteristic.id().to_owned(),
                taken_by: format!("stated above for {} h", twin.hours),
            });
        }
        all.push(one);
    }
    lab.sensitivities = all;
    Ok(())
}

fn one(table: &Table<'_>, named: &Field<'_>, lab: &Lab) -> Result<Sensitivity, LabError> {
    let characteristic = characteristic_in(named, lab)?;
    if characteristic == Characteristic::CouponMassLoss {
        return Err(named.bad("a characteristic of the checks, not the mass loss itself"));
    }
    let charted = lab.unit_of(&characteristic);
    // Stated per written unit; a larger unit has a smaller share for each charted one.
    let units = match table.get("unit") {
        None => 1.0,
        Some(field) => match of(field.string()?, &characteristic, charted) {
            Some(Difference::Charted(factor)) => factor,
            _ => {
                let fits = fitting(&characteristic, charted);
                return Err(field.bad(format!("a unit that the checks can differ by: {fits}")));
            }
        },
    };
    let stated = table.need("per_unit", "g/m² more for one unit more")?;
    let uncertainty = table.need(
        "uncertainty",
        "the standard uncertainty of per_unit; one without is not to be relied on",
    )?;
    let hours = table.need("hours", "the hours of exposure it holds for")?;
    let source = table.need("source", "where the number comes from, in words")?;
    Ok(Sensitivity {
        characteristic,
        per_unit: stated.number()? / units,
        uncertainty: uncertainty.positive()? / units,
        hours: hours.positive()?,
        source: source.string()?.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use crate::lab::tests::{error, open};

    #[test]
    fn a_sensitivity_per_fahrenheit_is_one_per_celsius() {
        let lab = open(
            "[[sensitivity]]\ncharacteristic = \"cabinet-temperature\"\nper_unit = 1\nunit = \"°F\"\n\
             uncertainty = 0.5\nhours = 48\nsource = \"own series of 2025\"\n\
             [[sensitivity]]\ncharacteristic = \"ph\"\nper_unit = -3.5\nuncertainty = 2\nhours = 48\nsource = \"own\"\n",
        )
        .unwrap();
        let [temperature, ph] = lab.sensitivities.as_slice() else {
            panic!("{:?}", lab.sensitivities);
        };
        assert!(
            (temperature.per_unit - 1.8).abs() < 1e-12,
            "{temperature:?}"
        );
        assert!(
            (temperature.uncertainty - 0.9).abs() < 1e-12,
            "{temperature:?}"
        );
        assert_eq!((ph.per_unit, ph.hours), (-3.5, 48.0));
    }

    #[test]
    fn what_is_missing_or_misspelt_is_told_with_its_place() {
        let with = |rest: &str| error(&format!("[[sensitivity]]\ncharacteristic = \"ph\"\n{rest}"));
        assert_eq!(
            with("per_unit = 1\nuncertainty = 1\nhours = 48\n"),
            "lab.toml:1:1: sensitivity needs the key \"source\": where the number comes from, in words"
        );
        assert!(
            with("per_unit = 1\nhours = 48\nsource = \"x\"\n")
                .contains("needs the key \"uncertainty\"")
        );
        assert!(
            with("per_unit = 1\nuncertainty = 0\nhours = 48\nsource = \"x\"\n")
                .contains("a number above 0")
        );
        assert_eq!(
            with("per_unti = 1\n"),
            "lab.toml:3:1: unknown key \"per_unti\"; did you mean \"per_unit\"?"
        );
        assert_eq!(
            error("[[sensitivity]]\ncharacteristic = \"colection-rate\"\n")
                .split("; did")
                .last(),
            Some(" you mean \"collection-rate\"?")
        );
        let unit = "[[sensitivity]]\ncharacteristic = \"air-pressure\"\nper_unit = 1\nunit = \"%\"\nuncertainty = 1\nhours = 1\nsource = \"x\"\n";
        assert!(
            error(unit).starts_with("lab.toml:4:8: \"unit\" is \"%\""),
            "{}",
            error(unit)
        );
        let itself = error("[[sensitivity]]\ncharacteristic = \"coupon-mass-loss\"\n");
        assert!(itself.contains("not the mass loss itself"), "{itself}");
    }

    #[test]
    fn two_for_the_same_exposure_are_one_too_many() {
        let one = "[[sensitivity]]\ncharacteristic = \"ph\"\nper_unit = 1\nuncertainty = 1\nhours = 48\nsource = \"x\"\n";
        assert_eq!(
            error(&format!("{one}{one}")),
            "lab.toml:8:18: sensitivity to \"ph\" is already stated above for 48 h"
        );
        let longer = one.replace("48", "96");
        assert_eq!(
            open(&format!("{one}{longer}")).unwrap().sensitivities.len(),
            2
        );
    }
}
