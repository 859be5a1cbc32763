//! `[[instrument]]` of `lab.toml`, read strictly.

use super::super::Lab;
use super::super::config::{cabinet_name, characteristic_in};
use super::super::difference::{fitting, of};
use super::super::error::LabError;
use super::super::names::fold_name;
use super::super::reader::{Field, Table};
use super::InstrumentConfig;
use crate::issue::shown;

/// Fills the lab's instruments; its cabinets and own characteristics must be there already.
pub(in crate::lab) fn read(root: &Table<'_>, lab: &mut Lab) -> Result<(), LabError> {
    let Some(field) = root.get("instrument") else {
        return Ok(());
    };
    let mut taken: Vec<String> = Vec::new();
    for table in field.tables()? {
        table.only(&[
            "id",
            "characteristic",
            "cabinets",
            "expanded_uncertainty",
            "unit",
            "certificate",
            "calibrated",
            "travels",
        ])?;
        let id = table.need("id", "the instrument's mark, as \"ph-2\"")?;
        let instrument = one(&table, &id, lab)?;
        for (other, at) in lab.instruments.iter().zip(&taken) {
            clash(&id, &instrument, other, at)?;
        }
        taken.push(id.at().to_string());
        lab.instruments.push(instrument);
    }
    Ok(())
}

fn one(table: &Table<'_>, id: &Field<'_>, lab: &Lab) -> Result<InstrumentConfig, LabError> {
    cabinet_name(id)?;
    let what = table.need("characteristic", "what it reads, as \"ph\", or a list")?;
    let unit = table.get("unit");
    let mut characteristics = Vec::new();
    for item in what.one_or_more()? {
        let characteristic = characteristic_in(&item, lab)?;
        let charted = lab.unit_of(&characteristic);
        match &unit {
            Some(field) if of(field.string()?, &characteristic, charted).is_none() => {
                return Err(field.bad(fitting(&characteristic, charted)));
            }
            // Half a degree Fahrenheit and half a degree Celsius are not told apart by guessing.
            None if !charted.is_empty() => {
                table.need("unit", &fitting(&characteristic, charted))?;
            }
            _ => {}
        }
        if !characteristics.contains(&characteristic) {
            characteristics.push(characteristic);
        }
    }
    let expanded = table.need(
        "expanded_uncertainty",
        "its expanded uncertainty with k = 2, as the certificate gives it",
    )?;
    let cabinets = table.opt("cabinets", |f| {
        let items = f.list()?;
        if items.is_empty() {
            return Err(f.bad("at least one cabinet; leave the key out for all of the lab"));
        }
        let id_of = |item: &Field<'_>| {
            let written = cabinet_name(item)?;
            let known = lab.cabinet_id(&written);
            Ok(known.unwrap_or_else(|| fold_name(&written).into()))
        };
        items
            .iter()
            .map(id_of)
            .collect::<Result<Vec<_>, LabError>>()
    })?;
    Ok(InstrumentConfig {
        id: id.string()?.to_owned(),
        characteristics,
        cabinets: cabinets.unwrap_or_default(),
        expanded: expanded.positive()?,
        unit: unit.map(|f| f.string().map(str::to_owned)).transpose()?,
        certificate: table.opt("certificate", |f| f.string().map(str::to_owned))?,
        calibrated: table.opt("calibrated", Field::day)?,
        travels: table.opt("travels", Field::boolean)?.unwrap_or(false),
    })
}

/// Two instruments of one name, or two that are equally said to read the same thing.
fn clash(
    id: &Field<'_>,
    this: &InstrumentConfig,
    other: &InstrumentConfig,
    at: &str,
) -> Result<(), LabError> {
    let taken = |what| {
        Err(LabError::Duplicate {
            at: id.at(),
            what,
            name: shown(&this.id),
            taken_by: format!("\"{}\" at {at}", shown(&other.id)),
        })
    };
    if fold_name(&this.id) == fold_name(&other.id) {
        return taken("instrument");
    }
    let both_lab_wide = this.cabinets.is_empty() && other.cabinets.is_empty();
    let common = this.cabinets.iter().any(|c| other.cabinets.contains(c));
    let same_kind = this
        .characteristics
        .iter()
        .any(|c| other.characteristics.contains(c));
    if same_kind && (both_lab_wide || common) {
        return taken("what is read in the same cabinets by instrument");
    }
    Ok(())
}
