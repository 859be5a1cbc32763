//! What a log or a cabinet's entry in `lab.toml` adds to every row: the length of the
//! collection period, the funnel's area, the reference of the specific gravity.
//!
//! Only what makes written readings comparable between files is done here; rates and
//! concentrations that the review charts are derived by `quantity`.

use super::checks::{Collector, Measure};
use super::group::CabinetRows;
use crate::lab::{GravityKind, GravityReference};
use crate::quantity::brine::water_density;
use std::collections::BTreeMap;

/// The area that standards refer collection rates to, cm² (ISO 9227, ASTM B117).
const REFERENCE_AREA_CM2: f64 = 80.0;

/// Constants of one sheet (from headings or `lab.toml`).
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct SheetConstants {
    /// Length of the collection period, h, where no column gives it.
    pub(crate) collection_hours: Option<f64>,
    /// Collecting area of the funnels, cm².
    pub(crate) funnel_area_cm2: Option<f64>,
    /// Reference of the specific gravity.
    pub(crate) gravity: Option<GravityReference>,
}

/// Constants of one cabinet (from `lab.toml`).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct CabinetConstants {
    pub(crate) collection_hours: Option<f64>,
    pub(crate) gravity: Option<GravityReference>,
}

/// Applies the constants to the rows of a cabinet.
pub(crate) fn apply(rows: &mut CabinetRows, sheet: &SheetConstants, cabinet: CabinetConstants) {
    if let Some(hours) = sheet.collection_hours
        && rows
            .columns
            .keys()
            .any(|m| matches!(m, Measure::CaughtVolume(_)))
    {
        let count = rows.line.len();
        let column = rows
            .columns
            .entry(Measure::CollectionHours)
            .or_insert_with(|| vec![f64::NAN; count]);
        for value in column.iter_mut().filter(|v| v.is_nan()) {
            *value = hours;
        }
    }
    if let Some(area) = sheet.funnel_area_cm2.filter(|a| *a > 0.0) {
        normalise(rows, area, cabinet);
    }
    densities(rows, sheet.gravity.or(cabinet.gravity));
}

/// Refers what was caught by funnels of that area to 80 cm².
fn normalise(rows: &mut CabinetRows, area: f64, cabinet: CabinetConstants) {
    let collectors: Vec<Collector> = rows
        .columns
        .keys()
        .filter_map(|m| match m {
            Measure::CaughtVolume(c) | Measure::CaughtRate(c) => Some(*c),
            _ => None,
        })
        .collect();
    let hours = rows.columns.get(&Measure::CollectionHours).cloned();
    for collector in collectors {
        let rates = rows.columns.remove(&Measure::CaughtRate(collector));
        let mut volumes = rows.columns.remove(&Measure::CaughtVolume(collector));
        let count = rows.line.len();
        let normal = rows
            .columns
            .entry(Measure::NormalisedRate(collector))
            .or_insert_with(|| vec![f64::NAN; count]);
        for (row, slot) in normal.iter_mut().enumerate().filter(|(_, v)| v.is_nan()) {
            let rate = rates.as_ref().and_then(|r| r.get(row)).copied();
            let volume = volumes.as_mut().and_then(|v| v.get_mut(row));
            let hours = hours
                .as_ref()
                .and_then(|h| h.get(row))
                .copied()
                .filter(|h| !h.is_nan())
                .or(cabinet.collection_hours)
                .filter(|h| *h > 0.0);
            let caught = match (rate.filter(|r| !r.is_nan()), volume, hours) {
                (Some(rate), _, _) => rate,
                (None, Some(volume), Some(hours)) if !volume.is_nan() => {
                    let rate = *volume / hours;
                    *volume = f64::NAN;
                    rate
                }
                _ => continue,
            };
            *slot = caught * REFERENCE_AREA_CM2 / area;
        }
        // Volumes of an unknown period stay as they are.
        if let Some(volumes) = volumes.filter(|v| v.iter().any(|x| !x.is_nan())) {
            rows.columns
                .insert(Measure::CaughtVolume(collector), volumes);
        }
    }
}

/// Density of each row whose gravity has a known reference, kg/m³.
fn densities(rows: &mut CabinetRows, reference: Option<GravityReference>) {
    let (Some(reference), Some(gravity)) = (reference, rows.columns.get(&Measure::SpecificGravity))
    else {
        return;
    };
    let written = rows.columns.get(&Measure::GravityTemperature);
    let mut density = vec![f64::NAN; gravity.len()];
    let mut temperatures = written
        .cloned()
        .unwrap_or_else(|| vec![f64::NAN; gravity.len()]);
    // Water densities by the bits of the temperature: few differ.
    let mut water: BTreeMap<u64, f64> = BTreeMap::new();
    let mut of_water = |celsius: f64| {
        *water
            .entry(celsius.to_bits())
            .or_insert_with(|| water_density(celsius))
    };
    for (row, sg) in gravity.iter().enumerate().filter(|(_, sg)| !sg.is_nan()) {
        let read_at = temperatures
            .get(row)
            .copied()
            .filter(|t| !t.is_nan())
            .or(reference.temperature);
        let value = match (reference.relative_to, read_at) {
            (GravityKind::Density, _) => sg * 1000.0,
            (GravityKind::Water(celsius), _) => sg * of_water(celsius),
            (GravityKind::WaterAtSame, Some(celsius)) => sg * of_water(celsius),
            (GravityKind::WaterAtSame, None) => continue,
        };
        if let Some(slot) = density.get_mut(row) {
            *slot = value;
        }
        if let (Some(slot), Some(celsius)) = (temperatures.get_mut(row), read_at) {
            *slot = celsius;
        }
    }
    rows.columns.entry(Measure::Density).or_insert(density);
    if temperatures.iter().any(|t| !t.is_nan()) {
        rows.columns
            .insert(Measure::GravityTemperature, temperatures);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEAR: Collector = Collector::Near(1);

    fn with(measure: Measure, values: Vec<f64>) -> CabinetRows {
        CabinetRows {
            line: (0..values.len() as u32).collect(),
            columns: BTreeMap::from([(measure, values)]),
            ..CabinetRows::default()
        }
    }

    #[test]
    fn a_stated_period_and_funnel_make_rates_per_80_square_centimetres() {
        // A 100 mm funnel has 78.54 cm²; 24 mL in 16 h are 1.5 mL/h.
        let mut rows = with(Measure::CaughtVolume(NEAR), vec![24.0, f64::NAN]);
        let sheet = SheetConstants {
            collection_hours: Some(16.0),
            funnel_area_cm2: Some(78.539_816),
            gravity: None,
        };
        apply(&mut rows, &sheet, CabinetConstants::default());
        let rate = &rows.columns[&Measure::NormalisedRate(NEAR)];
        assert!((rate[0] - 1.527_887).abs() < 1e-6, "{rate:?}");
        assert!(rate[1].is_nan());
        assert!(!rows.columns.contains_key(&Measure::CaughtVolume(NEAR)));
    }

    #[test]
    fn volumes_of_an_unknown_period_stay_volumes() {
        let mut rows = with(Measure::CaughtVolume(NEAR), vec![24.0]);
        let sheet = SheetConstants {
            funnel_area_cm2: Some(78.5),
            ..SheetConstants::default()
        };
        apply(&mut rows, &sheet, CabinetConstants::default());
        assert_eq!(rows.columns[&Measure::CaughtVolume(NEAR)], [24.0]);
    }

    #[test]
    fn gravity_becomes_density_only_with_a_reference() {
        let mut rows = with(Measure::SpecificGravity, vec![1.03]);
        apply(
            &mut rows,
            &SheetConstants::default(),
            CabinetConstants::default(),
        );
        assert!(!rows.columns.contains_key(&Measure::Density));
        let sheet = SheetConstants {
            gravity: Some(GravityReference {
                temperature: Some(25.0),
                relative_to: GravityKind::WaterAtSame,
            }),
            ..SheetConstants::default()
        };
        apply(&mut rows, &sheet, CabinetConstants::default());
        // Water at 25 °C has 997.05 kg/m³ (handbook value, 4 places known).
        assert!((rows.columns[&Measure::Density][0] - 1.03 * 997.05).abs() < 0.02);
        assert_eq!(rows.columns[&Measure::GravityTemperature], [25.0]);
    }
}
