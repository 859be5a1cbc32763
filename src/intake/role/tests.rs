//! Names both ways, and names nearly right.

use super::*;

fn own() -> Vec<OwnCharacteristic> {
    vec![OwnCharacteristic {
        id: "copper".into(),
        unit: "mg/L".into(),
        headings: Vec::new(),
        lower: None,
        upper: None,
    }]
}

#[test]
fn names_map_both_ways() {
    let collectors = [
        Collector::Near(1),
        Collector::Near(2),
        Collector::Far(1),
        Collector::Far(3),
        Collector::Numbered(1),
        Collector::Numbered(12),
        Collector::Mean,
    ];
    let roles = NAMES
        .iter()
        .chain(&QUIET_NAMES)
        .map(|(_, role)| role.clone())
        .chain(collectors.map(Role::Collection))
        .chain([Role::Own("copper".into())]);
    for role in roles {
        let name = role.name();
        assert!(!name.is_empty() && !role.spoken().is_empty());
        assert_eq!(Role::named(&name, &own()), Ok(role));
    }
    let near = Role::Collection(Collector::Near(1));
    assert_eq!(Role::named("Collection-Near-1 ", &[]), Ok(near));
    for name in known_names(&own()) {
        assert!(Role::named(&name, &own()).is_ok(), "{name}");
    }
}

#[test]
fn a_name_nearly_right_is_answered_with_the_right_one() {
    for (wrong, right) in [
        ("cabinet-temp", "cabinet-temperature"),
        ("air-presure", "air-pressure"),
        ("colection-near", "collection-near"),
        ("datetime", "date-time"),
        ("coper", "copper"),
    ] {
        let near = Role::named(wrong, &own()).unwrap_err();
        assert_eq!(near.first().map(String::as_str), Some(right), "{wrong}");
        assert!(near.len() <= 3);
    }
    for nothing in [
        "",
        "collection-0",
        "collection-near-x",
        "collection-1-2",
        "collection-300",
        "copper-2",
    ] {
        assert!(Role::named(nothing, &own()).is_err(), "{nothing}");
    }
    assert!(nearest_names("qqqq", &[]).is_empty());
}

#[test]
fn role_and_unit_make_a_measure() {
    let near = Role::Collection(Collector::Near(1));
    let made = |role: &Role, unit: &str| {
        role.measure(Unit::parse(unit).unwrap())
            .map(|r| r.map(|(measure, _)| measure))
    };
    assert_eq!(
        made(&near, "mL"),
        Some(Ok(Measure::CaughtVolume(Collector::Near(1))))
    );
    assert_eq!(
        made(&near, "mL/16 h"),
        Some(Ok(Measure::CaughtRate(Collector::Near(1))))
    );
    assert_eq!(
        made(&near, "mL/h/80cm²"),
        Some(Ok(Measure::NormalisedRate(Collector::Near(1))))
    );
    assert_eq!(
        made(&Role::SaltConcentration, "%"),
        Some(Ok(Measure::SaltMassPercent))
    );
    assert_eq!(
        made(&Role::SaltConcentration, "g/L"),
        Some(Ok(Measure::SaltGramsPerLitre))
    );
    assert!(matches!(
        made(&Role::CabinetTemperature, "kPa"),
        Some(Err(_))
    ));
    assert_eq!(made(&Role::Remarks, "kPa"), None);
}
