//! Suggested units, and what a cell cannot be.

use super::*;
use crate::intake::checks::Collector;

fn likely(role: &Role, samples: &[f64]) -> Vec<String> {
    likely_units(role, samples)
        .iter()
        .map(Unit::to_string)
        .collect()
}

/// Values of common practice, no source.
#[test]
fn suggests_the_unit_the_values_fit() {
    let cabinet = Role::CabinetTemperature;
    assert_eq!(likely(&cabinet, &[92.0, 97.0]), ["°F"]);
    assert_eq!(likely(&cabinet, &[34.8, 35.4]), ["°C"]);
    assert_eq!(likely(&cabinet, &[308.1]), ["K"]);
    assert_eq!(likely(&Role::TowerTemperature, &[114.0, 121.0]), ["°F"]);
    assert_eq!(likely(&Role::AirPressure, &[14.0, 18.0]), ["psi"]);
    assert_eq!(likely(&Role::AirPressure, &[0.9, 1.2]), ["bar", "kgf/cm²"]);
    assert_eq!(likely(&Role::AirPressure, &[98.0]), ["kPa"]);
    assert_eq!(likely(&Role::AirPressure, &[0.1]), ["MPa"]);
    let near = Role::Collection(Collector::Near(1));
    assert_eq!(likely(&near, &[24.0, 30.0]), ["mL"]);
    assert_eq!(likely(&near, &[1.2, 1.8]), ["mL/h", "mL/h per 80 cm²"]);
    assert_eq!(likely(&Role::SaltConcentration, &[50.0]), ["g/L"]);
    assert_eq!(
        likely(&Role::SaltConcentration, &[5.0]),
        ["% by mass", "g/100 mL"]
    );
    assert_eq!(likely(&cabinet, &[]), Vec::<String>::new());
    assert_eq!(likely(&cabinet, &[5000.0]), Vec::<String>::new());
    // One slip in ten does not hide what the others say; one in five does.
    let mut samples = vec![35.0; 10];
    samples.push(350.0);
    assert_eq!(likely(&cabinet, &samples), ["°C"]);
    assert!(likely(&cabinet, &[35.0, 35.0, 35.0, 35.0, 350.0]).is_empty());
}

#[test]
fn every_suggestion_lies_within_the_possible() {
    for (measure, samples) in [
        (Measure::CabinetTemperature, [20.0, 58.0]),
        (Measure::AirPressure, [40.0, 300.0]),
        (Measure::SpecificGravity, [0.98, 1.1]),
    ] {
        let range = possible(&measure).unwrap();
        assert!(samples.iter().all(|v| range.contains(*v)));
    }
}

#[test]
fn rejects_what_cannot_be_in_words() {
    let range = possible(&Measure::CabinetTemperature).unwrap();
    assert!(range.contains(0.0) && range.contains(80.0));
    assert!(!range.contains(f64::NAN) && !range.contains(351.0));
    assert_eq!(
        range.problem(351.0),
        "351 °C cannot be: expected between 0 and 80 °C"
    );
    let noisy = (250.0 - 32.0) * 5.0 / 9.0;
    assert_eq!(
        range.problem(noisy),
        "121.111 °C cannot be: expected between 0 and 80 °C"
    );
    assert!(possible(&Measure::Own("x".into())).is_none());
}
