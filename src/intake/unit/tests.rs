//! Spellings, conversions at the values of common practice, and their inverses.

use super::*;
use crate::intake::checks::{Collector, Measure};
use proptest::prelude::*;

fn deterministic() -> ProptestConfig {
    ProptestConfig {
        cases: 256,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_302),
        ..ProptestConfig::default()
    }
}

fn converted(unit: &str, measure: &Measure, value: f64) -> f64 {
    let unit = Unit::parse(unit).unwrap_or_else(|| panic!("{unit:?} is no unit"));
    unit.to(measure).unwrap().apply(value)
}

#[test]
fn reads_every_spelling() {
    let gauge = PressureReference::Gauge;
    let absolute = PressureReference::Absolute;
    let unstated = PressureReference::Unstated;
    let ml = Volume::Millilitre;
    let rate = |minutes| Unit::Rate {
        volume: ml,
        minutes,
    };
    let normal = |minutes| Unit::NormalisedRate {
        volume: ml,
        minutes,
        area_mm2: 8000,
    };
    let table: Vec<(Unit, Vec<&str>)> = vec![
        (
            Unit::Temperature(Temperature::Celsius),
            vec![
                "°C",
                "º C",
                "ºC",
                "℃",
                "degC",
                "deg. C",
                "Deg C",
                "C",
                "(°C)",
                "[°C]",
                "Celsius",
                "Grad C",
                "grados C",
                "degrés C",
                "° C",
                "˚C",
                "°C.",
            ],
        ),
        (
            Unit::Temperature(Temperature::Fahrenheit),
            vec!["°F", "F", "deg F", "degrees F", "℉", "Fahrenheit", "°f"],
        ),
        (Unit::Temperature(Temperature::Kelvin), vec!["K", "kelvin"]),
        (
            Unit::Pressure(Pressure::Kilopascal, unstated),
            vec!["kPa", "KPA", "kpa", "(kPa)", "㎪"],
        ),
        (
            Unit::Pressure(Pressure::Kilopascal, gauge),
            vec!["kPa(g)", "kPa g", "kPa gauge", "kPag"],
        ),
        (
            Unit::Pressure(Pressure::Bar, unstated),
            vec!["bar", "Bar", "BAR"],
        ),
        (
            Unit::Pressure(Pressure::Bar, gauge),
            vec!["barg", "bar(g)", "bar ü", "barü", "bar rel."],
        ),
        (
            Unit::Pressure(Pressure::Bar, absolute),
            vec!["bara", "bar(a)", "bar abs", "bar abs."],
        ),
        (
            Unit::Pressure(Pressure::Hectopascal, unstated),
            vec!["mbar", "hPa"],
        ),
        (
            Unit::Pressure(Pressure::Megapascal, unstated),
            vec!["MPa", "N/mm²"],
        ),
        (
            Unit::Pressure(Pressure::Psi, unstated),
            vec!["psi", "PSI", "lb/in²", "lbs/sq in"],
        ),
        (
            Unit::Pressure(Pressure::Psi, gauge),
            vec!["psig", "PSIG", "psi (gauge)"],
        ),
        (
            Unit::Pressure(Pressure::Psi, absolute),
            vec!["psia", "psi abs"],
        ),
        (
            Unit::Pressure(Pressure::KilogramForcePerSquareCentimetre, unstated),
            vec!["kg/cm²", "kgf/cm2", "kg/cm2", "Kg / cm²", "kp/cm²"],
        ),
        (
            Unit::Volume(ml),
            vec!["mL", "ml", "cc", "cm³", "cm3", "ccm", "ML", "millilitres"],
        ),
        (
            rate(60),
            vec![
                "mL/h",
                "ml/hr",
                "ml / h",
                "mL per hour",
                "ml/Std.",
                "ml·h⁻¹",
                "ml h-1",
                "cc/hr",
            ],
        ),
        (
            rate(960),
            vec![
                "mL per 16 h",
                "mL/16h",
                "ml / 16 hrs",
                "ml in 16 h",
                "ml (16 h)",
                "mL/16 hours",
            ],
        ),
        (
            rate(1440),
            vec![
                "mL/24 h",
                "ml/day",
                "ml/d",
                "mL en 24 heures",
                "ml/24 Stunden",
            ],
        ),
        (
            normal(60),
            vec![
                "mL/h/80cm²",
                "mL/(80cm²·h)",
                "ml/80cm2/h",
                "mL/h per 80 cm²",
                "ml/(h·80 cm²)",
                "ml/hr/80 sq cm",
                "ml/h pro 80 cm²",
                "ml/80 cm²·h",
                "mL/h (80 cm²)",
                "mL / (h × 80 cm²)",
                "mL/h/80 sq. cm",
            ],
        ),
        (normal(960), vec!["ml/80cm²/16h", "mL per 16 h per 80 cm²"]),
        (
            Unit::VolumePerArea {
                volume: ml,
                area_mm2: 8000,
            },
            vec!["ml/80cm2", "mL per 80 cm²"],
        ),
        (
            Unit::Duration(Duration::Hour),
            vec!["h", "hrs", "hours", "Std.", "heures", "horas"],
        ),
        (Unit::Duration(Duration::Minute), vec!["min", "Minuten"]),
        (
            Unit::Percent(PercentBasis::Unstated),
            vec!["%", "Prozent", "percent", "% NaCl"],
        ),
        (
            Unit::Percent(PercentBasis::Mass),
            vec![
                "wt%",
                "wt.-%",
                "% by mass",
                "% (w/w)",
                "Gew.-%",
                "Ma.-%",
                "% en masse",
                "m-%",
            ],
        ),
        (
            Unit::MassConcentration(MassConcentration::GramPerLitre),
            vec!["g/L", "g/l", "g·L⁻¹"],
        ),
        (
            Unit::MassConcentration(MassConcentration::GramPer100Millilitres),
            vec!["g/100mL", "g / 100 ml", "% w/v"],
        ),
        (
            Unit::Density(Density::GramPerCubicCentimetre),
            vec!["g/cm³", "g/mL", "g/ml", "kg/L", "g/cc", "g·cm⁻³"],
        ),
        (
            Unit::Density(Density::KilogramPerCubicMetre),
            vec!["kg/m³", "kg/m3"],
        ),
    ];
    for (unit, spellings) in table {
        for spelling in spellings {
            assert_eq!(Unit::parse(spelling), Some(unit), "{spelling:?}");
        }
        assert_eq!(
            Unit::parse(&unit.to_string()),
            Some(unit),
            "as written: {unit}"
        );
    }
}

#[test]
fn reads_no_unit_where_there_is_none() {
    for text in [
        "",
        " ",
        "°",
        "m",
        "near",
        "ml/",
        "see remark",
        "ml/h/h",
        "mL/cm",
        "80 cm²",
        "x",
        "mg",
    ] {
        assert_eq!(Unit::parse(text), None, "{text:?}");
    }
}

/// Values of common practice, no source, in the units they are usually told in.
#[test]
fn converts_the_values_of_common_practice() {
    let near = |a: f64, b: f64, tolerance: f64| assert!((a - b).abs() < tolerance, "{a} {b}");
    let cabinet = Measure::CabinetTemperature;
    near(converted("°F", &cabinet, 92.0), 33.333, 0.001);
    near(converted("°F", &cabinet, 97.0), 36.111, 0.001);
    assert_eq!(converted("°F", &cabinet, 95.0), 35.0);
    assert_eq!(converted("K", &cabinet, 273.15 + 35.0), 35.0);
    near(
        converted("°F", &Measure::TowerTemperature, 114.0),
        45.556,
        0.001,
    );
    near(
        converted("°F", &Measure::TowerTemperature, 121.0),
        49.444,
        0.001,
    );
    near(converted("psi", &Measure::AirPressure, 14.0), 96.527, 0.001);
    near(
        converted("psi", &Measure::AirPressure, 18.0),
        124.106,
        0.001,
    );
    assert_eq!(converted("kgf/cm²", &Measure::AirPressure, 1.0), 98.0665);
    assert_eq!(converted("bar", &Measure::AirPressure, 0.8), 80.0);
    assert_eq!(converted("mbar", &Measure::AirPressure, 1000.0), 100.0);
    let rate = Measure::CaughtRate(Collector::Near(1));
    assert_eq!(converted("mL/16 h", &rate, 24.0), 1.5);
    assert_eq!(converted("mL/day", &rate, 36.0), 1.5);
    let normal = Measure::NormalisedRate(Collector::Far(1));
    assert_eq!(converted("mL/h per 80 cm²", &normal, 1.5), 1.5);
    assert_eq!(converted("ml/16h/100cm²", &normal, 32.0), 1.6);
    assert_eq!(
        converted("g/100 mL", &Measure::SaltGramsPerLitre, 5.0),
        50.0
    );
    assert_eq!(converted("kg/m³", &Measure::SpecificGravity, 1032.0), 1.032);
}

#[test]
fn keeps_dimensions_and_references_apart() {
    let celsius = Unit::parse("°C").unwrap();
    let error = celsius.to(&Measure::AirPressure).unwrap_err();
    assert_eq!(
        error.to_string(),
        "°C is not a unit of gauge pressure; expected kPa, bar, mbar, MPa, psi or kgf/cm²"
    );
    let psia = Unit::parse("psia").unwrap();
    assert!(matches!(
        psia.to(&Measure::AirPressure),
        Err(UnitMismatch::Absolute { .. })
    ));
    let per_area = Unit::parse("mL/80 cm²").unwrap();
    let normal = Measure::NormalisedRate(Collector::Mean);
    assert!(matches!(
        per_area.to(&normal),
        Err(UnitMismatch::NoPeriod { .. })
    ));
    let per_hour = Unit::parse("mL/h").unwrap();
    assert!(
        per_hour.to(&normal).is_err()
            && per_hour
                .to(&Measure::CaughtVolume(Collector::Mean))
                .is_err()
    );
    assert!(Unit::parse("bar").unwrap().assumption().is_some());
    assert!(Unit::parse("bar(g)").unwrap().assumption().is_none());
}

proptest! {
    #![proptest_config(deterministic())]

    #[test]
    fn never_panics(text in any::<String>()) {
        let _ = Unit::parse(&text);
    }

    #[test]
    fn never_panics_on_unit_like_text(text in "[mlchk°²³/ ()0-9.,µ%·-]{0,20}") {
        let _ = Unit::parse(&text);
    }

    #[test]
    fn conversions_invert(value in -500.0..5000.0f64) {
        let pairs = [
            ("°C", Measure::CabinetTemperature), ("°F", Measure::TowerTemperature),
            ("K", Measure::GravityTemperature), ("psi", Measure::AirPressure),
            ("bar", Measure::AirPressure), ("hPa", Measure::AirPressure),
            ("kgf/cm²", Measure::AirPressure), ("atm", Measure::AirPressure),
            ("mL/16 h", Measure::CaughtRate(Collector::Mean)),
            ("mL/h per 80 cm²", Measure::NormalisedRate(Collector::Mean)),
            ("min", Measure::CollectionHours), ("g/100 mL", Measure::SaltGramsPerLitre),
            ("kg/m³", Measure::SpecificGravity), ("g/cm³", Measure::Density),
        ];
        for (unit, measure) in pairs {
            let conversion = Unit::parse(unit).unwrap().to(&measure).unwrap();
            let back = conversion.invert(conversion.apply(value));
            prop_assert!((back - value).abs() <= 1e-12 * value.abs().max(500.0), "{unit}: {value} came back as {back}");
        }
    }
}
