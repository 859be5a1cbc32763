//! The window's ends, as labs write them, and what explains a breach.

use super::super::derive::derive;
use super::super::derive::tests::{checks, lab};
use super::*;
use crate::characteristic::Characteristic;
use crate::intake::checks::{Collector, Measure};
use crate::lab::{GravityKind, GravityReference};

const KPA_PER_PSI: f64 = 6.894_757_293_168_361;

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) * 5.0 / 9.0
}

fn outcome(lab: &Lab, characteristic: Characteristic, columns: &[(Measure, &[f64])]) -> Outcome {
    let derived = derive(&checks(columns), 0, lab);
    let series = derived
        .series
        .iter()
        .find(|s| *s.characteristic() == characteristic)
        .unwrap();
    judge(series, 0..series.len(), &derived.companions, lab).unwrap()
}

/// Which readings pass a limit, and whether above.
fn breaches(outcome: &Outcome) -> Vec<(usize, bool)> {
    outcome.breaches.iter().map(|b| (b.index, b.high)).collect()
}

// The ends below are common practice, no source: 92 to 97 °F, 114 to 121 °F at 14 to
// 18 psi, 1 to 2 mL/h in a 4-inch funnel over 16 h, pH 6.5 to 7.2, gravity 1.025 to 1.040.

#[test]
fn cabinet_at_92_and_97_fahrenheit_conforms() {
    for profile in ["astm-b117-nss", "iso-9227-nss"] {
        let readings = [
            celsius(92.0),
            celsius(97.0),
            celsius(91.4),
            celsius(98.6),
            celsius(98.7),
        ];
        let told = outcome(
            &lab(Some(profile)),
            Characteristic::CabinetTemperature,
            &[(Measure::CabinetTemperature, &readings)],
        );
        // 91.4 and 98.6 °F are 33 and 37 °C, the limits themselves.
        assert_eq!(breaches(&told), [(4, true)], "{profile}");
        assert_eq!(told.checked, 5);
    }
}

#[test]
fn tower_is_judged_by_the_pair() {
    let tower = [114.0, 121.0, 121.0, 114.0, 117.0].map(celsius);
    let pressure = [14.0, 18.0, 14.0, 18.0, 30.0].map(|p| p * KPA_PER_PSI);
    let columns: [(Measure, &[f64]); 2] = [
        (Measure::TowerTemperature, &tower),
        (Measure::AirPressure, &pressure),
    ];
    let told = outcome(
        &lab(Some("astm-b117-nss")),
        Characteristic::TowerTemperature,
        &columns,
    );
    // Both practice ends conform as pairs; crossed, they are 2.4 above and 3.4 below the table.
    assert_eq!(breaches(&told), [(2, true), (3, false)]);
    assert_eq!(told.checked, 4);
    let says = told.says.unwrap();
    assert!(
        says.contains("pressure is outside the table's 83 to 124 kPa: 1."),
        "{says}"
    );

    let told = outcome(
        &lab(Some("iso-9227-nss")),
        Characteristic::TowerTemperature,
        &columns,
    );
    // ISO's table asks for 47.8 ± 2 °C at 14 psi: 114 °F (45.6 °C) is told as too low.
    assert_eq!(breaches(&told), [(0, false), (3, false)]);

    let alone = outcome(
        &lab(Some("astm-b117-nss")),
        Characteristic::TowerTemperature,
        &[(
            Measure::TowerTemperature,
            &[celsius(114.0), celsius(121.0), 50.0],
        )],
    );
    assert_eq!(breaches(&alone), [(2, true)]);
    assert!(
        alone
            .says
            .unwrap()
            .contains("Without a pressure and so judged by 45.6 to 49.4 °C alone: 3.")
    );
}

#[test]
fn pressure_of_14_to_18_psi_conforms() {
    let pressure = [12.0, 14.0, 18.0].map(|p| p * KPA_PER_PSI);
    for profile in ["astm-b117-nss", "iso-9227-nss"] {
        let told = outcome(
            &lab(Some(profile)),
            Characteristic::AirPressure,
            &[(Measure::AirPressure, &pressure)],
        );
        assert_eq!(breaches(&told), [], "{profile}");
    }
}

#[test]
fn four_inch_funnel_ends_are_told_by_area() {
    let mut lab = lab(Some("astm-b117-nss"));
    lab.defaults.funnel_area_cm2 = Some(super::super::collection::disc_area_cm2(4.0 * 2.54));
    let told = outcome(
        &lab,
        Characteristic::CollectionRate,
        &[
            (Measure::CaughtVolume(Collector::Mean), &[16.0, 32.0]),
            (Measure::CollectionHours, &[16.0, 16.0]),
        ],
    );
    // 2 mL/h is 1.974 per 80 cm² and conforms; 1 mL/h is 0.987 and does not.
    assert_eq!(breaches(&told), [(0, false)]);
    assert_eq!(told.breaches[0].limit, 1.0);
}

#[test]
fn ph_ends_conform() {
    let told = outcome(
        &lab(Some("iso-9227-nss")),
        Characteristic::Ph,
        &[(Measure::Ph, &[6.5, 7.2, 6.49, 7.21])],
    );
    assert_eq!(breaches(&told), [(2, false), (3, true)]);
    let acid = outcome(
        &lab(Some("iso-9227-cass")),
        Characteristic::Ph,
        &[(Measure::Ph, &[3.1, 3.3, 6.8])],
    );
    assert_eq!(breaches(&acid), [(2, true)]);
}

fn gravity_lab(profile: &str, temperature: f64, relative_to: GravityKind) -> Lab {
    let mut lab = lab(Some(profile));
    lab.defaults.gravity = Some(GravityReference {
        temperature: Some(temperature),
        relative_to,
    });
    lab
}

#[test]
fn gravity_ends_are_judged_under_the_windows_reference() {
    let readings = [1.025, 1.0255, 1.040, 1.0401];
    let columns: [(Measure, &[f64]); 1] = [(Measure::SpecificGravity, &readings)];
    let lab = gravity_lab("astm-b117-nss", 25.0, GravityKind::Density);
    let told = outcome(&lab, Characteristic::SpecificGravity, &columns);
    // 1.025 is below the 1.0255 that B117 asks: told. 1.040 is the limit itself.
    assert_eq!(breaches(&told), [(0, false), (3, true)]);
    assert_eq!((told.lower, told.upper), (Some(1.0255), Some(1.04)));
    assert_eq!(told.says, None);
    let salt = outcome(&lab, Characteristic::SaltConcentration, &columns);
    assert_eq!(breaches(&salt), breaches(&told));
    assert!(salt.says.unwrap().contains("4.02 to 6.05 % by mass"));

    let told = outcome(
        &gravity_lab("iso-9227-nss", 25.0, GravityKind::Density),
        Characteristic::SpecificGravity,
        &columns,
    );
    assert_eq!(breaches(&told).len(), 4, "ISO's 1.029 to 1.036 is narrower");
}

#[test]
fn gravity_under_another_reference_is_compared_as_salt() {
    // Relative to water at 25 °C the window is 1.0285 to 1.0431 (1.0255 and 1.0400 over 0.997047).
    let lab = gravity_lab("astm-b117-nss", 25.0, GravityKind::WaterAtSame);
    let told = outcome(
        &lab,
        Characteristic::SpecificGravity,
        &[(Measure::SpecificGravity, &[1.0260, 1.0286, 1.0430, 1.0432])],
    );
    assert_eq!(breaches(&told), [(0, false), (3, true)]);
    assert!((told.lower.unwrap() - 1.0255 / 0.997_047_0).abs() < 1e-7);
    assert!(
        told.says
            .unwrap()
            .starts_with("Compared as salt by mass, 4.02 to 6.05 %")
    );
}

#[test]
fn gravity_without_reference_is_compared_as_written_and_said() {
    let told = outcome(
        &lab(Some("astm-b117-nss")),
        Characteristic::SpecificGravity,
        &[(Measure::SpecificGravity, &[1.0255, 1.0254])],
    );
    assert_eq!(breaches(&told), [(1, false)]);
    assert!(told.says.unwrap().contains("Compared as written"));
}

#[test]
fn titrated_salt_stands_against_the_salt_window() {
    // 45 and 55 g/L are ISO's own ends.
    let told = outcome(
        &lab(Some("iso-9227-nss")),
        Characteristic::SaltConcentration,
        &[(Measure::SaltGramsPerLitre, &[45.0, 55.0, 44.9, 55.1])],
    );
    assert_eq!(breaches(&told), [(2, false), (3, true)]);
    assert_eq!(told.says, None);
}

#[test]
fn breaches_are_explained_by_cover_then_by_nearness() {
    let mut lab = lab(Some("iso-9227-nss"));
    let event = |day: i64, what: &str, effect| Event {
        at: Instant(day * 86_400),
        cabinet: Some("plover".into()),
        characteristic: None,
        kind: String::new(),
        what: what.into(),
        effect,
    };
    let exclude = EventEffect::Exclude {
        until: Instant(8 * 86_400),
        reason: "probe out".into(),
    };
    lab.events = vec![
        event(1, "buffer changed", EventEffect::Note),
        event(2, "new salt lot", EventEffect::NewStage),
        event(7, "long exclusion", exclude),
    ];
    let ph = [6.8, 6.8, 6.8, 6.8, 7.4, 6.8, 6.8, 7.4, 6.8, 6.8, 6.8, 7.4];
    let told = outcome(&lab, Characteristic::Ph, &[(Measure::Ph, &ph)]);
    let why: Vec<Option<&str>> = told
        .breaches
        .iter()
        .map(|b| b.explained_by.as_deref())
        .collect();
    assert_eq!(why, [Some("new salt lot"), Some("probe out"), None]);
}

#[test]
fn no_profile_no_verdict() {
    let derived = derive(&checks(&[(Measure::Ph, &[9.0])]), 0, &lab(None));
    let verdict = judge(&derived.series[0], 0..1, &derived.companions, &lab(None));
    assert_eq!(verdict, None);
}
