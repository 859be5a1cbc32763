//! Series from small hand-made checks.

use super::*;
use crate::intake::checks::{CabinetChecks, SheetName, SheetOf};
use crate::lab::{CabinetConfig, GravityKind, GravityReference, shipped_profile};
use crate::series::Times;
use Collector::{Far, Mean, Near, Numbered};

const NAN: f64 = f64::NAN;

/// One cabinet "plover" with a check a day, one file, the columns given.
pub(in crate::quantity) fn checks(columns: &[(Measure, &[f64])]) -> Checks {
    let rows = columns.first().map_or(0, |(_, c)| c.len());
    Checks {
        cabinets: vec!["plover".into()],
        checks: vec![CabinetChecks {
            times: Times::sorted((0..rows as i64).map(|d| Instant(d * 86_400)).collect()),
            line: (0..rows as u32).map(|row| row + 2).collect(),
            sheet: SheetOf::All(0),
            columns: columns
                .iter()
                .map(|(m, c)| (m.clone(), c.to_vec()))
                .collect(),
        }],
        sheets: vec![SheetName {
            path: "logs/a.csv".into(),
            sheet: None,
        }],
    }
}

pub(in crate::quantity) fn lab(profile: Option<&str>) -> Lab {
    let mut lab = Lab::bare("lab");
    lab.default_profile = profile.map(|id| shipped_profile(id).unwrap().unwrap());
    lab
}

fn values<'a>(derived: &'a Derived, wanted: &Characteristic) -> Option<&'a [f64]> {
    derived
        .series
        .iter()
        .find(|s| s.characteristic() == wanted)
        .map(Series::values)
}

fn with_funnels(mut lab: Lab) -> Lab {
    lab.defaults.funnel_area_cm2 = Some(160.0);
    lab.defaults.collection_hours = Some(16.0);
    lab
}

#[test]
fn volumes_become_rates_per_80_cm2_with_mean_and_spread() {
    let checks = checks(&[
        (Measure::CaughtVolume(Near(1)), &[48.0, 48.0, 24.0]),
        (Measure::CaughtVolume(Far(1)), &[32.0, NAN, 24.0]),
        (Measure::CollectionHours, &[NAN, NAN, 8.0]),
    ]);
    let derived = derive(&checks, 0, &with_funnels(lab(None)));
    // 48 mL over 16 h in 160 cm² is 1.5 mL/h per 80 cm².
    assert_eq!(
        values(&derived, &Characteristic::CollectionNear),
        Some(&[1.5, 1.5, 1.5][..])
    );
    assert_eq!(
        values(&derived, &Characteristic::CollectionFar),
        Some(&[1.0, 1.5][..])
    );
    assert_eq!(
        values(&derived, &Characteristic::CollectionRate),
        Some(&[1.25, 1.5][..])
    );
    assert_eq!(
        values(&derived, &Characteristic::CollectionSpread),
        Some(&[-40.0, 0.0][..])
    );
    // The check with one side only is told, not dropped in silence.
    assert_eq!(derived.issues.len(), 1);
    assert_eq!(
        (derived.issues[0].effect, derived.issues[0].place.line),
        (Effect::Kept, Some(3))
    );
}

use crate::issue::Effect;

#[test]
fn a_rate_per_80_cm2_needs_no_funnel_and_goes_first() {
    let checks = checks(&[
        (Measure::NormalisedRate(Mean), &[1.4, NAN]),
        (Measure::CaughtRate(Mean), &[9.0, 3.0]),
    ]);
    let derived = derive(&checks, 0, &with_funnels(lab(None)));
    assert_eq!(
        values(&derived, &Characteristic::CollectionRate),
        Some(&[1.4, 1.5][..])
    );
    assert_eq!(values(&derived, &Characteristic::CollectionNear), None);
}

#[test]
fn numbered_collectors_give_a_rate_and_no_sides() {
    let checks = checks(&[
        (Measure::NormalisedRate(Numbered(1)), &[1.2]),
        (Measure::NormalisedRate(Numbered(2)), &[1.6]),
        (Measure::NormalisedRate(Mean), &[9.9]),
    ]);
    let derived = derive(&checks, 0, &lab(None));
    assert_eq!(derived.series.len(), 1);
    let rate = values(&derived, &Characteristic::CollectionRate).unwrap();
    assert!((rate[0] - 1.4).abs() < 1e-12);
}

#[test]
fn without_funnel_or_hours_the_rate_is_left_out_and_the_line_is_told() {
    let volume = [30.0, 31.0];
    let checks = checks(&[(Measure::CaughtVolume(Near(1)), &volume)]);
    let derived = derive(&checks, 0, &lab(Some("iso-9227-nss")));
    assert!(derived.series.is_empty());
    let hints: Vec<&str> = derived
        .issues
        .iter()
        .filter_map(|i| i.hint.as_deref())
        .collect();
    assert_eq!(hints.len(), 2);
    assert!(
        hints[0].contains("funnel_area_cm2 = 80  # nominal in iso-9227-nss"),
        "{hints:?}"
    );
    assert!(hints[1].contains("collection_hours = 24"), "{hints:?}");
    assert!(
        derived
            .issues
            .iter()
            .all(|i| i.count == 2 && i.effect == Effect::ColumnLeftOut)
    );

    let mut named = lab(Some("astm-b117-nss"));
    named.cabinets.push(CabinetConfig {
        id: "plover".into(),
        name: "Plover".into(),
        aliases: vec![],
        profile: named.default_profile.clone(),
        funnel_area_cm2: Some(78.5),
        collection_hours: None,
        gravity: None,
    });
    let derived = derive(&checks, 0, &named);
    assert_eq!(derived.issues.len(), 1);
    let hint = derived.issues[0].hint.as_deref().unwrap();
    assert!(
        hint.starts_with(
            "Under [[cabinet]] id = \"plover\" in lab.toml add: collection_hours = 16"
        ),
        "{hint}"
    );
}

#[test]
fn a_gravity_without_reference_is_charted_but_gives_no_salt() {
    let checks = checks(&[(Measure::SpecificGravity, &[1.031, 1.032])]);
    let derived = derive(&checks, 0, &lab(None));
    assert_eq!(
        values(&derived, &Characteristic::SpecificGravity),
        Some(&[1.031, 1.032][..])
    );
    assert_eq!(values(&derived, &Characteristic::SaltConcentration), None);
    assert_eq!(derived.companions.gravity, vec![None, None]);
    assert!(
        derived.issues[0]
            .hint
            .as_deref()
            .unwrap()
            .contains("relative_to = \"density\"")
    );
}

#[test]
fn salt_comes_from_gravity_at_its_own_temperature() {
    let checks = checks(&[
        (Measure::SpecificGravity, &[1.03249, 1.03407, 0.8, NAN]),
        (Measure::GravityTemperature, &[NAN, 20.0, NAN, NAN]),
        (Measure::SaltGramsPerLitre, &[NAN, NAN, NAN, 50.0]),
    ]);
    let mut lab = lab(None);
    lab.defaults.gravity = Some(GravityReference {
        temperature: Some(25.0),
        relative_to: GravityKind::Density,
    });
    let derived = derive(&checks, 0, &lab);
    let salt = values(&derived, &Characteristic::SaltConcentration).unwrap();
    // 5 % is 1032.49 kg/m³ at 25 °C and 1034.07 at 20 °C; 50 g/L is 4.847 %.
    assert_eq!(salt.len(), 3);
    assert!(
        (salt[0] - 5.0).abs() < 0.005 && (salt[1] - 5.0).abs() < 0.005,
        "{salt:?}"
    );
    assert!((salt[2] - 4.847).abs() < 0.003, "{salt:?}");
    assert_eq!(derived.companions.salt_from_gravity, [true, true, false]);
    assert_eq!(derived.companions.gravity.len(), 3);
    // 0.8 is charted as written, gives no salt and is told.
    assert_eq!(derived.issues.len(), 1);
    assert!(
        derived.issues[0]
            .problem
            .contains("800.0 kg/m³ is not the density")
    );
}

#[test]
fn a_log_rule_goes_before_the_cabinet() {
    let mut checks = checks(&[(Measure::CaughtVolume(Mean), &[24.0, 24.0])]);
    checks.sheets.push(SheetName {
        path: "logs/b.csv".into(),
        sheet: None,
    });
    checks.checks[0].sheet = SheetOf::Each(vec![0, 1]);
    let mut lab = with_funnels(lab(None));
    lab.logs.push(crate::lab::LogRule {
        files: "logs/b*".into(),
        collection_hours: Some(24.0),
        ..Default::default()
    });
    let derived = derive(&checks, 0, &lab);
    assert_eq!(
        values(&derived, &Characteristic::CollectionRate),
        Some(&[0.75, 0.5][..])
    );
}

#[test]
fn series_come_in_report_order() {
    let checks = checks(&[
        (Measure::Own("reservoir-level".into()), &[30.0]),
        (Measure::Ph, &[6.8]),
        (Measure::CabinetTemperature, &[35.0]),
        (Measure::AirPressure, &[96.0]),
        (Measure::TowerTemperature, &[47.0]),
        (Measure::NormalisedRate(Near(1)), &[1.5]),
        (Measure::NormalisedRate(Far(1)), &[1.5]),
        (Measure::SaltMassPercent, &[5.0]),
        (Measure::SpecificGravity, &[1.03]),
    ]);
    let derived = derive(&checks, 0, &lab(None));
    let order: Vec<&Characteristic> = derived.series.iter().map(Series::characteristic).collect();
    assert!(order.is_sorted(), "{order:?}");
    assert_eq!(order.len(), 11);
    assert_eq!(derived.companions.tower_pressure, [96.0]);
    assert!(derive(&checks, 7, &lab(None)).series.is_empty());
}
