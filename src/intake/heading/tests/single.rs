//! One heading at a time: English, German, French, Spanish, and some Dutch, Italian and
//! Portuguese; what else a heading states; properties.

use crate::intake::checks::Collector;
use crate::intake::heading::read;
use crate::intake::role::Role;
use crate::lab::{GravityKind, GravityReference};
use proptest::prelude::*;

/// Headings, the name of their role and the unit they state.
const HEADINGS: &[(&str, &str, &str)] = &[
    // Which cabinet.
    ("Cabinet", "cabinet", ""),
    ("Chamber No.", "cabinet", ""),
    ("CABINET ID", "cabinet", ""),
    ("Salt spray chamber", "cabinet", ""),
    ("Kammer", "cabinet", ""),
    ("Prüfkammer-Nr.", "cabinet", ""),
    ("Anlage", "cabinet", ""),
    ("Enceinte", "cabinet", ""),
    ("N° enceinte", "cabinet", ""),
    ("Cámara", "cabinet", ""),
    ("Nombre de la cámara", "cabinet", ""),
    // When.
    ("Date", "date", ""),
    ("DATE OF CHECK", "date", ""),
    ("Datum", "date", ""),
    ("Prüfdatum", "date", ""),
    ("Date de contrôle", "date", ""),
    ("Fecha", "date", ""),
    ("Data", "date", ""),
    ("Time", "time", ""),
    ("Uhrzeit", "time", ""),
    ("Zeit", "time", ""),
    ("Heure", "time", ""),
    ("Hora", "time", ""),
    ("Date/Time", "date-time", ""),
    ("Timestamp", "date-time", ""),
    ("Datum/Uhrzeit", "date-time", ""),
    ("Zeitstempel", "date-time", ""),
    ("Date et heure", "date-time", ""),
    ("Fecha y hora", "date-time", ""),
    ("Weekday", "weekday", ""),
    ("Wochentag", "weekday", ""),
    ("Jour de la semaine", "weekday", ""),
    ("Día de la semana", "weekday", ""),
    // Cabinet temperature.
    ("Cabinet temperature (°C)", "cabinet-temperature", "°C"),
    ("Chamber Temp. [°F]", "cabinet-temperature", "°F"),
    ("TempChamber_C", "cabinet-temperature", "°C"),
    ("cab temp F", "cabinet-temperature", "°F"),
    ("Exposure zone temp °C", "cabinet-temperature", "°C"),
    ("Temp. of cabinet", "cabinet-temperature", ""),
    ("Chamber °C", "cabinet-temperature", "°C"),
    ("Kammertemperatur [°C]", "cabinet-temperature", "°C"),
    ("Temperatur Prüfraum / °C", "cabinet-temperature", "°C"),
    ("Temp. Kammer (Grad C)", "cabinet-temperature", "°C"),
    ("Innenraumtemperatur", "cabinet-temperature", ""),
    ("Prüfraumtemp. Ist °C", "cabinet-temperature", "°C"),
    ("Température enceinte (°C)", "cabinet-temperature", "°C"),
    ("Temp. de la chambre en °C", "cabinet-temperature", "°C"),
    ("T° enceinte", "cabinet-temperature", ""),
    ("Temperatura de la cámara (ºC)", "cabinet-temperature", "°C"),
    ("Temp. cámara ºC", "cabinet-temperature", "°C"),
    ("T Kammer", "cabinet-temperature", ""),
    ("Cabinet Temp (°C) (35±2)", "cabinet-temperature", "°C"),
    ("Temp. cabina", "cabinet-temperature", ""),
    ("Temperatuur kast (°C)", "cabinet-temperature", "°C"),
    ("Temperatura camera [°C]", "cabinet-temperature", "°C"),
    // Tower temperature.
    ("Tower temperature (°F)", "tower-temperature", "°F"),
    ("Saturator tower temp °C", "tower-temperature", "°C"),
    ("Humidifier °C", "tower-temperature", "°C"),
    ("Sat. tower (deg F)", "tower-temperature", "°F"),
    ("Bubble tower temp", "tower-temperature", ""),
    ("Bubble Tower Temp F (114-121)", "tower-temperature", "°F"),
    ("TOWER", "tower-temperature", ""),
    ("Turmtemperatur (°C)", "tower-temperature", "°C"),
    ("Befeuchtertemperatur °C", "tower-temperature", "°C"),
    ("Befeuchterwassertemperatur", "tower-temperature", ""),
    ("Temperatur Sättiger [°C]", "tower-temperature", "°C"),
    ("Luftbefeuchter Temp. / °C", "tower-temperature", "°C"),
    ("Température saturateur (°C)", "tower-temperature", "°C"),
    ("Temp. tour °C", "tower-temperature", "°C"),
    ("Temp. humidificateur", "tower-temperature", ""),
    ("Temperatura torre (°C)", "tower-temperature", "°C"),
    ("Temp. saturador", "tower-temperature", ""),
    (
        "Temperatura del humidificador °C",
        "tower-temperature",
        "°C",
    ),
    // Air pressure.
    ("Air pressure (psi)", "air-pressure", "psi"),
    ("Atomizing air psig", "air-pressure", "psi(g)"),
    ("Pressure kPa", "air-pressure", "kPa"),
    ("Air press. [bar]", "air-pressure", "bar"),
    ("Nozzle pressure, kg/cm²", "air-pressure", "kgf/cm²"),
    ("PSI", "air-pressure", "psi"),
    ("Tower pressure (bar(g))", "air-pressure", "bar(g)"),
    ("Air PSI (14-18)", "air-pressure", "psi"),
    ("Abs. pressure kPa", "air-pressure", "kPa(a)"),
    ("Druck/bar", "air-pressure", "bar"),
    ("Luftdruck [kPa]", "air-pressure", "kPa"),
    ("Zerstäuberdruck (bar)", "air-pressure", "bar"),
    ("Druckluft Überdruck bar", "air-pressure", "bar(g)"),
    ("Sprühdruck in bar", "air-pressure", "bar"),
    ("Pression d'air (bar)", "air-pressure", "bar"),
    ("Pression atomisation kPa", "air-pressure", "kPa"),
    ("Presión de aire (kPa)", "air-pressure", "kPa"),
    ("Presión (kgf/cm2)", "air-pressure", "kgf/cm²"),
    ("Pressione aria (bar)", "air-pressure", "bar"),
    // Collection.
    ("Collection near (mL)", "collection-near", "mL"),
    ("Collection | near (mL)", "collection-near", "mL"),
    ("Near nozzle, ml/16h", "collection-near", "mL/16 h"),
    ("Fallout near mL/h", "collection-near", "mL/h"),
    (
        "Near collector (mL/h/80cm²)",
        "collection-near",
        "mL/h per 80 cm²",
    ),
    ("Near 2 (ml)", "collection-near-2", "mL"),
    ("Near", "collection-near", ""),
    ("Auffangmenge nah [ml]", "collection-near", "mL"),
    ("Kondensat düsennah ml/h", "collection-near", "mL/h"),
    (
        "Niederschlag Nähe Düse (ml/(80cm²·h))",
        "collection-near",
        "mL/h per 80 cm²",
    ),
    ("Collecte proche (mL)", "collection-near", "mL"),
    ("Recueil près de la buse ml/h", "collection-near", "mL/h"),
    ("Recogida cerca (ml)", "collection-near", "mL"),
    ("Captación cercana mL/h", "collection-near", "mL/h"),
    ("Collection far (mL)", "collection-far", "mL"),
    ("Far from nozzle (cc)", "collection-far", "mL"),
    ("Remote funnel mL per 16 h", "collection-far", "mL/16 h"),
    ("far2 ml", "collection-far-2", "mL"),
    ("Auffangmenge fern [ml]", "collection-far", "mL"),
    ("Sammelmenge düsenfern ml", "collection-far", "mL"),
    ("Collecte éloignée (mL)", "collection-far", "mL"),
    ("Retombées loin (mL/24 h)", "collection-far", "mL/24 h"),
    ("Recogida lejos (ml)", "collection-far", "mL"),
    ("Colector lejano (mL/h)", "collection-far", "mL/h"),
    ("Collector 1 (mL)", "collection-1", "mL"),
    ("Funnel 2 ml", "collection-2", "mL"),
    ("Collector C", "collection-3", ""),
    ("Trichter 3 [ml]", "collection-3", "mL"),
    ("Messzylinder 1 / ml", "collection-1", "mL"),
    ("Entonnoir n° 2 (mL)", "collection-2", "mL"),
    ("Embudo 1 (ml)", "collection-1", "mL"),
    ("Mean collection rate (mL/h)", "collection-rate", "mL/h"),
    (
        "Avg. fog mL/h per 80 cm²",
        "collection-rate",
        "mL/h per 80 cm²",
    ),
    ("Auffangrate Mittelwert ml/h", "collection-rate", "mL/h"),
    ("Moyenne collecte (mL/h)", "collection-rate", "mL/h"),
    ("Promedio recogida (ml/h)", "collection-rate", "mL/h"),
    ("Collection time (h)", "collection-hours", "h"),
    ("Sammelzeit h", "collection-hours", "h"),
    ("Collection hrs", "collection-hours", "h"),
    ("Collection hours", "collection-hours", ""),
    ("Sammelzeit [h]", "collection-hours", "h"),
    ("Auffangdauer (Std.)", "collection-hours", "h"),
    ("Durée de collecte (h)", "collection-hours", "h"),
    ("Horas de recogida", "collection-hours", ""),
    // Solution.
    ("pH", "ph", ""),
    ("PH", "ph", ""),
    ("pH-Wert", "ph", ""),
    ("pH collected @ 25 °C", "ph", ""),
    ("pH (25°C)", "ph", ""),
    ("pH Kondensat", "ph", ""),
    ("Valeur de pH", "ph", ""),
    ("pH de la solution recueillie", "ph", ""),
    ("Valor pH", "ph", ""),
    ("SG", "specific-gravity", ""),
    ("S.G. @ 25", "specific-gravity", ""),
    ("Specific gravity", "specific-gravity", ""),
    ("Sp. Gr. 25/25", "specific-gravity", ""),
    ("rel. density 25/4", "specific-gravity", ""),
    ("d20/4", "specific-gravity", ""),
    ("Density (g/cm³)", "specific-gravity", "g/cm³"),
    ("Dichte [g/ml]", "specific-gravity", "g/cm³"),
    ("Dichte bei 20 °C (kg/m³)", "specific-gravity", "kg/m³"),
    ("Relative Dichte", "specific-gravity", ""),
    ("Densité", "specific-gravity", ""),
    ("Masse volumique (kg/m3)", "specific-gravity", "kg/m³"),
    ("Densidad (g/cm3)", "specific-gravity", "g/cm³"),
    ("Peso específico", "specific-gravity", ""),
    ("SG temp (°C)", "gravity-temperature", "°C"),
    (
        "Temp. of collected solution °C",
        "gravity-temperature",
        "°C",
    ),
    ("Temperatur Dichtemessung [°C]", "gravity-temperature", "°C"),
    ("Temp. solution (°C)", "gravity-temperature", "°C"),
    ("Temperatura densidad °C", "gravity-temperature", "°C"),
    ("Salt %", "salt-concentration", "%"),
    ("NaCl (g/L)", "salt-concentration", "g/L"),
    (
        "Salt concentration, % by mass",
        "salt-concentration",
        "% by mass",
    ),
    ("Salzgehalt [Gew.-%]", "salt-concentration", "% by mass"),
    ("NaCl-Konz. g/l", "salt-concentration", "g/L"),
    ("Teneur en sel (%)", "salt-concentration", "%"),
    ("Concentration NaCl g/L", "salt-concentration", "g/L"),
    ("Concentración de sal (%)", "salt-concentration", "%"),
    // Who and what else.
    ("Operator", "operator", ""),
    ("Checked by", "operator", ""),
    ("Initials", "operator", ""),
    ("Prüfer", "operator", ""),
    ("Kürzel", "operator", ""),
    ("Opérateur", "operator", ""),
    ("Visa", "operator", ""),
    ("Operario", "operator", ""),
    ("Firma", "operator", ""),
    ("Remarks", "remarks", ""),
    ("Comments / actions", "remarks", ""),
    ("Bemerkungen", "remarks", ""),
    ("Bem.", "remarks", ""),
    ("Remarques", "remarks", ""),
    ("Observaciones", "remarks", ""),
    ("No.", "sequence", ""),
    ("Lfd. Nr.", "sequence", ""),
    ("N°", "sequence", ""),
    ("Set point °C", "ignore", "°C"),
    ("Kammertemp. Soll (°C)", "ignore", "°C"),
    ("Room temp. (°C)", "ignore", "°C"),
    ("Raumtemperatur", "ignore", ""),
    ("Température ambiante", "ignore", ""),
    ("Run time (h)", "ignore", "h"),
    ("Salt lot", "ignore", ""),
    ("Tower water level", "ignore", ""),
    ("pH temp. (°C)", "ignore", "°C"),
];

#[test]
fn reads_headings_of_four_languages_and_more() {
    assert!(HEADINGS.len() > 120);
    let wrong: Vec<String> = HEADINGS
        .iter()
        .filter_map(|(heading, name, unit)| {
            let reading = read(heading);
            let found = reading.role.as_ref().map(Role::name).unwrap_or_default();
            let found_unit = reading.unit.map(|u| u.to_string()).unwrap_or_default();
            assert!(!reading.why.is_empty());
            (found != *name || found_unit != *unit)
                .then(|| format!("{heading:?}: {found:?} in {found_unit:?}, {reading:?}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn case_accents_and_order_do_not_matter() {
    for (heading, name, unit) in HEADINGS {
        // Capitals make `mL` and `bar` no other unit, but a bare `c` is no scale.
        let upper = read(&heading.to_uppercase());
        assert_eq!(
            upper.role.as_ref().map(Role::name).as_deref(),
            Some(*name),
            "{heading} in capitals"
        );
        assert_eq!(
            upper.unit.map(|u| u.to_string()).unwrap_or_default(),
            *unit,
            "{heading} in capitals"
        );
    }
    for headings in [
        ["near collection (mL)", "Collection, near (mL)"],
        ["(°C) tower temperature", "temperature, tower (°C)"],
    ] {
        let [a, b] = headings.map(read);
        assert_eq!((a.role, a.unit), (b.role, b.unit));
    }
}

#[test]
fn leaves_open_what_is_open() {
    for (heading, names) in [
        ("Temp.", "cabinet-temperature tower-temperature"),
        ("Temperatur (°C)", "cabinet-temperature tower-temperature"),
        (
            "Oil temp. (°C)",
            "cabinet-temperature tower-temperature ignore",
        ),
        (
            "Wassertemperatur",
            "cabinet-temperature tower-temperature ignore",
        ),
        ("Wasserdruck (bar)", "ignore air-pressure"),
        ("°C", "cabinet-temperature tower-temperature"),
        ("Température", "cabinet-temperature tower-temperature"),
        ("mL", "collection-rate collection-near collection-far"),
        (
            "Collection (mL)",
            "collection-rate collection-near collection-far",
        ),
        (
            "Left funnel (mL)",
            "collection-near collection-far collection-1",
        ),
        ("Near/far (mL)", "collection-near collection-far"),
        ("Chamber temp. max °C", "cabinet-temperature ignore"),
        ("Reservoir pH", "ignore ph"),
        ("Day", "date weekday"),
        ("Hours", "collection-hours ignore"),
        ("Salt", "salt-concentration ignore"),
    ] {
        let reading = read(heading);
        let found: Vec<String> = reading.alternatives.iter().map(Role::name).collect();
        assert_eq!(
            (reading.role, found.join(" ").as_str()),
            (None, names),
            "{heading:?}"
        );
    }
    for heading in ["", "Foo", "x", "4711", "🙂", "Qty shipped"] {
        let reading = read(heading);
        assert!(
            reading.role.is_none() && reading.alternatives.is_empty(),
            "{heading:?} {reading:?}"
        );
    }
}

#[test]
fn reads_what_a_gravity_refers_to() {
    let water = |t, w| {
        Some(GravityReference {
            temperature: Some(t),
            relative_to: GravityKind::Water(w),
        })
    };
    assert_eq!(read("d20/4").gravity, water(20.0, 4.0));
    assert_eq!(read("D25/25").gravity, water(25.0, 25.0));
    assert_eq!(read("rel. density 25/4").gravity, water(25.0, 4.0));
    assert_eq!(read("Sp. gr. (20 °C/20 °C)").gravity, water(20.0, 20.0));
    // One scale written once holds for both: 77 °F is 25 °C, 39.2 °F is 4 °C.
    let Some(GravityReference {
        temperature: Some(t),
        ..
    }) = read("SG 77/77 °F").gravity
    else {
        panic!("{:?}", read("SG 77/77 °F"));
    };
    assert!((t - 25.0).abs() < 1e-9);
    // `@ 25` alone does not say relative to what.
    for heading in [
        "SG @ 25 °C",
        "SG @ 25",
        "Dichte bei 25 °C",
        "densité à 25 °C",
        "SG (25°C)",
    ] {
        let reading = read(heading);
        assert_eq!(
            (reading.gravity, reading.gravity_temperature),
            (None, Some(25.0)),
            "{heading:?}"
        );
    }
    let density = read("Density @ 20 °C (g/cm³)").gravity;
    assert_eq!(
        density,
        Some(GravityReference {
            temperature: Some(20.0),
            relative_to: GravityKind::Density
        })
    );
}

#[test]
fn reads_periods_and_funnels() {
    for (heading, hours, area) in [
        ("Near mL/16h", Some(16.0), None),
        ("Near (mL) 24 h", Some(24.0), None),
        ("Collection near (mL, 16 h)", Some(16.0), None),
        ("16 h catch far [ml]", Some(16.0), None),
        ("Near (mL, funnel 80 cm²)", None, Some(80.0)),
        ("Near (mL; Ø 100 mm)", None, Some(78.54)),
        ("Near mL (4 in funnel)", None, Some(81.07)),
        ("Near mL (4\")", None, Some(81.07)),
        ("Collection near (mL)", None, None),
    ] {
        let reading = read(heading);
        assert_eq!(
            reading.role,
            Some(Role::Collection(if heading.contains("far") {
                Collector::Far(1)
            } else {
                Collector::Near(1)
            })),
            "{heading:?}"
        );
        assert_eq!(reading.collection_hours, hours, "{heading:?}");
        let found = reading.funnel_area_cm2.map(|a| (a * 100.0).round() / 100.0);
        assert_eq!(found, area, "{heading:?}");
    }
    let rate = read("Near mL/80cm² (16 h)");
    assert_eq!(
        rate.unit.map(|u| u.to_string()).as_deref(),
        Some("mL/16 h per 80 cm²")
    );
    let two = read("Tower (°C) (psi)");
    assert!(
        two.role.is_none() && two.why.contains("two units"),
        "{two:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_305),
        ..ProptestConfig::default()
    })]

    #[test]
    fn never_panics(text in any::<String>()) {
        let _ = read(&text);
    }

    #[test]
    fn never_panics_on_heading_like_text(text in "[A-Za-zäé°²³()\\[\\]/|@.,0-9 _%·Ø-]{0,40}") {
        let _ = read(&text);
    }

    #[test]
    fn blanks_around_do_not_matter(index in 0..HEADINGS.len(), before in " {0,3}", after in "[ \u{a0}]{0,3}") {
        let (heading, _, _) = HEADINGS[index];
        prop_assert_eq!(read(heading), read(&format!("{before}{heading}{after}")));
    }
}
